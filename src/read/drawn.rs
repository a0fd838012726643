//! Rows of result layers with what is drawn of them.

use super::{
    Problem, ReadError, ResultRow, Results, fault::Place, geopackage::GeoPackage, opening::Opened,
    wkb,
};
use crate::site::CrsInfo;
use std::path::Path;

/// A row and the vertices of its geometry.
#[derive(Debug, Clone, PartialEq)]
pub struct DrawnRow {
    /// Its columns.
    pub row: ResultRow,
    /// X, Y (in units of the layer's system) and Z (NaN where it has none) of every vertex, in order, a closed ring's first again at its end.
    /// Empty where the layer has no geometry.
    pub vertices: Vec<[f64; 3]>,
}

impl Results {
    /// Every row of a layer, in the order written. None of a layer that is not there.
    ///
    /// # Errors
    /// The layer cannot be read, or a geometry in it.
    pub fn drawn(&self, layer: &str) -> Result<Vec<DrawnRow>, ReadError> {
        let rows = self.all(layer)?;
        let drawn = |(row, blob): (ResultRow, Option<Vec<u8>>)| {
            let vertices = blob.map_or(Ok(vec![]), |b| vertices(&b));
            let vertices = vertices.map_err(|e| self.unreadable(layer, e))?;
            Ok(DrawnRow { row, vertices })
        };
        rows.into_iter().map(drawn).collect()
    }
}

fn vertices(blob: &[u8]) -> Result<Vec<[f64; 3]>, String> {
    let (bytes, _) = wkb::geopackage(blob)?;
    let shape = wkb::parse(bytes, 0.01)?;
    Ok(shape.vertices().map(|v| [v.x, v.y, v.z]).collect())
}

/// Coordinate system of a layer of a GeoPackage; none where the layer is not there or has none.
///
/// # Errors
/// The file cannot be read.
pub fn layer_crs(path: &Path, layer: &str) -> Result<Option<CrsInfo>, ReadError> {
    let file = GeoPackage::of(path, Opened::new(path)?)?.ok_or_else(|| {
        let gdal = "it is not a GeoPackage".to_string();
        ReadError::new(Place::file(path), Problem::CannotOpen { gdal })
    })?;
    let head = file.layers.iter().find(|l| l.name == layer);
    Ok(head.and_then(|l| Some(l.crs.as_ref()?.info.clone())))
}
