//! What is said of a coordinate reference system; working with one is the business of reading and writing.

/// What a person or another program needs to know of a coordinate reference system.
#[derive(Debug, Clone, PartialEq)]
pub struct CrsInfo {
    /// Name.
    pub name: String,
    /// Authority and code, such as `EPSG:25832`, where it has one.
    pub authority: Option<String>,
    /// Well-known text of the horizontal part.
    pub wkt: String,
    /// Metres in a unit of its X and Y.
    pub unit_m: f64,
    /// Name of that unit.
    pub unit_name: String,
    /// Its number in the GeoPackage it was read from.
    pub srs_id: Option<i32>,
}
