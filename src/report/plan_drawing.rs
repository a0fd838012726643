//! The plan of a route: what lies around, what is buried, and what is proposed, north up.

use super::{
    clip,
    key::{Shown, foot},
    marks::{arrow, colour_class, hole, kind, line, text, told, verdict},
    model::{Bore, Pit, Report, RouteSheet},
    nearby::Surroundings,
    text::{at, label, number, put, several, tail},
    view::{Room, View},
};
use crate::site::{Fence, Service, Surface};
use geo::{Coord, Polygon};

/// Distance of the letters along a service (units).
const LETTERS_APART: f64 = 130.0;

/// A plan.
#[derive(Debug)]
pub struct Plan {
    /// The drawing.
    pub svg: String,
    /// One to how many it is on paper.
    #[cfg_attr(
        not(feature = "cli"),
        allow(dead_code, reason = "only paper has a scale")
    )]
    pub one_to: Option<f64>,
}

/// The plan of a route; none of a route without bores. `id` names it on its page.
pub fn plan(report: &Report, route: &RouteSheet, id: &str, room: Room) -> Option<Plan> {
    let pits = route.pits.iter().flat_map(|p| p.footprint.iter().copied());
    let ends = route.bores.iter().flat_map(|b| [b.us, b.ds]);
    let view = View::of(pits.chain(ends), room)?;
    let mut map = String::new();
    let mut shown = Shown::default();
    if let Ok(around) = &report.around {
        ground(&mut map, around, &view, &mut shown);
        services(&mut map, around, &view, &mut shown);
    }
    proposed(&mut map, route, &view, &mut shown);
    let (foot, height) = foot(&view, &shown);
    let name = label(&route.route_id);
    let svg = format!(
        "<svg id=\"{id}\" class=\"drawing plan{code}\" role=\"img\" aria-labelledby=\"{id}t {id}d\" xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {w} {h}\" width=\"{w}\" height=\"{h}\">\
         <title id=\"{id}t\">Plan of route {name}</title><desc id=\"{id}d\">{desc}</desc>\
         <rect class=\"sheet\" width=\"{w}\" height=\"{h}\"/>\
         <svg class=\"map\" x=\"0\" y=\"0\" width=\"{w}\" height=\"{m}\" viewBox=\"0 0 {w} {m}\">{map}</svg>{foot}</svg>",
        w = at(view.width),
        h = at(view.height + height),
        m = at(view.height),
        desc = described(route),
        code = colour_class(&report.head.job),
    );
    Some(Plan {
        svg,
        one_to: view.one_to,
    })
}

fn described(route: &RouteSheet) -> String {
    let length: f64 = route.bores.iter().map(|b| b.length_m).sum();
    format!(
        "{} and {}, {} m, north up. What they come near is listed in the tables of the drive sheets.",
        several(route.pits.len(), "pit"),
        several(route.bores.len(), "bore"),
        number(length, 1)
    )
}

fn ring(out: &mut String, class: &str, view: &View, area: &Polygon<f64>) {
    let outer = &area.exterior().0;
    if view.frame.meets(outer.iter().copied()) {
        let inner = area.interiors().iter().map(|r| view.path(&r.0, true));
        let d = view.path(outer, true) + &inner.collect::<String>();
        put!(out, "<path class=\"{class}\" d=\"{d}\"/>");
    }
}

fn ground(out: &mut String, around: &Surroundings, view: &View, shown: &mut Shown) {
    let frame = &view.frame;
    let paved = |s: Surface| matches!(s, Surface::Asphalt | Surface::Concrete | Surface::Paving);
    let mut rings = |class: &str, parts: &[Polygon<f64>]| {
        parts.iter().for_each(|p| ring(out, class, view, p));
    };
    for area in around.surfaces(frame).filter(|a| paved(a.surface)) {
        rings("paved", &area.parts);
    }
    around.lots(frame).for_each(|l| rings("lot", &l.parts));
    for keepout in around.keepouts(frame) {
        rings("keepout", &keepout.parts);
        shown.keepout = true;
    }
    around
        .buildings(frame)
        .for_each(|b| rings("building", &b.parts));
    trees(out, around, view, shown);
    for fence in around.fences(frame) {
        for part in fence
            .parts
            .iter()
            .flat_map(|p| clip::parts(&p.points, frame))
        {
            let d = view.path(&part, false);
            put!(
                out,
                "<g>{}<path class=\"fence\" d=\"{d}\"/></g>",
                told(&fence_words(fence))
            );
            shown.fence = true;
        }
    }
    for street in around.streets(frame) {
        for part in street
            .parts
            .iter()
            .flat_map(|p| clip::parts(&p.points, frame))
        {
            put!(
                out,
                "<path class=\"street\" d=\"{}\"/>",
                view.path(&part, false)
            );
        }
        if let Some(name) = &street.name {
            street_name(out, street.parts.iter().map(|p| &p.points[..]), name, view);
        }
    }
}

