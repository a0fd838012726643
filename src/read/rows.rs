//! The rows of a table by range: from its pages where they are plain, else through SQLite.

use super::geopackage::{GeoPackage, Numbered};
use super::roles::Source;
use super::table_pages::TablePages;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Result};

/// How the rows of a table are got at. Their values are the geometry, then the columns of the source.
pub(super) struct Rows<'f> {
    range: String,
    one: String,
    values: usize,
    pages: Option<TablePages<'f>>,
}

impl<'f> Rows<'f> {
    /// Of the table of a source.
    pub fn of(file: &'f GeoPackage, table: &Numbered, source: &Source) -> Rows<'f> {
        let mut wanted = vec![table.geometry.as_str()];
        wanted.extend(source.columns.iter().map(|c| c.1.as_str()));
        Rows {
            range: file.select(table, &source.columns, false),
            one: file.select(table, &source.columns, true),
            values: wanted.len(),
            pages: TablePages::of(&file.opened, &table.name, &wanted),
        }
    }

    /// What comes of every row with a number from `from` to `to`, seen by rising number. `bytes` is memory for pages.
    pub fn of_range<P>(
        &self,
        db: &Connection,
        (from, to): (i64, i64),
        bytes: &mut Vec<u8>,
        begin: impl Fn() -> P,
        mut see: impl FnMut(i64, &[ValueRef], &mut P),
    ) -> Result<P> {
        if let Some(pages) = &self.pages {
            let mut part = begin();
            let done = pages.each((from, to), bytes, |fid, row| match row {
                Ok(values) => {
                    see(fid, values, &mut part);
                    Ok(())
                }
                Err(_) => self.ask(db, fid, |fid, values| see(fid, values, &mut part)),
            });
            if let Some(done) = done {
                return done.map(|()| part);
            }
        }
        let mut part = begin();
        let mut ask = db.prepare_cached(&self.range)?;
        self.each(ask.query([from, to])?, |fid, values| {
            see(fid, values, &mut part)
        })?;
        Ok(part)
    }

    /// The row of this number, where there is one.
    pub fn ask(&self, db: &Connection, fid: i64, see: impl FnMut(i64, &[ValueRef])) -> Result<()> {
        let mut ask = db.prepare_cached(&self.one)?;
        self.each(ask.query([fid])?, see)
    }

    fn each(&self, mut rows: rusqlite::Rows, mut see: impl FnMut(i64, &[ValueRef])) -> Result<()> {
        while let Some(row) = rows.next()? {
            let values = (1..=self.values).map(|i| row.get_ref(i));
            see(row.get(0)?, &values.collect::<Result<Vec<_>>>()?);
        }
        Ok(())
    }
}
