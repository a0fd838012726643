//! Who digs, where what decides it stands far from the route.

use crate::{
    fixture::{L, layer, route},
    place::Place,
};
use gdal::DriverManager;
use rusqlite::Connection;

/// Walls 800 m around a route, all closed but for a gate in the southern one, and a street outside.
fn walled(gate_m: f64) -> Place {
    let strip = |x0: f64, y0: f64, x1: f64, y1: f64| -> &'static str {
        let (x0, x1, y0, y1) = (
            500_000.0 + x0,
            500_000.0 + x1,
            5_800_000.0 + y0,
            5_800_000.0 + y1,
        );
        format!("POLYGON (({x0} {y0}, {x1} {y0}, {x1} {y1}, {x0} {y1}, {x0} {y0}))").leak()
    };
    let walls = [
        strip(-800.0, 800.0, 900.0, 801.0),
        strip(-800.0, -800.0, -799.0, 801.0),
        strip(899.0, -800.0, 900.0, 801.0),
        strip(-800.0, -800.0, 0.0, -799.0),
        strip(gate_m, -800.0, 900.0, -799.0),
    ];
    let street = "LINESTRING (499000 5799100, 501000 5799100)";
    let place = Place::empty();
    write(
        &place,
        &[
            route(),
            layer("streets", &[street]),
            layer("keepouts", &walls),
        ],
    );
    place
}

fn write(place: &Place, layers: &[L]) {
    let driver = DriverManager::get_driver_by_name("GPKG").expect("GDAL has it");
    let mut file = driver
        .create_vector_only(place.path("site.gpkg"))
        .expect("creates");
    layers.iter().for_each(|l| l.write(&mut file));
    file.close().expect("closes");
}

/// Who digs the pits, each word once; none without a plan.
fn who_digs(place: &Place) -> Vec<String> {
    let ran = place.run("plan site.gpkg --out plan.gpkg --quiet");
    assert!(ran.code <= 1, "{}", ran.err);
    let db = Connection::open(place.path("plan.gpkg")).expect("opens");
    let mut ask = db
        .prepare("SELECT DISTINCT dig FROM proposed_pits ORDER BY 1")
        .expect("is there");
    let words = ask.query_map([], |r| r.get(0)).expect("reads");
    words.map(|w| w.expect("text")).collect()
}

#[test]
fn a_gate_far_away_decides_who_digs() {
    assert_eq!(who_digs(&walled(2.6)), ["machine"]);
    assert_eq!(who_digs(&walled(2.4)), ["hand"]);
    assert!(who_digs(&walled(0.8)).is_empty());
}

#[test]
fn a_gate_just_as_wide_as_the_machine_is_wide_enough() {
    assert_eq!(who_digs(&walled(2.5)), ["machine"]);
}

#[test]
fn a_yard_with_side_passages_only_is_dug_by_hand() {
    let place = Place::sample("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out plan.gpkg --quiet");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let db = Connection::open(place.path("plan.gpkg")).expect("opens");
    let digs = |route: &str, lots: &str| -> Vec<String> {
        let sql = format!("SELECT dig FROM proposed_pits WHERE route_id = ?1 AND lot_id {lots}");
        let mut ask = db.prepare(&sql).expect("is there");
        let words = ask.query_map([route], |r| r.get(0)).expect("reads");
        words.map(|w| w.expect("text")).collect()
    };
    // Houses 2.2 m apart, woodland behind; the other yards lie open to a lane.
    assert_eq!(digs("YARDS", "IS NOT NULL"), ["hand"; 4]);
    assert_eq!(digs("YARDS", "IS NULL"), ["machine"]);
    assert_eq!(digs("PATH", "IS NOT NULL"), ["machine"; 3]);
}
