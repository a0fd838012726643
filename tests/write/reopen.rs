//! GDAL reads back what was written.

use crate::dump::{open, texts};
use crate::site::{Site, crs, run};
use crate::synthetic::{self, ORIGIN};
use gdal::vector::{Geometry, LayerAccess, OGRwkbGeometryType};
use gdal::{Dataset, spatial_ref::SpatialRef};
use geo::Coord;
use pitwright::plan::Plan;
use pitwright::write::{CrsInfo, Target, layers, plan_tables};
use std::path::Path;

const FOOT: f64 = 0.3048;

fn geometries(file: &Path, layer: &str) -> Vec<Geometry> {
    let set = Dataset::open(file).unwrap();
    let mut layer = set.layer_by_name(layer).unwrap();
    layer
        .features()
        .map(|f| f.geometry().unwrap().clone())
        .collect()
}

/// All vertices of all rings.
fn vertices(g: &Geometry) -> Vec<(f64, f64, f64)> {
    match g.geometry_count() {
        0 => {
            let mut points = Vec::new();
            g.get_points(&mut points);
            points
        }
        n => (0..n).flat_map(|i| vertices(&g.get_geometry(i))).collect(),
    }
}

fn close(a: (f64, f64, f64), b: (f64, f64, f64)) -> bool {
    (a.0 - b.0).abs() < 1e-9 && (a.1 - b.1).abs() < 1e-9 && (a.2 - b.2).abs() < 1e-9
}

#[test]
fn counts_and_geometry_types_are_the_plans() {
    let site = Site::new();
    let plan = synthetic::plan(40, 2);
    let written = site.write(&plan_tables(&plan), false).unwrap();
    let set = Dataset::open(&site.file).unwrap();
    for (layer, rows) in &written {
        assert_eq!(
            set.layer_by_name(layer).unwrap().feature_count() as usize,
            *rows,
            "{layer}"
        );
    }
    let total: usize = written.iter().map(|(_, n)| n).sum();
    assert_eq!(
        total,
        41 + 40 + 80 + 20 + 120 + 10 + 240 + 40 + 40 + 2 + 4 + 2 + 10
    );
    let kind = |layer: &str| set.layer_by_name(layer).unwrap().defn().geometry_type();
    assert_eq!(kind("proposed_pits"), OGRwkbGeometryType::wkbPolygon);
    assert_eq!(kind("proposed_bores"), OGRwkbGeometryType::wkbLineString25D);
    assert_eq!(kind("bore_conflicts"), OGRwkbGeometryType::wkbPoint25D);
    assert_eq!(kind("test_holes"), OGRwkbGeometryType::wkbPoint25D);
    assert_eq!(kind("affected_lots"), OGRwkbGeometryType::wkbMultiPolygon);
    assert_eq!(kind("cost_items"), OGRwkbGeometryType::wkbNone);
    assert_eq!(kind("route_blockers"), OGRwkbGeometryType::wkbLineString);
    assert_eq!(kind("alternatives"), OGRwkbGeometryType::wkbNone);
    assert_eq!(kind("alternative_pits"), OGRwkbGeometryType::wkbPolygon);
}

#[test]
fn coordinates_come_back_to_a_billionth() {
    let site = Site::new();
    let plan = synthetic::plan(40, 2);
    site.write(&plan_tables(&plan), false).unwrap();
    compare(&site.file, &plan, 1.0);
}

#[test]
fn a_crs_in_feet_has_plan_in_feet_and_levels_in_metres() {
    let site = Site::new();
    let plan = synthetic::plan(40, 2);
    let feet = in_feet();
    layers(
        &Target::site(&site.file),
        &feet,
        &plan_tables(&plan),
        &run(),
        false,
    )
    .unwrap();
    compare(&site.file, &plan, FOOT);
    let c = open(&site.file);
    let east: f64 = c
        .query_row("SELECT easting FROM proposed_pits WHERE fid = 3", [], |r| {
            r.get(0)
        })
        .unwrap();
    assert!((east - plan.pits[2].centre.x / FOOT).abs() < 1e-9);
    let depth: f64 = c
        .query_row("SELECT depth_m FROM proposed_pits WHERE fid = 3", [], |r| {
            r.get(0)
        })
        .unwrap();
    assert_eq!(depth, plan.pits[2].depth_m);
}

