//! `check`.

use crate::fixture::{Folder, L, REAL, TEXT, V, layer};
use crate::place::{Place, Ran};
use rusqlite::Connection;
use serde_json::Value;

const LAYERS: [&str; 4] = [
    "bore_conflicts",
    "test_holes",
    "bore_inspections",
    "conflict_changes",
];

/// A bore of 40 m at level 7 (invert), and three mains across it: one above at 8.5 (top), one of unknown depth without
/// ground, one through the bore.
fn mains() -> L {
    let lines = [
        "LINESTRING Z (500010 5799990 8.5, 500010 5800010 8.5)",
        "LINESTRING (500020 5799990, 500020 5800010)",
        "LINESTRING Z (500030 5799990 7.2, 500030 5800010 7.2)",
    ];
    layer("services", &lines)
        .column("kind", TEXT, &[V::T("gas"), V::T("water"), V::T("sewer")])
        .column("diameter_mm", REAL, &[V::R(110.0), V::Null, V::R(200.0)])
        .column("quality", TEXT, &[V::T("B"), V::Null, V::T("A")])
        .column("owner", TEXT, &[V::T("North Gas"), V::Null, V::T("Town")])
}

fn bores(wkt: &'static str) -> L {
    layer("design", &[wkt]).column("bore_id", TEXT, &[V::T("X1")])
}

const LEVEL: &str = "LINESTRING Z (500000 5800000 7, 500040 5800000 7)";

/// A folder with `site.gpkg` of these layers.
fn place(layers: &[L]) -> Place {
    let place = Place::empty();
    let folder = Folder::new();
    std::fs::copy(folder.gpkg(layers), place.path("site.gpkg")).expect("copies");
    place
}

fn done(ran: &Ran, code: i32) -> Value {
    assert_eq!(ran.code, code, "{}{}", ran.out, ran.err);
    ran.json()
}

/// One text a row of `sql`.
fn texts(place: &Place, file: &str, sql: &str) -> Vec<String> {
    let db = Connection::open(place.path(file)).expect("opens");
    let mut ask = db.prepare(sql).expect("is valid");
    let rows = ask.query_map([], |r| r.get(0)).expect("reads");
    rows.map(|r| r.expect("a text")).collect()
}

const ROW: &str = "bore_id || ' ' || obstacle || ' ' || coalesce(source_layer || source_fid, '') || ' ' || coalesce(encounter, '')
    || ' ' || verdict || ' ' || depth_known || ' ' || rule || ' ' || quote(chainage_m) || ' ' || quote(angle_deg) || ' ' || quote(clearance_m)
    || ' ' || quote(required_m) || ' ' || quote(allowance_m) || ' ' || quote(margin_m) || ' ' || quote(p_contact) || ' ' || hex(geom)";

/// The very rows of `plan`, to the last digit, for the bores that it proposes; but for what it exempts (a plan knows which
/// sewer a route connects to, a check does not).
#[test]
fn a_plans_own_bores_have_the_rows_of_the_plan() {
    for name in ["wattle-rise", "osier-hollow"] {
        rows_of_the_plan(&Place::coarse(name), name);
    }
}

/// The same by rules that the metric set does not have: water and sewer apart in plan or in level, and services the less
/// certain the deeper they lie.
#[test]
fn other_rules_count_for_a_check_as_for_a_plan() {
    let place = Place::coarse("wattle-rise");
    let own = String::from_utf8(place.bytes("wattle-rise.job.toml")).expect("UTF-8");
    let by_depth = "B = { horizontal_m = 0.30, vertical_m = 0.50, horizontal_share = 0.4, vertical_share = 0.5 }";
    let job = own
        .replace("base = \"metric\"", "base = \"us-states\"")
        .replace("B = { horizontal_m = 0.30, vertical_m = 0.50 }", by_depth);
    assert!(job.contains("us-states") && job.contains(by_depth));
    place.write("wattle-rise.job.toml", &job);
    let rows = rows_of_the_plan(&place, "wattle-rise");
    let by = |rule: &str| rows.iter().filter(|r| r.contains(rule)).count();
    assert!(by("rules.separation.water.") > 0, "{rows:?}");
    assert!(by("rules.clearance.gas.") > 0, "{rows:?}");
    // Without the shares of depth the rows are others: so they do count.
    place.write(
        "wattle-rise.job.toml",
        &job.replace(by_depth, "B = { horizontal_m = 0.30, vertical_m = 0.50 }"),
    );
    let ran = place
        .run("check wattle-rise.gpkg --bores plan.gpkg:proposed_bores --out other.gpkg --quiet");
    assert!(ran.code < 2, "{}", ran.err);
    let all = format!("SELECT {ROW} FROM bore_conflicts ORDER BY fid");
    assert_ne!(
        texts(&place, "other.gpkg", &all),
        texts(&place, "check.gpkg", &all)
    );
}

