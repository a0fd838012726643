//! A bore that was checked, out of the rows of the check.

use crate::{
    cli::exit::Failure,
    read::{ResultRow, Results},
    view::{CheckedBore, CheckedRow, checked_bore},
};
use std::path::Path;

/// The page of a bore that was checked.
pub fn page(site: &Path, bore_id: &str) -> Result<String, Failure> {
    let results = Results::open(site)?;
    let rows = results.rows("bore_conflicts", "bore_id", bore_id)?;
    let mut conflicts: Vec<CheckedRow> = rows.iter().map(row).collect();
    let along = |r: &CheckedRow| r.chainage_m.unwrap_or(0.0);
    conflicts.sort_by(|a, b| along(a).total_cmp(&along(b)));
    let holes = results.rows("test_holes", "bore_id", bore_id)?;
    Ok(checked_bore(&CheckedBore {
        bore_id: bore_id.to_string(),
        conflicts,
        holes: holes.iter().map(hole).collect(),
    }))
}

fn row(of: &ResultRow) -> CheckedRow {
    let obstacle = of.text("obstacle").unwrap_or_default();
    let kind = of.text("kind").filter(|k| *k != obstacle);
    CheckedRow {
        chainage_m: of.number("chainage_m"),
        what: [Some(obstacle), kind, of.text("encounter")]
            .into_iter()
            .flatten()
            .collect::<Vec<_>>()
            .join(", "),
        source: source(of),
        owner: of.text("owner"),
        clearance_m: of.number("clearance_m"),
        required_m: of.number("required_m"),
        allowance_m: of.number("allowance_m"),
        margin_m: of.number("margin_m"),
        depth_known: of.number("depth_known") == Some(1.0),
        verdict: of.text("verdict").unwrap_or_default(),
    }
}

fn source(of: &ResultRow) -> String {
    match (of.text("source_layer"), of.number("source_fid")) {
        (Some(layer), Some(fid)) => format!("{layer} fid {fid}"),
        _ => String::new(),
    }
}

fn hole(of: &ResultRow) -> String {
    let metres = |column| {
        of.number(column)
            .map_or("not stated".to_string(), |m| format!("{m:.2} m"))
    };
    format!(
        "{}: {} of {}, dig to {}. {}",
        of.text("hole_id").unwrap_or_default(),
        of.text("kind").unwrap_or_default(),
        source(of),
        metres("dig_to_m"),
        of.text("reason").unwrap_or_default()
    )
}
