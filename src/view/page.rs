//! The page around the map.

use super::key::{key, symbols};
use crate::report::{
    CAUTIONS,
    text::{label, put, words},
};
use serde_json::json;

/// Bores that the list beside the map holds at most.
pub const MOST_LISTED: usize = 2_000;

/// What the page is about.
#[derive(Debug, Clone, Default)]
pub struct About {
    /// Name of the job, else of the file.
    pub title: String,
    /// Where it all comes from, in a sentence.
    pub origin: String,
    /// What the run warned of.
    pub warnings: Vec<String>,
    /// What could not be shown, and what to do.
    pub missing: Vec<String>,
    /// West, south, east, north of the result (metres of the job).
    pub extent: [f64; 4],
    /// Metres in a unit of the job's system.
    pub unit_m: f64,
    /// Class of the colours of services; empty where no published code holds.
    pub code: &'static str,
    /// Every bore.
    pub bores: Vec<Listed>,
}

/// A bore in the list.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Listed {
    /// Feature id, by which its page is asked for.
    pub fid: i64,
    /// Its id.
    pub bore_id: String,
    /// Its route, where it has one.
    pub route_id: String,
    /// Rows of each verdict: clash, prove, watch, clear.
    pub verdicts: [u64; 4],
    /// West, south, east, north of it (metres of the job).
    pub extent: [f64; 4],
}

/// Beginning of a page.
pub(super) fn open(title: &str, class: &str) -> String {
    format!(
        "<!DOCTYPE html>\n<html lang=\"en\"><head><meta charset=\"utf-8\"><meta name=\"viewport\" content=\"width=device-width,initial-scale=1\"><meta name=\"color-scheme\" content=\"light dark\"><link rel=\"icon\" href=\"data:,\"><title>{}</title><link rel=\"stylesheet\" href=\"/leaflet.css\"><link rel=\"stylesheet\" href=\"/view.css\"></head><body class=\"{class}\">",
        label(title)
    )
}

/// End of a page.
pub(super) fn close(out: &mut String) {
    out.push_str("</body></html>\n");
}

/// The page of the map.
pub fn page(about: &About) -> String {
    let mut out = open(&format!("Map: {}", about.title), "view");
    put!(
        out,
        "<a class=\"skip\" href=\"#bores\">Skip to the list of bores</a>{}<header><h1>{}</h1><p class=\"small\">{}</p></header><main>",
        symbols(about.code),
        words(&about.title),
        words(&about.origin)
    );
    cautions(&mut out, about);
    map(&mut out, about);
    list(&mut out, about);
    out.push_str("<section id=\"detail\" aria-label=\"The bore chosen\"><p>Choose a bore on the map or in the list: its long section, its numbers and what it comes near appear here.</p></section></main>");
    out.push_str("<footer><p class=\"small\">Map drawn with Leaflet 1.9.4 (BSD 2-Clause licence). Nothing on this page is fetched from outside this machine. A proposal, no better than the records that went in.</p></footer>");
    out.push_str("<script src=\"/leaflet.js\"></script><script src=\"/view.js\"></script>");
    close(&mut out);
    out
}

/// The gist in one line that is always seen, the whole under it.
fn cautions(out: &mut String, about: &About) {
    out.push_str("<section id=\"cautions\" aria-label=\"Cautions\"><details class=\"cautions\"><summary>Records are not proof: every service is located and exposed before boring. An unknown depth is never clear.</summary><ul>");
    CAUTIONS.iter().for_each(|c| put!(out, "<li>{c}</li>"));
    out.push_str("</ul></details>");
    for missing in &about.missing {
        put!(out, "<p class=\"remind\">{}</p>", words(missing));
    }
    if !about.warnings.is_empty() {
        put!(
            out,
            "<details class=\"warned\"><summary>Warnings: {}</summary><ul>",
            about.warnings.len()
        );
        for warning in &about.warnings {
            put!(out, "<li>{}</li>", words(warning));
        }
        out.push_str("</ul></details>");
    }
    out.push_str("</section>");
}

