//! `inspect`.

use crate::place::Place;

#[test]
fn it_lists_layers_with_their_roles_and_changes_nothing() {
    let place = Place::sample("wattle-rise");
    let before = (place.bytes("wattle-rise.gpkg"), place.names());
    let document = place.run("inspect wattle-rise.gpkg --json").json();
    assert_eq!((place.bytes("wattle-rise.gpkg"), place.names()), before);
    assert_eq!(document["command"], "inspect");
    assert!(
        document["crs"]["code"]
            .as_str()
            .is_some_and(|c| c.starts_with("EPSG:"))
    );
    let layers = document["layers"].as_array().expect("layers");
    let role = |name: &str| {
        layers
            .iter()
            .find(|l| l["layer"] == name)
            .map(|l| l["role"].clone())
    };
    assert_eq!(role("routes"), Some("routes".into()));
    assert_eq!(role("gas_mains"), Some("services".into()));
    let faults = document["faults"].as_array().expect("faults");
    assert!(
        faults
            .iter()
            .all(|f| f["layer"].is_string() && f["remedy"].is_string())
    );
}

#[test]
fn quiet_says_nothing() {
    let place = Place::sample("wattle-rise");
    let ran = place.run("inspect wattle-rise.gpkg --quiet");
    assert_eq!((ran.code, ran.out.as_str(), ran.err.as_str()), (0, "", ""));
}

#[test]
fn a_site_that_is_not_there_or_no_site_is_exit_3() {
    let place = Place::empty();
    place.write("text.gpkg", "not a database");
    for name in ["none.gpkg", "text.gpkg"] {
        for command in ["inspect", "init"] {
            place.run(&format!("{command} {name}")).refused(3, &[name]);
            let error = place
                .run(&format!("{command} {name} --json"))
                .error(3, Some(command));
            assert_eq!(error["file"], name);
        }
    }
}

#[test]
fn a_crs_in_degrees_is_a_problem_that_stops_a_plan() {
    let place = Place::sample("wattle-rise");
    place.write("mine.toml", "[job]\ncrs = \"EPSG:4326\"\n");
    let document = place
        .run("inspect wattle-rise.gpkg --json --job mine.toml")
        .json();
    let faults = document["faults"].as_array().expect("faults");
    let stop = faults
        .iter()
        .find(|f| f["severity"] == "stop")
        .expect("a problem that stops");
    assert!(
        stop["remedy"]
            .as_str()
            .is_some_and(|r| r.contains("a projected one")),
        "{stop}"
    );
    assert!(document["crs"].is_null());
}

#[test]
fn what_is_alike_of_many_features_is_told_together_and_kept_one_by_one() {
    let place = Place::coarse("wattle-rise");
    let db = place.opened("wattle-rise.gpkg");
    let lots = db
        .execute("UPDATE lots SET entry = 'maybe'", [])
        .expect("updates");
    drop(db);
    let said = place.run("inspect wattle-rise.gpkg").out;
    assert_eq!(said.matches("'maybe' is not yes or no").count(), 3);
    assert!(
        said.contains(&format!("lots: {} more like these: fid", lots - 3)),
        "{said}"
    );
    assert!(said.contains("--json"), "{said}");
    let document = place.run("inspect wattle-rise.gpkg --json").json();
    let faults = document["faults"].as_array().expect("faults");
    assert_eq!(
        faults.iter().filter(|f| f["column"] == "entry").count(),
        lots
    );
    let planned = place.run("plan wattle-rise.gpkg --out p.gpkg").out;
    assert!(planned.contains("more like these: fid"), "{planned}");
}
