//! Small sites in a temporary folder.

use gdal::spatial_ref::{AxisMappingStrategy, SpatialRef};
use gdal::vector::{
    FieldDefn, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType as G,
};
use gdal::{DriverManager, vector::Feature};
use pitwright::job::{LayerSource, Layers, Role};
use pitwright::read::{self, Need, ReadError, Reading, Request};
use std::path::{Path, PathBuf};
use std::sync::atomic::{AtomicU32, Ordering};

/// A folder that goes when the test ends.
pub struct Folder(pub PathBuf);

static FOLDERS: AtomicU32 = AtomicU32::new(0);

impl Folder {
    pub fn new() -> Folder {
        read::hush();
        let n = FOLDERS.fetch_add(1, Ordering::Relaxed);
        let path =
            std::env::temp_dir().join(format!("pitwright-test-read-{}-{n}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Folder(path)
    }

    pub fn gpkg(&self, layers: &[L]) -> PathBuf {
        self.file("GPKG", "site.gpkg", layers)
    }

    pub fn file(&self, driver: &str, name: &str, layers: &[L]) -> PathBuf {
        let path = self.0.join(name);
        let mut file = DriverManager::get_driver_by_name(driver)
            .unwrap()
            .create_vector_only(&path)
            .unwrap();
        layers.iter().for_each(|l| l.write(&mut file));
        file.close().unwrap();
        path
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// One value of a row.
#[derive(Clone, Copy)]
pub enum V {
    Null,
    I(i64),
    R(f64),
    T(&'static str),
}

/// One layer: name, geometry type, CRS (empty: undefined), columns, and rows of WKT (empty: null) and values.
pub struct L {
    pub name: &'static str,
    pub kind: G::Type,
    pub crs: &'static str,
    pub columns: Vec<(&'static str, OGRFieldType::Type)>,
    pub rows: Vec<(&'static str, Vec<V>)>,
}

pub const TEXT: OGRFieldType::Type = OGRFieldType::OFTString;
pub const REAL: OGRFieldType::Type = OGRFieldType::OFTReal;
pub const WHOLE: OGRFieldType::Type = OGRFieldType::OFTInteger64;

/// A layer in EPSG:25832 of any geometry, without columns.
pub fn layer(name: &'static str, rows: &[&'static str]) -> L {
    let rows = rows.iter().map(|w| (*w, vec![])).collect();
    L {
        name,
        kind: G::wkbUnknown,
        crs: "EPSG:25832",
        columns: vec![],
        rows,
    }
}

impl L {
    pub fn crs(mut self, crs: &'static str) -> L {
        self.crs = crs;
        self
    }

    /// A column, and its value in each row.
    pub fn column(mut self, name: &'static str, kind: OGRFieldType::Type, values: &[V]) -> L {
        assert_eq!(values.len(), self.rows.len());
        self.columns.push((name, kind));
        self.rows
            .iter_mut()
            .zip(values)
            .for_each(|(r, v)| r.1.push(*v));
        self
    }

    pub fn write(&self, file: &mut gdal::Dataset) {
        let srs = (!self.crs.is_empty()).then(|| srs(self.crs));
        let options = LayerOptions {
            name: self.name,
            srs: srs.as_ref(),
            ty: self.kind,
            options: None,
        };
        let layer = file.create_layer(options).unwrap();
        for (name, kind) in &self.columns {
            FieldDefn::new(name, *kind)
                .unwrap()
                .add_to_layer(&layer)
                .unwrap();
        }
        for (wkt, values) in &self.rows {
            let mut f = Feature::new(layer.defn()).unwrap();
            if !wkt.is_empty() {
                f.set_geometry(Geometry::from_wkt(wkt).unwrap()).unwrap();
            }
            for (i, v) in values.iter().enumerate() {
                match v {
                    V::Null => f.set_field_null(i),
                    V::I(n) => f.set_field_integer64(i, *n),
                    V::R(n) => f.set_field_double(i, *n),
                    V::T(t) => f.set_field_string(i, t),
                }
                .unwrap();
            }
            f.create(&layer).unwrap();
        }
    }
}

pub fn srs(text: &str) -> SpatialRef {
    let mut srs = SpatialRef::from_definition(text).unwrap();
    srs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    srs
}

/// A route of 100 m with ground levels, all that a plan needs.
pub fn route() -> L {
    layer(
        "routes",
        &["LINESTRING Z (500000 5800000 11, 500100 5800000 10)"],
    )
}

pub fn plan(layers: &Layers) -> Request<'_> {
    Request {
        layers,
        base: None,
        crs: None,
        around_m: 100.0,
        all_obstacles: false,
        need: Need::Plan,
    }
}

pub fn read(path: &Path) -> Result<Reading, ReadError> {
    read_with(path, &Layers::default())
}

pub fn read_with(path: &Path, layers: &Layers) -> Result<Reading, ReadError> {
    read::site(path, &plan(layers), &mut |_| {})
}

/// A reading of `layers` in a GeoPackage of their own.
pub fn read_layers(layers: &[L]) -> Result<Reading, ReadError> {
    read(&Folder::new().gpkg(layers))
}

/// A job that names `source` for `role`.
pub fn naming(role: Role, source: LayerSource) -> Layers {
    let mut layers = Layers::default();
    layers.by_role.entry(role).or_default().push(source);
    layers
}

pub fn table(name: &str) -> LayerSource {
    LayerSource {
        table: Some(name.into()),
        ..LayerSource::default()
    }
}

/// The faults of a reading as text: place and problem. That there are no services or streets is said of most of these sites.
pub fn faults(r: &Reading) -> Vec<String> {
    all_faults(r)
        .into_iter()
        .filter(|f| !f.contains("fills the role services") && !f.contains("no street is known"))
        .collect()
}

pub fn all_faults(r: &Reading) -> Vec<String> {
    let path = |f: &read::Fault| {
        f.place
            .file
            .as_ref()
            .map(|p| p.display().to_string())
            .unwrap_or_default()
    };
    r.faults
        .iter()
        .map(|f| f.to_string().replace(&format!("{}: ", path(f)), ""))
        .collect()
}

pub fn has(all: &[String], piece: &str) -> bool {
    all.iter().any(|t| t.contains(piece))
}
