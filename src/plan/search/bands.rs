//! What a run is certain to clash with.

use super::course::Band;
use crate::single::{down, up};
use std::rc::Rc;

/// At this share of the way downstream an invert strictly between these levels is certain to clash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Met {
    /// Share of the way.
    pub share: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
    /// It holds for lines no steeper than this.
    pub grade: f64,
}

/// The same as it is kept: of half the size, for there are millions.
#[derive(Debug, Clone, Copy)]
struct Kept {
    share: f32,
    low: f32,
    high: f32,
    grade: f32,
}

impl Kept {
    /// What is certain stays so: levels are rounded inwards, and that by a hair more than the share may shift them, on falls of
    /// hundreds of metres.
    fn of(met: &Met) -> Kept {
        const HAIR_M: f64 = 5e-5;
        Kept {
            share: met.share as f32,
            low: up(met.low + HAIR_M),
            high: down(met.high - HAIR_M),
            grade: down(met.grade),
        }
    }

    fn met(&self) -> Met {
        let [share, low, high, grade] =
            [self.share, self.low, self.high, self.grade].map(f64::from);
        Met {
            share,
            low,
            high,
            grade,
        }
    }
}

/// All that a run meets; nothing before it is worked out. A copy costs next to nothing: runs are copied often.
#[derive(Debug, Clone, Default)]
pub struct Bands(Option<Rc<[Kept]>>);

impl Bands {
    /// Of the bands of a line those that a run from `from_m` on meets and that `may_be` says may matter.
    pub fn new(
        of_line: &[Band],
        (from_m, length_m): (f64, f64),
        may_be: impl Fn(&Met) -> bool,
    ) -> Bands {
        let met = |band: &Band| {
            let share = (band.along_m - from_m) / length_m;
            let met = Met {
                share: share.clamp(0.0, 1.0),
                low: band.low,
                high: band.high,
                grade: band.grade,
            };
            let is_met = (-1e-9..=1.0 + 1e-9).contains(&share) && may_be(&met);
            is_met.then_some((met, band.beside))
        };
        let thinned = thinned(&of_line.iter().filter_map(met).collect::<Vec<_>>());
        Bands((!thinned.is_empty()).then(|| thinned.iter().map(Kept::of).collect()))
    }

    /// They, as they are kept: each no wider than it was, by less than a tenth of a millimetre on ground below 400 m.
    pub fn iter(&self) -> impl Iterator<Item = Met> + '_ {
        self.0.iter().flat_map(|all| all.iter()).map(Kept::met)
    }
}

/// Of what a run keeps beside one service, the first, the middle and the last: in between it says little more.
fn thinned(met: &[(Met, Option<u32>)]) -> Vec<Met> {
    let same = |a: &(Met, Option<u32>), b: &(Met, Option<u32>)| a.1.is_some() && a.1 == b.1;
    let mut out = vec![];
    for of_one in met.chunk_by(same) {
        let last = of_one.len() - 1;
        let mut kept = vec![0, last / 2, last];
        kept.dedup();
        out.extend(kept.into_iter().map(|i| of_one[i].0));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    fn band(along_m: f64, beside: Option<u32>) -> Band {
        Band {
            along_m,
            low: along_m,
            high: 20.0,
            grade: f64::INFINITY,
            beside,
        }
    }

    fn rounded(level: f64) -> f64 {
        (level * 1000.0).round() / 1000.0
    }

    #[test]
    fn what_is_kept_is_no_wider_and_hardly_narrower() {
        let mut dice = crate::dice::Dice(0x51ED_270B_9C3A_4F17);
        for _ in 0..10_000 {
            let mut roll = |least: f64, most: f64| least + (most - least) * dice.roll();
            let (share, low) = (roll(0.0, 1.0), roll(-20.0, 400.0));
            let (high, grade) = (low + roll(0.0, 3.0), roll(0.0, 0.2));
            let met = Met {
                share,
                low,
                high,
                grade,
            };
            let kept = Kept::of(&met).met();
            assert!((kept.share - share).abs() <= 6e-8 && kept.grade <= grade);
            assert!(grade - kept.grade < 1e-7);
            // Of a fall of 400 m the share shifts a level by no more than that.
            let shift = (kept.share - share).abs() * 400.0;
            assert!(kept.low >= low + shift && kept.high <= high - shift);
            assert!(kept.low - low < 1e-4 && high - kept.high < 1e-4);
        }
        let under = Met {
            share: 0.5,
            low: 3.0,
            high: f64::INFINITY,
            grade: f64::INFINITY,
        };
        let kept = Kept::of(&under).met();
        assert!(kept.high == f64::INFINITY && kept.grade == f64::INFINITY);
    }

    #[test]
    fn a_run_meets_what_lies_on_its_part_of_the_line() {
        let line = [3.0, 5.0, 10.0, 14.9, 15.0, 15.1].map(|m| band(m, None));
        let bands = Bands::new(&line, (5.0, 10.0), |met| met.low != 14.9);
        let met = bands.iter().map(|met| (met.share, rounded(met.low)));
        let met: Vec<(f64, f64)> = met.collect();
        assert_eq!(met, [(0.0, 5.0), (0.5, 10.0), (1.0, 15.0)]);
        let none = Bands::new(&line, (20.0, 4.0), |_| true);
        assert_eq!(none.iter().count(), 0);
    }

    #[test]
    fn of_what_lies_beside_one_service_three_places_are_kept() {
        let (one, other) = (Some(4), Some(7));
        let all = [None, one, one, one, one, one, other, None, None];
        let line: Vec<Band> = (all.iter().enumerate())
            .map(|(i, of)| band(i as f64, *of))
            .collect();
        let bands = Bands::new(&line, (0.0, 10.0), |_| true);
        let kept: Vec<f64> = bands.iter().map(|met| rounded(met.low)).collect();
        assert_eq!(kept, [0.0, 1.0, 3.0, 5.0, 6.0, 7.0, 8.0]);
    }
}
