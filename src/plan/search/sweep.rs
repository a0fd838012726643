//! What one run costs at least with what lies beyond it, for all levels of one of its ends together.
//!
//! Where neither a clash nor a strike, the cover or a through pit's depth tells the levels of a run apart, all that counts is its
//! grade: the levels of the other end are a window that moves with the level of this one. Elsewhere this is less than what the run
//! costs, and tells where it is worth a closer look.

use super::{
    closed::{Closed, End},
    grid::LevelGrid,
    least_through::BySides,
    look::Look,
    ranges::{Ranges, least_sum},
    runs::Run,
};
use std::ops::Range;

/// A run as it is swept.
pub struct Swept<'r> {
    /// Its least cost by (launched at this end), (launched at the other).
    pub cost: BySides,
    /// What lies beyond the other end, by (launched there).
    pub beyond: [&'r Ranges; 2],
    /// Levels of the other end that the grade allows: what their first and last index is more than that of this end.
    pub window: [i64; 2],
}

impl Swept<'_> {
    /// First and last level of the other end in the window of a level of this end.
    fn in_window(&self, z: usize) -> [i64; 2] {
        let last = self.beyond[0].len() as i64 - 1;
        let [from, to] = self.window.map(|by| z as i64 + by);
        [from.max(0), to.min(last)]
    }

    /// Tells of the levels of the other end that are in the window of a level of this end and not closed, range by range.
    pub fn each_open(&self, closed: &mut Closed, z: usize, mut hear: impl FnMut(Range<usize>)) {
        let [first, last] = self.in_window(z);
        let mut tell = |from: i64, to: i64| {
            if from < to {
                hear(from as usize..to as usize);
            }
        };
        let mut from = first;
        for [start, end] in closed.at(z, [first, last]) {
            tell(from, *start);
            from = from.max(*end);
        }
        tell(from, last + 1);
    }

    /// Nothing is closed of the window of a level of this end.
    pub fn is_open(&self, closed: &mut Closed, z: usize) -> bool {
        closed.is_empty() || closed.at(z, self.in_window(z)).is_empty()
    }

    /// Least cost from a level of this end to all in the window that are not closed.
    fn outside(&self, closed: &mut Closed, z: usize) -> [f64; 2] {
        let mut beyond = [f64::INFINITY; 2];
        self.each_open(closed, z, |range| self.lower(&mut beyond, &range));
        self.with(beyond)
    }

    /// Lowers what lies beyond, by (launched there), to the least of a range of levels.
    fn lower(&self, beyond: &mut [f64; 2], range: &Range<usize>) {
        for (least, of) in beyond.iter_mut().zip(self.beyond) {
            *least = least.min(of.least(range.clone()));
        }
    }

    /// Least cost with what lies beyond, by (launched at this end).
    fn with(&self, beyond: [f64; 2]) -> [f64; 2] {
        self.cost.map(|c| (c[0] + beyond[0]).min(c[1] + beyond[1]))
    }
}

/// What was paid before a run, by levels of this end from which it may go to any level of the other in their windows.
#[derive(Debug, Default)]
pub struct Together {
    first: usize,
    /// By (launched at this end), by level from the first on; +inf of those between that are none of them.
    so_far: [Vec<f64>; 2],
}

impl Together {
    /// Forgets all.
    pub fn clear(&mut self) {
        self.so_far.iter_mut().for_each(Vec::clear);
    }

    /// Takes a level higher than all before it.
    pub fn push(&mut self, z: usize, so_far: [f64; 2]) {
        if self.so_far[0].is_empty() {
            self.first = z;
        }
        for (all, so_far) in self.so_far.iter_mut().zip(so_far) {
            all.resize(z - self.first, f64::INFINITY);
            all.push(so_far);
        }
    }

    /// The least of them by level of the other end, the run left out.
    pub fn moved<'s, 'r>(&self, of: &'s Swept<'r>) -> Moved<'s, 'r> {
        let [from, to] = of.window;
        let (first, end) = (
            self.first as i64 + from,
            (self.first + self.so_far[0].len()) as i64 + to,
        );
        let there = of.beyond[0].len() as i64;
        let first = first.clamp(0, there);
        let levels = (end.min(there) - first).max(0) as usize;
        let back = first - self.first as i64;
        let moved = |so_far: &Vec<f64>| {
            let mut out = vec![f64::INFINITY; levels];
            if levels > 0 && so_far.iter().any(|c| c.is_finite()) {
                Ranges::new(so_far).moving([back - to, back - from], &mut out);
            }
            out
        };
        let arrived = match self.so_far[0].is_empty() {
            true => [vec![], vec![]],
            false => self.so_far.each_ref().map(moved),
        };
        let first = first as usize;
        Moved { of, first, arrived }
    }
}

