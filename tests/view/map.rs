//! What a window of the map holds.

use crate::{
    place::{Place, without_triggers},
    server::{Server, planned},
};
use rusqlite::Connection;
use serde_json::Value;

/// Beyond everything.
const ALL: &str = "-90000,-90000,90000,90000";

fn things<'a>(layers: &'a [Value], layer: &str) -> &'a Vec<Value> {
    let found = layers.iter().find(|l| l["layer"] == layer);
    let found = found.unwrap_or_else(|| panic!("no {layer}"));
    found["things"].as_array().expect("things")
}

fn fids(layers: &[Value], layer: &str) -> Vec<i64> {
    let all = things(layers, layer).iter();
    all.map(|t| t["fid"].as_i64().expect("a fid")).collect()
}

#[test]
fn everything_of_site_and_plan_is_in_the_widest_window() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let layers = server.layers(ALL);
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    for layer in [
        "routes",
        "streets",
        "lots",
        "buildings",
        "surfaces",
        "fences",
        "trees",
        "water_mains",
        "gas_mains",
        "manholes",
        "keepouts",
        "proposed_pits",
        "proposed_bores",
        "bore_conflicts",
        "test_holes",
    ] {
        let sql = format!("SELECT fid FROM {layer} ORDER BY fid");
        let mut ask = db.prepare(&sql).expect("reads");
        let rows = ask.query_map([], |r| r.get(0)).expect("reads");
        let rows: Vec<i64> = rows.collect::<Result<_, _>>().expect("reads");
        assert!(!rows.is_empty(), "{layer}");
        assert_eq!(fids(&layers, layer), rows, "{layer}");
    }
    // No ground, tables or runs.
    assert!(
        layers
            .iter()
            .all(|l| l["layer"] != "ground" && l["layer"] != "cost_items")
    );
}

#[test]
fn a_window_holds_what_meets_it_with_and_without_an_index() {
    let place = planned();
    let indexed = Server::start(&place, "view wattle-rise.gpkg");
    let part = "40,40,70,80";
    let with = indexed.layers(part);
    let lots = fids(&with, "lots");
    assert!(!lots.is_empty() && lots.len() < fids(&indexed.layers(ALL), "lots").len());
    drop(indexed);
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    let gone = db.execute(
        "DELETE FROM gpkg_extensions WHERE extension_name = 'gpkg_rtree_index'",
        [],
    );
    assert!(gone.expect("deletes") > 10);
    drop(db);
    let plain = Server::start(&place, "view wattle-rise.gpkg");
    assert_eq!(with, plain.layers(part));
    // Far from everything.
    let nothing = plain.layers("50000,50000,50100,50100");
    assert!(nothing.iter().all(|l| l["things"] == serde_json::json!([])));
}

#[test]
fn a_bore_lies_where_its_row_says() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let page = server.body("/");
    let about = page.split("data-about=\"").nth(1).expect("about");
    let about = about
        .split("\">")
        .next()
        .expect("its end")
        .replace("&quot;", "\"");
    let about: Value = serde_json::from_str(&about).expect("JSON");
    let (x, y) = (about["origin"][0].as_f64(), about["origin"][1].as_f64());
    let (x, y) = (x.expect("x"), y.expect("y"));
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    let sql = "SELECT p.easting, p.northing, q.easting, q.northing FROM proposed_bores b JOIN proposed_pits p ON p.pit_id = b.us_pit \
               JOIN proposed_pits q ON q.pit_id = b.ds_pit WHERE b.fid = 1";
    let row = |r: &rusqlite::Row| {
        Ok([
            r.get::<_, f64>(0)? - x,
            r.get::<_, f64>(1)? - y,
            r.get::<_, f64>(2)? - x,
            r.get::<_, f64>(3)? - y,
        ])
    };
    let ends = db.query_row(sql, [], row).expect("a bore");
    let layers = server.layers(ALL);
    let line = &things(&layers, "proposed_bores")[0]["lines"][0];
    for (i, end) in ends.iter().enumerate() {
        let drawn = line[i].as_f64().expect("a number");
        assert!((drawn - end).abs() <= 0.006, "{drawn} {end}");
    }
}

/// Statements that make the triggers of a layer.
fn triggers(db: &Connection, layer: &str) -> Vec<String> {
    let sql = "SELECT sql FROM sqlite_master WHERE type = 'trigger' AND tbl_name = ?1";
    let mut all = db.prepare(sql).expect("reads");
    let all = all.query_map([layer], |r| r.get(0)).expect("reads");
    all.collect::<Result<_, _>>().expect("reads")
}

