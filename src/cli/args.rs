//! What can be typed.

use crate::{job::Varied, plan::MOST_ALTERNATIVES};
use clap::{Args, Parser, Subcommand, ValueEnum, value_parser};
use std::{num::NonZeroUsize, path::PathBuf};

/// Plans small guided bores for gravity sewers and service pipes in built-up streets.
///
/// Reads a GeoPackage, places pits along each route, solves line and grade, checks every bore and pit against what is
/// recorded in the ground, and writes the proposal back as new layers. Records are not proof: locate and expose
/// services before boring.
#[derive(Debug, Parser)]
#[command(name = "pitwright", version, max_term_width = 100)]
pub struct Cli {
    /// What to do.
    #[command(subcommand)]
    pub command: Command,
}

/// The commands.
#[derive(Debug, Subcommand)]
pub enum Command {
    /// List layers, the role each would play, and every data problem found; change nothing
    Inspect(Inspect),
    /// Write a job file with guessed roles and columns and every setting explained
    Init(Init),
    /// Plan pits, bores and levels, with conflicts, test holes and costs
    Plan(Plan),
    /// Check bores that somebody else designed against what is recorded in the ground
    Check(Check),
    /// Print the engineering checks of a planned bore, pit or conflict with numbers put in
    Explain(Explain),
    /// Write the planned layers for other programs, a drawing, or the setting-out schedule
    Export(Export),
    /// Write pages of a plan or a check: drawings, long sections, drive sheets, conflict register, test holes, costs
    Report(Report),
    /// Show a plan or a check on a map in the browser, served to this machine alone
    View(View),
    /// Print every rule value in force and where it comes from
    Rules(Rules),
    /// Print what a shell needs to complete commands and flags
    Completions(Completions),
    /// Print the manual pages, one after the other
    Manual,
}

/// `completions`.
#[derive(Debug, Args)]
pub struct Completions {
    /// Shell
    #[arg(value_name = "SHELL")]
    pub shell: clap_complete::Shell,
}

/// `view`.
#[derive(Debug, Args)]
pub struct View {
    /// File with the result layers of a plan or a check
    #[arg(value_name = "SITE.gpkg")]
    pub site: PathBuf,
    /// File with streets, lots, buildings and services, where it is neither that of the results nor where they say that it was
    #[arg(long, value_name = "FILE.gpkg")]
    pub around: Option<PathBuf>,
    /// Lines that were checked, as the check named them; without it those that the check noted
    #[arg(long, value_name = "[FILE:]LAYER")]
    pub bores: Option<String>,
    /// Job file; without it the job that the results were made with
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// Port on this machine; without it any that is free
    #[arg(long, value_name = "N", default_value_t = 0)]
    pub port: u16,
    #[command(flatten)]
    pub talk: Talk,
}

/// `report`.
#[derive(Debug, Default, Args)]
pub struct Report {
    /// File with the result layers of a plan or a check
    #[arg(value_name = "SITE.gpkg")]
    pub site: PathBuf,
    /// Page to write
    #[arg(short, long, value_name = "FILE.html", required_unless_present_any = ["pages", "pdf", "svg"])]
    pub output: Option<PathBuf>,
    /// Write an index and pages that are opened as needed instead of one page, for thousands of bores
    #[arg(long, value_name = "FOLDER", conflicts_with = "output")]
    pub pages: Option<PathBuf>,
    /// File with streets, lots, buildings and services, where it is neither that of the results nor where they say that it was
    #[arg(long, value_name = "FILE.gpkg")]
    pub around: Option<PathBuf>,
    /// Job file; without it the job that the results were made with
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// Report of one route alone
    #[arg(long, value_name = "ROUTE_ID")]
    pub route: Option<String>,
    /// Write plans, long sections and drive sheets as SVG files too
    #[arg(long, value_name = "FOLDER")]
    pub svg: Option<PathBuf>,
    /// Write plans and long sections, to a scale, and drive sheets as one PDF too
    #[arg(long, value_name = "FILE.pdf")]
    pub pdf: Option<PathBuf>,
    /// Paper of plans and long sections in the PDF [default: a3]
    #[arg(long, value_enum, value_name = "SIZE", requires = "pdf")]
    pub paper: Option<Paper>,
    /// Typeface with letters that the one within lacks, for PDF and drive sheets; may be given more than once
    #[arg(long, value_name = "FILE.ttf")]
    pub font: Vec<PathBuf>,
    /// Write an earlier report anew
    #[arg(long)]
    pub replace: bool,
    #[command(flatten)]
    pub talk: Talk,
}

/// `--paper`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Paper {
    /// 297 x 210 mm
    A4,
    /// 420 x 297 mm
    A3,
}

