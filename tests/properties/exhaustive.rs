//! The search finds the least cost there is.

use super::{
    compare::{compare, compare_trees},
    small_site::{Size, small_site, small_tree},
};
use pitwright::{
    job::{Job, Separation, Shares, Side},
    pits::Dig,
    plan::{context::World, search::solve, system::System},
    site::{Kind, Quality, Site},
};

/// Small sites of a size, changed by `sharpen`.
fn sites(size: &Size, sharpen: fn(&mut Site, &mut Job)) -> impl Fn(u64) -> (Site, Job) {
    move |seed| {
        let (mut site, mut job) = small_site(seed, size);
        sharpen(&mut site, &mut job);
        (site, job)
    }
}

#[test]
fn no_plan_of_all_plans_is_cheaper() {
    let size = Size {
        length_m: 9.0,
        step_m: 3.0,
        level_step_m: 0.3,
        deepest_m: 2.8,
    };
    let (planned, most) = compare(0..150, false, sites(&size, as_it_is));
    println!(
        "{planned} of 150 sites have a plan; the most plans built in full for one site: {most}"
    );
    assert!((30..150).contains(&planned), "{planned} of 150");
}

#[test]
fn no_plan_on_a_finer_grid_is_cheaper() {
    let size = Size::route(2.5);
    let (planned, _) = compare(1000..1300, true, sites(&size, as_it_is));
    println!("{planned} of 300 sites have a plan");
    assert!((100..300).contains(&planned), "{planned} of 300");
}

#[test]
fn no_plan_is_cheaper_where_the_reach_asks_for_several_through_pits() {
    let size = Size {
        length_m: 23.7,
        step_m: 5.0,
        level_step_m: 0.15,
        deepest_m: 3.2,
    };
    let (planned, _) = compare(2000..2150, true, sites(&size, as_it_is));
    println!("{planned} of 150 sites have a plan");
    assert!((40..150).contains(&planned), "{planned} of 150");
}

/// The way to the pits decides in some of the sites: who digs differs along a route, and some places nobody gets to.
#[test]
fn the_way_to_the_pits_binds() {
    let size = Size::route(2.5);
    let (mut all_machine, mut all_hand, mut mixed, mut dearer) = (0, 0, 0, 0);
    for seed in 1000..1300 {
        let (mut site, job) = small_site(seed, &size);
        let least = |site: &Site| {
            let world = World::new(site, &job);
            let system = System::new(&world, &vec![0], &[true]).expect("the route has length");
            let found = solve(&system).map_or(f64::INFINITY, |s| s.cost);
            let stations = system.members[0].cx.alignment.stations(size.step_m, &[]);
            let digs = stations.iter().map(|s| world.access.dig(s.point));
            (found, digs.collect::<Vec<_>>())
        };
        let (cost, digs) = least(&site);
        match (
            digs.contains(&Some(Dig::Machine)),
            digs.contains(&Some(Dig::Hand)),
        ) {
            (true, true) => mixed += 1,
            (true, false) => all_machine += 1,
            (false, true) => all_hand += 1,
            (false, false) => {}
        }
        site.streets.clear();
        dearer += usize::from(least(&site).0 < cost);
    }
    println!("machine {all_machine}, hand {all_hand}, both {mixed}; dearer for the way {dearer}");
    assert!(all_machine > 20 && all_hand > 10 && mixed > 10 && dearer > 10);
}

fn as_it_is(_: &mut Site, _: &mut Job) {}

/// Manholes cost so much, and depth, that everything turns on the through pits of one long run: the reach alone asks
/// for one, but no station is where one would do.
fn through_pits_decide(site: &mut Site, job: &mut Job) {
    let line = &mut site.routes[0].line.points;
    line.drain(1..line.len() - 1);
    job.rules.manhole_spacing_m = 100.0;
    job.rig.reach_m = 13.1;
    job.costs.manhole_base = 30_000.0;
    job.costs.pit_per_m3 = 2_000.0;
    job.costs.pit_hand_per_m3 = 2_500.0;
}

/// A strike costs so much beside depth that levels are a matter of centimetres and chance.
fn strikes_are_dear(_: &mut Site, job: &mut Job) {
    job.costs
        .strike
        .values_mut()
        .for_each(|price| *price = 400_000.0);
    job.costs.pit_per_m3 = 40.0;
    job.costs.pit_hand_per_m3 = 60.0;
}