fn map(out: &mut String, about: &About) {
    let [west, south, east, north] = about.extent;
    let told = json!({
        "origin": [west, south],
        "size": [east - west, north - south],
        "unit_m": about.unit_m,
    });
    put!(
        out,
        "<section id=\"plan\" aria-label=\"Map\"><div id=\"map\" class=\"drawing{}\" role=\"region\" tabindex=\"0\" aria-label=\"Map of {}. Arrow keys move it, plus and minus zoom. Every bore is in the list as well.\" data-about=\"{}\"></div><p id=\"where\" class=\"small\" aria-hidden=\"true\">Grid north is up.</p><p id=\"told\" role=\"status\"></p><noscript><p class=\"remind\">The map needs its script, which this browser does not run. The list of bores and their pages work without.</p></noscript></section>",
        about.code,
        label(&about.title),
        escaped(&told.to_string())
    );
}

/// For an attribute. Unlike a label it is not cut.
fn escaped(json: &str) -> String {
    json.replace('&', "&amp;").replace('"', "&quot;")
}

fn list(out: &mut String, about: &About) {
    let cut = about.bores.len() > MOST_LISTED;
    put!(
        out,
        "<section id=\"bores\" tabindex=\"-1\" aria-label=\"Bores\" data-cut=\"{cut}\"><h2>Bores</h2><p><label>Find a bore <input id=\"find\" type=\"search\" autocomplete=\"off\" spellcheck=\"false\"></label></p>"
    );
    if cut {
        put!(
            out,
            "<p class=\"remind\">{} bores; the first {MOST_LISTED} are listed. The others are on the map: come near them and they stand under “In view”.</p><h3>In view</h3><ul id=\"inview\"></ul><h3>The first {MOST_LISTED}</h3>",
            about.bores.len()
        );
    }
    if about.bores.is_empty() && about.missing.is_empty() {
        out.push_str("<p>No bore was planned. What blocks the routes is on the map.</p>");
    }
    let mut route = None;
    for bore in about.bores.iter().take(MOST_LISTED) {
        if route != Some(&bore.route_id) {
            let ended = if route.is_some() { "</ul>" } else { "" };
            out.push_str(ended);
            if !bore.route_id.is_empty() {
                put!(out, "<h3>Route {}</h3>", words(&bore.route_id));
            }
            out.push_str("<ul>");
            route = Some(&bore.route_id);
        }
        listed(out, bore, about.extent);
    }
    if route.is_some() {
        out.push_str("</ul>");
    }
    put!(
        out,
        "<details open><summary>Key</summary>{}</details></section>",
        key(about.code)
    );
}

fn listed(out: &mut String, bore: &Listed, [west, south, ..]: [f64; 4]) {
    let [x0, y0, x1, y1] = bore.extent;
    let words_of = ["clash", "prove", "watch", "clear by the records"];
    let counts = bore.verdicts.iter().zip(words_of).filter(|(n, _)| **n > 0);
    let counts: Vec<String> = counts.map(|(n, word)| format!("{n} {word}")).collect();
    let counts = match counts.is_empty() {
        true => "nothing recorded near".to_string(),
        false => counts.join(", "),
    };
    put!(
        out,
        "<li><a href=\"/bore/{0}\" data-fid=\"{0}\" data-box=\"{1:.2},{2:.2},{3:.2},{4:.2}\">{5}</a> <span class=\"small\">{counts}</span></li>",
        bore.fid,
        x0 - west,
        y0 - south,
        x1 - west,
        y1 - south,
        words(&bore.bore_id)
    );
}

#[cfg(test)]
mod tests {
    use super::*;

    fn about(n: usize) -> About {
        let bore = |i| Listed {
            fid: i as i64,
            bore_id: format!("<b>{i}"),
            verdicts: [0, 1, 0, 2],
            ..Listed::default()
        };
        About {
            title: "\"><script>".into(),
            bores: (0..n).map(bore).collect(),
            ..About::default()
        }
    }

    #[test]
    fn every_bore_has_a_link_and_its_verdicts_in_words() {
        let text = page(&about(3));
        assert_eq!(text.matches("href=\"/bore/").count(), 3);
        assert!(text.contains("1 prove, 2 clear by the records"));
        assert!(text.contains("&lt;b&gt;0") && !text.contains("<b>0"));
        assert_eq!(text.matches("<script").count(), 2);
    }

    #[test]
    fn a_list_that_is_cut_says_so() {
        let text = page(&about(MOST_LISTED + 1));
        assert!(text.contains("2001 bores; the first 2000 are listed"));
        assert!(!page(&about(MOST_LISTED)).contains("are listed"));
    }
}
