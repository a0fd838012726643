//! A lower bound of the cost still to come from every (position, level).
//!
//! Rules are left out (what is beside the line, strikes, buildings, the cover of runs with through pits, the depth of
//! through pits), never added, so no plan is cheaper than the bound. Clashes that are certain are kept: they are what
//! makes a sewer dive under a main, and without them the bound would be far too low.

use super::{
    bands::Met,
    closed::End,
    grid::{Grid, LevelGrid},
    look::{Look, Ways, ways},
    pit_levels::PitLevels,
    ranges::{Ranges, least_of_each},
    runs::{Run, Runs, ends},
    squeeze::least_by_level,
    sweep::{Costs, Scratch, Sweep, Swept},
};
use crate::{clearance::LENGTH_TOLERANCE_M, plan::context::Context};
use std::{cell::Cell, ops::Range};

/// A grade rule is broken only by more than this.
pub const GRADE_TOLERANCE: f64 = 1e-9;

/// Least further cost by position.
#[derive(Default)]
pub struct Relaxed {
    /// From the inlet of a position, its pit included: by (last drive launched there), by class of its direction, by inlet
    /// level. One class where the direction makes no difference.
    inlet: Vec<[Vec<Ranges>; 2]>,
    /// From the outlet of a position, its pit excluded: by class of the next drive's direction, by (it is launched there), by
    /// outlet level.
    outlet: Vec<Vec<[Vec<f64>; 2]>>,
    /// From the inlet of a position, at any level.
    pub least: Vec<f64>,
}

/// A run from a position.
struct Onward<'r> {
    run: &'r Run,
    /// Least cost of the run.
    least: f64,
    /// Least cost of the run and all that lies downstream: at no level is there less.
    total: f64,
}

/// Works out the bound from the downstream end up. `beyond` is the least cost of the rest of the system at the downstream
/// end of a branch by (last drive launched there), then by inlet level, one after the other.
pub fn relax(cx: &Context, grid: &Grid, runs: &Runs, bound: f64, beyond: &[f64]) -> Relaxed {
    let n = grid.positions.len();
    let mut relaxed = Relaxed::default();
    for p in 0..n {
        if runs.is_bare(grid, p) {
            relaxed.push_nothing();
            continue;
        }
        let outlet = relaxed.outlet_bounds(cx, grid, runs, bound, p);
        let inlet = if cx.joined && ends(grid, p).1 {
            Relaxed::inlet_of_branch(beyond)
        } else {
            inlet(cx, grid, runs, &outlet, p)
        };
        relaxed.push(outlet, inlet);
    }
    relaxed
}

/// Least cost of all that lies upstream of a position and of its pit, by outlet level.
fn so_far(cx: &Context, grid: &Grid, runs: &Runs, p: usize) -> Vec<f64> {
    let levels = &grid.positions[p].levels;
    if let Some(left) = runs.left.get(p) {
        return left.clone();
    }
    let pit = PitLevels::new(cx, grid, runs, p).least();
    let joining = runs.joining_by_level(p, levels.len());
    let each = pit.iter().zip(&joining);
    each.map(|(pit, joining)| runs.above[p] + pit + joining)
        .collect()
}

/// Of some runs those that plans for `bound` may have, as far as it is seen with all levels of a run together: clashes and strikes
/// along it are left out. (`squeeze` leaves out more, and takes longer.)
pub fn hopeful(cx: &Context, grid: &Grid, runs: Runs, relaxed: &Relaxed, bound: f64) -> Runs {
    let mut sweep = Sweep::default();
    let mut keep = vec![false; runs.runs.len()];
    for p in (0..grid.positions.len()).filter(|p| !runs.is_bare(grid, *p)) {
        let so_far = so_far(cx, grid, &runs, p);
        let least = so_far.iter().copied().fold(f64::INFINITY, f64::min);
        for &r in &runs.from[p] {
            let run = &runs.runs[r];
            if least + run.least() + relaxed.least[run.ds] <= bound {
                keep[r] = match relaxed.sweep(cx, grid, run, [run.us, run.ds], &mut sweep) {
                    Some(_) => sweep.least_with(&so_far) <= bound,
                    None => true,
                };
            }
        }
    }
    let mut runs = runs;
    runs.keep(&keep, grid);
    runs
}

