//! The long section of a run: ground, pipe, pits, what is crossed and where it may be, levels underneath.

use super::{
    crossed::Crossings,
    marks::{line, rectangle, text, told},
    model::{Bore, RouteSheet},
    section_frame::{HEAD, LEFT, Laid, SectionFrame, laid},
    section_services::{self, ground_at, met},
    section_table::{self, Station, stations},
    text::{at, label, number, put, tail},
    view::WIDTH,
};

/// A long section, and its levels for a table.
#[derive(Debug)]
pub struct Section {
    /// The drawing.
    pub svg: String,
    /// Its levels.
    pub stations: Vec<Station>,
}

/// The section of a run; none where its pits have no chainage. `id` names it on its page, `code` is the class of its colours.
pub fn section(
    route: &RouteSheet,
    run: &[&Bore],
    crossings: Option<&Crossings>,
    (id, code): (&str, &str),
) -> Option<Section> {
    let laid = laid(route, run);
    let met = met(route, &laid, crossings);
    let frame = SectionFrame::of(route, &laid, &met)?;
    let stations = stations(route, &laid, &met, &frame);
    let mut out = String::new();
    axis(&mut out, &frame);
    ground(&mut out, route, &frame);
    pits(&mut out, route, &frame, &laid);
    laid.iter().for_each(|l| pipe(&mut out, &frame, l));
    section_services::draw(&mut out, route, &frame, &met);
    let mut y = frame.foot() + 26.0;
    y += section_table::strip(&mut out, route, &frame, &laid, y) + 14.0;
    y += section_table::draw(&mut out, &frame, &stations, y);
    text(&mut out, "note", 14.0, y + 20.0, &note(&frame));
    text(
        &mut out,
        "note",
        14.0,
        y + 37.0,
        "Rings: services where the record has them. Bands: where they may be (95 % limits; with ?, the depth is not recorded). clear* is by the records only.",
    );
    let name = format!(
        "{} of route {}",
        label(&run[0].run_id),
        label(&route.route_id)
    );
    let (w, h) = (at(WIDTH), at(y + 48.0));
    let svg = format!(
        "<svg id=\"{id}\" class=\"drawing section{code}\" role=\"img\" aria-labelledby=\"{id}t {id}d\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\">\
         <title id=\"{id}t\">Long section, run {name}</title><desc id=\"{id}d\">{} The levels stand in the table below the drawing, the services in the drive sheets.</desc>\
         <rect class=\"sheet\" width=\"{w}\" height=\"{h}\"/>{out}</svg>",
        note(&frame)
    );
    Some(Section { svg, stations })
}

fn note(frame: &SectionFrame) -> String {
    if frame.times == 1.0 {
        return "Heights and lengths to one scale. Outfall to the left.".to_string();
    }
    format!(
        "Vertical exaggeration {}: heights are drawn {} times as large as lengths. Outfall to the left.",
        number(frame.times, 1).trim_end_matches(".0"),
        number(frame.times, 1).trim_end_matches(".0")
    )
}

fn axis(out: &mut String, frame: &SectionFrame) {
    let step = frame.level_step_m();
    let n = ((frame.levels.1 - frame.levels.0) / step).floor() as usize;
    for i in 0..=n {
        let level = frame.levels.0 + step * i as f64;
        let y = frame.y(level);
        line(out, "tick", (LEFT, y), (WIDTH - 20.0, y));
        text(
            out,
            "axis",
            LEFT - 8.0,
            y + 4.0,
            &number(level, if step < 1.0 { 1 } else { 0 }),
        );
    }
    text(out, "note", 14.0, HEAD - 8.0, "Level (m)");
}

fn ground(out: &mut String, route: &RouteSheet, frame: &SectionFrame) {
    let (from, to) = frame.chainages;
    let inside = route
        .section
        .iter()
        .filter(|s| s.chainage_m > from && s.chainage_m < to);
    let mut points: Vec<(f64, f64)> = [from]
        .into_iter()
        .filter_map(|c| Some((c, ground_at(route, c)?)))
        .collect();
    points.extend(inside.map(|s| (s.chainage_m, s.ground_m)));
    points.extend(
        [to].into_iter()
            .filter_map(|c| Some((c, ground_at(route, c)?))),
    );
    let d = path(frame, &points);
    let foot = at(frame.foot());
    put!(
        out,
        "<path class=\"soil\" d=\"{d}L{} {foot}L{} {foot}Z\"/><path class=\"ground\" d=\"{d}\"/>",
        at(frame.x(to)),
        at(frame.x(from))
    );
}

fn path(frame: &SectionFrame, points: &[(f64, f64)]) -> String {
    let mut d = String::new();
    for (i, (c, level)) in points.iter().enumerate() {
        put!(
            d,
            "{}{} {}",
            if i == 0 { 'M' } else { 'L' },
            at(frame.x(*c)),
            at(frame.y(*level))
        );
    }
    d
}

fn pits(out: &mut String, route: &RouteSheet, frame: &SectionFrame, laid: &[Laid]) {
    let mut drawn: Vec<&str> = vec![];
    for (l, upstream) in laid.iter().flat_map(|l| [(l, false), (l, true)]) {
        let (id, chainage_m) = if upstream {
            (&l.bore.us_pit, l.us_m)
        } else {
            (&l.bore.ds_pit, l.ds_m)
        };
        let Some(pit) = route.pit(id).filter(|_| !drawn.contains(&id.as_str())) else {
            continue;
        };
        drawn.push(id);
        let launch = if pit.role == "reception" {
            "shaft reception"
        } else {
            "shaft"
        };
        let half = pit.length_m / 2.0;
        let (x0, x1) = (frame.x(chainage_m - half), frame.x(chainage_m + half));
        put!(
            out,
            "<g>{}",
            told(&format!(
                "{}, floor {} m",
                pit.pit_id,
                number(pit.floor_m, 3)
            ))
        );
        rectangle(
            out,
            launch,
            (x0, frame.y(pit.ground_m)),
            (x1, frame.y(pit.floor_m)),
        );
        let manhole = if pit.manhole { " ◯" } else { "" };
        let name = format!("{}{manhole}", label(tail(&pit.pit_id, &route.route_id)));
        text(
            out,
            "pitname",
            (x0 + x1) / 2.0,
            frame.y(pit.floor_m) + 16.0,
            &name,
        );
        out.push_str("</g>");
    }
}

fn pipe(out: &mut String, frame: &SectionFrame, l: &Laid) {
    let b = l.bore;
    let crown = l.crown_m();
    let ends = [(l.ds_m, b.ds_invert_m), (l.us_m, b.us_invert_m)];
    let top = [
        (l.us_m, b.us_invert_m + crown),
        (l.ds_m, b.ds_invert_m + crown),
    ];
    let around = [ends[0], ends[1], top[0], top[1]];
    put!(
        out,
        "<path class=\"pipe\" d=\"{}Z\"/><path class=\"invert\" d=\"{}\"/>",
        path(frame, &around),
        path(frame, &ends)
    );
    let middle = (l.ds_m + l.us_m) / 2.0;
    let x = frame.x(middle);
    let y = frame.y(l.invert_at(middle) + crown / 2.0);
    let fall =
        (frame.y(b.ds_invert_m) - frame.y(b.us_invert_m)).atan2(frame.x(l.ds_m) - frame.x(l.us_m));
    out.push_str(&super::marks::arrow("flow", x, y, fall.to_degrees()));
}
