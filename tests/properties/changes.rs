//! What must not change, or only one way, when a site or a job is changed: no rule relaxed makes the least cost rise, no service
//! added makes it fall; a site moved, raised or seen in a mirror has the plan it had, however many threads look for it.

use super::{
    chance::Chance,
    compare::{least_cost, same},
    small_site::{Size, service, small_site, small_tree},
};
use geo::{Coord, MapCoords, coord};
use pitwright::{
    ground::{Ground, Levels},
    job::{Job, LaunchFrom, OnLots, UnknownDepth},
    plan::{
        context::World,
        search::{Solution, SolvedPit, solve},
        system::{System, trees},
    },
    site::{Kind, Polyline, Site},
};

const ROUTE: Size = Size::route(2.5);
const TREE: Size = Size::tree(3.0);

/// Single routes below 1000, else trees with a corridor.
pub fn made(seed: u64) -> (Site, Job) {
    if seed < 1000 {
        small_site(9000 + seed, &ROUTE)
    } else {
        small_tree(9000 + seed, &TREE)
    }
}

/// Where a plan has its pits and how deep, by route: chainage, offset, invert, whether a manhole stands there, and who launches.
type Places = Vec<(Vec<(f64, f64, f64, bool)>, Vec<usize>)>;

fn places(site: &Site, job: &Job) -> Option<(f64, Places)> {
    let world = World::new(site, job);
    let tree = &trees(site)[0];
    let system = System::new(&world, tree, &vec![true; tree.len()]).expect("routes have length");
    let solved = solve(&system)?;
    let of = |r: &Solution| {
        let pit = |p: &SolvedPit| (p.chainage_m, p.offset_m, p.invert_m, p.manhole);
        let sides = r.drives.iter().map(|d| d.side);
        (r.pits.iter().map(pit).collect(), sides.collect())
    };
    Some((solved.cost, solved.routes.iter().map(of).collect()))
}

