//! The long section of a run: ground, pipe, pits, what is crossed and where it may be, levels underneath.

use super::{
    marks::{line, rectangle, text, told},
    model::{Bore, RouteSheet},
    nearby::Surroundings,
    plan_drawing::fence_words,
    section_frame::{HEAD, LEFT, Laid, SectionFrame, laid},
    section_services::{self, ground_at, met},
    section_table::{self, Station, stations},
    shared::Shared,
    text::{at, label, number, put, tail},
    view::{Frame, Room},
};
use geo::Coord;

/// A long section, and its levels for a table.
#[derive(Debug)]
pub struct Section {
    /// The drawing.
    pub svg: String,
    /// Its levels.
    pub stations: Vec<Station>,
    /// One to how many lengths and heights are on paper.
    #[cfg_attr(
        not(feature = "cli"),
        allow(dead_code, reason = "only paper has a scale")
    )]
    pub one_to: Option<(f64, f64)>,
}

/// The section of a run; none where its pits have no chainage. `id` names it on its page.
pub fn section(
    route: &RouteSheet,
    run: &[&Bore],
    shared: &Shared,
    id: &str,
    room: Room,
) -> Option<Section> {
    let laid = laid(route, run);
    let met = met(route, &laid, shared.crossings.as_ref());
    let frame = SectionFrame::of(route, &laid, &met, room)?;
    let stations = stations(route, &laid, &met, &frame);
    let code = shared.code;
    let mut out = String::new();
    axis(&mut out, &frame);
    ground(&mut out, route, &frame);
    pits(&mut out, route, &frame, &laid);
    if let Some(around) = shared.around {
        fences(&mut out, route, &frame, &laid, around);
    }
    laid.iter().for_each(|l| pipe(&mut out, &frame, l));
    section_services::draw(&mut out, route, &frame, &met);
    let mut y = frame.foot() + 26.0;
    y += section_table::strip(&mut out, route, &frame, &laid, y) + 14.0;
    y += section_table::draw(&mut out, &frame, &stations, y);
    let notes = [
        &*note(&frame),
        "Rings: services where the record has them. Bands: where they may be (95 % limits; with ?, the depth is not recorded).",
        "clear* is by the records only. beside: it runs along the bore, aside of it. Thick pit walls: with support. Crossed posts: fences.",
    ];
    for words in notes {
        y += 18.0;
        text(&mut out, "note", 14.0, y, words);
    }
    let name = format!(
        "{} of route {}",
        label(&run[0].run_id),
        label(&route.route_id)
    );
    let (w, h) = (at(frame.width), at(y + 12.0));
    let svg = format!(
        "<svg id=\"{id}\" class=\"drawing section{code}\" role=\"img\" aria-labelledby=\"{id}t {id}d\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\">\
         <title id=\"{id}t\">Long section, run {name}</title><desc id=\"{id}d\">{} The levels stand in the table below the drawing, the services in the drive sheets.</desc>\
         <rect class=\"sheet\" width=\"{w}\" height=\"{h}\"/>{out}</svg>",
        note(&frame)
    );
    Some(Section {
        svg,
        stations,
        one_to: frame.one_to.map(|n| (n, n / frame.times)),
    })
}

fn note(frame: &SectionFrame) -> String {
    let times = number(frame.times, 1);
    let times = times.trim_end_matches(".0");
    let scale = frame.one_to.map_or(String::new(), |n| {
        let (along, up) = (number(n, 0), number(n / frame.times, 0));
        format!("Lengths 1 : {along}, heights 1 : {up}. ")
    });
    if frame.times == 1.0 {
        return format!("{scale}Heights and lengths to one scale. Outfall to the left.");
    }
    format!(
        "{scale}Vertical exaggeration {times}: heights are drawn {times} times as large as lengths. Outfall to the left."
    )
}

fn axis(out: &mut String, frame: &SectionFrame) {
    let step = frame.level_step_m();
    let n = ((frame.levels.1 - frame.levels.0) / step).floor() as usize;
    for i in 0..=n {
        let level = frame.levels.0 + step * i as f64;
        let y = frame.y(level);
        line(out, "tick", (LEFT, y), (frame.right(), y));
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
        if pit.support {
            for x in [x0, x1] {
                line(
                    out,
                    "sheeting",
                    (x, frame.y(pit.ground_m)),
                    (x, frame.y(pit.floor_m)),
                );
            }
        }
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

/// A post where a fence stands over a bore. Nothing says how high it is: the post is a sign.
fn fences(
    out: &mut String,
    route: &RouteSheet,
    frame: &SectionFrame,
    laid: &[Laid],
    around: &Surroundings,
) {
    for l in laid {
        let (a, b) = (l.bore.ds, l.bore.us);
        let Some(over) = Frame::around([a, b]) else {
            continue;
        };
        for fence in around.fences(&over) {
            let spans = fence.parts.iter().flat_map(|p| p.points.windows(2));
            for t in spans.filter_map(|cd| met_at(a, b, cd[0], cd[1])) {
                let chainage_m = l.ds_m + (l.us_m - l.ds_m) * t;
                let Some(ground_m) = ground_at(route, chainage_m) else {
                    continue;
                };
                let (x, y) = (frame.x(chainage_m), frame.y(ground_m));
                let words = format!("{} at {} m", fence_words(fence), number(chainage_m, 2));
                put!(out, "<g>{}", told(&words));
                line(out, "post", (x, y), (x, y - 16.0));
                line(out, "post", (x - 4.0, y - 12.0), (x + 4.0, y - 6.0));
                line(out, "post", (x - 4.0, y - 6.0), (x + 4.0, y - 12.0));
                out.push_str("</g>");
            }
        }
    }
}

/// Where along `ab` (0 to 1) the line `cd` crosses it; none where it does not, or lies along it.
fn met_at(a: Coord<f64>, b: Coord<f64>, c: Coord<f64>, d: Coord<f64>) -> Option<f64> {
    let cross = |p: Coord<f64>, q: Coord<f64>| p.x * q.y - p.y * q.x;
    let (ab, cd, ac) = (b - a, d - c, c - a);
    let by = cross(ab, cd);
    if by == 0.0 {
        return None;
    }
    let (t, u) = (cross(ac, cd) / by, cross(ac, ab) / by);
    ((0.0..=1.0).contains(&t) && (0.0..1.0).contains(&u)).then_some(t)
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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_fence_is_met_where_it_crosses_and_once() {
        let at = |x: f64, y: f64| Coord { x, y };
        let (a, b) = (at(0.0, 0.0), at(10.0, 0.0));
        assert_eq!(met_at(a, b, at(4.0, -1.0), at(4.0, 1.0)), Some(0.4));
        assert_eq!(met_at(a, b, at(4.0, 1.0), at(4.0, 3.0)), None);
        assert_eq!(met_at(a, b, at(2.0, 0.0), at(8.0, 0.0)), None);
        // A corner on the bore belongs to the span that begins there.
        let corner = [at(3.0, 1.0), at(3.0, 0.0), at(3.0, -1.0)];
        let met: Vec<f64> = corner
            .windows(2)
            .filter_map(|cd| met_at(a, b, cd[0], cd[1]))
            .collect();
        assert_eq!(met, [0.3]);
    }
}
