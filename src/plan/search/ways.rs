//! Ways to a state, in the order of the least that they can cost, each brought forth only when its turn comes.

use super::label::Front;
use std::{cmp::Ordering, ops::Range};

/// The partial plans that leave a position in one way, by outlet level.
#[derive(Debug)]
pub struct Left {
    /// The partial plans, the position's pit included.
    pub fronts: Vec<Front>,
    /// Least cost by level.
    least: Vec<f64>,
    /// By power of two: the cheapest of so many levels from each on (a sparse table).
    cheapest: Vec<Vec<u32>>,
}

impl Left {
    /// Takes partial plans over.
    pub fn new(fronts: Vec<Front>) -> Left {
        let least: Vec<f64> = fronts.iter().map(Front::least).collect();
        let n = least.len();
        let mut cheapest = vec![(0..n as u32).collect::<Vec<u32>>()];
        let mut span = 1;
        while 2 * span <= n {
            let last = &cheapest[cheapest.len() - 1];
            let both = |i: usize| cheaper(&least, last[i], last[i + span]);
            cheapest.push((0..=n - 2 * span).map(both).collect());
            span *= 2;
        }
        Left {
            fronts,
            least,
            cheapest,
        }
    }

    /// The cheapest outlet level of a range, the lowest of equals, and its cost; none where there is no partial plan.
    pub fn cheapest(&self, range: &Range<usize>) -> Option<(usize, f64)> {
        if range.is_empty() {
            return None;
        }
        let k = (range.end - range.start).ilog2() as usize;
        let row = &self.cheapest[k];
        let i = cheaper(&self.least, row[range.start], row[range.end - (1 << k)]) as usize;
        self.least[i].is_finite().then_some((i, self.least[i]))
    }
}

fn cheaper(least: &[f64], i: u32, j: u32) -> u32 {
    if least[j as usize] < least[i as usize] {
        j
    } else {
        i
    }
}

/// How far the least cost of a way is worked out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Stage {
    /// It is the cheapest of the outlet levels from `from` up to `to`; those beside it are still to come.
    Cheapest {
        /// First level.
        from: usize,
        /// Level after the last.
        to: usize,
    },
    /// By itself.
    Alone,
    /// With its through pits at their depths.
    Refined,
}

/// A way to a state, not yet judged.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Way {
    /// Least cost up to the state.
    pub least: f64,
    /// The run.
    pub run: usize,
    /// Outlet level upstream.
    pub outlet: usize,
    /// The first drive is launched from upstream.
    pub launched: usize,
    /// As one drive, else with through pits.
    pub one_drive: bool,
    /// How far `least` is worked out.
    pub stage: Stage,
}

impl Eq for Way {}
impl PartialOrd for Way {
    fn partial_cmp(&self, other: &Way) -> Option<Ordering> {
        Some(self.cmp(other))
    }
}
impl Ord for Way {
    /// Reversed, for a heap that gives the cheapest first; then in a fixed order.
    fn cmp(&self, other: &Way) -> Ordering {
        let key = |w: &Way| (w.run, w.outlet, w.launched, w.one_drive, w.stage);
        other
            .least
            .total_cmp(&self.least)
            .then_with(|| key(other).cmp(&key(self)))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::search::label::Label;

    #[test]
    fn the_cheapest_of_every_range_is_the_first_of_the_least() {
        let costs = [5.0, 3.0, f64::INFINITY, 3.0, 2.0, 6.0, f64::INFINITY];
        let front = |c: &f64| match c.is_finite() {
            true => Front::of(Label {
                cost: *c,
                ..Label::NOTHING
            }),
            false => Front::default(),
        };
        let left = Left::new(costs.iter().map(front).collect());
        for i in 0..costs.len() {
            for j in i + 1..=costs.len() {
                let least = costs[i..j].iter().copied().fold(f64::INFINITY, f64::min);
                let first = (i..j).find(|k| costs[*k] == least && least.is_finite());
                assert_eq!(left.cheapest(&(i..j)), first.map(|k| (k, least)));
            }
        }
        assert_eq!(left.cheapest(&(3..3)), None);
    }
}
