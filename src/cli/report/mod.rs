//! `report`: reads the rows of a plan or a check back and writes pages, and drawings where asked.

mod around;
mod checked;
pub(super) mod files;
mod paper;
mod planned;
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
    read::{self, CrsInfo, ResultRow, Results},
    report::{Book, Head, Input, Layout, Piece, Place, Report},
};
use files::{Kind, Staged};
use serde_json::Value as Json;
use std::path::{Path, PathBuf};

/// A page of more bytes than this is slow to open.
const HEAVY_BYTES: usize = 20_000_000;

/// What was written.
#[derive(Debug, Default)]
pub struct Written {
    /// The page, or the folder of pages, where one was asked for.
    pub place: Option<PathBuf>,
    /// Pages.
    pub pages: usize,
    /// Their size (bytes).
    pub bytes: usize,
    /// What is in it, one and how many: `route`, `bore`, `encounter`, `test hole`.
    pub counts: Vec<(&'static str, usize)>,
    /// Folder of drawings, and how many.
    pub drawings: Option<(PathBuf, usize)>,
    /// PDF, and its sheets.
    pub pdf: Option<(PathBuf, usize)>,
    /// What could not be shown.
    pub warnings: Vec<String>,
}

/// A file with results, opened.
struct Source<'a> {
    args: &'a Args,
    results: &'a Results,
    /// The run that wrote the conflicts.
    run: Option<ResultRow>,
    crs: CrsInfo,
    job: JobFile,
}

/// Writes a report.
pub fn report(args: &Args) -> Result<Exit, Failure> {
    for (kind, place) in places(args) {
        files::check(kind, place, args.replace)?;
    }
    let results = Results::open(&args.site)?;
    let source = Source::of(args, &results)?;
    let written = if source.is_check() {
        checked::write(&source)?
    } else {
        planned::write(&source)?
    };
    if args.talk.json {
        say::document(&document::report(&written));
    } else if !args.talk.quiet {
        say::text(&say::report(&written));
    }
    Ok(Exit::Done)
}

/// Everything that a report has of a plan, for whoever shows it otherwise.
pub(super) fn of_plan(args: &Args, results: &Results) -> Result<Report, Failure> {
    planned::gather(&Source::of(args, results)?)
}

/// Everything asked for.
fn places(args: &Args) -> Vec<(Kind, &Path)> {
    let asked = [
        (Kind::Page, &args.output),
        (Kind::Pages, &args.pages),
        (Kind::Drawings, &args.svg),
        (Kind::Pdf, &args.pdf),
    ];
    let given = asked
        .into_iter()
        .filter_map(|(k, p)| Some((k, p.as_deref()?)));
    given.collect()
}

/// Writes a book where it is asked for, beside its place.
fn stage(args: &Args, staged: &mut Staged, book: &Book) -> Result<Written, Failure> {
    let mut written = Written::default();
    if let Some(place) = &args.output {
        let page = book.page();
        staged.file(Kind::Page, place, page.as_bytes())?;
        (written.place, written.pages, written.bytes) = (Some(place.clone()), 1, page.len());
        if page.len() > HEAVY_BYTES {
            written.warnings.push(format!(
                "the page is of {} megabytes, which browsers open slowly: --pages FOLDER writes an index and pages that are opened as needed",
                page.len() / 1_000_000
            ));
        }
    }
    if let Some(place) = &args.pages {
        let pages: Vec<Piece> = book.pages();
        staged.folder(Kind::Pages, place, &pages)?;
        written.place = Some(place.clone());
        written.pages = pages.len();
        written.bytes = pages.iter().map(|p| p.text.len()).sum();
    }
    Ok(written)
}

impl<'a> Source<'a> {
    fn of(args: &'a Args, results: &'a Results) -> Result<Source<'a>, Failure> {
        let run = results.last_run_of("bore_conflicts")?;
        let command = run.as_ref().and_then(|r| r.text("command"));
        let layer = match command.as_deref() {
            Some("check") => "bore_conflicts",
            _ => "proposed_bores",
        };
        let crs = read::layer_crs(&args.site, layer)?;
        let crs = crs.ok_or_else(|| no_results(&args.site, layer))?;
        let (job, _) = kept_job(args.job.as_deref(), &args.site, results, layer)?;
        Ok(Source {
            args,
            results,
            run,
            crs,
            job,
        })
    }

    fn kept(&self, column: &str) -> Option<String> {
        self.run.as_ref().and_then(|r| r.text(column))
    }

    fn json(&self, column: &str) -> Json {
        serde_json::from_str(&self.kept(column).unwrap_or_default()).unwrap_or_default()
    }

    fn is_check(&self) -> bool {
        self.kept("command").as_deref() == Some("check")
    }

    /// What the report is of; `summary` is the run's.
    fn head(&self, summary: &Json) -> Head {
        let (crs, job) = (&self.crs, &self.job);
        let words = |of: &Json| of.as_str().map(String::from);
        let warnings = summary["warnings"].as_array().into_iter().flatten();
        let warnings: Vec<String> = warnings.filter_map(words).collect();
        let mut told = read::alike(&warnings);
        if told.len() < warnings.len() {
            let n = warnings.len();
            told.push(format!(
                "all {n} of them one by one: pitwright_runs, summary_json"
            ));
        }
        let inputs = self.json("inputs_json");
        let inputs = inputs.as_array().into_iter().flatten();
        let name = job.job.name.clone();
        Head {
            title: name.unwrap_or_else(|| files::name(&self.args.site)),
            file: files::name(&self.args.site),
            place: Place {
                crs: crs.authority.clone().unwrap_or_else(|| crs.name.clone()),
                unit_m: crs.unit_m,
                unit_name: crs.unit_name.clone(),
            },
            made_at: self.kept("finished_at"),
            made_by: self.kept("version"),
            version: document::VERSION.to_string(),
            rules: job.rows(),
            inputs: inputs.map(input).collect(),
            warnings: told,
            job: job.job.clone(),
        }
    }
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

/// How the pages are laid out.
fn layout(args: &Args) -> Layout {
    match args.pages {
        Some(_) => Layout::Folder,
        None => Layout::Page,
    }
}

/// That a file has not the layer, and what to do.
pub(super) fn no_results(site: &Path, layer: &str) -> Failure {
    let message = format!(
        "{}: has no layer {layer}; run pitwright plan or pitwright check first, or name the file that --out wrote",
        site.display()
    );
    Failure {
        layer: Some(layer.to_string()),
        ..Failure::of_file(Exit::Input, site, message)
    }
}
