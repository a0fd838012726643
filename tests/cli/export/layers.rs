//! Layers come out where they are, each thing with its level.

use super::{Point, in_degrees, planned, shapes, vertices};
use gdal::{
    Dataset,
    vector::{LayerAccess, OGRwkbGeometryType},
};
use serde_json::Value;
use std::{collections::BTreeMap, path::Path};

/// Layers of the sample that hold something, and the column that tells features apart.
const LAYERS: [(&str, &str); 5] = [
    ("proposed_pits", "pit_id"),
    ("proposed_bores", "bore_id"),
    ("bore_conflicts", "conflict_id"),
    ("test_holes", "hole_id"),
    ("affected_lots", "lot_id"),
];
const EPSG: u32 = 32742;
/// Half of the last decimal, and what arithmetic adds.
const DEGREES: f64 = 0.5e-7 + 1e-12;
const METRES: f64 = 0.0005 + 1e-9;

/// What a layer should hold: its shapes, pits lifted to the ground.
fn expected(file: &Path, layer: &str, id: &str) -> BTreeMap<String, Vec<Point>> {
    let mut all = shapes(file, layer, id);
    if layer == "proposed_pits" {
        let db = rusqlite::Connection::open(file).expect("opens");
        for (id, shape) in &mut all {
            let sql = "SELECT ground_m FROM proposed_pits WHERE pit_id = ?1";
            let ground_m: f64 = db.query_row(sql, [id], |r| r.get(0)).expect("reads");
            shape.iter_mut().for_each(|p| p.2 = ground_m);
        }
    }
    all
}

/// The same places, whichever way round a ring goes and wherever it begins.
fn same(a: &[Point], b: &[Point], plan: f64, what: &str) {
    assert_eq!(a.len(), b.len(), "{what}");
    let near = |p: &Point, q: &Point| {
        (p.0 - q.0).abs() <= plan && (p.1 - q.1).abs() <= plan && (p.2 - q.2).abs() <= METRES
    };
    let forward = a.iter().zip(b).all(|(p, q)| near(p, q));
    let back = a.iter().rev().zip(b).all(|(p, q)| near(p, q));
    assert!(
        forward || back && a.first() == a.last(),
        "{what}: {a:?} {b:?}"
    );
}

fn all_same(
    a: &BTreeMap<String, Vec<Point>>,
    b: &BTreeMap<String, Vec<Point>>,
    plan: f64,
    layer: &str,
) {
    assert!(!a.is_empty(), "{layer}: the sample holds one");
    assert!(a.keys().eq(b.keys()), "{layer}");
    a.iter()
        .for_each(|(id, shape)| same(shape, &b[id], plan, &format!("{layer} {id}")));
}

#[test]
fn geojson_has_every_feature_to_seven_decimals_with_levels() {
    let place = planned();
    let ran = place.run("export plan.gpkg --to geojson -o out --json");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(ran.json()["files"].as_array().expect("files").len(), 8);
    for (layer, id) in LAYERS {
        let file = place.path(&format!("out/{layer}.geojson"));
        let there = in_degrees(&expected(&place.path("plan.gpkg"), layer, id), EPSG);
        all_same(&there, &shapes(&file, layer, id), DEGREES, layer);
    }
}

/// Twice the area within a ring; positive against the clock.
fn twice_area(ring: &Value) -> f64 {
    let ring: Vec<[f64; 2]> = ring
        .as_array()
        .expect("a ring")
        .iter()
        .map(|p| [p[0].as_f64().expect("x"), p[1].as_f64().expect("y")])
        .collect();
    let [ox, oy] = ring[0];
    let cross = |w: &[[f64; 2]]| (w[0][0] - ox) * (w[1][1] - oy) - (w[1][0] - ox) * (w[0][1] - oy);
    ring.windows(2).map(cross).sum()
}

