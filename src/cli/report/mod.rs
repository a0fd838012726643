//! `report`: reads the rows of a plan back and writes the page, and drawings where asked.

mod around;
pub(super) mod files;
mod rows;
mod sheets;

use super::{
    args::Report as Args,
    document,
    exit::{Exit, Failure},
    kept_job::kept_job,
    say,
};
use crate::{
    job::JobFile,
    read::{self, CrsInfo, Results},
    report::{self, Input, Place, Report},
};
use files::Staged;
use serde_json::Value as Json;
use std::path::{Path, PathBuf};

/// What was written.
#[derive(Debug)]
pub struct Written {
    /// The page.
    pub page: PathBuf,
    /// Its size (bytes).
    pub bytes: usize,
    /// Routes in it.
    pub routes: usize,
    /// Bores in it.
    pub bores: usize,
    /// Folder of drawings, and how many.
    pub drawings: Option<(PathBuf, usize)>,
    /// What could not be shown.
    pub warnings: Vec<String>,
}

/// Writes a report.
pub fn report(args: &Args) -> Result<Exit, Failure> {
    files::check(&args.output, args.svg.as_deref(), args.replace)?;
    let results = Results::open(&args.site)?;
    let crs = read::layer_crs(&args.site, "proposed_bores")?;
    let crs = crs.ok_or_else(|| no_plan(&args.site))?;
    let (job, _) = kept_job(args.job.as_deref(), &args.site, &results)?;
    let report = gather(args, &results, job, &crs)?;
    let page = report::page(&report);
    let drawings = args.svg.as_ref().map(|_| report::drawings(&report));
    let staged = Staged::new(
        &args.output,
        &page,
        args.svg.as_deref().zip(drawings.as_deref()),
    )?;
    staged.publish()?;
    let missing = report.around.as_ref().err();
    let written = Written {
        page: args.output.clone(),
        bytes: page.len(),
        routes: report.routes.len(),
        bores: report.routes.iter().map(|r| r.bores.len()).sum(),
        drawings: args.svg.clone().zip(drawings.map(|d| d.len())),
        warnings: missing
            .map(|why| around::warning(why))
            .into_iter()
            .collect(),
    };
    if args.talk.json {
        say::document(&document::report(&written));
    } else if !args.talk.quiet {
        say::text(&say::report(&written));
    }
    Ok(Exit::Done)
}

/// Everything about a plan.
pub(super) fn gather(
    args: &Args,
    results: &Results,
    job: JobFile,
    crs: &CrsInfo,
) -> Result<Report, Failure> {
    let run = results.rows("pitwright_runs", "command", "plan")?;
    let run = run.last();
    let kept = |column: &str| run.and_then(|r| r.text(column));
    let json = |column: &str| -> Json {
        let text = kept(column).unwrap_or_default();
        serde_json::from_str(&text).unwrap_or_default()
    };
    let summary = json("summary_json");
    let mut routes = sheets::sheets(&args.site, results, crs.unit_m, &summary)?;
    if let Some(id) = &args.route {
        routes = one(&args.site, id, routes)?;
    }
    let around = around::around(args, &job, crs);
    let words = |of: &Json| of.as_str().map(String::from);
    let warnings = summary["warnings"].as_array().into_iter().flatten();
    Ok(Report {
        title: job
            .job
            .name
            .clone()
            .unwrap_or_else(|| files::name(&args.site)),
        file: files::name(&args.site),
        place: Place {
            crs: crs.authority.clone().unwrap_or_else(|| crs.name.clone()),
            unit_m: crs.unit_m,
            unit_name: crs.unit_name.clone(),
        },
        planned_at: kept("finished_at"),
        planned_by: kept("version"),
        version: document::VERSION.to_string(),
        rules: job.rows(),
        inputs: json("inputs_json")
            .as_array()
            .into_iter()
            .flatten()
            .map(input)
            .collect(),
        warnings: warnings.filter_map(words).collect(),
        routes,
        around,
        job: job.job,
    })
}

fn input(of: &Json) -> Input {
    let word = |key: &str| of[key].as_str().unwrap_or_default().to_string();
    Input {
        layer: word("layer"),
        file: files::name(Path::new(&word("file"))),
        role: word("role"),
        features: of["features"].as_f64().unwrap_or(0.0),
        sha256: word("sha256"),
    }
}

/// The route of that id alone.
fn one(
    site: &Path,
    id: &str,
    routes: Vec<report::RouteSheet>,
) -> Result<Vec<report::RouteSheet>, Failure> {
    let near = |r: &&report::RouteSheet| strsim::jaro_winkler(&r.route_id, id);
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

pub(super) fn no_plan(site: &Path) -> Failure {
    let message = format!(
        "{}: has no layer proposed_bores; run pitwright plan first, or name the file that --out wrote",
        site.display()
    );
    Failure {
        layer: Some("proposed_bores".to_string()),
        ..Failure::of_file(Exit::Input, site, message)
    }
}
