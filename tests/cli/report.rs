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
        "Conflict register, by owner",
        "Top found at m",
        "class=\"fence\"",
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
    let plan = page(&place, "drawings/0001-street-plan.svg");
    assert!(plan.starts_with("<svg ") && plan.contains("<style>") && !plan.contains("var("));
    // It may go on on a second page.
    let names = [
        "drawings/0001-street-drive-01.svg",
        "drawings/0001-street-drive-01-1.svg",
    ];
    let name = names.into_iter().find(|n| place.path(n).exists());
    let sheet = page(&place, name.expect("a drive sheet"));
    assert!(
        sheet.contains("Drive sheet, bore STREET-B01") && sheet.contains("Records are not proof")
    );
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

#[test]
fn hostile_values_are_shown_as_text() {
    let place = planned();
    let long = "x".repeat(10_000);
    let db = place.opened("wattle-rise.gpkg");
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
    let whole = |command: &str, written: &str| {
        let ran = place.run(command);
        assert_eq!(ran.code, 0, "{}", ran.err);
        assert!(!ran.out.contains("--around"), "{}", ran.out);
        let text = page(&place, written);
        assert!(!text.contains("are not drawn") && text.contains("class=\"building\""));
    };
    whole("report p.gpkg -o beside.html", "beside.html");
    let moved = place.path("moved.gpkg");
    std::fs::rename(place.path("wattle-rise.gpkg"), moved).expect("moves");
    let ran = place.run("report p.gpkg -o bare.html");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(ran.out.contains("--around"));
    assert!(page(&place, "bare.html").contains("are not drawn"));
    whole("report p.gpkg -o r.html --around moved.gpkg", "r.html");
}

