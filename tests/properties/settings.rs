//! Settings that change what the search looks at: who launches, manholes closer than the reach, levels of a few millimetres. Each is
//! held against the plain searches, and must bind.

use super::{
    chance::Chance,
    compare::{compare, compare_trees, least_cost},
    small_site::{Size, small_site, small_tree},
};
use pitwright::{
    job::{Job, LaunchFrom, OnLots},
    site::Site,
};
use std::ops::Range;

const ROUTE: Size = Size::route(4.0);
const TREE: Size = Size::tree(4.0);

/// In how many of a range of sites the one costs more than the other, or has no plan where the other has.
fn dearer(
    seeds: Range<u64>,
    one: impl Fn(u64) -> (Site, Job),
    other: impl Fn(u64) -> (Site, Job),
) -> usize {
    let cost = |made: (Site, Job)| least_cost(&made.0, &made.1);
    let more = |s: &u64| cost(one(*s)) > cost(other(*s)) + 1e-6;
    seeds.filter(more).count()
}

fn launching(from: LaunchFrom, (site, mut job): (Site, Job)) -> (Site, Job) {
    job.rig.launch_from = from;
    (site, job)
}

#[test]
fn no_plan_is_cheaper_whoever_launches() {
    use LaunchFrom::{Downstream, Either, Upstream};
    let (routes, trees) = (30_000..30_060, 31_000..31_060);
    let route = |from| move |seed| launching(from, small_site(seed, &ROUTE));
    let tree = |from| move |seed| launching(from, small_tree(seed, &TREE));
    for from in [Either, Upstream, Downstream] {
        let planned = compare(routes.clone(), true, route(from)).0;
        let seen = compare_trees(trees.clone(), tree(from));
        let bound = dearer(routes.clone(), route(from), route(Either));
        let bound_trees = dearer(trees.clone(), tree(from), tree(Either));
        println!(
            "{from:?}: {planned} routes and {} trees of 60 have a plan; dearer than from either side: {bound} and {bound_trees}",
            seen.planned
        );
        assert!(planned >= 12 && seen.planned >= 6);
        assert!(from == Either || bound >= 6 && bound_trees >= 3);
    }
}

/// A site whose manholes must stand closer than the reach, by this much.
fn close_manholes(seed: u64, (site, mut job): (Site, Job), close: bool) -> (Site, Job) {
    let mut c = Chance::new(seed ^ 0xc105e);
    job.rig.reach_m = job.rig.reach_m.max(9.0);
    let share = c.between(0.4, 0.9);
    job.rules.manhole_spacing_m = job.rig.reach_m * if close { share } else { 1.0 };
    (site, job)
}

#[test]
fn no_plan_is_cheaper_where_manholes_are_closer_than_the_reach() {
    let (routes, trees) = (32_000..32_150, 33_000..33_150);
    let route = |close| move |seed| close_manholes(seed, small_site(seed, &ROUTE), close);
    let tree = |close| move |seed| close_manholes(seed, small_tree(seed, &TREE), close);
    let planned = compare(routes.clone(), true, route(true)).0;
    let seen = compare_trees(trees.clone(), tree(true));
    let bound = dearer(routes, route(true), route(false));
    let bound_trees = dearer(trees, tree(true), tree(false));
    println!(
        "{planned} routes and {} trees of 150 have a plan; dearer for the spacing: {bound} and {bound_trees}",
        seen.planned
    );
    assert!(planned >= 30 && seen.planned >= 15);
    assert!(bound >= 10 && bound_trees >= 10);
}

/// A site with levels of 5 mm in a band of a hand's breadth below the cover, where they cost.
fn fine_levels(seed: u64, (mut site, mut job): (Site, Job), band_m: f64) -> (Site, Job) {
    let mut c = Chance::new(seed ^ 0xf13e);
    if c.chance(0.8) {
        site.manholes.clear();
        for route in &mut site.routes {
            (route.outfall_invert_m, route.head_invert_max_m) = (None, None);
        }
        site.buildings.clear();
        site.keepouts.clear();
        // The last is that of unknown depth in a tree.
        let spare = site.services.len().saturating_sub(2);
        site.services.drain(..spare);
        job.rig.reach_m = 11.0;
    }
    let size = job.pipe.sizes[&job.pipe.dn_mm];
    let crown_m = (size.id_mm + size.od_mm) / 2000.0;
    let depth = c.between(1.0, 2.0);
    job.pits.max_depth_m = depth + job.rig.axis_height_m;
    job.pits.hand_dig_max_depth_m = job.pits.max_depth_m;
    job.rules.min_cover_m = depth - crown_m - band_m * c.between(0.5, 1.0);
    job.rules.manhole_drop_m = c.one_of(&[0.0, 0.015]);
    job.pits.on_lots = OnLots::Always;
    job.costs
        .strike
        .values_mut()
        .for_each(|price| *price = 100_000.0);
    (site, job)
}

/// A plan's levels are on the grid that the job asks for, and some on none that is coarser.
#[test]
fn no_plan_on_levels_of_5_mm_is_cheaper() {
    let route = Size {
        length_m: 13.0,
        step_m: 4.0,
        level_step_m: 0.005,
        deepest_m: 3.0,
    };
    let routes = 34_000..34_060;
    let on = |step: f64| {
        move |seed: u64| {
            let (site, mut job) = fine_levels(seed, small_site(seed, &route), 0.25);
            job.search.level_step_m = step;
            (site, job)
        }
    };
    let planned = compare(routes.clone(), true, on(0.005)).0;
    let bound = dearer(routes, on(0.02), on(0.005));
    println!("{planned} routes of 60 have a plan; dearer on levels of 20 mm: {bound}");
    assert!(planned >= 12 && bound >= 12);
}

#[test]
fn no_tree_on_levels_of_5_mm_is_cheaper() {
    let tree = Size {
        length_m: 12.0,
        step_m: 6.0,
        level_step_m: 0.005,
        deepest_m: 3.0,
    };
    let seen = compare_trees(35_000..35_060, |seed| {
        fine_levels(seed, small_tree(seed, &tree), 0.1)
    });
    println!("{} trees of 60 have a plan", seen.planned);
    assert!(seen.planned >= 4);
}
