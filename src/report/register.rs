//! The conflict register as tables by owner, and the test holes in the order of digging; with columns for what is found.

use super::{
    chapter::{Chapter, Layout, Listing},
    drive_sheet::{source, verdict},
    model::{Conflict, Head, Hole},
    text::{number, put, short, words},
};
use std::collections::BTreeMap;

/// A row, and the hole that is to be dug for it.
#[derive(Debug, Clone, Copy)]
pub struct Row<'a> {
    pub of: &'a Conflict,
    pub hole: Option<&'a Hole>,
}

/// Rows about services by owner; those whose owner no record names come last.
fn by_owner<'a>(rows: &[Row<'a>]) -> BTreeMap<(bool, &'a str), Vec<Row<'a>>> {
    let mut owners: BTreeMap<(bool, &str), Vec<Row>> = BTreeMap::new();
    for row in rows.iter().filter(|r| r.of.of_service()) {
        let owner = row.of.owner.as_deref().map_or("", str::trim);
        let of = (owner.is_empty(), owner);
        owners.entry(of).or_default().push(*row);
    }
    owners
}

const COLUMNS: [&str; 16] = [
    "Row",
    "Bore or pit",
    "At m",
    "Service",
    "How met",
    "Clearance m",
    "Required m",
    "Allowance m",
    "Margin m",
    "Verdict",
    "Rule",
    "Test hole",
    "Found: Top found at m",
    "Found: Size, material found",
    "Found: Exposed on, by",
    "Found: Remarks",
];

/// The register: one chapter on the one page, in a folder one or more an owner.
pub fn register(rows: &[Row], layout: Layout) -> Vec<Chapter> {
    let owners = by_owner(rows);
    let listings = owners.iter().enumerate().map(|(i, ((_, owner), rows))| {
        let owner = if owner.is_empty() {
            "Owner not known".to_string()
        } else {
            words(owner)
        };
        Listing {
            id: format!("owner-{:03}", i + 1),
            title: owner,
            about: counts(rows.iter().map(|r| r.of)),
            before: format!("<p>In all {}.</p>", counts(rows.iter().map(|r| r.of))),
            caption:
                "Encounters with services of this owner; the last columns are for what is found"
                    .to_string(),
            head: COLUMNS.to_vec(),
            rows: rows.iter().map(row).collect(),
            none: "",
        }
    });
    let listings: Vec<Listing> = listings.collect();
    if layout == Layout::Folder && !listings.is_empty() {
        let chapters = listings.iter().flat_map(|l| l.chapters(layout));
        return chapters
            .map(|c| Chapter {
                title: format!("Conflict register: {}", c.title),
                html: c
                    .html
                    .replacen("<h2", "<p class=\"kind\">Conflict register</p><h2", 1),
                ..c
            })
            .collect();
    }
    let mut html =
        "<section id=\"owners\" class=\"listing\"><h2>Conflict register, by owner</h2>".to_string();
    if listings.is_empty() {
        html.push_str("<p>No recorded service lies near. Records are not proof.</p>");
    }
    for l in &listings {
        put!(
            html,
            "<h3 id=\"{0}h\">{1}</h3>{2}",
            l.id,
            l.title,
            l.html(&l.rows, &l.id)
        );
    }
    html.push_str("</section>");
    let parts = listings.iter();
    vec![Chapter {
        id: "owners".to_string(),
        file: "owners".to_string(),
        title: "Conflict register, by owner".to_string(),
        about: String::new(),
        parts: parts
            .map(|l| (format!("{}h", l.id), l.title.clone()))
            .collect(),
        html,
    }]
}

/// `1 clash, 2 prove, 0 watch, 4 clear by the records`, and what has none of these verdicts.
pub fn counts<'a>(rows: impl Iterator<Item = &'a Conflict>) -> String {
    let mut n = [0_usize; 4];
    let mut without = 0;
    for row in rows {
        let at = ["clash", "prove", "watch", "clear"]
            .iter()
            .position(|v| *v == row.verdict);
        match at {
            Some(at) => n[at] += 1,
            None => without += 1,
        }
    }
    let known = format!(
        "{} clash, {} prove, {} watch, {} clear by the records",
        n[0], n[1], n[2], n[3]
    );
    match without {
        0 => known,
        n => format!("{known}, {n} without a verdict"),
    }
}

/// Where along a bore, or that it is a pit.
pub fn along(c: &Conflict) -> String {
    let of_pit = || "at the pit".to_string();
    c.chainage_m.map_or_else(of_pit, |m| number(m, 2))
}

