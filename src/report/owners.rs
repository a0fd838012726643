//! Conflicts by owner, and the test holes in the order of digging.

use super::{
    drive_sheet::{source, verdict},
    model::{Conflict, Report, RouteSheet},
    text::{measured, number, put, short, words},
};
use std::collections::BTreeMap;

/// All routes' services by owner; those whose owner no record names come last.
pub fn by_owner(out: &mut String, report: &Report) {
    let rows = report.routes.iter().flat_map(|r| {
        r.conflicts
            .iter()
            .filter(|c| c.of_service())
            .map(move |c| (r, c))
    });
    let mut owners: BTreeMap<(bool, &str), Vec<(&RouteSheet, &Conflict)>> = BTreeMap::new();
    for (route, c) in rows {
        let owner = c.owner.as_deref().filter(|o| !o.trim().is_empty());
        owners
            .entry((owner.is_none(), owner.unwrap_or("Owner not known")))
            .or_default()
            .push((route, c));
    }
    out.push_str("<section id=\"owners\"><h2>Conflicts by owner</h2>");
    if owners.is_empty() {
        out.push_str("<p>No recorded service lies near. Records are not proof.</p>");
    }
    for (i, ((_, owner), rows)) in owners.iter().enumerate() {
        let of = |v: &str| rows.iter().filter(|r| r.1.verdict == v).count();
        put!(
            out,
            "<h3 id=\"o{i}\">{}</h3><p>{} clash, {} prove, {} watch, {} clear by the records</p>",
            words(owner),
            of("clash"),
            of("prove"),
            of("watch"),
            of("clear")
        );
        put!(
            out,
            "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-labelledby=\"o{i}\"><table><caption>Services of this owner</caption><thead><tr>"
        );
        for head in [
            "Row",
            "Bore or pit",
            "At m",
            "Service",
            "Clearance m",
            "Required m",
            "Allowance m",
            "Margin m",
            "Depth",
            "Verdict",
            "Rule",
        ] {
            put!(out, "<th scope=\"col\">{head}</th>");
        }
        out.push_str("</tr></thead><tbody>");
        rows.iter().for_each(|(_, c)| row(out, c));
        out.push_str("</tbody></table></div>");
    }
    out.push_str("</section>");
}

fn row(out: &mut String, c: &Conflict) {
    let place = c.bore_id.as_deref().or(c.pit_id.as_deref()).unwrap_or("");
    put!(
        out,
        "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}, {}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td class=\"rule\">{}</td></tr>",
        short(&c.conflict_id),
        short(place),
        c.chainage_m
            .map_or("at the pit".to_string(), |m| number(m, 2)),
        short(c.kind.as_deref().unwrap_or("service")),
        source(c),
        number(c.clearance_m, 2),
        number(c.required_m, 2),
        number(c.allowance_m, 2),
        number(c.margin_m, 2),
        if c.depth_known { "recorded" } else { "unknown" },
        verdict(&c.verdict),
        words(&c.rule)
    );
}

/// Every test hole, the first to be dug first.
pub fn holes(out: &mut String, report: &Report) {
    let mut all: Vec<_> = report.routes.iter().flat_map(|r| &r.holes).collect();
    all.sort_by_key(|h| h.priority);
    out.push_str("<section id=\"holes\"><h2>Test holes in order</h2>");
    if all.is_empty() {
        out.push_str("<p>The plan asks for no test hole. Services are located and exposed before boring all the same.</p></section>");
        return;
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Test holes\"><table><caption>Holes to be dug and looked into before the bore is launched, by probability of contact; coordinates in {}, {}</caption><thead><tr>",
        words(&report.place.crs),
        words(&report.place.unit_name)
    );
    for head in [
        "Order",
        "Hole",
        "For bore",
        "Service",
        "Easting",
        "Northing",
        "Ground m",
        "Expected depth m",
        "Dig to m",
        "Why",
        "Found at m, on, by",
    ] {
        put!(out, "<th scope=\"col\">{head}</th>");
    }
    out.push_str("</tr></thead><tbody>");
    for h in all {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}, {} fid {}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td></td></tr>",
            h.priority,
            short(&h.hole_id),
            short(&h.bore_id),
            short(&h.kind),
            short(&h.source_layer),
            h.source_fid,
            number(h.at.x / report.place.unit_m, 3),
            number(h.at.y / report.place.unit_m, 3),
            number(h.ground_m, 3),
            measured(h.expected_depth_m, 2, "m"),
            number(h.dig_to_m, 2),
            words(&h.reason)
        );
    }
    out.push_str("</tbody></table></div></section>");
}
