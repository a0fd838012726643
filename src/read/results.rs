//! Rows of result layers, read back from the file that holds them.

use super::{
    Problem,
    fault::{Place, ReadError},
    opening::{Opened, is_sqlite},
};
use rusqlite::types::ValueRef;
use std::path::{Path, PathBuf};

/// A value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Cell {
    /// Nothing.
    Null,
    /// A number; yes and no are 1 and 0.
    Number(f64),
    /// A word.
    Text(String),
}

/// A row of a result layer: its columns in order, geometry and fid left out.
#[derive(Debug, Clone, PartialEq)]
pub struct ResultRow(pub Vec<(String, Cell)>);

/// A row, and its geometry as the file holds it.
pub(super) type RowAndBytes = (ResultRow, Option<Vec<u8>>);

/// A file with result layers.
pub struct Results {
    opened: Opened,
    path: PathBuf,
}

impl Results {
    /// Opens a file for reading.
    ///
    /// # Errors
    /// It is not there, cannot be opened, or is no SQLite file.
    pub fn open(path: &Path) -> Result<Results, ReadError> {
        if !is_sqlite(path) {
            let problem = if path.exists() {
                let gdal = "it is not a GeoPackage".to_string();
                Problem::CannotOpen { gdal }
            } else {
                Problem::NoFile
            };
            return Err(ReadError::new(Place::file(path), problem));
        }
        Ok(Results {
            opened: Opened::new(path)?,
            path: path.to_path_buf(),
        })
    }