#[test]
fn geojson_keeps_the_right_hand_rule_and_says_its_bounds() {
    let place = planned();
    assert_eq!(place.run("export plan.gpkg --to geojson -o out").code, 0);
    let read = |layer: &str| -> Value {
        let bytes = place.bytes(&format!("out/{layer}.geojson"));
        serde_json::from_slice(&bytes).expect("JSON")
    };
    for pit in read("proposed_pits")["features"]
        .as_array()
        .expect("features")
    {
        assert!(
            twice_area(&pit["geometry"]["coordinates"][0]) > 0.0,
            "{pit}"
        );
    }
    for lot in read("affected_lots")["features"]
        .as_array()
        .expect("features")
    {
        assert!(
            twice_area(&lot["geometry"]["coordinates"][0][0]) > 0.0,
            "{lot}"
        );
    }
    let bores = read("proposed_bores");
    let bounds = bores["bbox"].as_array().expect("bounds");
    let [west, low] = [0, 2].map(|i| bounds[i].as_f64().expect("a number"));
    let ends = bores["features"].as_array().expect("features").iter();
    let ends = ends.flat_map(|f| f["geometry"]["coordinates"].as_array().expect("ends"));
    let least = |i: usize| {
        let along = ends.clone().map(|p| p[i].as_f64().expect("a number"));
        along.fold(f64::INFINITY, f64::min)
    };
    assert_eq!((bounds.len(), west, low), (6, least(0), least(2)));
    for end in ends.clone() {
        let text = end[0].to_string();
        assert!(
            text.split('.').nth(1).is_none_or(|d| d.len() <= 7),
            "{text}"
        );
    }
    assert_eq!(read("alternative_bores")["features"], serde_json::json!([]));
}

#[test]
fn geojson_properties_are_the_columns() {
    let place = planned();
    assert_eq!(place.run("export plan.gpkg --to geojson -o out").code, 0);
    let bytes = place.bytes("out/proposed_pits.geojson");
    let read: Value = serde_json::from_slice(&bytes).expect("JSON");
    let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
    let sql = "SELECT pit_id, manhole, depth_m, street, length_m FROM proposed_pits ORDER BY fid";
    let mut rows = db.prepare(sql).expect("reads");
    let rows = rows.query_map([], |r| {
        let street: Option<String> = r.get(3)?;
        let (id, manhole): (String, bool) = (r.get(0)?, r.get(1)?);
        let (depth, length): (f64, f64) = (r.get(2)?, r.get(4)?);
        Ok(serde_json::json!([id, manhole, depth, street, length]))
    });
    let rows: Vec<Value> = rows.expect("reads").map(|r| r.expect("a row")).collect();
    let features = read["features"].as_array().expect("features").iter();
    let told = features.map(|f| {
        let p = &f["properties"];
        serde_json::json!([
            p["pit_id"],
            p["manhole"],
            p["depth_m"],
            p["street"],
            p["length_m"]
        ])
    });
    let told: Vec<Value> = told.collect();
    assert_eq!(told.len(), rows.len());
    for (told, row) in told
        .iter()
        .flat_map(Value::as_array)
        .zip(rows.iter().flat_map(Value::as_array))
    {
        for (told, row) in told.iter().zip(row) {
            match (told.as_f64(), row.as_f64()) {
                // The reader of the test may be off in the last digit.
                (Some(told), Some(row)) => assert!((told - row).abs() < 1e-12, "{told} {row}"),
                _ => assert_eq!(told, row),
            }
        }
    }
}

#[test]
fn kml_has_every_feature_in_degrees_with_its_level() {
    let place = planned();
    let ran = place.run("export plan.gpkg --to kml -o out");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let file = place.path("out/plan.kml");
    for (layer, id) in LAYERS {
        let there = in_degrees(&expected(&place.path("plan.gpkg"), layer, id), EPSG);
        all_same(&there, &shapes(&file, layer, id), DEGREES, layer);
    }
}