/// Plans, checks what was planned, and holds the rows of both side by side. Gives those of the plan.
fn rows_of_the_plan(place: &Place, name: &str) -> Vec<String> {
    let planned = place.run(&format!("plan {name}.gpkg --out plan.gpkg --quiet"));
    assert!(planned.code < 2, "{}", planned.err);
    let ran = place.run(&format!(
        "check {name}.gpkg --bores plan.gpkg:proposed_bores --out check.gpkg --json"
    ));
    assert!(ran.code < 2, "{}", ran.err);
    let rows = |file: &str, of: &str| {
        texts(
            place,
            file,
            &format!("SELECT {ROW} FROM bore_conflicts WHERE {of} ORDER BY fid"),
        )
    };
    let services = "bore_id IS NOT NULL AND obstacle IN ('service', 'building', 'keepout')";
    let (planned, checked) = (rows("plan.gpkg", services), rows("check.gpkg", services));
    let missing: Vec<_> = planned.iter().filter(|r| !checked.contains(r)).collect();
    assert!(missing.is_empty() && planned.len() > 20, "{missing:?}");
    let more: Vec<_> = checked.iter().filter(|r| !planned.contains(r)).collect();
    let connected = |r: &&&String| r.contains(".sewer.") && r.contains(" clash ");
    assert!(more.iter().all(|r| connected(&r)), "{more:?}");
    assert_eq!(ran.json()["connections"], more.len());
    let holes = "SELECT bore_id || source_layer || source_fid || quote(expected_depth_m) || quote(dig_to_m) || reason || hex(geom)
                 FROM test_holes ORDER BY 1";
    assert_eq!(
        texts(place, "plan.gpkg", holes),
        texts(place, "check.gpkg", holes)
    );
    planned
}

/// The register and the letters are those of the check's rows with services, and are not there unless asked for.
#[test]
fn the_register_and_letters_are_written_beside_the_layers() {
    let place = place(&[mains(), bores(LEVEL)]);
    let run = "check site.gpkg --bores design --out result.gpkg --replace";
    let ran = place.run(&format!("{run} --register r.csv --letters letters --json"));
    let document = done(&ran, 1);
    let services = "SELECT conflict_id FROM bore_conflicts WHERE obstacle = 'service'";
    let ids = texts(&place, "result.gpkg", services);
    assert_eq!(document["register"]["table"]["rows"], ids.len());
    let text = String::from_utf8(place.bytes("r.csv")).expect("UTF-8");
    assert!(!ids.is_empty() && ids.iter().all(|id| text.contains(id.as_str())));
    let hole = texts(&place, "result.gpkg", "SELECT hole_id FROM test_holes");
    assert!(!hole.is_empty() && hole.iter().all(|id| text.contains(id.as_str())));
    // North Gas, Town, and whoever owns the water main
    assert_eq!(document["register"]["letters"]["count"], 3);
    let letter = String::from_utf8(place.bytes("letters/001-north-gas.txt")).expect("UTF-8");
    assert!(letter.contains("North Gas"), "{letter}");
    place
        .run("check site.gpkg --bores design --out other.gpkg --register r.csv")
        .refused(3, &["r.csv", "--replace"]);
    assert!(!place.path("other.gpkg").exists());
    let none = done(&place.run(&format!("{run} --json")), 1);
    assert!(none["register"]["table"].is_null() && none["register"]["letters"].is_null());
    let said = place.run(&format!("{run} --register r.csv"));
    assert!(said.out.contains("register written to "), "{}", said.out);
}

