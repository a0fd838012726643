//! A file in the making, under a name that nobody else knows.

use super::blob::{Bounds, Grid};
use super::error::At;
use super::geopackage::{self, Empty};
use super::journal;
use super::pages::PageFile;
use super::target::{beside, folder};
use super::{Table, WriteError};
use rusqlite::Connection;
use std::fs;
use std::path::{Path, PathBuf};

/// The file; gone when dropped, unless moved to its place.
pub(super) struct Draft {
    /// Where it is.
    pub path: PathBuf,
    /// It is to be moved to its place.
    lasts: bool,
}

impl Draft {
    /// What is to become the file.
    pub fn of(file: &Path) -> Draft {
        Draft::beside(file, "tmp", true)
    }

    /// What is only taken over from.
    pub fn aside(file: &Path) -> Draft {
        Draft::beside(file, "side.tmp", false)
    }

    /// Beside the file, where there is room for it. The name holds the process's number, so that two runs do not share a draft.
    fn beside(file: &Path, end: &str, lasts: bool) -> Draft {
        let draft = Draft {
            path: beside(file, &format!(".{}.{end}", std::process::id())),
            lasts,
        };
        draft.remove();
        draft
    }

    /// Changes it through SQLite.
    pub fn change<T>(
        &self,
        page_size: usize,
        at: &At,
        change: impl FnOnce(&Connection) -> Result<T, WriteError>,
    ) -> Result<T, WriteError> {
        let mut connection = journal::draft(&self.path, page_size).map_err(|e| at.error(e))?;
        let transaction = journal::begin(&mut connection).map_err(|e| at.error(e))?;
        let told = change(&transaction)?;
        transaction.commit().map_err(|e| at.error(e))?;
        connection.close().map_err(|(_, e)| at.error(e))?;
        Ok(told)
    }

    /// Makes it, with `first` in it that tells how shapes are stored, and lays down all rows of the tables and their indexes; tells where the rows of each lie.
    pub fn fill(
        &self,
        page_size: usize,
        tables: &[Table],
        at: &At,
        first: impl FnOnce(&Connection) -> rusqlite::Result<Grid>,
    ) -> Result<(Grid, Vec<Bounds>), WriteError> {
        let (grid, empty): (Grid, Vec<Empty>) = self.change(page_size, at, |c| {
            let grid = first(c).map_err(|e| at.error(e))?;
            let make = |t| geopackage::make_empty(c, t).map_err(|e| at.layer(t.name).error(e));
            Ok((grid, tables.iter().map(make).collect::<Result<_, _>>()?))
        })?;
        Ok((grid, self.lay(tables, &empty, grid).map_err(|e| at.io(e))?))
    }

    fn lay(&self, tables: &[Table], empty: &[Empty], grid: Grid) -> std::io::Result<Vec<Bounds>> {
        let mut file = PageFile::open(&self.path)?;
        if self.lasts {
            file = file.lasting();
        }
        let each = tables.iter().zip(empty);
        let bounds = each.map(|(table, empty)| geopackage::fill(&mut file, table, empty, grid));
        let bounds = bounds.collect::<Result<_, _>>()?;
        file.finish().map(|()| bounds)
    }

    /// Moves it to its place, whole and on the disk: it was written without waiting for that.
    pub fn move_to(self, file: &Path) -> Result<(), WriteError> {
        let whole = fs::File::open(&self.path).and_then(|f| f.sync_all());
        let moved = whole
            .and_then(|()| fs::rename(&self.path, file))
            .and_then(|()| sync(folder(file)));
        moved.map_err(|error| WriteError::Io {
            file: file.to_path_buf(),
            error,
        })
    }

    fn remove(&self) {
        for end in ["", "-journal"] {
            // Not there is as good as removed.
            let _ = fs::remove_file(beside(&self.path, end));
        }
    }
}

impl Drop for Draft {
    fn drop(&mut self) {
        self.remove();
    }
}

/// The new name is on the disk too.
#[cfg(unix)]
fn sync(folder: &Path) -> std::io::Result<()> {
    fs::File::open(folder)?.sync_all()
}

#[cfg(not(unix))]
fn sync(_: &Path) -> std::io::Result<()> {
    Ok(())
}
