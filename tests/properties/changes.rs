//! What must not change, or only one way, when a site or a job is changed: no rule relaxed makes the least cost rise, no service
//! added makes it fall, and a site moved or seen in a mirror costs what it cost.

use super::chance::Chance;
use super::small_site::{Size, service, small_site, small_tree};
use geo::{Coord, MapCoords, coord};
use pitwright::{
    ground::Ground,
    job::{Job, LaunchFrom, OnLots, UnknownDepth},
    plan::{
        context::World,
        search::solve,
        system::{System, trees},
    },
    site::{Kind, Polyline, Site},
};

const ROUTE: Size = Size {
    length_m: 20.0,
    step_m: 2.5,
    level_step_m: 0.2,
    deepest_m: 3.4,
};
const TREE: Size = Size {
    length_m: 16.0,
    step_m: 3.0,
    level_step_m: 0.25,
    deepest_m: 4.0,
};

/// Single routes below 1000, else trees with a corridor.
fn made(seed: u64) -> (Site, Job) {
    if seed < 1000 {
        small_site(9000 + seed, &ROUTE)
    } else {
        small_tree(9000 + seed, &TREE)
    }
}

fn least_cost(site: &Site, job: &Job) -> f64 {
    let world = World::new(site, job);
    let tree = &trees(site)[0];
    let system = System::new(&world, tree, &vec![true; tree.len()]).expect("routes have length");
    solve(&system).map_or(f64::INFINITY, |s| s.cost)
}

