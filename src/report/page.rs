//! The page around it all.

use super::{
    model::Report,
    notes, owners, route,
    text::{label, put, words},
};

/// Nothing may be fetched from anywhere, whatever a value in the file says.
const POLICY: &str = "default-src 'none'; img-src data:; style-src 'unsafe-inline'; script-src 'unsafe-inline'; base-uri 'none'; form-action 'none'";

/// How every page begins, by which a file is known to be a report.
pub const HEADING: &str = "<!DOCTYPE html>\n<!-- report by pitwright -->\n";

/// The whole report as one page that needs nothing beside it.
pub fn page(report: &Report) -> String {
    let crossings = route::crossings(report);
    let mut out = String::new();
    head(&mut out, report);
    notes::cautions(&mut out);
    contents(&mut out, report);
    notes::warnings(&mut out, report);
    for n in 0..report.routes.len() {
        route::chapter(&mut out, report, n, crossings.as_ref());
    }
    owners::by_owner(&mut out, report);
    owners::holes(&mut out, report);
    notes::assumptions(&mut out, report);
    put!(
        out,
        "</main><footer><p>Made by pitwright {} from {}. A proposal, no better than the records that went in.</p></footer>",
        words(&report.version),
        words(&report.file)
    );
    put!(
        out,
        "<script>{}</script></body></html>\n",
        include_str!("script.js")
    );
    out
}

fn head(out: &mut String, report: &Report) {
    out.push_str(HEADING);
    put!(
        out,
        "<html lang=\"en\"><head><meta charset=\"utf-8\"><meta http-equiv=\"Content-Security-Policy\" content=\"{POLICY}\"><meta name=\"viewport\" content=\"width=device-width,initial-scale=1\"><meta name=\"color-scheme\" content=\"light dark\"><meta name=\"generator\" content=\"pitwright report\"><link rel=\"icon\" href=\"data:,\">"
    );
    put!(
        out,
        "<title>Bore plan report: {}</title><style>{}{}</style></head><body>",
        label(&report.title),
        include_str!("page.css"),
        include_str!("drawing.css")
    );
    put!(
        out,
        "<a class=\"skip\" href=\"#main\">Skip to the report</a><header><p class=\"kind\">Bore plan report</p><h1>{}</h1><p>{}</p></header><main id=\"main\" tabindex=\"-1\">",
        words(&report.title),
        origin(report)
    );
}

fn origin(report: &Report) -> String {
    let when = report
        .planned_at
        .as_deref()
        .map_or(String::new(), |at| format!(", planned {}", words(at)));
    let by = report
        .planned_by
        .as_deref()
        .map_or(String::new(), |v| format!(" by version {}", words(v)));
    format!(
        "From {}{when}{by}. Coordinates in {}, {}; levels and all other lengths in metres above the job's height datum.",
        words(&report.file),
        words(&report.place.crs),
        words(&report.place.unit_name)
    )
}

fn contents(out: &mut String, report: &Report) {
    out.push_str("<nav aria-label=\"Contents\"><h2>Contents</h2><ul>");
    for (n, route) in report.routes.iter().enumerate() {
        put!(
            out,
            "<li><a href=\"#r{n}\">Route {}</a>",
            words(&route.route_id)
        );
        if !route.bores.is_empty() {
            out.push_str(": ");
            for (i, bore) in route.bores.iter().enumerate() {
                put!(
                    out,
                    "<a href=\"#r{n}b{i}\">{}</a> ",
                    words(super::text::tail(&bore.bore_id, &route.route_id))
                );
            }
        }
        out.push_str("</li>");
    }
    out.push_str("<li><a href=\"#owners\">Conflicts by owner</a></li><li><a href=\"#holes\">Test holes in order</a></li><li><a href=\"#assumptions\">Assumptions and sources</a></li></ul></nav>");
}
