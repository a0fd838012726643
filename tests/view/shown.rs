//! The page, the pages of bores, and that they follow the file.

use crate::{
    place::Place,
    server::{Server, planned},
};
use rusqlite::Connection;

#[test]
fn the_page_lists_every_bore_and_warns() {
    let place = planned();
    let before = place.bytes("wattle-rise.gpkg");
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let page = server.body("/");
    let db = Connection::open(place.path("wattle-rise.gpkg")).expect("opens");
    let mut ask = db
        .prepare("SELECT fid, bore_id FROM proposed_bores")
        .expect("reads");
    let bores = ask
        .query_map([], |r| Ok((r.get(0)?, r.get(1)?)))
        .expect("reads");
    let bores: Vec<(i64, String)> = bores.collect::<Result<_, _>>().expect("reads");
    assert_eq!(page.matches("href=\"/bore/").count(), bores.len());
    for (fid, id) in &bores {
        assert!(page.contains(&format!("href=\"/bore/{fid}\"")));
        let sheet = server.body(&format!("/bore/{fid}"));
        for part in [
            &format!("<h2 tabindex=\"-1\">Bore <bdi>{id}</bdi></h2>"),
            "<h3>Long section of run",
            "class=\"drawing section",
            &format!("Drive sheet, bore <bdi>{id}</bdi>"),
            "located and exposed before the drive reaches it",
        ] {
            assert!(sheet.contains(part), "bore {id}: no {part}");
        }
    }
    for part in [
        "Records are not proof",
        "located and exposed before boring",
        "never clear",
    ] {
        assert!(page.contains(part), "no {part}");
    }
    for text in [&page, &server.body("/bore/1")] {
        assert!(!text.to_lowercase().contains("safe"));
        // A name of the drawing's language, which nobody fetches.
        let text = text.replace("xmlns=\"http://www.w3.org/2000/svg\"", "");
        for piece in ["://", "style=\"", "onclick", "<iframe"] {
            assert!(!text.contains(piece), "{piece}");
        }
    }
    assert!(before == place.bytes("wattle-rise.gpkg"));
}

#[test]
fn hostile_values_are_shown_as_text() {
    let place = planned();
    let long = "x".repeat(10_000);
    let db = place.opened("wattle-rise.gpkg");
    let set = |sql: &str, value: &str| {
        assert!(db.execute(sql, [value]).expect("updates") > 0, "{sql}");
    };
    let script = "</script><script>alert('1')</script>\"><img src=x onerror=alert(2)>";
    set(
        "UPDATE bore_conflicts SET owner = ?1 WHERE kind = 'water'",
        script,
    );
    set(
        "UPDATE bore_conflicts SET owner = ?1 WHERE kind = 'gas'",
        &long,
    );
    set(
        "UPDATE proposed_bores SET notes = ?1",
        "\u{202e}drawkcab \u{5d0}\u{5d1}</main>",
    );
    set(
        "UPDATE proposed_bores SET bore_id = ?1 WHERE fid = 1",
        script,
    );
    set("UPDATE streets SET name = ?1 WHERE fid = 1", script);
    set(
        "UPDATE water_mains SET kind = ?1 WHERE fid = 1",
        "\"><script>",
    );
    drop(db);
    let server = Server::start(&place, "view wattle-rise.gpkg");
    let page = server.body("/");
    assert_eq!(page.matches("<script").count(), 2);
    assert!(page.contains("&lt;/script&gt;&lt;script&gt;alert(&#39;1&#39;)"));
    let mut sheets = String::new();
    for fid in 1..=page.matches("href=\"/bore/").count() {
        sheets += &server.body(&format!("/bore/{fid}"));
    }
    assert_eq!(
        sheets.matches("<script").count() + sheets.matches("<img").count(),
        0
    );
    assert!(sheets.contains("<bdi>\u{202e}drawkcab") && sheets.contains("&lt;/main&gt;"));
    let answer = server.get("/map/-9000,-9000,9000,9000");
    assert!(answer.head.contains("application/json"));
    let said: serde_json::Value = serde_json::from_str(&answer.body).expect("JSON");
    let owners = said["layers"].as_array().expect("layers").iter();
    let owners = owners.flat_map(|l| l["things"].as_array().expect("things"));
    let owners: Vec<&str> = owners
        .filter_map(|t| t["cells"]["owner"].as_str())
        .collect();
    assert!(owners.contains(&script) && owners.iter().all(|o| o.chars().count() < 100));
}

