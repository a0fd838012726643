//! Ways to a state, in the order of the least that they can cost, each brought forth only when its turn comes.

use super::label::Front;
use std::{cmp::Ordering, ops::Range};

/// The partial plans that leave a position in one way, by outlet level.
#[derive(Debug)]
pub struct Left {
    /// The lowest outlet level at which there are any.
    first: usize,
    /// The partial plans from that on, the position's pit included.
    fronts: Vec<Front>,
    /// Least cost by level, likewise.
    least: Vec<f64>,
    /// By power of two: the cheapest of so many levels from each on (a sparse table).
    cheapest: Vec<Vec<u32>>,
}

impl Left {
    /// Takes partial plans by outlet level over; none where there are none.
    pub fn new(mut fronts: Vec<Front>) -> Option<Left> {
        let first = fronts.iter().position(|f| !f.is_empty())?;
        let last = fronts.iter().rposition(|f| !f.is_empty())?;
        let fronts: Vec<Front> = fronts.drain(first..=last).map(Front::fit).collect();
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
        Some(Left {
            first,
            fronts,
            least,
            cheapest,
        })
    }

    /// The partial plans of a level.
    ///
    /// # Panics
    /// Where it is lower or higher than all that have any.
    pub fn at(&self, level: usize) -> &Front {
        &self.fronts[level - self.first]
    }

    /// The cheapest outlet level of a range, the lowest of equals, and its cost; none where there is no partial plan.
    pub fn cheapest(&self, range: &Range<usize>) -> Option<(usize, f64)> {
        let own = |level: usize| level.saturating_sub(self.first).min(self.fronts.len());
        let range = own(range.start)..own(range.end);
        if range.is_empty() {
            return None;
        }
        let k = (range.end - range.start).ilog2() as usize;
        let row = &self.cheapest[k];
        let i = cheaper(&self.least, row[range.start], row[range.end - (1 << k)]) as usize;
        let least = self.least[i];
        least.is_finite().then_some((self.first + i, least))
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
        let costs = [
            f64::INFINITY,
            5.0,
            3.0,
            f64::INFINITY,
            3.0,
            2.0,
            6.0,
            f64::INFINITY,
        ];
        let front = |c: &f64| match c.is_finite() {
            true => Front::of(Label {
                cost: *c,
                ..Label::NOTHING
            }),
            false => Front::default(),
        };
        let left = Left::new(costs.iter().map(front).collect()).expect("there are some");
        for i in 0..costs.len() {
            for j in i + 1..=costs.len() {
                let least = costs[i..j].iter().copied().fold(f64::INFINITY, f64::min);
                let first = (i..j).find(|k| costs[*k] == least && least.is_finite());
                assert_eq!(left.cheapest(&(i..j)), first.map(|k| (k, least)));
            }
        }
        assert_eq!(left.cheapest(&(3..3)), None);
        assert_eq!(left.at(2).least(), 3.0);
        assert!(Left::new(vec![Front::default(); 3]).is_none());
    }
}
