//! A small site as GDAL writes one, and what a run needs besides.

use gdal::DriverManager;
use gdal::spatial_ref::SpatialRef;
use gdal::vector::{
    Feature, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType,
};
use pitwright::write::{CrsInfo, RunRecord, Table, Target, WriteError, layers};
use rusqlite::Connection;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// A site in a folder of its own; both go when it is dropped.
pub struct Site {
    pub folder: TempDir,
    pub file: PathBuf,
}

impl Site {
    /// Services with levels and a table of attributes, in EPSG:25832.
    pub fn new() -> Site {
        let folder = tempfile::tempdir().unwrap();
        let file = folder.path().join("site.gpkg");
        make(&file);
        Site { folder, file }
    }

    pub fn beside(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    pub fn sql(&self, sql: &str) {
        Connection::open(&self.file)
            .unwrap()
            .execute_batch(sql)
            .unwrap();
    }

    pub fn write(
        &self,
        tables: &[Table],
        replace: bool,
    ) -> Result<Vec<(String, usize)>, WriteError> {
        layers(&Target::site(&self.file), &crs(), tables, &run(), replace)
    }
}

fn make(file: &Path) {
    let mut set = DriverManager::get_driver_by_name("GPKG")
        .unwrap()
        .create_vector_only(file)
        .unwrap();
    let srs = SpatialRef::from_epsg(25832).unwrap();
    let options = |name, ty| LayerOptions {
        name,
        srs: Some(&srs),
        ty,
        ..Default::default()
    };
    let services = set
        .create_layer(options("services", OGRwkbGeometryType::wkbLineString25D))
        .unwrap();
    services
        .create_defn_fields(&[("kind", OGRFieldType::OFTString)])
        .unwrap();
    for i in 0..50 {
        let y = 5_900_000 + i;
        let wkt = format!("LINESTRING Z (500000 {y} 10.5, 500400 {y} 10.25)");
        let line = Geometry::from_wkt(&wkt).unwrap();
        let mut feature = Feature::new(services.defn()).unwrap();
        feature.set_geometry(line).unwrap();
        feature.set_field_string(0, "gas").unwrap();
        feature.create(&services).unwrap();
    }
    set.create_layer(options("remarks", OGRwkbGeometryType::wkbNone))
        .unwrap();
    set.close().unwrap();
}

pub fn crs() -> CrsInfo {
    let srs = SpatialRef::from_epsg(25832).unwrap();
    CrsInfo {
        name: srs.name().unwrap(),
        authority: Some("EPSG:25832".into()),
        wkt: srs.to_wkt().unwrap(),
        unit_m: 1.0,
        unit_name: "metre".into(),
        srs_id: None,
    }
}

/// A run of a fixed moment, so that two files of one plan are equal row by row.
pub fn run() -> RunRecord {
    RunRecord {
        command: "plan".into(),
        version: "0.1.0".into(),
        finished_at: "2026-03-01T10:20:30.5Z".parse().unwrap(),
        job_json: "{}".into(),
        inputs_json: "[]".into(),
        summary_json: "{}".into(),
    }
}
