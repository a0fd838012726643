//! A lower bound of the cost still to come from every (position, level).
//!
//! Rules are left out (what is beside the line, strikes, buildings, the cover of runs with through pits, the depth of
//! through pits), never added, so no plan is cheaper than the bound. Clashes that are certain are kept: they are what
//! makes a sewer dive under a main, and without them the bound would be far too low.

use super::{
    course::Band,
    grid::{Grid, LevelGrid},
    runs::{LeastPit, Run, Runs, ends, manhole_price},
};
use crate::{clearance::LENGTH_TOLERANCE_M, plan::context::Context};
use std::ops::Range;

/// A grade rule is broken only by more than this.
pub const GRADE_TOLERANCE: f64 = 1e-9;

/// Least further cost by position.
pub struct Relaxed {
    /// From the inlet of a position: by (last drive launched there), by inlet level. Its pit is included.
    pub inlet: Vec<[Ranges; 2]>,
    /// From the outlet of a position, its pit excluded: by (next drive launched there), by outlet level.
    pub outlet: Vec<[Vec<f64>; 2]>,
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

/// Works out the bound from the downstream end up. `beyond` is the least cost of the rest of the system by inlet level at
/// the downstream end of a branch.
pub fn relax(cx: &Context, grid: &Grid, runs: &Runs, bound: f64, beyond: &[f64]) -> Relaxed {
    let n = grid.positions.len();
    let mut relaxed = Relaxed {
        inlet: vec![],
        outlet: vec![],
        least: vec![],
    };
    for p in 0..n {
        let outlet = relaxed.outlet(cx, grid, runs, bound, p);
        let inlet = [0, 1].map(|l| {
            if cx.joined && ends(grid, p).1 {
                Ranges::new(beyond.to_vec())
            } else {
                Ranges::new(inlet(cx, grid, runs, &outlet, p, l))
            }
        });
        relaxed.outlet.push(outlet);
        relaxed.least.push(
            inlet
                .iter()
                .map(Ranges::least_of_all)
                .fold(f64::INFINITY, f64::min),
        );
        relaxed.inlet.push(inlet);
    }
    relaxed
}

impl Relaxed {
    /// No plan is cheaper; +inf where leaving rules out still gives none.
    pub fn least_plan(&self, cx: &Context, grid: &Grid, runs: &Runs) -> f64 {
        let heads = (0..grid.positions.len()).filter(|p| ends(grid, *p).0);
        let from = |p: usize| {
            let levels = &grid.positions[p].levels;
            let at = move |z: usize| {
                let rest = self.outlet[p][0][z].min(self.outlet[p][1][z]);
                if rest.is_finite() {
                    rest + runs.joining_at(p, z)
                        + least_pit_at(cx, grid, &runs.pits[p], p, levels.level(z))
                } else {
                    rest
                }
            };
            (0..levels.len()).map(at).fold(f64::INFINITY, f64::min)
        };
        heads.map(from).fold(f64::INFINITY, f64::min)
    }

    /// Least cost of the rest of the system for the branch (its place in the system) that joins at position `p`, by its inlet
    /// level there.
    pub fn beyond(
        &self,
        cx: &Context,
        grid: &Grid,
        runs: &Runs,
        p: usize,
        (branch, inlets): (usize, &LevelGrid),
    ) -> Vec<f64> {
        let levels = &grid.positions[p].levels;
        let is_outfall = ends(grid, p).1;
        let others = |z: usize| {
            let joining = runs.joining.get(&p).into_iter().flatten();
            let others = joining.filter(|(b, _)| *b != branch);
            others.map(|(_, by_level)| by_level[z]).sum::<f64>()
        };
        let at = |z: usize| {
            let below = if is_outfall {
                0.0
            } else {
                self.outlet[p][0][z].min(self.outlet[p][1][z])
            };
            below + others(z) + least_pit_at(cx, grid, &runs.pits[p], p, levels.level(z))
        };
        let by_level = Ranges::new((0..levels.len()).map(at).collect());
        let rest = |i: usize| {
            let z = inlets.level(i);
            let range = if is_outfall {
                outfall_levels(cx, levels, z)
            } else {
                outlets(cx, levels, z)
            };
            runs.above[p] + by_level.least(range)
        };
        (0..inlets.len()).map(rest).collect()
    }

    fn outlet(
        &self,
        cx: &Context,
        grid: &Grid,
        runs: &Runs,
        bound: f64,
        p: usize,
    ) -> [Vec<f64>; 2] {
        let levels = &grid.positions[p].levels;
        let onward = |r: &usize| {
            let run = &runs.runs[*r];
            let least = run.least();
            let total = least + self.least[run.ds];
            Onward { run, least, total }
        };
        let mut from: Vec<Onward> = runs.from[p].iter().map(onward).collect();
        from.sort_by(|a, b| a.total.total_cmp(&b.total));
        let at = |z: usize| self.outlet_at(cx, grid, (runs, &from), bound, (p, z));
        let both: Vec<[f64; 2]> = (0..levels.len()).map(at).collect();
        [0, 1].map(|launched| both.iter().map(|b| b[launched]).collect())
    }

