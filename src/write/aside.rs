//! Very many rows put into a file that is in use: laid down in a draft beside it, and taken over from there by SQLite, in its own
//! transaction, as whole rows that it does not look into. That is many times quicker than making them.

use super::blob::{Bounds, Grid};
use super::draft::Draft;
use super::error::At;
use super::geopackage;
use super::{Table, WriteError};
use rusqlite::{Connection, Result};

/// Fewer rows than this are not worth a file.
const WORTH_IT: usize = 20_000;

/// Whether to go this way. SQLite does not join files that do not store their words alike, and a draft has them in UTF-8.
pub(super) fn worth_it(c: &Connection, tables: &[Table]) -> Result<bool> {
    let encoding: String = c.pragma_query_value(None, "encoding", |r| r.get(0))?;
    let rows: usize = tables.iter().map(|t| t.rows.len()).sum();
    Ok(rows >= WORTH_IT && encoding == "UTF-8")
}

/// Lays down all tables and their indexes; tells where the rows of each lie.
pub(super) fn lay(
    c: &Connection,
    tables: &[Table],
    grid: Grid,
    at: &At,
) -> Result<Vec<Bounds>, WriteError> {
    let draft = Draft::aside(at.file);
    // Nodes of an index are as long as a page of its file lets them be.
    let page_size: i64 = c
        .pragma_query_value(None, "page_size", |r| r.get(0))
        .map_err(|e| at.error(e))?;
    let (_, bounds) = draft.fill(page_size as usize, tables, at, |_| Ok(grid))?;
    c.execute("ATTACH DATABASE ?1 AS side", [draft.path.to_string_lossy()])
        .map_err(|e| at.error(e))?;
    for table in tables {
        geopackage::take(c, table).map_err(|e| at.layer(table.name).error(e))?;
    }
    Ok(bounds)
}

/// Lets the draft go once its rows are taken over for good: the log needs its room when it is put into the file.
pub(super) fn let_go(c: &Connection) {
    // Where it cannot be let go it goes with the connection.
    let _ = c.execute_batch("DETACH DATABASE side");
}
