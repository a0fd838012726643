//! `plan --what-if`.

use crate::place::Place;
use serde_json::Value;

#[test]
fn each_line_is_the_plan_of_a_job_with_that_value() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --what-if reach=40,60,80 --json");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let document = ran.json();
    assert_eq!(
        (&document["command"], &document["key"]),
        (&"plan".into(), &"rig.reach_m".into())
    );
    let lines = document["what_if"].as_array().expect("a list");
    assert_eq!(lines.len(), 3);
    let job = String::from_utf8(place.bytes("wattle-rise.job.toml")).expect("UTF-8");
    for line in lines {
        let with = job.replace("reach_m = 60", &format!("reach_m = {}", line["value"]));
        place.write("one.toml", &with);
        let plan =
            place.run("plan wattle-rise.gpkg --job one.toml --out one.gpkg --replace --json");
        let plan = plan.json();
        let routes = plan["routes"].as_array().expect("routes");
        let sum = |key: &str| routes.iter().filter_map(|r| r[key].as_f64()).sum::<f64>();
        for key in ["pits", "manholes", "bores", "cost", "trench_cost"] {
            let got = line[key].as_f64().expect("a number");
            assert!((got - sum(key)).abs() < 1e-6, "{key}: {got} {}", sum(key));
        }
        let longest = routes.iter().filter_map(|r| r["longest_bore_m"].as_f64());
        assert_eq!(line["longest_bore_m"].as_f64(), longest.reduce(f64::max));
        assert_eq!(line["test_holes"], plan["layers"]["test_holes"]);
        assert_eq!((&line["routes"], &line["planned"]), (&4.into(), &4.into()));
    }
    assert_ne!(lines[0]["bores"], lines[1]["bores"]);
}

#[test]
fn nothing_is_written_and_it_says_so() {
    let place = Place::coarse("wattle-rise");
    let (names, bytes) = (place.names(), place.bytes("wattle-rise.gpkg"));
    for asked in ["soil=firm-clay,silt", "dn=150,200", "corridor=0,0.5"] {
        let ran = place.run(&format!("plan wattle-rise.gpkg --what-if {asked}"));
        assert_eq!(ran.code, 0, "{}", ran.err);
        let head = asked.split('=').next().expect("a word");
        for piece in [
            head,
            "4 of 4",
            "longest bore",
            "no layers were written",
            "Records are not proof",
        ] {
            assert!(ran.out.contains(piece), "no '{piece}' in: {}", ran.out);
        }
    }
    assert_eq!(
        (place.names(), place.bytes("wattle-rise.gpkg")),
        (names, bytes)
    );
}

#[test]
fn what_the_value_does_not_change_is_said() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --what-if soil=silt --json");
    let warnings = ran.json()["warnings"].to_string();
    assert!(
        warnings.contains("soil.friction_kpa is stated in the job"),
        "{warnings}"
    );
}

#[test]
fn a_value_without_a_plan_is_exit_1_and_named() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --what-if reach=5,60 --json");
    assert_eq!(ran.code, 1, "{}", ran.err);
    let line = &ran.json()["what_if"][0];
    assert_eq!(line["planned"], 0);
    assert!(line["cost"].is_null() && line["longest_bore_m"].is_null());
    assert_eq!(line["no_plan"].as_array().map(Vec::len), Some(4));
    let words = place.run("plan wattle-rise.gpkg --what-if reach=5,60");
    assert!(
        words.out.contains("with reach = 5: no plan for STREET"),
        "{}",
        words.out
    );
}

#[test]
fn wrong_keys_and_values_are_exit_2_with_those_that_are_known() {
    let place = Place::coarse("wattle-rise");
    let run = |asked: &str| place.run(&format!("plan wattle-rise.gpkg --what-if {asked}"));
    run("speed=1,2").refused(2, &["speed", "reach, soil, dn, corridor"]);
    run("reach").refused(2, &["reach, soil, dn, corridor"]);
    run("reach=").refused(2, &["reach=VALUE,VALUE"]);
    run("reach=50,,60").refused(2, &["reach=VALUE,VALUE"]);
    run("reach=50,far").refused(2, &["reach=far", "a number above 0"]);
    run("corridor=-1").refused(2, &["corridor=-1", "at least 0"]);
    run("dn=150.5").refused(2, &["a whole number"]);
    run("soil=silt,mud").refused(2, &["soil=mud", "firm-clay", "silt", "wet-sand"]);
    let error = place
        .run("plan wattle-rise.gpkg --what-if soil=mud --json")
        .error(2, Some("plan"));
    assert!(
        error["message"]
            .as_str()
            .is_some_and(|m| m.contains("wet-sand"))
    );
    place
        .run("plan wattle-rise.gpkg --what-if speed=1 --json")
        .error(2, Some("plan"));
}

#[test]
fn it_goes_with_neither_alternatives_nor_a_place_to_write() {
    let place = Place::coarse("wattle-rise");
    for with in ["--alternatives 2", "--out a.gpkg", "--replace"] {
        let line = format!("plan wattle-rise.gpkg --what-if reach=50 {with}");
        let flag = with.split(' ').next().expect("a flag");
        place.run(&line).refused(2, &["--what-if", flag]);
    }
}

#[test]
fn a_diameter_that_cannot_be_bored_is_exit_3_with_the_remedy() {
    let place = Place::coarse("wattle-rise");
    let run = |asked: &str| place.run(&format!("plan wattle-rise.gpkg --what-if {asked}"));
    run("dn=150,175").refused(3, &["dn=175", "no such size", "[pipe.sizes.175]"]);
    run("dn=300").refused(3, &["dn=300", "rig.dn_max_mm"]);
    let error = place
        .run("plan wattle-rise.gpkg --what-if dn=175 --json")
        .error(3, Some("plan"));
    assert_eq!(error["file"], Value::from("wattle-rise.job.toml"));
}
