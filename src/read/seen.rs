//! What of a site and of results lies in a window, for a map. Nothing is judged by it.

use super::{
    Problem,
    carrier::Carrier,
    crs::Crs,
    fault::{Place, ReadError},
    geopackage::{Part, Trust},
    hush::hush,
    request::{Need, Request},
    roles::{Source, Stores, is_own_layer, sources},
    shape::{Bounds, Shape, Vertex},
    store::{LayerHead, Raw, Store},
    values::Value,
    wkb,
};
use crate::{
    job::{LayerSource, Role},
    view::{NotDrawn, Seen, Thing},
};
use geo::Coord;
use serde_json::Value as Json;
use std::path::Path;

/// What is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Sight<'a> {
    /// The job's system: a code or well-known text.
    pub crs: &'a str,
    /// South-west and north-east corner (metres of the job); none for everything.
    pub window: Option<[Coord<f64>; 2]>,
    /// Most features of a layer.
    pub most: usize,
    /// What is known of indexes.
    pub trust: &'a Trust,
}

/// Vertices that a feature may have when there are as many as are drawn.
const VERTICES: usize = 50;

/// Columns that a map shows, by their names in the interface.
fn shown(part: &str) -> &'static [&'static str] {
    match part {
        "routes" => &["route_id"],
        "streets" => &["name"],
        "lots" => &["lot_id"],
        "surfaces" => &["surface"],
        "fences" => &["material"],
        "services" => &["kind", "cover_m", "diameter_mm", "owner", "status"],
        "manholes" => &["manhole_id"],
        "keepouts" => &["reason"],
        "proposed_pits" => &["pit_id", "role", "manhole", "depth_m"],
        "proposed_bores" => &[
            "bore_id",
            "route_id",
            "us_pit",
            "launch_pit",
            "length_m",
            "grade",
        ],
        "bores" => &["bore_id", "launch", "us_pit", "launch_pit"],
        "bore_conflicts" => &[
            "conflict_id",
            "bore_id",
            "pit_id",
            "obstacle",
            "kind",
            "owner",
            "clearance_m",
            "depth_known",
            "verdict",
        ],
        "test_holes" => &["hole_id", "bore_id", "kind", "dig_to_m", "priority"],
        "bore_inspections" => &["bore_id", "kind", "owner"],
        "route_blockers" => &["route_id", "why", "remedies"],
        _ => &[],
    }
}

/// Every layer of the site that a map shows, in the order of the roles. One that cannot be read says so and the others are read.
///
/// # Errors
/// The site's file or the job's system cannot be used.
pub fn site_seen(path: &Path, wanted: &Request, sight: &Sight) -> Result<Vec<Seen>, ReadError> {
    hush();
    let crs = system(path, sight)?;
    let mut stores = Stores::new(path, wanted.base)?;
    let all = sources(&mut stores, wanted);
    let seen = all.into_iter().filter_map(|source| match source {
        Ok(s) if s.raster || matches!(s.role, Role::Ground | Role::Bores) => None,
        Ok(s) => Some(of_source(&stores, &s, &crs, sight)),
        Err(e) => Some(unread("", String::new(), &e)),
    });
    Ok(seen.collect())
}

/// A layer of lines to be checked, as a check reads it.
///
/// # Errors
/// The file or the layer in it cannot be used.
pub fn bores_seen(
    path: &Path,
    wanted: &Request,
    layer: &LayerSource,
    sight: &Sight,
) -> Result<Seen, ReadError> {
    hush();
    let crs = system(path, sight)?;
    let mut stores = Stores::new(path, wanted.base)?;
    let wanted = Request {
        need: Need::Check(layer.clone()),
        ..wanted.clone()
    };
    let mut all = sources(&mut stores, &wanted).into_iter();
    let bores = all.find(|s| s.as_ref().map_or(true, |s| s.role == Role::Bores));
    let bores = bores.expect("a check has bores")?;
    Ok(of_source(&stores, &bores, &crs, sight))
}

/// Result layers of a file, as far as they are there.
///
/// # Errors
/// The file or the job's system cannot be used.
pub fn results_seen(
    path: &Path,
    layers: &[&'static str],
    sight: &Sight,
) -> Result<Vec<Seen>, ReadError> {
    hush();
    let crs = system(path, sight)?;
    let store = Store::open(path)?;
    let there = |name: &&&'static str| store.layer(name).is_some_and(|h| h.geometry.is_some());
    let seen = layers.iter().filter(there).map(|name| {
        debug_assert!(is_own_layer(name));
        let head = store.layer(name).expect("it was looked for");
        let has = |c: &&&str| head.columns.iter().any(|h| h == **c);
        let columns = shown(name).iter().filter(has);
        let columns = columns.map(|c| (*c, c.to_string())).collect();
        of_layer(&store, head, (name, columns), &crs, sight)
    });
    Ok(seen.collect())
}

fn system(path: &Path, sight: &Sight) -> Result<Crs, ReadError> {
    Crs::typed(sight.crs).map_err(|p| ReadError::new(Place::file(path), p))
}

fn of_source(stores: &Stores, source: &Source, crs: &Crs, sight: &Sight) -> Seen {
    let part = source.role.name();
    let columns = source.columns.iter();
    let columns = columns.filter(|c| shown(part).contains(&c.0)).cloned();
    let store = &stores.files[source.store].1;
    let named = (part, columns.collect());
    of_layer(store, stores.head(source), named, crs, sight)
}

fn of_layer(
    store: &Store,
    head: &LayerHead,
    (part, columns): (&'static str, Vec<(&'static str, String)>),
    crs: &Crs,
    sight: &Sight,
) -> Seen {
    match look(store, head, &columns, crs, sight) {
        Ok(found) => Seen {
            part,
            layer: head.name.clone(),
            broken: found.broken,
            things: found.things(sight.most),
        },
        Err(e) => unread(part, head.name.clone(), &e),
    }
}

