//! What `export` refuses, and that nothing is left behind.

use super::planned;
use crate::place::Place;
use std::fs;

fn names(place: &Place, folder: &str) -> Vec<String> {
    let files = fs::read_dir(place.path(folder)).expect("reads");
    let names = files.map(|f| f.expect("reads").file_name().to_string_lossy().into_owned());
    let mut names: Vec<String> = names.collect();
    names.sort();
    names
}

#[test]
fn nothing_is_written_over_without_replace() {
    let place = planned();
    fs::create_dir(place.path("out")).expect("makes");
    // The last of the files that would be written: none before it may be there afterwards.
    place.write("out/route_blockers.geojson", "mine");
    let ran = place.run("export plan.gpkg --to geojson -o out");
    ran.refused(
        3,
        &["route_blockers.geojson", "is there already", "--replace"],
    );
    assert_eq!(names(&place, "out"), ["route_blockers.geojson"]);
    assert_eq!(place.bytes("out/route_blockers.geojson"), b"mine");
    assert_eq!(
        place
            .run("export plan.gpkg --to geojson -o out --replace")
            .code,
        0
    );
    assert_ne!(place.bytes("out/route_blockers.geojson"), b"mine");
    assert!(
        names(&place, "out")
            .iter()
            .all(|n| n.ends_with(".geojson") && !n.starts_with('.'))
    );
}

#[test]
fn a_site_without_a_plan_is_refused_and_no_folder_is_made() {
    let place = Place::sample("wattle-rise");
    let ran = place.run("export wattle-rise.gpkg --to csv -o out");
    ran.refused(
        3,
        &[
            "wattle-rise.gpkg",
            "holds no result layers",
            "pitwright plan",
        ],
    );
    assert!(!place.path("out").exists());
    let ran = place.run("export nowhere.gpkg --to kml -o out");
    ran.refused(3, &["nowhere.gpkg", "no such file"]);
    let error = place
        .run("export nowhere.gpkg --to kml -o out --json")
        .error(3, Some("export"));
    assert_eq!(error["file"], "nowhere.gpkg");
}

#[test]
fn flags_of_another_format_are_wrong_usage() {
    let place = planned();
    place
        .run("export plan.gpkg --to geojson -o out --units ft")
        .refused(2, &["--units"]);
    place
        .run("export plan.gpkg --to csv -o out --scale 200")
        .refused(2, &["--scale"]);
    place
        .run("export plan.gpkg --to shp -o out")
        .refused(2, &["shp", "geojson"]);
    place
        .run("export plan.gpkg --to kml")
        .refused(2, &["--output"]);
    assert!(!place.path("out").exists());
}

#[test]
fn a_place_that_cannot_be_written_is_exit_4() {
    let place = planned();
    place
        .run("export plan.gpkg --to kml -o no/where")
        .refused(4, &["no/where", "cannot be written"]);
    place.write("file", "mine");
    place
        .run("export plan.gpkg --to kml -o file")
        .refused(3, &["file", "is no folder"]);
    // Nobody, not even root, makes files there.
    place
        .run("export plan.gpkg --to fgb -o /proc/self")
        .refused(4, &["cannot be written"]);
    let site = place.bytes("plan.gpkg");
    assert_eq!(place.run("export plan.gpkg --to kml -o out").code, 0);
    assert_eq!(place.bytes("plan.gpkg"), site, "an export only reads");
}

#[test]
fn hostile_text_stays_text() {
    let place = planned();
    let db = rusqlite::Connection::open(place.path("plan.gpkg")).expect("opens");
    // The triggers of the index ask for functions that only GDAL has.
    let off = rusqlite::config::DbConfig::SQLITE_DBCONFIG_ENABLE_TRIGGER;
    db.set_db_config(off, false).expect("set");
    let hostile = "=1+1,\"<script>&]]>\u{202e}\u{1}\n0\nEOF";
    db.execute("UPDATE proposed_pits SET notes = ?1", [hostile])
        .expect("writes");
    db.execute("UPDATE bore_conflicts SET kind = ?1, owner = ?1", [hostile])
        .expect("writes");
    drop(db);
    for format in ["geojson", "kml", "dxf", "fgb", "csv"] {
        let ran = place.run(&format!("export plan.gpkg --to {format} -o out"));
        assert_eq!(ran.code, 0, "{format}: {}", ran.err);
    }
    let text = |name: &str| String::from_utf8(place.bytes(&format!("out/{name}"))).expect("UTF-8");
    assert!(!text("plan.kml").contains("<script>") && text("plan.kml").contains("&lt;script&gt;"));
    let drawing = text("plan.dxf");
    assert!(drawing.is_ascii() && drawing.matches("\nEOF\n").count() == 1);
    assert!(text("plan-setting-out.csv").contains("\"'=1+1,\"\"<script>"));
    for file in [
        "plan.kml",
        "plan.dxf",
        "proposed_pits.geojson",
        "proposed_pits.fgb",
    ] {
        let set = gdal::Dataset::open(place.path(&format!("out/{file}"))).expect("opens");
        let mut layer = set.layer(0).expect("one");
        use gdal::vector::LayerAccess;
        assert!(layer.features().count() > 0, "{file}");
    }
}
