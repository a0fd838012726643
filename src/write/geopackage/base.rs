//! The tables that every GeoPackage has.

use super::srs;
use crate::write::CrsInfo;
use crate::write::blob::Grid;
use rusqlite::{Connection, Result};

/// `GPKG`, and version 1.3: the newest whose index triggers validators old and new accept.
const HEADER: &str = "PRAGMA application_id = 1196444487; PRAGMA user_version = 10300;";

const SPATIAL_REF_SYS: &str = "
CREATE TABLE gpkg_spatial_ref_sys (srs_name TEXT NOT NULL, srs_id INTEGER NOT NULL PRIMARY KEY,
 organization TEXT NOT NULL, organization_coordsys_id INTEGER NOT NULL, definition TEXT NOT NULL, description TEXT);";

const CONTENTS: &str = "
CREATE TABLE gpkg_contents (table_name TEXT NOT NULL PRIMARY KEY, data_type TEXT NOT NULL, identifier TEXT UNIQUE,
 description TEXT DEFAULT '', last_change DATETIME NOT NULL DEFAULT (strftime('%Y-%m-%dT%H:%M:%fZ','now')),
 min_x DOUBLE, min_y DOUBLE, max_x DOUBLE, max_y DOUBLE, srs_id INTEGER,
 CONSTRAINT fk_gc_r_srs_id FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys(srs_id));";

const GEOMETRY_COLUMNS: &str = "
CREATE TABLE IF NOT EXISTS gpkg_geometry_columns (table_name TEXT NOT NULL, column_name TEXT NOT NULL,
 geometry_type_name TEXT NOT NULL, srs_id INTEGER NOT NULL, z TINYINT NOT NULL, m TINYINT NOT NULL,
 CONSTRAINT pk_geom_cols PRIMARY KEY (table_name, column_name), CONSTRAINT uk_gc_table_name UNIQUE (table_name),
 CONSTRAINT fk_gc_tn FOREIGN KEY (table_name) REFERENCES gpkg_contents(table_name),
 CONSTRAINT fk_gc_srs FOREIGN KEY (srs_id) REFERENCES gpkg_spatial_ref_sys (srs_id));";

const EXTENSIONS: &str = "
CREATE TABLE IF NOT EXISTS gpkg_extensions (table_name TEXT, column_name TEXT, extension_name TEXT NOT NULL,
 definition TEXT NOT NULL, scope TEXT NOT NULL, CONSTRAINT ge_tce UNIQUE (table_name, column_name, extension_name));";

const OGR_CONTENTS: &str = "
CREATE TABLE IF NOT EXISTS gpkg_ogr_contents (table_name TEXT NOT NULL PRIMARY KEY, feature_count INTEGER DEFAULT NULL);";

/// An empty GeoPackage in a new file.
pub(crate) fn create(c: &Connection) -> Result<()> {
    c.execute_batch(HEADER)?;
    c.execute_batch(SPATIAL_REF_SYS)?;
    c.execute_batch(CONTENTS)?;
    srs::insert_required(c)
}

/// The tables that a GeoPackage may lack, and the CRS.
pub(crate) fn prepare(c: &Connection, crs: &CrsInfo) -> Result<Grid> {
    for table in [GEOMETRY_COLUMNS, EXTENSIONS, OGR_CONTENTS] {
        c.execute_batch(table)?;
    }
    Ok(Grid {
        srs_id: srs::find_or_insert(c, crs)?,
        metres_per_unit: crs.unit_m,
    })
}

/// A table or view of this name is there, whatever the case of its letters.
pub(super) fn has(c: &Connection, name: &str) -> Result<bool> {
    c.query_row(
        "SELECT EXISTS (SELECT 1 FROM sqlite_master WHERE lower(name) = lower(?1) AND type IN ('table', 'view'))",
        [name],
        |r| r.get(0),
    )
}

/// The table has a column of this name.
pub(super) fn has_column(c: &Connection, table: &str, column: &str) -> Result<bool> {
    c.query_row(
        "SELECT EXISTS (SELECT 1 FROM pragma_table_info(?1) WHERE lower(name) = lower(?2))",
        [table, column],
        |r| r.get(0),
    )
}
