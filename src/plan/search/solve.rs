//! Coarse grids first, for a bound; then the grid itself.

use super::{grid::Coarse, label::SAME_COST, runs::Runs, solution::Solved, tree::Routes};
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
    Coarse {
        stations: 1,
        levels: 1,
    },
];

/// The best plan of a system of joined routes; none where it has none.
pub fn solve(system: &System) -> Option<Solved> {
    let mut bound = f64::INFINITY;
    let mut judged = 0;
    let mut best = None;
    for coarse in GRIDS {
        let found = solve_on(system, coarse, bound, &mut judged);
        if let Some(s) = &found {
            bound = s.cost + 2.0 * SAME_COST;
        }
        best = found;
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
    let mut routes = Routes::new(system, coarse);
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
    let least = routes.settle(bound)?;
    let whole: Vec<Runs> = routes.searched.iter().map(|r| r.runs.clone()).collect();
    for bound in bounds(least, bound) {
        for (r, whole) in routes.searched.iter_mut().zip(&whole) {
            r.begin_anew(whole.clone());
        }
        let best = routes.least_within(bound);
        // A plan within the bound is the best of all, with all its equals: only dearer ones were left out.
        if best.as_ref().is_some_and(|s| s.cost + SAME_COST <= bound) {
            return best;
        }
    }
    None
}

/// Bounds to try in turn, from near the least that a plan can cost to the bound given: the less they leave open, the fewer
/// runs are looked at closely.
fn bounds(least: f64, bound: f64) -> Vec<f64> {
    let tries = [1.01, 1.03, 1.06, 1.12, 1.25, 1.5].map(|by| by * least);
    let mut below: Vec<f64> = tries.into_iter().filter(|t| 1.005 * t < bound).collect();
    below.push(bound);
    below
}
