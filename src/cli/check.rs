//! `check`: read, check, compare, write, say.

use super::{
    args::Check as Args,
    document::{self, CheckDocument},
    exit::{Exit, Failure},
    progress::Progress,
    register::{self, Staged, Written},
    request::JobRequest,
    route_fault::of_feature,
    say,
    stages::Stages,
};
use crate::{
    check::{self, Bores, Change, Changes, Checked, CheckedBore, Earlier, Report},
    clearance::Verdict,
    job::{Job, JobFile, LayerSource, Role, UnknownDepth},
    plan::{Conflict, Obstacle},
    read::{self, Need, Reading, Which},
    register::About,
    site::{CrsInfo, Quality, Records, Site},
    write::{self, RunRecord, Target},
};
use rayon::prelude::*;
use std::path::{Path, PathBuf};

/// Nothing that a bore may touch reaches farther beyond its own line than this (m): half of a tunnel, and the error of a
/// drive of kilometres.
const WIDEST_M: f64 = 10.0;

/// A service whose location is the less certain the deeper it lies is looked for as if no such lay deeper (m).
const DEEPEST_M: f64 = 100.0;

/// Checks the bores of a layer.
pub fn check(args: &Args) -> Result<Exit, Failure> {
    let talk = &args.site.talk;
    let stages = Stages::new(Progress::new(talk));
    stages.begin("reading");
    let request = JobRequest::of_site(&args.site)?;
    let target = target(args);
    if target.file().exists() {
        write::may_write(&target, &layer_names(), args.replace)?;
    }
    register::check(&args.register, args.replace)?;
    let before = earlier(args, &target)?;
    let mut reading = read(args, &request, &stages)?;
    some_are_usable(&reading)?;
    let bores = bores(&mut reading, &request.file)?;
    let checked = check::check(
        &reading.site,
        &reading.records,
        &bores,
        &request.file.job,
        &stages,
    );
    let report = Report {
        checked: &checked,
        bores: &bores,
        site: &reading.site,
        records: &reading.records,
    };
    let changes = before
        .map(|b| compare(b, &report, &reading.crs, &stages))
        .transpose()?;
    let warnings = warnings(&request.file, &reading, &bores);
    stages.begin("writing");
    let rows: &[Change] = changes.as_ref().map_or(&[], |c| &c.rows);
    let tables = write::check_tables(&report, rows);
    let told = document::Told {
        report,
        changes: changes.as_ref(),
        warnings: &warnings,
    };
    let run = record(&request, &reading, &told);
    let about = register::about(
        request.file.job.name.as_deref(),
        &args.site.site,
        &reading.crs,
    );
    let staged = stage_register(args, &about, &report)?;
    let layers = write::layers(&target, &reading.crs, &tables, &run, args.replace)?;
    let written = staged.map_or(Ok(Written::default()), Staged::publish)?;
    stages.end();
    let file = target.file().display().to_string();
    if talk.json {
        let document = CheckDocument {
            told,
            crs: reading
                .crs
                .authority
                .as_deref()
                .unwrap_or(&reading.crs.name),
            layers: &layers,
            file: &file,
            register: &written,
        };
        say::document(&document.json(&stages.spent(), stages.seconds()));
    } else if !talk.quiet {
        say::text(&say::check(&told, &layers, (&file, &written)));
    }
    let exit = exit(&checked, &request.file.job);
    // The process ends here: to give back a city piece by piece would only take time.
    drop(tables);
    std::mem::forget((checked, bores, reading));
    Ok(exit)
}

/// The register and letters, where they are asked for: only then are a city's rows put into words twice.
fn stage_register(args: &Args, about: &About, report: &Report) -> Result<Option<Staged>, Failure> {
    if args.register.register.is_none() && args.register.letters.is_none() {
        return Ok(None);
    }
    let of_service = |i: &usize| report.checked.found[*i].obstacle == Obstacle::Service;
    let rows = (0..report.checked.found.len()).filter(of_service);
    let conflicts: Vec<Conflict> = rows.map(|i| report.conflict(i, None)).collect();
    let holes = (0..report.checked.holes.len()).map(|i| report.hole(i, None));
    let rows = (&conflicts[..], &holes.collect::<Vec<_>>()[..]);
    register::stage(&args.register, args.replace, about, rows).map(Some)
}