fn row(r: &Row) -> String {
    let c = r.of;
    let place = c.bore_id.as_deref().or(c.pit_id.as_deref()).unwrap_or("");
    let depth = if c.depth_known { "" } else { ", depth unknown" };
    let angle = c
        .angle_deg
        .map_or(String::new(), |a| format!(" {}°", number(a, 0)));
    format!(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}, {}{depth}</td><td>{}{angle}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td class=\"rule\">{}</td><td>{}</td><td></td><td></td><td></td><td></td></tr>",
        short(&c.conflict_id),
        short(place),
        along(c),
        short(c.kind.as_deref().unwrap_or("service")),
        source(c),
        c.encounter.as_deref().map_or(String::new(), short),
        number(c.clearance_m, 2),
        number(c.required_m, 2),
        number(c.allowance_m, 2),
        number(c.margin_m, 2),
        verdict(&c.verdict),
        words(&c.rule),
        r.hole.map_or(String::new(), hole_words)
    )
}

/// `no. 3, dig to 1.52 m`.
fn hole_words(h: &Hole) -> String {
    format!("no. {}, dig {}", h.priority, dig_to(h))
}

fn dig_to(h: &Hole) -> String {
    h.dig_to_m.map_or("until it is found".to_string(), |m| {
        format!("to {} m", number(m, 2))
    })
}

/// Every test hole, the first to be dug first.
pub fn holes<'a>(
    head: &Head,
    holes: impl Iterator<Item = &'a Hole>,
    layout: Layout,
) -> Vec<Chapter> {
    let mut all: Vec<&Hole> = holes.collect();
    all.sort_by_key(|h| h.priority);
    let listing = Listing {
        id: "holes".to_string(),
        title: "Test holes in order".to_string(),
        about: String::new(),
        before: String::new(),
        caption: format!(
            "Holes to be dug and looked into before the bore is launched, by probability of contact; coordinates in {}, {}",
            words(&head.place.crs),
            words(&head.place.unit_name)
        ),
        head: vec![
            "Order",
            "Hole",
            "For bore",
            "Service",
            "Easting",
            "Northing",
            "Ground m",
            "Expected depth m",
            "Dig",
            "Why",
            "Found: Top found at m",
            "Found: Size, material found",
            "Found: Exposed on, by",
        ],
        rows: all.iter().map(|h| hole(head, h)).collect(),
        none: "<p>No test hole is asked for. Services are located and exposed before boring all the same.</p>",
    };
    listing.chapters(layout)
}

fn hole(head: &Head, h: &Hole) -> String {
    let known = |x: Option<f64>, decimals: usize| {
        let x = x.filter(|x| x.is_finite());
        x.map_or("not known".to_string(), |x| number(x, decimals))
    };
    let unit = head.place.unit_m;
    format!(
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}, {} fid {}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td></td><td></td><td></td></tr>",
        h.priority,
        short(&h.hole_id),
        short(&h.bore_id),
        short(&h.kind),
        short(&h.source_layer),
        h.source_fid,
        number(h.at.x / unit, 3),
        number(h.at.y / unit, 3),
        known(Some(h.ground_m), 3),
        known(h.expected_depth_m, 2),
        dig_to(h),
        words(&h.reason)
    )
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::model::tests::{conflict, hole};

    #[test]
    fn what_has_no_verdict_is_counted_and_never_as_clear() {
        let rows = ["clear", "clash", "", "Clear"].map(|v| conflict("C1", 1, v, 0.5));
        let said = counts(rows[..2].iter());
        assert_eq!(said, "1 clash, 0 prove, 0 watch, 1 clear by the records");
        let said = counts(rows.iter());
        assert_eq!(
            said,
            "1 clash, 0 prove, 0 watch, 1 clear by the records, 2 without a verdict"
        );
    }

    #[test]
    fn owners_stand_together_and_those_not_known_last() {
        let mut rows = [
            conflict("C1", 1, "prove", 0.5),
            conflict("C2", 2, "clash", 0.5),
            conflict("C3", 3, "clear", 0.5),
        ];
        rows[1].owner = Some(" Zeal Water ".to_string());
        rows[2].owner = Some("Alder Gas".to_string());
        let hole = hole("H1", 1, 4);
        let rows: Vec<Row> = rows
            .iter()
            .map(|of| Row {
                of,
                hole: (of.verdict == "prove").then_some(&hole),
            })
            .collect();
        let one = register(&rows, Layout::Page);
        let titles: Vec<&str> = one[0].parts.iter().map(|p| p.1.as_str()).collect();
        assert_eq!(
            titles,
            [
                "<bdi>Alder Gas</bdi>",
                "<bdi>Zeal Water</bdi>",
                "Owner not known"
            ]
        );
        assert!(one[0].html.contains("no. 4, dig until it is found"));
        let many = register(&rows, Layout::Folder);
        assert_eq!(many.len(), 3);
        assert!(many[2].html.contains(">Owner not known</h2>") && !many[2].html.contains("Alder"));
    }
}
