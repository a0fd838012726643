//! What is said of routes without a plan is true: stretches that cannot be bridged, changes that give a plan, and no smaller
//! change that does.

use super::small_site::{Size, small_site, small_tree};
use pitwright::{
    job::{Job, OnLots, UnknownDepth},
    plan::{
        Quiet, Remedy, RemedyKind, RemedyValue, RouteResult, Why, context::World, plan,
        search::solve, system::System,
    },
    site::{Kind, Site},
};
use std::collections::BTreeMap;

/// A site that can be made anew as often as it is changed.
type Make<'f> = dyn Fn() -> (Site, Job) + 'f;

/// What was seen on many sites.
#[derive(Default)]
struct Seen {
    /// Routes without a plan.
    routes: usize,
    /// Of these with gaps, with gaps closed by a feature, without gaps, with levels closed by a feature.
    gaps: usize,
    named_gaps: usize,
    levels: usize,
    named_levels: usize,
    /// Single routes without gaps that have a plan once levels are free.
    open_once_free: usize,
    /// Remedies by kind.
    remedies: BTreeMap<RemedyKind, usize>,
    /// Remedies of several rows.
    several: usize,
    /// Routes for which the search was cut short.
    cut_short: usize,
}

fn has_plan(make: &Make, route: usize, change: impl FnOnce(&mut Site, &mut Job)) -> bool {
    let (mut site, mut job) = make();
    change(&mut site, &mut job);
    if site.routes.len() > 1 {
        return plan(&site, &job, &Quiet).routes[route].planned;
    }
    let world = World::new(&site, &job);
    let system = System::new(&world, &vec![0], &[true]).expect("the route has length");
    solve(&system).is_some()
}

fn look(make: &Make, what: &str, seen: &mut Seen) {
    let (site, job) = make();
    let plan = plan(&site, &job, &Quiet);
    let world = World::new(&site, &job);
    let all = System::new(
        &world,
        &(0..site.routes.len()).collect(),
        &vec![true; site.routes.len()],
    );
    let together = all.and_then(|s| solve(&s)).is_some();
    let planned = plan.routes.iter().all(|r| r.planned);
    assert_eq!(
        planned, together,
        "{what}: a glance finds no other plans than a search"
    );
    let rows = |r: &RouteResult| {
        plan.blockers
            .iter()
            .filter(|b| b.route_id == r.route_id)
            .count()
    };
    for (i, route) in plan.routes.iter().enumerate() {
        assert_eq!(rows(route), route.blockers.len(), "{what}");
        if route.planned {
            assert!(
                route.blockers.is_empty() && route.remedies.is_empty(),
                "{what}"
            );
            continue;
        }
        seen.routes += 1;
        blockers_lie_on_the_route(&site, i, route, what);
        count(route, seen);
        if plan.routes.len() == 1 {
            gaps_are_there_whatever_the_levels(make, route, what, seen);
        }
        for same in route.remedies.chunk_by(|a, b| a.kind == b.kind) {
            *seen.remedies.entry(same[0].kind).or_default() += 1;
            seen.several += usize::from(same.len() > 1);
            is_the_least(make, i, same, what);
        }
    }
    seen.cut_short += plan
        .warnings
        .iter()
        .filter(|w| w.contains("cut short"))
        .count();
    let drawn = plan.blockers.iter().all(|b| b.line.len() > 1);
    assert!(drawn, "{what}: a blocker is not drawn");
}

fn blockers_lie_on_the_route(site: &Site, i: usize, route: &RouteResult, what: &str) {
    assert!(
        !route.blockers.is_empty(),
        "{what}: {} has no blocker",
        route.route_id
    );
    let points = &site.routes[i].line.points;
    let legs = points
        .windows(2)
        .map(|w| (w[1].x - w[0].x).hypot(w[1].y - w[0].y));
    // A branch's end is moved to the route it joins by no more than the snapping distance.
    let length_m: f64 = legs.sum::<f64>() + 0.5;
    let mut last_m = 0.0;
    for b in &route.blockers {
        assert!(
            last_m <= b.from_chainage_m && b.from_chainage_m < b.to_chainage_m,
            "{what}"
        );
        last_m = b.to_chainage_m;
    }
    assert!(last_m <= length_m, "{what}: {last_m} of {length_m}");
}

/// Where no levels bind any more, a stretch that is closed whatever the levels stays closed.
fn gaps_are_there_whatever_the_levels(
    make: &Make,
    route: &RouteResult,
    what: &str,
    seen: &mut Seen,
) {
    let levels_free = has_plan(make, 0, |site, job| {
        site.routes[0].outfall_invert_m = None;
        site.routes[0].head_invert_max_m = None;
        site.manholes.iter_mut().for_each(|m| m.invert_m = None);
        job.rules.min_grade.values_mut().for_each(|g| *g = -1.0);
        (job.rig.grade_min, job.rig.grade_max, job.rules.max_grade) = (-1.0, 1.0, 1.0);
        (job.rules.manhole_drop_m, job.rules.manhole_drop_max_m) = (-5.0, None);
    });
    if route.blockers[0].why == Why::Gap {
        assert!(!levels_free, "{what}: the gap can be bridged");
    } else {
        seen.open_once_free += usize::from(levels_free);
    }
}