impl Relaxed {
    /// Takes the next position, of no plan.
    pub fn push_nothing(&mut self) {
        self.outlet.push(vec![]);
        self.inlet.push([vec![], vec![]]);
        self.least.push(f64::INFINITY);
    }

    /// Takes the next position.
    pub fn push(&mut self, outlet: Vec<[Vec<f64>; 2]>, inlet: [Vec<Ranges>; 2]) {
        let least = inlet.iter().flatten().map(Ranges::least_of_all);
        self.least.push(least.fold(f64::INFINITY, f64::min));
        self.outlet.push(outlet);
        self.inlet.push(inlet);
    }

    /// Of the downstream end of a branch, with what lies beyond it.
    pub fn inlet_of_branch(beyond: &[f64]) -> [Vec<Ranges>; 2] {
        let half = beyond.len() / 2;
        [&beyond[..half], &beyond[half..]].map(|b| vec![Ranges::new(b)])
    }

    /// Sweeps a run between two positions and all beyond it, seen from its upstream end; none where its levels are not of one kind.
    pub fn sweep<'r>(
        &'r self,
        cx: &Context,
        grid: &Grid,
        run: &Run,
        [us, ds]: [usize; 2],
        sweep: &mut Sweep,
    ) -> Option<Swept<'r>> {
        let [levels, below] = [us, ds].map(|p| &grid.positions[p].levels);
        let [least, most] = run.falls_m(cx);
        let swept = Swept {
            cost: run.by_sides(),
            beyond: [0, 1].map(|l| self.inlet(ds, l, run.classes[1])),
            window: levels.window(below, [-most, -least])?,
        };
        sweep.fill(levels, &swept);
        Some(swept)
    }

    /// Least further cost from the inlet of a position by inlet level: with the last drive launched there or not, in a
    /// direction of this class.
    pub fn inlet(&self, p: usize, launched: usize, class: usize) -> &Ranges {
        let by_class = &self.inlet[p][launched];
        &by_class[class.min(by_class.len() - 1)]
    }

    /// Least further cost from an outlet level of a position, its pit excluded, with the next drive in a direction of this
    /// class and launched there or not.
    pub fn outlet(&self, p: usize, class: usize, launched: usize, z: usize) -> f64 {
        self.outlet[p][class][launched][z]
    }

    /// The same by outlet level, however the next drive leaves.
    pub fn least_outlets(&self, p: usize) -> Vec<f64> {
        least_by_level(self.outlet[p].iter().flatten())
    }

    /// No plan is cheaper; +inf where leaving rules out still gives none.
    pub fn least_plan(&self, cx: &Context, grid: &Grid, runs: &Runs) -> f64 {
        let heads = (0..grid.positions.len()).filter(|p| ends(grid, *p).0);
        let from = |p: usize| {
            let least = PitLevels::new(cx, grid, runs, p).onward(&self.outlet[p], (0, 0));
            least.into_iter().fold(f64::INFINITY, f64::min)
        };
        let heads = heads.filter(|p| !runs.is_bare(grid, *p));
        heads.map(from).fold(f64::INFINITY, f64::min)
    }

    /// Least cost of the rest of the system for the branch (its place in the system) that joins at position `p`, by (its last
    /// drive launched there), then by its inlet level there, one after the other.
    pub fn beyond(
        &self,
        cx: &Context,
        grid: &Grid,
        runs: &Runs,
        p: usize,
        (branch, inlets): (usize, &LevelGrid),
    ) -> Vec<f64> {
        let levels = &grid.positions[p].levels;
        if runs.is_bare(grid, p) {
            return vec![f64::INFINITY; 2 * inlets.len()];
        }
        let is_outfall = ends(grid, p).1;
        let others = |z: usize| {
            let joining = runs.joining.get(&p).into_iter().flatten();
            let others = joining.filter(|(b, _)| *b != branch);
            others.map(|(_, b)| b[0][z].min(b[1][z])).sum::<f64>()
        };
        let left = runs.left_alone.get(&p).filter(|_| !is_outfall);
        let pit = match left {
            Some(_) => vec![],
            None => PitLevels::new(cx, grid, runs, p).least(),
        };
        let so_far = |launched: usize, z: usize| match left {
            Some(left) => left[launched][z],
            None => runs.above[p] + pit[z],
        };
        let below = match is_outfall {
            true => vec![0.0; levels.len()],
            false => self.least_outlets(p),
        };
        let at = |launched: usize, z: usize| so_far(launched, z) + below[z] + others(z);
        let by_level = [0, 1].map(|launched| {
            let each = (0..levels.len()).map(|z| at(launched, z));
            Ranges::new(&each.collect::<Vec<_>>())
        });
        let rest = |i: usize| {
            let (launched, i) = (i / inlets.len(), i % inlets.len());
            let z = inlets.level(i);
            let range = if is_outfall {
                outfall_levels(cx, levels, z)
            } else {
                outlets(cx, levels, z)
            };
            by_level[launched].least(range)
        };
        (0..2 * inlets.len()).map(rest).collect()
    }

    fn outlet_bounds(
        &self,
        cx: &Context,
        grid: &Grid,
        runs: &Runs,
        bound: f64,
        p: usize,
    ) -> Vec<[Vec<f64>; 2]> {
        let levels = &grid.positions[p].levels;
        let onward = |r: &usize| {
            let run = &runs.runs[*r];
            let least = run.least();
            let total = least + self.least[run.ds];
            Onward { run, least, total }
        };
        let mut from: Vec<Onward> = runs.from[p].iter().map(onward).collect();
        from.sort_by(|a, b| a.total.total_cmp(&b.total));
        // What costs more than is left is of no use.
        let so_far = so_far(cx, grid, runs, p);
        let left: Vec<f64> = so_far.iter().map(|so_far| bound - so_far).collect();
        let mut scratch = Scratch::default();
        let mut of_class = |class: usize| {
            let mut out = Costs::new([left.clone(), left.clone()]);
            for o in from.iter().filter(|o| o.run.classes[0] == class) {
                if o.total >= out.greatest() {
                    break; // nor does any run after it lower anything
                }
                self.lower(cx, grid, o, (levels, &left), (&mut out, &mut scratch));
            }
            out.into_least()
        };
        (0..runs.pits[p].classes()[0]).map(&mut of_class).collect()
    }

    /// Lowers the least further costs from all outlet levels of a position, by (next drive launched here), to those through one run.
    fn lower(
        &self,
        cx: &Context,
        grid: &Grid,
        &Onward { run, least, .. }: &Onward,
        (levels, left): (&LevelGrid, &[f64]),
        (out, scratch): (&mut Costs, &mut Scratch),
    ) {
        let below = &grid.positions[run.ds].levels;
        let swept = self.sweep(cx, grid, run, [run.us, run.ds], &mut scratch.sweep);
        let mut plain = 0;
        if let Some(swept) = swept.as_ref().filter(|_| run.is_of_one_price()) {
            plain = plain_outlets(cx, run, levels);
            let Scratch { sweep, closed, .. } = &mut *scratch;
            closed.take(run, End::Upstream, levels, below);
            out.lower(plain, sweep, swept, closed);
        }
        for z in plain..levels.len() {
            if swept.is_some() && !out.is_lowered_by(&scratch.sweep, z) {
                continue;
            }
            let left = left[z] - self.least[run.ds];
            if least <= left {
                let mut both = out.at(z);
                self.through(
                    cx,
                    grid,
                    (run, run.ds),
                    (levels.level(z), left, &mut scratch.look),
                    &mut both,
                );
                out.set(z, both);
            }
        }
    }

    /// Lowers the least further cost to that through one run from outlet level `z` down to a position, by (its first drive launched
    /// upstream). Ways that cost more than `left` along the run alone are of no use.
    pub fn through(
        &self,
        cx: &Context,
        grid: &Grid,
        (run, ds): (&Run, usize),
        (z, left, look): (f64, f64, &mut Look),
        out: &mut [f64; 2],
    ) {
        let levels = &grid.positions[ds].levels;
        let inlet = [0, 1].map(|l| self.inlet(ds, l, run.classes[1]));
        let whole = |way: &Ways| {
            let rest = inlet.map(|of| of.least(way.range.clone()));
            way.cost.map(|c| (c[0] + rest[0]).min(c[1] + rest[1]))
        };
        let best = Cell::new(*out);
        let lowers = |way: &Ways| {
            let (whole, best) = (whole(way), best.get());
            whole[0] < best[0] || whole[1] < best[1]
        };
        ways(cx, run, levels, (z, left, look), lowers, |way| {
            let (whole, before) = (whole(&way), best.get());
            best.set([0, 1].map(|launched: usize| before[launched].min(whole[launched])));
        });
        *out = best.get();
    }
}

