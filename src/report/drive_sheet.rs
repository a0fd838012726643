//! The sheet that a crew takes along for one drive: how it is set out, what it meets, where it stops.

use super::{
    model::{Bore, Conflict, Pit, Place, Report, RouteSheet},
    text::{grade, label, measured, number, put, said, short, words},
};

/// Distance of the levels that are set out (m).
const EVERY_M: f64 = 5.0;

/// The sheet of a bore. `id` is its anchor.
pub fn sheet(out: &mut String, report: &Report, route: &RouteSheet, bore: &Bore, id: &str) {
    put!(
        out,
        "<article class=\"drive\" id=\"{id}\" aria-labelledby=\"{id}h\"><h4 id=\"{id}h\">Drive sheet, bore {}</h4>",
        words(&bore.bore_id)
    );
    put!(
        out,
        "<p class=\"remind\">Every service below is located and exposed before the drive reaches it. What is on no record is not below. Nobody enters a pit before it is supported and a competent person has judged it.</p>"
    );
    ends(out, &report.head.place, route, bore);
    figures(out, report, bore);
    levels(out, bore, &label(&bore.bore_id));
    crossings(out, route, bore);
    others(out, route, bore);
    if let Some(notes) = &bore.notes {
        put!(out, "<p>Remarks: {}</p>", words(notes));
    }
    out.push_str("</article>");
}

/// Both pits side by side.
fn ends(out: &mut String, place: &Place, route: &RouteSheet, bore: &Bore) {
    let (launch, reception) = (route.pit(&bore.launch_pit), route.pit(&bore.reception_pit));
    let (at_launch, at_reception) = bore.inverts();
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Pits of {0}\"><table><caption>Pits, centres in {1}, {2}</caption><thead><tr><th scope=\"col\">Setting out</th><th scope=\"col\">Launch {3}</th><th scope=\"col\">Reception {4}</th></tr></thead><tbody>",
        label(&bore.bore_id),
        words(&place.crs),
        words(&place.unit_name),
        words(&bore.launch_pit),
        words(&bore.reception_pit)
    );
    let axis = bore.id_mm / 2000.0;
    let of = |of: &dyn Fn(&Pit) -> String| {
        [launch, reception].map(|p| p.map_or("not in this file".to_string(), of))
    };
    let mut row = |name: &str, cells: [String; 2]| {
        put!(
            out,
            "<tr><th scope=\"row\">{name}</th><td>{}</td><td>{}</td></tr>",
            cells[0],
            cells[1]
        );
    };
    row("Easting", of(&|p| number(p.easting, 3)));
    row("Northing", of(&|p| number(p.northing, 3)));
    row("Ground level m", of(&|p| number(p.ground_m, 3)));
    row(
        "Pipe invert m",
        [at_launch, at_reception].map(|z| number(z, 3)),
    );
    row(
        "Pipe axis, sight line m",
        [at_launch, at_reception].map(|z| number(z + axis, 3)),
    );
    row("Pit floor m", of(&|p| number(p.floor_m, 3)));
    let heights = [(launch, at_launch), (reception, at_reception)];
    row(
        "Instrument axis above floor m",
        heights.map(|(p, z)| {
            p.map_or("not in this file".to_string(), |p| {
                number(z + axis - p.floor_m, 3)
            })
        }),
    );
    row(
        "Pit inside, along × across m",
        of(&|p| format!("{} × {}", number(p.length_m, 2), number(p.width_m, 2))),
    );
    row("Depth m", of(&|p| number(p.depth_m, 2)));
    row(
        "Support",
        of(&|p| {
            if p.support {
                "asked by the job".into()
            } else {
                "not asked by the job; judged on site".into()
            }
        }),
    );
    row("Dug by", of(&|p| words(&p.dig)));
    row(
        "Where",
        of(&|p| {
            format!(
                "{}, street {}, lot {}",
                said(p.surface.as_deref()),
                said(p.street.as_deref()),
                said(p.lot_id.as_deref())
            )
        }),
    );
    out.push_str("</tbody></table></div>");
}

