//! `plan --alternatives`.

use crate::place::{Place, Ran};
use rusqlite::Connection;
use serde_json::Value;

fn done(ran: &Ran) {
    assert_eq!(ran.code, 0, "{}", ran.err);
}

fn texts(place: &Place, file: &str, sql: &str) -> Vec<String> {
    let db = Connection::open(place.path(file)).expect("opens");
    let mut all = db.prepare(sql).expect("is there");
    let rows = all.query_map([], |r| r.get(0)).expect("reads");
    rows.map(|r| r.expect("text")).collect()
}

#[test]
fn the_layers_hold_every_plan_and_the_first_is_the_plan() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out result.gpkg --alternatives 3 --json");
    done(&ran);
    let document = ran.json();
    let rows = document["alternatives"].as_array().expect("a list");
    assert_eq!(document["layers"]["alternatives"], rows.len());
    let same = [
        (
            "proposed_pits",
            "alternative_pits",
            "pit_id || ' ' || chainage_m || ' ' || cost",
        ),
        (
            "proposed_bores",
            "alternative_bores",
            "bore_id || ' ' || length_m || ' ' || cost",
        ),
    ];
    for (best, all, columns) in same {
        let of = |table: &str, end: &str| {
            let sql = format!("SELECT {columns} FROM {table} {end} ORDER BY 1");
            texts(&place, "result.gpkg", &sql)
        };
        assert_eq!(of(best, ""), of(all, "WHERE alternative = 1"), "{all}");
        assert!(of(all, "WHERE alternative = 2").len() > 1, "{all}");
    }
}

#[test]
fn rows_of_a_system_go_on_by_cost_and_say_what_differs() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out result.gpkg --alternatives 4 --json");
    let document = ran.json();
    let rows = document["alternatives"].as_array().expect("a list");
    let keys: Vec<&String> = rows[0].as_object().expect("an object").keys().collect();
    let expected = "system alternative cost more_than_best pits manholes bores test_holes watch least_margin_m \
                    strike_cost longest_bore_m deepest_pit_m differs";
    assert_eq!(keys, expected.split_whitespace().collect::<Vec<_>>());
    let mut systems = 0;
    for system in rows.chunk_by(|a, b| a["system"] == b["system"]) {
        systems += 1;
        assert!(system.len() <= 4);
        assert_eq!(system[0]["differs"], "the best plan");
        let best = document["routes"].as_array().expect("routes");
        let cost = |r: &Value| r["cost"].as_f64().expect("a number");
        let of_system = best.iter().filter(|r| {
            let ids = system[0]["system"].as_array().expect("ids");
            ids.contains(&r["route_id"])
        });
        let total: f64 = of_system.map(cost).sum();
        assert!((cost(&system[0]) - total).abs() < 1e-6);
        for (i, pair) in system.windows(2).enumerate() {
            assert_eq!(pair[1]["alternative"], i + 2);
            assert!(cost(&pair[1]) >= cost(&pair[0]) - 1e-6);
            let words = pair[1]["differs"].as_str().expect("words");
            assert!(
                words.starts_with("no pit within 3 m of the best plan's at "),
                "{words}"
            );
        }
    }
    assert!(systems >= 1 && rows.len() > systems, "{rows:?}");
}

#[test]
fn an_earlier_runs_alternatives_do_not_stay() {
    let place = Place::coarse("wattle-rise");
    let count = |layer: &str| {
        let sql = format!("SELECT '' || count(*) FROM {layer}");
        texts(&place, "wattle-rise.gpkg", &sql)
    };
    let layers = ["alternatives", "alternative_pits", "alternative_bores"];
    done(&place.run("plan wattle-rise.gpkg --alternatives 2 --quiet"));
    assert!(layers.iter().all(|l| count(l) != ["0"]));
    done(&place.run("plan wattle-rise.gpkg --replace --quiet"));
    assert!(layers.iter().all(|l| count(l) == ["0"]));
}

#[test]
fn the_table_names_every_plan() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out result.gpkg --alternatives 2");
    done(&ran);
    for piece in [
        "cheapest plans of STREET",
        "the best plan",
        "no pit within 3 m of the best plan's at STREET ",
    ] {
        assert!(ran.out.contains(piece), "no '{piece}' in: {}", ran.out);
    }
    let plain = place.run("plan wattle-rise.gpkg --out plain.gpkg");
    assert!(!plain.out.contains("cheapest plans"), "{}", plain.out);
}

#[test]
fn they_do_not_depend_on_the_number_of_threads() {
    let place = Place::coarse("wattle-rise");
    let rows = |threads: usize| {
        let file = format!("{threads}.gpkg");
        done(&place.run(&format!(
            "plan wattle-rise.gpkg --out {file} --alternatives 5 --threads {threads}"
        )));
        let mut all = texts(
            &place,
            &file,
            "SELECT system || alternative || cost || differs FROM alternatives",
        );
        all.extend(texts(
            &place,
            &file,
            "SELECT alternative || pit_id || invert_m FROM alternative_pits",
        ));
        all.extend(texts(
            &place,
            &file,
            "SELECT alternative || bore_id || cost FROM alternative_bores",
        ));
        all
    };
    let one = rows(1);
    assert!(one.len() > 40, "{}", one.len());
    assert_eq!(one, rows(3));
}

#[test]
fn a_number_out_of_range_is_exit_2() {
    let place = Place::coarse("wattle-rise");
    for n in ["0", "10", "many"] {
        let line = format!("plan wattle-rise.gpkg --alternatives {n}");
        place.run(&line).refused(2, &["--alternatives"]);
    }
}

#[test]
fn a_site_without_a_plan_has_no_alternatives() {
    let place = Place::coarse("wattle-rise-no-plan");
    let ran = place.run("plan wattle-rise-no-plan.gpkg --out result.gpkg --alternatives 3 --json");
    assert_eq!(ran.code, 1, "{}", ran.err);
    assert_eq!(ran.json()["alternatives"], Value::Array(vec![]));
}
