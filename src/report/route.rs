//! The chapter of a route, and its drawings as files.

use super::{
    beside_trench,
    chapter::Chapter,
    drive_sheet::{self, source},
    model::{Bore, Report, RouteSheet},
    money,
    page::Piece,
    plan_drawing::plan,
    register::counts,
    section::section,
    section_table,
    shared::Shared,
    style::plain_style,
    text::{label, money as coins, number, put, several, tail, words},
    view::Room,
};

/// How a drawing written as a file ends, by which it is known to be one of ours.
pub const MARK: &str = "<!-- drawn by pitwright -->\n";

/// Chapter of route number `n` (from 0).
pub fn chapter(report: &Report, n: usize, shared: &Shared) -> Chapter {
    let route = &report.routes[n];
    let mut out = String::new();
    let title = format!("Route {}", words(&route.route_id));
    put!(out, "<section class=\"route\" id=\"r{n}\"><h2>{title}</h2>");
    if !route.planned {
        without_plan(&mut out, route);
    }
    if let Some(plan) = plan(report, route, &format!("r{n}p"), Room::PLAN) {
        summary(&mut out, report, route);
        put!(out, "<h3>Plan</h3>");
        figure(
            &mut out,
            &plan.svg,
            &format!("Plan of route {}", label(&route.route_id)),
        );
        sections(&mut out, route, n, shared);
        put!(out, "<h3 class=\"sheets\">Drive sheets</h3>");
        for (i, bore) in route.bores.iter().enumerate() {
            drive_sheet::sheet(&mut out, report, route, bore, &format!("r{n}b{i}"));
        }
        at_pits(&mut out, route, n);
        put!(out, "<h3>Quantities and costs beside open trench</h3>");
        money::table(&mut out, report, route);
        beside_trench::tables(&mut out, route);
    }
    out.push_str("</section>");
    let bores = route.bores.iter().enumerate();
    let part = |(i, bore): (usize, &Bore)| {
        let name = words(tail(&bore.bore_id, &route.route_id));
        (format!("r{n}b{i}"), name)
    };
    Chapter {
        id: format!("r{n}"),
        file: format!("route-{}", file_name(n, route)),
        title,
        about: about(route),
        parts: bores.map(part).collect(),
        html: out,
    }
}

/// A line for the contents.
fn about(route: &RouteSheet) -> String {
    if !route.planned {
        return "no plan was found".to_string();
    }
    let length: f64 = route.bores.iter().map(|b| b.length_m).sum();
    format!(
        "{} m; {}; {}",
        number(length, 1),
        counts(route.conflicts.iter()),
        several(route.holes.len(), "test hole")
    )
}

fn summary(out: &mut String, report: &Report, route: &RouteSheet) {
    let sum = |of: fn(&Bore) -> f64| route.bores.iter().map(of).sum::<f64>();
    let manholes = route.pits.iter().filter(|p| p.manhole).count();
    let total = |method: &str| {
        route
            .costs
            .iter()
            .filter(|c| c.method == method)
            .map(|c| c.amount)
            .sum::<f64>()
    };
    put!(
        out,
        "<p>{}, {manholes} of them with a manhole; {}, {} m; {} crew days of boring. {}; {}. Cost {} beside {} in open trench ({}).</p>",
        several(route.pits.len(), "pit"),
        several(route.bores.len(), "bore"),
        number(sum(|b| b.length_m), 1),
        number(sum(|b| b.days), 1),
        counts(route.conflicts.iter()),
        several(route.holes.len(), "test hole"),
        coins(total("bore")),
        coins(total("trench")),
        words(&report.head.job.costs.currency)
    );
}

fn figure(out: &mut String, svg: &str, name: &str) {
    put!(
        out,
        "<figure><div class=\"pane\" tabindex=\"0\" role=\"group\" aria-label=\"{name}\">{svg}</div></figure>"
    );
}

fn sections(out: &mut String, route: &RouteSheet, n: usize, shared: &Shared) {
    out.push_str("<h3>Long sections</h3>");
    for (i, run) in route.runs().into_iter().enumerate() {
        let id = format!("r{n}s{i}");
        let Some(section) = section(route, &run, shared, &id, Room::SECTION) else {
            put!(
                out,
                "<p>Run {}: no long section, since the file has no chainage for its pits.</p>",
                words(&run[0].run_id)
            );
            continue;
        };
        let name = format!("run {}", label(&run[0].run_id));
        put!(out, "<h4>Run {}</h4>", words(&run[0].run_id));
        figure(out, &section.svg, &format!("Long section, {name}"));
        section_table::table(out, &name, &section.stations);
    }
}

