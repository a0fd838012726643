//! A file with layers, whatever its format.

use super::crs::Crs;
use super::fault::{Place, ReadError};
use super::geopackage::GeoPackage;
use super::ogr::OgrFile;
use super::opening::Opened;
use super::values::Value;
use std::path::{Path, PathBuf};

/// What is known of a layer before its features are read.
#[derive(Clone)]
pub(super) struct LayerHead {
    pub name: String,
    /// Geometry type in words, such as `LINESTRING`; none where the layer has no geometry.
    pub geometry: Option<String>,
    pub columns: Vec<String>,
    /// None where it is not defined.
    pub crs: Option<Crs>,
    /// Unit of the heights, where the system states one that is not the metre.
    pub height_unit: Option<String>,
    /// A raster, to be opened by GDAL.
    pub raster: bool,
}

/// One feature as the file holds it. Values come only on asking, since most features lie elsewhere.
pub(super) struct Raw<'a> {
    pub fid: i64,
    /// `Ok(None)` where there is no geometry.
    pub wkb: Result<Option<&'a [u8]>, String>,
    /// Box that the file states for the geometry.
    pub stated: Option<super::shape::Bounds>,
    pub values: &'a dyn Fn() -> Vec<Value>,
}

/// A file with layers.
pub(super) enum Store {
    Gpkg(Box<GeoPackage>),
    Ogr(OgrFile),
}

/// Feature by feature; an error ends the scan.
pub(super) type Visit<'a> = &'a mut dyn FnMut(Raw<'_>);

impl Store {
    /// Opens a file for reading only.
    pub fn open(path: &Path) -> Result<Store, ReadError> {
        if path.is_file() && super::opening::is_sqlite(path) {
            let opened = Opened::new(path)?;
            if let Some(gpkg) = GeoPackage::of(path, opened)? {
                return Ok(Store::Gpkg(Box::new(gpkg)));
            }
        }
        OgrFile::open(path).map(Store::Ogr)
    }

    /// Layers in the order of the file.
    pub fn layers(&self) -> &[LayerHead] {
        match self {
            Store::Gpkg(g) => &g.layers,
            Store::Ogr(o) => &o.layers,
        }
    }

    pub fn layer(&self, name: &str) -> Option<&LayerHead> {
        self.layers().iter().find(|l| l.name == name)
    }

    /// Every feature, by fid. `columns` are names of the layer.
    pub fn scan(&self, layer: &str, columns: &[String], visit: Visit) -> Result<(), ReadError> {
        match self {
            Store::Gpkg(g) => g.scan(layer, columns, visit),
            Store::Ogr(o) => o.scan(layer, columns, visit),
        }
    }

    /// The file that GDAL is to open instead, where the one named cannot be read as it lies.
    pub fn real_path(&self) -> PathBuf {
        match self {
            Store::Gpkg(g) => g.opened.path.clone(),
            Store::Ogr(o) => o.path.clone(),
        }
    }

    pub fn is_gpkg(&self) -> bool {
        matches!(self, Store::Gpkg(_))
    }
}

/// Names of `known`, those most like `wanted` first.
pub(super) fn nearest_first(wanted: &str, known: impl IntoIterator<Item = String>) -> Vec<String> {
    let mut all: Vec<(usize, String)> = known
        .into_iter()
        .map(|k| (distance(wanted, &k), k))
        .collect();
    all.sort();
    all.into_iter().map(|(_, k)| k).collect()
}

/// Letters to change, add or drop to get from one word to the other, upper and lower case alike.
pub(super) fn distance(a: &str, b: &str) -> usize {
    strsim::levenshtein(&a.to_lowercase(), &b.to_lowercase())
}

pub(super) fn unreadable(path: &Path, layer: Option<&str>, said: impl ToString) -> ReadError {
    let place = Place {
        layer: layer.map(String::from),
        ..Place::file(path)
    };
    ReadError::new(
        place,
        super::Problem::Unreadable {
            gdal: said.to_string(),
        },
    )
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_name_comes_first() {
        let known = ["lots", "routes", "Rotes"].map(String::from);
        assert_eq!(nearest_first("rotes", known), ["Rotes", "routes", "lots"]);
        assert_eq!(distance("kitten", "sitting"), 3);
    }
}
