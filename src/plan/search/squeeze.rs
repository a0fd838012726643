//! Leaves out the ways to drive runs that no plan within the bound has.
//!
//! From upstream down, the least cost so far of every (position, level) is worked out with the same rules left out as in
//! `relax`; with what `relax` says of the rest it is a lower bound of every plan that drives a run so, and what exceeds the
//! bound is of no use.

use super::{
    grid::{Grid, LevelGrid},
    least_through::NEVER,
    relax::{Relaxed, Ways, outlets, ways},
    runs::{Runs, ends, manhole_price},
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM},
    plan::context::Context,
};
use std::ops::Range;

/// Drops what no plan for `bound` has.
pub fn squeeze(cx: &Context, grid: &Grid, runs: &mut Runs, relaxed: &Relaxed, bound: f64) {
    // By run: least plan that drives it as one drive, and with through pits, by the sides that launch.
    let mut least = vec![[NEVER; 2]; runs.runs.len()];
    let spare = |ds: usize| bound - relaxed.least[ds];
    let down = go_down(cx, grid, runs, spare, |r, so_far, way| {
        let run = &runs.runs[r];
        let least = &mut least[r][usize::from(!way.one_drive)];
        for l in [0, 1] {
            let rest = relaxed
                .inlet(run.ds, l, run.classes[1])
                .least(way.range.clone());
            for f in [0, 1] {
                least[f][l] = least[f][l].min(so_far[f] + way.cost[f][l] + rest);
            }
        }
    });
    for (run, [single, multi]) in runs.runs.iter_mut().zip(least) {
        if single[1][0] > bound {
            run.single[FROM_UPSTREAM] = f64::INFINITY;
        }
        if single[0][1] > bound {
            run.single[FROM_DOWNSTREAM] = f64::INFINITY;
        }
        for (f, l) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            if multi[f][l] > bound {
                run.multi[f][l] = f64::INFINITY;
            }
        }
    }
    runs.left = down.left;
    runs.drop_hopeless(grid);
}

/// Least cost of a branch by inlet level at its junction, the pit there left out. A branch dearer than `bound` is of no use.
pub fn least_by_inlet(cx: &Context, grid: &Grid, runs: &Runs, bound: f64) -> Vec<f64> {
    let spare = |ds: usize| bound - runs.below[ds];
    let down = go_down(cx, grid, runs, spare, |_, _, _| ());
    let outfall = (0..grid.positions.len()).find(|p| ends(grid, *p).1);
    outfall.map_or(vec![], |p| least_of_all(down.arrived[p].iter().flatten()))
}

/// What partial plans cost at least.
struct Down {
    /// By position, (last drive launched there), class of its direction and inlet level, the position's pit left out.
    arrived: Vec<[Vec<Vec<f64>>; 2]>,
    /// By position and outlet level, its pit included, the branches that join there left out.
    left: Vec<Vec<f64>>,
}