    /// Least further cost from an outlet level, by (next drive launched here).
    fn outlet_at(
        &self,
        cx: &Context,
        grid: &Grid,
        (runs, from): (&Runs, &[Onward]),
        bound: f64,
        (p, z): (usize, usize),
    ) -> [f64; 2] {
        let mut out = [f64::INFINITY; 2];
        let level = grid.positions[p].levels.level(z);
        let here =
            runs.above[p] + runs.joining_at(p, z) + least_pit_at(cx, grid, &runs.pits[p], p, level);
        if here > bound {
            return out;
        }
        for &Onward { run, least, total } in from {
            if total >= out[0].max(out[1]) {
                break; // nor does any run after it lower either
            }
            let left = bound - here - self.least[run.ds];
            if least <= left {
                let [from_us, from_ds] = self.through(cx, grid, run, level, left);
                out = [out[0].min(from_ds), out[1].min(from_us)];
            }
        }
        out
    }

    /// Least further cost through one run from outlet level `z`, by who launches its first drive: upstream, downstream.
    /// Ways that cost more than `left` along the run alone are of no use.
    fn through(&self, cx: &Context, grid: &Grid, run: &Run, z: f64, left: f64) -> [f64; 2] {
        let levels = &grid.positions[run.ds].levels;
        let mut out = [f64::INFINITY; 2];
        ways(cx, run, levels, z, left, |way| {
            let rest = [0, 1].map(|l| self.inlet[run.ds][l].least(way.range.clone()));
            let with = if way.one_drive {
                [run.single[0] + rest[0], run.single[1] + rest[1]]
            } else {
                let with =
                    |first: &[f64; 2]| (first[0] + rest[0]).min(first[1] + rest[1]) + way.deeper;
                [with(&run.multi[1]), with(&run.multi[0])]
            };
            out = [out[0].min(with[0]), out[1].min(with[1])];
        });
        out
    }
}

/// Ways along a run from one outlet level.
pub struct Ways {
    /// As one drive, else with through pits.
    pub one_drive: bool,
    /// Inlet levels.
    pub range: Range<usize>,
    /// What the levels add to the least cost of driving the run so.
    pub deeper: f64,
}

/// Tells `hear` of the ways along one run from outlet level `z`. Ways that cost more than `spare` along the run alone are left
/// out.
pub fn ways(
    cx: &Context,
    run: &Run,
    levels: &LevelGrid,
    z: f64,
    spare: f64,
    mut hear: impl FnMut(Ways),
) {
    let closed = closed(run, levels, z);
    let ranges = |one_drive| open(allowed(cx, run, levels, z, one_drive), &closed);
    if run.profile.is_some() && run.single[0].min(run.single[1]) <= spare {
        for range in ranges(true) {
            hear(Ways {
                one_drive: true,
                range,
                deeper: 0.0,
            });
        }
    }
    if run.least_multi() <= spare {
        for range in parts(ranges(false)) {
            hear(Ways {
                one_drive: false,
                // The highest inlet of the part gives the highest line, which deepens through pits the least.
                deeper: run.deeper_by(z, levels.level(range.end - 1)),
                range,
            });
        }
    }
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
    let clashes = |(share, band): &(f64, Band)| {
        let z = z0 + (z1 - z0) * share;
        z > band.low + hair && z < band.high - hair
    };
    (!one_drive || covered()) && !run.bands.iter().any(clashes)
}

/// Inlet levels by grade, and by cover as one drive.
fn allowed(cx: &Context, run: &Run, levels: &LevelGrid, z: f64, one_drive: bool) -> Range<usize> {
    let by_grade = |g: f64| z - g * run.length_m;
    let (low, mut high) = (
        by_grade(cx.grade[1] + GRADE_TOLERANCE),
        by_grade(cx.grade[0] - GRADE_TOLERANCE),
    );
    if one_drive && let Some(profile) = &run.profile {
        high = high.min(profile.highest_end(z, run.length_m));
    }
    levels.range(low, high)
}

/// Inlet levels certain to clash, by rising start.
fn closed(run: &Run, levels: &LevelGrid, z: f64) -> Vec<Range<usize>> {
    let by = run.bands.iter().filter_map(|b| closed_by(b, levels, z));
    let mut closed: Vec<Range<usize>> = by.collect();
    closed.sort_by_key(|r| r.start);
    closed
}

/// What `closed` leaves of `whole`.
fn open(whole: Range<usize>, closed: &[Range<usize>]) -> impl Iterator<Item = Range<usize>> + '_ {
    let (mut from, last) = (whole.start, whole.end);
    let ends = closed.iter().map(move |c| (c.start.min(last), c.end));
    ends.chain(std::iter::once((last, last)))
        .filter_map(move |(start, end)| {
            let gap = from..start;
            from = from.max(end);
            (gap.start < gap.end).then_some(gap)
        })
}

