//! A look at everything a file holds, before anything is planned on it.

use super::crs::Crs;
use super::fault::{Fault, Faults, Place, ReadError};
use super::features::{Table, gather};
use super::request::Request;
use super::roles::{self, Source, Stores, is_own_layer};
use super::shape::Shape;
use super::site::{Context, fill, job_crs, streets_known};
use super::store::{LayerHead, nearest_first};
use super::{Problem, ground, guess, hush, joins};
use crate::job::{Layers, Role};
use crate::site::CrsInfo;
use crate::site::GivenBore;
use crate::site::{Quality, Site};
use std::collections::{BTreeMap, HashMap};
use std::path::{Path, PathBuf};

/// The part a layer plays.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Plays {
    /// The job names it.
    Named(Role),
    /// It has the role's name.
    ByName(Role),
    /// It looks like it, and the job would have to name it.
    Guess(Role),
    /// A result of an earlier run, or styles.
    Result,
    /// Nothing.
    Nothing,
}

/// One layer, as found.
#[derive(Debug, Clone, PartialEq)]
pub struct LayerSeen {
    /// File.
    pub file: PathBuf,
    /// Name.
    pub name: String,
    /// Geometry type, none for a table without geometry; `RASTER` for a raster.
    pub geometry: Option<String>,
    /// Its coordinate reference system, where defined.
    pub crs: Option<CrsInfo>,
    /// Features.
    pub features: u64,
    /// Columns.
    pub columns: Vec<String>,
    /// The part it plays.
    pub plays: Plays,
}

/// Everything found.
#[derive(Debug)]
pub struct Inspection {
    /// Layers, file by file, in the order of the file.
    pub layers: Vec<LayerSeen>,
    /// The coordinate reference system that a job would have, where it would be one that can be used.
    pub crs: Option<CrsInfo>,
    /// Roles and columns as a new job would name them: those given, and the likeliest for the rest.
    pub guess: Layers,
    /// Whatever a plan would have to be told, or would stop at.
    pub faults: Vec<Fault>,
}

/// Looks at every layer whole, and at every role it fills or might fill. No file is changed.
///
/// # Errors
/// Only where the file cannot be opened; all else is among the faults.
pub fn inspect(path: &Path, request: &Request) -> Result<Inspection, ReadError> {
    hush();
    let mut stores = Stores::new(path, request.base)?;
    let mut faults = Faults::default();
    errors(roles::sources(&mut stores, request), &mut faults);
    let guess = guess::complete(&stores.files[0].1, request.layers);
    let likely = Request {
        layers: &guess,
        ..request.clone()
    };
    let sources = errors(roles::sources(&mut stores, &likely), &mut faults);
    if !sources.iter().any(|s| s.role == Role::Routes) {
        let known = nearest_first("routes", roles::input_names(&stores.files[0].1));
        faults.note(
            Place::file(path),
            Problem::RoleEmpty {
                role: "routes",
                known,
            },
        );
    }
    let job = job_crs(&stores, &sources, request);
    let crs = job.as_ref().ok().map(|c| c.info.clone());
    let job = job.unwrap_or_else(|e| {
        let stand_in = stand_in(&e);
        // Where nothing plays a part there is nothing to ask a system of.
        faults
            .0
            .extend((!sources.is_empty()).then(|| e.into_fault()));
        stand_in
    });
    let mut cx = Context::new(stores, job);
    cx.faults = faults;
    let counts = look(&mut cx, &sources);
    let layers = list(&cx.stores, request.layers, &sources, &counts)?;
    Ok(Inspection {
        layers,
        crs,
        guess,
        faults: cx.faults.0,
    })
}

/// Keeps what worked; each error becomes a fault once.
fn errors(all: Vec<Result<Source, ReadError>>, faults: &mut Faults) -> Vec<Source> {
    let mut good = vec![];
    for one in all {
        match one.map_err(ReadError::into_fault) {
            Ok(s) => good.push(s),
            Err(f) if !faults.0.contains(&f) => faults.0.push(f),
            Err(_) => {}
        }
    }
    good
}

/// A system in metres to look at the data in, where the job has none that can be used.
fn stand_in(e: &ReadError) -> Crs {
    let fitting = match &*e.problem {
        Problem::Geographic { fitting, .. } | Problem::NotTrueToScale { fitting, .. } => {
            fitting.first()
        }
        _ => None,
    };
    let made = fitting.and_then(|f| Crs::typed(&f.code).ok());
    let plain = || Crs::typed("LOCAL_CS[\"not defined\",UNIT[\"metre\",1]]");
    made.map_or_else(plain, Ok)
        .expect("a plain local system needs no database")
}

/// Features of each source: file and table.
type Counts = BTreeMap<(usize, String), u64>;

fn look(cx: &mut Context, sources: &[Source]) -> Counts {
    let (mut site, mut given, mut counts) =
        (Site::default(), Vec::<GivenBore>::new(), Counts::new());
    for source in sources.iter().filter(|s| !s.raster) {
        match gather(cx, source, None) {
            Ok(table) => {
                counts.insert((source.store, source.table.clone()), table.total as u64);
                fill(&mut site, &mut given, &table, &mut cx.faults);
                doubles_and_dots(&table, &mut cx.faults);
                lacking(&table, &site, &mut cx.faults);
            }
            Err(e) => cx.faults.0.push(e.into_fault()),
        }
    }
    whole(cx, sources, &mut site);
    counts
}

