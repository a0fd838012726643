//! `plan`: read, plan, write, say.

use super::{
    args::Plan as Args,
    document::{self, PlanDocument},
    exit::{Exit, Failure},
    joins, levels, pipes,
    progress::Progress,
    register,
    request::JobRequest,
    say,
    stages::Stages,
    what_if,
};
use crate::{
    job::{Job, JobFile},
    pits::Access,
    plan::{self, Plan},
    read::{self, Need, Reading},
    write::{self, RunRecord, Target},
};

/// Plans a site.
pub fn plan(args: &Args) -> Result<Exit, Failure> {
    if let Some(asked) = &args.what_if {
        return what_if::what_if(args, asked);
    }
    let talk = &args.site.talk;
    let stages = Stages::new(Progress::new(talk));
    stages.begin("reading");
    let request = JobRequest::of_site(&args.site)?;
    let target = target(args);
    if target.file().exists() {
        write::may_write(&target, &layer_names(), args.replace)?;
    }
    register::check(&args.register, args.replace)?;
    let reading = read(args, &request, &[&request.file.job], &stages)?;
    pipes::check(&reading, &request.file)?;
    joins::check(&reading, &request.file)?;
    let number = args.alternatives.unwrap_or(0) as usize;
    let plan = plan::plan_with_alternatives(&reading.site, &request.file.job, number, &stages);
    stages.begin("writing");
    let warnings = warnings(&request, &reading, &plan);
    let run = record(&request, &reading, &plan, &warnings);
    let tables = write::plan_tables(&plan);
    let about = register::about(
        request.file.job.name.as_deref(),
        &args.site.site,
        &reading.crs,
    );
    let rows = (&plan.conflicts[..], &plan.test_holes[..]);
    let staged = register::stage(&args.register, args.replace, &about, rows)?;
    let layers = write::layers(&target, &reading.crs, &tables, &run, args.replace)?;
    let written = staged.publish()?;
    stages.end();
    let file = target.file().display().to_string();
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
            register: &written,
            warnings: &warnings,
        };
        say::document(&document.json(&stages.spent(), stages.seconds()));
    } else if !talk.quiet {
        say::text(&say::plan(
            &plan,
            &request.file.job.costs.currency,
            &layers,
            &file,
            &written,
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
    let target = match &args.out {
        Some(out) => Target::out(&args.site.site, out),
        None => Target::site(&args.site.site),
    };
    Target {
        styles: !args.no_styles,
        ..target
    }
}

fn layer_names() -> Vec<&'static str> {
    write::plan_tables(&Plan::default())
        .iter()
        .map(|t| t.name)
        .collect()
}

/// The site near its routes, for any of these jobs; with every obstacle, where those near leave open who gets where.
pub fn read(
    args: &Args,
    request: &JobRequest,
    jobs: &[&Job],
    stages: &Stages,
) -> Result<Reading, Failure> {
    let around_m = jobs.iter().map(|j| around_m(j)).fold(0.0, f64::max);
    let near = read_around(args, request, (around_m, false), stages)?;
    if jobs.iter().all(|j| Access::settled(&near.site, j)) {
        Ok(near)
    } else {
        read_around(args, request, (around_m, true), stages)
    }
}

fn read_around(
    args: &Args,
    request: &JobRequest,
    (around_m, all_obstacles): (f64, bool),
    stages: &Stages,
) -> Result<Reading, Failure> {
    let job = &request.file.job;
    let wanted = read::Request {
        layers: &request.file.layers,
        base: request.folder(),
        crs: job.crs.as_deref(),
        around_m,
        all_obstacles,
        need: Need::Plan,
    };
    let reading = read::site(&args.site.site, &wanted, &mut |p| stages.read(&p));
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
    let mut out = warnings_of_input(&request.file, reading);
    out.extend(plan.warnings.iter().cloned());
    out
}

/// What is to be said of job and site, whatever the plan.
pub fn warnings_of_input(job: &JobFile, reading: &Reading) -> Vec<String> {
    let read = reading
        .faults
        .iter()
        .map(|f| format!("{f}; {}", f.remedy()));
    let of_site = reading.site.services.iter().map(|s| s.quality);
    let of_records = reading.records.all.iter().map(|r| r.quality);
    let levels = levels::warnings(job, &of_site.chain(of_records).collect::<Vec<_>>());
    let job = job.warnings().iter().cloned();
    job.chain(read).chain(levels).collect()
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
