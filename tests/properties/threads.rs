//! Any number of threads gives the same plan.

use super::changes::{made, place};
use geo::coord;
use pitwright::{
    ground::{Grid, Ground, Levels},
    job::Job,
    plan::{Quiet, plan_with_alternatives},
    site::{FeatureRef, Site},
};
use rayon::ThreadPoolBuilder;

/// Several trees of one street, each moved to a place of its own.
fn several_trees(seed: u64) -> (Site, Job) {
    let (mut all, job) = made(seed);
    for i in 1..4_u64 {
        let (mut more, _) = made(seed + 100 * i);
        more.ground = Ground::Grid(level_raster());
        place(
            &mut more,
            coord! {x: 28.0 * (i % 2) as f64, y: 22.0 * (i / 2) as f64},
            1.0,
        );
        let apart = |at: &mut FeatureRef| at.fid += 100 * i as i64;
        let name = |id: &String| format!("{id}-{i}");
        for r in &mut more.routes {
            apart(&mut r.at);
            r.route_id = name(&r.route_id);
            r.joins = r.joins.as_ref().map(name);
            r.follows.iter_mut().for_each(apart);
        }
        more.services.iter_mut().for_each(|s| apart(&mut s.at));
        more.buildings.iter_mut().for_each(|s| apart(&mut s.at));
        all.routes.append(&mut more.routes);
        all.services.append(&mut more.services);
        all.buildings.append(&mut more.buildings);
    }
    (all, job)
}

/// Not looked at: stands in for the ground of a site of which only the things are taken.
fn level_raster() -> Grid {
    Grid {
        width: 1,
        height: 1,
        levels: Levels::Whole(vec![0.0]),
        to_cell: [0.0, 1.0, 0.0, 0.0, 0.0, 1.0],
        unit_m: 1.0,
        project: None,
    }
}

/// Every number of every row, written out in full, is the same with one thread and with several.
#[test]
fn a_plan_does_not_depend_on_how_many_threads_there_are() {
    let (mut planned, mut without, mut alternatives) = (0, 0, 0);
    for seed in 1500..1512 {
        let (site, job) = several_trees(seed);
        let with = |threads: usize| {
            let pool = ThreadPoolBuilder::new().num_threads(threads).build();
            let pool = pool.expect("threads can be started");
            pool.install(|| plan_with_alternatives(&site, &job, 2, &Quiet))
        };
        let [one, four] = [with(1), with(4)];
        assert_eq!(format!("{one:?}"), format!("{four:?}"), "seed {seed}");
        planned += one.routes.iter().filter(|r| r.planned).count();
        without += one.routes.iter().filter(|r| !r.planned).count();
        alternatives += one.alternatives.len();
    }
    println!("{planned} routes planned, {without} without a plan, {alternatives} alternatives");
    assert!(planned >= 20 && without >= 20 && alternatives >= 10);
}
