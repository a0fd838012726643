//! A GeoPackage, read through SQLite.
//!
//! For a plan every row of a layer is looked at and the spatial index is not asked: an index that is out of step with its
//! table would hide a service, and reading a million headers takes about half a second. A check of a few bores against a
//! city asks it, where the file gives reason to trust it ([`GeoPackage::near_by_index`]).

mod window;

pub(super) use window::Part;
pub use window::Trust;

use super::crs::{Crs, foreign_height_unit};
use super::fault::ReadError;
use super::nearby::Nearby;
use super::opening::Opened;
use super::store::{LayerHead, Raw, Visit, unreadable};
use super::values::Value;
use super::wkb;
use gdal::spatial_ref::SpatialRef;
use rusqlite::types::ValueRef;
use rusqlite::{OptionalExtension, Row};
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// An open GeoPackage.
pub(super) struct GeoPackage {
    pub opened: Opened,
    pub layers: Vec<LayerHead>,
    tables: BTreeMap<String, Table>,
    path: PathBuf,
}

/// How to read a table.
#[derive(Default)]
struct Table {
    geometry: Option<String>,
    /// Column that numbers the features; without one they are numbered from 1.
    fid: Option<String>,
}

impl GeoPackage {
    /// None where the file is SQLite and no GeoPackage.
    pub fn of(path: &Path, opened: Opened) -> Result<Option<GeoPackage>, ReadError> {
        let contents = "SELECT count(*) FROM sqlite_master WHERE lower(name) = 'gpkg_contents'";
        let fail = |e: rusqlite::Error| unreadable(path, None, e);
        if opened
            .db
            .query_row(contents, [], |r| r.get::<_, i64>(0))
            .map_err(fail)?
            == 0
        {
            return Ok(None);
        }
        let mut file = GeoPackage {
            opened,
            layers: vec![],
            tables: BTreeMap::new(),
            path: path.to_path_buf(),
        };
        file.list().map_err(fail)?;
        Ok(Some(file))
    }

    fn list(&mut self) -> rusqlite::Result<()> {
        let entries: Vec<(String, String)> = self
            .opened
            .db
            .prepare("SELECT table_name, data_type FROM gpkg_contents ORDER BY rowid")?
            .query_map([], |r| {
                Ok((
                    r.get(0)?,
                    r.get::<_, Option<String>>(1)?.unwrap_or_default(),
                ))
            })?
            .collect::<Result<_, _>>()?;
        for (name, data) in entries {
            let (head, table) = self.describe(&name, &data)?;
            self.tables.insert(name, table);
            self.layers.push(head);
        }
        Ok(())
    }

    fn describe(&self, name: &str, data: &str) -> rusqlite::Result<(LayerHead, Table)> {
        let raster = matches!(data, "2d-gridded-coverage" | "tiles");
        let drawn = if data == "attributes" || raster {
            None
        } else {
            self.geometry_column(name)?
        };
        let (all, fid) = if raster {
            (vec![], None)
        } else {
            self.columns(name)?
        };
        let table = Table {
            geometry: drawn.as_ref().map(|d| d.0.clone()),
            fid: fid.clone(),
        };
        let hidden = [table.geometry.clone(), fid];
        let columns = all
            .into_iter()
            .filter(|c| !hidden.iter().flatten().any(|h| h == c))
            .collect();
        let (crs, height_unit) = drawn.as_ref().map_or(Ok((None, None)), |d| self.crs(d.2))?;
        let geometry = drawn.map(|d| d.1);
        Ok((
            LayerHead {
                name: name.to_string(),
                geometry,
                columns,
                crs,
                height_unit,
                raster,
            },
            table,
        ))
    }

    /// Geometry column, type and SRS of a layer.
    fn geometry_column(&self, name: &str) -> rusqlite::Result<Option<(String, String, i32)>> {
        let sql = "SELECT column_name, geometry_type_name, srs_id, z FROM gpkg_geometry_columns
                   WHERE lower(table_name) = lower(?1)";
        let row = |r: &Row| {
            let z: Option<i32> = r.get(3)?;
            let kind: String = r.get(1)?;
            Ok((
                r.get(0)?,
                if z.unwrap_or(0) > 0 {
                    format!("{kind} Z")
                } else {
                    kind
                },
                r.get(2)?,
            ))
        };
        self.opened.db.query_row(sql, [name], row).optional()
    }

    /// All columns, and the one that numbers the features.
    fn columns(&self, name: &str) -> rusqlite::Result<(Vec<String>, Option<String>)> {
        let mut ask = self
            .opened
            .db
            .prepare("SELECT name, type, pk FROM pragma_table_info(?1) ORDER BY cid")?;
        let all: Vec<(String, String, i32)> = ask
            .query_map([name], |r| Ok((r.get(0)?, r.get(1)?, r.get(2)?)))?
            .collect::<Result<_, _>>()?;
        let keys: Vec<_> = all.iter().filter(|c| c.2 > 0).collect();
        let key = match keys[..] {
            [one] if one.1.eq_ignore_ascii_case("integer") => Some(one.0.clone()),
            // A view has no key; by custom its first column is that of its table.
            _ => all
                .first()
                .filter(|c| matches!(c.0.to_lowercase().as_str(), "fid" | "ogc_fid" | "id"))
                .map(|c| c.0.clone()),
        };
        Ok((all.into_iter().map(|c| c.0).collect(), key))
    }