#[test]
fn the_site_in_the_file_or_beside_it_is_meant_before_another_of_its_name() {
    let place = Place::coarse("wattle-rise");
    std::fs::create_dir(place.path("sub")).expect("makes a folder");
    assert!(
        place
            .run("plan wattle-rise.gpkg --out sub/p.gpkg --quiet")
            .code
            <= 1
    );
    assert!(place.run("plan wattle-rise.gpkg --quiet").code <= 1);
    for copy in ["sub/wattle-rise.gpkg", "own.gpkg"] {
        std::fs::copy(place.path("wattle-rise.gpkg"), place.path(copy)).expect("copies");
    }
    let other = place.opened("wattle-rise.gpkg");
    other.execute("DELETE FROM buildings", []).expect("deletes");
    drop(other);
    let has_buildings = |file: &str| {
        let ran = place.run(&format!("report {file} -o r.html --replace"));
        assert_eq!(ran.code, 0, "{}", ran.err);
        page(&place, "r.html").contains("class=\"building\"")
    };
    let files = ["sub/p.gpkg", "own.gpkg", "wattle-rise.gpkg"];
    assert_eq!(files.map(has_buildings), [true, true, false]);
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
            "run pitwright plan or pitwright check first",
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

/// What a program of another hand says of a PDF.
fn poppler(place: &Place, program: &str, arguments: &[&str]) -> String {
    let ran = std::process::Command::new(program)
        .args(arguments)
        .current_dir(place.path("."))
        .output()
        .unwrap_or_else(|e| panic!("{program} (Debian: poppler-utils): {e}"));
    assert!(ran.status.success(), "{program} {arguments:?}");
    assert_eq!(String::from_utf8_lossy(&ran.stderr), "", "{program}");
    String::from_utf8(ran.stdout).expect("UTF-8")
}

#[test]
fn a_pdf_holds_plans_sections_and_drive_sheets_as_text_and_to_scale() {
    let place = planned();
    let ran = place.run("report wattle-rise.gpkg --pdf p.pdf --paper a4 --json");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let document = ran.json();
    assert_eq!(document["file"], serde_json::Value::Null);
    let sheets = document["pdf"]["sheets"].as_u64().expect("a count");
    let info = poppler(&place, "pdfinfo", &["-l", "99", "p.pdf"]);
    assert!(
        info.contains(&format!("Pages:           {sheets}")),
        "{info}"
    );
    assert!(
        info.contains("Page    1 size:  841.89 x 595.276 pts (A4)"),
        "{info}"
    );
    assert!(info.contains("size:  595.276 x 841.89 pts (A4)"), "{info}");
    let text = poppler(&place, "pdftotext", &["-layout", "p.pdf", "-"]);
    for piece in [
        "Drive sheet, bore STREET-B01",
        "Long section, run",
        "Plan of route STREET",
        "Bearing, launch to reception",
        "Lengths 1 : ",
        "Records are not proof.",
        &format!("1 of {sheets}"),
    ] {
        assert!(text.contains(piece), "no '{piece}' in {text}");
    }
    scale_bar_is_true(&place, "p.pdf");
    // Nothing is drawn as a picture.
    let pictures = poppler(&place, "pdfimages", &["-list", "p.pdf"]);
    assert_eq!(pictures.lines().count(), 2, "{pictures}");
    let again = place.run("report wattle-rise.gpkg --pdf q.pdf --paper a4 --quiet");
    assert_eq!(again.code, 0, "{}", again.err);
    assert!(place.bytes("p.pdf") == place.bytes("q.pdf"));
    place
        .run("report wattle-rise.gpkg --pdf p.pdf")
        .refused(3, &["p.pdf", "--replace"]);
    place.write("mine.pdf", "%PDF-1.7 mine");
    place
        .run("report wattle-rise.gpkg --pdf mine.pdf --replace")
        .refused(3, &["mine.pdf", "no PDF that pitwright wrote"]);
    assert_eq!(
        place
            .run("report wattle-rise.gpkg --paper a4 -o r.html")
            .code,
        2
    );
}

/// On the first sheet the bar from 20 to 40 m is as long as the scale printed beside it says.
fn scale_bar_is_true(place: &Place, file: &str) {
    let boxes = poppler(place, "pdftotext", &["-bbox", "-l", "1", file, "-"]);
    let words: Vec<(f64, &str, &str)> = boxes
        .lines()
        .filter_map(|line| {
            let of = |name: &str| line.split(&format!("{name}=\"")).nth(1)?.split('"').next();
            let number = |name: &str| of(name)?.parse::<f64>().ok();
            let middle = (number("xMin")? + number("xMax")?) / 2.0;
            Some((middle, of("yMin")?, line.split(['<', '>']).nth(2)?))
        })
        .collect();
    let scale = words.windows(3).find(|w| w[0].2 == "1" && w[1].2 == ":");
    let one_to: f64 = scale.expect("a scale")[2].2.parse().expect("a number");
    let twenty = words.iter().find(|w| w.2 == "20").expect("a bar");
    let forty = |w: &&(f64, &str, &str)| w.2 == "40" && w.1 == twenty.1;
    let forty = words.iter().find(forty).expect("its next number");
    let mm = (forty.0 - twenty.0) * 25.4 / 72.0;
    assert!(
        (mm - 20_000.0 / one_to).abs() < 0.05,
        "{mm} mm at 1 : {one_to}"
    );
}

#[test]
fn letters_without_a_shape_are_told() {
    let place = planned();
    let db = place.opened("wattle-rise.gpkg");
    db.execute("UPDATE bore_conflicts SET owner = '株 Wasser Größe'", [])
        .expect("updates");
    let ran = place.run("report wattle-rise.gpkg --pdf p.pdf");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("no shape for 株:") && ran.out.contains("--font"),
        "{}",
        ran.out
    );
    let text = poppler(&place, "pdftotext", &["p.pdf", "-"]);
    assert!(text.contains("Größe"));
    place
        .run("report wattle-rise.gpkg --pdf q.pdf --font wattle-rise.job.toml")
        .refused(3, &["wattle-rise.job.toml", "no typeface", "--font"]);
}

