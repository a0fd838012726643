//! What is kept of a file while it is shown: what it is about, every bore, and for a plan all that a report has.

use super::checked;
use crate::{
    cli::{
        args::{Report as ReportArgs, View as Args},
        check,
        exit::Failure,
        kept_job::{kept_job, noted, site_around},
        report::{self, files::name, no_results},
    },
    job::{JobFile, LayerSource, Role},
    read::{
        self, CrsInfo, Need, Request, ResultRow, Results, Sight, Trust, bores_seen, results_seen,
        site_seen,
    },
    report::{Report, marks::colour_class},
    view::{About, Listed, MOST_SIGNS, MOST_THINGS, NotDrawn, Seen, Thing, planned_bore},
};
use geo::Coord;
use serde_json::Value as Json;
use std::{
    collections::BTreeMap,
    path::{Path, PathBuf},
};

/// Most bores that are known by name.
const MOST_BORES: usize = 100_000;
const OF_A_PLAN: [&str; 5] = [
    "route_blockers",
    "proposed_pits",
    "proposed_bores",
    "bore_conflicts",
    "test_holes",
];
const OF_A_CHECK: [&str; 3] = ["bore_conflicts", "test_holes", "bore_inspections"];

/// What is shown of a file.
pub struct Loaded {
    /// What the page says of it.
    pub about: About,
    site: PathBuf,
    around: PathBuf,
    job: JobFile,
    /// Folder of the job file.
    base: Option<PathBuf>,
    /// The job's system, as a code or well-known text.
    crs: String,
    result: Shown,
    trust: Trust,
}

/// Whose result it is.
enum Shown {
    /// A plan's.
    Plan(Box<Report>),
    /// A check's, of the lines of this layer where it was found.
    Check(Option<LayerSource>),
}

/// Reads what is kept. Whose rows they are, a plan's or a check's, the file's list of runs says.
pub fn load(args: &Args) -> Result<Loaded, Failure> {
    let results = Results::open(&args.site)?;
    match results.last_run_of("bore_conflicts")? {
        Some(run) if run.text("command").as_deref() == Some("check") => {
            of_check(args, &results, &run)
        }
        run => of_plan(args, &results, run.as_ref()),
    }
}

/// The system of a layer, and the job that it was made with.
fn made_in(args: &Args, results: &Results, layer: &str) -> Result<(JobFile, CrsInfo), Failure> {
    let crs = read::layer_crs(&args.site, layer)?;
    let crs = crs.ok_or_else(|| no_results(&args.site, layer))?;
    let (job, _) = kept_job(args.job.as_deref(), &args.site, results, layer)?;
    Ok((job, crs))
}

fn of_plan(args: &Args, results: &Results, run: Option<&ResultRow>) -> Result<Loaded, Failure> {
    let asked = ReportArgs {
        site: args.site.clone(),
        around: args.around.clone(),
        job: args.job.clone(),
        ..ReportArgs::default()
    };
    let report = report::of_plan(&asked, results)?;
    let warnings = report.head.warnings.clone();
    let mut missing = vec![];
    if let Err(why) = &report.around {
        missing.push(format!(
            "What lies around could not be read ({why}): its depths are not in the sections. Where the plan stands in a file of its own, name the site that was planned with --around."
        ));
    }
    let made_in = made_in(args, results, "proposed_bores")?;
    let result = Shown::Plan(Box::new(report));
    finish(
        args,
        results,
        (made_in, result),
        ("Plan", run),
        [warnings, missing],
    )
}

fn of_check(args: &Args, results: &Results, run: &ResultRow) -> Result<Loaded, Failure> {
    let (job, crs) = made_in(args, results, "bore_conflicts")?;
    let bores = match &args.bores {
        Some(typed) => Some(check::source(Some(typed), &job)),
        None => noted_bores(&args.site, run, &job),
    };
    let mut missing = vec![];
    if bores.is_none() {
        missing.push("The bores that were checked are not drawn: the file that held them is not where it was. Name them with --bores FILE:LAYER.".to_string());
    }
    let result = Shown::Check(bores);
    finish(
        args,
        results,
        ((job, crs), result),
        ("Check", Some(run)),
        [warned(run), missing],
    )
}

