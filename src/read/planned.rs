//! Result layers with their geometry, read back to be exported.

use super::{
    Problem,
    crs::Crs,
    fault::{Place, ReadError},
    geopackage::GeoPackage,
    hush::{hush, last_words},
    opening::{Opened, is_sqlite},
    roles::is_own_layer,
    shape::{Shape as Parts, Vertex},
    store::{LayerHead, unreadable},
    values::Value as Stored,
    wkb,
};
use crate::{
    export::{Column, Feature, Holds, Kind, Layer, Position, Shape, Value, with_levels},
    site::CrsInfo,
};
use gdal::spatial_ref::CoordTransform;
use std::path::Path;

/// System which system places are carried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum System {
    /// That of the layers.
    Job,
    /// Longitude and latitude on WGS 84.
    Degrees,
}

/// The result layers of a file that have a geometry, in the order of the file.
#[derive(Debug, Clone)]
pub struct Planned {
    /// The layers, pits lifted to the ground; empty where the file has none.
    pub layers: Vec<Layer>,
    /// The job's system, which the layers have in the file; none without layers.
    pub crs: Option<CrsInfo>,
}

/// Reads the result layers of a file. Levels stay as they are, metres above the job's height datum.
///
/// # Errors
/// The file is no GeoPackage or cannot be read; a layer has no system, or no way leads from it; a shape that is no point, line
/// or area, or cannot be read.
pub fn planned(path: &Path, system: System) -> Result<Planned, ReadError> {
    hush();
    let file = open(path)?;
    let heads = file.layers.iter();
    let drawn = heads.filter(|h| is_own_layer(&h.name) && h.geometry.is_some());
    let drawn: Vec<&LayerHead> = drawn.collect();
    let Some(first) = drawn.first() else {
        return Ok(Planned {
            layers: vec![],
            crs: None,
        });
    };
    let job = crs(path, first)?;
    let target = match system {
        System::Job => job.clone(),
        System::Degrees => Crs::typed("OGC:CRS84").map_err(|p| at(path, first, p))?,
    };
    let layers = drawn.iter().map(|head| layer(path, &file, head, &target));
    Ok(Planned {
        layers: layers.collect::<Result<_, _>>()?,
        crs: Some(job.info),
    })
}

fn open(path: &Path) -> Result<GeoPackage, ReadError> {
    let not_one = || Problem::CannotOpen {
        gdal: "it is not a GeoPackage".to_string(),
    };
    if !path.exists() {
        return Err(ReadError::new(Place::file(path), Problem::NoFile));
    }
    if !is_sqlite(path) {
        return Err(ReadError::new(Place::file(path), not_one()));
    }
    let file = GeoPackage::of(path, Opened::new(path)?)?;
    file.ok_or_else(|| ReadError::new(Place::file(path), not_one()))
}

fn at(path: &Path, head: &LayerHead, problem: Problem) -> ReadError {
    let place = Place {
        layer: Some(head.name.clone()),
        ..Place::file(path)
    };
    ReadError::new(place, problem)
}

fn crs(path: &Path, head: &LayerHead) -> Result<Crs, ReadError> {
    let crs = head.crs.clone();
    crs.ok_or_else(|| at(path, head, Problem::NoCrs))
}

fn layer(
    path: &Path,
    file: &GeoPackage,
    head: &LayerHead,
    target: &Crs,
) -> Result<Layer, ReadError> {
    let from = crs(path, head)?;
    let way = (!from.same(target)).then(|| CoordTransform::new(&from.srs, &target.srs));
    let way = way.transpose().map_err(|_| {
        let gdal = last_words();
        at(path, head, Problem::NoTransform { gdal })
    })?;
    let geometry = head.geometry.as_deref().unwrap_or_default();
    let mut layer = Layer {
        name: head.name.clone(),
        kind: kind(geometry),
        has_levels: geometry.ends_with(" Z"),
        columns: columns(file, head).map_err(|e| unreadable(path, Some(&head.name), e))?,
        features: vec![],
    };
    fill(file, head, &mut layer, way.as_ref()).map_err(|e| match e {
        Broken::File(error) => error,
        Broken::Feature(fid, problem) => {
            let mut error = at(path, head, problem);
            error.place.fid = Some(fid);
            error
        }
    })?;
    with_levels(&mut layer);
    Ok(layer)
}

/// Why a layer could not be read.
enum Broken {
    File(ReadError),
    Feature(i64, Problem),
}

fn fill(
    file: &GeoPackage,
    head: &LayerHead,
    layer: &mut Layer,
    way: Option<&CoordTransform>,
) -> Result<(), Broken> {
    let mut rows: Vec<Result<Feature, Broken>> = vec![];
    let scanned = file.scan(&head.name, &head.columns, &mut |raw| {
        let shape = shape(raw.wkb, layer.kind, layer.has_levels, way);
        let values = (raw.values)().into_iter().zip(&layer.columns);
        let row = shape.map(|shape| Feature {
            fid: raw.fid,
            shape,
            values: values.map(|(v, c)| value(v, c.holds)).collect(),
        });
        rows.push(row.map_err(|problem| Broken::Feature(raw.fid, problem)));
    });
    scanned.map_err(Broken::File)?;
    layer.features = rows.into_iter().collect::<Result<_, _>>()?;
    Ok(())
}

