//! What of a layer lies in a window, for looking at.

use super::{GeoPackage, Table, geometry_of, quoted, value};
use crate::read::{
    fault::ReadError,
    shape::Bounds,
    store::{Raw, Visit, unreadable},
};
use rusqlite::{Row, types::ValueRef};

impl GeoPackage {
    /// Features whose boxes meet a window (in units of the layer), at most `most` of them and in no order. By the spatial index
    /// where it is to be trusted, else by looking at every feature, in which case all that meet it are visited.
    pub fn in_window(
        &self,
        layer: &str,
        columns: &[String],
        (window, most): (&Bounds, usize),
        visit: Visit,
    ) -> Result<(), ReadError> {
        let Some(table) = self.tables.get(layer) else {
            return Err(unreadable(&self.path, Some(layer), "no such table"));
        };
        let read = self.by_index(layer, table, columns, (window, most), visit);
        match read.map_err(|e| unreadable(&self.path, Some(layer), e))? {
            true => Ok(()),
            false => self.scan(layer, columns, &mut |raw| {
                if raw.stated.is_none_or(|b| b.meets(window)) {
                    visit(raw);
                }
            }),
        }
    }

    /// False, and nothing visited, where there is no index to be trusted.
    fn by_index(
        &self,
        layer: &str,
        table: &Table,
        columns: &[String],
        (window, most): (&Bounds, usize),
        visit: Visit,
    ) -> rusqlite::Result<bool> {
        let (Some(numbered), Some(fid), Some(geometry)) =
            (self.numbered(layer), &table.fid, &table.geometry)
        else {
            return Ok(false);
        };
        let index = format!("rtree_{layer}_{geometry}");
        if self.kept_index(&numbered, &index)?.is_none() {
            return Ok(false);
        }
        let (fid, geometry) = (quoted(fid), quoted(geometry));
        let picked: String = columns
            .iter()
            .map(|c| format!(", t.{}", quoted(c)))
            .collect();
        let sql = format!(
            "SELECT t.{fid}, t.{geometry}{picked} FROM {} r JOIN {} t ON t.{fid} = r.id
             WHERE r.maxx >= ?1 AND r.minx <= ?2 AND r.maxy >= ?3 AND r.miny <= ?4 LIMIT ?5",
            quoted(&index),
            quoted(layer)
        );
        let ([x0, y0], [x1, y1]) = (window.min, window.max);
        let mut ask = self.opened.db.prepare(&sql)?;
        let mut rows = ask.query((x0, x1, y0, y1, most as i64))?;
        while let Some(row) = rows.next()? {
            show(row, columns.len(), visit)?;
        }
        Ok(true)
    }
}

fn show(row: &Row, columns: usize, visit: Visit) -> rusqlite::Result<()> {
    let geometry = geometry_of(row.get_ref(1)?);
    let stated = match &geometry {
        Ok(Some((_, stated))) => *stated,
        _ => None,
    };
    let values = || {
        (0..columns)
            .map(|i| value(row.get_ref(i + 2).unwrap_or(ValueRef::Null)))
            .collect()
    };
    visit(Raw {
        fid: row.get(0)?,
        wkb: geometry.map(|g| g.map(|g| g.0)),
        stated,
        values: &values,
    });
    Ok(())
}