#[test]
fn a_layer_of_more_than_can_be_drawn_is_not_drawn_in_part() {
    let place = planned();
    let db = place.opened("wattle-rise.gpkg");
    let many = "WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 4001) \
                INSERT INTO trees (geom) SELECT t.geom FROM n, (SELECT geom FROM trees LIMIT 1) t";
    assert_eq!(db.execute(many, []).expect("inserts"), 4001);
    drop(db);
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let layers = server.layers(ALL);
    let trees = layers
        .iter()
        .find(|l| l["layer"] == "trees")
        .expect("trees");
    assert_eq!(trees["not_drawn"], "too many");
    assert_eq!(trees["things"], serde_json::json!([]));
    assert!(fids(&layers, "lots").len() > 10);
}

/// An index rounds boxes outward, here by up to half a metre north: what it finds and the window does not hold counts towards the
/// limit of its answer.
#[test]
fn what_an_index_finds_beside_the_window_hides_nothing() {
    let place = planned();
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    // An index whose triggers are not there is not asked.
    let triggers = triggers(&db, "trees");
    without_triggers(&db);
    db.execute_batch("BEGIN; DELETE FROM trees; DELETE FROM rtree_trees_geom")
        .expect("deletes");
    // Trees at 6394300 north stand in the window, those 0.3 m further on only by their boxes.
    for (n, north, from) in [(3_000, 6_394_300.0, 0), (1_500, 6_394_300.3, 10_000)] {
        let mut geometry = b"GP\0\x01".to_vec();
        geometry.extend(32742_i32.to_le_bytes());
        geometry.extend([1, 1, 0, 0, 0]);
        geometry.extend(412_500.0_f64.to_le_bytes());
        geometry.extend(f64::to_le_bytes(north));
        for fid in from..from + n {
            db.execute(
                "INSERT INTO trees (fid, geom) VALUES (?1, ?2)",
                (fid, &geometry),
            )
            .expect("inserts");
            db.execute(
                "INSERT INTO rtree_trees_geom VALUES (?1, 412500, 412500, ?2, ?2)",
                (fid, north),
            )
            .expect("inserts");
        }
    }
    triggers
        .iter()
        .for_each(|t| db.execute_batch(t).expect("comes back"));
    db.execute_batch("COMMIT").expect("writes");
    drop(db);
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let page = server.body("/");
    let origin = page
        .split("origin&quot;:[")
        .nth(1)
        .and_then(|o| o.split(']').next());
    let origin: Vec<f64> = origin
        .expect("an origin")
        .split(',')
        .map(|n| n.parse().expect("a number"))
        .collect();
    let north = 6_394_300.1 - origin[1];
    let trees = |window: String| {
        let layers = server.layers(&window);
        layers
            .iter()
            .find(|l| l["layer"] == "trees")
            .expect("trees")
            .clone()
    };
    let part = trees(format!("0,0,500,{north:.2}"));
    assert!(part["not_drawn"] == "too many" || things(&[part], "trees").len() == 3_000);
    let south = trees(format!("0,0,500,{:.2}", north - 10.0));
    assert_eq!(south["things"], serde_json::json!([]));
    assert!(south["not_drawn"].is_null());
}

#[test]
fn broken_shapes_are_counted_and_the_others_drawn() {
    let place = planned();
    let db = place.opened("wattle-rise.gpkg");
    let cut = "UPDATE lots SET geom = substr(geom, 1, length(geom) - 5) WHERE fid IN (SELECT fid FROM lots LIMIT 2)";
    assert_eq!(db.execute(cut, []).expect("updates"), 2);
    let left: i64 = db
        .query_row("SELECT count(*) - 2 FROM lots", [], |r| r.get(0))
        .expect("counts");
    drop(db);
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let layers = server.layers(ALL);
    let lots = layers.iter().find(|l| l["layer"] == "lots").expect("lots");
    assert_eq!(lots["broken"], 2);
    assert_eq!(fids(&layers, "lots").len() as i64, left);
}

#[test]
fn a_plan_in_a_file_of_its_own_is_drawn_with_its_site_or_says_what_is_missing() {
    let place = Place::coarse("wattle-rise");
    assert!(place.run("plan wattle-rise.gpkg --out p.gpkg --quiet").code <= 1);
    let whole = |command: &str| {
        let server = Server::start(&place, command);
        assert!(!server.said.contains("--around"), "{}", server.said);
        assert!(!fids(&server.layers(ALL), "lots").is_empty());
    };
    whole("view p.gpkg");
    let moved = place.path("moved.gpkg");
    std::fs::rename(place.path("wattle-rise.gpkg"), moved).expect("moves");
    let bare = Server::start(&place, "view p.gpkg");
    assert!(bare.said.contains("--around"), "{}", bare.said);
    assert!(bare.body("/").contains("--around"));
    assert!(bare.layers(ALL).iter().all(|l| l["layer"] != "lots"));
    whole("view p.gpkg --around moved.gpkg");
}
