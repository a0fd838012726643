//! Reading a whole site.

use super::carrier::Carrier;
use super::crs::{self, Crs};
use super::digest::Digest;
use super::fault::{Fault, Faults, Place, ReadError};
use super::features::{Table, gather};
use super::nearby::Nearby;
use super::request::{Need, Progress, Request};
use super::roles::{self, Source, Stores, input_names};
use super::shape::Bounds;
use super::store::nearest_first;
use super::surroundings::each;
use super::{
    Problem, bore_rows, bores, ground, hush, joins, obstacles, records, routes, services,
    surroundings,
};
use crate::job::Role;
use crate::site::CrsInfo;
use crate::site::GivenBore;
use crate::site::{Records, Site};
use std::path::{Path, PathBuf};
use std::thread::{self, JoinHandle};

/// One input layer, as a run notes it.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Layer (table) name.
    pub layer: String,
    /// File.
    pub file: PathBuf,
    /// The part it plays.
    pub role: Role,
    /// Features read: those near the routes. Cells of a raster.
    pub features: u64,
    /// Digest of what was read, not of the file.
    pub sha256: String,
}

/// A site, and how it was read.
#[derive(Debug)]
pub struct Reading {
    /// Everything on and under the ground, in metres.
    pub site: Site,
    /// Bores to check, where some were asked for.
    pub bores: Vec<GivenBore>,
    /// For a check: the services, which the site then leaves out.
    pub records: Records,
    /// The job's coordinate reference system.
    pub crs: CrsInfo,
    /// Every layer that was read, in the order of the roles.
    pub inputs: Vec<Input>,
    /// What could not be used as it was.
    pub faults: Vec<Fault>,
}

/// What every step of a reading shares.
pub(super) struct Context {
    pub stores: Stores,
    pub job: Crs,
    pub faults: Faults,
    pub inputs: Vec<Input>,
    /// Of all vector layers, whole, in metres of the job.
    pub extent: Bounds,
    /// Digests that are worked out while reading goes on, each with its place among the inputs.
    later: Vec<(usize, JoinHandle<String>)>,
}

impl Context {
    /// Nothing was read yet.
    pub fn new(stores: Stores, job: Crs) -> Context {
        Context {
            stores,
            job,
            faults: Faults::default(),
            inputs: vec![],
            extent: Bounds::NOTHING,
            later: vec![],
        }
    }

    /// Notes a layer that was read: how far it reaches, in its own system, how many features were taken, and their digest.
    pub fn note(
        &mut self,
        source: &Source,
        carrier: &Carrier,
        whole: &Bounds,
        (features, sha256): (u64, String),
    ) {
        let reach = carrier.bounds(whole).unwrap_or(Bounds::NOTHING);
        self.extent.join(&reach);
        self.inputs.push(Input {
            layer: source.table.clone(),
            file: self.stores.files[source.store].0.clone(),
            role: source.role,
            features,
            sha256,
        });
    }

    /// The digest of these bytes, one after the other, is that of the input noted next.
    pub fn digest_later(&mut self, bytes: Vec<Vec<u8>>) {
        let digest = thread::spawn(move || {
            let mut digest = Digest::default();
            bytes.iter().for_each(|some| digest.plain(some));
            digest.hex()
        });
        self.later.push((self.inputs.len(), digest));
    }

    fn digests(&mut self) {
        for (place, digest) in self.later.drain(..) {
            self.inputs[place].sha256 = digest.join().expect("digesting does not panic");
        }
    }
}