/// What can be said only when all layers are there.
fn whole(cx: &mut Context, sources: &[Source], site: &mut Site) {
    let source = sources.iter().find(|s| s.role == Role::Ground);
    match ground::ground(cx, source, site, None, None) {
        Ok(g) => site.ground = g,
        Err(e) => cx.faults.0.push(e.into_fault()),
    }
    let Some(routes) = sources.iter().find(|s| s.role == Role::Routes) else {
        return;
    };
    streets_known(cx, sources, site);
    let place = cx.stores.place(routes);
    joins::check(&site.routes, &place, &mut cx.faults);
    let names = (&cx.stores, sources);
    if let Err(e) =
        joins::check_follows(&site.routes, &site.services, names, &place, &mut cx.faults)
    {
        cx.faults.0.push(e.into_fault());
    }
    if source.is_none() && matches!(site.ground, crate::ground::Ground::None) {
        cx.faults
            .stop(Place::file(&cx.stores.files[0].0), Problem::NoGround);
    } else {
        ends(site, &place, &mut cx.faults);
    }
}

/// Routes whose ends have no ground, and routes that climb.
fn ends(site: &Site, place: &Place, faults: &mut Faults) {
    for r in &site.routes {
        let place = place.clone().fid(r.at.fid);
        let level = |p: Option<&geo::Coord<f64>>| p.and_then(|p| site.ground.level(*p));
        match (level(r.line.points.first()), level(r.line.points.last())) {
            (Some(up), Some(down)) if down > up => {
                faults.note(place, Problem::Uphill { rise_m: down - up })
            }
            (Some(_), Some(_)) => {}
            (None, _) => faults.fault(place, Problem::NoGroundAt { end: "upstream" }),
            (_, None) => faults.fault(place, Problem::NoGroundAt { end: "downstream" }),
        }
    }
}

/// Features drawn twice, and lines of no length.
fn doubles_and_dots(table: &Table, faults: &mut Faults) {
    let mut seen: HashMap<Vec<u64>, i64> = HashMap::new();
    for row in &table.rows {
        let Ok(shape) = &row.shape else { continue };
        let place = table.place.clone().fid(row.fid);
        if shape.areas.is_empty()
            && shape.points.is_empty()
            && shape.lines.iter().all(|l| is_dot(l))
        {
            faults.fault(place.clone(), Problem::ZeroLength);
        }
        match seen.get(&bits(shape)) {
            Some(of) => faults.note(place, Problem::Duplicate { of: *of }),
            None => drop(seen.insert(bits(shape), row.fid)),
        }
    }
}

/// All vertices at one place and one level: a vertical line is none.
fn is_dot(line: &[super::shape::Vertex]) -> bool {
    let same = |a: f64, b: f64| a == b || a.is_nan() || b.is_nan();
    line.windows(2)
        .all(|w| w[0].x == w[1].x && w[0].y == w[1].y && same(w[0].z, w[1].z))
}

fn bits(shape: &Shape) -> Vec<u64> {
    shape
        .vertices()
        .flat_map(|v| [v.x, v.y, v.z].map(f64::to_bits))
        .collect()
}

/// How many features leave out what a plan would like to know.
fn lacking(table: &Table, site: &Site, faults: &mut Faults) {
    let total = table.rows.len();
    let mut say = |count: usize, what| {
        if count > 0 {
            faults.note(table.place.clone(), Problem::Lacking { count, total, what });
        }
    };
    match table.source.role {
        Role::Services => {
            let here = || site.services.iter().filter(|s| s.at.layer == table.layer);
            let no_z = |s: &crate::site::Service| s.parts.iter().any(|p| p.levels.is_none());
            say(
                here().filter(|s| s.cover_m.is_none() && no_z(s)).count(),
                "depth (neither Z nor cover_m)",
            );
            say(
                here().filter(|s| s.diameter_mm.is_none()).count(),
                "diameter_mm",
            );
            say(
                here().filter(|s| s.quality == Quality::Unknown).count(),
                "quality",
            );
        }
        Role::Lots => {
            let empty = |name: &str| {
                let is_empty = |r: &&super::features::Row| table.text_of(r, name).is_none();
                table.rows.iter().filter(is_empty).count()
            };
            say(empty("entry"), "entry");
            say(empty("serve"), "serve");
        }
        _ => {}
    }
}

fn list(
    stores: &Stores,
    given: &Layers,
    sources: &[Source],
    counts: &Counts,
) -> Result<Vec<LayerSeen>, ReadError> {
    let mut all = vec![];
    for (i, (file, store)) in stores.files.iter().enumerate() {
        for head in store.layers() {
            let source = sources
                .iter()
                .find(|s| s.store == i && s.table == head.name);
            let features = match counts.get(&(i, head.name.clone())) {
                Some(n) => *n,
                None if head.raster => 0,
                None => count(store, &head.name)?,
            };
            all.push(LayerSeen {
                file: file.clone(),
                name: head.name.clone(),
                geometry: if head.raster {
                    Some("RASTER".into())
                } else {
                    head.geometry.clone()
                },
                crs: head.crs.as_ref().map(|c| c.info.clone()),
                features,
                columns: head.columns.clone(),
                plays: plays(head, given, source),
            });
        }
    }
    Ok(all)
}

fn count(store: &super::store::Store, layer: &str) -> Result<u64, ReadError> {
    let mut n = 0;
    store.scan(layer, &[], &mut |_| n += 1)?;
    Ok(n)
}

fn plays(head: &LayerHead, given: &Layers, source: Option<&Source>) -> Plays {
    let Some(role) = source.map(|s| s.role) else {
        return if is_own_layer(&head.name) {
            Plays::Result
        } else {
            Plays::Nothing
        };
    };
    let named = given.by_role.get(&role).is_some_and(|l| !l.is_empty());
    match (named, head.name == role.name()) {
        (true, _) => Plays::Named(role),
        (false, true) => Plays::ByName(role),
        (false, false) => Plays::Guess(role),
    }
}