/// The layer of bores that a check noted, from its file: where it was, else beside the results.
fn noted_bores(site: &Path, run: &ResultRow, job: &JobFile) -> Option<LayerSource> {
    let (file, layer) = noted(site, run, Role::Bores)?;
    let of_job = job.layers.by_role.get(&Role::Bores);
    Some(LayerSource {
        table: Some(layer),
        file: std::path::absolute(file).ok(),
        ..of_job.and_then(|l| l.first()).cloned().unwrap_or_default()
    })
}

/// What a run warned of.
fn warned(run: &ResultRow) -> Vec<String> {
    let summary: Option<Json> = run
        .text("summary_json")
        .and_then(|t| serde_json::from_str(&t).ok());
    let summary = summary.unwrap_or_default();
    let all = summary["warnings"].as_array().into_iter().flatten();
    all.filter_map(|w| w.as_str().map(String::from)).collect()
}

fn finish(
    args: &Args,
    results: &Results,
    ((job, crs), result): ((JobFile, CrsInfo), Shown),
    (what, run): (&str, Option<&ResultRow>),
    [warnings, missing]: [Vec<String>; 2],
) -> Result<Loaded, Failure> {
    let file = name(&args.site);
    let when = run.and_then(|r| r.text("finished_at"));
    let when = when.map_or(String::new(), |w| format!(" of {w}"));
    let system = crs.authority.as_deref().unwrap_or(&crs.name);
    let about = About {
        title: job.job.name.clone().unwrap_or_else(|| file.clone()),
        origin: format!(
            "{what}{when}, from {file}. Coordinates in {system}, {}; levels and all other lengths in metres.",
            crs.unit_name
        ),
        warnings,
        code: colour_class(&job.job),
        unit_m: crs.unit_m,
        missing,
        ..About::default()
    };
    let base = args.job.as_deref().and_then(Path::parent);
    let base = base.filter(|b| !b.as_os_str().is_empty());
    let mut loaded = Loaded {
        about,
        site: args.site.clone(),
        around: site_around(args.around.as_deref(), &args.site, run),
        base: base.map(Path::to_path_buf),
        crs: crs.authority.clone().unwrap_or_else(|| crs.wkt.clone()),
        job,
        result,
        trust: Trust::default(),
    };
    loaded.list(results, crs.unit_m)?;
    Ok(loaded)
}

impl Loaded {
    /// Every file that is read.
    pub fn files(&self) -> Vec<PathBuf> {
        let mut all = vec![self.site.clone(), self.around.clone()];
        let beside = self.around.parent().unwrap_or(Path::new(""));
        let base = self.base.as_deref().unwrap_or(beside);
        let named = self.job.layers.by_role.values().flatten();
        let checked = match &self.result {
            Shown::Check(layer) => layer.as_ref(),
            Shown::Plan(_) => None,
        };
        let files = named.chain(checked).filter_map(|l| l.file.as_ref());
        all.extend(files.map(|f| base.join(f)));
        all
    }