type Change = (&'static str, fn(&mut Site, &mut Job));

const RELAXED: [Change; 18] = [
    ("reach", |_, j| j.rig.reach_m *= 1.3),
    ("steepest grade", |_, j| {
        j.rules.max_grade += 0.05;
        j.rig.grade_max += 0.05;
    }),
    ("flattest grade", |_, j| {
        j.rig.grade_min = 0.0;
        j.rules.min_grade.values_mut().for_each(|g| *g = 0.0);
    }),
    ("manhole spacing", |_, j| j.rules.manhole_spacing_m *= 1.3),
    ("manhole drop", |_, j| j.rules.manhole_drop_m = 0.0),
    ("greatest manhole drop", |_, j| {
        j.rules.manhole_drop_max_m = None
    }),
    ("cover", |_, j| j.rules.min_cover_m -= 0.2),
    ("launch side", |_, j| j.rig.launch_from = LaunchFrom::Either),
    ("lots", |s, j| {
        j.pits.on_lots = OnLots::Always;
        s.lots.iter_mut().for_each(|l| l.entry = true);
    }),
    ("distance of services", |_, j| {
        for c in j.rules.clearance.values_mut() {
            c.crossing_m *= 0.8;
            c.parallel_m *= 0.8;
            c.pit_m *= 0.8;
        }
    }),
    ("distance of buildings", |_, j| {
        j.rules.clearance_building_m *= 0.5;
        j.pits.building_setback_m *= 0.5;
    }),
    ("width for the machine", |_, j| {
        j.pits.machine_width_m *= 0.5
    }),
    ("width for the rig", |_, j| j.rig.access_width_m *= 0.5),
    ("corridor", |_, j| {
        j.search.corridor_m += j.search.corridor_step_m
    }),
    ("keepouts and trees", |s, _| {
        s.keepouts.clear();
        s.trees.clear();
    }),
    ("head", |s, _| {
        s.routes.iter_mut().for_each(|r| r.head_invert_max_m = None)
    }),
    ("location limits", |_, j| {
        for l in j.rules.quality.values_mut() {
            l.horizontal_m *= 0.6;
            l.vertical_m *= 0.6;
        }
    }),
    ("old pipe", |s, _| {
        let first = s.services.first().map(|s| s.at.clone());
        let free = s.routes.iter().all(|r| r.follows.is_none());
        s.routes
            .iter_mut()
            .filter(|_| free)
            .for_each(|r| r.follows = first.clone());
    }),
];

/// Rules that the small sites do not have, or that seldom bind there.
const GIVEN: [Change; 8] = [
    ("greatest manhole drop", |_, j| {
        j.rules.manhole_drop_max_m = Some(j.rules.manhole_drop_m + 0.05)
    }),
    ("end error", |_, j| {
        let reach = 0.7 * j.rig.reach_m;
        let share = reach / j.rig.accuracy_at_m;
        j.rules.max_end_error_mm = Some(share * j.rig.line_accuracy_mm);
    }),
    ("thrust", |_, j| {
        (j.soil.friction_kpa, j.soil.face_kpa) = (5.0, 50.0);
        j.rig.thrust_kn = Some(2.5 * 0.7 * j.rig.reach_m);
    }),
    ("strength of the pipe", |_, j| {
        (j.soil.friction_kpa, j.soil.face_kpa) = (5.0, 50.0);
        j.pipe.axial_limit_kn = Some(2.5 * 0.7 * j.rig.reach_m);
    }),
    ("launched from upstream", |_, j| {
        if j.rig.launch_from == LaunchFrom::Either {
            j.rig.launch_from = LaunchFrom::Upstream;
        }
    }),
    ("unknown depth avoided", |_, j| {
        j.rules.unknown_depth = UnknownDepth::Avoid
    }),
    ("pit depth", |_, j| j.pits.max_depth_m *= 0.6),
    ("pit depth by hand", |_, j| {
        j.pits.hand_dig_max_depth_m *= 0.6
    }),
];

/// Makes each change to every seed's site, and counts in how many the cost changed: of single routes and of trees. `sign` 1: no
/// change may make a site cheaper; -1: dearer.
fn change_one_way(changes: &[Change], sign: f64) -> Vec<[usize; 2]> {
    let mut counts = vec![[0; 2]; changes.len()];
    for seed in (0..60).chain(1000..1080) {
        let (site, job) = made(seed);
        let cost = least_cost(&site, &job);
        for ((what, change), counts) in changes.iter().zip(&mut counts) {
            let (mut site, mut job) = made(seed);
            change(&mut site, &mut job);
            let changed = least_cost(&site, &job);
            assert!(
                changed == cost || sign * (changed - cost) >= -1e-6,
                "seed {seed}, {what}: {cost} became {changed}"
            );
            counts[usize::from(seed >= 1000)] += usize::from(!same(changed, cost));
        }
    }
    let seen: Vec<String> = (changes.iter().zip(&counts))
        .map(|((what, _), [routes, trees])| format!("{what} {routes} + {trees}"))
        .collect();
    println!("changed of 60 routes + 80 trees: {}", seen.join(", "));
    counts
}

#[test]
fn no_relaxed_rule_makes_it_dearer() {
    let cheaper = change_one_way(&RELAXED, -1.0);
    each_binds(&cheaper, 9);
}

/// Every change made a difference somewhere, and so many of them to a tree.
fn each_binds(counts: &[[usize; 2]], in_trees: usize) {
    assert!(counts.iter().all(|[r, t]| r + t > 0), "{counts:?}");
    let trees = counts.iter().filter(|[_, t]| *t > 0).count();
    assert!(trees >= in_trees, "{counts:?}");
}

#[test]
fn no_rule_given_makes_it_cheaper() {
    let dearer = change_one_way(&GIVEN, 1.0);
    each_binds(&dearer, 6);
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

/// The plan too is the same: pits at the same chainages, in the mirror on the other side, at the same levels, launched alike.
#[test]
fn a_site_moved_raised_or_mirrored_has_the_same_plan() {
    let mut planned = [0; 2];
    for seed in (300..400).chain(1300..1400) {
        let (site, job) = made(seed);
        let plan = places(&site, &job);
        let moved = coord! {x: 640.0, y: -320.0};
        // Steps of stations and of levels go into all of these a whole number of times.
        for (moved, raised, mirrored) in [
            (moved, 0.0, 1.0),
            (moved, 0.0, -1.0),
            (coord! {x: 0.0, y: 0.0}, -15.0, 1.0),
            (moved, 25.0, -1.0),
        ] {
            let (mut other, job) = made(seed);
            place(&mut other, moved, mirrored);
            raise(&mut other, raised);
            let there = places(&other, &job);
            let what = format!("seed {seed}, raised {raised}, mirrored {mirrored}");
            assert_eq!(plan.is_some(), there.is_some(), "{what}");
            if let Some((here, there)) = plan.as_ref().zip(there) {
                same_plan(here, &there, raised, mirrored, &what);
            }
        }
        planned[usize::from(seed >= 1000)] += usize::from(plan.is_some());
    }
    println!("{planned:?} of 100 routes and 100 trees have a plan");
    assert!(planned.iter().all(|n| *n >= 15));
}

fn same_plan(here: &(f64, Places), there: &(f64, Places), raised: f64, mirrored: f64, what: &str) {
    assert!(
        same(here.0, there.0),
        "{what}: {} became {}",
        here.0,
        there.0
    );
    for ((pits, sides), (others, other_sides)) in here.1.iter().zip(&there.1) {
        assert_eq!(sides, other_sides, "{what}");
        assert_eq!(pits.len(), others.len(), "{what}");
        for (p, q) in pits.iter().zip(others) {
            let apart = [p.0 - q.0, p.1 * mirrored - q.1, p.2 + raised - q.2];
            let alike = apart.iter().all(|d| d.abs() < 1e-6) && p.3 == q.3;
            assert!(alike, "{what}: {p:?} became {q:?}");
        }
    }
}

/// Lifts everything that has a level.
fn raise(site: &mut Site, by: f64) {
    let lift = |z: &mut f64| *z += by;
    for r in &mut site.routes {
        r.outfall_invert_m.iter_mut().for_each(lift);
        r.head_invert_max_m.iter_mut().for_each(lift);
    }
    for m in &mut site.manholes {
        m.invert_m.iter_mut().for_each(lift);
        m.cover_level_m.iter_mut().for_each(lift);
    }
    for part in site.services.iter_mut().flat_map(|s| &mut s.parts) {
        part.levels.iter_mut().flatten().for_each(lift);
    }
    let floors = site.buildings.iter_mut().filter_map(|b| b.floor_m.as_mut());
    floors.for_each(lift);
    let Ground::Grid(grid) = &mut site.ground else {
        panic!("small sites have a raster")
    };
    let Levels::Whole(levels) = &mut grid.levels else {
        panic!("small rasters are whole")
    };
    levels.iter_mut().for_each(lift);
}

/// Moves a site, after turning it over along x where `mirrored` is -1.
pub fn place(site: &mut Site, moved: Coord<f64>, mirrored: f64) {
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