fn count(route: &RouteResult, seen: &mut Seen) {
    let named = |why| {
        route
            .blockers
            .iter()
            .any(|b| b.why == why && b.source.is_some())
    };
    if route.blockers[0].why == Why::Gap {
        seen.gaps += 1;
        seen.named_gaps += usize::from(named(Why::Gap));
    } else {
        seen.levels += 1;
        seen.named_levels += usize::from(named(Why::Levels));
    }
}

fn metres(remedy: &Remedy) -> f64 {
    match remedy.value {
        RemedyValue::Metres(m) => m,
        RemedyValue::Name(_) => panic!("{:?} is a length or level", remedy.kind),
    }
}

/// The rows of one kind give the route a plan, and a tenth of a metre or a row less does not.
fn is_the_least(make: &Make, route: usize, rows: &[Remedy], what: &str) {
    let with = |rows: &[Remedy], less: f64| {
        has_plan(make, route, |site, job| apply(site, job, rows, less))
    };
    assert!(with(rows, 0.0), "{what}: {rows:?} gives no plan");
    match rows[0].value {
        RemedyValue::Metres(_) => {
            assert!(!with(rows, 0.1), "{what}: less than {rows:?} gives a plan");
        }
        RemedyValue::Name(_) => {
            for i in 0..rows.len() {
                let mut fewer = rows.to_vec();
                fewer.remove(i);
                assert!(!with(&fewer, 0.0), "{what}: not all of {rows:?} is needed");
            }
        }
    }
}

/// Does what remedies of one kind say, by so much less (m).
fn apply(site: &mut Site, job: &mut Job, rows: &[Remedy], less_m: f64) {
    let route = |site: &Site| {
        let at = rows[0].source.as_ref().expect("a route");
        site.routes
            .iter()
            .position(|r| r.at == *at)
            .expect("is there")
    };
    for row in rows {
        match row.kind {
            RemedyKind::Reach => {
                let reach_m = metres(row) - less_m;
                job.rig.reach_m = job.rig.reach_m.max(reach_m);
                (job.rig.thrust_kn, job.pipe.axial_limit_kn) = (None, None);
                job.rules.max_end_error_mm = None;
            }
            RemedyKind::Outfall => {
                let i = route(site);
                let invert = &mut site.routes[i].outfall_invert_m;
                let now = invert.unwrap_or_else(|| outfall_manhole(&site.manholes));
                *invert = Some(now.min(metres(row) + less_m));
            }
            RemedyKind::Head => {
                let i = route(site);
                let invert = &mut site.routes[i].head_invert_max_m;
                let now = invert.unwrap_or(f64::NEG_INFINITY);
                *invert = Some(now.max(metres(row) - less_m));
            }
            RemedyKind::Corridor => {
                let corridor_m = metres(row) - less_m;
                job.search.corridor_m = job.search.corridor_m.max(corridor_m);
            }
            RemedyKind::Entry => enter(site, job, row),
            RemedyKind::Prove => prove(site, job, row),
        }
    }
}

fn outfall_manhole(manholes: &[pitwright::site::Manhole]) -> f64 {
    manholes[0].invert_m.expect("else nothing is fixed")
}

fn enter(site: &mut Site, job: &mut Job, row: &Remedy) {
    if job.pits.on_lots == OnLots::Never {
        job.pits.on_lots = OnLots::Entry;
        site.lots.iter_mut().for_each(|l| l.entry = false);
    }
    let lots = site.lots.iter_mut();
    let named = lots.filter(|l| RemedyValue::Name(l.lot_id.clone()) == row.value);
    named.for_each(|l| l.entry = true);
}

/// Drives may pass a service proved by test holes, pits not: it becomes of a kind of its own, which keeps its pit distance
/// and asks no clearance of bores.
fn prove(site: &mut Site, job: &mut Job, row: &Remedy) {
    assert_eq!(job.rules.unknown_depth, UnknownDepth::Avoid);
    let spare = [
        Kind::Fuel,
        Kind::RecycledWater,
        Kind::Stormwater,
        Kind::Other,
    ];
    let used = |k: &Kind| site.services.iter().any(|s| s.kind == *k);
    let kind = spare
        .into_iter()
        .find(|k| !used(k))
        .expect("a kind to spare");
    let at = row.source.as_ref().expect("a service");
    let service = site
        .services
        .iter_mut()
        .find(|s| s.at == *at)
        .expect("is there");
    let rules = &mut job.rules;
    let mut clearance = rules.clearance[&service.kind];
    (clearance.crossing_m, clearance.parallel_m) = (-1000.0, -1000.0);
    rules.clearance.insert(kind, clearance);
    rules
        .depth_band
        .insert(kind, rules.depth_band[&service.kind]);
    let diameter_mm = rules.default_diameter_mm[&service.kind];
    rules.default_diameter_mm.insert(kind, diameter_mm);
    service.kind = kind;
}

