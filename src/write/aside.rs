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

/// The tables to be built aside, and those that stay: the greatest. None aside where they hold few rows
/// or there is one thread.
pub(super) fn split<'t, 'a>(tables: &'t [Table<'a>]) -> (Vec<&'t Table<'a>>, Vec<&'t Table<'a>>) {
    let greatest = (0..tables.len()).max_by_key(|i| (tables[*i].rows.len(), std::cmp::Reverse(*i)));
    let (here, aside): (Vec<_>, Vec<_>) = tables
        .iter()
        .enumerate()
        .partition(|(i, _)| Some(*i) == greatest);
    let plain =
        |some: Vec<(usize, &'t Table<'a>)>| some.into_iter().map(|s| s.1).collect::<Vec<_>>();
    let (here, aside) = (plain(here), plain(aside));
    let few = aside.iter().map(|t| t.rows.len()).sum::<usize>() < WORTH_IT;
    match few || rayon::current_num_threads() < 2 {
        true => (vec![], tables.iter().collect()),
        false => (aside, here),
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
        let add =
            |t: &&'t Table| geopackage::add_aside(&transaction, t, grid).map_err(|e| (t.name, e));
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
