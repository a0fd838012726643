//! Whose layers are there: what pitwright made it may replace, what others made it never touches.

use super::base::{has, has_column};
use super::styles::forget_style;
use rusqlite::{Connection, Error, OptionalExtension, Result, params};
use std::collections::BTreeSet;

/// Why layers may not be written into a file.
#[derive(Debug)]
pub(crate) enum Refused {
    /// The file lacks the tables of a GeoPackage.
    NotGeoPackage,
    /// Layers of an earlier run are there.
    Exists(Vec<String>),
    /// Something of an owned name is there that no run lists.
    Foreign(String),
    /// SQLite could not tell.
    Sqlite(Error),
}

impl From<Error> for Refused {
    fn from(error: Error) -> Self {
        Refused::Sqlite(error)
    }
}

/// May layers of these names be written?
pub(crate) fn check(c: &Connection, names: &[&str], replace: bool) -> Result<(), Refused> {
    if !has(c, "gpkg_contents")? || !has(c, "gpkg_spatial_ref_sys")? {
        return Err(Refused::NotGeoPackage);
    }
    let ours = made_by_us(c)?;
    let mut there = Vec::new();
    for name in names {
        if occupied(c, name)? {
            there.push(name.to_string());
        }
    }
    for name in &there {
        if !ours.contains(name) || is_view(c, name)? {
            return Err(Refused::Foreign(name.clone()));
        }
    }
    match there.is_empty() || replace {
        true => Ok(()),
        false => Err(Refused::Exists(there)),
    }
}

/// The layers that some row of `pitwright_runs` lists.
fn made_by_us(c: &Connection) -> Result<BTreeSet<String>, Refused> {
    if !has(c, "pitwright_runs")? {
        return Ok(BTreeSet::new());
    }
    for column in super::runs::column_names() {
        if !has_column(c, "pitwright_runs", column)? {
            return Err(Refused::Foreign("pitwright_runs".into()));
        }
    }
    let mut lists = c.prepare("SELECT layers FROM pitwright_runs WHERE layers IS NOT NULL")?;
    let lists = lists.query_map([], |r| r.get::<_, String>(0))?;
    let mut ours = BTreeSet::new();
    for list in lists {
        ours.extend(list?.split(',').map(|l| l.trim().to_lowercase()));
    }
    Ok(ours)
}

/// A table, a view, an index or a leftover row of `gpkg_contents` has the name.
fn occupied(c: &Connection, name: &str) -> Result<bool> {
    c.query_row(
        "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE lower(name) IN (?1, ?2))
             OR EXISTS (SELECT 1 FROM gpkg_contents WHERE lower(table_name) = ?1)",
        [name.to_string(), format!("rtree_{name}_geom")],
        |r| r.get(0),
    )
}

fn is_view(c: &Connection, name: &str) -> Result<bool> {
    c.query_row(
        "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE lower(name) = ?1 AND type = 'view')",
        [name],
        |r| r.get(0),
    )
}

/// Takes our own layers of these names away, with every row that other tables hold of them but styles of others.
pub(crate) fn drop_layers(c: &Connection, names: &[&str]) -> Result<()> {
    names.iter().try_for_each(|name| drop_layer(c, name))
}

fn drop_layer(c: &Connection, name: &str) -> Result<()> {
    let column = geometry_column(c, name)?.unwrap_or("geom".into());
    // The index first: its triggers go with the table.
    c.execute_batch(&format!(
        "DROP TABLE IF EXISTS \"rtree_{name}_{}\"; DROP TABLE IF EXISTS \"{name}\";",
        column.replace('"', "\"\"")
    ))?;
    // A style that somebody made for the layer fits the one that takes its place.
    forget_style(c, name)?;
    ROWS_OF_A_LAYER
        .iter()
        .try_for_each(|(table, column)| forget(c, table, column, name))
}

fn geometry_column(c: &Connection, name: &str) -> Result<Option<String>> {
    if !has(c, "gpkg_geometry_columns")? {
        return Ok(None);
    }
    c.query_row(
        "SELECT column_name FROM gpkg_geometry_columns WHERE lower(table_name) = ?1",
        [name],
        |r| r.get(0),
    )
    .optional()
}

/// Where a layer is spoken of, what points to others before what is pointed to.
const ROWS_OF_A_LAYER: [(&str, &str); 6] = [
    ("gpkg_metadata_reference", "table_name"),
    ("gpkg_data_columns", "table_name"),
    ("gpkg_ogr_contents", "table_name"),
    ("gpkg_extensions", "table_name"),
    ("gpkg_geometry_columns", "table_name"),
    ("gpkg_contents", "table_name"),
];

fn forget(c: &Connection, table: &str, column: &str, layer: &str) -> Result<()> {
    if has_column(c, table, column)? {
        c.execute(
            &format!("DELETE FROM {table} WHERE lower({column}) = ?1"),
            params![layer],
        )?;
    }
    Ok(())
}