/// Reads what a job needs of a site. No file is changed.
///
/// Routes come whole; of every other layer what comes within `around_m` of them. Ground points come whole, since a
/// triangle may reach far, and streets, since the only one that leads to a pit may be far away. A feature partly inside
/// comes whole.
///
/// What shuts a pit off from the streets may stand anywhere, yet in a file that holds a city it would be slow to read every
/// outline for a route of one street. So obstacles are read near the routes first and `Site::obstacles_within` says so;
/// whoever finds that not enough (`pits::Access::settled`) asks again with `all_obstacles`.
///
/// # Errors
/// The first thing that forbids going on, with the place and what to do.
pub fn site(
    path: &Path,
    request: &Request,
    progress: &mut dyn FnMut(Progress),
) -> Result<Reading, ReadError> {
    hush();
    let mut stores = Stores::new(path, request.base)?;
    let sources = roles::sources(&mut stores, request)
        .into_iter()
        .collect::<Result<Vec<_>, _>>()?;
    require(&stores, &sources, &request.need)?;
    let job = job_crs(&stores, &sources, request)?;
    let sources = for_this_need(sources, &request.need);
    let mut cx = Context::new(stores, job);
    let (mut site, mut given) = (Site::default(), vec![]);
    let mut records = Records::default();
    let (mut window, mut nearby) = (None, None);
    for (done, source) in in_order(&sources).into_iter().enumerate() {
        progress(Progress {
            stage: source.table.clone(),
            done: done as u64,
            total: sources.len() as u64,
        });
        if source.role == Role::Ground {
            continue;
        }
        let lead = matches!(source.role, Role::Routes | Role::Bores);
        let obstacle = matches!(source.role, Role::Buildings | Role::Keepouts | Role::Trees);
        let whole = lead || source.role == Role::Streets || obstacle && request.all_obstacles;
        if let (Role::Services, Some(near)) = (source.role, &nearby)
            && let Some(more) = records::records(&mut cx, source, near)?
        {
            records.append(more);
            continue;
        }
        if source.role == Role::Bores
            && let Some(more) = bore_rows::bores(&mut cx, source)?
        {
            given.extend(more);
            nearby = Nearby::of(&given, request.around_m);
            window = nearby.as_ref().map(|n| n.whole);
            continue;
        }
        let table = gather(&mut cx, source, window.as_ref().filter(|_| !whole))?;
        if source.role == Role::Services && matches!(request.need, Need::Check(_)) {
            for service in each(&table, &mut cx.faults, services::service) {
                records.add(&service);
            }
            continue;
        }
        fill(&mut site, &mut given, &table, &mut cx.faults);
        if obstacle && table.rows.len() < table.total {
            site.obstacles_within = window.and_then(|w| w.corners());
        }
        if lead {
            window = around(&site, &given, request);
            if matches!(request.need, Need::Check(_)) {
                nearby = Nearby::of(&given, request.around_m);
            }
        }
    }
    stop_if_needed(&cx.faults)?;
    let ground = sources.iter().find(|s| s.role == Role::Ground);
    site.ground = ground::ground(&mut cx, ground, &site, window.as_ref(), nearby.as_ref())?;
    finish(&mut cx, &sources, &mut site, request)?;
    cx.digests();
    progress(Progress {
        stage: "read".into(),
        done: sources.len() as u64,
        total: sources.len() as u64,
    });
    Ok(Reading {
        site,
        bores: given,
        records,
        crs: cx.job.info,
        inputs: cx.inputs,
        faults: cx.faults.0,
    })
}

/// Routes and bores first, since they say where to look; ground last.
fn in_order(sources: &[Source]) -> Vec<&Source> {
    let rank = |r: Role| match r {
        Role::Routes => 0,
        Role::Bores => 1,
        Role::Ground => 3,
        _ => 2,
    };
    let mut all: Vec<&Source> = sources.iter().collect();
    all.sort_by_key(|s| rank(s.role));
    all
}

fn require(stores: &Stores, sources: &[Source], need: &Need) -> Result<(), ReadError> {
    let role = match need {
        Need::Plan => Role::Routes,
        Need::Check(_) => Role::Bores,
        Need::Routing => return Ok(()),
    };
    if sources.iter().any(|s| s.role == role) {
        return Ok(());
    }
    let (path, file) = &stores.files[0];
    let known = nearest_first(role.name(), input_names(file));
    Err(ReadError::new(
        Place::file(path),
        Problem::RoleEmpty {
            role: role.name(),
            known,
        },
    ))
}

/// The typed one, else that of the routes; where there are none, of what comes first. A check takes the first that fits of
/// routes, services and bores: whoever owns the services wants the answer in their system, whatever a designer drew in.
pub(super) fn job_crs(
    stores: &Stores,
    sources: &[Source],
    request: &Request,
) -> Result<Crs, ReadError> {
    let vector = |s: &&Source| !s.raster && stores.head(s).geometry.is_some();
    let mut leads: Vec<&Source> = in_order(sources).into_iter().filter(vector).collect();
    if matches!(request.need, Need::Check(_)) {
        leads.sort_by_key(|s| match s.role {
            Role::Routes => 0,
            Role::Services => 1,
            Role::Bores => 2,
            _ => 3,
        });
        let fits = |s: &&&Source| {
            let crs = stores.head(s).crs.as_ref();
            crs.is_some_and(|c| c.fit_for_a_plan(None).is_ok())
        };
        if let Some(lead) = leads.iter().find(fits).copied() {
            leads = vec![lead];
        }
    }
    let Some(lead) = leads.first() else {
        return crs::of_job(request.crs, None, || Ok(Bounds::NOTHING));
    };
    let head = (stores.head(lead), stores.place(lead));
    crs::of_job(request.crs, Some(head), || raw_bounds(stores, lead))
}

/// A check has no use for what only a plan asks about; routes it needs where their levels are all the ground there is.
fn for_this_need(sources: Vec<Source>, need: &Need) -> Vec<Source> {
    let ground = sources.iter().any(|s| s.role == Role::Ground);
    let wanted = |s: &Source| match (need, s.role) {
        (Need::Check(_), Role::Routes) => !ground,
        (
            Need::Check(_),
            Role::Streets | Role::Lots | Role::Surfaces | Role::Fences | Role::Manholes,
        ) => false,
        _ => true,
    };
    sources.into_iter().filter(wanted).collect()
}

