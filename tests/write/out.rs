//! `--out`: a file of their own, the input untouched.

use crate::dump::{integrity, open, texts, whole};
use crate::site::{Site, crs, run};
use crate::synthetic;
use gdal::{Dataset, vector::LayerAccess};
use pitwright::plan::Plan;
use pitwright::write::{Target, WriteError, layers, may_write, plan_tables};
use std::fs;
use std::path::{Path, PathBuf};

fn to(
    site: &Path,
    out: &Path,
    bores: usize,
    replace: bool,
) -> Result<Vec<(String, usize)>, WriteError> {
    let plan = synthetic::plan(bores, 1);
    layers(
        &Target::out(site, out),
        &crs(),
        &plan_tables(&plan),
        &run(),
        replace,
    )
}

fn names(folder: &Path) -> Vec<String> {
    let mut names: Vec<_> = fs::read_dir(folder)
        .unwrap()
        .map(|e| e.unwrap().file_name().into_string().unwrap())
        .collect();
    names.sort();
    names
}

#[test]
fn the_input_is_untouched_byte_for_byte() {
    let site = Site::new();
    let (before, changed) = (
        fs::read(&site.file).unwrap(),
        fs::metadata(&site.file).unwrap().modified().unwrap(),
    );
    let out = site.beside("out.gpkg");
    to(&site.file, &out, 20, false).unwrap();
    to(&site.file, &out, 5, true).unwrap();
    assert!(before == fs::read(&site.file).unwrap());
    assert_eq!(
        changed,
        fs::metadata(&site.file).unwrap().modified().unwrap()
    );
    assert_eq!(names(site.folder.path()), ["out.gpkg", "site.gpkg"]);
}

#[test]
fn a_new_file_is_a_geopackage_of_version_1_3() {
    let site = Site::new();
    let out = site.beside("out.gpkg");
    to(&site.file, &out, 20, false).unwrap();
    let c = open(&out);
    let number = |sql: &str| c.query_row(sql, [], |r| r.get::<_, i64>(0)).unwrap();
    assert_eq!(number("PRAGMA application_id"), 0x4750_4B47);
    assert_eq!(number("PRAGMA user_version"), 10300);
    assert_eq!(
        texts(
            &c,
            "SELECT '' || srs_id FROM gpkg_spatial_ref_sys ORDER BY srs_id"
        ),
        ["-1", "0", "4326", "25832"]
    );
    assert_eq!(integrity(&out), ["ok"]);
    let set = Dataset::open(&out).unwrap();
    assert_eq!(set.driver().short_name(), "GPKG");
    assert_eq!(set.layer_count(), 15);
    let srs = set
        .layer_by_name("proposed_pits")
        .unwrap()
        .spatial_ref()
        .unwrap();
    assert_eq!(srs.auth_code().unwrap(), 25832);
}

#[test]
fn a_file_that_is_there_keeps_the_same_rules() {
    let site = Site::new();
    let out = site.beside("out.gpkg");
    to(&site.file, &out, 5, false).unwrap();
    let before = whole(&out);
    assert!(matches!(
        to(&site.file, &out, 5, false),
        Err(WriteError::Exists { .. })
    ));
    assert_eq!(before, whole(&out));
    open(&out)
        .execute_batch("DELETE FROM pitwright_runs")
        .unwrap();
    assert!(matches!(
        to(&site.file, &out, 5, true),
        Err(WriteError::Foreign { .. })
    ));
}

#[test]
fn out_that_is_the_input_by_any_name_is_refused() {
    let site = Site::new();
    let link = site.beside("link.gpkg");
    let hard = site.beside("hard.gpkg");
    std::os::unix::fs::symlink(&site.file, &link).unwrap();
    fs::hard_link(&site.file, &hard).unwrap();
    let roundabout = site.folder.path().join(".").join("site.gpkg");
    for out in [&site.file, &link, &hard, &roundabout] {
        let error = to(&site.file, out, 1, true).unwrap_err();
        assert!(
            matches!(error, WriteError::OutIsSite { .. }),
            "{}: {error}",
            out.display()
        );
    }
}

#[test]
fn an_input_that_is_no_geopackage_is_told_of_out() {
    let folder = tempfile::tempdir().unwrap();
    let make = |name: &str, what: &[u8]| -> PathBuf {
        let file = folder.path().join(name);
        fs::write(&file, what).unwrap();
        file
    };
    let plain_sqlite = folder.path().join("plain.sqlite");
    rusqlite::Connection::open(&plain_sqlite)
        .unwrap()
        .execute_batch("CREATE TABLE a (b)")
        .unwrap();
    let inputs = [
        make("streets.shp", &[0, 0, 0x27, 0x0a, 0, 0, 0, 0].repeat(200)),
        make("empty.gpkg", b""),
        plain_sqlite,
        folder.path().to_path_buf(),
        folder.path().join("nowhere.gpkg"),
    ];
    for input in inputs {
        let error = layers(
            &Target::site(&input),
            &crs(),
            &plan_tables(&Plan::default()),
            &run(),
            false,
        )
        .unwrap_err();
        assert!(
            matches!(error, WriteError::NotGeoPackage { .. }),
            "{error:?}"
        );
        assert!(
            error.is_refusal() && error.to_string().contains("--out"),
            "{error}"
        );
        let out = folder.path().join("out.gpkg");
        to(&input, &out, 2, false).unwrap();
        fs::remove_file(&out).unwrap();
    }
}

#[test]
fn a_new_file_in_a_folder_that_is_not_there_is_refused() {
    let site = Site::new();
    let out = site.beside("none").join("out.gpkg");
    assert!(matches!(
        to(&site.file, &out, 1, false),
        Err(WriteError::NoFolder { .. })
    ));
    assert!(matches!(
        may_write(&Target::out(&site.file, &out), &[], false),
        Err(WriteError::NoFolder { .. })
    ));
}

#[test]
fn a_journal_left_by_a_lost_file_is_not_taken_for_the_new_ones() {
    let site = Site::new();
    let out = site.beside("out.gpkg");
    fs::write(site.beside("out.gpkg-journal"), b"of another file").unwrap();
    assert!(matches!(
        to(&site.file, &out, 1, false),
        Err(WriteError::StrayJournal { .. })
    ));
    assert!(!out.exists());
}
