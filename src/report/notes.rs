//! Cautions first; assumptions, inputs and sources last.

use super::{
    chapter::Chapter,
    marks::colour_code,
    model::Head,
    text::{number, put, words},
};
use crate::{bibliography::Source, job::RuleRow};

/// What everybody reads before anything else.
pub const CAUTIONS: [&str; 6] = [
    "Records are not proof. A service may lie elsewhere than recorded, deeper than written, or be on no record at all. House connections are seldom recorded.",
    "Every service is located and exposed before boring, whatever the verdict here.",
    "Pits need support, and a competent person who judges them before anybody enters. Nothing here designs a support.",
    "Local codes, owners' conditions and licensed practice govern. This is a proposal that nobody has signed.",
    "An unknown depth is never clear. Where no depth is recorded the service may lie anywhere in the band drawn, and a test hole comes first.",
    "Clear means clear by the records, within stated limits of error, and nothing more.",
];

/// The cautions.
pub fn cautions(out: &mut String) {
    out.push_str("<section id=\"cautions\" class=\"cautions\"><h2>Read this first</h2><ul>");
    CAUTIONS.iter().for_each(|c| put!(out, "<li>{c}</li>"));
    out.push_str("</ul></section>");
}

/// What the run warned of, and why surroundings are `missing` where they are.
pub fn warnings(out: &mut String, head: &Head, missing: Option<&String>) {
    if head.warnings.is_empty() && missing.is_none() {
        return;
    }
    out.push_str("<section id=\"warnings\"><h2>Warnings</h2><ul>");
    if let Some(why) = missing {
        put!(
            out,
            "<li>Streets, lots, buildings and services are not drawn, nor levels of services in the sections: {}</li>",
            words(why)
        );
    }
    head.warnings
        .iter()
        .for_each(|w| put!(out, "<li>{}</li>", words(w)));
    out.push_str("</ul></section>");
}

/// Every setting in force with its source; layers read; publications. `run` is what they were for.
pub fn assumptions(head: &Head, run: &str) -> Chapter {
    let mut html = String::new();
    let out = &mut html;
    let sources = cited(&head.rules);
    out.push_str("<section id=\"assumptions\"><h2>Assumptions and sources</h2>");
    match colour_code(&head.job) {
        Some(source) => put!(
            out,
            "<p>Colours of services: {}. Letters and dashes say the same.</p>",
            words(&source.to_string())
        ),
        None => out.push_str("<p>Services have letters and dashes but no colours of their own: the rule set names no colour code that was read.</p>"),
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Settings in force\"><table><caption>Settings that the {run} was made with, and where each comes from</caption><thead><tr><th scope=\"col\">Setting</th><th scope=\"col\">Value</th><th scope=\"col\">What it is</th><th scope=\"col\">From</th></tr></thead><tbody>"
    );
    for row in &head.rules {
        let value = row
            .value
            .as_ref()
            .map_or("not set".to_string(), |v| words(&v.to_string()));
        put!(
            out,
            "<tr><th scope=\"row\" class=\"rule\">{}</th><td>{value} {}</td><td>{}</td><td>{}</td></tr>",
            words(&row.key),
            words(&row.unit),
            words(&row.about),
            from(row, &sources)
        );
    }
    out.push_str("</tbody></table></div>");
    inputs(out, head, run);
    if !sources.is_empty() {
        out.push_str("<h3>Publications</h3><ol>");
        sources.iter().for_each(|s| {
            put!(
                out,
                "<li>{}. {}</li>",
                words(&s.to_string()),
                words(s.place())
            )
        });
        out.push_str("</ol>");
    }
    out.push_str("</section>");
    Chapter {
        id: "assumptions".to_string(),
        file: "assumptions".to_string(),
        title: "Assumptions and sources".to_string(),
        html,
        ..Chapter::default()
    }
}

fn from(row: &RuleRow, sources: &[Source]) -> String {
    let Some(from) = &row.from else {
        return if row.value.is_some() { "the job" } else { "" }.to_string();
    };
    let number = from
        .source
        .and_then(|s| sources.iter().position(|c| *c == s));
    let number = number.map_or(String::new(), |n| format!(" [{}]", n + 1));
    let at = from
        .at
        .as_deref()
        .map_or(String::new(), |at| format!(" {}", words(at)));
    format!("{}{number}{at}", from.tag)
}

fn cited(rows: &[RuleRow]) -> Vec<Source> {
    let used = |s: &Source| {
        rows.iter()
            .filter_map(|r| r.from.as_ref()?.source)
            .any(|c| c == *s)
    };
    Source::ALL.iter().copied().filter(used).collect()
}

fn inputs(out: &mut String, head: &Head, run: &str) {
    if head.inputs.is_empty() {
        return;
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Layers read\"><table><caption>Layers that were read for the {run}</caption><thead><tr><th scope=\"col\">Layer</th><th scope=\"col\">File</th><th scope=\"col\">Role</th><th scope=\"col\">Features</th><th scope=\"col\">SHA-256 of what was read</th></tr></thead><tbody>"
    );
    for i in &head.inputs {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td class=\"rule\">{}</td></tr>",
            words(&i.layer),
            words(&i.file),
            words(&i.role),
            number(i.features, 0),
            words(&i.sha256)
        );
    }
    out.push_str("</tbody></table></div>");
}
