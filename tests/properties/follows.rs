//! Routes that follow an old pipe: what it does not count for, and what it still counts for.

use super::{
    chance::Chance,
    compare::{compare, compare_trees, least_cost},
    small_site::{Size, small_site, small_tree},
};
use geo::{Coord, coord};
use pitwright::{
    job::{Job, OnLots},
    plan::{Bore, Conflict, Pit, Plan, Quiet, plan},
    site::{FeatureRef, Kind, Polyline, Quality, Route, Service, Site, ZMeans},
};

const ROUTE: Size = Size::route(4.0);
const TREE: Size = Size::tree(4.0);

fn old_pipe_at() -> FeatureRef {
    FeatureRef {
        layer: "services".into(),
        fid: 50,
    }
}

/// An old pipe along a line, a hand's breadth beside it here and there, that reaches a little beyond its downstream end. Its depth
/// is where a new pipe would lie, or unknown.
fn old_pipe(c: &mut Chance, line: &[Coord<f64>]) -> Service {
    let [.., before, end] = line else {
        panic!("a route has two points")
    };
    let onward = (*end - *before) / (*end - *before).x.hypot((*end - *before).y);
    let mut points = line.to_vec();
    points.push(*end + onward * c.between(0.0, 2.0));
    for p in &mut points {
        *p = *p + coord! {x: c.between(-0.15, 0.15), y: c.between(-0.15, 0.15)};
    }
    let z = c.between(48.0, 49.2);
    let levels = c.chance(0.7).then(|| vec![z; points.len()]);
    Service {
        at: old_pipe_at(),
        kind: c.one_of(&[Kind::Sewer, Kind::Sewer, Kind::Water, Kind::Gas]),
        diameter_mm: Some(c.between(100.0, 225.0)),
        cover_m: None,
        quality: c.one_of(&[Quality::A, Quality::B, Quality::C]),
        owner: None,
        material: None,
        abandoned: true,
        z_means: ZMeans::Invert,
        parts: vec![Polyline { points, levels }],
    }
}

/// An old pipe laid across a line instead, somewhere along it.
fn across(c: &mut Chance, mut old: Service, line: &[Coord<f64>]) -> Service {
    let (head, end) = (line[0], line[line.len() - 1]);
    let at = end + (head - end) * c.between(0.1, 0.9);
    let (lean, part) = (c.between(-3.0, 3.0), &mut old.parts[0]);
    let reach = coord! {x: lean, y: 6.0};
    part.points = vec![at - reach, at + reach];
    part.levels.iter_mut().for_each(|l| l.truncate(2));
    old
}

fn along_or_across(c: &mut Chance, line: &[Coord<f64>]) -> Service {
    let old = old_pipe(c, line);
    if c.chance(0.5) {
        across(c, old, line)
    } else {
        old
    }
}

/// A single route along an old pipe, or across one, that it follows; now and then with a corridor.
fn on_an_old_pipe(seed: u64) -> (Site, Job) {
    let (mut site, mut job) = small_site(seed, &ROUTE);
    let mut c = Chance::new(seed ^ 0xf011);
    let line = site.routes[0].line.points.clone();
    site.services.push(along_or_across(&mut c, &line));
    site.routes[0].follows = Some(old_pipe_at());
    job.pits.on_lots = OnLots::Always;
    if c.chance(0.4) {
        (job.search.corridor_m, job.search.corridor_step_m) = (0.5, 0.5);
    }
    (site, job)
}

/// A tree in which one route or two follow an old pipe that lies along one of them, and goes on into the route that this one joins.
fn tree_on_an_old_pipe(seed: u64) -> (Site, Job) {
    let (mut site, mut job) = small_tree(seed, &TREE);
    let mut c = Chance::new(seed ^ 0xf012);
    let along = c.below(site.routes.len() as u64) as usize;
    let line = site.routes[along].line.points.clone();
    site.routes.iter_mut().for_each(|r| r.follows = None);
    site.services.push(along_or_across(&mut c, &line));
    for (i, route) in site.routes.iter_mut().enumerate() {
        if i == along || c.chance(0.15) {
            route.follows = Some(old_pipe_at());
        }
    }
    job.pits.on_lots = OnLots::Always;
    (site, job)
}

fn unfollowed((mut site, job): (Site, Job)) -> (Site, Job) {
    site.routes.iter_mut().for_each(|r| r.follows = None);
    (site, job)
}

