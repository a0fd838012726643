//! All sheets of a report, in the order in which they are bound.

use super::{
    Fonts, Paper, Sheet, blocks,
    flow::{Area, Flow},
    frame::{self, BLOCK, EDGE, LYING, STANDING},
};
use crate::report::{
    drive_sheet,
    model::{Bore, Head, Report, RouteSheet},
    plan_drawing::plan,
    route::file_name,
    section::section,
    shared::Shared,
    text::number,
    view::Room,
};
use rayon::prelude::*;

/// A sheet whose number is not known yet.
struct Draft {
    name: String,
    route: String,
    title: String,
    body: Body,
}

enum Body {
    /// A drawing, and its scale in words.
    Drawing(String, String),
    /// Words, and which page of how many of its drive sheet.
    Words(String, String),
}

/// Route by route: the plan, the long section of each run, the drive sheet of each bore.
///
/// # Errors
/// Only by a fault of this program.
pub fn sheets(report: &Report, fonts: &Fonts, paper: Paper) -> Result<Vec<Sheet>, String> {
    let shared = Shared::of(report);
    let of_route = |n: usize| drafts(report, n, &shared, fonts, paper);
    let routes: Result<Vec<_>, String> = (0..report.routes.len())
        .into_par_iter()
        .map(of_route)
        .collect();
    Ok(numbered(
        &report.head,
        routes?.into_iter().flatten().collect(),
        paper,
    ))
}

/// The drive sheets alone.
///
/// # Errors
/// Only by a fault of this program.
pub fn drive_sheets(report: &Report, fonts: &Fonts) -> Result<Vec<Sheet>, String> {
    let mut all = vec![];
    for (n, route) in report.routes.iter().enumerate() {
        for (i, bore) in route.bores.iter().enumerate() {
            all.extend(words(report, (n, route), (i, bore), fonts)?);
        }
    }
    Ok(numbered(&report.head, all, Paper::A4))
}

fn numbered(head: &Head, drafts: Vec<Draft>, paper: Paper) -> Vec<Sheet> {
    let all = drafts.len();
    let sheet = |(i, d): (usize, Draft)| {
        let n = (i + 1, all);
        let (svg, size_mm) = match &d.body {
            Body::Drawing(drawing, scale) => {
                let svg = frame::lying(head, paper, drawing, &d.title, scale, n);
                (svg, paper.size_mm())
            }
            Body::Words(body, page) => {
                let svg = frame::standing(head, body, &d.title, page, n);
                (svg, (210.0, 297.0))
            }
        };
        Sheet {
            name: d.name,
            route: d.route,
            title: d.title,
            size_mm,
            svg,
        }
    };
    drafts.into_par_iter().enumerate().map(sheet).collect()
}

fn drafts(
    report: &Report,
    n: usize,
    shared: &Shared,
    fonts: &Fonts,
    paper: Paper,
) -> Result<Vec<Draft>, String> {
    let route = &report.routes[n];
    let name = file_name(n, route);
    let mut all = vec![];
    let mut add = |name: String, title: String, svg: String, scale: String| {
        let body = Body::Drawing(svg, format!("{scale} on {}", paper.word()));
        all.push(Draft {
            name,
            route: route.route_id.clone(),
            title,
            body,
        });
    };
    // The key of the plan is underneath it, the levels under a section.
    if let Some(plan) = plan(report, route, "plan", room(paper, 770.0)) {
        let title = format!("Plan of route {}", route.route_id);
        let scale = plan.one_to.map_or(String::new(), one_to);
        add(format!("{name}-plan"), title, plan.svg, scale);
    }
    for (i, run) in route.runs().into_iter().enumerate() {
        if let Some(section) = section(route, &run, shared, "section", room(paper, 380.0)) {
            let title = format!("Long section, run {}", run[0].run_id);
            let scale = section.one_to.map_or(String::new(), |(along, up)| {
                format!("lengths {}, heights {}", one_to(along), one_to(up))
            });
            let name = format!("{name}-section-{:02}", i + 1);
            add(name, title, section.svg, scale);
        }
    }
    for (i, bore) in route.bores.iter().enumerate() {
        all.extend(words(report, (n, route), (i, bore), fonts)?);
    }
    Ok(all)
}

/// `1 : 500`.
fn one_to(n: f64) -> String {
    format!("1 : {}", number(n, 0))
}

/// What a drawing may take of a sheet that lies.
fn room(paper: Paper, tallest: f64) -> Room {
    Room {
        width: LYING.0 - 2.0 * EDGE,
        tallest,
        unit_m: Some(paper.size_mm().0 / LYING.0 / 1000.0),
    }
}

/// The drive sheet of a bore, on as many pages as it takes.
fn words(
    report: &Report,
    (n, route): (usize, &RouteSheet),
    (i, bore): (usize, &Bore),
    fonts: &Fonts,
) -> Result<Vec<Draft>, String> {
    let mut markup = String::new();
    drive_sheet::sheet(&mut markup, report, route, bore, "d");
    let area = Area {
        left: EDGE,
        width: STANDING.0 - 2.0 * EDGE,
        top: EDGE + 24.0,
        foot: STANDING.1 - EDGE - 34.0,
    };
    let pages = Flow::new(fonts, area).pages(blocks::blocks(&markup)?);
    let of = pages.len();
    let draft = |(p, body): (usize, String)| {
        let (end, page) = if of == 1 {
            (String::new(), String::new())
        } else {
            (format!("-{}", p + 1), format!("page {} of {of}, ", p + 1))
        };
        Draft {
            name: format!("{}-drive-{:02}{end}", file_name(n, route), i + 1),
            route: route.route_id.clone(),
            title: format!("Drive sheet, bore {}", bore.bore_id),
            body: Body::Words(body, page),
        }
    };
    Ok(pages.into_iter().enumerate().map(draft).collect())
}

// A sheet's drawing ends above its title block.
const _: () = assert!(770.0 + 200.0 < LYING.1 - 2.0 * EDGE - BLOCK);