/// `explain`.
#[derive(Debug, Args)]
pub struct Explain {
    /// Id of a bore, pit or conflict, as the result layers have it
    #[arg(value_name = "ITEM_ID")]
    pub item: String,
    /// File with the result layers
    #[arg(value_name = "SITE.gpkg")]
    pub site: PathBuf,
    /// Job file; without it the job that the results were made with
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    #[command(flatten)]
    pub talk: Talk,
}

/// `export`.
#[derive(Debug, Args)]
pub struct Export {
    #[command(flatten)]
    pub site: SiteArgs,
    /// What to write
    #[arg(long, value_enum, value_name = "FORMAT")]
    pub to: Format,
    /// Folder to write into; made if it is not there
    #[arg(short, long, value_name = "DIR")]
    pub output: PathBuf,
    /// Write over files that are there
    #[arg(long)]
    pub replace: bool,
    /// Unit of lengths and levels in a schedule or in the texts of a drawing; coordinates keep that of their system [default: m]
    #[arg(long, value_enum, value_name = "UNIT")]
    pub units: Option<Units>,
    /// Scale that a drawing is to be plotted at, 500 for 1:500, which sizes its texts [default: 500]
    #[arg(long, value_name = "N", value_parser = value_parser!(u32).range(1..=100_000))]
    pub scale: Option<u32>,
}

/// `--to`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Format {
    /// GeoJSON, a file a layer, WGS 84
    Geojson,
    /// KML, one file, WGS 84
    Kml,
    /// Drawing, one file, the job's system
    Dxf,
    /// FlatGeobuf, a file a layer, the job's system
    Fgb,
    /// Setting-out schedule, one table, the job's system
    Csv,
}

/// `--units`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub enum Units {
    /// Metres, and millimetres
    M,
    /// Feet of 0.3048 m, and inches
    Ft,
    /// US survey feet, and inches
    UsFt,
}

/// `inspect`.
#[derive(Debug, Args)]
pub struct Inspect {
    #[command(flatten)]
    pub site: SiteArgs,
}

/// `init`.
#[derive(Debug, Args)]
pub struct Init {
    /// Site to look at
    #[arg(value_name = "SITE.gpkg")]
    pub site: PathBuf,
    /// Job file whose layers are kept; the rest is guessed
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// Job file to write; without it the text goes to standard output
    #[arg(short, long, value_name = "FILE")]
    pub output: Option<PathBuf>,
    /// Write over a job file that is there
    #[arg(long, requires = "output")]
    pub replace: bool,
    #[command(flatten)]
    pub talk: Talk,
}

/// `plan`.
#[derive(Debug, Args)]
pub struct Plan {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Write the layers to this file and leave the site untouched
    #[arg(long, value_name = "FILE.gpkg")]
    pub out: Option<PathBuf>,
    /// Write layers of an earlier run anew
    #[arg(long)]
    pub replace: bool,
    /// Leave out the styles by which viewers draw the layers
    #[arg(long)]
    pub no_styles: bool,
    /// Give the N cheapest plans that differ where pits stand, the best counted (1 to 9)
    #[arg(long, value_name = "N", value_parser = value_parser!(u32).range(1..=MOST_ALTERNATIVES as i64))]
    pub alternatives: Option<u32>,
    /// Plan with each value of one setting and compare, writing nothing: reach=M,... soil=CLASS,... dn=MM,... corridor=M,...
    #[arg(long, value_name = "KEY=VALUE,...", value_parser = what_if, conflicts_with_all = ["alternatives", "out", "replace", "register", "letters"])]
    pub what_if: Option<WhatIf>,
    #[command(flatten)]
    pub register: RegisterArgs,
}

/// Files for the owners of services, beside the layers.
#[derive(Debug, Default, Args)]
pub struct RegisterArgs {
    /// Write the conflict register: a row an encounter with a service, by owner, with columns for what is found
    #[arg(long, value_name = "FILE.csv")]
    pub register: Option<PathBuf>,
    /// Write a letter to each owner of services that bores come near
    #[arg(long, value_name = "FOLDER")]
    pub letters: Option<PathBuf>,
}

/// `check`.
#[derive(Debug, Args)]
pub struct Check {
    #[command(flatten)]
    pub site: SiteArgs,
    /// Lines to check as bores: a layer of the site, or of any file; without it [layers.bores] of the job, else the layer bores
    #[arg(long, value_name = "[FILE:]LAYER")]
    pub bores: Option<String>,
    /// Write the layers to this file and leave the site untouched
    #[arg(long, value_name = "FILE.gpkg")]
    pub out: Option<PathBuf>,
    /// Write layers of an earlier run anew
    #[arg(long)]
    pub replace: bool,
    /// Say what has changed since this check of the same file (a run_id of pitwright_runs)
    #[arg(long, value_name = "RUN_ID", conflicts_with = "against")]
    pub since: Option<i64>,
    /// Say what has changed since the check that this file holds
    #[arg(long, value_name = "FILE.gpkg")]
    pub against: Option<PathBuf>,
    #[command(flatten)]
    pub register: RegisterArgs,
}