#[test]
fn a_folder_holds_an_index_and_a_page_a_route() {
    let place = planned();
    let ran = place.run("report wattle-rise.gpkg --pages pages --json");
    assert_eq!(ran.code, 0, "{}", ran.err);
    let names: Vec<String> = std::fs::read_dir(place.path("pages"))
        .expect("a folder")
        .map(|f| {
            f.expect("a file")
                .file_name()
                .to_string_lossy()
                .into_owned()
        })
        .collect();
    assert_eq!(ran.json()["pages"].as_u64(), Some(names.len() as u64));
    assert!(names.contains(&"index.html".to_string()));
    let index = page(&place, "pages/index.html");
    assert!(!index.contains("<svg") && index.contains("route-0001-street.html#r0b0"));
    let route = page(&place, "pages/route-0001-street.html");
    assert!(
        route.contains("Drive sheet, bore <bdi>STREET-B01</bdi>") && !route.contains("LANE-B01")
    );
    for name in &names {
        let text = page(&place, &format!("pages/{name}"));
        assert!(
            text.contains("Records are not proof") && text.starts_with("<!DOCTYPE html>"),
            "{name}"
        );
        for link in text
            .split("<a href=\"")
            .skip(1)
            .filter_map(|l| l.split('"').next())
        {
            let file = link.split('#').next().expect("a name");
            assert!(
                file.is_empty() || file == "index.html" || names.contains(&file.to_string()),
                "{name}: {link}"
            );
        }
    }
    assert_eq!(
        place
            .run("report wattle-rise.gpkg --pages p2 -o r.html")
            .code,
        2
    );
    place
        .run("report wattle-rise.gpkg --pages pages")
        .refused(3, &["pages", "--replace"]);
    assert_eq!(
        place
            .run("report wattle-rise.gpkg --pages pages --replace --quiet")
            .code,
        0
    );
    place.write("pages/mine.html", "mine");
    place
        .run("report wattle-rise.gpkg --pages pages --replace")
        .refused(3, &["mine.html", "no report"]);
}

#[test]
fn a_check_has_a_report_of_tables() {
    let place = planned();
    let ran = place.run("check wattle-rise.gpkg --bores proposed_bores --out check.gpkg --json");
    assert!(ran.code <= 1, "{}", ran.err);
    let document = ran.json();
    let ran = place.run("report check.gpkg -o c.html --json");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert_eq!(
        ran.json()["encounters"],
        document["layers"]["bore_conflicts"]
    );
    let text = page(&place, "c.html");
    for part in [
        "Bore check report",
        "Read this first",
        "13 bores checked",
        "Not known, and so not clear",
        "Conflict register, by owner",
        "Top found at m",
        "Test holes in order",
        "by camera after boring",
        "Settings that the check was made with",
    ] {
        assert!(text.contains(part), "no '{part}'");
    }
    assert!(!text.contains("<svg") && !text.contains("Changes since"));
    let services = Connection::open(place.path("check.gpkg"))
        .expect("opens")
        .query_row(
            "SELECT count(*) FROM bore_conflicts WHERE obstacle = 'service'",
            [],
            |r| r.get::<_, i64>(0),
        )
        .expect("a count");
    let register = &text[text.find("id=\"owners\"").expect("a register")..];
    let register = &register[..register.find("</section>").expect("its end")];
    assert_eq!(
        register.matches("<th scope=\"row\">").count() as i64,
        services
    );
    place
        .run("report check.gpkg -o d.html --svg drawings")
        .refused(3, &["check.gpkg", "--svg", "of a check"]);
    // Into the file of the plan: its own rows are gone, and the report says so.
    let over = place.run("check wattle-rise.gpkg --bores proposed_bores --replace --quiet");
    assert!(over.code <= 1, "{}", over.err);
    let ran = place.run("report wattle-rise.gpkg -o e.html");
    assert_eq!(ran.code, 0, "{}", ran.err);
    assert!(
        ran.out.contains("which wrote over the conflicts"),
        "{}",
        ran.out
    );
}
