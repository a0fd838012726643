//! `explain`.

use crate::place::Place;
use serde_json::Value;

/// A planned sample: the file, and its first bore.
fn planned() -> (Place, Value) {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out plan.gpkg --json --progress none");
    assert!(ran.code <= 1, "{}", ran.err);
    let bore = place.run("explain STREET-B01 plan.gpkg --json").json();
    (place, bore)
}

fn titles(document: &Value) -> Vec<&str> {
    let checks = document["checks"].as_array().expect("checks");
    checks.iter().filter_map(|c| c["title"].as_str()).collect()
}

fn result(document: &Value, title: &str, symbol: &str) -> f64 {
    let checks = document["checks"].as_array().expect("checks");
    let check = checks.iter().find(|c| c["title"] == title);
    let check = check.unwrap_or_else(|| panic!("no {title} among {:?}", titles(document)));
    let mut steps = check["steps"].as_array().expect("steps").iter();
    let step = steps.find(|s| s["symbol"] == symbol).expect("the letter");
    step["value"].as_f64().expect("a number")
}

#[test]
fn a_bore_is_explained_by_the_job_of_its_plan_and_agrees_with_its_row() {
    let (place, bore) = planned();
    assert_eq!(
        (&bore["kind"], &bore["layer"]),
        (&"bore".into(), &"proposed_bores".into())
    );
    assert!(
        bore["job"]
            .as_str()
            .unwrap()
            .starts_with("the job of the plan of 2")
    );
    let row = |column: &str| {
        bore["row"][column]
            .as_f64()
            .unwrap_or_else(|| panic!("{column}"))
    };
    let total = "Thrust at the end of the drive";
    for (column, title, symbol) in [
        ("thrust_low_kn", total, "T_low"),
        ("thrust_kn", total, "T"),
        ("thrust_high_kn", total, "T_high"),
        ("settlement_mm", "Steepest slope of the trough", "s_max"),
        ("settlement_slope", "Steepest slope of the trough", "slope"),
        ("velocity_m_s", "Full pipe by Manning", "V"),
        ("capacity_l_s", "Full pipe by Manning", "Q"),
        ("days", "Crew days of the drive", "T"),
    ] {
        let (shown, worked) = (row(column), result(&bore, title, symbol));
        assert!(
            (shown - worked).abs() < 1e-9 * shown.abs().max(1.0),
            "{column}"
        );
    }
    assert!(row("thrust_low_kn") < row("thrust_kn") && row("thrust_kn") < row("thrust_high_kn"));

    // For people: numbers put in, the source and its tag, and the cautions.
    let text = place.run("explain STREET-B01 plan.gpkg").out;
    for piece in [
        "F = f·π·D·L",
        "F = 5·π·0.186·60",
        "[from memory]",
        "not worked out: ",
        "Records are not proof",
    ] {
        assert!(text.contains(piece), "no '{piece}' in {text}");
    }
    assert!(!text.contains(" safe"));
}

#[test]
fn pits_and_conflicts_are_explained_too() {
    let (place, bore) = planned();
    let pit = bore["row"]["launch_pit"].as_str().expect("a pit");
    let pit = place.run(&format!("explain {pit} plan.gpkg --json")).json();
    let volume = result(&pit, "Volume of the pit", "V");
    assert!((volume - pit["row"]["volume_m3"].as_f64().unwrap()).abs() < 1e-9);
    assert!(titles(&pit).contains(&"Ladders"));
    let conflict = place.run("explain C0001 plan.gpkg --json").json();
    let margin = conflict["row"]["margin_m"].as_f64().expect("a margin");
    assert!((result(&conflict, "Margin", "m") - margin).abs() < 1e-9);
}

#[test]
fn a_row_is_explained_by_the_job_of_the_run_that_wrote_it() {
    let (place, _) = planned();
    let before = "wattle-rise.job.toml";
    let job = String::from_utf8(place.bytes(before)).expect("UTF-8");
    assert!(job.contains("watch_distance_m = "));
    let other = job.replace("watch_distance_m = ", "watch_distance_m = 1");
    place.write("check.toml", &other);
    let ran = place.run(
        "check wattle-rise.gpkg --job check.toml --bores plan.gpkg:proposed_bores --out plan.gpkg --replace --quiet",
    );
    assert!(ran.code <= 1, "{}", ran.err);
    let by = |item: &str| {
        let document = place
            .run(&format!("explain {item} plan.gpkg --json"))
            .json();
        document["job"].as_str().expect("a job").to_string()
    };
    assert!(by("C0001").starts_with("the job of the check of 2"));
    assert!(by("STREET-B01").starts_with("the job of the plan of 2"));
}

#[test]
fn another_job_may_be_put_to_the_same_bore() {
    let (place, bore) = planned();
    place.write(
        "sand.toml",
        "[soil]\nclass = \"wet-sand\"\nunit_weight_kn_m3 = 19\nfriction_deg = 32\npipe_mu = 0.4\n",
    );
    let sand = place
        .run("explain STREET-B01 plan.gpkg --job sand.toml --json")
        .json();
    assert_eq!(sand["job"], "sand.toml");
    assert!(titles(&sand).len() > titles(&bore).len());
    assert!(titles(&sand).contains(&"Friction on the pipe at the interface"));
}

#[test]
fn an_unknown_item_is_refused_with_the_nearest() {
    let (place, _) = planned();
    let before = place.bytes("plan.gpkg");
    place
        .run("explain STREET-B99 plan.gpkg")
        .refused(3, &["plan.gpkg", "'STREET-B99'", "STREET-B0"]);
    place
        .run("explain B1 wattle-rise.gpkg")
        .refused(3, &["run pitwright plan first"]);
    place
        .run("explain B1 nowhere.gpkg")
        .refused(3, &["nowhere.gpkg"]);
    assert_eq!(place.run("explain B1").code, 2);
    assert_eq!(before, place.bytes("plan.gpkg"));
}