/// A level of location quality that the rules do not know is told, and taken as unknown.
#[test]
fn an_unknown_level_of_location_quality_is_told() {
    let mains = layer(
        "services",
        &["LINESTRING Z (500010 5799990 8.5, 500010 5800010 8.5)"],
    )
    .column("kind", TEXT, &[V::T("gas")])
    .column("diameter_mm", REAL, &[V::R(110.0)])
    .column("quality", TEXT, &[V::T("B3")]);
    let place = place(&[mains, bores(LEVEL)]);
    let ran = place.run("check site.gpkg --bores design --out result.gpkg --json");
    let warnings = ran.json()["warnings"].to_string();
    assert!(
        warnings.contains("services of location quality B3: 1"),
        "{warnings}"
    );
}

#[test]
fn verdicts_unknowns_and_inspections_are_told() {
    let place = place(&[mains(), bores(LEVEL)]);
    let before = place.bytes("site.gpkg");
    let document = done(
        &place.run("check site.gpkg --bores design --out result.gpkg --json"),
        1,
    );
    assert_eq!(place.bytes("site.gpkg"), before);
    assert_eq!(document["command"], "check");
    assert_eq!(document["bores"], 1);
    assert!(document.get("routes").is_none());
    let conflicts = &document["conflicts"];
    let counts =
        ["clash", "prove", "watch", "clear"].map(|v| conflicts[v].as_i64().expect("counted"));
    assert_eq!(counts, [1, 1, 0, 1]);
    let unknown = &document["unknown"];
    for (what, n) in [
        ("depth", 1),
        ("diameter", 1),
        ("quality", 1),
        ("ground", 1),
        ("bore_levels", 0),
        ("bore_size", 1),
        ("bore_ground", 1),
    ] {
        assert_eq!(unknown[what], n, "{what}");
    }
    assert_eq!(document["inspections"]["count"], 1);
    assert_eq!(document["inspections"]["first"][0]["source_fid"], 3);
    assert!(document["changes"].is_null());
    for stage in ["reading", "index", "search", "writing"] {
        assert!(document["stages"][stage].as_f64().expect("a time") >= 0.0);
    }
    let listed: Vec<&String> = document["layers"]
        .as_object()
        .expect("layers")
        .keys()
        .collect();
    assert_eq!(listed, LAYERS);
    let rows = texts(
        &place,
        "result.gpkg",
        "SELECT source_fid || ' ' || verdict || ' ' || round(chainage_m, 1) FROM bore_conflicts ORDER BY fid",
    );
    assert_eq!(rows, ["1 clear 10.0", "2 prove 20.0", "3 clash 30.0"]);
    // Without ground nothing bounds the depth: only the bore says how deep to dig, and it has no ground to measure from.
    let holes = texts(
        &place,
        "result.gpkg",
        "SELECT hole_id || quote(expected_depth_m) || quote(dig_to_m) || priority FROM test_holes",
    );
    assert_eq!(holes, ["H0001NULLNULL1"]);
}

#[test]
fn words_never_call_it_safe_and_name_what_is_unknown() {
    let place = place(&[mains(), bores(LEVEL)]);
    let ran = place.run("check site.gpkg --bores design");
    assert_eq!(ran.code, 1, "{}", ran.err);
    for piece in [
        "1 bore checked against 3 service records",
        "1 clash, 1 prove, 0 watch, 1 clear by the records",
        "not known, and so not clear:",
        "1 row of services whose depth is recorded nowhere",
        "look into by camera after boring: 1 gravity pipe crossed without a test hole",
        "Records are not proof",
        "Locate and expose services before boring",
    ] {
        assert!(ran.out.contains(piece), "no '{piece}' in {}", ran.out);
    }
    assert!(!ran.out.to_lowercase().contains("safe"), "{}", ran.out);
    let quiet = place.run("check site.gpkg --bores design --replace --quiet");
    assert_eq!((quiet.code, quiet.out.as_str()), (1, ""));
}