/// `fence, timber, fences fid 3`.
pub fn fence_words(fence: &Fence) -> String {
    let material = match fence.material.as_str() {
        "" => "material not stated",
        material => material,
    };
    format!("fence, {material}, {}", fence.at)
}

fn trees(out: &mut String, around: &Surroundings, view: &View, shown: &mut Shown) {
    let points = around.trees(&view.frame).flat_map(|t| &t.points);
    for p in points.filter(|p| view.frame.holds(**p)) {
        let (x, y) = view.xy(*p);
        let (x, y, r) = (at(x), at(y), at((view.scale * 1.2).clamp(3.0, 12.0)));
        put!(
            out,
            "<circle class=\"tree\" cx=\"{x}\" cy=\"{y}\" r=\"{r}\"/><circle class=\"trunk\" cx=\"{x}\" cy=\"{y}\" r=\"1.6\"/>"
        );
        shown.tree = true;
    }
}

/// The name once, along the longest straight part that is seen.
fn street_name<'a>(
    out: &mut String,
    lines: impl Iterator<Item = &'a [Coord<f64>]>,
    name: &str,
    view: &View,
) {
    let seen = lines
        .flat_map(|l| l.windows(2))
        .filter_map(|ab| clip::clipped(ab[0], ab[1], &view.frame));
    let long = |ab: &(Coord<f64>, Coord<f64>)| {
        let d = ab.1 - ab.0;
        d.x.hypot(d.y)
    };
    let Some((a, b)) = seen.max_by(|p, q| long(p).total_cmp(&long(q))) else {
        return;
    };
    let ((x0, y0), (x1, y1)) = (view.xy(a), view.xy(b));
    // A third along, where fewer labels stand.
    let (x, y) = (x0 + (x1 - x0) * 0.3, y0 + (y1 - y0) * 0.3);
    let turn = upright_deg((y1 - y0).atan2(x1 - x0).to_degrees());
    put!(
        out,
        "<text class=\"streetname\" transform=\"translate({} {}) rotate({})\" y=\"-24\">{}</text>",
        at(x),
        at(y),
        at(turn),
        label(name)
    );
}

/// Never upside down.
fn upright_deg(turn: f64) -> f64 {
    if turn > 90.0 {
        turn - 180.0
    } else if turn <= -90.0 {
        turn + 180.0
    } else {
        turn
    }
}

fn services(out: &mut String, around: &Surroundings, view: &View, shown: &mut Shown) {
    for service in around.services(&view.frame) {
        for line in &service.parts {
            let parts = clip::parts(&line.points, &view.frame);
            if parts.is_empty() {
                continue;
            }
            let (class, letter, word) = kind(service.kind.word());
            shown.kinds.insert(class);
            let unknown = line.levels.is_none() && service.cover_m.is_none();
            shown.unknown |= unknown;
            let sign = format!("{letter}{}", if unknown { "?" } else { "" });
            put!(out, "<g>{}", told(&service_words(service, word, unknown)));
            for part in &parts {
                put!(
                    out,
                    "<path class=\"s {class}\" d=\"{}\"/>",
                    view.path(part, false)
                );
                letters(out, part, class, &sign, view);
            }
            out.push_str("</g>");
        }
    }
    for manhole in around.manholes(&view.frame) {
        let (x, y) = view.xy(manhole.point);
        put!(
            out,
            "<circle class=\"oldmanhole\" cx=\"{}\" cy=\"{}\" r=\"5\"/>",
            at(x),
            at(y)
        );
        shown.manhole = true;
    }
}

fn service_words(service: &Service, word: &str, unknown: bool) -> String {
    let owner = service.owner.as_deref().unwrap_or("owner not known");
    let depth = if unknown { ", depth not recorded" } else { "" };
    format!("{word}, {}{depth}, {owner}", service.at)
}

/// The letter of the kind, over and over, the first at half a distance or in the middle of a short part.
fn letters(out: &mut String, part: &[Coord<f64>], class: &str, sign: &str, view: &View) {
    let points: Vec<(f64, f64)> = part.iter().map(|p| view.xy(*p)).collect();
    let long = |ab: &[(f64, f64)]| (ab[1].0 - ab[0].0).hypot(ab[1].1 - ab[0].1);
    let whole: f64 = points.windows(2).map(long).sum();
    if whole < 24.0 {
        return;
    }
    let mut next = (whole / 2.0).min(LETTERS_APART / 2.0);
    let mut gone = 0.0;
    for ab in points.windows(2) {
        let length = long(ab);
        while next <= gone + length && length > 0.0 {
            let t = (next - gone) / length;
            let (x, y) = (
                ab[0].0 + (ab[1].0 - ab[0].0) * t,
                ab[0].1 + (ab[1].1 - ab[0].1) * t,
            );
            text(out, &format!("sign {class}"), x, y + 4.0, sign);
            next += LETTERS_APART;
        }
        gone += length;
    }
}

