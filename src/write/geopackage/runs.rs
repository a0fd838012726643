//! `pitwright_runs`: the run appended.

use super::add;
use super::base::has;
use crate::write::blob::Grid;
use crate::write::tables::{NumberedRun, RUNS};
use crate::write::{RunRecord, Table};
use rusqlite::{Connection, Result, params};

/// A table of attributes lies nowhere; its rows have no shape.
const NOWHERE: Grid = Grid {
    srs_id: 0,
    metres_per_unit: 1.0,
};

/// The columns by which a `pitwright_runs` is known to be ours.
pub(super) fn column_names() -> impl Iterator<Item = &'static str> {
    RUNS.columns.iter().map(|c| c.name)
}

/// Appends the run, making the table at the first one.
pub(crate) fn append_run(c: &Connection, run: &RunRecord, tables: &[Table]) -> Result<()> {
    let finished_at = run.finished_at_utc();
    if !has(c, RUNS.name)? {
        add::add(c, &RUNS.table(&[]), NOWHERE, &finished_at)?;
    }
    let numbered = [NumberedRun {
        run_id: next(c, "run_id")?,
        layers: layer_list(tables),
        run: run.clone(),
    }];
    // The table is there, so its own trigger counts the row.
    add::insert_rows(c, &RUNS.table(&numbered), NOWHERE, next(c, "fid")?)?;
    c.execute(
        "UPDATE gpkg_contents SET last_change = ?2 WHERE lower(table_name) = ?1",
        params![RUNS.name, finished_at],
    )?;
    Ok(())
}

fn next(c: &Connection, column: &str) -> Result<i64> {
    c.query_row(
        &format!("SELECT coalesce(max({column}), 0) + 1 FROM {}", RUNS.name),
        [],
        |r| r.get(0),
    )
}

fn layer_list(tables: &[Table]) -> String {
    let mut names: Vec<&str> = tables.iter().map(|t| t.name).collect();
    names.sort_unstable();
    names.join(",")
}
