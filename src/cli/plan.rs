//! `plan`: read, plan, write, say.

use super::{
    args::Plan as Args,
    document::{self, PlanDocument},
    exit::{Exit, Failure},
    pipes,
    progress::Progress,
    request::JobRequest,
    say,
};
use crate::{
    job::Job,
    pits::Access,
    plan::{self, Plan},
    read::{self, Need, Reading},
    write::{self, RunRecord, Target},
};
use std::time::Instant;

/// Plans a site.
pub fn plan(args: &Args) -> Result<Exit, Failure> {
    let started = Instant::now();
    let talk = &args.site.talk;
    let request = JobRequest::of_site(&args.site)?;
    let target = target(args);
    if target.file().exists() {
        write::may_write(&target, &layer_names(), args.replace)?;
    }
    let progress = Progress::new(talk);
    let reading = read(args, &request, progress)?;
    pipes::check(&reading, &request.file)?;
    let plan = plan::plan(&reading.site, &request.file.job, &progress);
    let warnings = warnings(&request, &reading, &plan);
    let run = record(&request, &reading, &plan, &warnings);
    let tables = write::plan_tables(&plan);
    let layers = write::layers(&target, &reading.crs, &tables, &run, args.replace)?;
    progress.end();
    let file = target.file().display().to_string();
    let seconds = started.elapsed().as_secs_f64();
    if talk.json {
        let crs = reading
            .crs
            .authority
            .as_deref()
            .unwrap_or(&reading.crs.name);
        let document = PlanDocument {
            plan: &plan,
            crs,
            layers: &layers,
            file: &file,
            warnings: &warnings,
        };
        say::document(&document.json(seconds));
    } else if !talk.quiet {
        say::text(&say::plan(
            &plan,
            &request.file.job.costs.currency,
            &layers,
            &file,
            &warnings,
        ));
    }
    Ok(if plan.routes.iter().all(|r| r.planned) {
        Exit::Done
    } else {
        Exit::Attention
    })
}

fn target(args: &Args) -> Target {
    match &args.out {
        Some(out) => Target::out(&args.site.site, out),
        None => Target::site(&args.site.site),
    }
}

fn layer_names() -> Vec<&'static str> {
    write::plan_tables(&Plan::default())
        .iter()
        .map(|t| t.name)
        .collect()
}

/// The site near its routes; with every obstacle, where those near leave open who gets where.
fn read(args: &Args, request: &JobRequest, progress: Progress) -> Result<Reading, Failure> {
    let near = read_around(args, request, progress, false)?;
    if Access::settled(&near.site, &request.file.job) {
        Ok(near)
    } else {
        read_around(args, request, progress, true)
    }
}

fn read_around(
    args: &Args,
    request: &JobRequest,
    progress: Progress,
    all_obstacles: bool,
) -> Result<Reading, Failure> {
    let job = &request.file.job;
    let wanted = read::Request {
        layers: &request.file.layers,
        base: request.folder(),
        crs: job.crs.as_deref(),
        around_m: around_m(job),
        all_obstacles,
        need: Need::Plan,
    };
    let reading = read::site(&args.site.site, &wanted, &mut |p| {
        progress.show(&p.stage, p.done, p.total)
    });
    Ok(reading?)
}

/// How far around the routes a site is read (m).
///
/// What a bore or pit can touch lies within its corridor and the reach of a foundation's load; the way for a machine from a
/// pit to a street may lead farther, round whole blocks.
fn around_m(job: &Job) -> f64 {
    let spread = job.pits.max_depth_m / job.pits.building_spread_deg.to_radians().tan();
    let near = [job.watch_distance_m, spread, job.pits.building_setback_m]
        .into_iter()
        .fold(0.0, f64::max);
    500.0 + job.search.corridor_m + near
}

fn warnings(request: &JobRequest, reading: &Reading, plan: &Plan) -> Vec<String> {
    let job = request.file.warnings().iter().cloned();
    let read = reading
        .faults
        .iter()
        .map(|f| format!("{f}; {}", f.remedy()));
    job.chain(read)
        .chain(plan.warnings.iter().cloned())
        .collect()
}

fn record(request: &JobRequest, reading: &Reading, plan: &Plan, warnings: &[String]) -> RunRecord {
    RunRecord {
        command: "plan".to_string(),
        version: document::VERSION.to_string(),
        finished_at: jiff::Timestamp::now(),
        job_json: document::job(&request.file).to_string(),
        inputs_json: document::inputs(&reading.inputs).to_string(),
        summary_json: document::plan_summary(plan, warnings).to_string(),
    }
}
