//! Wrong usage: exit 2.

use crate::place::Place;

#[test]
fn wrong_usage_is_exit_2_and_says_how() {
    let place = Place::empty();
    for line in [
        "",
        "plough",
        "inspect",
        "rules --jobs x",
        "inspect a.gpkg b.gpkg",
        "init a.gpkg --replace",
    ] {
        place.run(line).refused(2, &["Usage: pitwright"]);
    }
}

#[test]
fn a_flag_value_out_of_range_is_exit_2() {
    let place = Place::sample("wattle-rise");
    place
        .run("inspect wattle-rise.gpkg --threads 0")
        .refused(2, &["--threads"]);
    place
        .run("inspect wattle-rise.gpkg --progress often")
        .refused(2, &["auto, none, json"]);
}

#[test]
fn wrong_usage_with_json_prints_one_document() {
    let place = Place::empty();
    let error = place.run("inspect --json").error(2, Some("inspect"));
    assert!(
        error["message"]
            .as_str()
            .is_some_and(|m| m.contains("SITE.gpkg"))
    );
    assert!(error["file"].is_null() && error["layer"].is_null());
    place.run("--json inspct").error(2, None);
    place.run("--json").error(2, None);
}

#[test]
fn help_and_version_are_no_failure() {
    let place = Place::empty();
    let help = place.run("--help");
    assert_eq!((help.code, help.err.as_str()), (0, ""));
    assert!(help.out.contains("Records are not proof"), "{}", help.out);
    assert_eq!(
        place.run("--version").out,
        format!("pitwright {}\n", env!("CARGO_PKG_VERSION"))
    );
    let inspect = place.run("inspect --help");
    for flag in ["--job", "--json", "--quiet", "--threads", "--progress"] {
        assert!(inspect.out.contains(flag), "{flag}");
    }
}

#[test]
fn no_word_of_the_help_promises_safety() {
    let place = Place::empty();
    for line in [
        "--help",
        "inspect --help",
        "init --help",
        "view --help",
        "rules --help",
        "rules",
    ] {
        let out = place.run(line).out.to_lowercase();
        let mut words = out.split(|c: char| !c.is_alphabetic());
        assert!(
            !out.is_empty() && words.all(|w| w != "safe" && w != "safely"),
            "{line}"
        );
    }
}
