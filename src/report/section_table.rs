//! Levels under a long section: at pits, at what is crossed, and at round chainages between.

use super::{
    marks::{line, text, upright},
    model::RouteSheet,
    section_frame::{LEFT, Laid, SectionFrame},
    section_services::{Met, ground_at, spread},
    text::{label, number, put, short, tail},
};

/// Distance of columns (units).
const APART: f64 = 15.0;
/// Height of a row.
const ROW: f64 = 52.0;

/// Levels at a chainage.
#[derive(Debug, Clone, PartialEq)]
pub struct Station {
    /// Along the route (m).
    pub chainage_m: f64,
    /// Ground (m).
    pub ground_m: f64,
    /// Outside top of the pipe (m).
    pub crown_m: f64,
    /// Invert (m).
    pub invert_m: f64,
    /// What is there.
    pub what: String,
}

/// Every station of a run, by chainage; where two bores meet in a pit at different levels, two.
pub fn stations(
    route: &RouteSheet,
    laid: &[Laid],
    met: &[Met],
    frame: &SectionFrame,
) -> Vec<Station> {
    let mut all: Vec<Station> = vec![];
    for l in laid {
        for (chainage_m, pit) in [(l.ds_m, &l.bore.ds_pit), (l.us_m, &l.bore.us_pit)] {
            let ground_m = route.pit(pit).map(|p| p.ground_m);
            add(
                &mut all,
                l,
                chainage_m,
                ground_m.or(ground_at(route, chainage_m)),
                pit.clone(),
            );
        }
    }
    let within = |l: &&Laid, c: f64| c > l.ds_m.min(l.us_m) && c < l.ds_m.max(l.us_m);
    for m in met {
        if let Some(l) = laid.iter().find(|l| within(l, m.chainage_m)) {
            add(
                &mut all,
                l,
                m.chainage_m,
                Some(m.ground_m),
                m.row.conflict_id.clone(),
            );
        }
    }
    let step_m = if frame.along > 9.0 { 5.0 } else { 10.0 };
    let mut c = (frame.chainages.0 / step_m).ceil() * step_m;
    while c < frame.chainages.1 {
        let near = |s: &Station| (s.chainage_m - c).abs() * frame.along < APART;
        if let Some(l) = laid.iter().find(|l| within(l, c))
            && !all.iter().any(near)
        {
            add(&mut all, l, c, ground_at(route, c), String::new());
        }
        c += step_m;
    }
    all.sort_by(|a, b| a.chainage_m.total_cmp(&b.chainage_m));
    all.dedup_by(|b, a| {
        a.what == b.what && a.chainage_m == b.chainage_m && (a.invert_m - b.invert_m).abs() < 5e-4
    });
    all
}

fn add(all: &mut Vec<Station>, l: &Laid, chainage_m: f64, ground_m: Option<f64>, what: String) {
    let Some(ground_m) = ground_m else { return };
    let invert_m = l.invert_at(chainage_m);
    let crown_m = invert_m + l.crown_m();
    all.push(Station {
        chainage_m,
        ground_m,
        crown_m,
        invert_m,
        what,
    });
}

const ROWS: [&str; 5] = [
    "Chainage (m)",
    "Ground (m)",
    "Crown (m)",
    "Invert (m)",
    "Depth to invert",
];

/// Draws the rows below a section; gives the height they took.
pub fn draw(out: &mut String, frame: &SectionFrame, stations: &[Station], top: f64) -> f64 {
    let height = ROW * ROWS.len() as f64;
    for (i, name) in ROWS.iter().enumerate() {
        let y = top + ROW * i as f64;
        line(out, "tick", (10.0, y), (frame.width - 10.0, y));
        text(out, "rowname", LEFT - 14.0, y + ROW / 2.0 + 4.0, name);
    }
    line(
        out,
        "tick",
        (10.0, top + height),
        (frame.width - 10.0, top + height),
    );
    let xs: Vec<f64> = stations.iter().map(|s| frame.x(s.chainage_m)).collect();
    for ((s, x), place) in stations.iter().zip(&xs).zip(spread(&xs, APART)) {
        line(out, "tick", (*x, top - 14.0), (place, top));
        for (i, level) in [
            s.chainage_m,
            s.ground_m,
            s.crown_m,
            s.invert_m,
            s.ground_m - s.invert_m,
        ]
        .into_iter()
        .enumerate()
        {
            let y = top + ROW * i as f64 + ROW / 2.0;
            upright(
                out,
                "cell",
                place + 4.0,
                y,
                &number(level, if i == 0 || i == 4 { 2 } else { 3 }),
            );
        }
    }
    height
}

/// Where each bore runs, with what the trade writes on it; gives the height it took.
pub fn strip(
    out: &mut String,
    route: &RouteSheet,
    frame: &SectionFrame,
    laid: &[Laid],
    top: f64,
) -> f64 {
    line(out, "tick", (10.0, top), (frame.width - 10.0, top));
    text(out, "rowname", LEFT - 14.0, top + 24.0, "Bore");
    for l in laid {
        let (x0, x1) = (frame.x(l.ds_m), frame.x(l.us_m));
        for x in [x0, x1] {
            line(out, "frame", (x, top), (x, top + 40.0));
        }
        let b = l.bore;
        let name = label(tail(&b.bore_id, &route.route_id));
        let length = format!("{} m", number(b.length_m, 2));
        let grade = format!("{} %", number(b.grade * 100.0, 3));
        let middle = (x0 + x1) / 2.0;
        if (x1 - x0).abs() > 175.0 {
            text(
                out,
                "sheetno",
                middle,
                top + 17.0,
                &format!("{name} · DN{} · {length}", number(b.dn_mm, 0)),
            );
            let one_in = if b.grade == 0.0 {
                String::new()
            } else {
                format!(" · 1 in {}", number(1.0 / b.grade, 1))
            };
            text(
                out,
                "cell",
                middle,
                top + 34.0,
                &format!("falls {grade}{one_in}"),
            );
        } else {
            text(out, "cell", middle, top + 12.0, &name);
            text(out, "cell", middle, top + 25.0, &length);
            text(out, "cell", middle, top + 38.0, &grade);
        }
    }
    42.0
}

/// The same as a table that is read out.
pub fn table(out: &mut String, caption: &str, stations: &[Station]) {
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Levels, {caption}\"><table><caption>Levels, {caption}</caption><thead><tr><th scope=\"col\">Chainage m</th><th scope=\"col\">What</th><th scope=\"col\">Ground m</th><th scope=\"col\">Crown m</th><th scope=\"col\">Invert m</th><th scope=\"col\">Cover m</th></tr></thead><tbody>"
    );
    for s in stations {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            number(s.chainage_m, 2),
            short(&s.what),
            number(s.ground_m, 3),
            number(s.crown_m, 3),
            number(s.invert_m, 3),
            number(s.ground_m - s.crown_m, 2)
        );
    }
    out.push_str("</tbody></table></div>");
}