/// Ranges cut into parts of a few levels.
fn parts(ranges: impl Iterator<Item = Range<usize>>) -> impl Iterator<Item = Range<usize>> {
    const LEVELS: usize = 8;
    ranges.flat_map(|r| {
        let last = r.end;
        r.step_by(LEVELS).map(move |i| i..(i + LEVELS).min(last))
    })
}

/// Inlet levels at which the line from outlet level `z` is inside a band.
fn closed_by((share, band): &(f64, Band), levels: &LevelGrid, z: f64) -> Option<Range<usize>> {
    let inside = |level: f64| level > band.low && level < band.high;
    if *share < 1e-9 {
        return inside(z).then(|| 0..levels.len());
    }
    let at_end = |level: f64| z + (level - z) / share;
    // a hair inside, so that only what is certain is closed
    let hair = 2.0 * LENGTH_TOLERANCE_M;
    let r = levels.range(at_end(band.low) + hair, at_end(band.high) - hair);
    (r.start < r.end).then_some(r)
}

fn inlet(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    outlet: &[Vec<f64>; 2],
    p: usize,
    l: usize,
) -> Vec<f64> {
    let levels = &grid.positions[p].levels;
    let n = levels.len();
    let (is_head, is_outfall) = ends(grid, p);
    if is_head {
        return vec![f64::INFINITY; n];
    }
    let pit = |ld: usize, i: usize| {
        let (price, z) = (runs.pits[p][l][ld]?, levels.level(i));
        Some(price.at(z)?.0 + manhole_price(cx, grid, p, z) + runs.joining_at(p, i))
    };
    if is_outfall {
        return (0..n).map(|i| pit(0, i).unwrap_or(f64::INFINITY)).collect();
    }
    let from_outlet = |i: usize| {
        let with = |ld: usize| match outlet[ld][i] {
            rest if rest.is_finite() => pit(ld, i).map_or(f64::INFINITY, |c| c + rest),
            rest => rest,
        };
        with(0).min(with(1))
    };
    let by_outlet = Ranges::new((0..n).map(from_outlet).collect());
    (0..n)
        .map(|i| by_outlet.least(outlets(cx, levels, levels.level(i))))
        .collect()
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

/// Least pit and manhole at a level, however its drives are launched.
pub fn least_pit_at(cx: &Context, grid: &Grid, pits: &LeastPit, p: usize, z: f64) -> f64 {
    let prices = pits.iter().flatten().flatten();
    let pit = prices
        .filter_map(|v| v.at(z))
        .map(|c| c.0)
        .fold(f64::INFINITY, f64::min);
    pit + manhole_price(cx, grid, p, z)
}

/// Numbers with the least of any range at hand (a sparse table).
#[derive(Debug, Default)]
pub struct Ranges {
    rows: Vec<Vec<f64>>,
}

impl Ranges {
    fn new(values: Vec<f64>) -> Ranges {
        let n = values.len();
        let mut rows = vec![values];
        let mut span = 1;
        while 2 * span <= n {
            let last = &rows[rows.len() - 1];
            rows.push(
                (0..=n - 2 * span)
                    .map(|i| last[i].min(last[i + span]))
                    .collect(),
            );
            span *= 2;
        }
        Ranges { rows }
    }

    /// Least of a range; +inf of an empty one.
    pub fn least(&self, r: Range<usize>) -> f64 {
        if r.start >= r.end {
            return f64::INFINITY;
        }
        let k = (r.end - r.start).ilog2() as usize;
        self.rows[k][r.start].min(self.rows[k][r.end - (1 << k)])
    }

    /// Least of all.
    pub fn least_of_all(&self) -> f64 {
        self.rows[0].iter().copied().fold(f64::INFINITY, f64::min)
    }

    /// The value at `i`.
    pub fn at(&self, i: usize) -> f64 {
        self.rows[0][i]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn least_of_every_range() {
        let v = [5.0, 3.0, 4.0, 1.0, 2.0, 6.0, 0.5];
        let r = Ranges::new(v.to_vec());
        for i in 0..v.len() {
            for j in i + 1..=v.len() {
                assert_eq!(
                    r.least(i..j),
                    v[i..j].iter().copied().fold(f64::INFINITY, f64::min)
                );
            }
        }
        assert_eq!(r.least(3..3), f64::INFINITY);
    }
}