    /// The system of an SRS number, none for the two undefined ones; and its height unit, if foreign.
    fn crs(&self, id: i32) -> rusqlite::Result<(Option<Crs>, Option<String>)> {
        let sql = "SELECT organization, organization_coordsys_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id = ?1";
        let row = |r: &Row| {
            Ok((
                r.get::<_, String>(0)?,
                r.get::<_, i64>(1)?,
                r.get::<_, String>(2)?,
            ))
        };
        let Some((by, code, text)) = self.opened.db.query_row(sql, [id], row).optional()? else {
            return Ok((None, None));
        };
        if id == 0 || id == -1 {
            return Ok((None, None));
        }
        let known = by
            .eq_ignore_ascii_case("EPSG")
            .then(|| SpatialRef::from_epsg(code as u32).ok())
            .flatten();
        let srs = known.or_else(|| SpatialRef::from_definition(&text).ok());
        let srs = srs.filter(|s| !s.name().is_some_and(|n| n.starts_with("Undefined")));
        let unit = srs.as_ref().and_then(foreign_height_unit);
        Ok((srs.map(|s| Crs::of(s, Some(id))), unit))
    }

    /// Every feature, by fid.
    pub fn scan(&self, layer: &str, columns: &[String], visit: Visit) -> Result<(), ReadError> {
        let Some(table) = self.tables.get(layer) else {
            return Err(unreadable(&self.path, Some(layer), "no such table"));
        };
        self.each(layer, table, columns, visit)
            .map_err(|e| unreadable(&self.path, Some(layer), e))
    }

    fn each(
        &self,
        layer: &str,
        table: &Table,
        columns: &[String],
        visit: Visit,
    ) -> rusqlite::Result<()> {
        let geometry = table.geometry.as_deref().map_or("NULL".into(), quoted);
        let fid = table.fid.as_deref().map_or("NULL".into(), quoted);
        let picked: String = columns.iter().map(|c| format!(", {}", quoted(c))).collect();
        let order = if table.fid.is_some() {
            " ORDER BY 1"
        } else {
            ""
        };
        let mut ask = self.opened.db.prepare(&format!(
            "SELECT {fid}, {geometry}{picked} FROM {}{order}",
            quoted(layer)
        ))?;
        let mut rows = ask.query([])?;
        let mut number = 0;
        while let Some(row) = rows.next()? {
            number += 1;
            let fid = if table.fid.is_some() {
                row.get::<_, Option<i64>>(0)?.unwrap_or(number)
            } else {
                number
            };
            let geometry = geometry_of(row.get_ref(1)?);
            let stated = geometry
                .as_ref()
                .ok()
                .and_then(|g| g.as_ref())
                .and_then(|g| g.1);
            let wkb = geometry.map(|g| g.map(|g| g.0));
            let values = || {
                (0..columns.len())
                    .map(|i| value(row.get_ref(i + 2).unwrap_or(ValueRef::Null)))
                    .collect()
            };
            visit(Raw {
                fid,
                wkb,
                stated,
                values: &values,
            });
        }
        Ok(())
    }
}

/// A table whose features are numbered by its rows.
pub(super) struct Numbered {
    /// Its name.
    pub name: String,
    /// Its column of shapes.
    pub geometry: String,
    fid: String,
}

/// Reading parts of a layer.
impl GeoPackage {
    /// The table of a layer, where its numbers are those of its rows: then ranges of it can be read by themselves.
    pub fn numbered(&self, layer: &str) -> Option<Numbered> {
        let table = self.tables.get(layer)?;
        let sql = "SELECT count(*) FROM sqlite_master WHERE type = 'table' AND name = ?1 AND sql NOT LIKE '%WITHOUT ROWID%'
                   AND (SELECT count(*) FROM pragma_table_info(?1) WHERE pk > 0 AND upper(type) = 'INTEGER' AND name = ?2) = 1
                   AND (SELECT count(*) FROM pragma_table_info(?1) WHERE pk > 0) = 1";
        let fid = table.fid.clone()?;
        let is_table: i64 = self
            .opened
            .db
            .query_row(sql, [layer, &fid], |r| r.get(0))
            .ok()?;
        (is_table == 1).then_some(Numbered {
            name: layer.to_string(),
            geometry: table.geometry.clone()?,
            fid,
        })
    }

    /// Least and greatest number; none where the table is empty. Asked for in one go SQLite would look at every row; each by
    /// itself it finds at an end.
    pub fn fid_range(&self, t: &Numbered) -> rusqlite::Result<Option<(i64, i64)>> {
        let (fid, table) = (quoted(&t.fid), quoted(&t.name));
        let sql =
            format!("SELECT (SELECT min({fid}) FROM {table}), (SELECT max({fid}) FROM {table})");
        let ends = |r: &Row| Ok(r.get::<_, Option<i64>>(0)?.zip(r.get::<_, Option<i64>>(1)?));
        self.opened.db.query_row(&sql, [], ends)
    }

