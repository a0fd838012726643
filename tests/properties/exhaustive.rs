//! The search finds the least cost there is.

use super::{
    plain_search::PlainSearch,
    small_site::{Size, small_site},
};
use pitwright::plan::{
    context::{Context, World},
    search::solve,
};

/// Compares the search with the plain one on a range of seeds; says how many sites had a plan and the largest count of
/// plans built in full.
fn compare(seeds: std::ops::Range<u64>, size: &Size, remember: bool) -> (usize, u64) {
    let (mut planned, mut most) = (0, 0);
    for seed in seeds {
        let (site, job) = small_site(seed, size);
        let world = World::new(&site, &job);
        let cx = Context::new(&world, &site.routes[0]).expect("the route has length");
        let mut plain = PlainSearch::new(&cx, remember);
        let least = plain.least_cost();
        let found = solve(&cx).map_or(f64::INFINITY, |s| s.cost);
        assert!(
            (found - least).abs() <= 1e-6 || found == least,
            "seed {seed}: the search found {found}, the plain search {least}"
        );
        planned += usize::from(found.is_finite());
        most = most.max(plain.plans);
    }
    (planned, most)
}

#[test]
fn no_plan_of_all_plans_is_cheaper() {
    let size = Size {
        length_m: 9.0,
        step_m: 3.0,
        level_step_m: 0.3,
        deepest_m: 2.8,
    };
    let (planned, most) = compare(0..150, &size, false);
    println!(
        "{planned} of 150 sites have a plan; the most plans built in full for one site: {most}"
    );
    assert!((30..150).contains(&planned), "{planned} of 150");
}

#[test]
fn no_plan_on_a_finer_grid_is_cheaper() {
    let size = Size {
        length_m: 20.0,
        step_m: 2.5,
        level_step_m: 0.2,
        deepest_m: 3.4,
    };
    let (planned, _) = compare(1000..1300, &size, true);
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
    let (planned, _) = compare(2000..2150, &size, true);
    println!("{planned} of 150 sites have a plan");
    assert!((40..150).contains(&planned), "{planned} of 150");
}
