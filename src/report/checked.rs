//! The report of a check: bores of others against the records, in tables alone.

use super::{
    chapter::{Chapter, Layout, Listing},
    drive_sheet::{source, thing, verdict},
    model::{Change, CheckReport, Conflict, Inspection},
    notes,
    page::Book,
    register::{self, along, counts},
    text::{number, put, several, short, words},
};

/// The report of a check.
pub fn check_book(report: &CheckReport, layout: Layout) -> Book<'_> {
    let head = &report.head;
    let mut chapters = bores(report).chapters(layout);
    let row = |of| register::Row {
        of,
        hole: of.hole.and_then(|i| report.holes.get(i)),
    };
    let rows: Vec<_> = report.conflicts.iter().map(row).collect();
    chapters.extend(register::register(&rows, layout));
    chapters.extend(others(report, layout));
    chapters.extend(register::holes(head, report.holes.iter(), layout));
    chapters.extend(inspections(report).chapters(layout));
    if let Some(rows) = &report.changes {
        chapters.extend(changes(rows).chapters(layout));
    }
    chapters.push(notes::assumptions(head, "check"));
    let mut before = String::new();
    summary(&mut before, report);
    notes::warnings(&mut before, head, None);
    Book {
        head,
        kind: "Bore check report",
        made: "checked",
        before,
        chapters,
    }
}

fn summary(out: &mut String, report: &CheckReport) {
    let bores = (report.bores).map_or(String::new(), |n| {
        format!("{} checked. ", several(n as usize, "bore"))
    });
    put!(
        out,
        "<section id=\"summary\"><h2>What came of it</h2><p>{bores}{}; {}; {} to be looked into after boring.</p>",
        counts(report.conflicts.iter()),
        several(report.holes.len(), "test hole"),
        several(report.inspections.len(), "gravity pipe")
    );
    if report.connections > 0 {
        put!(
            out,
            "<p>{} with a sewer at an end of a bore: perhaps what it is to connect to.</p>",
            several(report.connections, "clash row")
        );
    }
    if !report.unknown.is_empty() {
        out.push_str("<p>Not known, and so not clear:</p><ul>");
        (report.unknown.iter()).for_each(|line| put!(out, "<li>{}</li>", words(line)));
        out.push_str("</ul>");
    }
    out.push_str("<p>Bores were drawn by others; the layers of the check show each encounter in its place.</p></section>");
}

/// A line a bore that comes near something: the rows stand bore by bore, as the check wrote them.
fn bores(report: &CheckReport) -> Listing {
    let of_bores: Vec<&Conflict> = report.conflicts.iter().collect();
    let groups = of_bores.chunk_by(|a, b| a.bore_id == b.bore_id);
    Listing {
        id: "bores".to_string(),
        title: "Bores".to_string(),
        caption: "Bores that come near something on record. The others are not listed; services are located before them all the same".to_string(),
        head: vec!["Bore", "Clash", "Prove", "Watch", "Clear by the records", "Least clearance m", "Least margin m", "Of"],
        rows: groups.map(bore).collect(),
        none: "<p>No bore comes near anything on record. Records are not proof.</p>",
        ..Listing::default()
    }
}

fn bore(rows: &[&Conflict]) -> String {
    let of = |v: &str| rows.iter().filter(|c| c.verdict == v).count();
    let nearest = rows.iter().map(|c| c.clearance_m).reduce(f64::min);
    // Where no depth is recorded the margin is to where it may lie.
    let worst = rows.iter().min_by(|a, b| a.margin_m.total_cmp(&b.margin_m));
    let what = |c: &&&Conflict| match &c.kind {
        Some(kind) => format!("{}, {}", short(kind), source(c)),
        None => thing(c),
    };
    format!(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
        short(rows[0].bore_id.as_deref().unwrap_or("not stated")),
        of("clash"),
        of("prove"),
        of("watch"),
        of("clear"),
        nearest.map_or(String::new(), |m| number(m, 2)),
        worst.map_or(String::new(), |c| number(c.margin_m, 2)),
        worst.as_ref().map_or(String::new(), what),
    )
}