fn figures(out: &mut String, report: &Report, b: &Bore) {
    let (launch, reception) = b.inverts();
    let along = if reception < launch { "falls" } else { "rises" };
    let fall = (reception - launch).abs();
    let setting_out = &report.head.job.setting_out;
    let base = setting_out
        .base_m
        .map_or("not set by the job (setting_out.base_m)".to_string(), |m| {
            format!("{} m", number(m, 1))
        });
    let thrust = match (b.thrust_low_kn, b.thrust_kn, b.thrust_high_kn) {
        (None, None, None) => "not worked out: the job states no friction".to_string(),
        (Some(low), expected, Some(high)) => format!(
            "{} to {} kN, expected {}",
            number(low, 0),
            number(high, 0),
            measured(expected, 0, "kN")
        ),
        (_, expected, _) => format!(
            "expected {}; range not worked out",
            measured(expected, 0, "kN")
        ),
    };
    let over = |high: f64, limit: f64| {
        if high > limit {
            "; the greatest thrust is ABOVE it"
        } else {
            ""
        }
    };
    let limit = b
        .thrust_limit_kn
        .map_or("no limit is set".to_string(), |k| {
            let above = over(b.thrust_high_kn.or(b.thrust_kn).unwrap_or(0.0), k);
            format!("{} kN{above}", number(k, 0))
        });
    let allowed = b
        .level_tolerance_mm
        .map_or("not worked out".to_string(), |mm| {
            let more = if b.tolerance_mm > mm {
                "; the error at the reception pit is MORE"
            } else {
                ""
            };
            format!("{}\u{a0}mm{more}", number(mm, 1))
        });
    let rows = [
        (
            "Bearing, launch to reception, from grid north",
            format!(
                "{}° ({})",
                number(b.bearing_deg, 4),
                sexagesimal(b.bearing_deg)
            ),
        ),
        (
            "Length, centre to centre, in plan",
            format!("{} m", number(b.length_m, 3)),
        ),
        (
            "Length along the slope",
            format!("{} m", number(b.length_m.hypot(fall), 3)),
        ),
        ("Grade, with the flow", grade(b.grade)),
        (
            "From the launch pit the drive",
            format!("{along} by {} m", number(fall, 3)),
        ),
        (
            "Pipe",
            format!(
                "DN {}, outside {} mm, inside {} mm",
                number(b.dn_mm, 0),
                number(b.od_mm, 1),
                number(b.id_mm, 1)
            ),
        ),
        ("Bored diameter", format!("{} mm", number(b.bore_mm, 1))),
        ("Thrust at the end of the drive", thrust),
        ("Thrust limit, the lesser of rig and pipe", limit),
        (
            "Reach allowed",
            format!(
                "{} m, governed by {}",
                number(b.reach_m, 1),
                words(&b.reach_governed_by)
            ),
        ),
        (
            "Error at the reception pit, 95 % limit",
            format!("{} mm", number(b.tolerance_mm, 1)),
        ),
        (
            "Error predicted by instrument and base line",
            measured(b.predicted_error_mm, 1, "mm"),
        ),
        ("Base line of the marks", base),
        ("Deviation allowed by the published tolerance", allowed),
        (
            "Grade left after the errors",
            b.grade_after_errors
                .map_or("not worked out".to_string(), grade),
        ),
        ("Least cover", format!("{} m", number(b.min_cover_m, 2))),
        (
            "Least clearance; least margin",
            format!(
                "{}; {}",
                measured(b.min_clearance_m, 2, "m"),
                measured(b.worst_margin_m, 2, "m")
            ),
        ),
        (
            "Settlement; heave over the pilot",
            format!(
                "{}; {}",
                measured(b.settlement_mm, 1, "mm"),
                measured(b.pilot_heave_mm, 1, "mm")
            ),
        ),
        ("Design flow of the lots served", design_flow(b)),
        ("Crew days", number(b.days, 1)),
    ];
    out.push_str("<dl class=\"figures\">");
    for (name, value) in rows {
        put!(out, "<div><dt>{name}</dt><dd>{value}</dd></div>");
    }
    out.push_str("</dl>");
}

