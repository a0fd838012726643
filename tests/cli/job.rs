//! Job files that cannot be used: exit 3, with file, line, key and what would do.

use crate::place::Place;

#[test]
fn an_unknown_key_names_the_nearest_known_one() {
    let place = Place::sample("wattle-rise");
    place.write("mine.toml", "[rig]\nreach = 40\n");
    let pieces = [
        "mine.toml line 2",
        "unknown key rig.reach",
        "nearest known one is rig.reach_m",
    ];
    for line in [
        "inspect wattle-rise.gpkg --job mine.toml",
        "rules --job mine.toml",
        "init wattle-rise.gpkg --job mine.toml",
    ] {
        place.run(line).refused(3, &pieces);
    }
    let error = place
        .run("rules --json --job mine.toml")
        .error(3, Some("rules"));
    assert_eq!(error["file"], "mine.toml");
    assert!(
        error["message"]
            .as_str()
            .is_some_and(|m| m.contains("rig.reach_m"))
    );
}

#[test]
fn a_value_that_does_not_fit_says_what_would() {
    let place = Place::empty();
    place.write("mine.toml", "[search]\nlevel_step_m = -0.02\n");
    place.run("rules --job mine.toml").refused(
        3,
        &["line 2", "search.level_step_m is -0.02", "a number above 0"],
    );
    place.write("mine.toml", "[rules.min_grade]\n100 = 0.01\n150 = 0.02\n");
    place
        .run("rules --job mine.toml")
        .refused(3, &["rules.min_grade.150", "may not rise with diameter"]);
}

#[test]
fn the_job_beside_the_site_is_read_unless_another_is_named() {
    let place = Place::sample("wattle-rise");
    place.write("wattle-rise.job.toml", "[rig]\nreach = 40\n");
    place
        .run("inspect wattle-rise.gpkg")
        .refused(3, &["wattle-rise.job.toml", "rig.reach_m"]);
    place.write("mine.toml", "");
    assert_eq!(
        place.run("inspect wattle-rise.gpkg --job mine.toml").code,
        0
    );
}

#[test]
fn a_job_file_that_is_not_there_or_not_toml_is_exit_3() {
    let place = Place::sample("wattle-rise");
    place
        .run("inspect wattle-rise.gpkg --job none.toml")
        .refused(3, &["none.toml", "check the path after --job"]);
    let error = place
        .run("rules --json --job none.toml")
        .error(3, Some("rules"));
    assert_eq!(error["file"], "none.toml");
    place.write("mine.toml", "[rig\nreach_m = 3\n");
    place
        .run("rules --job mine.toml")
        .refused(3, &["mine.toml line 1", "not a TOML file"]);
}

#[test]
fn a_job_that_lacks_a_number_no_source_gives_is_refused() {
    let place = Place::sample("wattle-rise");
    place.write("mine.toml", "[rules]\nbase = \"us-states\"\n");
    let pieces = [
        "mine.toml line 2",
        "the job must state rules.clearance.building, rules.clearance.water.pit_m",
        "rules.quality.D.vertical_m",
        "pitwright invents none",
        "each owner says what it asks",
    ];
    for line in [
        "plan wattle-rise.gpkg --job mine.toml",
        "rules --job mine.toml",
    ] {
        place.run(line).refused(3, &pieces);
    }
    place.write("mine.toml", "[rules]\nquality_scheme = \"pas128\"\n");
    place.run("plan wattle-rise.gpkg --job mine.toml").refused(
        3,
        &[
            "mine.toml line 2",
            "rules.quality.B3.vertical_m",
            "leaves the depth of QL-B3 undefined",
        ],
    );
    assert!(!place.names().iter().any(|n| n.ends_with("-wal")));
}