#[test]
fn exit_codes_tell_scripts_what_came_of_it() {
    let far = "LINESTRING Z (500000 5800100 7, 500040 5800100 7)";
    let nothing = place(&[mains(), bores(far)]);
    done(&nothing.run("check site.gpkg --bores design --json"), 0);
    assert_eq!(
        texts(
            &nothing,
            "site.gpkg",
            "SELECT count(*) || '' FROM bore_conflicts"
        ),
        ["0"]
    );
    let past_unknown = "LINESTRING Z (500015 5800000 7, 500025 5800000 7)";
    let prove = place(&[mains(), bores(past_unknown)]);
    done(&prove.run("check site.gpkg --bores design --json"), 0);
    prove.write("site.job.toml", "[rules]\nunknown_depth = \"avoid\"\n");
    done(
        &prove.run("check site.gpkg --bores design --replace --json"),
        1,
    );
    prove
        .run("check site.gpkg --bores nowhere --json")
        .error(3, Some("check"));
    prove.run("check site.gpkg --json").error(3, Some("check"));
    prove
        .run("check missing.gpkg --bores design --json")
        .error(3, Some("check"));
    prove
        .run("check site.gpkg --bores design --out no/such/folder.gpkg --json")
        .error(4, Some("check"));
    prove
        .run("check site.gpkg --bores design --since 1 --against site.gpkg --json")
        .error(2, Some("check"));
}

#[test]
fn layers_of_an_earlier_run_are_kept_unless_told_otherwise() {
    let place = place(&[mains(), bores(LEVEL)]);
    assert_eq!(place.run("check site.gpkg --bores design --quiet").code, 1);
    let before = place.bytes("site.gpkg");
    place
        .run("check site.gpkg --bores design")
        .refused(3, &["bore_conflicts", "--replace"]);
    assert_eq!(place.bytes("site.gpkg"), before);
    assert_eq!(
        place
            .run("check site.gpkg --bores design --replace --quiet")
            .code,
        1
    );
    let runs = texts(
        &place,
        "site.gpkg",
        "SELECT run_id || ' ' || command || ' ' || layers FROM pitwright_runs ORDER BY 1",
    );
    let layers = "bore_conflicts,bore_inspections,conflict_changes,test_holes";
    assert_eq!(
        runs,
        [format!("1 check {layers}"), format!("2 check {layers}")]
    );
    let summary = texts(
        &place,
        "site.gpkg",
        "SELECT summary_json FROM pitwright_runs WHERE run_id = 2",
    );
    let summary: Value = serde_json::from_str(&summary[0]).expect("JSON");
    assert_eq!(summary["conflicts"]["clash"], 1);
}

#[test]
fn a_bore_without_levels_proves_everything_near() {
    for wkt in [
        "LINESTRING (500000 5800000, 500040 5800000)",
        "LINESTRING Z (500000 5800000 0, 500040 5800000 0)",
    ] {
        let place = place(&[mains(), bores(wkt)]);
        let document = done(&place.run("check site.gpkg --bores design --json"), 0);
        assert_eq!(document["unknown"]["bore_levels"], 1);
        assert_eq!(document["conflicts"]["prove"], 3);
        let rows = texts(
            &place,
            "site.gpkg",
            "SELECT DISTINCT verdict || depth_known FROM bore_conflicts",
        );
        assert_eq!(rows, ["prove0"]);
        assert_eq!(
            texts(&place, "site.gpkg", "SELECT '' || count(*) FROM test_holes"),
            ["3"]
        );
    }
}

#[test]
fn levels_come_from_z_else_from_both_inverts() {
    let flat = "LINESTRING (500000 5800000, 500040 5800000)";
    let with = |us: V, ds: V| {
        let bores =
            bores(flat)
                .column("us_invert_m", REAL, &[us])
                .column("ds_invert_m", REAL, &[ds]);
        place(&[mains(), bores])
    };
    let both = with(V::R(7.0), V::R(7.0));
    done(&both.run("check site.gpkg --bores design --json"), 1);
    let z = place(&[mains(), bores(LEVEL)]);
    done(&z.run("check site.gpkg --bores design --json"), 1);
    let sql = "SELECT verdict || quote(clearance_m) FROM bore_conflicts ORDER BY fid";
    assert_eq!(texts(&both, "site.gpkg", sql), texts(&z, "site.gpkg", sql));
    let one = with(V::R(7.0), V::Null);
    let document = done(&one.run("check site.gpkg --bores design --json"), 0);
    assert_eq!(document["unknown"]["bore_levels"], 1);
}

