//! Coarse grids first, for a bound; then the grid itself.

use super::{
    exact::{Ending, Exact},
    grid::{Coarse, Grid},
    label::SAME_COST,
    pricing::Prices,
    relax::relax,
    runs::runs,
};
use crate::plan::context::Context;
use geo::Coord;

/// A pit of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SolvedPit {
    /// Centre.
    pub point: Coord<f64>,
    /// Chainage of its station (m).
    pub chainage_m: f64,
    /// Right looking downstream positive (m).
    pub offset_m: f64,
    /// A manhole stands in it.
    pub manhole: bool,
    /// Invert of its downstream drive there (at the outfall: of its upstream drive): the lowest.
    pub invert_m: f64,
    /// Service parts that do not count here.
    pub exempt: Vec<usize>,
}

/// A drive of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SolvedDrive {
    /// Upstream and downstream pit (index into the pits, from downstream).
    pub pits: [usize; 2],
    /// Inverts upstream and downstream.
    pub inverts: [f64; 2],
    /// Which side launches it.
    pub side: usize,
    /// Which run it belongs to, counted from downstream.
    pub run: usize,
    /// Service parts that do not count for it.
    pub exempt: Vec<usize>,
}

/// The best plan of one route, from the downstream end up.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Its cost.
    pub cost: f64,
    /// Pits.
    pub pits: Vec<SolvedPit>,
    /// Drives.
    pub drives: Vec<SolvedDrive>,
    /// Drives judged at their levels on the way: the work done.
    pub judged: usize,
}

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

/// The best plan of a route; none where it has none.
pub fn solve(cx: &Context) -> Option<Solution> {
    let mut bound = f64::INFINITY;
    let mut judged = 0;
    let mut best = None;
    for coarse in GRIDS {
        let found = solve_on(cx, coarse, bound, &mut judged);
        if let Some(s) = &found {
            bound = s.cost + 2.0 * SAME_COST;
        }
        best = found;
    }
    best.map(|s| Solution { judged, ..s })
}

/// The best plan on one grid, if there is one no dearer than `bound`.
fn solve_on(cx: &Context, coarse: Coarse, bound: f64, judged: &mut usize) -> Option<Solution> {
    let mut prices = Prices::new(cx);
    let mut grid = Grid::new(cx, coarse, &[]);
    let runs = runs(&mut prices, &mut grid, bound);
    let relaxed = relax(cx, &grid, &runs, bound);
    let least = relaxed.least_plan(cx, &grid, &runs);
    if least.is_infinite() || least > bound {
        *judged += prices.judged;
        return None;
    }
    let mut best = None;
    for bound in bounds(least, bound) {
        let mut exact = Exact::new(&mut prices, &mut grid, &runs, &relaxed, bound);
        let ending = exact.search();
        best = ending.map(|e| solution(cx, &exact, e));
        // A plan within the bound is the best of all, with all its equals: only dearer ones were left out.
        if best.as_ref().is_some_and(|s| s.cost + SAME_COST <= bound) {
            break;
        }
    }
    *judged += prices.judged;
    best
}

/// Bounds to try in turn, from near the least that a plan can cost to the bound given: the search grows faster than
/// evenly with its bound, so that the last one tried is nearly all the work.
fn bounds(least: f64, bound: f64) -> Vec<f64> {
    // Where they are close already, a try in between costs more than it saves.
    const CLOSE: f64 = 0.04;
    if bound <= (1.0 + CLOSE) * least {
        vec![bound]
    } else if bound.is_finite() {
        vec![least + 0.5 * (bound - least), bound]
    } else {
        vec![
            1.02 * least,
            1.05 * least,
            1.15 * least,
            1.5 * least,
            f64::INFINITY,
        ]
    }
}

/// Reads a plan off its steps.
fn solution(cx: &Context, exact: &Exact, ending: Ending) -> Solution {
    let grid = &*exact.grid;
    let exempt = |nodes: &[u32]| super::pricing::exempt(cx, grid, nodes);
    let pit = |node: u32, manhole: bool, invert_m: f64| {
        let n = &grid.nodes[node as usize];
        SolvedPit {
            point: n.point,
            chainage_m: grid.stations[n.station].chainage_m,
            offset_m: n.offset_m,
            manhole,
            invert_m,
            exempt: exempt(&[node]),
        }
    };
    let mut pits = vec![pit(
        grid.positions[ending.position].node,
        true,
        ending.invert_m,
    )];
    let mut drives = vec![];
    for (run, step) in exact.book.upward(ending.label.step).enumerate() {
        let [us, ds] = step.positions.map(|p| grid.positions[p].node);
        let length = grid.distance_m(us, ds);
        let level = |node: u32| {
            if node == ds {
                step.inverts[1]
            } else {
                step.inverts[0]
                    + (step.inverts[1] - step.inverts[0]) * (grid.distance_m(us, node) / length)
            }
        };
        for (i, leg) in step.legs.iter().enumerate().rev() {
            let upper = if i == 0 { us } else { step.legs[i - 1].ds };
            let inverts = [level(upper), level(leg.ds)];
            let k = pits.len();
            drives.push(SolvedDrive {
                pits: [k, k - 1],
                inverts,
                side: leg.side,
                run,
                exempt: exempt(&[upper, leg.ds]),
            });
            pits.push(pit(upper, i == 0, inverts[0]));
        }
    }
    Solution {
        cost: ending.label.cost,
        pits,
        drives,
        judged: 0,
    }
}