#[test]
fn a_plan_made_anew_is_shown_and_is_not_kept_from_being_written() {
    let place = planned();
    let server = Server::start(&place, "view wattle-rise.gpkg");
    assert!(server.body("/").contains("<bdi>LANE-B01</bdi>"));
    let ran = place.run("plan wattle-rise.gpkg --replace --quiet");
    assert!(ran.code <= 1, "{}", ran.err);
    let db = place.opened("wattle-rise.gpkg");
    db.execute(
        "UPDATE proposed_bores SET bore_id = 'NEW-1' WHERE bore_id = 'LANE-B01'",
        [],
    )
    .expect("updates");
    drop(db);
    let page = server.body("/");
    assert!(page.contains("<bdi>NEW-1</bdi>") && !page.contains("<bdi>LANE-B01</bdi>"));
    std::fs::remove_file(place.path("wattle-rise.gpkg")).expect("goes");
    let gone = server.get("/");
    assert_eq!(gone.status, 500);
    assert!(gone.body.contains("wattle-rise.gpkg"), "{}", gone.body);
}

#[test]
fn a_check_is_shown_with_the_bores_it_judged() {
    let place = planned();
    let ran = place
        .run("check wattle-rise.gpkg --bores wattle-rise.gpkg:proposed_bores --out c.gpkg --quiet");
    assert!(ran.code <= 1, "{}", ran.err);
    let server = Server::start(&place, "view c.gpkg --around wattle-rise.gpkg");
    let page = server.body("/");
    assert!(page.contains("Check of "));
    let bores = page.matches("href=\"/bore/").count();
    let db = Connection::open(place.path("c.gpkg")).expect("opens");
    let rows = "SELECT count(*) FROM bore_conflicts WHERE bore_id = (SELECT bore_id FROM bore_conflicts LIMIT 1)";
    let rows: usize = db
        .query_row(rows, [], |r| r.get::<_, i64>(0))
        .expect("counts") as usize;
    let name: String = db
        .query_row("SELECT bore_id FROM bore_conflicts LIMIT 1", [], |r| {
            r.get(0)
        })
        .expect("a bore");
    let sheets: Vec<String> = (1..=bores)
        .map(|i| server.body(&format!("/bore/{i}")))
        .collect();
    let sheet = sheets
        .iter()
        .find(|s| s.contains(&format!("Bore <bdi>{name}</bdi>")))
        .expect("its page");
    assert_eq!(sheet.matches("<th scope=\"row\">").count(), rows);
    let layers = server.layers("-9000,-9000,9000,9000");
    let drawn = layers.iter().find(|l| l["part"] == "bores").expect("bores");
    assert_eq!(drawn["things"].as_array().expect("things").len(), bores);
}

#[test]
fn a_check_whose_bores_are_gone_says_so_and_takes_them_by_name() {
    let place = planned();
    std::fs::copy(place.path("wattle-rise.gpkg"), place.path("design.gpkg")).expect("copies");
    let ran =
        place.run("check wattle-rise.gpkg --bores design.gpkg:proposed_bores --out c.gpkg --quiet");
    assert!(ran.code <= 1, "{}", ran.err);
    std::fs::rename(place.path("design.gpkg"), place.path("other.gpkg")).expect("moves");
    let lost = Server::start(&place, "view c.gpkg --around wattle-rise.gpkg");
    assert!(lost.said.contains("--bores"), "{}", lost.said);
    let named = Server::start(
        &place,
        "view c.gpkg --around wattle-rise.gpkg --bores other.gpkg:proposed_bores",
    );
    assert!(named.body("/").matches("href=\"/bore/").count() > 3);
}

#[test]
fn a_route_without_a_plan_shows_what_blocks_it() {
    let place = Place::sample("no-plan/house-across");
    assert_eq!(place.run("plan house-across.gpkg --quiet").code, 1);
    let server = Server::start(&place, "view house-across.gpkg");
    let layers = server.layers("-9000,-9000,9000,9000");
    let blocked = layers
        .iter()
        .find(|l| l["layer"] == "route_blockers")
        .expect("blockers");
    assert!(!blocked["things"].as_array().expect("things").is_empty());
    assert!(server.body("/").contains("What blocks the routes"));
}