    /// The query for a range of features, from ?1 up to and with ?2, or for one, ?1: number, geometry, then the columns.
    pub fn select(&self, t: &Numbered, columns: &[(&str, String)], one: bool) -> String {
        let fid = quoted(&t.fid);
        let picked: String = columns
            .iter()
            .map(|c| format!(", {}", quoted(&c.1)))
            .collect();
        let of = match one {
            true => format!("{fid} = ?1"),
            false => format!("{fid} BETWEEN ?1 AND ?2 ORDER BY {fid}"),
        };
        format!(
            "SELECT {fid}, {}{picked} FROM {} WHERE {of}",
            quoted(&t.geometry),
            quoted(&t.name)
        )
    }

    /// Numbers of the features whose boxes in the layer's spatial index come near, ascending; and all that the index does not
    /// know. None where the index is not to be trusted, or where it is quicker to read everything: from `sparse` features a
    /// box of the bores downward.
    pub fn near_by_index(
        &self,
        t: &Numbered,
        near: &Nearby,
        unit_m: f64,
        sparse: usize,
    ) -> rusqlite::Result<Option<Vec<i64>>> {
        let index = format!("rtree_{}_{}", t.name, t.geometry);
        let enough = near.boxes.len().saturating_mul(sparse);
        // To count features is to read them all; there are no more than numbers.
        let numbers = self.fid_range(t)?.map_or(0, |(a, b)| b.abs_diff(a));
        if u64::try_from(enough).is_ok_and(|enough| enough > numbers.saturating_add(1)) {
            return Ok(None);
        }
        let Some(features) = self.kept_index(t, &index)? else {
            return Ok(None);
        };
        if enough > features {
            return Ok(None);
        }
        let sql = format!(
            "SELECT id FROM {} WHERE maxx >= ?1 AND minx <= ?2 AND maxy >= ?3 AND miny <= ?4",
            quoted(&index)
        );
        let mut ask = self.opened.db.prepare(&sql)?;
        let mut ids = vec![];
        for b in &near.boxes {
            let [x0, y0] = b.min.map(|v| v / unit_m);
            let [x1, y1] = b.max.map(|v| v / unit_m);
            let mut rows = ask.query([x0, x1, y0, y1])?;
            while let Some(row) = rows.next()? {
                ids.push(row.get(0)?);
            }
        }
        ids.sort_unstable();
        ids.dedup();
        Ok(Some(ids))
    }

    /// Number of features, where the file says that the layer has an index, the triggers that keep it are all there, and it
    /// holds as many boxes as the layer features. An index that is out of step would hide a service.
    fn kept_index(&self, t: &Numbered, index: &str) -> rusqlite::Result<Option<usize>> {
        let db = &self.opened.db;
        let said = "SELECT count(*) FROM gpkg_extensions WHERE lower(table_name) = lower(?1) AND lower(column_name) = lower(?2)
                    AND extension_name = 'gpkg_rtree_index'";
        let said = db.query_row(said, [&t.name, &t.geometry], |r| r.get::<_, i64>(0));
        if !matches!(said, Ok(1..)) {
            return Ok(None);
        }
        let triggers = "SELECT count(*) FROM sqlite_master WHERE type = 'trigger' AND lower(tbl_name) = lower(?1)
                        AND lower(name) LIKE lower(?2) || '\\_%' ESCAPE '\\'";
        let pattern = index
            .replace('\\', "\\\\")
            .replace('_', "\\_")
            .replace('%', "\\%");
        let triggers: i64 = db.query_row(triggers, [&t.name, &pattern], |r| r.get(0))?;
        if triggers < LEAST_TRIGGERS {
            return Ok(None);
        }
        let count = |table: &str| {
            db.query_row(
                &format!("SELECT count(*) FROM {}", quoted(table)),
                [],
                |r| r.get::<_, i64>(0),
            )
        };
        let (features, boxes) = (count(&t.name)?, count(&format!("{index}_rowid"))?);
        Ok((features == boxes).then_some(features as usize))
    }
}

/// Triggers that keep an index, in the oldest standard (insert, update 1 to 4, delete).
const LEAST_TRIGGERS: i64 = 6;

type Bytes<'a> = (&'a [u8], Option<super::shape::Bounds>);

fn geometry_of(v: ValueRef<'_>) -> Result<Option<Bytes<'_>>, String> {
    match v {
        ValueRef::Null => Ok(None),
        ValueRef::Blob(b) => wkb::geopackage(b).map(Some),
        _ => Err("it is no geometry".into()),
    }
}

pub(super) fn value(v: ValueRef) -> Value {
    match v {
        ValueRef::Null => Value::Null,
        ValueRef::Integer(i) => Value::Int(i),
        ValueRef::Real(r) => Value::Real(r),
        ValueRef::Text(t) => Value::Text(String::from_utf8_lossy(t).into_owned()),
        ValueRef::Blob(b) => Value::Text(format!("({} bytes)", b.len())),
    }
}

fn quoted(name: &str) -> String {
    format!("\"{}\"", name.replace('"', "\"\""))
}