/// A clash needs attention, and so does what is to be proved where the job says to avoid it.
fn exit(checked: &Checked, job: &Job) -> Exit {
    let avoid = job.rules.unknown_depth == UnknownDepth::Avoid;
    match checked.count(Verdict::Clash) > 0 || avoid && checked.count(Verdict::Prove) > 0 {
        true => Exit::Attention,
        false => Exit::Done,
    }
}

fn target(args: &Args) -> Target {
    match &args.out {
        Some(out) => Target::out(&args.site.site, out),
        None => Target::site(&args.site.site),
    }
}

fn layer_names() -> Vec<&'static str> {
    let (checked, bores, site, records) = (
        Checked::default(),
        Bores::default(),
        Site::default(),
        Records::default(),
    );
    let report = Report {
        checked: &checked,
        bores: &bores,
        site: &site,
        records: &records,
    };
    write::check_tables(&report, &[])
        .iter()
        .map(|t| t.name)
        .collect()
}

/// An earlier check, and where it was read from.
struct Before {
    rows: Vec<Earlier>,
    crs: Option<CrsInfo>,
    file: PathBuf,
}

/// The rows of an earlier check, where one is to be compared with: they must be read before they are written over.
fn earlier(args: &Args, target: &Target) -> Result<Option<Before>, Failure> {
    let (file, which) = match (&args.against, args.since) {
        (Some(file), _) => (file.clone(), Which::Last),
        (None, Some(run_id)) if target.file().exists() => {
            (target.file().to_path_buf(), Which::Run(run_id))
        }
        (None, Some(run_id)) => (args.site.site.clone(), Which::Run(run_id)),
        (None, None) => return Ok(None),
    };
    let (rows, crs) = read::earlier(&file, which)?;
    Ok(Some(Before { rows, crs, file }))
}

fn compare(
    before: Before,
    report: &Report,
    crs: &CrsInfo,
    stages: &Stages,
) -> Result<Changes, Failure> {
    stages.begin("comparing");
    let same =
        |b: &CrsInfo| b.authority.is_some() && b.authority == crs.authority || b.wkt == crs.wkt;
    if let Some(other) = before.crs.as_ref().filter(|b| !same(b)) {
        let message = format!(
            "{}: bore_conflicts: is in {}, this check in {}; check the earlier bores again in this system",
            before.file.display(),
            other.name,
            crs.name
        );
        return Err(Failure::of_file(Exit::Input, before.file, message));
    }
    let now = (0..report.checked.found.len()).filter_map(|i| Earlier::of(report.conflict(i, None)));
    Ok(check::changes(&before.rows, &now.collect::<Vec<_>>()))
}

fn read(args: &Args, request: &JobRequest, stages: &Stages) -> Result<Reading, Failure> {
    let job = &request.file.job;
    let wanted = read::Request {
        layers: &request.file.layers,
        base: request.folder(),
        crs: job.crs.as_deref(),
        around_m: around_m(job),
        all_obstacles: false,
        need: Need::Check(source(args.bores.as_deref(), &request.file)),
    };
    Ok(read::site(&args.site.site, &wanted, &mut |p| {
        stages.read(&p)
    })?)
}

/// How far around the bores a site is read (m).
fn around_m(job: &Job) -> f64 {
    let rules = &job.rules;
    let asked = rules
        .clearance
        .values()
        .map(|c| c.crossing_m.max(c.parallel_m));
    let apart = rules.separation.values().map(|s| s.horizontal_m);
    let asked = asked
        .chain(apart)
        .fold(rules.clearance_building_m, f64::max)
        + rules.watch_margin_m.max(0.0);
    let limits = Quality::ALL
        .iter()
        .map(|level| rules.limits(*level, Some(DEEPEST_M)));
    let located = limits.map(|l| l.horizontal_m.max(l.vertical_m));
    WIDEST_M
        + job
            .watch_distance_m
            .max(asked + located.fold(0.0, f64::max))
}

