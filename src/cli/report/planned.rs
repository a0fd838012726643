//! The report of a plan.

use super::{Source, Written, around, files::Staged, layout, paper, sheets, stage};
use crate::{
    cli::exit::{Exit, Failure},
    report::{self, Report, RouteSheet},
};
use std::path::Path;

/// Writes everything that is asked for.
pub fn write(source: &Source) -> Result<Written, Failure> {
    let args = source.args;
    let report = gather(source)?;
    let mut staged = Staged::default();
    let on_paper = paper::stage(args, &report, &mut staged)?;
    let asked = args.output.is_some() || args.pages.is_some();
    let mut written = match asked {
        true => stage(args, &mut staged, &report::plan_book(&report, layout(args)))?,
        false => Written::default(),
    };
    staged.publish()?;
    let bores = report.routes.iter().map(|r| r.bores.len()).sum();
    written.counts = vec![("route", report.routes.len()), ("bore", bores)];
    (written.drawings, written.pdf) = (on_paper.drawings, on_paper.pdf);
    written.warnings.extend(on_paper.lacking);
    let missing = report.around.as_ref().err();
    written
        .warnings
        .extend(missing.map(|why| around::warning(why)));
    Ok(written)
}

/// Everything of a plan.
pub fn gather(source: &Source) -> Result<Report, Failure> {
    let args = source.args;
    let summary = source.json("summary_json");
    let mut routes = sheets::sheets(&args.site, source.results, source.crs.unit_m, &summary)?;
    if let Some(id) = &args.route {
        routes = one(&args.site, id, routes)?;
    }
    Ok(Report {
        head: source.head(&summary),
        routes,
        around: around::around(source),
    })
}

/// The route of that id alone.
fn one(site: &Path, id: &str, routes: Vec<RouteSheet>) -> Result<Vec<RouteSheet>, Failure> {
    let near = |r: &&RouteSheet| strsim::jaro_winkler(&r.route_id, id);
    let nearest = routes.iter().max_by(|a, b| near(a).total_cmp(&near(b)));
    let nearest = nearest.map_or(String::new(), |r| {
        format!("; the nearest is {}", r.route_id)
    });
    let message = format!(
        "{}, layer proposed_bores, column route_id: no route has the id '{id}' given with --route{nearest}",
        site.display()
    );
    let found: Vec<_> = routes.into_iter().filter(|r| r.route_id == id).collect();
    if found.is_empty() {
        return Err(Failure {
            layer: Some("proposed_bores".to_string()),
            column: Some("route_id".to_string()),
            ..Failure::of_file(Exit::Input, site, message)
        });
    }
    Ok(found)
}
