//! A closer look at one run from one level of its upstream end: the ways to drive it, cut into parts of a few inlet levels where what
//! they cost depends on levels.

use super::{
    bands::Met,
    closed::End,
    grid::LevelGrid,
    least_through::{BySides, NEVER},
    runs::{Run, passed_at},
    strikes::{Strike, class},
};
use crate::{
    alignment::Profile,
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    plan::context::Context,
};
use std::ops::Range;

/// Strikes that differ by less than this share of a run's cost are not told apart by level.
const WORTH: f64 = 5e-4;

/// What looks use again, one after the other.
#[derive(Debug, Default)]
pub struct Look {
    /// Levels of the other end that are certain to clash, by rising start.
    pub closed: Vec<Range<usize>>,
    /// The strikes of the run that cost something at some of its levels.
    struck: Vec<usize>,
}

/// A run as it is looked at from outlet level `z`.
struct OneLevel<'r> {
    run: &'r Run,
    levels: &'r LevelGrid,
    z: f64,
    struck: &'r [usize],
    /// Strikes that differ by less are not told apart.
    worth: f64,
}

/// Ways along a run from one outlet level.
pub struct Ways {
    /// As one drive, else with through pits.
    pub one_drive: bool,
    /// Inlet levels.
    pub range: Range<usize>,
    /// Least cost.
    pub cost: BySides,
}

impl Ways {
    /// Some of them cost no more than `spare` along the run alone.
    pub fn is_within(&self, spare: f64) -> bool {
        self.cost.iter().flatten().any(|c| *c <= spare)
    }

    /// Ways along a run to a range of inlet levels, at what they cost at any level.
    pub fn at_any_level(run: &Run, one_drive: bool, range: Range<usize>) -> Ways {
        Ways {
            one_drive,
            range,
            cost: if one_drive {
                by_sides(run.single)
            } else {
                run.multi
            },
        }
    }
}

/// Tells `hear` of the ways along one run from outlet level `z`, cut into parts of a few levels where what they cost depends on
/// levels. Left out are ways that cost more than `spare` along the run alone, and those that are not `useful`; of a part nothing
/// is that is not of the whole.
pub fn ways(
    cx: &Context,
    run: &Run,
    levels: &LevelGrid,
    (z, spare, look): (f64, f64, &mut Look),
    useful: impl Fn(&Ways) -> bool,
    mut hear: impl FnMut(Ways),
) {
    let useful = |way: &Ways| way.is_within(spare) && useful(way);
    let mut looked = false;
    let by_grade = allowed(cx, run, levels, z);
    for one_drive in [true, false] {
        let range = match (one_drive, &run.profile) {
            (true, None) => continue,
            (true, Some(profile)) => {
                let below = levels.range(f64::NEG_INFINITY, profile.highest_end(z, run.length_m));
                by_grade.start..by_grade.end.min(below.end)
            }
            (false, _) => by_grade.clone(),
        };
        let way = Ways::at_any_level(run, one_drive, range);
        // Mostly all of them together are of no use.
        if way.range.is_empty() || !useful(&way) {
            continue;
        }
        if !looked {
            looked = true;
            close(run, (End::Upstream, z), levels, &by_grade, &mut look.closed);
            run.struck(
                z,
                [by_grade.start, by_grade.end - 1].map(|i| levels.level(i)),
                &mut look.struck,
            );
        }
        let from = OneLevel {
            run,
            levels,
            z,
            struck: &look.struck,
            worth: WORTH * run.least(),
        };
        for range in open(way.range, &look.closed) {
            from.parts((one_drive, range), &useful, &mut hear);
        }
    }
}

