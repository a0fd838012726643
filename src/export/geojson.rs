//! GeoJSON.
//!
//! # Source
//! RFC 7946: longitude first (3.1.1), right-hand rule (3.1.6), bounding box (5), foreign members (6.1), seven decimals
//! (11.2). Its third number is a height above the WGS 84 ellipsoid; which no plan knows: ours is the level above the job's
//! height datum, and the file says so in a foreign member.

use super::{Feature, Layer, Position, Shape, Value, orient::right_handed};
use geojson::{
    Bbox, Feature as Row, FeatureCollection, Geometry, GeometryValue, JsonObject, JsonValue,
    feature::Id,
};

/// What the third number of a position is.
const LEVELS: &str =
    "metres above the job's height datum, not above the ellipsoid that RFC 7946 names";

/// A layer in degrees as the text of one file.
pub fn geojson(layer: &Layer) -> String {
    let mut about = JsonObject::new();
    about.insert("name".into(), layer.name.clone().into());
    if layer.has_levels {
        about.insert("levels".into(), LEVELS.into());
    }
    let everywhere = layer.features.iter().filter_map(|f| f.shape.as_ref());
    let everywhere: Vec<Position> = everywhere.flat_map(Shape::positions).collect();
    let collection = FeatureCollection {
        bbox: bbox(&everywhere),
        features: layer.features.iter().map(|f| row(layer, f)).collect(),
        foreign_members: Some(about),
    };
    format!("{collection}\n")
}

fn row(layer: &Layer, feature: &Feature) -> Row {
    let names = layer.columns.iter().map(|c| c.name.clone());
    let values = feature.values.iter().map(value);
    Row {
        bbox: None,
        geometry: feature.shape.as_ref().map(geometry),
        id: Some(Id::Number(feature.fid.into())),
        properties: Some(names.zip(values).collect()),
        foreign_members: None,
    }
}

fn value(value: &Value) -> JsonValue {
    match value {
        Value::Null => JsonValue::Null,
        Value::Integer(n) => (*n).into(),
        Value::Real(x) => (*x).into(),
        Value::Flag(yes) => (*yes).into(),
        Value::Text(word) => word.as_str().into(),
    }
}

fn geometry(shape: &Shape) -> Geometry {
    let ring = |ring: Vec<Position>| ring.iter().map(position).collect();
    let area = |rings: &Vec<Vec<Position>>| right_handed(rings).into_iter().map(ring).collect();
    Geometry::new(match shape {
        Shape::Point(p) => GeometryValue::Point {
            coordinates: position(p),
        },
        Shape::Line(line) => GeometryValue::LineString {
            coordinates: line.iter().map(position).collect(),
        },
        Shape::Polygon(rings) => GeometryValue::Polygon {
            coordinates: area(rings),
        },
        Shape::MultiPolygon(areas) => GeometryValue::MultiPolygon {
            coordinates: areas.iter().map(area).collect(),
        },
    })
}

fn position(p: &Position) -> geojson::Position {
    numbers(p).into()
}

/// Degrees to seven decimals (a centimetre), levels to the millimetre.
fn numbers(p: &Position) -> Vec<f64> {
    let plan = [rounded(p.x, 1e7), rounded(p.y, 1e7)];
    plan.into_iter()
        .chain(p.z.map(|z| rounded(z, 1e3)))
        .collect()
}

fn rounded(x: f64, parts: f64) -> f64 {
    // Adding nothing takes the sign off a zero.
    (x * parts).round() / parts + 0.0
}

/// West, south, lowest, east, north, highest; without levels where a place has none. None of nothing.
fn bbox(everywhere: &[Position]) -> Option<Bbox> {
    let all: Vec<Vec<f64>> = everywhere.iter().map(numbers).collect();
    let axes = all.iter().map(Vec::len).min()?;
    let along = |axis: usize, pick: fn(f64, f64) -> f64| all.iter().map(|p| p[axis]).reduce(pick);
    let least = (0..axes).filter_map(|axis| along(axis, f64::min));
    let greatest = (0..axes).filter_map(|axis| along(axis, f64::max));
    Some(least.chain(greatest).collect())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::export::{Column, Holds, Kind};

    fn layer(features: Vec<Feature>) -> Layer {
        Layer {
            name: "proposed_bores".into(),
            kind: Kind::Line,
            has_levels: true,
            columns: vec![Column {
                name: "bore_id".into(),
                holds: Holds::Text,
            }],
            features,
        }
    }

    #[test]
    fn a_line_is_written_to_seven_decimals_with_its_bounds() {
        let at = |x, y, z| Position { x, y, z: Some(z) };
        let line = vec![
            at(-0.000_000_04, 51.123_456_78, 12.3456),
            at(1.0, 51.0, 12.0),
        ];
        let text = geojson(&layer(vec![Feature {
            fid: 3,
            shape: Some(Shape::Line(line)),
            values: vec![Value::Text("B\"1".into())],
        }]));
        let read: JsonValue = serde_json::from_str(&text).unwrap();
        let expected = serde_json::json!([[0.0, 51.1234568, 12.346], [1.0, 51.0, 12.0]]);
        assert_eq!(read["features"][0]["geometry"]["coordinates"], expected);
        assert_eq!(
            read["bbox"],
            serde_json::json!([0.0, 51.0, 12.0, 1.0, 51.1234568, 12.346])
        );
        assert_eq!(read["features"][0]["properties"]["bore_id"], "B\"1");
    }

    #[test]
    fn nothing_has_no_bounds() {
        let read: JsonValue = serde_json::from_str(&geojson(&layer(vec![]))).unwrap();
        assert_eq!(read["features"], serde_json::json!([]));
        assert!(read.get("bbox").is_none());
    }
}