/// `--what-if`: a setting and the values to try.
#[derive(Debug, Clone, PartialEq)]
pub struct WhatIf {
    /// The setting.
    pub what: Varied,
    /// Its values as typed, at least one.
    pub values: Vec<String>,
}

/// Reads `KEY=VALUE,VALUE`. Whether the values fit is for the job to say.
fn what_if(typed: &str) -> Result<WhatIf, String> {
    let known = || Varied::ALL.map(Varied::word).join(", ");
    let Some((key, values)) = typed.split_once('=') else {
        return Err(format!(
            "expected KEY=VALUE,VALUE with KEY one of {}",
            known()
        ));
    };
    let what = Varied::ALL.into_iter().find(|v| v.word() == key.trim());
    let what = what.ok_or_else(|| format!("{key} is no setting to vary; known are {}", known()))?;
    let values: Vec<String> = values.split(',').map(|v| v.trim().to_string()).collect();
    if values.iter().any(String::is_empty) {
        return Err(format!(
            "a value of {key} is empty: give them as {key}=VALUE,VALUE"
        ));
    }
    Ok(WhatIf { what, values })
}

/// `rules`.
#[derive(Debug, Args)]
pub struct Rules {
    /// Job file whose values are in force; without it the defaults
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    /// Rule set to print as it stands, with what it asks a job to state
    #[arg(long, value_name = "NAME", conflicts_with = "job")]
    pub rule_set: Option<String>,
    /// One JSON document on standard output, nothing else there
    #[arg(long)]
    pub json: bool,
}

/// Flags of every command that reads a site.
#[derive(Debug, Args)]
pub struct SiteArgs {
    /// Site to read
    #[arg(value_name = "SITE.gpkg")]
    pub site: PathBuf,
    /// Job file; without it SITE.job.toml beside the site, else the defaults
    #[arg(long, value_name = "FILE")]
    pub job: Option<PathBuf>,
    #[command(flatten)]
    pub talk: Talk,
}

/// How much is said, and how.
#[derive(Debug, Clone, Default, Args)]
pub struct Talk {
    /// One JSON document on standard output, nothing else there
    #[arg(long)]
    pub json: bool,
    /// Say nothing but errors
    #[arg(long)]
    pub quiet: bool,
    /// Threads to work with; without it one a core
    #[arg(long, value_name = "N")]
    pub threads: Option<NonZeroUsize>,
    /// How far it has come, on standard error
    #[arg(long, value_enum, default_value_t = Progress::Auto)]
    pub progress: Progress,
}

/// `--progress`.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, ValueEnum)]
pub enum Progress {
    /// On a terminal only
    #[default]
    Auto,
    /// Never
    None,
    /// One JSON object a line: stage, done, total
    Json,
}

impl Command {
    /// The command's name.
    pub fn name(&self) -> &'static str {
        match self {
            Command::Inspect(_) => "inspect",
            Command::Init(_) => "init",
            Command::Plan(_) => "plan",
            Command::Check(_) => "check",
            Command::Explain(_) => "explain",
            Command::Export(_) => "export",
            Command::Report(_) => "report",
            Command::View(_) => "view",
            Command::Rules(_) => "rules",
            Command::Completions(_) => "completions",
            Command::Manual => "manual",
        }
    }

    /// How much is said; commands that only print say all they have.
    pub fn talk(&self) -> Option<&Talk> {
        match self {
            Command::Inspect(inspect) => Some(&inspect.site.talk),
            Command::Init(init) => Some(&init.talk),
            Command::Plan(plan) => Some(&plan.site.talk),
            Command::Check(check) => Some(&check.site.talk),
            Command::Explain(explain) => Some(&explain.talk),
            Command::Export(export) => Some(&export.site.talk),
            Command::Report(report) => Some(&report.talk),
            Command::View(view) => Some(&view.talk),
            Command::Rules(_) | Command::Completions(_) | Command::Manual => None,
        }
    }

    /// Whether a document is asked for.
    pub fn json(&self) -> bool {
        match self {
            Command::Rules(rules) => rules.json,
            _ => self.talk().is_some_and(|talk| talk.json),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_commands_are_well_formed() {
        use clap::CommandFactory;
        Cli::command().debug_assert();
    }
}