fn design_flow(b: &Bore) -> String {
    match (b.lots_served, b.design_flow_l_s) {
        (None, _) => "not worked out: no lot is to be served".to_string(),
        (Some(lots), None) => format!("{} lots; not worked out", number(lots, 0)),
        (Some(lots), Some(flow)) => format!(
            "{} lots, {} l/s, {} of the pipe full; {} deep at {}",
            number(lots, 0),
            number(flow, 2),
            measured(b.flow_share.map(|s| s * 100.0), 0, "%"),
            measured(b.flow_depth_mm, 0, "mm"),
            measured(b.flow_velocity_m_s, 2, "m/s")
        ),
    }
}

/// `231° 04' 12"`.
fn sexagesimal(deg: f64) -> String {
    let seconds = (deg * 3600.0).round() as i64;
    format!(
        "{}° {:02}′ {:02}″",
        seconds / 3600,
        seconds / 60 % 60,
        seconds % 60
    )
}

fn levels(out: &mut String, b: &Bore, name: &str) {
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Line and level of {name}\"><table class=\"across\"><caption>Level by distance from the launch pit (m)</caption><tbody><tr><th scope=\"row\">Distance</th>"
    );
    let n = (b.length_m / EVERY_M).ceil() as usize;
    // The last is the reception pit itself, wherever it lies.
    let at: Vec<f64> = (0..n)
        .map(|i| EVERY_M * i as f64)
        .chain([b.length_m])
        .collect();
    at.iter()
        .for_each(|d| put!(out, "<td>{}</td>", number(*d, 2)));
    out.push_str("</tr><tr><th scope=\"row\">Invert</th>");
    at.iter()
        .for_each(|d| put!(out, "<td>{}</td>", number(b.invert_at(*d), 3)));
    out.push_str("</tr><tr><th scope=\"row\">Axis</th>");
    let axis = b.id_mm / 2000.0;
    at.iter()
        .for_each(|d| put!(out, "<td>{}</td>", number(b.invert_at(*d) + axis, 3)));
    out.push_str("</tr></tbody></table></div>");
}

/// Where the drive stops until a service has been seen (m from the launch pit): short of it by what is required and what is uncertain.
pub fn stop_before_m(c: &Conflict) -> Option<f64> {
    Some((c.chainage_m? - c.required_m - c.allowance_m).max(0.0))
}

fn crossings(out: &mut String, route: &RouteSheet, b: &Bore) {
    let met: Vec<&Conflict> = route
        .met_by(b)
        .into_iter()
        .filter(|c| c.of_service())
        .collect();
    if met.is_empty() {
        out.push_str("<p>No recorded service lies near this drive. Records are not proof: a house connection is seldom recorded.</p>");
        return;
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Services along {}\"><table><caption>Services from the launch pit on, and where the drive stops until each has been seen</caption><thead><tr>",
        label(&b.bore_id)
    );
    for head in [
        "At m",
        "Stop before m",
        "Service",
        "Owner",
        "Angle °",
        "Clearance m",
        "Required m",
        "Allowance m",
        "Margin m",
        "Verdict",
        "Test hole",
        "Exposed on, by",
    ] {
        put!(out, "<th scope=\"col\">{head}</th>");
    }
    out.push_str("</tr></thead><tbody>");
    for c in met {
        crossing(out, route, c);
    }
    out.push_str("</tbody></table></div><p class=\"small\">Stop before: chainage less required distance less allowance (project default). A negative margin is too near by the records.</p>");
}

