//! `plan`.

use crate::place::{Place, Ran};
use rusqlite::Connection;
use serde_json::Value;

const LAYERS: [&str; 13] = [
    "proposed_pits",
    "proposed_bores",
    "bore_conflicts",
    "test_holes",
    "long_sections",
    "affected_lots",
    "cost_items",
    "bore_or_trench",
    "bore_programme",
    "alternatives",
    "alternative_pits",
    "alternative_bores",
    "route_blockers",
];

/// The sample site with a coarse grid, so that a plan takes moments.
fn coarse() -> Place {
    Place::coarse("wattle-rise")
}

fn done(ran: &Ran) {
    assert!(ran.code == 0 || ran.code == 1, "{}", ran.err);
}

/// Every row of every layer of the plan, as text.
fn rows(place: &Place, file: &str) -> Vec<String> {
    let db = Connection::open(place.path(file)).expect("opens");
    let of = |layer: &&str| {
        let mut all = db
            .prepare(&format!("SELECT * FROM {layer} ORDER BY 1"))
            .expect("is there");
        let width = all.column_count();
        let row = |r: &rusqlite::Row| {
            (0..width)
                .map(|i| Ok(format!("{:?}", r.get_ref(i)?)))
                .collect::<Result<Vec<_>, _>>()
        };
        let rows = all.query_map([], row).expect("reads");
        rows.map(|r| format!("{layer} {}", r.expect("reads").join(" ")))
            .collect::<Vec<_>>()
    };
    LAYERS.iter().flat_map(of).collect()
}

#[test]
fn out_leaves_the_site_byte_for_byte() {
    let place = coarse();
    let before = place.bytes("wattle-rise.gpkg");
    let ran = place.run("plan wattle-rise.gpkg --out result.gpkg --json");
    done(&ran);
    assert_eq!(place.bytes("wattle-rise.gpkg"), before);
    assert_eq!(
        place.names(),
        ["result.gpkg", "wattle-rise.gpkg", "wattle-rise.job.toml"]
    );
    let document = ran.json();
    for layer in LAYERS {
        let count = format!("SELECT count(*) FROM {layer}");
        let db = Connection::open(place.path("result.gpkg")).expect("opens");
        let there: i64 = db.query_row(&count, [], |r| r.get(0)).expect("is there");
        assert_eq!(document["layers"][layer], there, "{layer}");
    }
}

#[test]
fn the_document_has_the_shape_of_the_interface() {
    let ran = coarse().run("plan wattle-rise.gpkg --out result.gpkg --json");
    let document = ran.json();
    for key in [
        "command",
        "version",
        "crs",
        "routes",
        "conflicts",
        "bore_or_trench",
        "programme",
        "alternatives",
        "layers",
        "warnings",
        "seconds",
    ] {
        assert!(!document[key].is_null(), "{key}");
    }
    let routes = document["routes"].as_array().expect("routes");
    assert_eq!(routes.len(), 4);
    for route in routes {
        let keys: Vec<&String> = route.as_object().expect("an object").keys().collect();
        let expected = "route_id status pits manholes bores length_m longest_bore_m cost trench_cost blockers remedies";
        assert_eq!(keys, expected.split(' ').collect::<Vec<_>>());
    }
    let no_plan = routes.iter().any(|r| r["status"] == "no-plan");
    assert_eq!(ran.code, i32::from(no_plan));
    let counted: i64 = ["clash", "prove", "watch", "clear"]
        .iter()
        .filter_map(|v| document["conflicts"][v].as_i64())
        .sum();
    assert_eq!(document["layers"]["bore_conflicts"], counted);
    let bores: i64 = routes.iter().filter_map(|r| r["bores"].as_i64()).sum();
    assert_eq!(document["layers"]["proposed_bores"], bores);
    assert!(bores > 0);
}

#[test]
fn layers_that_are_there_are_kept_unless_told_otherwise() {
    let place = coarse();
    done(&place.run("plan wattle-rise.gpkg --quiet"));
    let before = place.bytes("wattle-rise.gpkg");
    place
        .run("plan wattle-rise.gpkg")
        .refused(3, &["proposed_pits", "--replace"]);
    let error = place
        .run("plan wattle-rise.gpkg --json")
        .error(3, Some("plan"));
    assert_eq!(
        (&error["file"], &error["layer"]),
        (&"wattle-rise.gpkg".into(), &"proposed_pits".into())
    );
    assert_eq!(place.bytes("wattle-rise.gpkg"), before);
    let rows_before = rows(&place, "wattle-rise.gpkg");
    done(&place.run("plan wattle-rise.gpkg --replace"));
    assert_eq!(rows(&place, "wattle-rise.gpkg"), rows_before);
}

