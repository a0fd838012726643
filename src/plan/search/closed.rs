//! Levels of one end of a run from which, or to which, the line is certain to clash, for one level of the other end after another.
//!
//! A line through a band's limit at its share of the way has an end that falls (or rises) evenly with the other end: so each band
//! closes what lies between two straight lines of level indices, as far as its grade holds.

use super::{
    bands::Met,
    grid::{LevelGrid, ceil},
    runs::Run,
};
use crate::clearance::LENGTH_TOLERANCE_M;

/// Which end's levels are gone through; those of the other are closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum End {
    /// The outlets upstream; inlets are closed.
    Upstream,
    /// The inlets downstream; outlets are closed.
    Downstream,
}

/// What the bands of a run close.
#[derive(Debug, Default)]
pub struct Closed {
    bands: Vec<Between>,
    /// By rising start: first level, and the one after the last.
    now: Vec<[i64; 2]>,
}

/// Indices strictly inside a band: from the greater of two lines up to the lesser of two. Each line is its value at 0 and its
/// rise from one index to the next.
#[derive(Debug, Clone, Copy)]
struct Between {
    from: [[f64; 2]; 2],
    to: [[f64; 2]; 2],
    /// Only for indices of this end between these.
    only: [f64; 2],
}

const NEVER_LESS: [f64; 2] = [f64::NEG_INFINITY, 0.0];
const NEVER_MORE: [f64; 2] = [f64::INFINITY, 0.0];

impl Closed {
    /// Takes the bands of a run that may close any of `other` for any of `levels`, both in steps of one kind.
    pub fn take(&mut self, run: &Run, end: End, levels: &LevelGrid, other: &LevelGrid) {
        self.bands.clear();
        let between = |band: Met| between(&band, end, run.length_m, levels, other);
        let last = (levels.len() - 1) as f64;
        let counts = |b: &Between| {
            let at_either_end = |line: &[f64; 2]| [line[0], line[0] + line[1] * last];
            let least = |line: &[f64; 2]| {
                at_either_end(line)
                    .into_iter()
                    .fold(f64::INFINITY, f64::min)
            };
            let most = |line: &[f64; 2]| {
                at_either_end(line)
                    .into_iter()
                    .fold(f64::NEG_INFINITY, f64::max)
            };
            b.from
                .iter()
                .all(|line| least(line) <= (other.len() - 1) as f64)
                && b.to.iter().all(|line| most(line) >= 0.0)
        };
        self.bands
            .extend(run.bands.iter().map(between).filter(counts));
    }

    /// No band closes anything.
    pub fn is_empty(&self) -> bool {
        self.bands.is_empty()
    }

    /// What is closed of a window for a level: first level and the one after the last, by rising start.
    pub fn at(&mut self, z: usize, [first, last]: [i64; 2]) -> &[[i64; 2]] {
        self.now.clear();
        let z = z as f64;
        let value = |line: [f64; 2]| line[0] + line[1] * z;
        for b in self
            .bands
            .iter()
            .filter(|b| z >= b.only[0] && z <= b.only[1])
        {
            let from = value(b.from[0]).max(value(b.from[1]));
            let to = value(b.to[0]).min(value(b.to[1]));
            if from <= to && from <= last as f64 && to >= first as f64 {
                let closed = [ceil(from).max(first), (-ceil(-to)).min(last) + 1];
                if closed[0] < closed[1] {
                    let place = self.now.iter().rposition(|c| c[0] <= closed[0]);
                    self.now.insert(place.map_or(0, |p| p + 1), closed);
                }
            }
        }
        &self.now
    }
}