/// Geometries in the file against the plan, which is in metres.
fn compare(file: &Path, plan: &Plan, unit: f64) {
    let stored = |p: &pitwright::plan::Point3| (p.at.x / unit, p.at.y / unit, p.level);
    let bores = geometries(file, "proposed_bores");
    assert_eq!(bores.len(), plan.bores.len());
    for (got, bore) in bores.iter().zip(&plan.bores) {
        let got = vertices(got);
        assert!(
            got.len() == 2 && close(got[0], stored(&bore.us)) && close(got[1], stored(&bore.ds))
        );
    }
    for (got, conflict) in geometries(file, "bore_conflicts")
        .iter()
        .zip(&plan.conflicts)
    {
        assert!(close(vertices(got)[0], stored(&conflict.point)));
    }
    for (got, pit) in geometries(file, "proposed_pits").iter().zip(&plan.pits) {
        let corners = pit.footprint.exterior().0.iter();
        let mut asked: Vec<_> = corners.map(|c| (c.x / unit, c.y / unit, 0.0)).collect();
        asked.reverse(); // the plan's ring runs clockwise
        let got = vertices(got);
        assert!(
            got.len() == asked.len() && got.iter().zip(&asked).all(|(a, b)| close(*a, *b)),
            "{got:?} {asked:?}"
        );
    }
    for (got, row) in geometries(file, "route_blockers")
        .iter()
        .zip(&plan.blockers)
    {
        let asked: Vec<_> = row
            .line
            .iter()
            .map(|c| (c.x / unit, c.y / unit, 0.0))
            .collect();
        let got = vertices(got);
        assert!(
            got.len() == asked.len() && got.iter().zip(&asked).all(|(a, b)| close(*a, *b)),
            "{got:?} {asked:?}"
        );
    }
    for (got, lot) in geometries(file, "affected_lots").iter().zip(&plan.lots) {
        let area = (100.0 - 4.0 + 25.0) / unit / unit;
        assert!((got.area() - area).abs() < 1e-3, "{} {area}", got.area());
        assert_eq!(got.geometry_count(), lot.parts.len());
    }
}

/// A grid of one's own, in feet, which nobody numbers.
fn in_feet() -> CrsInfo {
    let text = "+proj=tmerc +lat_0=50 +lon_0=10 +k=1 +x_0=0 +y_0=0 +ellps=GRS80 +to_meter=0.3048";
    let srs = SpatialRef::from_proj4(text).unwrap();
    CrsInfo {
        name: "Grid in feet".into(),
        authority: None,
        wkt: srs.to_wkt().unwrap(),
        unit_m: FOOT,
        unit_name: "foot".into(),
        srs_id: None,
    }
}

#[test]
fn a_numbered_crs_takes_the_row_that_is_there() {
    let site = Site::new();
    let before = texts(
        &open(&site.file),
        "SELECT srs_id || definition FROM gpkg_spatial_ref_sys",
    );
    site.write(&plan_tables(&Plan::default()), false).unwrap();
    let c = open(&site.file);
    assert_eq!(
        before,
        texts(&c, "SELECT srs_id || definition FROM gpkg_spatial_ref_sys")
    );
    let used = texts(
        &c,
        "SELECT DISTINCT '' || srs_id FROM gpkg_geometry_columns",
    );
    assert_eq!(used, ["25832"]);
}

