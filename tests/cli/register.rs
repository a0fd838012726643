//! `--register` and `--letters`.

use crate::place::Place;
use std::{fs, os::unix::fs::PermissionsExt};

const PLAN: &str =
    "plan wattle-rise.gpkg --out plan.gpkg --replace --register r.csv --letters letters";

fn planned() -> Place {
    let place = Place::coarse("wattle-rise");
    let ran = place.run(PLAN);
    assert_eq!(ran.code, 0, "{}", ran.err);
    place
}

/// The cells of a line; quotes taken off.
fn cells(line: &str) -> Vec<String> {
    let (mut cells, mut inside) = (vec![String::new()], false);
    for c in line.chars() {
        match c {
            '"' => inside = !inside,
            ',' if !inside => cells.push(String::new()),
            c => cells.last_mut().expect("one").push(c),
        }
    }
    cells
}

fn letters(place: &Place) -> Vec<(String, String)> {
    let files = fs::read_dir(place.path("letters")).expect("reads");
    let mut all: Vec<_> = files
        .map(|f| {
            let path = f.expect("reads").path();
            let name = path
                .file_name()
                .expect("a name")
                .to_string_lossy()
                .into_owned();
            (name, fs::read_to_string(path).expect("UTF-8"))
        })
        .collect();
    all.sort();
    all
}

#[test]
fn every_encounter_with_a_service_has_its_line() {
    let place = planned();
    let text = String::from_utf8(place.bytes("r.csv")).expect("UTF-8");
    let mut lines = text.split("\r\n");
    let heads = cells(lines.next().expect("heads"));
    let rows: Vec<_> = lines.filter(|l| !l.is_empty()).map(cells).collect();
    let at = |name: &str| heads.iter().position(|h| h == name).expect("a column");
    let column = |name: &str| -> Vec<&str> { rows.iter().map(|r| r[at(name)].as_str()).collect() };
    let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
    let ids = |sql: &str| -> Vec<String> {
        let mut found = db.prepare(sql).expect("reads");
        let found = found.query_map([], |r| r.get(0)).expect("reads");
        found.map(|id| id.expect("text")).collect()
    };
    let mut listed = column("conflict_id");
    listed.sort_unstable();
    assert_eq!(
        listed,
        ids("SELECT conflict_id FROM bore_conflicts WHERE obstacle = 'service' ORDER BY 1")
    );
    let mut dug: Vec<&str> = column("hole_id")
        .into_iter()
        .filter(|h| !h.is_empty())
        .collect();
    dug.sort_unstable();
    assert_eq!(dug, ids("SELECT hole_id FROM test_holes ORDER BY 1"));
    for row in &rows {
        assert_eq!(row.len(), heads.len());
        assert_eq!(row[at("hole_id")].is_empty(), row[at("verdict")] != "prove");
        assert!(
            row[at("top_found_at_m")..].iter().all(String::is_empty),
            "{row:?}"
        );
        let owner =
            "SELECT coalesce(owner, 'owner not known') FROM bore_conflicts WHERE conflict_id = '";
        assert_eq!(
            ids(&format!("{owner}{}'", row[at("conflict_id")])),
            [row[at("owner")].clone()]
        );
    }
    let owners = column("owner");
    let runs = owners.chunk_by(|a, b| a == b).count();
    let mut different = owners.clone();
    different.sort_unstable();
    different.dedup();
    assert!(
        runs > 2 && runs == different.len(),
        "an owner's lines stand together"
    );
}

#[test]
fn every_owner_gets_one_letter_with_its_services_and_the_cautions() {
    let place = planned();
    let letters = letters(&place);
    let text = String::from_utf8(place.bytes("r.csv")).expect("UTF-8");
    let rows: Vec<_> = text.lines().skip(1).map(cells).collect();
    let groups = rows.chunk_by(|a, b| a[0] == b[0]);
    assert_eq!(groups.clone().count(), letters.len());
    for (group, (name, letter)) in groups.zip(&letters) {
        assert!(name.starts_with(&format!("{:0>3}-", group[0][0])), "{name}");
        assert!(
            letter.contains(&format!("To:    {}\n", group[0][1])),
            "{letter}"
        );
        for row in group {
            assert!(
                letter.contains(&format!("\n{}  {}", row[5], row[2])),
                "{row:?}"
            );
        }
        let places = letter.matches("\n    Found    ").count();
        assert_eq!(places, group.len(), "{name}");
        for caution in [
            "Records are not proof",
            "located, exposed and measured before",
        ] {
            assert!(letter.contains(caution), "{name}");
        }
    }
}