/// Works out what partial plans cost at least. `spare` says what a plan may cost before the position `ds` it comes to; `hear`
/// is told of every way along a run and of the cost before it, by (first drive launched there).
fn go_down(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    spare: impl Fn(usize) -> f64,
    mut hear: impl FnMut(usize, [f64; 2], &Ways),
) -> Down {
    let none = |p: usize| {
        if runs.is_bare(grid, p) {
            return [vec![vec![]], vec![vec![]]];
        }
        let levels = grid.positions[p].levels.len();
        let [_, ups] = runs.pits[p].classes();
        // A drive that is received turns no pit that another leaves.
        [1, ups].map(|classes| vec![vec![f64::INFINITY; levels]; classes])
    };
    let mut down = Down {
        arrived: (0..grid.positions.len()).map(none).collect(),
        left: vec![vec![]; grid.positions.len()],
    };
    for p in (0..grid.positions.len()).rev() {
        let levels = &grid.positions[p].levels;
        if runs.is_bare(grid, p) {
            continue;
        }
        if ends(grid, p).1 {
            down.left[p] = vec![0.0; levels.len()];
            continue;
        }
        let left = leave(cx, grid, runs, p, &down.arrived[p]);
        down.left[p] = least_of_all(left.iter().flatten());
        let joining: Vec<f64> = (0..levels.len()).map(|z| runs.joining_at(p, z)).collect();
        for &r in &runs.from[p] {
            let run = &runs.runs[r];
            if runs.is_bare(grid, run.ds) {
                continue;
            }
            let spare = spare(run.ds);
            let least = run.least();
            let levels_ds = &grid.positions[run.ds].levels;
            for z in 0..levels.len() {
                let so_far = [0, 1].map(|ld| left[run.classes[0]][ld][z] + joining[z]);
                let spare = spare - so_far[0].min(so_far[1]);
                if least > spare || spare.is_nan() {
                    continue;
                }
                ways(cx, run, levels_ds, levels.level(z), spare, |way| {
                    hear(r, so_far, &way);
                    for l in [0, 1] {
                        let by = |f: usize| so_far[f] + way.cost[f][l];
                        let to = &mut down.arrived[run.ds][l];
                        let class = run.classes[1].min(to.len() - 1);
                        lower(&mut to[class], way.range.clone(), by(0).min(by(1)));
                    }
                });
            }
        }
    }
    down
}

fn lower(at: &mut [f64], range: Range<usize>, cost: f64) {
    if cost.is_finite() {
        for known in &mut at[range] {
            *known = known.min(cost);
        }
    }
}

/// The least of several by level.
fn least_of_all<'a>(mut of: impl Iterator<Item = &'a Vec<f64>>) -> Vec<f64> {
    let mut least = of.next().cloned().unwrap_or_default();
    for other in of {
        for (least, other) in least.iter_mut().zip(other) {
            *least = least.min(*other);
        }
    }
    least
}

/// Least cost so far by class of the next drive's direction, by (it is launched there), by outlet level, the position's pit
/// included and the branches that join there left out.
fn leave(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    p: usize,
    arrived: &[Vec<Vec<f64>>; 2],
) -> Vec<[Vec<f64>; 2]> {
    let levels = &grid.positions[p].levels;
    let is_head = ends(grid, p).0;
    let above: Vec<(usize, usize, Vec<f64>)> = if is_head {
        vec![(0, 0, vec![0.0; levels.len()])]
    } else {
        let all = arrived.iter().enumerate().flat_map(|(l, by_class)| {
            let by_class = by_class.iter().enumerate();
            by_class.map(move |(up, by_level)| (l, up, by_level))
        });
        all.map(|(l, up, by_level)| (l, up, lowered(cx, levels, by_level)))
            .collect()
    };
    let besides: Vec<f64> = (0..levels.len())
        .map(|z| manhole_price(cx, grid, p, levels.level(z)))
        .collect();
    let leaving = |down: usize, ld: usize| {
        let mut out = vec![f64::INFINITY; levels.len()];
        for (l, up, so_far) in &above {
            let Some(price) = runs.pits[p].price((*l, ld), (down, *up)) else {
                continue;
            };
            for (z, out) in out.iter_mut().enumerate() {
                if so_far[z] < *out
                    && let Some((pit, _)) = price.at(levels.level(z))
                {
                    *out = out.min(so_far[z] + pit + besides[z]);
                }
            }
        }
        out
    };
    (0..runs.pits[p].classes()[0])
        .map(|down| [0, 1].map(|ld| leaving(down, ld)))
        .collect()
}

/// From costs by inlet level to the same by outlet level.
fn lowered(cx: &Context, levels: &LevelGrid, by_inlet: &[f64]) -> Vec<f64> {
    let mut out = vec![f64::INFINITY; levels.len()];
    for (inlet, cost) in by_inlet.iter().enumerate().filter(|(_, c)| c.is_finite()) {
        lower(&mut out, outlets(cx, levels, levels.level(inlet)), *cost);
    }
    out
}