#[test]
fn an_unnumbered_crs_gets_one_row_however_often_it_is_used() {
    let site = Site::new();
    let empty = Plan::default();
    for table in plan_tables(&empty) {
        layers(
            &Target::site(&site.file),
            &in_feet(),
            &[table],
            &run(),
            false,
        )
        .unwrap();
    }
    let set = Dataset::open(&site.file).unwrap();
    let srs = set
        .layer_by_name("proposed_bores")
        .unwrap()
        .spatial_ref()
        .unwrap();
    assert!((srs.linear_units() - FOOT).abs() < 1e-12);
    let custom = texts(
        &open(&site.file),
        "SELECT '' || srs_id FROM gpkg_spatial_ref_sys WHERE srs_id >= 100000",
    );
    assert_eq!(custom, ["100000"]);
}

#[test]
fn another_definition_of_the_same_system_is_found_equal() {
    let site = Site::new();
    let stored = in_feet()
        .wkt
        .replace("PROJCS[\"unknown\"", "PROJCS[ \"unknown\"");
    assert_ne!(stored, in_feet().wkt);
    let c = open(&site.file);
    c.execute(
        "INSERT INTO gpkg_spatial_ref_sys VALUES ('mine', 770000, 'NONE', 770000, ?1, NULL)",
        [stored],
    )
    .unwrap();
    layers(
        &Target::site(&site.file),
        &in_feet(),
        &plan_tables(&Plan::default()),
        &run(),
        false,
    )
    .unwrap();
    assert_eq!(
        texts(
            &c,
            "SELECT DISTINCT '' || srs_id FROM gpkg_geometry_columns WHERE table_name <> 'services'"
        ),
        ["770000"]
    );
}

#[test]
fn a_number_that_somebody_took_for_another_crs_is_left_to_him() {
    let site = Site::new();
    site.sql("UPDATE gpkg_spatial_ref_sys SET organization = 'NONE' WHERE srs_id = 25832");
    site.write(&plan_tables(&Plan::default()), false).unwrap();
    let used = texts(
        &open(&site.file),
        "SELECT DISTINCT '' || srs_id FROM gpkg_geometry_columns WHERE table_name <> 'services'",
    );
    assert_eq!(used, ["100000"]);
}

#[test]
fn a_file_that_asks_for_newer_text_gets_its_row() {
    let site = Site::new();
    site.sql("ALTER TABLE gpkg_spatial_ref_sys ADD COLUMN definition_12_063 TEXT NOT NULL DEFAULT 'undefined'");
    layers(
        &Target::site(&site.file),
        &in_feet(),
        &plan_tables(&Plan::default()),
        &run(),
        false,
    )
    .unwrap();
    assert_eq!(
        texts(
            &open(&site.file),
            "SELECT definition_12_063 FROM gpkg_spatial_ref_sys WHERE srs_id = 100000"
        ),
        ["undefined"]
    );
}

#[test]
fn a_spatial_filter_goes_through_the_index() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(400, 5)), false)
        .unwrap();
    assert_eq!(bores_near_the_origin(&site.file), 2);
    // An index that is emptied finds nothing: GDAL did ask it.
    let c = open(&site.file);
    c.execute("DELETE FROM rtree_proposed_bores_geom", [])
        .unwrap();
    assert_eq!(bores_near_the_origin(&site.file), 0);
}

fn bores_near_the_origin(file: &Path) -> usize {
    let set = Dataset::open(file).unwrap();
    let mut layer = set.layer_by_name("proposed_bores").unwrap();
    let Coord { x, y } = ORIGIN;
    layer.set_spatial_filter_rect(x - 5.0, y - 5.0, x + 60.0, y + 5.0);
    layer.features().count()
}

#[test]
fn the_index_holds_every_feature() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(40, 5)), false)
        .unwrap();
    let c = open(&site.file);
    for layer in [
        "proposed_pits",
        "proposed_bores",
        "bore_conflicts",
        "test_holes",
        "affected_lots",
        "route_blockers",
    ] {
        let missing = format!(
            "SELECT '' || count(*) FROM {layer} WHERE fid NOT IN (SELECT id FROM rtree_{layer}_geom)"
        );
        assert_eq!(texts(&c, &missing), ["0"]);
        assert_eq!(
            texts(&c, &format!("SELECT rtreecheck('rtree_{layer}_geom')")),
            ["ok"]
        );
    }
}