#[test]
fn a_layer_of_somebody_else_is_refused_even_then() {
    let place = coarse();
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    db.execute_batch("CREATE TABLE proposed_pits (mine TEXT)")
        .expect("writes");
    drop(db);
    let before = place.bytes("wattle-rise.gpkg");
    place
        .run("plan wattle-rise.gpkg --replace")
        .refused(3, &["proposed_pits", "not made by pitwright"]);
    assert_eq!(place.bytes("wattle-rise.gpkg"), before);
}

#[test]
fn the_rows_do_not_depend_on_the_number_of_threads() {
    let place = coarse();
    done(&place.run("plan wattle-rise.gpkg --out one.gpkg --threads 1"));
    done(&place.run("plan wattle-rise.gpkg --out three.gpkg --threads 3"));
    let one = rows(&place, "one.gpkg");
    assert!(one.len() > 100);
    assert_eq!(one, rows(&place, "three.gpkg"));
}

#[test]
fn the_job_that_a_run_keeps_reads_back_as_that_job() {
    let place = coarse();
    done(&place.run("plan wattle-rise.gpkg --out result.gpkg"));
    let db = Connection::open(place.path("result.gpkg")).expect("opens");
    let kept: String = db
        .query_row("SELECT job_json FROM pitwright_runs", [], |r| r.get(0))
        .expect("one run");
    let table: toml::Table = serde_json::from_str(&kept).expect("an object");
    let text = String::from_utf8(place.bytes("wattle-rise.job.toml")).expect("UTF-8");
    let read = |text: &str| pitwright::job::JobFile::parse(text, "job.toml").expect("reads");
    let (again, first) = (read(&table.to_string()), read(&text));
    assert_eq!((again.job, again.layers), (first.job, first.layers));
    let inputs: String = db
        .query_row("SELECT inputs_json FROM pitwright_runs", [], |r| r.get(0))
        .expect("one run");
    let inputs: Vec<Value> = serde_json::from_str(&inputs).expect("a list");
    let roles: Vec<&str> = inputs.iter().filter_map(|i| i["role"].as_str()).collect();
    assert!(
        roles.contains(&"routes") && roles.contains(&"services"),
        "{roles:?}"
    );
}

#[test]
fn what_it_says_ends_with_what_it_cannot_know() {
    let ran = coarse().run("plan wattle-rise.gpkg --out result.gpkg");
    done(&ran);
    for piece in [
        "route STREET",
        "conflicts: ",
        "test holes: ",
        "written to result.gpkg",
        "Records are not proof",
        "competent person",
    ] {
        assert!(ran.out.contains(piece), "no '{piece}' in: {}", ran.out);
    }
    assert!(ran.err.is_empty(), "{}", ran.err);
    let words = ran.out.to_lowercase();
    assert!(
        words
            .split(|c: char| !c.is_alphabetic())
            .all(|w| w != "safe")
    );
}

#[test]
fn quiet_says_nothing_and_progress_goes_to_standard_error() {
    let place = coarse();
    let quiet = place.run("plan wattle-rise.gpkg --out a.gpkg --quiet");
    done(&quiet);
    assert_eq!((quiet.out.as_str(), quiet.err.as_str()), ("", ""));
    let shown = place.run("plan wattle-rise.gpkg --out b.gpkg --quiet --progress json");
    assert_eq!(shown.out, "");
    let lines: Vec<Value> = shown
        .err
        .lines()
        .map(|l| serde_json::from_str(l).expect("an object a line"))
        .collect();
    let routes: Vec<&Value> = lines
        .iter()
        .filter(|l| l["stage"] == "routes" && l["done"] == l["total"])
        .collect();
    assert!(!routes.is_empty());
    assert!(
        lines
            .iter()
            .all(|l| l["done"].as_u64() <= l["total"].as_u64())
    );
}

