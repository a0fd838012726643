//! The layers of one run, put into a file in one transaction.

use super::aside;
use super::blob::{Bounds, Grid};
use super::draft::Draft;
use super::error::At;
use super::geopackage::{self, Refused};
use super::journal;
use super::target::Place;
use super::{CrsInfo, Table, Target, WriteError};
use jiff::Timestamp;
use rusqlite::Connection;
use std::path::Path;
use std::time::Duration;

/// Bytes of a page of a new file: what SQLite and GDAL take unless told otherwise.
const PAGE_SIZE: usize = 4096;

/// What `pitwright_runs` keeps of a run.
#[derive(Debug, Clone, PartialEq)]
pub struct RunRecord {
    /// `plan`, `route`, `check`, `record`.
    pub command: String,
    /// Version of pitwright.
    pub version: String,
    /// When it was done.
    pub finished_at: Timestamp,
    /// The job, every default filled in.
    pub job_json: String,
    /// Which layers were read, from where, with their check sums.
    pub inputs_json: String,
    /// What came of it.
    pub summary_json: String,
}

impl RunRecord {
    /// The end of the run as a GeoPackage writes a moment.
    pub fn finished_at_utc(&self) -> String {
        self.finished_at
            .strftime("%Y-%m-%dT%H:%M:%S%.3fZ")
            .to_string()
    }
}

/// Writes the tables, all or none, and appends the run to `pitwright_runs`.
///
/// The file is changed in one SQLite transaction: killed at any moment, it is wholly old or wholly new.
/// A new file is made beside its place under another name and moved there when it is whole.
/// No other connection of this program may be reading the file meanwhile: close data sets first.
///
/// Returns the rows of each table, in the order given.
///
/// # Errors
/// Layers of these names that are there, when `replace` is not given or pitwright did not make them; a file
/// that is no GeoPackage; a lock, a read-only file or folder, a full disk. The file is then as it was.
pub fn layers(
    target: &Target,
    crs: &CrsInfo,
    tables: &[Table],
    run: &RunRecord,
    replace: bool,
) -> Result<Vec<(String, usize)>, WriteError> {
    let job = Job {
        crs,
        tables,
        run,
        replace,
        styles: target.styles,
    };
    match target.place()? {
        Place::There(file) => job.add_to(&file, target.wait)?,
        Place::New(file) => job.make(&file)?,
    }
    Ok(tables
        .iter()
        .map(|t| (t.name.to_string(), t.rows.len()))
        .collect())
}

/// Asks, before a long run, whether layers of these names could be written now. Nothing is changed.
///
/// # Errors
/// As [`layers`], but for what shows only while writing (a full disk).
pub fn may_write(target: &Target, names: &[&str], replace: bool) -> Result<(), WriteError> {
    let Place::There(file) = target.place()? else {
        return Ok(());
    };
    let at = At::file(&file, target.wait);
    let mut connection = journal::open(&file, target.wait).map_err(|e| at.error(e))?;
    let look = journal::look(&mut connection).map_err(|e| at.error(e))?;
    geopackage::check(&look, names, replace).map_err(|r| at.refusal(r))
}

struct Job<'a> {
    crs: &'a CrsInfo,
    tables: &'a [Table<'a>],
    run: &'a RunRecord,
    replace: bool,
    styles: bool,
}