/// What the pits come near.
fn at_pits(out: &mut String, route: &RouteSheet, n: usize) {
    let met: Vec<_> = route
        .conflicts
        .iter()
        .filter(|c| c.pit_id.is_some())
        .collect();
    if met.is_empty() {
        return;
    }
    put!(
        out,
        "<h3 id=\"r{n}pits\">What the pits come near</h3><div class=\"wide\" tabindex=\"0\" role=\"region\" aria-label=\"What the pits of route {} come near\"><table><caption>Clearances in plan from the footprint</caption><thead><tr><th scope=\"col\">Pit</th><th scope=\"col\">What</th><th scope=\"col\">Clearance m</th><th scope=\"col\">Required m</th><th scope=\"col\">Margin m</th><th scope=\"col\">Verdict</th></tr></thead><tbody>",
        label(&route.route_id)
    );
    for c in met {
        let what = c.kind.as_deref().unwrap_or(&c.obstacle);
        put!(
            out,
            "<tr><th scope=\"row\">{}</th><td>{}, {}</td><td>{}</td><td>{}</td><td>{}</td><td>{}</td></tr>",
            words(c.pit_id.as_deref().unwrap_or_default()),
            words(what),
            source(c),
            number(c.clearance_m, 2),
            number(c.required_m, 2),
            number(c.margin_m, 2),
            drive_sheet::verdict(&c.verdict)
        );
    }
    out.push_str("</tbody></table></div>");
}

fn without_plan(out: &mut String, route: &RouteSheet) {
    out.push_str("<p class=\"noplan\"><strong>No plan was found for this route.</strong></p><ul>");
    for b in &route.blockers {
        let whose = match (&b.source_layer, b.source_fid) {
            (Some(layer), Some(fid)) => format!("; closed by {} fid {fid}", words(layer)),
            _ => String::new(),
        };
        let why = match b.why.as_str() {
            "levels" => "no levels keep all rules".to_string(),
            "gap" => "no pits that may be dug bridge it, whatever the levels".to_string(),
            other => words(other),
        };
        let cure = b.remedies.as_deref().filter(|r| !r.is_empty());
        let cure = cure.map_or(String::new(), |r| {
            format!("; each alone would give it a plan: {}", words(r))
        });
        put!(
            out,
            "<li>Chainage {} to {} m: {why}{whose}{cure}</li>",
            number(b.from_chainage_m, 1),
            number(b.to_chainage_m, 1)
        );
    }
    out.push_str("</ul>");
}

/// Plans and long sections as files, each whole in itself, by route and run.
pub fn drawings(report: &Report) -> Vec<Piece> {
    let shared = Shared::of(report);
    let mut all = vec![];
    for (n, route) in report.routes.iter().enumerate() {
        let name = file_name(n, route);
        if let Some(plan) = plan(report, route, "plan", Room::PLAN) {
            all.push(Piece {
                name: format!("{name}-plan.svg"),
                text: alone(&plan.svg),
            });
        }
        for (i, run) in route.runs().into_iter().enumerate() {
            if let Some(section) = section(route, &run, &shared, "section", Room::SECTION) {
                all.push(Piece {
                    name: format!("{name}-section-{:02}.svg", i + 1),
                    text: alone(&section.svg),
                });
            }
        }
    }
    all
}

/// Number, which makes it unlike every other, and what a file system can hold of the id.
pub fn file_name(n: usize, route: &RouteSheet) -> String {
    format!("{:04}-{}", n + 1, slug(&route.route_id))
}

/// With its style in it, so that it needs no page around.
fn alone(svg: &str) -> String {
    let style = format!("<style>{}</style><title ", plain_style());
    format!("{}\n{MARK}", svg.replacen("<title ", &style, 1))
}

/// Letters and digits of an id, for the name of a file.
fn slug(id: &str) -> String {
    let plain = |c: char| {
        if c.is_ascii_alphanumeric() {
            c.to_ascii_lowercase()
        } else {
            '-'
        }
    };
    let slug: String = id.chars().take(40).map(plain).collect();
    let slug = slug.trim_matches('-');
    if slug.is_empty() {
        "route".to_string()
    } else {
        slug.to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_name_holds_nothing_that_a_file_system_minds() {
        assert_eq!(slug("../../etc/passwd"), "etc-passwd");
        assert_eq!(slug("<é>"), "route");
        assert!(slug(&"x".repeat(900)).len() <= 40);
    }
}