#[test]
fn what_the_input_lacks_is_exit_3_with_its_place() {
    let place = coarse();
    place
        .run("plan none.gpkg")
        .refused(3, &["none.gpkg", "no such file"]);
    assert_eq!(
        place.run("plan none.gpkg --json").error(3, Some("plan"))["file"],
        "none.gpkg"
    );
    let job = String::from_utf8(place.bytes("wattle-rise.job.toml")).expect("UTF-8");
    place.write("none.toml", "[layers.routes]\ntable = \"sewers to be\"\n");
    place
        .run("plan wattle-rise.gpkg --job none.toml")
        .refused(3, &["sewers to be", "routes"]);
    place.write(
        "degrees.toml",
        &job.replace("[job]\n", "[job]\ncrs = \"EPSG:4326\"\n"),
    );
    place
        .run("plan wattle-rise.gpkg --job degrees.toml")
        .refused(3, &["in degrees", "projected"]);
    assert_eq!(
        place
            .names()
            .iter()
            .filter(|n| n.ends_with(".gpkg"))
            .count(),
        1
    );
}

#[test]
fn a_pipe_without_a_size_is_exit_3_with_the_route() {
    let place = coarse();
    place.write("mine.toml", "[pipe]\nmaterial = \"bamboo\"\n");
    let pieces = [
        "material \"bamboo\" has no such size",
        "[pipe.sizes.",
        "pvc-u",
    ];
    place
        .run("plan wattle-rise.gpkg --job mine.toml")
        .refused(3, &pieces);
    let error = place
        .run("plan wattle-rise.gpkg --job mine.toml --json")
        .error(3, Some("plan"));
    assert_eq!(
        (&error["layer"], &error["column"]),
        (&"routes".into(), &"dn_mm".into())
    );
    assert!(error["fid"].is_i64());
}

#[test]
fn a_pipe_that_the_rig_does_not_bore_is_exit_3() {
    let place = coarse();
    place.write("mine.toml", "[rig]\ndn_max_mm = 100\n");
    place
        .run("plan wattle-rise.gpkg --job mine.toml")
        .refused(3, &["routes fid", "rig.dn_max_mm = 100"]);
}

#[test]
fn a_route_without_a_plan_is_exit_1() {
    let place = Place::coarse("wattle-rise-no-plan");
    let ran = place.run("plan wattle-rise-no-plan.gpkg --json");
    assert_eq!(ran.code, 1, "{}", ran.err);
    let document = ran.json();
    for route in document["routes"].as_array().expect("routes") {
        assert_eq!(route["status"], "no-plan");
        assert!(
            route["cost"].is_null()
                && route["trench_cost"].is_null()
                && route["longest_bore_m"].is_null()
        );
        assert_eq!((&route["pits"], &route["bores"]), (&0.into(), &0.into()));
    }
}

#[test]
fn a_place_that_cannot_be_written_is_exit_4() {
    let place = coarse();
    place
        .run("plan wattle-rise.gpkg --out none/result.gpkg")
        .refused(4, &["none/result.gpkg"]);
    let error = place
        .run("plan wattle-rise.gpkg --out none/result.gpkg --json")
        .error(4, Some("plan"));
    assert_eq!(error["file"], "none/result.gpkg");
    place
        .run("plan wattle-rise.gpkg --out wattle-rise.gpkg")
        .refused(3, &["--out"]);
}

#[test]
fn a_file_that_another_program_has_locked_is_exit_4() {
    let place = coarse();
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    db.execute_batch("BEGIN EXCLUSIVE").expect("locks");
    let started = std::time::Instant::now();
    place.run("plan wattle-rise.gpkg").refused(4, &["locked"]);
    assert!(started.elapsed().as_secs() >= 9);
}

#[test]
fn a_plan_brings_its_styles_unless_told_not_to() {
    let place = Place::coarse("wattle-rise");
    for (flag, styles) in [("", 8), ("--no-styles", 0)] {
        let line = format!("plan wattle-rise.gpkg --out plan.gpkg --replace --quiet {flag}");
        assert_eq!(place.run(&line).code, 0);
        let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
        let sql = "SELECT count(*) FROM layer_styles WHERE owner = 'pitwright'";
        let count: i64 = db.query_row(sql, [], |r| r.get(0)).expect("reads");
        assert_eq!(count, styles, "'{flag}'");
    }
}

#[test]
fn the_readme_shows_what_the_first_command_prints() {
    let place = Place::sample("wattle-rise");
    std::fs::create_dir(place.path("target")).expect("makes a folder");
    let ran = place.run("plan wattle-rise.gpkg --out target/wattle-rise-plan.gpkg");
    let readme = include_str!("../../README.md");
    let shown = readme.split("```text\n").nth(1).expect("a block of text");
    let shown = shown.split("```").next().expect("its end");
    assert_eq!(ran.out, shown);
}
