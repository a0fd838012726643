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
    let (mut bound, mut over) = (f64::INFINITY, None);
    let mut judged = 0;
    let mut best = None;
    for coarse in GRIDS {
        let found = solve_on(system, coarse, (bound, over), &mut judged);
        over = found.as_ref().map(|(s, least)| s.cost / least);
        best = found.map(|(s, _)| s);
        if let Some(s) = &best {
            bound = s.cost + 2.0 * SAME_COST;
        }
    }
    best.map(|s| Solved { judged, ..s })
}

/// Whether a system has a plan at all: on a coarser grid first, for its plans are the fine grid's too. Adds to `judged` the
/// drives judged at their levels on the way.
pub fn has_plan(system: &System, judged: &mut usize) -> bool {
    let any = (f64::INFINITY, None);
    let mut found = |coarse| solve_on(system, coarse, any, judged).is_some();
    GRIDS.into_iter().any(&mut found)
}

/// The best plan on one grid, if there is one no dearer than `bound`, and the least that one costs with levels left free. `over`:
/// what the cost of the best plan was to that least on another grid.
fn solve_on(
    system: &System,
    coarse: Coarse,
    (bound, over): (f64, Option<f64>),
    judged: &mut usize,
) -> Option<(Solved, f64)> {
    let mut routes = Routes::new(system, coarse);
    let best = least_on(&mut routes, bound, over);
    *judged += routes.judged();
    best
}

fn least_on(routes: &mut Routes, bound: f64, over: Option<f64>) -> Option<(Solved, f64)> {
    routes.settle(bound)?;
    routes.each(|r| r.runs.take_lines(&mut r.prices, &r.grid));
    routes.settle(bound)?;
    routes.each(|r| {
        r.runs.take_profiles(r.prices.cx, &r.grid);
        r.runs.take_courses(r.prices.cx, &r.grid);
    });
    routes.settle(bound)?;
    routes.cap_levels();
    let least = routes.settle(bound)?;
    let whole: Vec<Runs> = routes.searched.iter().map(|r| r.runs.clone()).collect();
    for bound in bounds(least, bound, over) {
        for (r, whole) in routes.searched.iter_mut().zip(&whole) {
            r.begin_anew(whole.clone());
        }
        let best = routes.least_within(bound);
        // A plan within the bound is the best of all, with all its equals: only dearer ones were left out.
        if let Some(best) = best.filter(|s| s.cost + SAME_COST <= bound) {
            return Some((best, least));
        }
    }
    None
}

/// Bounds to try in turn, from near the least that a plan can cost to the bound given: the less they leave open, the fewer
/// runs are looked at closely. What a plan cost beyond that least on a coarser grid is a good guess.
fn bounds(least: f64, bound: f64, over: Option<f64>) -> Vec<f64> {
    let tries = match over {
        Some(over) => vec![1.012 * over, 1.04 * over, 1.12 * over],
        None => vec![1.01, 1.03, 1.06, 1.12, 1.25, 1.5],
    };
    let tries = tries.into_iter().map(|by| by * least);
    let mut below: Vec<f64> = tries.filter(|t| 1.005 * t < bound).collect();
    below.push(bound);
    below
}
