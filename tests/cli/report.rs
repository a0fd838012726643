//! `report`.

use crate::place::Place;
use rusqlite::Connection;

/// A planned sample.
fn planned() -> Place {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --quiet");
    assert!(ran.code <= 1, "{}", ran.err);
    place
}

fn page(place: &Place, name: &str) -> String {
    String::from_utf8(place.bytes(name)).expect("UTF-8")
}

#[test]
fn a_page_holds_every_part_and_fetches_nothing() {
    let place = planned();
    let before = place.bytes("wattle-rise.gpkg");
    let ran = place.run("report wattle-rise.gpkg -o r.html --svg drawings");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("4 routes") && ran.out.contains("Records are not proof"));
    let text = page(&place, "r.html");
    for part in [
        "Records are not proof",
        "located and exposed before boring",
        "competent person",
        "licensed practice",
        "never clear",
        "Plan of route STREET",
        "Vertical exaggeration",
        "Drive sheet, bore <bdi>LANE-B01</bdi>",
        "Instrument axis above floor m",
        "Stop before m",
        "Thrust at the end of the drive",
        "Conflicts by owner",
        "Test holes in order",
        "Break-even length",
        "Assumptions and sources",
        "Grid north is up",
        "class=\"skip\"",
    ] {
        assert!(text.contains(part), "no '{part}'");
    }
    // Below stand titles of publications, in their own words.
    let ours = &text[..text.find("id=\"assumptions\"").expect("sources")];
    let ours = ours.replace("'unsafe-inline'", "");
    assert!(!ours.to_lowercase().contains("safe"));
    for fetch in ["src=", "@import", "url(", "<iframe", "fetch("] {
        assert!(!text.contains(fetch), "{fetch}");
    }
    assert!(text.find("Read this first") < text.find("Route <bdi>STREET"));
    assert_eq!(before, place.bytes("wattle-rise.gpkg"));
    let drawings = std::fs::read_dir(place.path("drawings")).expect("a folder");
    assert!(drawings.count() > 8);
    let plan = page(&place, "drawings/001-street-plan.svg");
    assert!(plan.starts_with("<svg ") && plan.contains("<style>"));
}

#[test]
fn numbers_of_the_sheet_are_those_of_the_rows() {
    let place = planned();
    assert_eq!(
        place.run("report wattle-rise.gpkg -o r.html --quiet").code,
        0
    );
    let text = page(&place, "r.html");
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    let sql = "SELECT p.easting, p.northing, b.bearing_deg, b.length_m, p.floor_m FROM proposed_bores b \
               JOIN proposed_pits p ON p.pit_id = b.launch_pit WHERE b.bore_id = 'STREET-B01'";
    let row: [f64; 5] = db
        .query_row(sql, [], |r| {
            Ok([r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?, r.get(4)?])
        })
        .expect("a bore");
    let from = text
        .find("bore <bdi>STREET-B01</bdi></h4>")
        .expect("its sheet");
    let sheet = &text[from..from + text[from..].find("</article>").expect("its end")];
    for (value, decimals) in row.into_iter().zip([3, 3, 4, 3, 3]) {
        let number = format!("{value:.decimals$}");
        assert!(sheet.contains(&number), "no {number}");
    }
    let crossings: i64 = db
        .query_row(
            "SELECT count(*) FROM bore_conflicts WHERE bore_id = 'STREET-B01' AND obstacle = 'service'",
            [],
            |r| r.get(0),
        )
        .expect("a count");
    let table = &sheet[sheet.find("Services from the launch pit").expect("a table")..];
    let table = &table[..table.find("</table>").expect("its end")];
    assert_eq!(
        table.matches("<th scope=\"row\">").count() as i64,
        crossings
    );
}

#[test]
fn the_same_rows_give_the_same_page() {
    let place = planned();
    for (file, threads) in [("a.html", 1), ("b.html", 4)] {
        let ran = place.run(&format!(
            "report wattle-rise.gpkg -o {file} --threads {threads} --json"
        ));
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert_eq!(
            ran.json()["bytes"].as_u64(),
            Some(place.bytes(file).len() as u64)
        );
    }
    assert!(place.bytes("a.html") == place.bytes("b.html"));
}

/// Triggers of spatial indexes call functions that plain SQLite does not have.
fn without_triggers(db: &Connection) {
    let sql = "SELECT name FROM sqlite_master WHERE type = 'trigger'";
    let mut all = db.prepare(sql).expect("reads");
    let names = all.query_map([], |r| r.get::<_, String>(0)).expect("reads");
    for name in names.collect::<Result<Vec<_>, _>>().expect("reads") {
        db.execute(&format!("DROP TRIGGER \"{name}\""), [])
            .expect("drops");
    }
}

