//! Leaves out the ways to drive runs that no plan within the bound has.
//!
//! From upstream down, the least cost so far of every (position, level) is worked out with the same rules left out as in
//! `relax`; with what `relax` says of the rest it is a lower bound of every plan that drives a run so, and what exceeds the
//! bound is of no use.

use super::{
    grid::Grid,
    relax::{Relaxed, Ways, least_pit_at, outlets, ways},
    runs::{Run, Runs, ends},
};
use crate::plan::context::Context;
use std::ops::Range;

/// Drops what no plan for `bound` has.
pub fn squeeze(cx: &Context, grid: &Grid, runs: &mut Runs, relaxed: &Relaxed, bound: f64) {
    // By run: least plan that drives it as one drive, and with through pits.
    let mut least = vec![[f64::INFINITY; 2]; runs.runs.len()];
    let spare = |ds: usize| bound - relaxed.least[ds];
    go_down(cx, grid, runs, spare, |r, so_far, way| {
        let inlet = &relaxed.inlet[runs.runs[r].ds];
        let rest = [0, 1].map(|l| inlet[l].least(way.range.clone()));
        let kind = usize::from(!way.one_drive);
        let all = so_far + least_with(&runs.runs[r], way, rest);
        least[r][kind] = least[r][kind].min(all);
    });
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

/// Least cost of a branch by inlet level at its junction, the pit there left out. A branch dearer than `bound` is of no use.
pub fn least_by_inlet(cx: &Context, grid: &Grid, runs: &Runs, bound: f64) -> Vec<f64> {
    let spare = |ds: usize| bound - runs.below[ds];
    let mut arrived = go_down(cx, grid, runs, spare, |_, _, _| ());
    let outfall = (0..arrived.len()).find(|p| ends(grid, *p).1);
    outfall.map_or(vec![], |p| std::mem::take(&mut arrived[p]))
}

/// Least cost of a run and of what follows, by whether its last drive is launched downstream.
fn least_with(run: &Run, way: &Ways, rest: [f64; 2]) -> f64 {
    if way.one_drive {
        // launched upstream: received downstream
        (run.single[0] + rest[0]).min(run.single[1] + rest[1])
    } else {
        let last = [0, 1].map(|l| run.multi[0][l].min(run.multi[1][l]) + rest[l]);
        last[0].min(last[1]) + way.deeper
    }
}

/// Least cost so far by (position, inlet level), the position's pit left out. `spare` says what a plan may cost before the
/// position `ds` it comes to; `hear` is told of every way along a run and of the cost before it.
fn go_down(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    spare: impl Fn(usize) -> f64,
    mut hear: impl FnMut(usize, f64, &Ways),
) -> Vec<Vec<f64>> {
    let none = |p: &super::grid::Position| vec![f64::INFINITY; p.levels.len()];
    let mut arrived: Vec<Vec<f64>> = grid.positions.iter().map(none).collect();
    for p in (0..grid.positions.len()).rev() {
        if ends(grid, p).1 {
            continue;
        }
        let left = leave(cx, grid, runs, p, &arrived[p]);
        for &r in &runs.from[p] {
            let run = &runs.runs[r];
            let levels = &grid.positions[run.ds].levels;
            for (outlet, so_far) in left.iter().enumerate() {
                let spare = spare(run.ds) - so_far;
                if run.least() > spare {
                    continue;
                }
                let z = grid.positions[p].levels.level(outlet);
                ways(cx, run, levels, z, spare, |way| {
                    hear(r, *so_far, &way);
                    let cost = so_far + least_with(run, &way, [0.0; 2]);
                    lower(&mut arrived[run.ds], way.range, cost);
                });
            }
        }
    }
    arrived
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
        *cost += runs.joining_at(p, z) + pit(z);
    }
    above
}