    fn request(&self) -> Request<'_> {
        Request {
            layers: &self.job.layers,
            base: self.base.as_deref(),
            crs: None,
            around_m: 0.0,
            all_obstacles: false,
            need: Need::Plan,
        }
    }

    /// Every bore, and the extent of all.
    fn list(&mut self, results: &Results, unit_m: f64) -> Result<(), Failure> {
        let everything = Sight {
            crs: &self.crs,
            window: None,
            most: MOST_BORES,
            trust: &self.trust,
        };
        let seen = self.bores_in(&everything)?;
        let mut bores = vec![];
        for layer in seen {
            match layer.things {
                Ok(things) => bores.extend(things),
                Err(NotDrawn::TooMany) => self.about.missing.push(format!(
                    "There are more than {MOST_BORES} bores: they are on the map alone and have no page."
                )),
                Err(NotDrawn::Unreadable(why)) => self.about.missing.push(why),
            }
        }
        self.about.extent = extent(results, unit_m, &bores)?;
        let tally = results.tally("bore_conflicts", "bore_id", "verdict")?;
        self.about.bores = listed(&bores, tally);
        Ok(())
    }

    fn bores_in(&self, sight: &Sight) -> Result<Vec<Seen>, Failure> {
        Ok(match &self.result {
            Shown::Plan(_) => results_seen(&self.site, &["proposed_bores"], sight)?,
            Shown::Check(None) => vec![],
            Shown::Check(Some(layer)) => {
                vec![bores_seen(&self.around, &self.request(), layer, sight)?]
            }
        })
    }

    /// What the page counts places from (metres of the job).
    pub fn origin(&self) -> Coord<f64> {
        let [x, y, ..] = self.about.extent;
        Coord { x, y }
    }

    /// What lies in a window, the site first, what was found on top.
    pub fn seen(&self, window: [Coord<f64>; 2]) -> Result<Vec<Seen>, Failure> {
        let sight = |most| Sight {
            crs: &self.crs,
            window: Some(window),
            most,
            trust: &self.trust,
        };
        let (things, signs) = (sight(MOST_THINGS), sight(MOST_SIGNS));
        let mut all = site_seen(&self.around, &self.request(), &things)?;
        let results: &[&'static str] = match &self.result {
            Shown::Plan(_) => &OF_A_PLAN,
            Shown::Check(_) => {
                all.extend(self.bores_in(&signs)?);
                &OF_A_CHECK
            }
        };
        all.extend(results_seen(&self.site, results, &signs)?);
        Ok(all)
    }

    /// The page of a bore; none where there is no such bore.
    pub fn bore(&self, fid: i64) -> Result<Option<String>, Failure> {
        let Some(bore) = self.about.bores.iter().find(|b| b.fid == fid) else {
            return Ok(None);
        };
        match &self.result {
            Shown::Plan(report) => Ok(planned_bore(report, &bore.bore_id)),
            Shown::Check(_) => checked::page(&self.site, &bore.bore_id).map(Some),
        }
    }
}

fn listed(bores: &[Thing], tally: Vec<(String, String, u64)>) -> Vec<Listed> {
    let mut verdicts: BTreeMap<String, [u64; 4]> = BTreeMap::new();
    for (bore, verdict, n) in tally {
        let place = ["clash", "prove", "watch", "clear"];
        // A word that is none of them says that nobody knows: it is to be proved.
        let i = place.iter().position(|v| *v == verdict).unwrap_or(1);
        verdicts.entry(bore).or_default()[i] += n;
    }
    let one = |t: &Thing| {
        let bore_id = match t.word("bore_id") {
            "" => format!("B{}", t.fid),
            id => id.to_string(),
        };
        Listed {
            fid: t.fid,
            verdicts: verdicts.get(&bore_id).copied().unwrap_or_default(),
            route_id: t.word("route_id").to_string(),
            extent: around(t.vertices().map(|p| [p.x, p.y])).unwrap_or_default(),
            bore_id,
        }
    };
    bores.iter().map(one).collect()
}

/// West, south, east, north of everything found, in whole metres; as the file states it for its layers.
fn extent(results: &Results, unit_m: f64, bores: &[Thing]) -> Result<[f64; 4], Failure> {
    let mut all: Vec<[f64; 2]> = vec![];
    for layer in OF_A_PLAN {
        for row in results.rows("gpkg_contents", "table_name", layer)? {
            let corner = |x, y| Some([row.number(x)? * unit_m, row.number(y)? * unit_m]);
            all.extend(corner("min_x", "min_y"));
            all.extend(corner("max_x", "max_y"));
        }
    }
    all.extend(bores.iter().flat_map(Thing::vertices).map(|p| [p.x, p.y]));
    let [x0, y0, x1, y1] = around(all).unwrap_or([0.0, 0.0, 100.0, 100.0]);
    Ok([x0.floor(), y0.floor(), x1.ceil(), y1.ceil()])
}

/// West, south, east, north of places; none of none.
fn around(places: impl IntoIterator<Item = [f64; 2]>) -> Option<[f64; 4]> {
    places.into_iter().fold(None, |b, [x, y]| {
        let [x0, y0, x1, y1] = b.unwrap_or([x, y, x, y]);
        Some([x0.min(x), y0.min(y), x1.max(x), y1.max(y)])
    })
}
