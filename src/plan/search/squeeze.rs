//! Leaves out the ways to drive runs that no plan within the bound has.
//!
//! From upstream down, the least cost so far of every (position, outlet level) is worked out with the same rules left out as in
//! `relax`; with what `relax` says of the rest it is a lower bound of every plan that drives a run so, and what exceeds the
//! bound is of no use.

use super::{
    grid::Grid,
    relax::{Relaxed, Ways, least_pit_at, outlets},
    runs::{Runs, ends},
};
use crate::plan::context::Context;
use std::ops::Range;

/// Drops what no plan for `bound` has.
pub fn squeeze(cx: &Context, grid: &Grid, runs: &mut Runs, relaxed: &Relaxed, bound: f64) {
    let positions = grid.positions.len();
    // Least cost so far by inlet level, the position's pit left out.
    let mut arrived: Vec<Vec<f64>> = (0..positions)
        .map(|p| vec![f64::INFINITY; grid.positions[p].levels.len()])
        .collect();
    // By run: least plan that drives it as one drive, and with through pits.
    let mut least = vec![[f64::INFINITY; 2]; runs.runs.len()];
    for p in (0..positions).rev() {
        if ends(grid, p).1 {
            continue;
        }
        let left = leave(cx, grid, runs, p, &arrived[p]);
        for &r in &runs.from[p] {
            let run = &runs.runs[r];
            let levels = &grid.positions[run.ds].levels;
            for (outlet, so_far) in left.iter().enumerate() {
                let spare = bound - so_far - relaxed.least[run.ds];
                if run.least() > spare {
                    continue;
                }
                let z = grid.positions[p].levels.level(outlet);
                relaxed.ways(cx, run, levels, z, spare, |way| {
                    let Ways {
                        one_drive,
                        range,
                        least: cost,
                        rest,
                    } = way;
                    let kind = usize::from(!one_drive);
                    least[r][kind] = least[r][kind].min(so_far + rest);
                    lower(&mut arrived[run.ds], range, so_far + cost);
                });
            }
        }
    }
    for (run, least) in runs.runs.iter_mut().zip(least) {
        if least[0] > bound {
            run.single = [f64::INFINITY; 2];
        }
        if least[1] > bound {
            run.multi = [[f64::INFINITY; 2]; 2];
        }
    }
    runs.drop_hopeless(grid);
}

fn lower(at: &mut [f64], range: Range<usize>, cost: f64) {
    for known in &mut at[range] {
        *known = known.min(cost);
    }
}

/// Least cost so far by outlet level, the position's pit included.
fn leave(cx: &Context, grid: &Grid, runs: &Runs, p: usize, arrived: &[f64]) -> Vec<f64> {
    let levels = &grid.positions[p].levels;
    let mut above = vec![f64::INFINITY; levels.len()];
    if ends(grid, p).0 {
        above.fill(0.0);
    } else {
        for (inlet, cost) in arrived.iter().enumerate().filter(|(_, c)| c.is_finite()) {
            lower(&mut above, outlets(cx, levels, levels.level(inlet)), *cost);
        }
    }
    let pit = |z: usize| least_pit_at(cx, grid, &runs.pits[p], p, levels.level(z));
    for (z, cost) in above.iter_mut().enumerate().filter(|(_, c)| c.is_finite()) {
        *cost += runs.branches[p] + pit(z);
    }
    above
}