impl OneLevel<'_> {
    /// Tells of the useful ways to a range of inlet levels, cut into parts.
    fn parts(
        &self,
        (one_drive, range): (bool, Range<usize>),
        useful: &impl Fn(&Ways) -> bool,
        hear: &mut impl FnMut(Ways),
    ) {
        // So few levels are not told apart where through pits make the difference.
        const LEVELS: usize = 4;
        let ends = [range.start, range.end - 1].map(|i| self.levels.level(i));
        let strikes = self.strikes(ends);
        let cost = match one_drive {
            true => by_sides(self.run.single),
            false => self.run.with_through_pits(self.z, self.levels, &range),
        };
        let way = Ways {
            one_drive,
            range: range.clone(),
            cost: cost.map(|of| of.map(|c| c + strikes)),
        };
        if !useful(&way) {
            return;
        }
        let by_pits = !one_drive && self.run.through.is_some() && range.len() > LEVELS;
        if !by_pits && (range.len() == 1 || self.differ_by(ends) <= self.worth) {
            return hear(way);
        }
        let middle = range.start + range.len() / 2;
        for half in [middle..range.end, range.start..middle] {
            self.parts((one_drive, half), useful, hear);
        }
    }

    /// Each strike that counts, and the levels it passes to inlets between two.
    fn struck(&self, ends: [f64; 2]) -> impl Iterator<Item = (&Strike, [f64; 2])> {
        let strikes = self.run.all_strikes();
        let all = self.struck.iter().map(|i| &strikes[*i]);
        all.map(move |(share, s)| (s, passed_at(*share, self.z, ends)))
    }

    /// What strikes cost at least to inlets between two levels.
    fn strikes(&self, ends: [f64; 2]) -> f64 {
        let class = class((self.z - ends[0]) / self.run.length_m);
        self.struck(ends).map(|(s, z)| s.between(z, class)).sum()
    }

    /// How much what strikes cost may differ between two inlets.
    fn differ_by(&self, ends: [f64; 2]) -> f64 {
        self.struck(ends).map(|(s, z)| s.spread(z)).sum()
    }
}

/// Inlet levels by grade.
fn allowed(cx: &Context, run: &Run, levels: &LevelGrid, z: f64) -> Range<usize> {
    let [least, most] = run.falls_m(cx);
    levels.range(z - most, z - least)
}

/// Costs of one drive by launch side, as those of a run: launched upstream it is received downstream.
fn by_sides(single: [f64; 2]) -> BySides {
    let mut cost = NEVER;
    cost[1][0] = single[FROM_UPSTREAM];
    cost[0][1] = single[FROM_DOWNSTREAM];
    cost
}

/// Of a range of outlet levels those from which the line to inlet level `z` keeps its cover.
pub fn covered_from(
    profile: &Profile,
    length_m: f64,
    levels: &LevelGrid,
    z: f64,
    range: &Range<usize>,
) -> Range<usize> {
    // A rule is broken only by more than a hair at its place, which is more at the other end of the line.
    let highest = profile.highest_start(z - LENGTH_TOLERANCE_M, length_m);
    let below = levels.range(f64::NEG_INFINITY, highest);
    range.start..range.end.min(below.end)
}

/// What `closed` leaves of `whole`.
pub fn open(
    whole: Range<usize>,
    closed: &[Range<usize>],
) -> impl Iterator<Item = Range<usize>> + '_ {
    let (mut from, last) = (whole.start, whole.end);
    let ends = closed.iter().map(move |c| (c.start.min(last), c.end));
    ends.chain(std::iter::once((last, last)))
        .filter_map(move |(start, end)| {
            let gap = from..start;
            from = from.max(end);
            (gap.start < gap.end).then_some(gap)
        })
}

/// Finds the levels of the other end, of a range, to or from which the line is certain to clash, by rising start; this end is at `z`.
pub fn close(
    run: &Run,
    (end, z): (End, f64),
    levels: &LevelGrid,
    within: &Range<usize>,
    out: &mut Vec<Range<usize>>,
) {
    let others = [within.start, within.end - 1].map(|i| levels.level(i));
    let at = |band: &Met, other: f64| match end {
        End::Upstream => z + band.share * (other - z),
        End::Downstream => other + band.share * (z - other),
    };
    let by = |band: Met| match end {
        End::Upstream => closed_by(&band, run.length_m, levels, z),
        End::Downstream => closed_above(&band, run.length_m, levels, z),
    };
    let met = run
        .bands
        .iter()
        .filter(|b| meets(b, others.map(|other| at(b, other))));
    out.clear();
    out.extend(met.filter_map(by));
    out.sort_unstable_by_key(|r| r.start);
}