/// Chainage runs from the launch pit along all segments, and the rig's error grows with it.
#[test]
fn a_bent_bore_is_measured_from_its_launch_pit() {
    let bent = "LINESTRING Z (500000 5800030 7, 500000 5800000 7, 500040 5800000 7)";
    let at = |launch: &'static str| {
        let place = place(&[mains(), bores(bent).column("launch", TEXT, &[V::T(launch)])]);
        done(&place.run("check site.gpkg --bores design --json"), 1);
        texts(
            &place,
            "site.gpkg",
            "SELECT source_fid || ' ' || round(chainage_m, 2) FROM bore_conflicts ORDER BY fid",
        )
    };
    assert_eq!(at("us"), ["1 40.0", "2 50.0", "3 60.0"]);
    assert_eq!(at("ds"), ["1 30.0", "2 20.0", "3 10.0"]);
}

#[test]
fn bores_come_from_any_file_and_the_services_own_system_is_kept() {
    let place = place(&[mains()]);
    let folder = Folder::new();
    let degrees = layer("lines", &["LINESTRING (9.0 52.349, 9.0006 52.349)"]).crs("OGC:CRS84");
    let file = folder.file("GeoJSON", "lines.geojson", &[degrees]);
    std::fs::copy(file, place.path("lines.geojson")).expect("copies");
    for typed in ["lines.geojson:lines", "lines.geojson"] {
        let ran = place.run(&format!(
            "check site.gpkg --bores {typed} --out result.gpkg --replace --json"
        ));
        let document = done(&ran, 0);
        assert_eq!(
            (&document["crs"], &document["bores"]),
            (&"EPSG:25832".into(), &1.into())
        );
        assert_eq!(document["unknown"]["bore_levels"], 1);
        let ids = texts(
            &place,
            "result.gpkg",
            "SELECT DISTINCT bore_id FROM bore_conflicts",
        );
        assert!(ids.iter().all(|i| i.starts_with('B')), "{ids:?}");
    }
}

#[test]
fn the_job_may_name_the_bores_and_their_columns() {
    let place = place(&[
        mains(),
        layer("lines", &[LEVEL]).column("ref", TEXT, &[V::T("Q7")]),
    ]);
    place.write(
        "site.job.toml",
        "[layers.bores]\ntable = \"lines\"\nbore_id = \"ref\"\n",
    );
    done(&place.run("check site.gpkg --json"), 1);
    assert_eq!(
        texts(
            &place,
            "site.gpkg",
            "SELECT DISTINCT bore_id FROM bore_conflicts"
        ),
        ["Q7"]
    );
}

#[test]
fn a_bore_of_no_known_diameter_is_refused_with_its_place() {
    let place = place(&[mains(), bores(LEVEL).column("dn_mm", REAL, &[V::R(777.0)])]);
    let error = place
        .run("check site.gpkg --bores design --json")
        .error(3, Some("check"));
    assert_eq!(
        (&error["layer"], &error["fid"], &error["column"]),
        (&"design".into(), &1.into(), &"dn_mm".into())
    );
    assert!(
        error["message"]
            .as_str()
            .expect("words")
            .contains("[pipe.sizes.777]")
    );
}

/// Changes the site. Triggers that call functions only other programs have are taken off first.
fn moved(place: &Place, sql: &str) {
    let triggers = "SELECT name FROM sqlite_master WHERE type = 'trigger'";
    let drops: String = texts(place, "site.gpkg", triggers)
        .iter()
        .map(|t| format!("DROP TRIGGER \"{t}\";"))
        .collect();
    let db = Connection::open(place.path("site.gpkg")).expect("opens");
    db.execute_batch(&(drops + sql)).expect("changes");
}