fn proposed(out: &mut String, route: &RouteSheet, view: &View, shown: &mut Shown) {
    route.pits.iter().for_each(|p| pit(out, route, p, view));
    shown.support |= route.pits.iter().any(|p| p.support);
    route.bores.iter().for_each(|b| bore(out, b, view));
    for c in route.conflicts.iter().filter(|c| view.frame.holds(c.at)) {
        let (x, y) = view.xy(c.at);
        shown.verdicts.insert(c.verdict.clone());
        let what = c.kind.as_deref().unwrap_or(&c.obstacle);
        let words = format!("{}: {what}, {}", c.conflict_id, c.verdict);
        put!(out, "<g>{}{}</g>", told(&words), verdict(&c.verdict, x, y));
    }
    for h in &route.holes {
        let (x, y) = view.xy(h.at);
        // Beside the sign of its row, which lies on nearly the same point.
        line(out, "leader", (x, y), (x + 15.0, y - 15.0));
        put!(
            out,
            "<g>{}{}</g>",
            told(&format!("test hole {}", h.hole_id)),
            hole(h.priority, x + 20.0, y - 20.0)
        );
        shown.hole = true;
    }
    route
        .bores
        .iter()
        .for_each(|b| bore_label(out, route, b, view));
}

fn pit(out: &mut String, route: &RouteSheet, pit: &Pit, view: &View) {
    let role = match pit.role.as_str() {
        "launch" | "reception" | "both" => pit.role.as_str(),
        _ => "both",
    };
    let d = view.path(&pit.footprint, true);
    let support = if pit.support { ", with support" } else { "" };
    put!(
        out,
        "<g>{}",
        told(&format!("{}, {role}{support}", pit.pit_id))
    );
    if pit.support {
        // How thick it is nobody has designed: a line around of always the same width.
        put!(out, "<path class=\"support\" d=\"{d}\"/>");
    }
    put!(out, "<path class=\"pit {role}\" d=\"{d}\"/>");
    let Some(frame) = super::view::Frame::around(pit.footprint.iter().copied()) else {
        out.push_str("</g>");
        return;
    };
    let (x, y) = view.xy((frame.min + frame.max) / 2.0);
    if pit.manhole {
        put!(
            out,
            "<circle class=\"manhole\" cx=\"{}\" cy=\"{}\" r=\"4.5\"/>",
            at(x),
            at(y)
        );
    }
    let (_, top) = view.xy(frame.max);
    let sign = match role {
        "launch" => "L",
        "reception" => "R",
        _ => "L+R",
    };
    let words = format!("{} {sign}", label(tail(&pit.pit_id, &route.route_id)));
    text(out, "pitname", x, top - 7.0, &words);
    out.push_str("</g>");
}

fn bore(out: &mut String, bore: &Bore, view: &View) {
    let (us, ds) = (view.xy(bore.us), view.xy(bore.ds));
    line(out, "bore", us, ds);
    let turn = (ds.1 - us.1).atan2(ds.0 - us.0).to_degrees();
    for t in [0.3, 0.7] {
        out.push_str(&arrow(
            "flow",
            us.0 + (ds.0 - us.0) * t,
            us.1 + (ds.1 - us.1) * t,
            turn,
        ));
    }
    let (from, to) = if bore.launched_upstream() {
        (us, ds)
    } else {
        (ds, us)
    };
    let length = (to.0 - from.0).hypot(to.1 - from.1).max(1.0);
    let t = (26.0 / length).min(0.2);
    let turn = (to.1 - from.1).atan2(to.0 - from.0).to_degrees();
    out.push_str(&arrow(
        "drive",
        from.0 + (to.0 - from.0) * t,
        from.1 + (to.1 - from.1) * t,
        turn,
    ));
}

fn bore_label(out: &mut String, route: &RouteSheet, bore: &Bore, view: &View) {
    let (us, ds) = (view.xy(bore.us), view.xy(bore.ds));
    let turn = upright_deg((ds.1 - us.1).atan2(ds.0 - us.0).to_degrees());
    let name = label(tail(&bore.bore_id, &route.route_id));
    let length = format!("{name} · {} m", number(bore.length_m, 1));
    // A short one has no room for more.
    let words = if (ds.0 - us.0).hypot(ds.1 - us.1) < 240.0 {
        length
    } else {
        let grade = number(bore.grade * 100.0, 2);
        format!("{length} · DN{} · {grade} %", number(bore.dn_mm, 0))
    };
    put!(
        out,
        "<text class=\"borename\" transform=\"translate({} {}) rotate({})\" y=\"22\">{words}</text>",
        at((us.0 + ds.0) / 2.0),
        at((us.1 + ds.1) / 2.0),
        at(turn)
    );
}