type Relax = (&'static str, fn(&mut Job));

const RELAXED: [Relax; 16] = [
    ("reach", |j| j.rig.reach_m *= 1.3),
    ("steepest grade", |j| {
        j.rules.max_grade += 0.05;
        j.rig.grade_max += 0.05;
    }),
    ("flattest grade", |j| {
        j.rig.grade_min = 0.0;
        j.rules.min_grade.values_mut().for_each(|g| *g *= 0.5);
    }),
    ("manhole spacing", |j| j.rules.manhole_spacing_m *= 1.3),
    ("manhole drop", |j| j.rules.manhole_drop_m = 0.0),
    ("greatest manhole drop", |j| {
        j.rules.manhole_drop_max_m = None
    }),
    ("cover", |j| j.rules.min_cover_m -= 0.2),
    ("pit depth", |j| {
        j.pits.max_depth_m += 0.5;
        j.pits.hand_dig_max_depth_m += 0.5;
    }),
    ("launch side", |j| j.rig.launch_from = LaunchFrom::Either),
    ("lots", |j| j.pits.on_lots = OnLots::Always),
    ("unknown depth", |j| {
        j.rules.unknown_depth = UnknownDepth::Prove
    }),
    ("distance of services", |j| {
        for c in j.rules.clearance.values_mut() {
            c.crossing_m *= 0.8;
            c.parallel_m *= 0.8;
            c.pit_m *= 0.8;
        }
    }),
    ("distance of buildings", |j| {
        j.rules.clearance_building_m *= 0.5;
        j.pits.building_setback_m *= 0.5;
    }),
    ("width for the machine", |j| j.pits.machine_width_m *= 0.5),
    ("width for the rig", |j| j.rig.access_width_m *= 0.5),
    ("corridor", |j| {
        j.search.corridor_m += j.search.corridor_step_m
    }),
];

#[test]
fn no_relaxed_rule_makes_it_dearer() {
    let mut cheaper = [0; RELAXED.len()];
    for seed in (0..60).chain(1000..1040) {
        let (site, job) = made(seed);
        let cost = least_cost(&site, &job);
        for ((what, relax), cheaper) in RELAXED.iter().zip(&mut cheaper) {
            let (mut site, mut job) = made(seed);
            relax(&mut job);
            if *what == "lots" {
                site.lots.iter_mut().for_each(|l| l.entry = true);
            }
            let relaxed = least_cost(&site, &job);
            assert!(
                relaxed <= cost + 1e-6,
                "seed {seed}, {what}: {cost} rose to {relaxed}"
            );
            *cheaper += usize::from(relaxed < cost - 1e-6);
        }
    }
    let seen: Vec<String> = (RELAXED.iter().zip(cheaper))
        .map(|((what, _), n)| format!("{what} {n}"))
        .collect();
    println!("made cheaper of 100 sites: {}", seen.join(", "));
    assert!(cheaper.iter().filter(|n| **n > 0).count() >= 12, "{seen:?}");
}

#[test]
fn no_service_more_makes_it_cheaper() {
    let (mut planned, mut dearer) = (0, 0);
    for seed in (100..220).chain(1100..1160) {
        let (site, job) = made(seed);
        let cost = least_cost(&site, &job);
        let (mut more, job) = made(seed);
        let mut new = service(&mut Chance::new(seed), 77, more.routes[0].line.points[0].x);
        // A sewer at an end would be connected there.
        new.kind = Kind::Water;
        more.services.push(new);
        let with = least_cost(&more, &job);
        assert!(with >= cost - 1e-6, "seed {seed}: {cost} fell to {with}");
        planned += usize::from(cost.is_finite());
        dearer += usize::from(with > cost + 1e-6);
    }
    println!("{planned} of 180 sites have a plan; a service more makes {dearer} dearer");
    assert!(planned > 30 && dearer > 10);
}

#[test]
fn a_site_moved_or_mirrored_costs_the_same() {
    let mut planned = 0;
    for seed in (300..400).chain(1300..1350) {
        let (site, job) = made(seed);
        let cost = least_cost(&site, &job);
        let moved = coord! {x: 640.0, y: -320.0};
        for mirrored in [1.0, -1.0] {
            let (mut other, job) = made(seed);
            place(&mut other, moved, mirrored);
            let there = least_cost(&other, &job);
            assert!(
                there == cost || (there - cost).abs() < 1e-6,
                "seed {seed}, mirrored {mirrored}: {cost} became {there}"
            );
        }
        planned += usize::from(cost.is_finite());
    }
    println!("{planned} of 150 sites have a plan");
    assert!(planned > 30);
}

/// Moves a site, after turning it over along x where `mirrored` is -1.
fn place(site: &mut Site, moved: Coord<f64>, mirrored: f64) {
    let to = |c: Coord<f64>| coord! {x: c.x, y: c.y * mirrored} + moved;
    let lines = |parts: &mut Vec<Polyline>| {
        parts
            .iter_mut()
            .flat_map(|p| &mut p.points)
            .for_each(|c| *c = to(*c))
    };
    for r in &mut site.routes {
        r.line.points.iter_mut().for_each(|c| *c = to(*c));
    }
    site.streets.iter_mut().for_each(|s| lines(&mut s.parts));
    site.fences.iter_mut().for_each(|s| lines(&mut s.parts));
    site.services.iter_mut().for_each(|s| lines(&mut s.parts));
    site.manholes.iter_mut().for_each(|m| m.point = to(m.point));
    for t in &mut site.trees {
        t.points.iter_mut().for_each(|c| *c = to(*c));
    }
    let areas = (site.lots.iter_mut().map(|a| &mut a.parts))
        .chain(site.buildings.iter_mut().map(|a| &mut a.parts))
        .chain(site.surfaces.iter_mut().map(|a| &mut a.parts))
        .chain(site.keepouts.iter_mut().map(|a| &mut a.parts));
    for part in areas.flatten() {
        *part = part.map_coords(to);
    }
    site.extent = site.extent.map(|(low, high)| {
        let (a, b) = (to(low), to(high));
        (
            coord! {x: a.x.min(b.x), y: a.y.min(b.y)},
            coord! {x: a.x.max(b.x), y: a.y.max(b.y)},
        )
    });
    let Ground::Grid(grid) = &mut site.ground else {
        panic!("small sites have a raster")
    };
    let [c0, cx, cy, r0, rx, ry] = grid.to_cell;
    let (cy, ry) = (cy * mirrored, ry * mirrored);
    grid.to_cell = [
        c0 - cx * moved.x - cy * moved.y,
        cx,
        cy,
        r0 - rx * moved.x - ry * moved.y,
        rx,
        ry,
    ];
}