/// Bounds of a layer in its own units.
fn raw_bounds(stores: &Stores, source: &Source) -> Result<Bounds, ReadError> {
    let mut bounds = Bounds::NOTHING;
    stores.files[source.store]
        .1
        .scan(&source.table, &[], &mut |raw| {
            let parsed = || {
                super::wkb::parse(raw.wkb.as_ref().ok().copied().flatten()?, 1.0)
                    .ok()
                    .map(|s| s.bounds())
            };
            bounds.join(&raw.stated.or_else(parsed).unwrap_or(Bounds::NOTHING));
        })?;
    Ok(bounds)
}

/// The part of the site that is read (m); all of it where routes are yet to be found.
fn around(site: &Site, given: &[GivenBore], request: &Request) -> Option<Bounds> {
    let mut bounds = Bounds::NOTHING;
    let routes = site.routes.iter().flat_map(|r| &r.line.points);
    let bores = given.iter().flat_map(|b| &b.parts).flat_map(|p| &p.points);
    match &request.need {
        Need::Routing => return None,
        Need::Plan => routes.for_each(|p| bounds.add(p.x, p.y)),
        Need::Check(_) => bores.for_each(|p| bounds.add(p.x, p.y)),
    }
    (!bounds.is_empty()).then(|| bounds.grown(request.around_m))
}

/// Puts a layer's features where they belong.
pub(super) fn fill(
    site: &mut Site,
    given: &mut Vec<GivenBore>,
    table: &Table,
    faults: &mut Faults,
) {
    match table.source.role {
        Role::Routes => site.routes = routes::routes(table, faults),
        Role::Bores => given.extend(each(table, faults, bores::bore)),
        Role::Streets => {
            site.streets
                .extend(each(table, faults, surroundings::street));
        }
        Role::Lots => site.lots.extend(each(table, faults, surroundings::lot)),
        Role::Surfaces => site
            .surfaces
            .extend(each(table, faults, surroundings::surface)),
        Role::Fences => site.fences.extend(each(table, faults, surroundings::fence)),
        Role::Buildings => site
            .buildings
            .extend(each(table, faults, obstacles::building)),
        Role::Trees => site.trees.extend(each(table, faults, obstacles::tree)),
        Role::Keepouts => site
            .keepouts
            .extend(each(table, faults, obstacles::keepout)),
        Role::Manholes => site.manholes.extend(
            each(table, faults, obstacles::manholes)
                .into_iter()
                .flatten(),
        ),
        Role::Services => site.services.extend(each(table, faults, services::service)),
        Role::Ground => {}
    }
}

/// Says so where no street is known: then nothing is known of the way to a pit.
pub(super) fn streets_known(cx: &mut Context, sources: &[Source], site: &Site) {
    if !site.streets.is_empty() {
        return;
    }
    let layer = sources.iter().find(|s| s.role == Role::Streets);
    let place = match layer {
        Some(source) => cx.stores.place(source),
        None => Place::file(&cx.stores.files[0].0),
    };
    let known = input_names(&cx.stores.files[0].1).collect();
    cx.faults.note(place, Problem::NoStreets { known });
}

fn stop_if_needed(faults: &Faults) -> Result<(), ReadError> {
    faults.first_stop().map_or(Ok(()), Err)
}

/// What can be said only when everything is there.
fn finish(
    cx: &mut Context,
    sources: &[Source],
    site: &mut Site,
    request: &Request,
) -> Result<(), ReadError> {
    let routes = sources.iter().find(|s| s.role == Role::Routes);
    if let Some(source) = routes.filter(|_| !matches!(request.need, Need::Check(_))) {
        let place = cx.stores.place(source);
        joins::check(&site.routes, &place, &mut cx.faults);
        joins::check_follows(
            &site.routes,
            &site.services,
            (&cx.stores, sources),
            &place,
            &mut cx.faults,
        )?;
    }
    if !sources.iter().any(|s| s.role == Role::Services) {
        // Without a word a plan that was checked against nothing would look like one that is clear of everything.
        let (path, file) = &cx.stores.files[0];
        let known = input_names(file).collect();
        cx.faults.note(
            Place::file(path),
            Problem::RoleEmpty {
                role: Role::Services.name(),
                known,
            },
        );
    }
    if request.need == Need::Plan {
        streets_known(cx, sources, site);
    }
    let none = matches!(site.ground, crate::ground::Ground::None);
    if none && request.need == Need::Plan {
        cx.faults
            .stop(Place::file(&cx.stores.files[0].0), Problem::NoGround);
    }
    let unit = cx.job.info.unit_m;
    let data = Bounds {
        min: cx.extent.min.map(|v| v / unit),
        max: cx.extent.max.map(|v| v / unit),
    };
    cx.job
        .notes(&data, &Place::file(&cx.stores.files[0].0), &mut cx.faults);
    site.extent = cx.extent.corners();
    stop_if_needed(&cx.faults)
}
