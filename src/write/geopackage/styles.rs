//! `layer_styles`: the table in which viewers look for a layer's style.
//!
//! No standard has it; shape and words are those that open viewers write and look for: schema an empty text, never null, and
//! the name of the geometry column.

use super::base::{has, has_column};
use crate::write::Table;
use crate::write::styles::{Style, style_of};
use rusqlite::{Connection, Result, named_params};

/// By which our rows are told from those of others, which stay.
const OWNER: &str = "pitwright";

const LAYER_STYLES: &str = "
CREATE TABLE layer_styles (id INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, f_table_catalog TEXT(256), f_table_schema TEXT(256),
 f_table_name TEXT(256), f_geometry_column TEXT(256), styleName TEXT(30), styleQML TEXT, styleSLD TEXT, useAsDefault BOOLEAN,
 description TEXT, owner TEXT(30), ui TEXT(30), update_time DATETIME DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')));";

const CONTENTS: &str = "
INSERT INTO gpkg_contents (table_name, data_type, identifier, description, last_change, srs_id)
VALUES ('layer_styles', 'attributes',
 CASE WHEN EXISTS (SELECT 1 FROM gpkg_contents WHERE identifier = 'layer_styles') THEN NULL ELSE 'layer_styles' END,
 'How viewers draw the layers of this file.', ?1, 0)";

/// Columns that a table of styles must have to take ours.
const NEEDED: [&str; 12] = [
    "id",
    "f_table_catalog",
    "f_table_schema",
    "f_table_name",
    "f_geometry_column",
    "styleName",
    "styleQML",
    "styleSLD",
    "useAsDefault",
    "description",
    "owner",
    "update_time",
];

// Who has chosen a default for a layer keeps it. Numbers that our own rows had are taken again, so that a run's rows do not depend on
// how many there were before, nor on when it was: viewers do without the time.
const STYLE: &str = "
INSERT OR IGNORE INTO layer_styles (id, f_table_catalog, f_table_schema, f_table_name, f_geometry_column, styleName, styleQML,
 styleSLD, useAsDefault, description, owner, update_time)
VALUES ((SELECT coalesce(max(id), 0) + 1 FROM layer_styles), '', '', :layer, 'geom', 'pitwright', :qml, :sld,
 NOT EXISTS (SELECT 1 FROM layer_styles WHERE lower(f_table_name) = :layer AND useAsDefault = 1),
 :about, :owner, NULL)";

/// Puts the styles of these tables beside them, making the table of styles if there is none.
///
/// A table of styles that lacks columns, or is a view, is somebody's own and stays as it is; a row that its rules do not take is left out.
pub(crate) fn add_styles(c: &Connection, tables: &[Table], changed_at: &str) -> Result<()> {
    let styles: Vec<(&Table, &Style)> = tables
        .iter()
        .filter_map(|t| style_of(t.name).map(|s| (t, s)))
        .collect();
    if styles.is_empty() {
        return Ok(());
    }
    if !has(c, "layer_styles")? {
        c.execute_batch(LAYER_STYLES)?;
        c.execute(CONTENTS, [changed_at])?;
    }
    if !takes_ours(c)? {
        return Ok(());
    }
    for (table, style) in styles {
        c.execute(
            STYLE,
            named_params! {
                ":layer": table.name,
                ":qml": style.qml,
                ":sld": style.sld,
                ":about": table.description,
                ":owner": OWNER,
            },
        )?;
    }
    c.execute(
        "UPDATE gpkg_contents SET last_change = ?1 WHERE lower(table_name) = 'layer_styles'",
        [changed_at],
    )?;
    Ok(())
}

fn takes_ours(c: &Connection) -> Result<bool> {
    let table = "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE lower(name) = 'layer_styles' AND type = 'table')";
    if !c.query_row(table, [], |r| r.get(0))? {
        return Ok(false);
    }
    for column in NEEDED {
        if !has_column(c, "layer_styles", column)? {
            return Ok(false);
        }
    }
    Ok(true)
}

/// Takes our own styles of a layer away.
pub(super) fn forget_style(c: &Connection, layer: &str) -> Result<()> {
    if has_column(c, "layer_styles", "owner")? && has_column(c, "layer_styles", "f_table_name")? {
        c.execute(
            "DELETE FROM layer_styles WHERE lower(f_table_name) = ?1 AND owner = ?2",
            [layer, OWNER],
        )?;
    }
    Ok(())
}