/// Costs moved along a run of one price.
pub struct Moved<'s, 'r> {
    of: &'s Swept<'r>,
    /// First level of the other end that is told of.
    pub first: usize,
    /// By (launched at this end), by level of the other from the first on.
    arrived: [Vec<f64>; 2],
}

impl Moved<'_, '_> {
    /// It tells of no level.
    pub fn is_empty(&self) -> bool {
        self.arrived[0].is_empty()
    }

    /// What lies beyond the levels that are told of, launched there or not, from the first on where anything does; and how many come
    /// before that.
    fn beyond(&self, l: usize) -> (usize, &[f64]) {
        let levels = self.first..self.first + self.arrived[0].len();
        self.of.beyond[l].part(levels)
    }

    /// The least of what was paid before the run and what lies beyond it, by (launched at this end), (launched at the other).
    pub fn least_plans(&self) -> BySides {
        let beyond = [0, 1].map(|l| self.beyond(l));
        let least = |f: usize, (before, beyond): (usize, &[f64])| {
            least_sum(&self.arrived[f][before..], beyond)
        };
        [0, 1].map(|f: usize| beyond.map(|beyond| least(f, beyond)))
    }

    /// What was paid before the run and it costs, the drive at the other end launched there or not (`l`); +inf where that and what lies
    /// beyond cost more than `bound`.
    pub fn within(&self, l: usize, bound: f64) -> Vec<f64> {
        let cost = [0, 1].map(|f: usize| self.of.cost[f][l]);
        let (before, beyond) = self.beyond(l);
        let [a, b] = self.arrived.each_ref().map(|of| &of[before..]);
        let one = |((a, b), beyond): ((&f64, &f64), &f64)| {
            let (a, b) = (a + cost[0], b + cost[1]);
            let least = if a < b { a } else { b };
            if least + beyond <= bound {
                least
            } else {
                f64::INFINITY
            }
        };
        let mut out = vec![f64::INFINITY; before];
        out.extend(a.iter().zip(b).zip(beyond).map(one));
        out.resize(self.arrived[0].len(), f64::INFINITY);
        out
    }
}

/// Levels that the bands of a run leave open, remembered for sweeps with the same levels and window.
#[derive(Debug, Default)]
pub struct Open {
    /// What is closed.
    pub closed: Closed,
    known: Vec<Option<Range<usize>>>,
    ranges: Vec<Range<usize>>,
}

impl Open {
    /// Takes the bands of another run.
    pub fn take(&mut self, run: &Run, end: End, levels: &LevelGrid, other: &LevelGrid) {
        self.closed.take(run, end, levels, other);
        self.known.clear();
        self.known.resize(levels.len(), None);
        self.ranges.clear();
    }

    /// The levels of the other end in the window of a level of this end that are not closed, range by range.
    fn at(&mut self, of: &Swept, z: usize) -> &[Range<usize>] {
        let Open {
            closed,
            known,
            ranges,
        } = self;
        let all = known[z].get_or_insert_with(|| {
            let from = ranges.len();
            of.each_open(closed, z, |range| ranges.push(range));
            from..ranges.len()
        });
        &ranges[all.clone()]
    }
}

/// What is used again from run to run.
#[derive(Debug, Default)]
pub struct Scratch {
    /// All levels of a run together.
    pub sweep: Sweep,
    /// What clashes close of it.
    pub closed: Closed,
    /// A closer look at one level.
    pub look: Look,
    /// Levels that are taken all together.
    pub together: Together,
}

/// What lowers costs by level: kept from run to run, to be filled anew.
#[derive(Debug, Default)]
pub struct Sweep {
    /// By (the drive at this end is launched there), by level.
    pub least: [Vec<f64>; 2],
    moved: Vec<f64>,
}

