//! How high a pipe can come in anywhere: what falls, drops and certain clashes leave of the cover.
//!
//! From the head down, each run falls at least by its least grade from the highest outlet there can be, keeps below the ground
//! all along if it is one drive, and dives where a service bars the way and it cannot come above. Rules are left out of it, never
//! added, so no plan has a higher level; and it takes one look at every run.

use super::{
    grid::Grid,
    runs::{Run, Runs, ends},
};
use crate::{clearance::LENGTH_TOLERANCE_M, plan::context::Context};
use std::collections::BTreeMap;

/// Takes from a route's grid the levels above the highest inlet that each position can have. `joining` says how high the outlet of
/// a position may be for the branches that join there.
pub fn cap_levels(cx: &Context, grid: &mut Grid, runs: &mut Runs, joining: impl Fn(usize) -> f64) {
    let n = grid.positions.len();
    let mut inlets = vec![f64::NEG_INFINITY; n];
    for p in (0..n).rev() {
        let (is_head, is_outfall) = ends(grid, p);
        if is_head {
            inlets[p] = f64::INFINITY;
        } else {
            grid.cap(p, inlets[p]);
        }
        if is_outfall {
            continue;
        }
        let outlet = highest_outlet(cx, grid, p, inlets[p]).min(joining(p));
        for &r in &runs.from[p] {
            let run = &runs.runs[r];
            inlets[run.ds] = inlets[run.ds].max(highest_inlet(cx, run, outlet));
        }
    }
    runs.drop_to(grid, |p| {
        inlets[p] < grid.positions[p].levels.level(0) - LENGTH_TOLERANCE_M
    });
}

/// The highest outlet of a position with an inlet no higher than `inlet`; at the upstream end there is none.
pub fn highest_outlet(cx: &Context, grid: &Grid, p: usize, inlet: f64) -> f64 {
    let levels = &grid.positions[p].levels;
    let top = levels.level(levels.len() - 1);
    match ends(grid, p).0 {
        true => top,
        false => top.min(inlet - cx.job().rules.manhole_drop_m),
    }
}

/// How high the outlet of a position may be for the branches that join there, each with the highest inlet that it can have.
pub fn outlets_below(
    cx: &Context,
    grid: &Grid,
    branches: impl Iterator<Item = (usize, f64)>,
) -> BTreeMap<usize, f64> {
    let mut outlets = BTreeMap::new();
    for (branch, inlet) in branches {
        if let Some(p) = grid.junction(branch) {
            let drop_m = if ends(grid, p).1 {
                0.0
            } else {
                cx.job().rules.manhole_drop_m
            };
            let outlet = outlets.entry(p).or_insert(f64::INFINITY);
            *outlet = outlet.min(inlet - drop_m);
        }
    }
    outlets
}

/// The highest inlet of a run with its outlet no higher than `outlet`.
pub fn highest_inlet(cx: &Context, run: &Run, outlet: f64) -> f64 {
    let profile = run
        .profile
        .as_ref()
        .filter(|_| run.least_multi().is_infinite());
    let corners = profile.into_iter().flat_map(|p| p.corners());
    let under = corners.map(|(along_m, z)| (along_m / run.length_m, f64::INFINITY, z));
    let bands = run.bands.iter().filter(|b| b.grade.is_infinite());
    let bands = bands.map(|b| (b.share, b.high, b.low));
    let limits = under.chain(bands).collect();
    highest_end(outlet, run.falls_m(cx)[0], limits)
}

/// The highest end of lines from `start` or lower that fall by `fall_m` or more. Limits are (share of the way, two levels): a line
/// that is below the first there is below the second.
fn highest_end(start: f64, fall_m: f64, mut limits: Vec<(f64, f64, f64)>) -> f64 {
    // The highest first, as a line that comes below it may come into the next.
    limits.sort_by(|a, b| a.0.total_cmp(&b.0).then(b.1.total_cmp(&a.1)));
    let (mut at, mut highest) = (0.0, start);
    for (share, first, second) in limits {
        highest -= fall_m * (share - at);
        at = share;
        if highest < first - HAIR_M {
            highest = highest.min(second + HAIR_M);
        }
    }
    highest - fall_m * (1.0 - at)
}

/// Only what is certain counts (m).
const HAIR_M: f64 = 2.0 * LENGTH_TOLERANCE_M;

#[cfg(test)]
mod tests {
    use super::*;

    /// Highest end of all lines between levels a hundredth apart.
    fn looked_for(start: f64, fall_m: f64, limits: &[(f64, f64, f64)]) -> f64 {
        let levels = |to: f64| (0..).map(move |i| to - f64::from(i) / 100.0).take(1200);
        let keeps = |z0: f64, z1: f64| {
            limits.iter().all(|(share, first, second)| {
                let z = z0 + (z1 - z0) * share;
                z >= *first || z <= *second
            })
        };
        let best = |z0: f64| levels(z0 - fall_m).find(|z1| keeps(z0, *z1));
        levels(start)
            .filter_map(best)
            .fold(f64::NEG_INFINITY, f64::max)
    }

    #[test]
    fn no_line_ends_higher_and_one_nearly_as_high() {
        let inf = f64::INFINITY;
        let sites: [&[(f64, f64, f64)]; 7] = [
            &[],
            &[(0.5, 9.9, 9.0)],
            &[(0.5, 9.0, 8.0)],
            // above the first, below the second
            &[(0.2, 9.5, 9.2), (0.8, 10.0, 8.9)],
            &[(0.0, inf, 9.7), (0.4, inf, 9.1), (1.0, inf, 9.6)],
            &[(0.6, 9.6, 9.3), (0.6, 9.4, 9.0), (0.6, 11.0, 9.5)],
            &[(0.9, 10.5, 9.0), (0.1, 10.5, 9.8), (0.5, inf, 9.95)],
        ];
        for limits in sites {
            for fall_m in [0.05, 0.4] {
                let highest = highest_end(10.0, fall_m, limits.to_vec());
                let found = looked_for(10.0, fall_m, limits);
                assert!(highest >= found - 1e-9, "{limits:?}: {highest} {found}");
                assert!(highest <= found + 0.05, "{limits:?}: {highest} {found}");
            }
        }
    }
}