/// A lone route that follows an old pipe costs what it would if the pipe were not there; not following is never cheaper, and
/// mostly dearer or without a plan.
#[test]
fn a_lone_route_is_planned_as_if_its_old_pipe_were_not_there() {
    let (planned, _) = compare(20_000..20_150, true, on_an_old_pipe);
    let (mut dearer, mut none) = (0, 0);
    for seed in 20_000..20_150 {
        let (site, job) = on_an_old_pipe(seed);
        let follows = least_cost(&site, &job);
        let (site, job) = unfollowed((site, job));
        let beside = least_cost(&site, &job);
        assert!(beside >= follows - 1e-6, "seed {seed}: {follows}, {beside}");
        none += usize::from(beside.is_infinite() && follows.is_finite());
        dearer += usize::from(beside.is_finite() && beside > follows + 1e-6);
    }
    println!(
        "{planned} of 150 have a plan; not following, {none} of these none and {dearer} a dearer one"
    );
    assert!(planned >= 40 && none >= 10 && dearer >= 5);
}

/// In a tree it counts for all but the drives and pits of the route that follows it, the pit which that one ends in, and the
/// drives of the route it joins that end there. The plain search is told so in its own words.
#[test]
fn in_a_tree_the_old_pipe_counts_for_the_others() {
    let seen = compare_trees(21_000..21_400, tree_on_an_old_pipe);
    let (mut none, mut dearer, mut counts) = (0, 0, 0);
    for seed in 21_000..21_400 {
        let (mut site, job) = tree_on_an_old_pipe(seed);
        let follows = least_cost(&site, &job);
        site.routes.iter_mut().for_each(|r| r.follows = None);
        let beside = least_cost(&site, &job);
        site.services.retain(|s| s.at != old_pipe_at());
        let gone = least_cost(&site, &job);
        assert!(gone <= follows + 1e-6 && follows <= beside + 1e-6, "{seed}");
        none += usize::from(beside.is_infinite() && follows.is_finite());
        dearer += usize::from(beside.is_finite() && beside > follows + 1e-6);
        counts += usize::from(gone < follows - 1e-6);
    }
    println!(
        "{seen:?} of 400; not following, {none} have no plan and {dearer} a dearer one; in {counts} the pipe still costs something"
    );
    assert!(seen.planned >= 60 && none >= 10 && dearer >= 5 && counts >= 10);
}

/// What a plan says of who meets whom, by its ids alone.
struct Met<'a>(&'a Site, &'a Plan);

impl Met<'_> {
    fn follows(&self, route: &str) -> bool {
        self.route(route).follows.is_some()
    }

    fn route(&self, id: &str) -> &Route {
        let found = self.0.routes.iter().find(|r| r.route_id == id);
        found.expect("a row's route is there")
    }

    /// Routes whose drives end in a pit, from upstream.
    fn ending_in(&self, pit: &str) -> impl Iterator<Item = &str> {
        let drives = self.1.bores.iter().filter(move |b| b.ds_pit == pit);
        drives.map(|b| b.route_id.as_str())
    }

    /// The old pipe counts for a drive.
    fn counts_for(&self, bore: &Bore) -> bool {
        let exempts = |route: &str| {
            let joins = self.route(route).joins.as_ref() == Some(&bore.route_id);
            joins && self.follows(route)
        };
        let ends = [&bore.us_pit, &bore.ds_pit].into_iter();
        let exempt = ends.flat_map(|p| self.ending_in(p)).any(exempts);
        !exempt && !self.follows(&bore.route_id)
    }

    /// The old pipe counts for a pit.
    fn counts_for_pit(&self, pit: &Pit) -> bool {
        let exempts = |route: &str| self.follows(route);
        !self.follows(&pit.route_id) && !self.ending_in(&pit.pit_id).any(exempts)
    }
}

/// Least distance of a bore's surface from a pipe of known depth, from points along both: a little more than it is.
fn clearance_m(bore: &Bore, pipe: &Service) -> Option<f64> {
    let radius = pipe.diameter_mm? / 2000.0;
    let part = &pipe.parts[0];
    let levels = part.levels.as_ref()?;
    let sampled = |a: (Coord<f64>, f64), b: (Coord<f64>, f64)| {
        (0..=200).map(move |i| {
            let t = f64::from(i) / 200.0;
            (a.0 + (b.0 - a.0) * t, a.1 + (b.1 - a.1) * t)
        })
    };
    let centre = bore.id_mm / 2000.0;
    let ends = [bore.us, bore.ds].map(|p| (p.at, p.level + centre));
    let ours: Vec<_> = sampled(ends[0], ends[1]).collect();
    let points: Vec<_> = part.points.iter().zip(levels).collect();
    let theirs = points.windows(2).flat_map(|w| {
        let [a, b] = [w[0], w[1]].map(|(p, z)| (*p, *z + radius));
        sampled(a, b)
    });
    let apart = theirs.flat_map(|(q, z)| {
        ours.iter()
            .map(move |(p, y)| (*p - q).x.hypot((*p - q).y).hypot(y - z))
    });
    Some(apart.fold(f64::INFINITY, f64::min) - radius - bore.bore_mm / 2000.0)
}

