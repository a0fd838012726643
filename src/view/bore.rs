//! The page of one bore. The map shows its main part beside itself; by itself it needs no script.

use super::page::{close, open};
use crate::report::{
    self, Report,
    text::{number, put, words},
};

/// Page of a planned bore: section, numbers, what it comes near. None where the plan has no such bore.
pub fn planned_bore(report: &Report, id: &str) -> Option<String> {
    let part = report::bore(report, id)?;
    Some(whole(id, &part))
}

/// Rows of a bore that was checked, as the result layers have them.
#[derive(Debug, Clone, Default)]
pub struct CheckedBore {
    /// Id.
    pub bore_id: String,
    /// What it comes near: bore or pit of the row left out.
    pub conflicts: Vec<CheckedRow>,
    /// Test holes to dig, in words.
    pub holes: Vec<String>,
}

/// A row of `bore_conflicts`.
#[derive(Debug, Clone, Default)]
#[allow(missing_docs)]
pub struct CheckedRow {
    pub chainage_m: Option<f64>,
    pub what: String,
    pub source: String,
    pub owner: Option<String>,
    pub clearance_m: Option<f64>,
    pub required_m: Option<f64>,
    pub allowance_m: Option<f64>,
    pub margin_m: Option<f64>,
    pub depth_known: bool,
    pub verdict: String,
}

/// Page of a bore that somebody else designed and a check judged.
pub fn checked_bore(bore: &CheckedBore) -> String {
    let mut out = String::new();
    out.push_str("<p class=\"remind\">Every service below is located and exposed before the drive reaches it. What is on no record is not below.</p><p>No long section: a check has neither pits nor ground along the bore. What it has is below.</p>");
    if bore.conflicts.is_empty() {
        out.push_str("<p>Nothing recorded lies near this bore. Records are not proof: a house connection is seldom recorded.</p>");
    } else {
        conflicts(&mut out, bore);
    }
    if !bore.holes.is_empty() {
        out.push_str("<h3>Test holes</h3><ul>");
        for hole in &bore.holes {
            put!(out, "<li>{}</li>", words(hole));
        }
        out.push_str("</ul>");
    }
    whole(&bore.bore_id, &out)
}

fn conflicts(out: &mut String, bore: &CheckedBore) {
    out.push_str("<h3>What it comes near</h3><div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"What the bore comes near\"><table><caption>From the launch end on</caption><thead><tr>");
    for head in [
        "At m",
        "What",
        "Owner",
        "Clearance m",
        "Required m",
        "Allowance m",
        "Margin m",
        "Depth",
        "Verdict",
    ] {
        put!(out, "<th scope=\"col\">{head}</th>");
    }
    out.push_str("</tr></thead><tbody>");
    for row in &bore.conflicts {
        let metres = |x: Option<f64>| x.map_or("not stated".to_string(), |m| number(m, 2));
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{} <span class=\"small\">{}</span></td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            metres(row.chainage_m),
            words(&row.what),
            words(&row.source),
            words(row.owner.as_deref().unwrap_or("not known")),
            metres(row.clearance_m),
            metres(row.required_m),
            metres(row.allowance_m),
            metres(row.margin_m),
            if row.depth_known {
                "recorded"
            } else {
                "unknown"
            },
            report::verdict(&row.verdict)
        );
    }
    out.push_str("</tbody></table></div>");
}

fn whole(id: &str, part: &str) -> String {
    let mut out = open(&format!("Bore {id}"), "");
    put!(
        out,
        "<header><p><a href=\"/\">To the map and all bores</a></p></header><main id=\"main\"><h2 tabindex=\"-1\">Bore {}</h2>{part}</main>",
        words(id)
    );
    close(&mut out);
    out
}
