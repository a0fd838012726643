//! `plan` where there is none: what closes the way, and what would help.

use crate::place::{Place, Ran};
use rusqlite::Connection;
use serde_json::{Value, json};

/// One of the small sites without a plan, on a coarse grid.
fn site(name: &str) -> Place {
    let place = Place::sample(&format!("no-plan/{name}"));
    let file = format!("{name}.job.toml");
    let job = String::from_utf8(place.bytes(&file)).expect("UTF-8");
    let coarse = job
        .replace("station_step_m = 1.0", "station_step_m = 2.0")
        .replace("level_step_m = 0.02", "level_step_m = 0.1");
    assert_ne!(job, coarse);
    place.write(&file, &coarse);
    place
}

fn plan(place: &Place, name: &str, flags: &str) -> Ran {
    let ran = place.run(&format!("plan {name}.gpkg --out plan.gpkg {flags}"));
    assert_eq!(ran.code, 1, "{}", ran.err);
    ran
}

/// The lines on the route, as they are.
fn words(name: &str) -> String {
    let ran = plan(&site(name), name, "");
    assert!(ran.out.contains("Records are not proof"));
    let lines = ran.out.lines().take_while(|l| !l.starts_with("written"));
    lines.map(|l| format!("{l}\n")).collect()
}

#[test]
fn a_house_across_the_line() {
    assert_eq!(words("house-across"), HOUSE);
}

#[test]
fn lots_without_entry_for_longer_than_the_reach() {
    assert_eq!(words("lots-without-entry"), LOTS);
}

#[test]
fn an_outfall_that_lies_too_high() {
    assert_eq!(words("high-outfall"), OUTFALL);
}

const HOUSE: &str = "\
route ONLY: no plan
  chainage 0.0 to 50.0 m: no levels keep all rules from end to end; closed by buildings fid 2
  it would have a plan with the outfall invert at 19.2 m (routes fid 1)
";

const LOTS: &str = "\
route ONLY: no plan
  chainage 10.0 to 84.0 m: no pits that may be dug here bridge it, whatever the levels; closed by lots fid 2
  it would have a plan if drives could reach 74.0 m, by rig, thrust, pipe and accuracy alike
  it would have a plan if pits may be dug on lot P2 (lots fid 2)
";

const OUTFALL: &str = "\
route ONLY: no plan
  chainage 0.0 to 50.0 m: no levels keep all rules from end to end; no single feature is the cause: the levels fixed at its ends, the ground or the reach
  it would have a plan with the outfall invert at 22.0 m (routes fid 1)
";

#[test]
fn the_document_has_numbers_where_they_are_numbers() {
    let name = "lots-without-entry";
    let route = &plan(&site(name), name, "--json").json()["routes"][0];
    assert_eq!(
        route["blockers"],
        json!([{"from_chainage_m": 10.0, "to_chainage_m": 84.0, "why": "gap", "source_layer": "lots", "source_fid": 2}])
    );
    assert_eq!(
        route["remedies"],
        json!([
            {"kind": "reach", "value": 74.0, "source_layer": null, "source_fid": null},
            {"kind": "entry", "value": "P2", "source_layer": "lots", "source_fid": 2},
        ])
    );
}

#[test]
fn the_layer_draws_every_blocker_along_its_route() {
    let name = "lots-without-entry";
    let place = site(name);
    plan(&place, name, "--quiet");
    let db = Connection::open(place.path("plan.gpkg")).expect("opens");
    let row = db
        .query_row(
            "SELECT route_id, from_chainage_m, to_chainage_m, why, source_layer, source_fid, remedies, geom FROM route_blockers",
            [],
            |r| {
                Ok((
                    (r.get::<_, String>(0)?, r.get::<_, f64>(1)?, r.get::<_, f64>(2)?),
                    (r.get::<_, String>(3)?, r.get::<_, String>(4)?, r.get::<_, i64>(5)?),
                    (r.get::<_, String>(6)?, r.get::<_, Vec<u8>>(7)?),
                ))
            },
        )
        .expect("one row");
    assert_eq!(row.0, ("ONLY".to_string(), 10.0, 84.0));
    assert_eq!(row.1, ("gap".to_string(), "lots".to_string(), 2));
    assert_eq!(row.2.0, "reach 74 m; entry P2");
    assert!((length_m(&row.2.1) - 74.0).abs() < 1e-6);
}

/// Length of a line of two points with an envelope of four numbers before it.
fn length_m(blob: &[u8]) -> f64 {
    const HEAD: usize = 8 + 32;
    let number = |i: usize| {
        let at = HEAD + 9 + 8 * i;
        f64::from_le_bytes(blob[at..at + 8].try_into().expect("eight bytes"))
    };
    assert_eq!((blob[HEAD], blob[HEAD + 1], blob[HEAD + 5]), (1, 2, 2));
    (number(2) - number(0)).hypot(number(3) - number(1))
}

/// What it says would give a plan does.
#[test]
fn a_remedy_taken_at_its_word_gives_a_plan() {
    let name = "lots-without-entry";
    let planned = |reach_m: &str| -> Value {
        let place = site(name);
        let file = format!("{name}.job.toml");
        let job = String::from_utf8(place.bytes(&file)).expect("UTF-8");
        let set = job
            .replace("reach_m = 60", &format!("reach_m = {reach_m}"))
            .replace("thrust_kn = 400", "thrust_kn = 4000")
            .replace("axial_limit_kn = 350", "axial_limit_kn = 4000");
        assert_ne!(set, job);
        place.write(&file, &set);
        let ran = place.run(&format!("plan {name}.gpkg --out plan.gpkg --json"));
        ran.json()["routes"][0]["status"].clone()
    };
    assert_eq!(
        (planned("74.0"), planned("73.9")),
        (json!("planned"), json!("no-plan"))
    );
}