#[test]
fn hostile_values_are_shown_as_text() {
    let place = planned();
    let long = "x".repeat(10_000);
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    without_triggers(&db);
    let set = |sql: &str, value: &str| {
        assert!(db.execute(sql, [value]).expect("updates") > 0, "{sql}");
    };
    let script = "<script>alert('1')</script>\"><img src=x onerror=alert(2)>";
    set(
        "UPDATE bore_conflicts SET owner = ?1 WHERE kind = 'water'",
        script,
    );
    set(
        "UPDATE bore_conflicts SET owner = ?1 WHERE kind = 'gas'",
        &long,
    );
    set(
        "UPDATE bore_conflicts SET owner = ?1 WHERE kind = 'telecom'",
        "\u{202e}drawkcab \u{5d0}\u{5d1}",
    );
    set(
        "UPDATE bore_conflicts SET conflict_id = ?1 WHERE fid = 2",
        "</title></svg><script>alert(3)</script>",
    );
    set(
        "UPDATE proposed_pits SET street = ?1",
        "\" onload=\"alert(4)",
    );
    set(
        "UPDATE proposed_pits SET role = ?1 WHERE fid = 1",
        "\"><script>",
    );
    set(
        "UPDATE proposed_bores SET notes = ?1",
        "--></style><script>alert(5)</script>",
    );
    set(
        "UPDATE test_holes SET reason = ?1",
        "a\u{1}b</td></table><script>",
    );
    let ran = place.run("report wattle-rise.gpkg -o r.html --svg drawings");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = page(&place, "r.html");
    assert_eq!(text.matches("<script").count(), 1);
    assert_eq!(text.matches("<img").count(), 0);
    assert!(
        text.contains("&lt;script&gt;alert(&#39;1&#39;)&lt;/script&gt;&quot;&gt;&lt;img src=x")
    );
    assert!(text.contains(&long) && text.contains("a\u{fffd}b&lt;/td&gt;"));
    assert!(text.contains("<bdi>\u{202e}drawkcab"));
    for file in std::fs::read_dir(place.path("drawings")).expect("a folder") {
        let svg = std::fs::read_to_string(file.expect("a file").path()).expect("UTF-8");
        assert!(!svg.contains("<script") && !svg.contains('\u{202e}'));
    }
}

#[test]
fn one_route_alone_or_the_nearest_named() {
    let place = planned();
    assert_eq!(
        place
            .run("report wattle-rise.gpkg -o r.html --route LANE --quiet")
            .code,
        0
    );
    let text = page(&place, "r.html");
    assert!(text.contains("Route <bdi>LANE") && !text.contains("Route <bdi>STREET"));
    place
        .run("report wattle-rise.gpkg -o r2.html --route LANES")
        .refused(3, &["wattle-rise.gpkg", "route_id", "'LANES'", "LANE"]);
}

#[test]
fn a_plan_in_a_file_of_its_own_is_drawn_with_its_site_or_says_what_is_missing() {
    let place = Place::coarse("wattle-rise");
    assert!(place.run("plan wattle-rise.gpkg --out p.gpkg --quiet").code <= 1);
    let ran = place.run("report p.gpkg -o bare.html");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("--around"));
    assert!(page(&place, "bare.html").contains("are not drawn"));
    assert_eq!(
        place
            .run("report p.gpkg -o r.html --around wattle-rise.gpkg --quiet")
            .code,
        0
    );
    let text = page(&place, "r.html");
    assert!(!text.contains("are not drawn") && text.contains("class=\"building\""));
}

#[test]
fn what_is_there_is_kept_unless_it_may_be_replaced() {
    let place = planned();
    assert_eq!(place.run("report wattle-rise.gpkg").code, 2);
    place.write("mine.html", "<p>mine</p>");
    place
        .run("report wattle-rise.gpkg -o mine.html --replace")
        .refused(3, &["mine.html", "no report that pitwright wrote"]);
    place
        .run("report wattle-rise.gpkg -o wattle-rise.gpkg --replace")
        .refused(3, &["no report"]);
    assert_eq!(
        place
            .run("report wattle-rise.gpkg -o r.html --svg d --quiet")
            .code,
        0
    );
    let first = place.bytes("r.html");
    place
        .run("report wattle-rise.gpkg -o r.html")
        .refused(3, &["--replace"]);
    place
        .run("report wattle-rise.gpkg -o r2.html --svg d")
        .refused(3, &["--replace"]);
    assert_eq!(
        place
            .run("report wattle-rise.gpkg -o r.html --svg d --replace --quiet")
            .code,
        0
    );
    assert!(first == place.bytes("r.html"));
    place.write("d/notes.txt", "mine");
    place
        .run("report wattle-rise.gpkg -o r.html --svg d --replace")
        .refused(3, &["notes.txt", "no drawing"]);
    place
        .run("report wattle-rise.gpkg -o no/r.html")
        .refused(4, &["folder is not there"]);
    let mut names = place.names();
    names.sort();
    assert!(
        names
            .iter()
            .all(|n| !n.contains(".tmp") && !n.contains(".earlier")),
        "{names:?}"
    );
}

#[test]
fn a_file_without_a_plan_is_refused() {
    let place = Place::sample("wattle-rise");
    place.run("report wattle-rise.gpkg -o r.html").refused(
        3,
        &[
            "wattle-rise.gpkg",
            "proposed_bores",
            "run pitwright plan first",
        ],
    );
    place
        .run("report nowhere.gpkg -o r.html")
        .refused(3, &["nowhere.gpkg"]);
    let error = place
        .run("report nowhere.gpkg -o r.html --json")
        .error(3, Some("report"));
    assert_eq!(error["file"], "nowhere.gpkg");
}

#[test]
fn a_route_without_a_plan_says_why() {
    let place = Place::sample("no-plan/house-across");
    assert_eq!(place.run("plan house-across.gpkg --quiet").code, 1);
    let ran = place.run("report house-across.gpkg -o r.html");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let text = page(&place, "r.html");
    assert!(text.contains("No plan was found") && text.contains("Chainage "));
}
