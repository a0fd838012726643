//! What of a layer lies in a window, for looking at.

use super::{GeoPackage, Table, geometry_of, quoted, value};
use crate::read::{
    fault::ReadError,
    shape::Bounds,
    store::{Raw, Visit, unreadable},
};
use rusqlite::{Row, types::ValueRef};
use std::{
    collections::BTreeMap,
    path::PathBuf,
    sync::{Mutex, PoisonError},
};

/// Which layers have an index to be trusted. Finding out means counting every row, so whoever asks again and again keeps this,
/// and begins anew when a file is written.
#[derive(Debug, Default)]
pub struct Trust(Mutex<BTreeMap<(PathBuf, String), bool>>);

impl Trust {
    fn of(
        &self,
        layer: (PathBuf, String),
        look: impl FnOnce() -> rusqlite::Result<bool>,
    ) -> rusqlite::Result<bool> {
        let known = || self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(trusted) = known().get(&layer) {
            return Ok(*trusted);
        }
        let trusted = look()?;
        known().insert(layer, trusted);
        Ok(trusted)
    }
}

/// A part of a layer: a window in its units, the most features that are read, and what is known of its index.
pub(in crate::read) struct Part<'a> {
    pub window: &'a Bounds,
    pub most: usize,
    pub trust: &'a Trust,
}

impl GeoPackage {
    /// Features whose boxes meet a window, in no order; false where that are not all. By the spatial index where it is to be trusted,
    /// which is asked for no more than the most; else by looking at every feature. A box of an index may be wider than its feature.
    pub fn in_window(
        &self,
        layer: &str,
        columns: &[String],
        part: &Part,
        visit: Visit,
    ) -> Result<bool, ReadError> {
        let Some(table) = self.tables.get(layer) else {
            return Err(unreadable(&self.path, Some(layer), "no such table"));
        };
        let read = self.by_index((layer, table), columns, part, visit);
        if let Some(rows) = read.map_err(|e| unreadable(&self.path, Some(layer), e))? {
            return Ok(rows <= part.most);
        }
        self.scan(layer, columns, &mut |raw| {
            if raw.stated.is_none_or(|b| b.meets(part.window)) {
                visit(raw);
            }
        })?;
        Ok(true)
    }

    /// How many were visited, at most one more than the most; none where there is no index to be trusted.
    fn by_index(
        &self,
        (layer, table): (&str, &Table),
        columns: &[String],
        part: &Part,
        visit: Visit,
    ) -> rusqlite::Result<Option<usize>> {
        let (Some(numbered), Some(fid), Some(geometry)) =
            (self.numbered(layer), &table.fid, &table.geometry)
        else {
            return Ok(None);
        };
        let index = format!("rtree_{layer}_{geometry}");
        let named = (self.path.clone(), layer.to_string());
        let kept = || Ok(self.kept_index(&numbered, &index)?.is_some());
        if !part.trust.of(named, kept)? {
            return Ok(None);
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
        let ([x0, y0], [x1, y1]) = (part.window.min, part.window.max);
        let mut ask = self.opened.db.prepare(&sql)?;
        let mut rows = ask.query((x0, x1, y0, y1, part.most as i64 + 1))?;
        let mut visited = 0;
        while let Some(row) = rows.next()? {
            show(row, columns.len(), visit)?;
            visited += 1;
        }
        Ok(Some(visited))
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
