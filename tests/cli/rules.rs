//! `rules`.

use crate::place::Place;
use serde_json::Value;

fn find<'a>(document: &'a Value, key: &str) -> &'a Value {
    let rows = document["rules"].as_array().expect("rows");
    rows.iter()
        .find(|r| r["key"] == key)
        .unwrap_or_else(|| panic!("no {key}"))
}

#[test]
fn every_value_in_force_says_where_it_comes_from() {
    let document = Place::empty().run("rules --json").json();
    let rows = document["rules"].as_array().expect("rows");
    assert!(rows.len() > 150);
    let tags = [
        "published",
        "secondary",
        "common practice",
        "from memory",
        "project default",
    ];
    for row in rows.iter().filter(|r| !r["value"].is_null()) {
        assert!(
            row["tag"].as_str().is_some_and(|t| tags.contains(&t)),
            "{row}"
        );
        assert!(
            row["tag"] != "published" || row["source"].is_string(),
            "{row}"
        );
        assert_eq!(row["set_by"], "rule set", "{row}");
    }
}

#[test]
fn what_the_job_sets_is_marked() {
    let place = Place::empty();
    place.write(
        "mine.toml",
        "[rig]\nreach_m = 41.5\n[pipe]\nmaterial = \"vitrified-clay\"\n",
    );
    let document = place.run("rules --json --job mine.toml").json();
    let reach = find(&document, "rig.reach_m");
    assert_eq!(
        (&reach["value"], &reach["set_by"], &reach["line"]),
        (&41.5.into(), &"job file".into(), &2.into())
    );
    assert!(reach["tag"].is_null() && reach["source"].is_null());
    assert_eq!(find(&document, "pipe.od_mm")["value"], 213.0);
}

#[test]
fn the_table_for_people_names_values_and_sources() {
    let ran = Place::empty().run("rules");
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let line = ran
        .out
        .lines()
        .find(|l| l.starts_with("rig.thrust_kn "))
        .expect("listed");
    assert!(line.contains("not set"), "{line}");
    let line = ran
        .out
        .lines()
        .find(|l| l.starts_with("pits.support_from_depth_m "))
        .expect("listed");
    assert!(
        line.contains("1.5 m") && line.contains("published ["),
        "{line}"
    );
    assert!(ran.out.contains("materials.pvc-u.225.od_mm"));
    assert!(ran.out.contains("\nSources\n[1] "));
}

#[test]
fn the_rule_sets_and_schemes_there_are_are_listed() {
    let document = Place::empty().run("rules --json").json();
    let names = |what: &str| -> Vec<String> {
        let all = document[what].as_array().expect("a list");
        assert!(all.iter().all(|s| s["title"].is_string()), "{all:?}");
        all.iter()
            .filter_map(|s| s["name"].as_str().map(str::to_string))
            .collect()
    };
    assert_eq!(names("rule_sets"), ["metric", "us-states"]);
    assert!(names("quality_schemes").contains(&"pas128".to_string()));
    let ran = Place::empty().run("rules");
    assert!(ran.out.contains("\nus-states  Sewers and drinking water"));
}

#[test]
fn a_rule_set_shows_what_it_asks_for() {
    let document = Place::empty()
        .run("rules --rule-set us-states --json")
        .json();
    let asked = find(&document, "rules.clearance.other.crossing_m");
    assert!(asked["value"].is_null() && asked["asked"].is_string());
    let water = find(&document, "rules.separation.water.horizontal_m");
    assert_eq!(
        (&water["value"], &water["tag"]),
        (&3.048.into(), &"published".into())
    );
    assert!(
        water["source"]
            .as_str()
            .is_some_and(|s| s.contains("Tolono") && s.ends_with("10 ft"))
    );
    Place::empty()
        .run("rules --rule-set imperial")
        .refused(2, &["imperial", "metric, us-states"]);
    Place::empty()
        .run("rules --rule-set metric --job mine.toml")
        .refused(2, &["cannot be used with"]);
}

/// A whole plan by the American rule set: the water main is passed by its separation, and the row says so.
#[test]
fn a_plan_by_another_rule_set_names_its_rules() {
    let place = Place::coarse("wattle-rise");
    let own = String::from_utf8(place.bytes("wattle-rise.job.toml")).expect("UTF-8");
    assert!(own.contains("base = \"metric\""));
    let us = own.replace("base = \"metric\"", "base = \"us-states\"");
    place.write("us.toml", &us);
    let ran = place.run("rules --job us.toml --json");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let document = ran.json();
    assert_eq!(
        find(&document, "rules.separation.water.vertical_m")["value"],
        0.4572
    );
    let ran = place.run("plan wattle-rise.gpkg --job us.toml --out us.gpkg --json");
    assert!(ran.code == 0 || ran.code == 1, "{}", ran.err);
    let db = rusqlite::Connection::open(place.path("us.gpkg")).expect("opens");
    let count = |sql: &str| -> i64 { db.query_row(sql, [], |r| r.get(0)).expect("counts") };
    let rows = "SELECT count(*) FROM bore_conflicts WHERE rule LIKE 'rules.separation.water.%'";
    assert!(count(rows) > 0, "the water is passed by its separation");
    assert_eq!(count(&format!("{rows} AND verdict = 'clash'")), 0);
    let margin = "abs(clearance_m - allowance_m - required_m - margin_m) > 1e-9";
    assert_eq!(count(&format!("{rows} AND {margin}")), 0);
}