    /// Whether there is a table of that name.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn has(&self, layer: &str) -> Result<bool, ReadError> {
        let sql = "SELECT count(*) FROM sqlite_master WHERE name = ?1";
        let count = self
            .opened
            .db
            .query_row(sql, [layer], |r| r.get::<_, i64>(0));
        count.map(|n| n > 0).map_err(|e| self.error(layer, &e))
    }

    /// Rows of a layer whose `column` holds `word`, in the order written. None of a layer that is not there.
    ///
    /// # Errors
    /// The layer cannot be read, or has no such column.
    pub fn rows(&self, layer: &str, column: &str, word: &str) -> Result<Vec<ResultRow>, ReadError> {
        if !self.has(layer)? {
            return Ok(vec![]);
        }
        // Layer and column are this program's own names, never typed ones.
        let sql = format!("SELECT * FROM \"{layer}\" WHERE \"{column}\" = ?1 ORDER BY rowid");
        self.query(&sql, word).map_err(|e| self.error(layer, &e))
    }

    /// Every word of a column, in the order written.
    ///
    /// # Errors
    /// The layer cannot be read, or has no such column.
    pub fn words(&self, layer: &str, column: &str) -> Result<Vec<String>, ReadError> {
        if !self.has(layer)? {
            return Ok(vec![]);
        }
        let sql = format!("SELECT \"{column}\" FROM \"{layer}\" ORDER BY rowid");
        let words = || {
            let mut statement = self.opened.db.prepare(&sql)?;
            let words = statement.query_map([], |r| r.get::<_, Option<String>>(0))?;
            words.collect::<rusqlite::Result<Vec<_>>>()
        };
        let words = words().map_err(|e| self.error(layer, &e))?;
        Ok(words.into_iter().flatten().collect())
    }

    /// How many rows of a layer hold each pair of words in two columns, in the order of the words; rows without either left out.
    ///
    /// # Errors
    /// The layer cannot be read, or has no such columns.
    pub fn tally(
        &self,
        layer: &str,
        a: &str,
        b: &str,
    ) -> Result<Vec<(String, String, u64)>, ReadError> {
        if !self.has(layer)? {
            return Ok(vec![]);
        }
        // Layer and columns are this program's own names, never typed ones.
        let sql = format!(
            "SELECT \"{a}\", \"{b}\", count(*) FROM \"{layer}\" WHERE \"{a}\" IS NOT NULL AND \"{b}\" IS NOT NULL GROUP BY 1, 2 ORDER BY 1, 2"
        );
        let tally = || {
            let mut ask = self.opened.db.prepare(&sql)?;
            let row = |r: &rusqlite::Row| Ok((r.get(0)?, r.get(1)?, r.get::<_, i64>(2)? as u64));
            ask.query_map([], row)?.collect::<rusqlite::Result<_>>()
        };
        tally().map_err(|e| self.error(layer, &e))
    }

    /// The run that wrote a layer last; none where no run lists it.
    ///
    /// # Errors
    /// The table of runs cannot be read.
    pub fn last_run_of(&self, layer: &str) -> Result<Option<ResultRow>, ReadError> {
        let runs = "pitwright_runs";
        if !self.has(runs)? {
            return Ok(None);
        }
        let sql = "SELECT * FROM pitwright_runs WHERE ',' || layers || ',' LIKE '%,' || ?1 || ',%'
                   ORDER BY run_id DESC LIMIT 1";
        let mut rows = self.query(sql, layer).map_err(|e| self.error(runs, &e))?;
        Ok(rows.pop())
    }

    /// A word of one feature of any layer; none where layer, column or feature is not there, or it holds no word.
    pub fn word_of(&self, layer: &str, column: &str, fid: i64) -> Option<String> {
        let quoted = |name: &str| format!("\"{}\"", name.replace('"', "\"\""));
        let names = "SELECT count(*) FROM pragma_table_info(?1) WHERE lower(name) = lower(?2)";
        let db = &self.opened.db;
        // SQLite takes a quoted name that is no column for a text.
        let there: i64 = db.query_row(names, [layer, column], |r| r.get(0)).ok()?;
        let (layer, column) = (quoted(layer), quoted(column));
        let sql = format!("SELECT {column} FROM {layer} WHERE rowid = ?1");
        let word = |r: &rusqlite::Row| r.get::<_, Option<String>>(0);
        (there > 0).then(|| db.query_row(&sql, [fid], word).ok())??
    }

    /// Every row of a layer, and the first of its cells that holds bytes: its geometry.
    pub(super) fn all(&self, layer: &str) -> Result<Vec<RowAndBytes>, ReadError> {
        if !self.has(layer)? {
            return Ok(vec![]);
        }
        let sql = format!("SELECT * FROM \"{layer}\" ORDER BY rowid");
        let all = self.queried(&sql, []);
        all.map_err(|e| self.error(layer, &e))
    }

    pub(super) fn unreadable(&self, layer: &str, said: impl ToString) -> ReadError {
        super::store::unreadable(&self.path, Some(layer), said)
    }

    fn query(&self, sql: &str, word: &str) -> rusqlite::Result<Vec<ResultRow>> {
        let rows = self.queried(sql, [word])?;
        Ok(rows.into_iter().map(|r| r.0).collect())
    }

    fn queried(
        &self,
        sql: &str,
        params: impl rusqlite::Params,
    ) -> rusqlite::Result<Vec<RowAndBytes>> {
        let mut statement = self.opened.db.prepare(sql)?;
        let names: Vec<String> = statement.column_names().map(String::from).collect();
        let rows = statement.query_map(params, |r| {
            let mut cells = vec![];
            let mut bytes = None;
            for (i, name) in names.iter().enumerate() {
                let cell = match r.get_ref(i)? {
                    ValueRef::Null => Cell::Null,
                    ValueRef::Integer(n) => Cell::Number(n as f64),
                    ValueRef::Real(x) => Cell::Number(x),
                    ValueRef::Text(t) => Cell::Text(String::from_utf8_lossy(t).into_owned()),
                    ValueRef::Blob(b) => {
                        bytes.get_or_insert_with(|| b.to_vec());
                        continue;
                    }
                };
                if name != "fid" {
                    cells.push((name.clone(), cell));
                }
            }
            Ok((ResultRow(cells), bytes))
        })?;
        rows.collect()
    }

    fn error(&self, layer: &str, e: &rusqlite::Error) -> ReadError {
        super::store::unreadable(&self.path, Some(layer), e.to_string())
    }
}

impl ResultRow {
    fn cell(&self, column: &str) -> Option<&Cell> {
        self.0.iter().find(|c| c.0 == column).map(|c| &c.1)
    }

    /// A number; none where the column is empty or not there.
    pub fn number(&self, column: &str) -> Option<f64> {
        match self.cell(column)? {
            Cell::Number(x) => Some(*x),
            _ => None,
        }
    }

    /// A word; none where the column is empty or not there.
    pub fn text(&self, column: &str) -> Option<String> {
        match self.cell(column)? {
            Cell::Text(t) => Some(t.clone()),
            _ => None,
        }
    }
}