impl Job<'_> {
    fn add_to(&self, file: &Path, wait: Duration) -> Result<(), WriteError> {
        let at = At::file(file, wait);
        let mut connection = journal::open(file, wait).map_err(|e| at.error(e))?;
        self.look(&mut connection, &at)?;
        let lent = journal::lend_log(&connection).map_err(|e| at.error(e))?;
        let done = self.change(&mut connection, &at);
        if done.is_err() {
            // After a full disk SQLite leaves the rolling back to whoever reads next: that is us, now.
            let _ = connection.pragma_query_value(None, "schema_version", |_| Ok(()));
        }
        match lent.then(|| journal::give_back(&connection)) {
            Some(Err(error)) if done.is_ok() => Err(at.log_left(error)),
            _ => done,
        }
    }

    /// What is refused is refused before the file is touched.
    fn look(&self, connection: &mut Connection, at: &At) -> Result<(), WriteError> {
        let look = journal::look(connection).map_err(|e| at.error(e))?;
        self.check(&look, at)
    }

    fn change(&self, connection: &mut Connection, at: &At) -> Result<(), WriteError> {
        let transaction = journal::begin(connection).map_err(|e| at.error(e))?;
        self.check(&transaction, at)?;
        geopackage::drop_layers(&transaction, &self.names()).map_err(|e| at.error(e))?;
        let grid = geopackage::prepare(&transaction, self.crs).map_err(|e| at.error(e))?;
        let aside = aside::worth_it(&transaction, self.tables).map_err(|e| at.error(e))?;
        let bounds = match aside {
            true => aside::lay(&transaction, self.tables, grid, at)?,
            false => self.lay(&transaction, grid, at)?,
        };
        self.enter(&transaction, grid, &bounds, at)?;
        transaction.commit().map_err(|e| at.error(e))?;
        if aside {
            aside::let_go(connection);
        }
        Ok(())
    }

    /// Lays down all tables, row by row.
    fn lay(&self, c: &Connection, grid: Grid, at: &At) -> Result<Vec<Bounds>, WriteError> {
        let lay = |table: &Table| {
            geopackage::lay(c, table, grid).map_err(|e| at.layer(table.name).error(e))
        };
        self.tables.iter().map(lay).collect()
    }

    fn check(&self, transaction: &Connection, at: &At) -> Result<(), WriteError> {
        geopackage::check(transaction, &self.names(), self.replace).map_err(|r| at.refusal(r))
    }

    fn names(&self) -> Vec<&'static str> {
        self.tables.iter().map(|t| t.name).collect()
    }

    /// Makes the file under another name and moves it to its place when it is whole.
    fn make(&self, file: &Path) -> Result<(), WriteError> {
        let draft = Draft::of(file);
        let at = At::file(file, Duration::ZERO);
        let (grid, bounds) = draft.fill(PAGE_SIZE, self.tables, &at, |c| {
            geopackage::create(c)?;
            geopackage::prepare(c, self.crs)
        })?;
        draft.change(PAGE_SIZE, &at, |c| self.enter(c, grid, &bounds, &at))?;
        draft.move_to(file)
    }

    /// Enters the tables that have been laid down, in their order, and the run.
    fn enter(
        &self,
        c: &Connection,
        grid: Grid,
        bounds: &[Bounds],
        at: &At,
    ) -> Result<(), WriteError> {
        let finished_at = self.run.finished_at_utc();
        for (table, bounds) in self.tables.iter().zip(bounds) {
            geopackage::enter(c, table, grid, bounds, &finished_at)
                .map_err(|e| at.layer(table.name).error(e))?;
        }
        if self.styles {
            geopackage::add_styles(c, self.tables, &finished_at)
                .map_err(|e| at.layer("layer_styles").error(e))?;
        }
        geopackage::append_run(c, self.run, self.tables)
            .map_err(|e| at.layer("pitwright_runs").error(e))
    }
}

impl<'a> At<'a> {
    fn file(file: &'a Path, wait: Duration) -> At<'a> {
        At {
            file,
            layer: None,
            waited_s: wait.as_secs_f64(),
        }
    }

    pub(super) fn layer(&self, layer: &'a str) -> At<'a> {
        At {
            layer: Some(layer),
            ..*self
        }
    }

    fn log_left(&self, error: rusqlite::Error) -> WriteError {
        WriteError::LogLeft {
            file: self.file.to_path_buf(),
            error,
        }
    }

    fn refusal(&self, refused: Refused) -> WriteError {
        let file = self.file.to_path_buf();
        match refused {
            Refused::NotGeoPackage => WriteError::NotGeoPackage {
                file,
                why: "is not a GeoPackage",
            },
            Refused::Exists(layers) => WriteError::Exists { file, layers },
            Refused::Foreign(layer) => WriteError::Foreign { file, layer },
            Refused::Sqlite(error) => self.error(error),
        }
    }
}
