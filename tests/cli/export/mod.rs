//! `export`: every format read back by GDAL, and what is refused.

mod layers;
mod refused;
mod schedule;

use crate::place::Place;
use gdal::{
    Dataset,
    spatial_ref::{AxisMappingStrategy, CoordTransform, SpatialRef},
    vector::{Geometry, LayerAccess},
};
use std::{collections::BTreeMap, path::Path};

pub type Point = (f64, f64, f64);

/// The sample, planned in a file of its own.
pub fn planned() -> Place {
    let place = Place::coarse("wattle-rise");
    let ran = place.run("plan wattle-rise.gpkg --out plan.gpkg --progress none");
    assert_eq!(ran.code, 0, "{}", ran.err);
    place
}

/// All vertices of a geometry, in order.
pub fn vertices(g: &Geometry) -> Vec<Point> {
    match g.geometry_count() {
        0 => {
            let mut points = Vec::new();
            g.get_points(&mut points);
            points
        }
        n => (0..n).flat_map(|i| vertices(&g.get_geometry(i))).collect(),
    }
}

/// Vertices of each feature of a layer, by the column that names it.
pub fn shapes(file: &Path, layer: &str, id: &str) -> BTreeMap<String, Vec<Point>> {
    let set = Dataset::open(file).expect("opens");
    let mut layer = set.layer_by_name(layer).expect("the layer");
    let at = layer.defn().field_index(id).expect("the column");
    let named = layer.features().map(|f| {
        let name = f.field_as_string(at).expect("reads").expect("an id");
        (name, vertices(f.geometry().expect("a shape")))
    });
    named.collect()
}

/// The same in degrees, carried by GDAL.
pub fn in_degrees(
    shapes: &BTreeMap<String, Vec<Point>>,
    epsg: u32,
) -> BTreeMap<String, Vec<Point>> {
    let system = |code| {
        let mut srs = SpatialRef::from_epsg(code).expect("known");
        srs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
        srs
    };
    let way = CoordTransform::new(&system(epsg), &system(4326)).expect("a way");
    let carried = |p: &Point| {
        let (mut x, mut y) = ([p.0], [p.1]);
        way.transform_coords(&mut x, &mut y, &mut [0.0])
            .expect("carried");
        (x[0], y[0], p.2)
    };
    let all = shapes
        .iter()
        .map(|(id, s)| (id.clone(), s.iter().map(carried).collect()));
    all.collect()
}