/// The layer that holds the bores: as typed, with the columns that the job names; else the job's.
pub(super) fn source(typed: Option<&str>, file: &JobFile) -> LayerSource {
    let named = file
        .layers
        .by_role
        .get(&Role::Bores)
        .and_then(|l| l.first());
    let mut source = named.cloned().unwrap_or_default();
    let Some(typed) = typed else {
        if source.file.is_none() && source.table.is_none() {
            source.table = Some(Role::Bores.name().to_string());
        }
        return source;
    };
    // A path typed at the command line is relative to where it was typed.
    let here = |path: &str| std::path::absolute(path).unwrap_or_else(|_| path.into());
    (source.file, source.table) = match typed.rsplit_once(':') {
        Some((path, layer)) if !path.is_empty() => (
            Some(here(path)),
            Some(layer.to_string()).filter(|l| !l.is_empty()),
        ),
        _ if Path::new(typed).is_file() => (Some(here(typed)), None),
        _ => (None, Some(typed.to_string())),
    };
    source
}

/// Where nothing of the layer can be checked it is the wrong layer: no conflicts would read as if nothing were near.
///
/// A layer without features is what it is.
fn some_are_usable(reading: &Reading) -> Result<(), Failure> {
    let of_bores = |i: &&read::Input| i.role == Role::Bores;
    let Some(input) = reading.inputs.iter().find(of_bores) else {
        return Ok(());
    };
    let mut faults = (reading.faults.iter())
        .filter(|f| f.place.layer.as_deref() == Some(&input.layer))
        .filter(|f| f.place.file.as_deref() == Some(&input.file));
    let (true, Some(first)) = (reading.bores.is_empty(), faults.next()) else {
        return Ok(());
    };
    let message = format!(
        "{}: no bore of layer {} can be checked ({first}); name a layer of lines with --bores",
        input.file.display(),
        input.layer
    );
    Err(Failure {
        layer: Some(input.layer.clone()),
        fid: first.place.fid,
        ..Failure::of_file(Exit::Input, &input.file, message)
    })
}

/// The bores, made ready; what was read of them is used up.
fn bores(reading: &mut Reading, file: &JobFile) -> Result<Bores, Failure> {
    let given = std::mem::take(&mut reading.bores);
    Bores::new(given, &file.job).map_err(|fault| {
        let what = format!(
            "DN {}: no diameter is known; give od_mm and id_mm in the layer, or under [pipe.sizes.{}] of the job",
            fault.dn_mm, fault.dn_mm
        );
        of_feature(reading, file, (Role::Bores, &fault.at), "dn_mm", &what)
    })
}

fn warnings(file: &JobFile, reading: &Reading, bores: &Bores) -> Vec<String> {
    let mut out = super::plan::warnings_of_input(file, reading);
    let lost = bores.without_length.iter();
    out.extend(lost.map(|at| format!("{at}: the bore has no length and was not checked")));
    out.extend(shared_ids(bores));
    out
}

/// Of each `bore_id` that several bores have.
fn shared_ids(bores: &Bores) -> Vec<String> {
    let rising = |pair: &[CheckedBore]| pair[0].bore_id < pair[1].bore_id;
    if bores.all.par_windows(2).all(rising) {
        return vec![];
    }
    let ids = bores.all.par_iter();
    let mut ids: Vec<(&str, i64)> = ids.map(|b| (b.bore_id.as_str(), b.at.fid)).collect();
    ids.par_sort_unstable();
    ids.dedup();
    let twice = ids
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|same| same.len() > 1);
    let said = twice.map(|same| {
        let fids: Vec<String> = same.iter().map(|s| s.1.to_string()).collect();
        format!(
            "bore_id {} is that of several bores (fid {}); give each its own",
            same[0].0,
            fids.join(", ")
        )
    });
    said.collect()
}

fn record(request: &JobRequest, reading: &Reading, told: &document::Told) -> RunRecord {
    RunRecord {
        command: "check".to_string(),
        version: document::VERSION.to_string(),
        finished_at: jiff::Timestamp::now(),
        job_json: document::job(&request.file).to_string(),
        inputs_json: document::inputs(&reading.inputs).to_string(),
        summary_json: document::check_summary(told).to_string(),
    }
}