#[test]
fn nothing_is_written_over_without_replace() {
    let place = planned();
    let before = (
        place.bytes("r.csv"),
        letters(&place),
        place.bytes("plan.gpkg"),
    );
    let ran = place.run("plan wattle-rise.gpkg --out other.gpkg --register r.csv");
    ran.refused(3, &["r.csv", "is there already", "--replace"]);
    let ran = place.run("plan wattle-rise.gpkg --out other.gpkg --letters letters");
    ran.refused(3, &["letters", "is there already", "--replace"]);
    assert!(!place.path("other.gpkg").exists());
    assert_eq!(place.run(PLAN).code, 0);
    assert_eq!(
        (place.bytes("r.csv"), letters(&place)),
        (before.0, before.1)
    );
    let left = [
        "letters",
        "plan.gpkg",
        "r.csv",
        "wattle-rise.gpkg",
        "wattle-rise.job.toml",
    ];
    assert_eq!(place.names(), left);
}

#[test]
fn what_somebody_else_wrote_stays_even_with_replace() {
    let place = Place::coarse("wattle-rise");
    place.write("notes.csv", "a,b\r\n");
    let site = place.bytes("wattle-rise.gpkg");
    for file in ["notes.csv", "wattle-rise.gpkg", "wattle-rise.job.toml"] {
        let ran = place.run(&format!(
            "plan wattle-rise.gpkg --out p.gpkg --replace --register {file}"
        ));
        ran.refused(3, &[file, "is no register that pitwright wrote"]);
    }
    fs::create_dir(place.path("mine")).expect("makes");
    place.write("mine/readme.txt", "mine");
    let ran = place.run("plan wattle-rise.gpkg --out p.gpkg --replace --letters mine");
    ran.refused(3, &["readme.txt", "is no letter that pitwright wrote"]);
    assert_eq!(place.bytes("mine/readme.txt"), b"mine");
    assert_eq!(place.bytes("wattle-rise.gpkg"), site);
}

#[test]
fn a_place_that_cannot_be_written_is_exit_4_and_writes_no_layer() {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out p.gpkg --register nowhere/r.csv");
    ran.refused(4, &["nowhere/r.csv", "make the folder first"]);
    // Nobody, not even root, makes files there.
    for flag in ["--register /proc/r.csv", "--letters /proc/letters"] {
        let ran = place.run(&format!("plan wattle-rise.gpkg --out p.gpkg {flag}"));
        ran.refused(4, &["/proc/", "cannot be written"]);
        assert!(!place.path("p.gpkg").exists());
    }
    fs::create_dir(place.path("shut")).expect("makes");
    let shut = fs::Permissions::from_mode(0o555);
    fs::set_permissions(place.path("shut"), shut).expect("shuts");
    if fs::write(place.path("shut/try"), "").is_ok() {
        println!("passed over: this user may write anywhere");
        return;
    }
    for flag in ["--register shut/r.csv", "--letters shut/letters"] {
        let ran = place.run(&format!("plan wattle-rise.gpkg --out p.gpkg {flag}"));
        ran.refused(4, &["shut/", "cannot be written"]);
        assert!(!place.path("p.gpkg").exists());
    }
}

#[test]
fn the_document_names_the_files() {
    let place = Place::coarse("wattle-rise");
    let document = place.run(&format!("{PLAN} --json")).json();
    let rows = String::from_utf8(place.bytes("r.csv")).expect("UTF-8");
    assert_eq!(document["register"]["table"]["file"], "r.csv");
    assert_eq!(
        document["register"]["table"]["rows"],
        rows.lines().count() - 1
    );
    assert_eq!(
        document["register"]["letters"]["count"],
        letters(&place).len()
    );
    let without = place
        .run("plan wattle-rise.gpkg --out plan.gpkg --replace --json")
        .json();
    assert!(without["register"]["table"].is_null());
    place
        .run("plan wattle-rise.gpkg --what-if reach=50 --register r.csv")
        .refused(2, &["cannot be used with"]);
}