fn unread(part: &'static str, layer: String, error: &ReadError) -> Seen {
    Seen {
        part,
        layer,
        things: Err(NotDrawn::Unreadable(error.to_string())),
        broken: 0,
    }
}

/// What has been found so far.
struct Found {
    things: Vec<Thing>,
    /// There is more that was not looked at.
    more: bool,
    vertices: usize,
    broken: usize,
}

impl Found {
    fn too_many(&self, most: usize) -> bool {
        self.more || self.things.len() > most || self.vertices > VERTICES * most
    }

    fn things(mut self, most: usize) -> Result<Vec<Thing>, NotDrawn> {
        if self.too_many(most) {
            return Err(NotDrawn::TooMany);
        }
        self.things.sort_by_key(|t| t.fid);
        Ok(self.things)
    }
}

fn look(
    store: &Store,
    head: &LayerHead,
    columns: &[(&'static str, String)],
    job: &Crs,
    sight: &Sight,
) -> Result<Found, ReadError> {
    let place = || Place::file(store.real_path()).layer(&head.name);
    let from = head.crs.as_ref().unwrap_or(job);
    let carrier = Carrier::new(from, job).map_err(|p| ReadError::new(place(), p))?;
    let window = sight.window.map(|[min, max]| Bounds {
        min: [min.x, min.y],
        max: [max.x, max.y],
    });
    let seen_by_layer = window
        .as_ref()
        .map(|w| carrier.window(w).ok_or_else(nowhere));
    let seen_by_layer = seen_by_layer.transpose();
    let seen_by_layer = seen_by_layer.map_err(|p| ReadError::new(place(), p))?;
    let mut found = Found {
        things: vec![],
        more: false,
        vertices: 0,
        broken: 0,
    };
    let names: Vec<String> = columns.iter().map(|c| c.1.clone()).collect();
    let mut visit = |raw: Raw| {
        if found.too_many(sight.most) {
            return;
        }
        match shape(&raw, from, &carrier) {
            Ok(shape) if window.is_none_or(|w| shape.bounds().meets(&w)) => {
                let values = (raw.values)().into_iter();
                let cells = columns.iter().zip(values).map(|(c, v)| (c.0, cell(c.0, v)));
                found.vertices += shape.vertices().count();
                found.things.push(thing(raw.fid, &shape, cells.collect()));
            }
            Ok(_) => {}
            Err(_) => found.broken += 1,
        }
    };
    let all = match (store, &seen_by_layer) {
        (Store::Gpkg(g), Some(window)) => {
            let part = Part {
                window,
                most: sight.most,
                trust: sight.trust,
            };
            g.in_window(&head.name, &names, &part, &mut visit)?
        }
        _ => store.scan(&head.name, &names, &mut visit).map(|()| true)?,
    };
    found.more = !all;
    Ok(found)
}

fn nowhere() -> Problem {
    let gdal = "this part of the map has no place in the layer's system".to_string();
    Problem::NoTransform { gdal }
}

fn shape(raw: &Raw, from: &Crs, carrier: &Carrier) -> Result<Shape, String> {
    let Some(bytes) = raw.wkb.clone()? else {
        return Ok(Shape::default());
    };
    let mut shape = wkb::parse(bytes, from.centimetre())?;
    carrier.carry(&mut shape);
    match shape.is_finite() {
        true => Ok(shape),
        false => Err("it has a place that is no number".to_string()),
    }
}

fn thing(fid: i64, shape: &Shape, cells: Vec<(&'static str, Json)>) -> Thing {
    let plan = |line: &Vec<Vertex>| line.iter().map(Vertex::plan).collect::<Vec<_>>();
    let levels = |line: &Vec<Vertex>| super::shape::polyline(line).levels.is_some();
    Thing {
        fid,
        points: shape.points.iter().map(Vertex::plan).collect(),
        lines: shape.lines.iter().map(plan).collect(),
        areas: shape
            .areas
            .iter()
            .map(|rings| rings.iter().map(plan).collect())
            .collect(),
        levels: !shape.lines.is_empty() && shape.lines.iter().all(levels),
        cells,
    }
}

/// A bore's name is the word that a check makes of it, also where the layer has numbers.
fn cell(column: &str, value: Value) -> Json {
    match value {
        name if column == "bore_id" => name.text().map_or(Json::Null, Json::String),
        Value::Null => Json::Null,
        Value::Int(n) => n.into(),
        Value::Real(x) => x.into(),
        Value::Text(t) => t.into(),
    }
}