fn kind(geometry: &str) -> Kind {
    match geometry.trim_end_matches(" Z").to_uppercase().as_str() {
        "POINT" => Kind::Point,
        "POLYGON" => Kind::Polygon,
        "MULTIPOLYGON" => Kind::MultiPolygon,
        _ => Kind::Line,
    }
}

/// Names and declared types of the columns, without fid and geometry.
fn columns(file: &GeoPackage, head: &LayerHead) -> rusqlite::Result<Vec<Column>> {
    let sql = "SELECT name, type FROM pragma_table_info(?1)";
    let mut ask = file.opened.db.prepare(sql)?;
    let pairs = ask.query_map([&head.name], |r| Ok((r.get(0)?, r.get(1)?)))?;
    let types: Vec<(String, String)> = pairs.collect::<Result<_, _>>()?;
    let holds = |name: &String| {
        let declared = types.iter().find(|t| t.0 == *name).map_or("", |t| &t.1);
        holds(declared)
    };
    let column = |name: &String| Column {
        name: name.clone(),
        holds: holds(name),
    };
    Ok(head.columns.iter().map(column).collect())
}

fn holds(declared: &str) -> Holds {
    let declared = declared.to_uppercase();
    match declared.as_str() {
        "BOOLEAN" => Holds::Flag,
        "DOUBLE" | "REAL" | "FLOAT" => Holds::Real,
        kind if kind.contains("INT") => Holds::Integer,
        _ => Holds::Text,
    }
}

fn value(stored: Stored, holds: Holds) -> Value {
    match (stored, holds) {
        (Stored::Null, _) => Value::Null,
        (Stored::Int(n), Holds::Flag) => Value::Flag(n != 0),
        (Stored::Int(n), Holds::Real) => Value::Real(n as f64),
        (Stored::Int(n), _) => Value::Integer(n),
        (Stored::Real(x), _) if x.is_finite() => Value::Real(x),
        (Stored::Real(_), _) => Value::Null,
        (Stored::Text(t), _) => Value::Text(t),
    }
}

/// A geometry as a shape, carried; none where there is none.
fn shape(
    wkb: Result<Option<&[u8]>, String>,
    kind: Kind,
    levels: bool,
    way: Option<&CoordTransform>,
) -> Result<Option<Shape>, Problem> {
    let bad = |why| Problem::BadGeometry { why };
    let Some(wkb) = wkb.map_err(bad)? else {
        return Ok(None);
    };
    let mut parts = wkb::parse(wkb, 0.01).map_err(|why| bad(why.to_string()))?;
    if parts.is_empty() {
        return Ok(None);
    }
    carry(&mut parts, way)?;
    assembled(&parts, kind, levels).map(Some)
}

fn carry(parts: &mut Parts, way: Option<&CoordTransform>) -> Result<(), Problem> {
    if let Some(way) = way {
        let (mut x, mut y): (Vec<f64>, Vec<f64>) = parts.vertices().map(|v| (v.x, v.y)).unzip();
        // Levels take no part: between height datums nobody here knows the way.
        let mut z = vec![0.0; x.len()];
        let carried = way.transform_coords(&mut x, &mut y, &mut z);
        carried.map_err(|_| Problem::NoTransform { gdal: last_words() })?;
        for (v, (x, y)) in parts.vertices_mut().zip(x.into_iter().zip(y)) {
            (v.x, v.y) = (x, y);
        }
    }
    match parts.is_finite() {
        true => Ok(()),
        false => Err(Problem::NotFinite),
    }
}

/// Our own layers hold one kind of shape each, and a line or a simple area is one part. What is not so is refused, since a part
/// left out would be a bore left out.
fn assembled(parts: &Parts, kind: Kind, levels: bool) -> Result<Shape, Problem> {
    let place = |v: &Vertex| Position {
        x: v.x,
        y: v.y,
        z: Some(v.z).filter(|z| levels && z.is_finite()),
    };
    let line = |line: &Vec<Vertex>| line.iter().map(place).collect::<Vec<_>>();
    let area = |rings: &Vec<Vec<Vertex>>| rings.iter().map(line).collect::<Vec<_>>();
    let wrong = |wanted| Err(Problem::WrongGeometry { wanted });
    match (kind, &parts.points[..], &parts.lines[..], &parts.areas[..]) {
        (Kind::Point, [one], [], []) => Ok(Shape::Point(place(one))),
        (Kind::Line, [], [one], []) => Ok(Shape::Line(line(one))),
        (Kind::Polygon, [], [], [one]) => Ok(Shape::Polygon(area(one))),
        (Kind::MultiPolygon, [], [], all) => {
            Ok(Shape::MultiPolygon(all.iter().map(area).collect()))
        }
        (Kind::Point, ..) => wrong("one point"),
        (Kind::Line, ..) => wrong("one line"),
        (Kind::Polygon, ..) => wrong("one area"),
        (Kind::MultiPolygon, ..) => wrong("areas"),
    }
}
