//! Any other file, read through GDAL.

use super::Problem;
use super::crs::{Crs, foreign_height_unit};
use super::fault::{Place, ReadError};
use super::hush::{hush, last_words};
use super::store::{LayerHead, Raw, Visit, unreadable};
use super::values::Value;
use gdal::vector::{Feature, LayerAccess, OGRFieldType, OGRwkbGeometryType, geometry_type_to_name};
use gdal::{Dataset, DatasetOptions, GdalOpenFlags};
use std::path::{Path, PathBuf};

/// An open file.
pub(super) struct OgrFile {
    dataset: Dataset,
    pub layers: Vec<LayerHead>,
    pub path: PathBuf,
}

/// One feature, kept until all can be put in order.
struct Kept {
    fid: i64,
    wkb: Result<Option<Vec<u8>>, String>,
    values: Vec<Value>,
}

impl OgrFile {
    /// For reading only. A raster becomes one layer named like the file.
    pub fn open(path: &Path) -> Result<OgrFile, ReadError> {
        hush();
        let flags = GdalOpenFlags::GDAL_OF_VECTOR
            | GdalOpenFlags::GDAL_OF_RASTER
            | GdalOpenFlags::GDAL_OF_READONLY;
        let options = DatasetOptions {
            open_flags: flags,
            ..DatasetOptions::default()
        };
        last_words();
        let dataset = Dataset::open_ex(path, options).map_err(|_| cannot_open(path))?;
        let mut layers: Vec<LayerHead> = dataset.layers().map(|l| head(&l)).collect();
        if layers.is_empty() && dataset.raster_count() > 0 {
            layers.push(raster_head(path));
        }
        Ok(OgrFile {
            dataset,
            layers,
            path: path.to_path_buf(),
        })
    }

    /// Every feature, by fid.
    pub fn scan(&self, layer: &str, columns: &[String], visit: Visit) -> Result<(), ReadError> {
        for f in self
            .collect(layer, columns)
            .map_err(|e| unreadable(&self.path, Some(layer), e))?
        {
            let wkb = f.wkb.as_ref().map(|w| w.as_deref()).map_err(String::clone);
            visit(Raw {
                fid: f.fid,
                wkb,
                stated: None,
                values: &|| f.values.clone(),
            });
        }
        Ok(())
    }

    fn collect(&self, name: &str, columns: &[String]) -> Result<Vec<Kept>, String> {
        let said = |e: gdal::errors::GdalError| e.to_string();
        let mut layer = self.dataset.layer_by_name(name).map_err(said)?;
        let at: Vec<(usize, OGRFieldType::Type)> = columns
            .iter()
            .map(|c| field(&layer, c))
            .collect::<Result<_, _>>()
            .map_err(said)?;
        last_words();
        let mut kept: Vec<Kept> = layer.features().map(|f| keep(&f, &at)).collect();
        let expected = layer.feature_count() as usize;
        if kept.len() < expected {
            return Err(format!(
                "only {} of {expected} features could be read; {}",
                kept.len(),
                last_words()
            ));
        }
        kept.sort_by_key(|f| f.fid);
        Ok(kept)
    }
}

fn cannot_open(path: &Path) -> ReadError {
    let there = path.exists() || path.to_string_lossy().contains(':') || path.starts_with("/vsi");
    let problem = if there {
        Problem::CannotOpen { gdal: last_words() }
    } else {
        Problem::NoFile
    };
    ReadError::new(Place::file(path), problem)
}

fn head(layer: &impl LayerAccess) -> LayerHead {
    let defn = layer.defn();
    let kind = defn.geometry_type();
    let srs = layer.spatial_ref();
    let defined = srs.filter(|s| !s.name().is_some_and(|n| n.starts_with("Undefined")));
    LayerHead {
        name: layer.name(),
        geometry: (kind != OGRwkbGeometryType::wkbNone).then(|| geometry_type_to_name(kind)),
        columns: defn.fields().map(|f| f.name()).collect(),
        height_unit: defined.as_ref().and_then(foreign_height_unit),
        crs: defined.map(|s| Crs::of(s, None)),
        raster: false,
    }
}

fn raster_head(path: &Path) -> LayerHead {
    let name = path
        .file_stem()
        .map(|s| s.to_string_lossy().into_owned())
        .unwrap_or_default();
    LayerHead {
        name,
        geometry: None,
        columns: vec![],
        crs: None,
        height_unit: None,
        raster: true,
    }
}

fn field(
    layer: &impl LayerAccess,
    name: &str,
) -> gdal::errors::Result<(usize, OGRFieldType::Type)> {
    let i = layer.defn().field_index(name)?;
    let kind = layer
        .defn()
        .fields()
        .nth(i)
        .map_or(OGRFieldType::OFTString, |f| f.field_type());
    Ok((i, kind))
}

fn keep(f: &Feature, at: &[(usize, OGRFieldType::Type)]) -> Kept {
    let wkb = match f.geometry() {
        None => Ok(None),
        Some(g) => g.iso_wkb().map(Some).map_err(|e| e.to_string()),
    };
    let values = at.iter().map(|&(i, kind)| value(f, i, kind)).collect();
    Kept {
        fid: f.fid().map_or(-1, |i| i as i64),
        wkb,
        values,
    }
}

fn value(f: &Feature, i: usize, kind: OGRFieldType::Type) -> Value {
    let read = match kind {
        OGRFieldType::OFTInteger | OGRFieldType::OFTInteger64 => {
            f.field_as_integer64(i).map(|v| v.map(Value::Int))
        }
        OGRFieldType::OFTReal => f.field_as_double(i).map(|v| v.map(Value::Real)),
        _ => f.field_as_string(i).map(|v| v.map(Value::Text)),
    };
    read.ok().flatten().unwrap_or(Value::Null)
}