/// Buildings, trees, keepouts and ground; none where nothing of the kind is near.
fn others(report: &CheckReport, layout: Layout) -> Vec<Chapter> {
    let rows = report.conflicts.iter().filter(|c| !c.of_service());
    let listing = Listing {
        id: "others".to_string(),
        title: "What else is near".to_string(),
        caption: "Buildings, trees, keepouts and the ground".to_string(),
        head: vec![
            "Row",
            "Bore",
            "At m",
            "What",
            "Clearance m",
            "Required m",
            "Margin m",
            "Verdict",
        ],
        rows: rows.map(other).collect(),
        none: "",
        ..Listing::default()
    };
    if listing.rows.is_empty() {
        return vec![];
    }
    listing.chapters(layout)
}

fn other(c: &Conflict) -> String {
    format!(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
        short(&c.conflict_id),
        short(c.bore_id.as_deref().unwrap_or("")),
        along(c),
        thing(c),
        number(c.clearance_m, 2),
        number(c.required_m, 2),
        number(c.margin_m, 2),
        verdict(&c.verdict)
    )
}

fn inspections(report: &CheckReport) -> Listing {
    Listing {
        id: "inspections".to_string(),
        title: "To look into by camera after boring".to_string(),
        before: "<p>A pipe through a sewer is not felt at the rig. These gravity pipes are crossed without a test hole.</p>".to_string(),
        caption: "Gravity pipes crossed without exposing them, by the records".to_string(),
        head: vec!["Order", "Bore", "At m", "Pipe", "Owner", "Location quality", "Clearance m", "Verdict", "Found: Looked into on, by", "Found: What was seen"],
        rows: report.inspections.iter().map(inspection).collect(),
        none: "<p>By the records no gravity pipe is crossed without a test hole. House connections are seldom recorded.</p>",
        ..Listing::default()
    }
}

fn inspection(i: &Inspection) -> String {
    format!(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}, {} fid {}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td></td><td></td></tr>",
        i.priority,
        short(&i.bore_id),
        i.chainage_m
            .map_or("not stated".to_string(), |m| number(m, 2)),
        short(&i.kind),
        short(&i.source_layer),
        i.source_fid,
        short(i.owner.as_deref().unwrap_or("not known")),
        short(i.quality.as_deref().unwrap_or("unknown")),
        number(i.clearance_m, 2),
        verdict(&i.verdict)
    )
}

fn changes(rows: &[Change]) -> Listing {
    let of = |v: &str| rows.iter().filter(|c| c.change == v).count();
    Listing {
        id: "changes".to_string(),
        title: "Changes since the earlier check".to_string(),
        before: format!(
            "<p>{} new, {} worse, {} better, {} gone. Gone means no longer on record, and nothing more.</p>",
            of("new"),
            of("worse"),
            of("better"),
            of("gone")
        ),
        caption: "Encounters that are not as they were".to_string(),
        head: vec![
            "Change",
            "Bore",
            "At m",
            "What",
            "Owner",
            "Verdict before",
            "Margin before m",
            "Verdict",
            "Margin m",
        ],
        rows: rows.iter().map(change).collect(),
        none: "<p>Every encounter is as it was.</p>",
        ..Listing::default()
    }
}

fn change(c: &Change) -> String {
    let metres = |m: Option<f64>| m.map_or("–".to_string(), |m| number(m, 2));
    let word = |v: &Option<String>| v.as_deref().map_or("–".to_string(), verdict);
    let what = c.kind.as_deref().unwrap_or(&c.obstacle);
    let whose = match (&c.source_layer, c.source_fid) {
        (Some(layer), Some(fid)) => format!(", {} fid {fid}", short(layer)),
        _ => String::new(),
    };
    format!(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}{whose}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
        words(&c.change),
        short(&c.bore_id),
        metres(c.chainage_m),
        short(what),
        short(c.owner.as_deref().unwrap_or("not known")),
        word(&c.verdict_before),
        metres(c.margin_before_m),
        word(&c.verdict),
        metres(c.margin_m)
    )
}