#[test]
fn counts_are_kept_when_gdal_edits() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(4, 5)), false)
        .unwrap();
    let count = || {
        texts(
            &open(&site.file),
            "SELECT '' || feature_count FROM gpkg_ogr_contents WHERE table_name = 'proposed_bores'",
        )
    };
    assert_eq!(count(), ["4"]);
    edit(&site.file);
    assert_eq!(count(), ["3"]);
    let left = texts(
        &open(&site.file),
        "SELECT '' || count(*) FROM rtree_proposed_bores_geom",
    );
    assert_eq!(left, ["3"]);
}

/// Deletes a bore and moves another, as an editor would.
fn edit(file: &Path) {
    let options = gdal::DatasetOptions {
        open_flags: gdal::GdalOpenFlags::GDAL_OF_UPDATE,
        ..Default::default()
    };
    let mut set = Dataset::open_ex(file, options).unwrap();
    for sql in [
        "DELETE FROM proposed_bores WHERE fid = 2",
        "UPDATE proposed_bores SET geom = (SELECT geom FROM proposed_bores WHERE fid = 3) WHERE fid = 1",
        "UPDATE proposed_bores SET fid = 77 WHERE fid = 1",
    ] {
        set.execute_sql(sql, None, gdal::vector::sql::Dialect::DEFAULT)
            .unwrap();
    }
    set.flush_cache().unwrap();
    set.close().unwrap();
}

#[test]
fn a_file_of_version_1_4_gets_the_newer_triggers_and_they_work() {
    let site = Site::new();
    site.sql("PRAGMA user_version = 10400");
    site.write(&plan_tables(&synthetic::plan(4, 5)), false)
        .unwrap();
    let names = "SELECT substr(name, 27) FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'rtree_proposed_bores_geom_%' ORDER BY name";
    assert_eq!(
        texts(&open(&site.file), names),
        [
            "delete", "insert", "update2", "update4", "update5", "update6", "update7"
        ]
    );
    edit(&site.file);
    assert_eq!(
        texts(
            &open(&site.file),
            "SELECT '' || id FROM rtree_proposed_bores_geom ORDER BY id"
        ),
        ["3", "4", "77"]
    );
}

#[test]
fn the_extent_is_that_of_the_features() {
    let site = Site::new();
    let plan = synthetic::plan(40, 2);
    site.write(&plan_tables(&plan), false).unwrap();
    let set = Dataset::open(&site.file).unwrap();
    let e = set
        .layer_by_name("proposed_pits")
        .unwrap()
        .get_extent()
        .unwrap();
    let xs: Vec<f64> = plan.pits.iter().map(|p| p.centre.x).collect();
    let (least, greatest) = (
        xs.iter().copied().fold(f64::INFINITY, f64::min),
        xs.iter().copied().fold(0.0, f64::max),
    );
    assert!((e.MinX - (least - 1.0)).abs() < 1e-9 && (e.MaxX - (greatest + 1.0)).abs() < 1e-9);
    let stored = texts(
        &open(&site.file),
        "SELECT min_x || ' ' || max_x FROM gpkg_contents WHERE table_name = 'proposed_pits'",
    );
    assert_eq!(stored.len(), 1);
    let empty = crate::site::Site::new();
    layers(
        &Target::site(&empty.file),
        &crs(),
        &plan_tables(&Plan::default()),
        &run(),
        false,
    )
    .unwrap();
    let none = texts(
        &open(&empty.file),
        "SELECT '' || (min_x IS NULL) FROM gpkg_contents WHERE table_name = 'proposed_pits'",
    );
    assert_eq!(none, ["1"]);
}