/// So many outlet levels, from the lowest up, keep their cover along a run whatever its grade.
pub fn plain_outlets(cx: &Context, run: &Run, levels: &LevelGrid) -> usize {
    let highest = run.highest_outlet_in_cover(cx.grade[0] - GRADE_TOLERANCE);
    levels.range(f64::NEG_INFINITY, highest).end
}

/// A run with these inverts keeps its cover (as one drive) and is not certain to clash.
pub fn passes(run: &Run, [z0, z1]: [f64; 2], one_drive: bool) -> bool {
    let covered = || {
        let least = run
            .profile
            .as_ref()
            .map(|p| p.least_above(z0, z1, run.length_m));
        least.is_some_and(|m| m >= -LENGTH_TOLERANCE_M)
    };
    // a hair inside, so that only what is certain is ruled out
    let hair = 2.0 * LENGTH_TOLERANCE_M;
    let clashes = |band: Met| {
        let z = z0 + (z1 - z0) * band.share;
        let holds = z0 - z1 <= band.grade * run.length_m + hair;
        holds && z > band.low + hair && z < band.high - hair
    };
    (!one_drive || covered()) && !run.bands.iter().any(clashes)
}

/// Least further cost from the inlet of a position, its pit included: by (last drive launched there), by class of its
/// direction, by inlet level.
pub fn inlet(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    outlet: &[[Vec<f64>; 2]],
    p: usize,
) -> [Vec<Ranges>; 2] {
    let levels = &grid.positions[p].levels;
    let n = levels.len();
    let (is_head, is_outfall) = ends(grid, p);
    let ups = runs.pits[p].classes()[1];
    let below = |i: usize| match is_outfall {
        true => i..i + 1,
        false => outlets(cx, levels, levels.level(i)),
    };
    let below: Vec<Range<usize>> = match is_head {
        true => vec![],
        false => (0..n).map(below).collect(),
    };
    let by_level = PitLevels::new(cx, grid, runs, p);
    [0, 1].map(|l| {
        if is_head {
            return vec![Ranges::new(&vec![f64::INFINITY; n])];
        }
        // A drive that is received turns the pit only where no other does.
        let classes = if l == 0 && !is_outfall { 1 } else { ups };
        let of_class =
            |up: usize| Ranges::new(&least_of_each(by_level.onward(outlet, (l, up)), &below));
        (0..classes).map(of_class).collect()
    })
}

/// Outlet levels that a manhole may have below an inlet at `z`.
pub fn outlets(cx: &Context, levels: &LevelGrid, z: f64) -> Range<usize> {
    let rules = &cx.job().rules;
    let low = rules
        .manhole_drop_max_m
        .map_or(f64::NEG_INFINITY, |d| z - d);
    levels.range(low.max(-1e9), z - rules.manhole_drop_m)
}

/// Levels that the system's outfall may have below a branch's inlet at `z`.
pub fn outfall_levels(cx: &Context, levels: &LevelGrid, z: f64) -> Range<usize> {
    let deepest = cx.job().rules.manhole_drop_max_m.map_or(-1e9, |d| z - d);
    levels.range(deepest, z)
}
