//! Tables built in a file of their own while another thread fills the file that is written, then taken over from there.
//!
//! SQLite lets one thread write into a file. Where there are very many rows the lesser tables are laid down beside it at the same time;
//! taking them over is a copy of whole rows, many times quicker than making them.

use super::Table;
use super::blob::Grid;
use super::geopackage::{self, Laid};
use super::journal;
use super::target::beside;
use rusqlite::{Connection, Result};
use std::fs;
use std::path::{Path, PathBuf};

/// Fewer rows than this are not worth a file.
const WORTH_IT: usize = 20_000;

/// Which tables are built aside: all but the greatest. None where they hold few rows, or there is one thread.
pub(super) fn aside(tables: &[Table]) -> Vec<bool> {
    let greatest = (0..tables.len()).max_by_key(|i| (tables[*i].rows.len(), std::cmp::Reverse(*i)));
    let lesser: Vec<bool> = (0..tables.len()).map(|i| Some(i) != greatest).collect();
    let rows = tables.iter().zip(&lesser).filter(|t| *t.1);
    let few = rows.map(|t| t.0.rows.len()).sum::<usize>() < WORTH_IT;
    match few || rayon::current_num_threads() < 2 {
        true => vec![false; tables.len()],
        false => lesser,
    }
}

/// The file; gone when dropped.
pub(super) struct Side {
    path: PathBuf,
}

impl Side {
    /// Beside the file that is written, where there is room for it.
    pub fn beside(file: &Path) -> Side {
        let side = Side {
            path: beside(file, &format!(".{}.side.tmp", std::process::id())),
        };
        side.remove();
        side
    }

    /// Builds the tables; where one fails, its name too.
    pub fn build<'t>(
        &self,
        tables: &[&'t Table],
        grid: Grid,
    ) -> Result<Vec<Laid>, (&'t str, rusqlite::Error)> {
        let first = tables.first().map_or("", |t| t.name);
        let mut connection = journal::make(&self.path).map_err(|e| (first, e))?;
        let transaction = journal::begin(&mut connection).map_err(|e| (first, e))?;
        let add = |t: &&'t Table| geopackage::lay(&transaction, t, grid).map_err(|e| (t.name, e));
        let laid = tables.iter().map(add).collect::<Result<_, _>>()?;
        transaction.commit().map_err(|e| (first, e))?;
        Ok(laid)
    }

    /// Attaches it as `side`.
    pub fn attach(&self, c: &Connection) -> Result<()> {
        let path = self.path.to_string_lossy();
        c.execute("ATTACH DATABASE ?1 AS side", [path]).map(|_| ())
    }

    fn remove(&self) {
        for end in ["", "-journal"] {
            // Not there is as good as removed.
            let _ = fs::remove_file(beside(&self.path, end));
        }
    }
}

impl Drop for Side {
    fn drop(&mut self) {
        self.remove();
    }
}