#[test]
fn flatgeobuf_has_every_feature_in_the_jobs_system() {
    let place = planned();
    let ran = place.run("export plan.gpkg --to fgb -o out");
    assert_eq!(ran.code, 0, "{}", ran.err);
    for (layer, id) in LAYERS {
        let file = place.path(&format!("out/{layer}.fgb"));
        let there = expected(&place.path("plan.gpkg"), layer, id);
        all_same(&there, &shapes(&file, layer, id), 1e-9, layer);
        let set = Dataset::open(&file).expect("opens");
        let srs = set.layer(0).expect("one").spatial_ref().expect("a system");
        assert_eq!(srs.auth_code().expect("a code"), EPSG as i32);
    }
    let empty = Dataset::open(place.path("out/alternative_bores.fgb")).expect("opens");
    let empty = empty.layer(0).expect("one");
    assert_eq!(empty.feature_count(), 0);
    assert_eq!(
        empty.defn().geometry_type(),
        OGRwkbGeometryType::wkbLineString25D
    );
}

/// Shapes of a layer of the drawing.
fn drawn(file: &Path, on: &str) -> Vec<Vec<Point>> {
    let set = Dataset::open(file).expect("opens");
    let mut all = set.layer(0).expect("entities");
    let at = all.defn().field_index("Layer").expect("a column");
    let on_it = all.features().filter_map(|f| {
        let layer = f.field_as_string(at).expect("reads").unwrap_or_default();
        (layer == on).then(|| vertices(f.geometry().expect("a shape")))
    });
    on_it.collect()
}

#[test]
fn the_drawing_has_bores_in_space_and_pits_as_closed_lines() {
    let place = planned();
    let ran = place.run("export plan.gpkg --to dxf -o out");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let (file, plan) = (place.path("out/plan.dxf"), place.path("plan.gpkg"));
    let bores: Vec<_> = expected(&plan, "proposed_bores", "bore_id")
        .into_values()
        .collect();
    let mut found = drawn(&file, "SEWER-BORE");
    let by_start = |a: &Vec<Point>, b: &Vec<Point>| a.partial_cmp(b).expect("numbers");
    let mut sought = bores.clone();
    sought.sort_by(by_start);
    found.sort_by(by_start);
    assert_eq!(found.len(), sought.len());
    found
        .iter()
        .zip(&sought)
        .for_each(|(a, b)| same(a, b, METRES, "bore"));
    let pits = expected(&plan, "proposed_pits", "pit_id");
    let mut rings = drawn(&file, "PIT-LAUNCH");
    rings.extend(drawn(&file, "PIT-RECEPTION"));
    assert_eq!(rings.len(), pits.len());
    for ring in &rings {
        assert_eq!((ring.len(), ring.first()), (5, ring.last()));
        let near = |p: &Point| {
            ring.iter()
                .any(|q| (p.0 - q.0).hypot(p.1 - q.1) < 0.001 && (p.2 - q.2).abs() < 0.001)
        };
        assert!(pits.values().any(|pit| pit.iter().all(near)), "{ring:?}");
    }
    assert_eq!(drawn(&file, "PIT-FLOOR").len(), pits.len());
    let points = drawn(&file, "TEST-HOLE")
        .into_iter()
        .filter(|s| s.len() == 1);
    assert_eq!(
        points.count(),
        expected(&plan, "test_holes", "hole_id").len()
    );
}

#[test]
fn the_same_plan_gives_the_same_bytes() {
    let place = planned();
    for format in ["geojson", "kml", "dxf", "csv"] {
        for folder in ["a", "b"] {
            let ran = place.run(&format!("export plan.gpkg --to {format} -o {folder}"));
            assert_eq!(ran.code, 0, "{}", ran.err);
        }
    }
    let files = std::fs::read_dir(place.path("a")).expect("reads");
    for file in files {
        let name = file
            .expect("reads")
            .file_name()
            .to_string_lossy()
            .into_owned();
        assert_eq!(
            place.bytes(&format!("a/{name}")),
            place.bytes(&format!("b/{name}"))
        );
    }
}