impl Sweep {
    /// For all levels of this end the least of the run and what lies beyond it.
    pub fn fill(&mut self, levels: &LevelGrid, of: &Swept) {
        let Swept {
            cost,
            beyond,
            window,
        } = *of;
        self.moved.resize(levels.len(), 0.0);
        for least in &mut self.least {
            least.clear();
            least.resize(levels.len(), f64::INFINITY);
        }
        for (other, beyond) in beyond.into_iter().enumerate() {
            let costs = [cost[0][other], cost[1][other]];
            if costs.iter().all(|c| c.is_infinite()) {
                continue;
            }
            beyond.moving(window, &mut self.moved);
            for (least, cost) in self.least.iter_mut().zip(costs) {
                for (least, moved) in least.iter_mut().zip(&self.moved) {
                    let whole = moved + cost;
                    *least = if whole < *least { whole } else { *least };
                }
            }
        }
    }
}

impl Sweep {
    /// The same, with every level looked at by itself.
    pub fn fill_each(&mut self, levels: &LevelGrid, least: impl FnMut(f64) -> [f64; 2]) {
        let each = (0..levels.len()).map(|z| levels.level(z)).map(least);
        let (here, there) = each.map(|[a, b]| (a, b)).unzip();
        self.least = [here, there];
    }

    /// Raises what was filled to what closed levels leave, where that may be `useful`: by (launched at this end), by level.
    pub fn close(
        &mut self,
        of: &Swept,
        open: &mut Open,
        useful: impl Fn(usize, usize, f64) -> bool,
    ) {
        if open.closed.is_empty() {
            return;
        }
        for z in 0..self.least[0].len() {
            if useful(0, z, self.least[0][z]) || useful(1, z, self.least[1][z]) {
                let mut beyond = [f64::INFINITY; 2];
                for range in open.at(of, z) {
                    of.lower(&mut beyond, range);
                }
                let both = of.with(beyond);
                (self.least[0][z], self.least[1][z]) = (both[0], both[1]);
            }
        }
    }

    /// At how many of the first levels what was paid before, by (launched at this end), and this are no more than `bound`.
    pub fn are_within(&self, so_far: [&[f64]; 2], bound: f64) -> usize {
        let [here, there] = &self.least;
        let first = so_far[0].iter().zip(here);
        let all = first.zip(so_far[1].iter().zip(there));
        let is_within = |((a, b), (c, d)): ((&f64, &f64), (&f64, &f64))| {
            usize::from((a + b <= bound) | (c + d <= bound))
        };
        all.map(is_within).sum()
    }

    /// The least at any level with what was paid before.
    pub fn least_with(&self, so_far: &[f64]) -> f64 {
        let either = self.least[0].iter().zip(&self.least[1]);
        let whole = either
            .zip(so_far)
            .map(|((a, b), so_far)| so_far + if a < b { *a } else { *b });
        whole.fold(f64::INFINITY, |a, b| if b < a { b } else { a })
    }
}

/// Costs as lowered so far, by (launched at this end), by level.
pub struct Costs {
    least: [Vec<f64>; 2],
    limits: [Vec<f64>; 2],
}

impl Costs {
    /// Nothing is lowered yet. What exceeds a limit is of no use.
    pub fn new(limits: [Vec<f64>; 2]) -> Costs {
        let limit = |limit: f64| {
            if limit.is_nan() {
                f64::NEG_INFINITY
            } else {
                limit.next_up()
            }
        };
        let limits = limits.map(|of| of.into_iter().map(limit).collect::<Vec<_>>());
        Costs {
            least: limits.clone(),
            limits,
        }
    }

    /// The greatest at any level: what costs more lowers none.
    pub fn greatest(&self) -> f64 {
        let greater = |a: f64, b: &f64| if a < *b { *b } else { a };
        let of = |all: &Vec<f64>| all.iter().fold(f64::NEG_INFINITY, greater);
        of(&self.least[0]).max(of(&self.least[1]))
    }

    /// Lowers the costs of the first levels to those of a sweep of a run of one price, but for what is closed.
    pub fn lower(&mut self, levels: usize, sweep: &Sweep, of: &Swept, closed: &mut Closed) {
        if closed.is_empty() {
            for (least, by) in self.least.iter_mut().zip(&sweep.least) {
                for (least, by) in least[..levels].iter_mut().zip(by) {
                    *least = if by < least { *by } else { *least };
                }
            }
            return;
        }
        for z in 0..levels {
            if self.is_lowered_by(sweep, z) {
                let both = of.outside(closed, z);
                self.set(
                    z,
                    [0, 1].map(|here: usize| self.least[here][z].min(both[here])),
                );
            }
        }
    }

