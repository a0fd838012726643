//! Coarse grids first, for a bound; then the grid itself.

use super::{
    grid::{Coarse, has_room_aside, stations},
    label::SAME_COST,
    solution::Solved,
    tree::Routes,
};
use crate::plan::system::System;

/// How much coarser than the job's the grids are, in turn. Their points are the job's grid's too.
const GRIDS: [Coarse; 3] = [
    Coarse {
        stations: 10,
        levels: 10,
    },
    Coarse {
        stations: 3,
        levels: 3,
    },
    Coarse::FINEST,
];

/// A coarser grid is looked at first where it has no more than this share of the stations of the next finer one.
const MUCH_COARSER: f64 = 0.36;

/// The grids that are worth it for a system, in turn.
///
/// Every vertex of a route is a station of any grid. A curved route has few lines if manholes may not leave it, and hardly fewer on a
/// coarse grid: there the bound that it gives costs more than it saves.
fn worth_it(system: &System) -> &'static [Coarse] {
    if system.members.iter().any(|m| has_room_aside(&m.cx)) {
        return &GRIDS;
    }
    let all = |coarse: Coarse| -> f64 {
        let members = system.members.iter();
        members.map(|m| stations(&m.cx, coarse).len() as f64).sum()
    };
    let much_coarser = |pair: &&[Coarse]| all(pair[0]) <= MUCH_COARSER * all(pair[1]);
    let coarser = GRIDS.windows(2).rev().take_while(much_coarser).count();
    &GRIDS[GRIDS.len() - 1 - coarser..]
}

/// The best plan of a system of joined routes; none where it has none.
pub fn solve(system: &System) -> Option<Solved> {
    let mut bound = f64::INFINITY;
    let mut judged = 0;
    let mut best = None;
    for coarse in worth_it(system) {
        best = solve_on(system, *coarse, bound, &mut judged);
        if let Some(s) = &best {
            bound = s.cost + 2.0 * SAME_COST;
        }
    }
    best.map(|s| Solved { judged, ..s })
}

/// Whether a system has a plan at all: on a coarser grid first, for its plans are the fine grid's too. Adds to `judged` the
/// drives judged at their levels on the way.
pub fn has_plan(system: &System, judged: &mut usize) -> bool {
    let mut found = |coarse| solve_on(system, coarse, f64::INFINITY, judged).is_some();
    GRIDS.into_iter().any(&mut found)
}

/// The best plan on one grid, if there is one no dearer than `bound`.
fn solve_on(system: &System, coarse: Coarse, bound: f64, judged: &mut usize) -> Option<Solved> {
    let mut routes = Routes::new(system, coarse, bound)?;
    let best = least_on(&mut routes, bound);
    *judged += routes.judged();
    best
}

fn least_on(routes: &mut Routes, bound: f64) -> Option<Solved> {
    routes.settle(bound)?;
    routes.each(|r| r.runs.take_lines(&mut r.prices, &r.grid));
    routes.settle(bound)?;
    routes.each(|r| {
        r.runs.take_profiles(r.prices.cx, &r.grid);
        r.runs.take_courses(r.prices.cx, &r.grid);
    });
    routes.settle(bound)?;
    routes.cap_levels();
    routes.settle(bound)?;
    routes.least_within(bound)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{bare_site, context::World};

    #[test]
    fn coarse_grids_are_for_routes_that_have_far_fewer_stations_on_them() {
        let grids = |points: &[(f64, f64)], corridor_m: f64| {
            let (site, mut job) = (bare_site::site(points), bare_site::job());
            job.search.station_step_m = 1.0;
            (job.search.corridor_m, job.search.corridor_step_m) = (corridor_m, 0.5);
            let world = World::new(&site, &job);
            let system = System::new(&world, &vec![0], &[true]).expect("it has length");
            worth_it(&system).len()
        };
        let curve = |i: i32| (f64::from(i) * 4.0, f64::from(i * i % 3) * 0.2);
        let curved: Vec<(f64, f64)> = (0..30).map(curve).collect();
        assert_eq!(grids(&[(0.0, 0.0), (120.0, 0.0)], 0.0), 3);
        assert_eq!(grids(&curved, 0.0), 1);
        assert_eq!(grids(&curved, 1.0), 3);
    }
}