fn crossing(out: &mut String, route: &RouteSheet, c: &Conflict) {
    let kind = c.kind.as_deref().unwrap_or("service");
    let depth = if c.depth_known { "" } else { ", depth unknown" };
    let hole = route
        .hole(c)
        .map_or(String::new(), |h| format!("no. {}, first", h.priority));
    put!(
        out,
        "<tr><th scope=\"row\">{}</th><td><strong>{}</strong></td><td>{} {}{depth} <span class=\"small\">{}</span></td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{hole}</td><td></td></tr>",
        c.chainage_m
            .map_or("not stated".to_string(), |m| number(m, 2)),
        stop_before_m(c).map_or("not stated".to_string(), |m| number(m, 2)),
        words(kind),
        c.encounter.as_deref().map_or(String::new(), short),
        source(c),
        short(c.owner.as_deref().unwrap_or("not known")),
        c.angle_deg
            .map_or("not stated".to_string(), |a| number(a, 0)),
        number(c.clearance_m, 2),
        number(c.required_m, 2),
        number(c.allowance_m, 2),
        number(c.margin_m, 2),
        verdict(&c.verdict),
    );
}

/// What else is near: `tree, trees fid 3`, or the ground, whose clearance is the cover.
pub fn thing(c: &Conflict) -> String {
    match c.source_layer {
        None if c.obstacle == "ground" => "ground, which is the cover".to_string(),
        _ => format!("{}, {}", words(&c.obstacle), source(c)),
    }
}

/// `gas_mains fid 3`.
pub fn source(c: &Conflict) -> String {
    match (&c.source_layer, c.source_fid) {
        (Some(layer), Some(fid)) => format!("{} fid {fid}", short(layer)),
        _ => "ground".to_string(),
    }
}

/// A verdict with its sign, which no colour is needed to read.
pub fn verdict(word: &str) -> String {
    match word {
        "clash" => "<span class=\"tag clash\">✕ clash</span>".to_string(),
        "prove" => "<span class=\"tag prove\">? prove</span>".to_string(),
        "watch" => "<span class=\"tag watch\">◆ watch</span>".to_string(),
        "clear" => "<span class=\"tag\">○ clear by the records</span>".to_string(),
        "" => "no verdict".to_string(),
        other => words(other),
    }
}

/// What else is near: buildings, trees, cover.
fn others(out: &mut String, route: &RouteSheet, b: &Bore) {
    let met: Vec<&Conflict> = route
        .met_by(b)
        .into_iter()
        .filter(|c| !c.of_service())
        .collect();
    if met.is_empty() {
        return;
    }
    put!(
        out,
        "<div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"Other things near {}\"><table><caption>What else is near</caption><thead><tr><th scope=\"col\">At m</th><th scope=\"col\">What</th><th scope=\"col\">Clearance m</th><th scope=\"col\">Required m</th><th scope=\"col\">Margin m</th><th scope=\"col\">Verdict</th></tr></thead><tbody>",
        label(&b.bore_id)
    );
    for c in met {
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            c.chainage_m
                .map_or("not stated".to_string(), |m| number(m, 2)),
            thing(c),
            number(c.clearance_m, 2),
            number(c.required_m, 2),
            number(c.margin_m, 2),
            verdict(&c.verdict)
        );
    }
    out.push_str("</tbody></table></div>");
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bearing_in_degrees_minutes_seconds() {
        assert_eq!(sexagesimal(231.07), "231° 04′ 12″");
        assert_eq!(sexagesimal(0.0), "0° 00′ 00″");
    }

    #[test]
    fn no_verdict_rests_on_colour() {
        let signs = ["clash", "prove", "watch", "clear"].map(verdict);
        for (a, b) in [(0, 1), (1, 2), (2, 3), (0, 3)] {
            assert_ne!(signs[a].split('>').nth(1), signs[b].split('>').nth(1));
        }
        assert_eq!(verdict("<b>"), "<bdi>&lt;b&gt;</bdi>");
    }
}
