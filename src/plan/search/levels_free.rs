//! What the parts of a route cost at least with levels left free: one look at every run.

use super::{
    grid::Grid,
    runs::{Runs, ends, manhole_price},
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM},
    plan::context::Context,
};

/// Least costs with levels left out, by position.
#[derive(Debug, Clone, Default)]
pub struct LevelsFree {
    /// Of all that lies upstream, the position's pit left out, by (last drive launched there).
    arrived: Vec<[f64; 2]>,
    /// The same with its pit, by (next drive launched there).
    left: Vec<[f64; 2]>,
    /// Of the position's pit and all that lies downstream, by (last drive launched there).
    to_come: Vec<[f64; 2]>,
}

fn least_of([a, b]: [f64; 2]) -> f64 {
    a.min(b)
}

impl Runs {
    /// No way to build the route is cheaper, its branches included; the downstream pit of a branch is not.
    pub fn least_total(&self, cx: &Context, grid: &Grid) -> f64 {
        let outfalls = (0..grid.positions.len()).filter(|p| ends(grid, *p).1);
        let total = |p: usize| {
            let pits = self.free_pits(cx, grid, p);
            least_of([0, 1].map(|l: usize| self.free.arrived[p][l] + pits[l][0]))
        };
        outfalls.map(total).fold(f64::INFINITY, f64::min)
    }

    /// Least cost above and below every position with levels left out: dynamic programming over the runs, every pit as shallow
    /// as it can be and as large as the drives that it launches ask.
    pub fn bound_levels_free(&mut self, cx: &Context, grid: &Grid) {
        const NEVER: [f64; 2] = [f64::INFINITY; 2];
        let n = grid.positions.len();
        let pits: Vec<[[f64; 2]; 2]> = (0..n).map(|p| self.free_pits(cx, grid, p)).collect();
        let mut free = LevelsFree {
            arrived: vec![NEVER; n],
            left: vec![NEVER; n],
            to_come: vec![NEVER; n],
        };
        for (p, pit) in pits.iter().enumerate().rev() {
            if ends(grid, p).0 {
                free.arrived[p][0] = 0.0;
            }
            for &r in &self.to[p] {
                let (run, arrived) = (&self.runs[r], &mut free.arrived[p]);
                for (f, l, cost) in run.ways() {
                    arrived[l] = arrived[l].min(free.left[run.us][f] + cost);
                }
            }
            let arrived = free.arrived[p];
            free.left[p] =
                [0, 1].map(|ld: usize| least_of([0, 1].map(|l: usize| arrived[l] + pit[l][ld])));
        }
        for (p, pit) in pits.iter().enumerate() {
            let mut onward = NEVER;
            if ends(grid, p).1 {
                onward[0] = 0.0;
            }
            for &r in &self.from[p] {
                let run = &self.runs[r];
                for (f, l, cost) in run.ways() {
                    onward[f] = onward[f].min(cost + free.to_come[run.ds][l]);
                }
            }
            free.to_come[p] =
                [0, 1].map(|l: usize| least_of([0, 1].map(|ld: usize| pit[l][ld] + onward[ld])));
        }
        self.above = free.arrived.iter().copied().map(least_of).collect();
        self.below = free.to_come.iter().copied().map(least_of).collect();
        self.free = free;
    }

    /// Least cost of a position's pit and all that lies downstream, levels left free, by (last drive launched there).
    pub fn to_come(&self, position: usize) -> [f64; 2] {
        self.free.to_come[position]
    }

    /// Least cost of a position's pit, manhole and branches, by (last drive launched there), by (next drive launched there).
    fn free_pits(&self, cx: &Context, grid: &Grid, p: usize) -> [[f64; 2]; 2] {
        let levels = &grid.positions[p].levels;
        let highest = levels.level(levels.len() - 1);
        let besides = manhole_price(cx, grid, p, highest) + self.branches[p];
        [0, 1].map(|l| [0, 1].map(|ld| besides + self.pits[p].least_of_size((l, ld), highest)))
    }

    /// Drops ways to drive runs that are part of no way to build the route and its branches for `bound`.
    pub fn drop_dearer(&mut self, grid: &Grid, bound: f64) {
        let free = std::mem::take(&mut self.free);
        self.runs.retain_mut(|run| {
            let (before, after) = (free.left[run.us], free.to_come[run.ds]);
            let dearer = |f: usize, l: usize, cost: f64| {
                let least = before[f] + cost + after[l];
                !(least.is_finite() && least <= bound)
            };
            for (f, l, side) in [(1, 0, FROM_UPSTREAM), (0, 1, FROM_DOWNSTREAM)] {
                if dearer(f, l, run.single[side]) {
                    run.single[side] = f64::INFINITY;
                }
            }
            for (f, l) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                if dearer(f, l, run.multi[f][l]) {
                    run.multi[f][l] = f64::INFINITY;
                }
            }
            run.least().is_finite()
        });
        self.free = free;
        self.index(grid.positions.len());
    }
}
