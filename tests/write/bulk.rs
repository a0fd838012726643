//! Very many rows, laid down as pages by all threads: in a new file, and beside a file that is in use.

use crate::dump::{Dump, OWNED, integrity, open, texts, whole};
use crate::site::{Site, crs, run};
use crate::synthetic;
use pitwright::plan::Plan;
use pitwright::write::{Target, layers, plan_tables};
use rusqlite::Connection;
use std::fs;
use std::path::{Path, PathBuf};

/// Rows from which a file that is in use takes its tables over from a draft.
const WORTH_IT: usize = 20_000;

fn rows(plan: &Plan) -> usize {
    plan_tables(plan).iter().map(|t| t.rows.len()).sum()
}

fn write(target: Target, plan: &Plan, replace: bool) {
    layers(&target, &crs(), &plan_tables(plan), &run(), replace).unwrap();
}

fn out(site: &Site, plan: &Plan, name: &str) -> PathBuf {
    let out = site.beside(name);
    write(Target::out(&site.file, &out), plan, false);
    out
}

/// GDAL notes when it made the other layers.
fn site() -> Site {
    let site = Site::new();
    site.sql("UPDATE gpkg_contents SET last_change = '2026-01-01T00:00:00.000Z'");
    site
}

/// Our layers, their indexes, and where each says to begin with the next row.
fn ours(file: &Path) -> Dump {
    let mut dump = whole(file);
    dump.retain(|table, _| OWNED.iter().any(|o| table.contains(o)));
    let next = "SELECT name || ' ' || seq FROM sqlite_sequence WHERE name IN (SELECT table_name FROM gpkg_ogr_contents) ORDER BY 1";
    let mut next = texts(&open(file), next);
    next.retain(|n| OWNED.iter().any(|o| n.contains(o)));
    dump.insert("next".into(), next);
    dump
}

/// Table by table and row by row.
fn alike(a: &Dump, b: &Dump) {
    assert!(a.keys().eq(b.keys()));
    for (table, rows) in a {
        assert_eq!(rows.len(), b[table].len(), "{table}");
        for (x, y) in rows.iter().zip(&b[table]) {
            assert_eq!(x, y, "{table}");
        }
    }
}

/// What SQLite says of the file and of every index in it.
fn sound(file: &Path) {
    assert_eq!(integrity(file), ["ok"], "{}", file.display());
    let c = open(file);
    let indexes =
        "SELECT name FROM sqlite_master WHERE sql LIKE 'CREATE VIRTUAL TABLE%rtree%' ORDER BY 1";
    let indexes = texts(&c, indexes);
    assert!(indexes.len() > 5);
    for index in indexes {
        let said = texts(&c, &format!("SELECT rtreecheck('{index}')"));
        assert_eq!(said, ["ok"], "{}: {index}", file.display());
    }
}

#[test]
fn rows_laid_down_as_pages_are_those_that_are_inserted() {
    for bores in [0, 1, 3, 40, 1200] {
        let (site, plan) = (site(), synthetic::plan(bores, 5));
        assert!(rows(&plan) < WORTH_IT, "not inserted one by one");
        write(Target::site(&site.file), &plan, false);
        let out = out(&site, &plan, "out.gpkg");
        alike(&ours(&site.file), &ours(&out));
        sound(&out);
    }
}

#[test]
fn a_file_in_use_gets_what_a_new_file_gets() {
    let (site, plan) = (site(), synthetic::plan(4000, 5));
    assert!(rows(&plan) >= WORTH_IT, "not taken over from a draft");
    let out = out(&site, &plan, "out.gpkg");
    write(Target::site(&site.file), &plan, false);
    alike(&ours(&site.file), &ours(&out));
    write(Target::site(&site.file), &plan, true);
    let order =
        "SELECT table_name FROM gpkg_contents WHERE table_name LIKE 'proposed%' ORDER BY rowid";
    assert_eq!(texts(&open(&site.file), order), texts(&open(&out), order));
    // A second run is one row more.
    let (mut again, mut once) = (ours(&site.file), ours(&out));
    for dump in [&mut again, &mut once] {
        dump.retain(|table, _| !["pitwright_runs", "next"].contains(&table.as_str()));
    }
    alike(&again, &once);
    sound(&site.file);
    sound(&out);
    let left: Vec<_> = fs::read_dir(site.folder.path()).unwrap().collect();
    assert_eq!(left.len(), 2, "{left:?}");
}

#[test]
fn any_number_of_threads_writes_the_same_file_byte_for_byte() {
    let (site, plan) = (site(), synthetic::plan(4000, 5));
    let written = |threads: usize| {
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        let name = format!("{threads}.gpkg");
        fs::read(pool.unwrap().install(|| out(&site, &plan, &name))).unwrap()
    };
    let one = written(1);
    assert!(one.len() > 5_000_000);
    assert!([2, 5].into_iter().all(|threads| written(threads) == one));
}

#[test]
fn files_of_other_page_sizes_take_very_many_rows_too() {
    let plan = synthetic::plan(1800, 5);
    assert!(rows(&plan) >= WORTH_IT);
    let plain = site();
    let out = out(&plain, &plan, "out.gpkg");
    let settings = [
        "page_size = 512",
        "page_size = 1024",
        "page_size = 65536",
        "auto_vacuum = FULL",
    ];
    for setting in settings {
        let site = site();
        site.sql(&format!("PRAGMA {setting}; VACUUM"));
        write(Target::site(&site.file), &plan, false);
        write(Target::site(&site.file), &plan, true);
        sound(&site.file);
        let (mut there, mut expected) = (ours(&site.file), ours(&out));
        // Nodes are as great as pages let them be.
        for dump in [&mut there, &mut expected] {
            dump.retain(|table, _| {
                !["rtree", "next", "runs"]
                    .iter()
                    .any(|part| table.contains(part))
            });
        }
        alike(&there, &expected);
    }
}

#[test]
fn a_file_that_does_not_store_words_in_utf_8_takes_very_many_rows_too() {
    let (site, plan) = (site(), synthetic::plan(1800, 5));
    let file = site.beside("utf-16.gpkg");
    let (from, to) = (open(&site.file), Connection::open(&file).unwrap());
    to.execute_batch("PRAGMA encoding = 'UTF-16le'; PRAGMA application_id = 1196444487; PRAGMA user_version = 10300").unwrap();
    let made =
        "SELECT sql FROM sqlite_master WHERE name IN ('gpkg_spatial_ref_sys', 'gpkg_contents')";
    texts(&from, made)
        .iter()
        .for_each(|sql| to.execute_batch(sql).unwrap());
    write(Target::site(&file), &plan, false);
    assert_eq!(texts(&open(&file), "PRAGMA encoding"), ["UTF-16le"]);
    alike(&ours(&file), &ours(&out(&site, &plan, "out.gpkg")));
    sound(&file);
}
