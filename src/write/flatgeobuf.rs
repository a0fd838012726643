//! A layer as FlatGeobuf, through GDAL.

use super::CrsInfo;
use crate::export::{Feature as Row, Holds, Kind, Layer, Position, Shape, Value};
use gdal::{
    DriverManager,
    errors::Result,
    spatial_ref::{AxisMappingStrategy, SpatialRef},
    vector::{
        Feature, FieldDefn, Geometry, LayerAccess, LayerOptions, OGRFieldType, OGRwkbGeometryType,
        geometry_type_set_z,
    },
};
use std::path::Path;

/// Writes a layer, in the system that it has, to a file that is not there.
///
/// # Errors
/// GDAL has no FlatGeobuf, or cannot write the file; what it began is left there.
pub fn flatgeobuf(file: &Path, layer: &Layer, crs: &CrsInfo) -> Result<()> {
    let mut srs = SpatialRef::from_wkt(&crs.wkt)?;
    srs.set_axis_mapping_strategy(AxisMappingStrategy::TraditionalGisOrder);
    let driver = DriverManager::get_driver_by_name("FlatGeobuf")?;
    let mut set = driver.create_vector_only(file)?;
    let mut out = set.create_layer(LayerOptions {
        name: &layer.name,
        srs: Some(&srs),
        ty: kind(layer),
        options: None,
    })?;
    for column in &layer.columns {
        field(column.holds, &column.name)?.add_to_layer(&out)?;
    }
    for row in &layer.features {
        put(&mut out, row, layer.has_levels)?;
    }
    set.flush_cache()?;
    set.close()
}

fn kind(layer: &Layer) -> OGRwkbGeometryType::Type {
    let flat = match layer.kind {
        Kind::Point => OGRwkbGeometryType::wkbPoint,
        Kind::Line => OGRwkbGeometryType::wkbLineString,
        Kind::Polygon => OGRwkbGeometryType::wkbPolygon,
        Kind::MultiPolygon => OGRwkbGeometryType::wkbMultiPolygon,
    };
    match layer.has_levels {
        true => geometry_type_set_z(flat),
        false => flat,
    }
}

fn field(holds: Holds, name: &str) -> Result<FieldDefn> {
    let kind = match holds {
        Holds::Text => OGRFieldType::OFTString,
        Holds::Integer => OGRFieldType::OFTInteger64,
        Holds::Real => OGRFieldType::OFTReal,
        Holds::Flag => OGRFieldType::OFTInteger,
    };
    FieldDefn::new(name, kind)
}

fn put(out: &mut gdal::vector::Layer, row: &Row, levels: bool) -> Result<()> {
    let mut feature = Feature::new(out.defn())?;
    for (i, value) in row.values.iter().enumerate() {
        match value {
            Value::Null => feature.set_field_null(i)?,
            Value::Integer(n) => feature.set_field_integer64(i, *n)?,
            Value::Real(x) => feature.set_field_double(i, *x)?,
            Value::Flag(yes) => feature.set_field_integer(i, i32::from(*yes))?,
            // A zero byte ends a word in C.
            Value::Text(word) => feature.set_field_string(i, &word.replace('\0', " "))?,
        }
    }
    if let Some(shape) = &row.shape {
        feature.set_geometry(geometry(shape, levels)?)?;
    }
    feature.create(out)
}

fn geometry(shape: &Shape, levels: bool) -> Result<Geometry> {
    match shape {
        Shape::Point(p) => line(OGRwkbGeometryType::wkbPoint, &[*p], levels),
        Shape::Line(places) => line(OGRwkbGeometryType::wkbLineString, places, levels),
        Shape::Polygon(rings) => polygon(rings, levels),
        Shape::MultiPolygon(areas) => {
            let mut all = Geometry::empty(OGRwkbGeometryType::wkbMultiPolygon)?;
            for rings in areas {
                all.add_geometry(polygon(rings, levels)?)?;
            }
            Ok(all)
        }
    }
}

fn polygon(rings: &[Vec<Position>], levels: bool) -> Result<Geometry> {
    let mut area = Geometry::empty(OGRwkbGeometryType::wkbPolygon)?;
    for ring in rings {
        area.add_geometry(line(OGRwkbGeometryType::wkbLinearRing, ring, levels)?)?;
    }
    Ok(area)
}

fn line(kind: OGRwkbGeometryType::Type, places: &[Position], levels: bool) -> Result<Geometry> {
    let mut line = Geometry::empty(kind)?;
    for p in places {
        match levels {
            true => line.add_point((p.x, p.y, p.z.unwrap_or(f64::NAN))),
            false => line.add_point_2d((p.x, p.y)),
        }
    }
    Ok(line)
}
