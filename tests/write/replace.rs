//! What may be replaced and what is never touched.

use crate::dump::{integrity, open, others, texts, whole};
use crate::site::Site;
use crate::synthetic::{self, nothing_checked};
use pitwright::plan::Plan;
use pitwright::write::{Target, WriteError, may_write, plan_tables};

fn refused(site: &Site, replace: bool) -> WriteError {
    let before = whole(&site.file);
    let error = site
        .write(&plan_tables(&Plan::default()), replace)
        .unwrap_err();
    assert_eq!(before, whole(&site.file), "a refusal changes nothing");
    error
}

#[test]
fn layers_of_others_stay_row_for_row() {
    let site = Site::new();
    let before = others(&site.file);
    site.write(&plan_tables(&synthetic::plan(30, 1)), false)
        .unwrap();
    assert_eq!(before, others(&site.file));
    site.write(&plan_tables(&synthetic::plan(5, 2)), true)
        .unwrap();
    assert_eq!(before, others(&site.file));
    assert_eq!(integrity(&site.file), ["ok"]);
}

#[test]
fn layers_of_an_earlier_run_are_kept_unless_replace_is_given() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    let error = refused(&site, false);
    let WriteError::Exists { layers, .. } = &error else {
        panic!("{error}")
    };
    assert_eq!(layers.len(), 13);
    assert!(error.is_refusal() && error.to_string().contains("--replace"));
    assert!(may_write(&Target::site(&site.file), &["proposed_pits"], false).is_err());
    may_write(&Target::site(&site.file), &["proposed_pits"], true).unwrap();
    may_write(&Target::site(&site.file), &["proposed_routes"], false).unwrap();
}

#[test]
fn replaced_layers_are_those_of_a_first_run() {
    let (twice, once) = (Site::new(), Site::new());
    twice
        .write(&plan_tables(&synthetic::plan(30, 1)), false)
        .unwrap();
    twice
        .write(&plan_tables(&synthetic::plan(7, 2)), true)
        .unwrap();
    once.write(&plan_tables(&synthetic::plan(7, 2)), false)
        .unwrap();
    let layers = |s: &Site| {
        let mut all = whole(&s.file);
        // The runs differ, and GDAL stamps each site with the time it was made.
        for of_the_file in [
            "pitwright_runs",
            "gpkg_contents",
            "gpkg_ogr_contents",
            "sqlite_sequence",
        ] {
            all.remove(of_the_file);
        }
        all
    };
    assert_eq!(layers(&twice), layers(&once));
    let runs = texts(
        &open(&twice.file),
        "SELECT run_id || ' ' || fid FROM pitwright_runs",
    );
    assert_eq!(runs, ["1 1", "2 2"]);
    let counts = texts(
        &open(&twice.file),
        "SELECT table_name || ' ' || feature_count FROM gpkg_ogr_contents WHERE table_name IN ('proposed_bores', 'pitwright_runs') ORDER BY 1",
    );
    assert_eq!(counts, ["pitwright_runs 2", "proposed_bores 7"]);
}

#[test]
fn a_command_replaces_its_own_layers_only() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(30, 1)), false)
        .unwrap();
    let bores = texts(&open(&site.file), "SELECT hex(geom) FROM proposed_bores");
    site.write(&nothing_checked(), true).unwrap();
    let c = open(&site.file);
    assert_eq!(bores, texts(&c, "SELECT hex(geom) FROM proposed_bores"));
    assert_eq!(
        texts(&c, "SELECT '' || count(*) FROM bore_conflicts"),
        ["0"]
    );
    assert_eq!(
        texts(&c, "SELECT layers FROM pitwright_runs WHERE run_id = 2"),
        ["bore_conflicts,bore_inspections,conflict_changes,test_holes"]
    );
}

#[test]
fn a_layer_that_no_run_lists_is_refused_even_with_replace() {
    for there in [
        "CREATE TABLE proposed_pits (fid INTEGER PRIMARY KEY, remark TEXT)",
        "CREATE TABLE Proposed_Pits (fid INTEGER PRIMARY KEY, remark TEXT)",
        "CREATE VIEW proposed_pits AS SELECT * FROM services",
        "INSERT INTO gpkg_contents (table_name, data_type, identifier) VALUES ('proposed_pits', 'features', 'x')",
        "CREATE VIRTUAL TABLE rtree_proposed_pits_geom USING rtree(id, minx, maxx, miny, maxy)",
    ] {
        let site = Site::new();
        site.write(&nothing_checked(), false).unwrap();
        site.sql(there);
        let error = refused(&site, true);
        assert!(
            matches!(&error, WriteError::Foreign { layer, .. } if layer == "proposed_pits"),
            "{there}: {error}"
        );
        assert!(error.is_refusal());
        assert!(matches!(refused(&site, false), WriteError::Foreign { .. }));
    }
}

#[test]
fn a_view_in_the_place_of_our_layer_is_somebody_elses() {
    let site = Site::new();
    site.write(&plan_tables(&Plan::default()), false).unwrap();
    site.sql("DROP TABLE cost_items; CREATE VIEW cost_items AS SELECT * FROM services");
    assert!(matches!(refused(&site, true), WriteError::Foreign { .. }));
}

#[test]
fn a_table_that_only_has_the_name_of_the_runs_is_somebody_elses() {
    let site = Site::new();
    site.sql("CREATE TABLE pitwright_runs (id INTEGER PRIMARY KEY, layers TEXT); INSERT INTO pitwright_runs VALUES (1, 'proposed_pits')");
    assert_eq!(refused(&site, true).layer(), Some("pitwright_runs"));
}

#[test]
fn what_is_left_of_a_layer_dropped_by_hand_is_cleared_away() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    site.sql("DROP TABLE proposed_bores");
    assert!(matches!(refused(&site, false), WriteError::Exists { .. }));
    site.write(&plan_tables(&synthetic::plan(4, 1)), true)
        .unwrap();
    assert_eq!(
        texts(
            &open(&site.file),
            "SELECT '' || count(*) FROM rtree_proposed_bores_geom"
        ),
        ["4"]
    );
}

#[test]
fn notes_of_a_replaced_layer_go_and_those_of_others_stay() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    site.sql(
        "CREATE TABLE gpkg_data_columns (table_name TEXT, column_name TEXT, title TEXT);
         INSERT INTO gpkg_data_columns VALUES ('proposed_bores', 'grade', 'g'), ('services', 'kind', 'k');",
    );
    site.write(&plan_tables(&synthetic::plan(3, 1)), true)
        .unwrap();
    let c = open(&site.file);
    assert_eq!(
        texts(&c, "SELECT table_name FROM gpkg_data_columns"),
        ["services"]
    );
}

#[test]
fn an_identifier_that_others_use_is_left_to_them() {
    let site = Site::new();
    site.sql(
        "UPDATE gpkg_contents SET identifier = 'proposed_bores' WHERE table_name = 'services'",
    );
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    let set = gdal::Dataset::open(&site.file).unwrap();
    assert!(set.layer_by_name("proposed_bores").is_ok());
}

#[test]
fn foreign_keys_of_others_are_not_pulled_along() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    site.sql(
        "CREATE TABLE visits (id INTEGER PRIMARY KEY, bore INTEGER REFERENCES proposed_bores(fid) ON DELETE CASCADE);
         INSERT INTO visits VALUES (1, 1), (2, 2);",
    );
    site.write(&plan_tables(&synthetic::plan(3, 1)), true)
        .unwrap();
    assert_eq!(
        texts(&open(&site.file), "SELECT '' || count(*) FROM visits"),
        ["2"]
    );
}