/// Some level between two is inside a band.
fn meets(band: &Met, [low, high]: [f64; 2]) -> bool {
    band.low < high && band.high > low
}

/// Inlet levels at which the line from outlet level `z` is inside a band.
fn closed_by(band: &Met, length_m: f64, levels: &LevelGrid, z: f64) -> Option<Range<usize>> {
    let inside = |level: f64| level > band.low && level < band.high;
    // a hair inside, so that only what is certain is closed
    let hair = 2.0 * LENGTH_TOLERANCE_M;
    let flattest = z - band.grade * length_m + hair;
    if band.share < 1e-9 {
        let (from, to) = (
            flattest.max(levels.level(0)),
            levels.level(levels.len() - 1),
        );
        return inside(z).then(|| levels.range(from, to));
    }
    let at_end = |level: f64| z + (level - z) / band.share;
    let low = (at_end(band.low) + hair).max(flattest);
    let r = levels.range(low, at_end(band.high) - hair);
    (r.start < r.end).then_some(r)
}

/// Outlet levels from which the line to inlet level `z` is inside a band.
fn closed_above(band: &Met, length_m: f64, levels: &LevelGrid, z: f64) -> Option<Range<usize>> {
    // a hair inside, so that only what is certain is closed
    let hair = 2.0 * LENGTH_TOLERANCE_M;
    let steepest = z + band.grade * length_m - hair;
    let from_end = 1.0 - band.share;
    if from_end < 1e-9 {
        let inside = z > band.low && z < band.high;
        return inside.then(|| levels.range(levels.level(0), steepest));
    }
    let at_start = |level: f64| z + (level - z) / from_end;
    let high = (at_start(band.high) - hair).min(steepest);
    let r = levels.range(at_start(band.low) + hair, high);
    (r.start < r.end).then_some(r)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(share: f64, [low, high]: [f64; 2], grade: f64) -> Met {
        Met {
            share,
            low,
            high,
            grade,
        }
    }

    /// Tells of many bands of a run of 20 m and a level at one of its ends.
    fn each_band(mut hear: impl FnMut(Met, f64)) {
        for share in [0.0, 0.3, 0.77, 1.0] {
            for grade in [0.02, 0.06, f64::INFINITY] {
                for limits in [[8.2, 8.63], [8.7, 9.4], [5.0, 20.0], [9.2, 9.3]] {
                    hear(band(share, limits, grade), 9.0);
                }
            }
        }
    }

    /// Levels that are closed are those of lines well inside the band and flat enough, and no others.
    fn assert_closed(
        band: Met,
        levels: &LevelGrid,
        closed: &Range<usize>,
        line: impl Fn(f64) -> [f64; 3],
    ) {
        for i in 0..levels.len() {
            let [z0, at, z1] = line(levels.level(i));
            let falls = z0 - z1 - band.grade * 20.0;
            let inside = at > band.low + 1e-5 && at < band.high - 1e-5;
            let outside = at < band.low || at > band.high || falls > 1e-5;
            assert!(
                !(inside && falls <= -1e-5) || closed.contains(&i),
                "{band:?} {z0} {z1}"
            );
            assert!(!outside || !closed.contains(&i), "{band:?} {z0} {z1}");
        }
    }

    const LEVELS: LevelGrid = LevelGrid::Steps {
        first: 300,
        count: 200,
        step_m: 0.02,
        stride: 1,
        per_m: 50.0,
    };

    #[test]
    fn a_band_closes_the_levels_of_lines_inside_it_that_are_flat_enough() {
        each_band(|band, z| {
            let closed = closed_by(&band, 20.0, &LEVELS, z).unwrap_or(0..0);
            assert_closed(band, &LEVELS, &closed, |to| {
                [z, z + band.share * (to - z), to]
            });
        });
    }

    #[test]
    fn and_so_it_does_seen_from_downstream() {
        each_band(|band, z| {
            let closed = closed_above(&band, 20.0, &LEVELS, z).unwrap_or(0..0);
            assert_closed(band, &LEVELS, &closed, |from| {
                [from, from + band.share * (z - from), z]
            });
        });
    }
}