    /// A sweep says less at a level.
    pub fn is_lowered_by(&self, sweep: &Sweep, z: usize) -> bool {
        sweep.least[0][z] < self.least[0][z] || sweep.least[1][z] < self.least[1][z]
    }

    /// Both at a level.
    pub fn at(&self, z: usize) -> [f64; 2] {
        [self.least[0][z], self.least[1][z]]
    }

    /// Sets both at a level.
    pub fn set(&mut self, z: usize, to: [f64; 2]) {
        (self.least[0][z], self.least[1][z]) = (to[0], to[1]);
    }

    /// They; +inf where nothing is of use.
    pub fn into_least(mut self) -> [Vec<f64>; 2] {
        for (least, limits) in self.least.iter_mut().zip(&self.limits) {
            for (least, limit) in least.iter_mut().zip(limits) {
                *least = if *least < *limit {
                    *least
                } else {
                    f64::INFINITY
                };
            }
        }
        self.least
    }
}

impl Run {
    /// Least costs of a run however it is driven, by (first drive launched from the upstream manhole, last drive launched from the
    /// downstream one).
    pub fn by_sides(&self) -> BySides {
        let mut cost = self.multi;
        for (f, l, single) in self.ways() {
            cost[f][l] = cost[f][l].min(single);
        }
        cost
    }

    /// What it costs does not depend on its levels: these only say where it may be.
    pub fn is_of_one_price(&self) -> bool {
        self.strikes.is_none() && self.through.is_none()
    }

    /// Outlets up to this one keep their cover on the flattest line there is, and so on any.
    pub fn highest_outlet_in_cover(&self, flattest: f64) -> f64 {
        let inside = self.corners_inside();
        inside
            .map(|(along_m, z)| z + flattest * along_m)
            .fold(f64::INFINITY, f64::min)
    }

    /// Inlets up to this one keep their cover from any outlet up to `highest`.
    pub fn highest_inlet_in_cover(&self, highest: f64) -> f64 {
        let inside = self.corners_inside();
        let inlet = |(along_m, z): (f64, f64)| {
            let share = along_m / self.length_m;
            (z - highest * (1.0 - share)) / share
        };
        inside.map(inlet).fold(f64::INFINITY, f64::min)
    }

