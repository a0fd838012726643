//! The report of a check.

use super::{Source, Written, files::Staged, layout, rows::Row, stage};
use crate::{
    check::Unknown,
    cli::{
        exit::{Exit, Failure},
        say,
    },
    report::{self, CheckReport, give_holes},
};
use serde_json::Value as Json;

/// Writes everything that is asked for.
pub fn write(source: &Source) -> Result<Written, Failure> {
    only_pages(source)?;
    let report = gather(source)?;
    let mut staged = Staged::default();
    let book = report::check_book(&report, layout(source.args));
    let mut written = stage(source.args, &mut staged, &book)?;
    staged.publish()?;
    written.counts = vec![
        ("encounter", report.conflicts.len()),
        ("test hole", report.holes.len()),
    ];
    if source.results.has("proposed_bores")? {
        written.warnings.push(format!(
            "this is the report of the check of {}, which wrote over the conflicts and test holes of the plan in the same file; plan again with --replace for the report of the plan",
            source.kept("finished_at").unwrap_or_default()
        ));
    }
    Ok(written)
}

/// What needs pits, levels and routes is refused: a check has none.
fn only_pages(source: &Source) -> Result<(), Failure> {
    let args = source.args;
    let given = [
        ("--route", args.route.is_some()),
        ("--svg", args.svg.is_some()),
        ("--pdf", args.pdf.is_some()),
        ("--around", args.around.is_some()),
    ];
    let Some((flag, _)) = given.into_iter().find(|g| g.1) else {
        return Ok(());
    };
    let message = format!(
        "{}: its conflicts are those of a check, of which tables are written and no drawings; leave {flag} away, or name the file of a plan",
        args.site.display()
    );
    Err(Failure {
        layer: Some("bore_conflicts".to_string()),
        ..Failure::of_file(Exit::Input, &args.site, message)
    })
}

fn gather(source: &Source) -> Result<CheckReport, Failure> {
    let summary = source.json("summary_json");
    let mut conflicts = all(source, "bore_conflicts", |r| r.conflict())?;
    let holes = all(source, "test_holes", |r| r.hole())?;
    give_holes(&mut conflicts, &holes);
    let compared = !summary["changes"].is_null();
    let changes = || all(source, "conflict_changes", |r| r.change());
    Ok(CheckReport {
        head: source.head(&summary),
        bores: summary["bores"].as_f64(),
        connections: summary["connections"].as_u64().unwrap_or(0) as usize,
        unknown: say::unknown(&unknown(&summary["unknown"])),
        conflicts,
        holes,
        inspections: all(source, "bore_inspections", |r| r.inspection())?,
        changes: compared.then(changes).transpose()?,
    })
}

/// Every row of a layer.
fn all<T>(
    source: &Source,
    layer: &str,
    one: impl Fn(&Row) -> Result<T, Failure>,
) -> Result<Vec<T>, Failure> {
    let rows = source.results.drawn(layer)?;
    let row = |of| {
        one(&Row {
            file: &source.args.site,
            layer,
            unit_m: source.crs.unit_m,
            of,
        })
    };
    rows.iter().map(row).collect()
}

/// Counts of what is not known, as the run's summary has them.
fn unknown(kept: &Json) -> Unknown {
    let count = |key: &str| kept[key].as_u64().unwrap_or(0) as usize;
    Unknown {
        depth: count("depth"),
        diameter: count("diameter"),
        quality: count("quality"),
        ground: count("ground"),
        foundation: count("foundation"),
        bore_levels: count("bore_levels"),
        bore_size: count("bore_size"),
        bore_ground: count("bore_ground"),
        bore_length: count("bore_length"),
    }
}
