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
        ("displacement_cover_m", "Least cover over the pilot", "H"),
        ("pipes", "Pipes", "n"),
        ("pipe_joints", "Pipes", "j"),
        ("casings", "Casings, each with its auger", "n"),
        ("pilot_tubes", "Pilot tubes", "n"),
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
    shows(&pit, "ladders", "Ladders", "n");
    shows(&pit, "laydown_m2", "Area beside the launch pit", "A");
    shows(&pit, "building_keep_m", "Distance from the foundation", "x");
    let over = {
        let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
        let sql = "SELECT conflict_id FROM bore_conflicts WHERE settlement_mm IS NOT NULL LIMIT 1";
        db.query_row(sql, [], |r| r.get::<_, String>(0))
            .expect("something above a bore")
    };
    let over = place
        .run(&format!("explain {over} plan.gpkg --json"))
        .json();
    let settled = "Settlement and slope from the nearest point outward";
    shows(&over, "settlement_mm", settled, "s_y");
    shows(&over, "settlement_slope", settled, "slope");
    shows(&over, "heave_mm", "Heave over the pilot", "h");
    let conflict = place.run("explain C0001 plan.gpkg --json").json();
    let margin = conflict["row"]["margin_m"].as_f64().expect("a margin");
    assert!((result(&conflict, "Margin", "m") - margin).abs() < 1e-9);
}

/// The number in a row's column, and the one of the check that it shows.
fn shows(document: &Value, column: &str, title: &str, symbol: &str) {
    let shown = document["row"][column].as_f64();
    let shown = shown.unwrap_or_else(|| panic!("{column} of {}", document["row"]));
    let worked = result(document, title, symbol);
    let near = (shown - worked).abs() < 1e-9 * shown.abs().max(1.0);
    assert!(near, "{column}: {shown}, {title}: {worked}");
}

#[test]
fn design_flow_follows_the_lots_served_and_roots_the_tree_passed() {
    let (place, _) = planned();
    let bore = place.run("explain YARDS-B03 plan.gpkg --json").json();
    assert!(bore["row"]["lots_served"].as_f64() > Some(0.0));
    let drain = "Design flow of a drain of few dwellings";
    let running = "The pipe at its design flow, by Manning";
    shows(&bore, "design_flow_l_s", drain, "Q");
    for (column, symbol) in [
        ("flow_share", "p"),
        ("flow_depth_mm", "h"),
        ("flow_velocity_m_s", "V"),
        ("flow_shear_pa", "τ"),
    ] {
        shows(&bore, column, running, symbol);
    }
    assert!(titles(&bore).contains(&"Design flow of the dwellings served"));
    let passed = !bore["row"]["tree_trunk_m"].is_null();
    let explained = titles(&bore).contains(&"Depth under the roots of a tree");
    assert_eq!(passed, explained);
}

#[test]
fn runs_routes_and_lots_are_explained_beside_open_trench() {
    let (place, _) = planned();
    let lot = {
        let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
        let sql = "SELECT item_id FROM bore_or_trench WHERE scope = 'lot' AND yards > 0 AND length_m > 0 LIMIT 1";
        db.query_row(sql, [], |r| r.get::<_, String>(0))
            .expect("a lot")
    };
    for (id, scope) in [("YARDS-S01", "run"), ("YARDS", "route"), (&lot, "lot")] {
        let item = place.run(&format!("explain {id} plan.gpkg --json")).json();
        assert_eq!(
            (&item["kind"], &item["row"]["scope"]),
            (&"comparison".into(), &scope.into())
        );
        let by_subject = |subject: &str, title: &str| {
            let checks = item["checks"].as_array().expect("checks");
            let mut found = checks
                .iter()
                .filter(|c| c["subject"] == subject && c["title"] == title);
            let found = found
                .next()
                .unwrap_or_else(|| panic!("{subject}: no {title}"));
            found["result"]["value"].as_f64().expect("a number")
        };
        for (column, subject, title) in [
            (
                "yard_days",
                "bored",
                "Days until the yards are as they were",
            ),
            (
                "trench_yard_days",
                "in open trench",
                "Days until the yards are as they were",
            ),
            (
                "carbon_kg",
                "bored",
                "Carbon of diesel, average biofuel blend",
            ),
            (
                "trench_carbon_kg",
                "in open trench",
                "Carbon of diesel, average biofuel blend",
            ),
        ] {
            let shown = item["row"][column].as_f64().expect(column);
            assert!(
                (shown - by_subject(subject, title)).abs() < 1e-6,
                "{id} {column}"
            );
        }
        if !item["row"]["break_even_m"].is_null() {
            shows(
                &item,
                "break_even_m",
                "Length from which the bore is cheaper",
                "L",
            );
        }
        let text = place.run(&format!("explain {id} plan.gpkg")).out;
        assert!(
            text.contains("traffic delay: set traffic.vehicles_per_day"),
            "{text}"
        );
    }
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