/// Test holes cost so much that pits are put where they save one.
fn test_holes_are_dear(site: &mut Site, job: &mut Job) {
    job.costs.test_hole = 9_000.0;
    for service in &mut site.services {
        service.cover_m = None;
        service.parts.iter_mut().for_each(|p| p.levels = None);
    }
}

#[test]
fn no_plan_is_cheaper_where_through_pits_decide() {
    let size = Size {
        length_m: 24.4,
        step_m: 5.0,
        level_step_m: 0.15,
        deepest_m: 3.2,
    };
    let (planned, _) = compare(3000..3200, true, sites(&size, through_pits_decide));
    println!("{planned} of 200 sites have a plan");
    assert!((40..200).contains(&planned), "{planned} of 200");
}

#[test]
fn no_plan_is_cheaper_where_strikes_or_test_holes_are_dear() {
    let size = Size {
        length_m: 20.0,
        step_m: 2.5,
        level_step_m: 0.1,
        deepest_m: 3.0,
    };
    let strikes = compare(4000..4100, true, sites(&size, strikes_are_dear)).0;
    let holes = compare(5000..5100, true, sites(&size, test_holes_are_dear)).0;
    println!("{strikes} and {holes} of 100 sites have a plan");
    assert!(
        (20..100).contains(&strikes) && (20..100).contains(&holes),
        "{strikes}, {holes}"
    );
}

/// Some kinds must be apart in plan or in level, and how well a service is located depends on its depth.
fn separations_and_shares(_: &mut Site, job: &mut Job) {
    let rule = |horizontal_m, vertical_m, service| Separation {
        horizontal_m,
        vertical_m,
        service,
    };
    job.rules.separation = [
        (Kind::Water, rule(1.2, 0.15, Side::Above)),
        (Kind::Gas, rule(0.8, 0.3, Side::Either)),
        (Kind::Sewer, rule(2.0, 0.05, Side::Either)),
    ]
    .into();
    let share = Shares {
        horizontal: 0.25,
        vertical: 0.15,
    };
    job.rules.quality_share = [(Quality::B, share), (Quality::C, share)].into();
}

/// The search is exact with separations and shares of depth, and they bind: in some sites they cost a plan or make it dearer.
#[test]
fn no_plan_is_cheaper_under_separations() {
    let size = Size::route(2.5);
    let planned = compare(7000..7200, true, sites(&size, separations_and_shares)).0;
    let tree = Size::tree(3.0);
    let trees = compare_trees(8000..8150, |seed| {
        let (mut site, mut job) = small_tree(seed, &tree);
        separations_and_shares(&mut site, &mut job);
        (site, job)
    });
    let trees = trees.planned;
    let mut bound = [0; 2];
    for seed in 7000..7200 {
        let least = |separate: bool, share: bool| {
            let (mut site, mut job) = small_site(seed, &size);
            separations_and_shares(&mut site, &mut job);
            if !separate {
                job.rules.separation.clear();
            }
            if !share {
                job.rules.quality_share.clear();
            }
            let world = World::new(&site, &job);
            let system = System::new(&world, &vec![0], &[true]).expect("the route has length");
            solve(&system).map_or(f64::INFINITY, |s| s.cost)
        };
        let both = least(true, true);
        bound[0] += usize::from(both > least(false, true) + 1e-6);
        bound[1] += usize::from(both > least(true, false) + 1e-6);
    }
    println!(
        "{planned} of 200 sites and {trees} of 150 trees have a plan; separations make {} sites dearer, shares of depth {}",
        bound[0], bound[1]
    );
    assert!(
        (40..200).contains(&planned) && trees > 10,
        "{planned}, {trees}"
    );
    assert!(bound[0] >= 10 && bound[1] >= 5, "{bound:?}");
}

#[test]
fn no_plan_of_a_tree_is_cheaper() {
    let size = Size::tree(3.0);
    let seen = compare_trees(6000..7000, |seed| small_tree(seed, &size));
    println!("of 1000 trees, each with a corridor and a service of unknown depth: {seen:?}");
    assert!(
        (150..500).contains(&seen.planned)
            && seen.beside >= 40
            && seen.branch_of_branch >= 20
            && seen.several >= 20
            && seen.test_hole >= 40
            && seen.beside_and_hole >= 40,
        "{seen:?}"
    );
}