    /// Places between the ends that limit it as one drive: distance from upstream, highest invert.
    fn corners_inside(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        let corners = self.profile.iter().flat_map(|p| p.corners());
        corners.filter(|(along_m, _)| *along_m > 0.0 && *along_m < self.length_m - 1e-9)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::search::{bands::Bands, closed::End, course::Band, look::close};

    const LEVELS: LevelGrid = LevelGrid::Steps {
        first: 300,
        count: 60,
        step_m: 0.05,
        stride: 1,
        per_m: 20.0,
    };
    const OTHER: LevelGrid = LevelGrid::Steps {
        first: 285,
        count: 50,
        step_m: 0.05,
        stride: 1,
        per_m: 20.0,
    };

    fn run() -> Run {
        let band = |share: f64, low: f64, high: f64, grade: f64| Band {
            along_m: share * 20.0,
            low,
            high,
            grade,
            beside: None,
        };
        let mut run = Run::bare(20.0);
        let bands = [
            band(0.3, 15.5, 16.1, f64::INFINITY),
            band(0.8, 15.2, 16.4, 0.03),
        ];
        run.bands = Bands::new(&bands, (0.0, 20.0), |_| true);
        run.single = [70.0, 75.0];
        run.multi = [[90.0, 80.0], [72.0, 95.0]];
        run
    }

    #[test]
    fn all_levels_together_cost_what_each_alone_does() {
        let run = run();
        let some = |k: usize| {
            let of = (0..OTHER.len()).map(|i| ((i * 29 + k * 7) % 50) as f64);
            Ranges::new(&of.collect::<Vec<_>>())
        };
        let beyond = [some(1), some(2)];
        let falls = [0.15, 0.01];
        let window = LEVELS.window(&OTHER, falls.map(|g| -g * run.length_m));
        let swept = Swept {
            cost: run.by_sides(),
            beyond: [&beyond[0], &beyond[1]],
            window: window.expect("both are steps of one kind"),
        };
        let (mut sweep, mut lines) = (Sweep::default(), Closed::default());
        sweep.fill(&LEVELS, &swept);
        lines.take(&run, End::Upstream, &LEVELS, &OTHER);
        let limits = [100.0, f64::INFINITY].map(|limit| vec![limit; LEVELS.len()]);
        let mut costs = Costs::new(limits);
        costs.lower(LEVELS.len(), &sweep, &swept, &mut lines);
        let [of_received, of_launched] = costs.into_least();
        let mut told_apart = 0;
        for (z, costs) in of_received.iter().zip(&of_launched).enumerate() {
            let costs = [*costs.0, *costs.1];
            let from = LEVELS.level(z);
            let allowed = OTHER.range(from - 0.15 * 20.0, from - 0.01 * 20.0);
            let mut shut = vec![];
            let all = 0..OTHER.len();
            close(&run, (End::Upstream, from), &OTHER, &all, &mut shut);
            let is_open = |i: &usize| !shut.iter().any(|r| r.contains(i));
            for f in [0, 1] {
                let cost = |i: usize| (0..2).map(move |l| (i, l));
                let each = allowed.clone().filter(is_open).flat_map(cost);
                let each = each.map(|(i, l)| swept.cost[f][l] + beyond[l].at(i));
                let least = each.fold(f64::INFINITY, f64::min);
                let within = if f == 0 && least > 100.0 {
                    f64::INFINITY
                } else {
                    least
                };
                assert_eq!(costs[f], within, "{f} {z}");
                assert!(sweep.least[f][z] <= least, "{f} {z}");
                told_apart += usize::from(sweep.least[f][z] < least);
            }
        }
        assert!(told_apart > 20, "{told_apart}");
        let so_far: Vec<f64> = (0..LEVELS.len()).map(|z| z as f64).collect();
        let whole = |z: usize| z as f64 + sweep.least[0][z].min(sweep.least[1][z]);
        let least = (0..LEVELS.len()).map(whole).fold(f64::INFINITY, f64::min);
        assert_eq!(sweep.least_with(&so_far), least);
    }

    #[test]
    fn costs_moved_together_are_those_of_each_level_moved_alone() {
        let numbers = |by: usize, n: usize| (0..n).map(move |i| ((i * by) % 47) as f64);
        let beyond = [29, 31].map(|by| Ranges::new(&numbers(by, 50).collect::<Vec<_>>()));
        let of = |window: [i64; 2]| Swept {
            cost: [[f64::INFINITY, 80.0], [70.0, 90.0]],
            beyond: [&beyond[0], &beyond[1]],
            window,
        };
        for (window, levels) in [([-20, -3], 8..55), ([-2, 9], 0..20), ([60, 70], 0..9)] {
            let swept = of(window);
            // One level in five is closed.
            let from: Vec<(usize, [f64; 2])> = levels
                .filter(|z| z % 5 != 3)
                .map(|z| (z, [((z * 17) % 23) as f64, ((z * 13) % 19) as f64]))
                .collect();
            let mut together = Together::default();
            from.iter()
                .for_each(|(z, so_far)| together.push(*z, *so_far));
            let moved = together.moved(&swept);
            let arrives = |f: usize, i: i64| {
                let reaches = |z: usize| (window[0]..=window[1]).contains(&(i - z as i64));
                let all = from.iter().filter(|(z, _)| reaches(*z)).map(|(_, c)| c[f]);
                all.fold(f64::INFINITY, f64::min)
            };
            let inlets = 0..beyond[0].len();
            let least = moved.least_plans();
            for l in [0, 1] {
                for f in [0, 1] {
                    let all = inlets
                        .clone()
                        .map(|i| arrives(f, i as i64) + beyond[l].at(i));
                    assert_eq!(least[f][l], all.fold(f64::INFINITY, f64::min));
                }
                let bound = 95.0;
                let within = moved.within(l, bound);
                let mut told = 0;
                for i in inlets.clone() {
                    let paid = |f: usize| arrives(f, i as i64) + swept.cost[f][l];
                    let paid = paid(0).min(paid(1));
                    let is_within = paid + beyond[l].at(i) <= bound;
                    let is_told = i.checked_sub(moved.first).and_then(|i| within.get(i));
                    let expected = if is_within { paid } else { f64::INFINITY };
                    assert_eq!(
                        *is_told.unwrap_or(&f64::INFINITY),
                        expected,
                        "{window:?} {i}"
                    );
                    told += usize::from(is_within);
                }
                assert_eq!(moved.is_empty(), window[0] == 60);
                assert!(moved.is_empty() || (3..45).contains(&told), "{told}");
            }
        }
    }
}