fn between(band: &Met, end: End, length_m: f64, levels: &LevelGrid, other: &LevelGrid) -> Between {
    // A hair inside, so that only what is certain is closed.
    const HAIR_M: f64 = LENGTH_TOLERANCE_M;
    let share = match end {
        End::Upstream => band.share,
        End::Downstream => 1.0 - band.share,
    };
    let first = levels.level(0);
    let mut out = Between {
        from: [NEVER_LESS; 2],
        to: [NEVER_MORE; 2],
        only: [f64::NEG_INFINITY, f64::INFINITY],
    };
    if share < 1e-9 {
        // At this very end: from its levels inside the band all lines are.
        out.only = [
            levels.index(band.low + HAIR_M),
            levels.index(band.high - HAIR_M),
        ];
    } else {
        // The other end of lines that pass a level at the share, from this end's first level on.
        let rise = 1.0 - 1.0 / share;
        let through = |z: f64| first * rise + z / share;
        out.from[0] = [other.index(through(band.low) + HAIR_M), rise];
        out.to[0] = [other.index(through(band.high) - HAIR_M), rise];
    }
    let falls_m = band.grade * length_m;
    match end {
        End::Upstream => out.from[1] = [other.index(first - falls_m + HAIR_M), 1.0],
        End::Downstream => out.to[1] = [other.index(first + falls_m - HAIR_M), 1.0],
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::search::{bands::Bands, course::Band, look::close};

    const LEVELS: LevelGrid = LevelGrid::Steps {
        first: 300,
        count: 200,
        step_m: 0.02,
        stride: 1,
        per_m: 50.0,
    };
    const OTHER: LevelGrid = LevelGrid::Steps {
        first: 280,
        count: 150,
        step_m: 0.02,
        stride: 1,
        per_m: 50.0,
    };

    fn run(bands: Vec<Band>) -> Run {
        let mut run = Run::bare(20.0);
        run.bands = Bands::new(&bands, (0.0, run.length_m), |_| true);
        run
    }

    fn band(along_m: f64, [low, high]: [f64; 2], grade: f64) -> Band {
        Band {
            along_m,
            low,
            high,
            grade,
            beside: None,
        }
    }

    /// Indices of a window in none of the ranges.
    fn left_open(ranges: &[[i64; 2]], [first, last]: [i64; 2]) -> Vec<i64> {
        let is_open = |i: &i64| !ranges.iter().any(|r| (r[0]..r[1]).contains(i));
        (first..=last).filter(is_open).collect()
    }

    #[test]
    fn what_bands_close_is_what_each_level_alone_says() {
        const INF: f64 = f64::INFINITY;
        let bands = [
            band(0.0, [8.2, 8.63], 0.04),
            band(0.0, [6.9, 7.301], INF),
            band(6.0, [8.7, 9.4], 0.02),
            band(6.0, [8.6, 9.5], 0.06),
            band(11.0, [6.0, 6.91], INF),
            band(15.4, [7.71, INF], INF),
            band(20.0, [5.9, 6.3], INF),
            band(20.0, [7.9, 8.3], 0.06),
        ];
        let mut some = 0;
        for chosen in 0..1 << bands.len() {
            let of = (0..bands.len()).filter(|i| chosen >> i & 1 == 1);
            let run = run(of.map(|i| bands[i]).collect());
            let window = [0, OTHER.len() as i64 - 1];
            let mut by_lines = Closed::default();
            for end in [End::Upstream, End::Downstream] {
                by_lines.take(&run, end, &LEVELS, &OTHER);
                for z in 0..LEVELS.len() {
                    let (mut alone, all) = (vec![], 0..OTHER.len());
                    close(&run, (end, LEVELS.level(z)), &OTHER, &all, &mut alone);
                    let alone: Vec<[i64; 2]> = alone
                        .iter()
                        .map(|r| [r.start as i64, r.end as i64])
                        .collect();
                    let together = by_lines.at(z, window);
                    assert!(together.is_sorted_by_key(|r| r[0]));
                    let open = left_open(together, window);
                    assert_eq!(open, left_open(&alone, window), "{chosen} {end:?} {z}");
                    some += usize::from(open.len() < OTHER.len());
                }
            }
        }
        assert!(some > 10_000, "{some}");
    }
}
