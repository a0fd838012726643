//! `init`.

use crate::place::Place;

#[test]
fn the_job_file_reads_back_and_names_the_layers() {
    let place = Place::sample("wattle-rise");
    let ran = place.run("init wattle-rise.gpkg -o mine.toml");
    assert_eq!((ran.code, ran.err.as_str()), (0, ""));
    let text = String::from_utf8(place.bytes("mine.toml")).expect("UTF-8");
    assert!(
        text.contains("[layers.routes]\ntable = \"routes\"\n"),
        "{text}"
    );
    assert!(
        text.contains("[[layers.services]]\ntable = \"gas_mains\"\n"),
        "{text}"
    );
    let document = place
        .run("inspect wattle-rise.gpkg --json --job mine.toml")
        .json();
    let layers = document["layers"].as_array().expect("layers");
    let gas = layers
        .iter()
        .find(|l| l["layer"] == "gas_mains")
        .expect("there");
    assert_eq!(
        (&gas["role"], &gas["because"]),
        (&"services".into(), &"named in the job".into())
    );
    let listed = |line: &str| {
        let document = place.run(line).json();
        let rows = document["rules"].as_array().expect("rows").clone();
        rows.into_iter()
            .map(|r| (r["key"].clone(), r["value"].clone()))
            .collect::<Vec<_>>()
    };
    assert_eq!(
        listed("rules --json --job mine.toml"),
        listed("rules --json")
    );
}

#[test]
fn a_job_file_that_is_there_is_kept_unless_told_otherwise() {
    let place = Place::sample("wattle-rise");
    place.write("mine.toml", "# hours of work\n");
    place
        .run("init wattle-rise.gpkg -o mine.toml")
        .refused(3, &["mine.toml", "--replace"]);
    assert_eq!(place.bytes("mine.toml"), b"# hours of work\n");
    let names = place.names();
    assert_eq!(
        place
            .run("init wattle-rise.gpkg -o mine.toml --replace")
            .code,
        0
    );
    assert!(place.bytes("mine.toml").len() > 1000);
    assert_eq!(place.names(), names);
}

#[test]
fn without_a_place_the_text_goes_to_standard_output() {
    let place = Place::sample("wattle-rise");
    let names = place.names();
    let text = place.run("init wattle-rise.gpkg").out;
    assert_eq!(place.names(), names);
    assert_eq!(
        place.run("init wattle-rise.gpkg --json").json()["text"],
        text
    );
}

#[test]
fn a_place_that_cannot_be_written_is_exit_4() {
    let place = Place::sample("wattle-rise");
    place
        .run("init wattle-rise.gpkg -o none/mine.toml")
        .refused(4, &["none/mine.toml", "cannot be written"]);
    let error = place
        .run("init wattle-rise.gpkg -o none/mine.toml --json")
        .error(4, Some("init"));
    assert_eq!(error["file"], "none/mine.toml");
}