fn report(seen: &Seen) {
    println!(
        "{} routes without a plan: {} with gaps ({} named), {} by levels ({} named, {} open once levels are free); remedies {:?}, {} of several rows; {} cut short",
        seen.routes,
        seen.gaps,
        seen.named_gaps,
        seen.levels,
        seen.named_levels,
        seen.open_once_free,
        seen.remedies,
        seen.several,
        seen.cut_short
    );
}

#[test]
fn every_remedy_gives_a_plan_and_less_does_not() {
    let size = Size {
        length_m: 20.0,
        step_m: 2.5,
        level_step_m: 0.2,
        deepest_m: 3.4,
    };
    let mut seen = Seen::default();
    for seed in 7000..7200 {
        look(
            &|| small_site(seed, &size),
            &format!("seed {seed}"),
            &mut seen,
        );
    }
    report(&seen);
}

/// Pits may stand on no lot unless it is said, lots lie all along, and nothing of unknown depth may be passed.
fn closed(seed: u64, size: &Size) -> (Site, Job) {
    let (mut site, mut job) = small_site(seed, size);
    job.rules.unknown_depth = UnknownDepth::Avoid;
    job.pits.on_lots = OnLots::Entry;
    let entry = |i: usize| (seed >> i) & 1 == 1;
    let like = site.lots.first().cloned();
    site.lots.clear();
    for i in 0..4 {
        let from = i as f64 * size.length_m / 4.0 + 0.4;
        let corner = |x: f64, y: f64| geo::coord! {x: x, y: y};
        let to = from + size.length_m / 4.0 - 0.9;
        let ring = vec![
            corner(from, -4.0),
            corner(to, -4.0),
            corner(to, 4.0),
            corner(from, 4.0),
        ];
        site.lots.push(pitwright::site::Lot {
            at: pitwright::site::FeatureRef {
                layer: "lots".into(),
                fid: i as i64 + 1,
            },
            lot_id: format!("L{}", i + 1),
            serve: like.is_some(),
            entry: entry(i),
            low_level_m: None,
            parts: vec![geo::Polygon::new(ring.into(), vec![])],
        });
    }
    (site, job)
}

#[test]
fn the_fewest_lots_and_services_give_a_plan() {
    let size = Size {
        length_m: 20.0,
        step_m: 2.5,
        level_step_m: 0.2,
        deepest_m: 3.4,
    };
    let mut seen = Seen::default();
    for seed in 8000..8080 {
        look(&|| closed(seed, &size), &format!("seed {seed}"), &mut seen);
    }
    report(&seen);
}

#[test]
fn the_same_holds_of_trees() {
    let size = Size {
        length_m: 16.0,
        step_m: 3.0,
        level_step_m: 0.25,
        deepest_m: 4.0,
    };
    let mut seen = Seen::default();
    for seed in 9000..9024 {
        look(
            &|| small_tree(seed, &size),
            &format!("seed {seed}"),
            &mut seen,
        );
    }
    report(&seen);
}

/// Whatever the search finds, the plan has: a glance at levels left free never calls hopeless what is not.
#[test]
fn no_plan_is_lost_at_a_glance() {
    let (mut sites, mut trees) = (0, 0);
    let size = Size {
        length_m: 16.0,
        step_m: 3.0,
        level_step_m: 0.25,
        deepest_m: 4.0,
    };
    for seed in 6000..6400 {
        let (site, job) = small_tree(seed, &size);
        trees += usize::from(has_the_plan_that_is_found(&site, &job, seed));
        let (site, mut job) = small_site(seed, &size);
        (job.search.corridor_m, job.search.corridor_step_m) = (0.8, 0.4);
        sites += usize::from(has_the_plan_that_is_found(&site, &job, seed));
    }
    println!("{trees} trees and {sites} single routes of 400 have a plan");
    assert!(trees > 60 && sites > 150, "{trees} {sites}");
}

fn has_the_plan_that_is_found(site: &Site, job: &Job, seed: u64) -> bool {
    let world = World::new(site, job);
    let routes = site.routes.len();
    let all = System::new(&world, &(0..routes).collect(), &vec![true; routes]);
    if all.and_then(|s| solve(&s)).is_none() {
        return false;
    }
    let planned = plan(site, job, &Quiet).routes.iter().all(|r| r.planned);
    assert!(planned, "seed {seed}: the plan is lost");
    true
}