/// It has conflict rows where it counts, and only there.
#[test]
fn the_old_pipe_has_rows_where_it_counts_and_only_there() {
    let (mut plans, mut rows, mut pits, mut near, mut exempt) = (0, 0, 0, 0, 0);
    for seed in 21_000..21_400 {
        let (site, job) = tree_on_an_old_pipe(seed);
        if least_cost(&site, &job).is_infinite() {
            continue;
        }
        let done = plan(&site, &job, &Quiet);
        let met = Met(&site, &done);
        let about = |c: &&Conflict| c.source == Some(old_pipe_at());
        let of = |id: &str| {
            let is = |c: &&Conflict| {
                [&c.bore_id, &c.pit_id]
                    .into_iter()
                    .flatten()
                    .any(|i| i == id)
            };
            done.conflicts.iter().filter(about).filter(is).count()
        };
        let pipe = site.services.iter().find(|s| s.at == old_pipe_at());
        let pipe = pipe.expect("it is there");
        for bore in &done.bores {
            let (counts, n) = (met.counts_for(bore), of(&bore.bore_id));
            assert!(counts || n == 0, "seed {seed}: {}", bore.bore_id);
            let is_near = clearance_m(bore, pipe).is_some_and(|m| m < job.watch_distance_m);
            // A sewer may be connected, and not count for that.
            let must = counts && is_near && pipe.kind != Kind::Sewer;
            assert!(!must || n > 0, "seed {seed}: {}", bore.bore_id);
            rows += n;
            near += usize::from(must);
            exempt += usize::from(!counts && is_near);
        }
        for pit in &done.pits {
            let (counts, n) = (met.counts_for_pit(pit), of(&pit.pit_id));
            assert!(counts || n == 0, "seed {seed}: {}", pit.pit_id);
            pits += n;
        }
        plans += 1;
    }
    println!(
        "{plans} plans: {rows} rows of bores ({near} near the pipe), {pits} of pits; {exempt} bores near it have none, being exempt"
    );
    assert!(plans >= 60 && near >= 5 && rows >= 20 && pits >= 5 && exempt >= 60);
}

/// Two routes end in one pit of the first, the third joining the second there. What the third follows does not count for it, the pit
/// and the last drive of the second, which it joins; it does for the drives of the first.
#[test]
fn what_a_branch_follows_to_a_branchs_end_counts_for_the_route_below() {
    let (mut site, _) = small_site(1, &ROUTE);
    let line = |points: &[(f64, f64)]| points.iter().map(|p| coord! {x: p.0, y: p.1}).collect();
    let first = site.routes[0].clone();
    let route = |number: i64, points: &[(f64, f64)], joins: Option<&str>| Route {
        at: FeatureRef {
            layer: "routes".into(),
            fid: number,
        },
        route_id: format!("R{number}"),
        line: Polyline {
            points: line(points),
            levels: None,
        },
        joins: joins.map(str::to_string),
        follows: None,
        outfall_invert_m: None,
        head_invert_max_m: None,
        ..first.clone()
    };
    let mut old = old_pipe(
        &mut Chance::new(1),
        &[coord! {x: 5.0, y: 8.0}, coord! {x: 5.0, y: -8.0}],
    );
    old.kind = Kind::Water;
    old.quality = Quality::A;
    old.parts[0].levels = Some(vec![60.0; old.parts[0].points.len()]);
    site = Site {
        routes: vec![
            route(1, &[(20.0, 0.0), (0.0, 0.0)], None),
            route(2, &[(10.0, 12.0), (10.0, 0.0)], Some("R1")),
            route(3, &[(18.0, 12.0), (10.0, 0.0)], Some("R2")),
        ],
        services: vec![old],
        ground: site.ground,
        ..Site::default()
    };
    site.routes[2].follows = Some(old_pipe_at());
    let mut job = Job {
        watch_distance_m: 50.0,
        ..pitwright::job::JobFile::default().job
    };
    job.search.station_step_m = 5.0;
    let done = plan(&site, &job, &Quiet);
    let rows = |bore: &Bore| {
        let of = |c: &&Conflict| c.bore_id.as_ref() == Some(&bore.bore_id);
        done.conflicts
            .iter()
            .filter(of)
            .filter(|c| c.source == Some(old_pipe_at()))
            .count()
    };
    assert!(done.routes.iter().all(|r| r.planned), "{:?}", done.routes);
    for bore in &done.bores {
        let counts = bore.route_id == "R1";
        assert_eq!(rows(bore) > 0, counts, "{}", bore.bore_id);
    }
}
