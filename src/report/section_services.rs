//! Services in a long section: a ring where the record has them, and a band for where they may be.

use super::{
    crossed::{Crossed, Crossings},
    marks::{kind, line, rectangle, told, upright, verdict},
    model::{Conflict, Hole, RouteSheet},
    section_frame::{HEAD, Laid, SectionFrame},
    text::{at, number, put},
};

/// Distance of labels side by side (units).
const APART: f64 = 15.0;

/// A service that a bore meets.
#[derive(Debug, Clone, Copy)]
pub struct Met<'a> {
    /// Its row.
    pub row: &'a Conflict,
    /// Along the route (m).
    pub chainage_m: f64,
    /// Ground there (m).
    pub ground_m: f64,
    /// Where it lies; none where the surroundings were not read.
    pub crossed: Option<Crossed>,
}

/// The services that a run meets, by chainage.
pub fn met<'a>(
    route: &'a RouteSheet,
    laid: &[Laid],
    crossings: Option<&Crossings>,
) -> Vec<Met<'a>> {
    let of = |l: &Laid| {
        let rows = route.met_by(l.bore).into_iter().filter(|c| c.of_service());
        let one = |row: &'a Conflict| {
            let chainage_m = l.chainage(row.chainage_m?);
            Some(Met {
                row,
                chainage_m,
                ground_m: ground_at(route, chainage_m)?,
                crossed: crossings.and_then(|c| c.at(row)),
            })
        };
        rows.filter_map(one).collect::<Vec<_>>()
    };
    let mut all: Vec<Met> = laid.iter().flat_map(of).collect();
    all.sort_by(|a, b| a.chainage_m.total_cmp(&b.chainage_m));
    all
}

/// Ground between the samples of the long section (m); that of the nearest sample beyond its ends.
pub fn ground_at(route: &RouteSheet, chainage_m: f64) -> Option<f64> {
    let after = route.section.partition_point(|s| s.chainage_m < chainage_m);
    let last = route.section.len().checked_sub(1)?;
    let (a, b) = (
        &route.section[after.saturating_sub(1)],
        &route.section[after.min(last)],
    );
    if b.chainage_m == a.chainage_m || after > last {
        return Some(a.ground_m);
    }
    let t = (chainage_m - a.chainage_m) / (b.chainage_m - a.chainage_m);
    Some(a.ground_m + (b.ground_m - a.ground_m) * t.clamp(0.0, 1.0))
}

/// Draws them and names them above the section.
pub fn draw(out: &mut String, route: &RouteSheet, frame: &SectionFrame, met: &[Met]) {
    let xs: Vec<f64> = met.iter().map(|m| frame.x(m.chainage_m)).collect();
    let labels = spread(&xs, APART);
    for ((m, x), label_x) in met.iter().zip(&xs).zip(labels) {
        put!(out, "<g>{}", told(&words(m)));
        let ground = frame.y(m.ground_m);
        let tip = mark(out, frame, m, *x);
        line(out, "drop", (label_x, HEAD - 22.0), (*x, ground - 2.0));
        line(out, "drop", (*x, ground), (*x, tip));
        out.push_str(&verdict(&m.row.verdict, label_x, HEAD - 14.0));
        upright(
            out,
            "metname",
            label_x + 4.0,
            HEAD - 27.0,
            &name(m.row, route.hole(m.row)),
        );
        out.push_str("</g>");
    }
}

