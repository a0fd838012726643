//! `gpkg_spatial_ref_sys`: the row of the job CRS.

use super::base::has_column;
use crate::write::CrsInfo;
use gdal::spatial_ref::SpatialRef;
use rusqlite::{Connection, OptionalExtension, Result, params};

/// Numbers from here on are nobody's EPSG code.
const FIRST_CUSTOM: i32 = 100_000;

/// The rows that the standard requires (clause 1.1.2.1.2).
pub(super) fn insert_required(c: &Connection) -> Result<()> {
    for (name, id, organization, definition) in REQUIRED {
        c.execute(
            "INSERT INTO gpkg_spatial_ref_sys (srs_name, srs_id, organization, organization_coordsys_id, definition)
             VALUES (?1, ?2, ?3, ?2, ?4)",
            params![name, id, organization, definition],
        )?;
    }
    Ok(())
}

/// The `srs_id` of the CRS: that of an equal row, else of a new one.
pub(super) fn find_or_insert(c: &Connection, crs: &CrsInfo) -> Result<i32> {
    match find(c, crs)? {
        Some(id) => Ok(id),
        None => insert(c, crs),
    }
}

/// An equal row: the same number of the same authority, or without one the same system.
fn find(c: &Connection, crs: &CrsInfo) -> Result<Option<i32>> {
    match numbered(crs) {
        Some((authority, code)) => c
            .query_row(
                "SELECT srs_id FROM gpkg_spatial_ref_sys WHERE srs_id > 0
                 AND lower(organization) = lower(?1) AND organization_coordsys_id = ?2 ORDER BY srs_id LIMIT 1",
                params![authority, code],
                |r| r.get(0),
            )
            .optional(),
        None => find_by_text(c, crs),
    }
}

/// The row it was read from first, then the others.
fn find_by_text(c: &Connection, crs: &CrsInfo) -> Result<Option<i32>> {
    let mut rows = c.prepare(
        "SELECT srs_id, definition FROM gpkg_spatial_ref_sys WHERE srs_id > 0 ORDER BY srs_id IS NOT ?1, srs_id",
    )?;
    let mut rows = rows.query([crs.srs_id])?;
    while let Some(row) = rows.next()? {
        if same_system(&row.get::<_, String>(1)?, &crs.wkt) {
            return row.get(0).map(Some);
        }
    }
    Ok(None)
}

/// Two texts say the same: the letters are equal, or GDAL finds the systems so.
fn same_system(a: &str, b: &str) -> bool {
    if a == b {
        return true;
    }
    // A definition that says nothing would only make GDAL complain.
    let parsed = |text: &str| {
        (text.contains('['))
            .then(|| SpatialRef::from_wkt(text).ok())
            .flatten()
    };
    matches!((parsed(a), parsed(b)), (Some(a), Some(b)) if a == b)
}

fn insert(c: &Connection, crs: &CrsInfo) -> Result<i32> {
    let id = free_id(c, crs)?;
    let (organization, code) = numbered(crs).unwrap_or(("NONE", id));
    // Files with the extension for newer well-known text ask for one more; the standard lets it be undefined.
    let (also, value) = match has_column(c, "gpkg_spatial_ref_sys", "definition_12_063")? {
        true => (", definition_12_063", ", 'undefined'"),
        false => ("", ""),
    };
    c.execute(
        &format!(
            "INSERT INTO gpkg_spatial_ref_sys
             (srs_name, srs_id, organization, organization_coordsys_id, definition{also})
             VALUES (?1, ?2, ?3, ?4, ?5{value})"
        ),
        params![crs.name, id, organization, code, crs.wkt],
    )?;
    Ok(id)
}

/// The authority's number where that is free, else the next custom one.
fn free_id(c: &Connection, crs: &CrsInfo) -> Result<i32> {
    if let Some((_, code)) = numbered(crs).filter(|(a, _)| a.eq_ignore_ascii_case("EPSG"))
        && code > 0
        && !taken(c, code)?
    {
        return Ok(code);
    }
    c.query_row(
        "SELECT max(?1, coalesce(max(srs_id) + 1, ?1)) FROM gpkg_spatial_ref_sys",
        [FIRST_CUSTOM],
        |r| r.get(0),
    )
}

fn taken(c: &Connection, id: i32) -> Result<bool> {
    c.query_row(
        "SELECT EXISTS (SELECT 1 FROM gpkg_spatial_ref_sys WHERE srs_id = ?1)",
        [id],
        |r| r.get(0),
    )
}

/// Authority and number, where the code is a number.
fn numbered(crs: &CrsInfo) -> Option<(&str, i32)> {
    let (authority, code) = crs.authority.as_deref()?.rsplit_once(':')?;
    Some((authority, code.parse().ok()?))
}

const REQUIRED: [(&str, i32, &str, &str); 3] = [
    ("Undefined Cartesian SRS", -1, "NONE", "undefined"),
    ("Undefined geographic SRS", 0, "NONE", "undefined"),
    ("WGS 84 geodetic", 4326, "EPSG", WGS_84),
];

const WGS_84: &str = r#"GEOGCS["WGS 84",DATUM["WGS_1984",SPHEROID["WGS 84",6378137,298.257223563,AUTHORITY["EPSG","7030"]],AUTHORITY["EPSG","6326"]],PRIMEM["Greenwich",0,AUTHORITY["EPSG","8901"]],UNIT["degree",0.0174532925199433,AUTHORITY["EPSG","9122"]],AXIS["Latitude",NORTH],AXIS["Longitude",EAST],AUTHORITY["EPSG","4326"]]"#;