#[test]
fn what_has_changed_since_an_earlier_check_is_said() {
    let place = place(&[mains(), bores(LEVEL)]);
    done(
        &place.run("check site.gpkg --bores design --out old.gpkg --json"),
        1,
    );
    done(&place.run("check site.gpkg --bores design --json"), 1);
    // The owner has exposed the gas main, the water main is gone.
    moved(
        &place,
        "UPDATE services SET quality = 'A' WHERE fid = 1;
                    DELETE FROM services WHERE fid = 2",
    );
    let document = done(
        &place.run("check site.gpkg --bores design --since 1 --replace --json"),
        1,
    );
    let changes = &document["changes"];
    let counts =
        ["new", "gone", "better", "worse", "same"].map(|k| changes[k].as_i64().expect("counted"));
    assert_eq!(counts, [0, 1, 1, 0, 1]);
    let rows = "SELECT change || ' ' || source_fid || ' ' || coalesce(verdict_before, '-') || ' ' || coalesce(verdict, '-') FROM conflict_changes";
    let expected = ["better 1 clear clear", "gone 2 prove -"];
    assert_eq!(texts(&place, "site.gpkg", rows), expected);
    let against =
        place.run("check site.gpkg --bores design --against old.gpkg --out new.gpkg --json");
    assert_eq!(&done(&against, 1)["changes"], changes);
    assert_eq!(texts(&place, "new.gpkg", rows), expected);
    let words = place.run("check site.gpkg --bores design --against old.gpkg --replace");
    assert!(
        words
            .out
            .contains("0 new, 0 worse, 1 better, 1 gone, 1 as before"),
        "{}",
        words.out
    );
}

#[test]
fn a_check_that_is_not_there_any_more_is_not_compared_with() {
    let place = place(&[mains(), bores(LEVEL)]);
    for _ in 0..2 {
        done(
            &place.run("check site.gpkg --bores design --replace --json"),
            1,
        );
    }
    let before = place.bytes("site.gpkg");
    let check = "check site.gpkg --bores design --replace --since";
    place
        .run(&format!("{check} 1"))
        .refused(3, &["run 1 are not there any more", "run 2", "--against"]);
    place
        .run(&format!("{check} 9"))
        .refused(3, &["no run has the number 9", "1, 2"]);
    place
        .run("check site.gpkg --bores design --replace --against nothing.gpkg")
        .refused(3, &["nothing.gpkg"]);
    place.write("words.gpkg", "no GeoPackage");
    place
        .run("check site.gpkg --bores design --replace --against words.gpkg")
        .refused(3, &["no bore_conflicts of an earlier check"]);
    assert_eq!(place.bytes("site.gpkg"), before);
}

#[test]
fn a_layer_of_which_nothing_can_be_checked_is_refused() {
    let place = Place::sample("wattle-rise");
    let before = place.bytes("wattle-rise.gpkg");
    place
        .run("check wattle-rise.gpkg --bores lots --out out.gpkg")
        .refused(3, &["layer lots", "not made of lines", "--bores"]);
    let error = place
        .run("check wattle-rise.gpkg --bores lots --json")
        .error(3, Some("check"));
    assert_eq!(
        (&error["layer"], &error["fid"]),
        (&"lots".into(), &1.into())
    );
    assert!(!place.path("out.gpkg").exists());
    assert_eq!(place.bytes("wattle-rise.gpkg"), before);
}

#[test]
fn the_number_of_threads_changes_nothing() {
    let place = Place::sample("wattle-rise");
    place.write("job.toml", "[layers.bores]\ntable = \"routes\"\n");
    let rows = |threads: u32| {
        let file = format!("{threads}.gpkg");
        let ran = place.run(&format!(
            "check wattle-rise.gpkg --bores routes --threads {threads} --out {file} --json"
        ));
        assert!(ran.code < 2, "{}", ran.err);
        let all = format!("SELECT fid || conflict_id || {ROW} FROM bore_conflicts ORDER BY fid");
        let holes = "SELECT hole_id || bore_id || source_layer || source_fid || hex(geom) FROM test_holes ORDER BY fid";
        (texts(&place, &file, &all), texts(&place, &file, holes))
    };
    let one = rows(1);
    assert!(one.0.len() > 20);
    assert_eq!(one, rows(3));
}