/// The ring and its band; gives the level of the picture where it begins.
fn mark(out: &mut String, frame: &SectionFrame, m: &Met, x: f64) -> f64 {
    let class = kind(m.row.kind.as_deref().unwrap_or("other")).0;
    let Some((crossed, (low, high))) = m.crossed.and_then(|c| Some((c, c.band_m?))) else {
        // Nothing is known of its level: the whole depth is in question.
        rectangle(
            out,
            &format!("band unknown {class}"),
            (x - 4.0, frame.y(m.ground_m)),
            (x + 4.0, frame.foot()),
        );
        return frame.y(m.ground_m);
    };
    let half = ((crossed.radius_m + crossed.beside_m) * frame.along).max(4.0);
    let unknown = if crossed.centre_m.is_none() {
        " unknown"
    } else {
        ""
    };
    rectangle(
        out,
        &format!("band{unknown} {class}"),
        (x - half, frame.y(high)),
        (x + half, frame.y(low)),
    );
    match crossed.centre_m {
        Some(centre) => put!(
            out,
            "<ellipse class=\"ring {class}\" cx=\"{}\" cy=\"{}\" rx=\"{}\" ry=\"{}\"/>",
            at(x),
            at(frame.y(centre)),
            at((crossed.radius_m * frame.along).max(2.5)),
            at((crossed.radius_m * frame.along * frame.times).max(2.5))
        ),
        None => put!(
            out,
            "<text class=\"sign {class}\" x=\"{}\" y=\"{}\">?</text>",
            at(x),
            at((frame.y(high) + frame.y(low)) / 2.0 + 4.0)
        ),
    }
    frame.y(high)
}

/// `W? 0.41 m prove, hole 3`; `D 1.36 m beside, clear*` where it runs along the bore: drawn at its level, it may seem to meet it.
fn name(row: &Conflict, hole: Option<&Hole>) -> String {
    let letter = kind(row.kind.as_deref().unwrap_or("other")).1;
    let unknown = if row.depth_known { "" } else { "?" };
    let hole = hole.map_or(String::new(), |h| format!(", hole {}", h.priority));
    let beside = match row.encounter.as_deref() {
        Some("parallel") => "beside, ",
        _ => "",
    };
    format!(
        "{letter}{unknown} {} m {beside}{}{hole}",
        number(row.clearance_m, 2),
        verdict_word(&row.verdict)
    )
}

/// The four verdicts; anything else is not repeated in a drawing, which says that there is none.
fn verdict_word(word: &str) -> &'static str {
    match word {
        "clash" => "clash",
        "prove" => "prove",
        "watch" => "watch",
        "clear" => "clear*",
        _ => "no verdict",
    }
}

fn words(m: &Met) -> String {
    let what = m.row.kind.as_deref().unwrap_or("service");
    format!(
        "{} {what} at {} m: {}",
        m.row.conflict_id,
        number(m.chainage_m, 2),
        m.row.verdict
    )
}

/// Places no nearer to each other than `apart`, in the same order, near where they should be.
pub fn spread(wanted: &[f64], apart: f64) -> Vec<f64> {
    // Groups that touch share their mean; merged until none overlap.
    let mut groups: Vec<(f64, usize)> = vec![];
    for x in wanted {
        groups.push((*x, 1));
        while let [.., (a, n), (b, m)] = groups[..] {
            if b - a >= apart * (n + m) as f64 / 2.0 - 1e-9 {
                break;
            }
            groups.truncate(groups.len() - 2);
            groups.push(((a * n as f64 + b * m as f64) / (n + m) as f64, n + m));
        }
    }
    let of = |(centre, n): (f64, usize)| {
        (0..n).map(move |i| centre + apart * (i as f64 - (n as f64 - 1.0) / 2.0))
    };
    groups.into_iter().flat_map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::report::model::tests::{conflict, hole};

    #[test]
    fn a_label_says_what_is_known_and_what_lies_beside() {
        let proved = conflict("C1", 1, "prove", 0.5);
        assert_eq!(
            name(&proved, Some(&hole("H1", 1, 3))),
            "G? 0.40 m prove, hole 3"
        );
        let mut along = conflict("C2", 2, "clear", 0.5);
        along.encounter = Some("parallel".to_string());
        assert_eq!(name(&along, None), "G 0.40 m beside, clear*");
        along.verdict = "Clear".to_string();
        assert_eq!(name(&along, None), "G 0.40 m beside, no verdict");
    }

    #[test]
    fn labels_keep_apart_and_in_order() {
        let at = spread(&[10.0, 11.0, 12.0, 100.0], 15.0);
        assert_eq!(at, [-4.0, 11.0, 26.0, 100.0]);
        let many: Vec<f64> = (0..20).map(|i| f64::from(i) * 3.0).collect();
        let at = spread(&many, 15.0);
        assert!(at.windows(2).all(|w| w[1] - w[0] >= 15.0 - 1e-6));
        assert_eq!(spread(&[], 15.0), Vec::<f64>::new());
    }
}
