//! What is known of a branch by its level at the junction.

use super::{exact::Branch, grid::Grid, label::Front};
use geo::Coord;
use std::rc::Rc;

/// What searches of a branch have found.
#[derive(Debug)]
pub struct Table {
    /// Its partial plans to the junction.
    pub branch: Rc<Branch>,
    /// By (last drive launched at the junction), then by inlet level there, one after the other: all that costs no more is in it.
    pub complete_to: Vec<f64>,
    /// The least that was found, likewise.
    least: Vec<f64>,
}

impl Table {
    /// Nothing is known of so many levels, twice.
    pub fn nothing(grid: &Grid, levels: usize) -> Table {
        Table {
            branch: Rc::new(Branch::nothing(grid)),
            complete_to: vec![f64::NEG_INFINITY; levels],
            least: vec![f64::INFINITY; levels],
        }
    }

    /// The least that was found at a level.
    pub fn least(&self, z: usize) -> f64 {
        self.least[z]
    }

    /// Anything was found.
    pub fn has_any(&self) -> bool {
        self.least.iter().any(|c| c.is_finite())
    }

    /// Takes what a search has found, if anything: all that costs no more at every level than `to`, where that is more than was
    /// known.
    pub fn take(&mut self, found: Option<Branch>, to: &[f64]) {
        let levels = to.len() / 2;
        let mut all = self.branch.arrivals.clone();
        let more = |z: usize| to[z] > self.complete_to[z];
        // What is found anew replaces all that was known of a level.
        for (away, fronts) in &mut all {
            let first = first_of(away, levels);
            let anew = fronts
                .iter_mut()
                .enumerate()
                .filter(|(z, _)| more(first + z));
            anew.for_each(|(_, front)| *front = Front::default());
        }
        for (away, fronts) in found.into_iter().flat_map(|f| f.arrivals) {
            let first = first_of(&away, levels);
            let known = all.iter().position(|(a, _)| *a == away);
            let known = known.unwrap_or_else(|| {
                all.push((away, vec![Front::default(); levels]));
                all.len() - 1
            });
            for (z, front) in fronts
                .into_iter()
                .enumerate()
                .filter(|(z, _)| more(first + z))
            {
                all[known].1[z] = front;
            }
        }
        self.least = vec![f64::INFINITY; to.len()];
        for (away, fronts) in &all {
            let first = first_of(away, levels);
            for (z, front) in fronts.iter().enumerate() {
                self.least[first + z] = self.least[first + z].min(front.least());
            }
        }
        for (complete, to) in self.complete_to.iter_mut().zip(to) {
            *complete = complete.max(*to);
        }
        self.branch = Rc::new(Branch {
            levels: self.branch.levels.clone(),
            arrivals: all,
        });
    }
}

/// Where the levels of an arrival begin: those of drives that are launched at the junction come second.
fn first_of(away: &Option<Coord<f64>>, levels: usize) -> usize {
    if away.is_some() { levels } else { 0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::search::{grid::LevelGrid, label::Label};
    use geo::coord;

    fn fronts(costs: [f64; 2]) -> Vec<Front> {
        let front = |cost: f64| match cost.is_finite() {
            true => Front::of(Label {
                cost,
                ..Label::NOTHING
            }),
            false => Front::default(),
        };
        costs.map(front).to_vec()
    }

    fn branch(arrivals: Vec<(Option<Coord<f64>>, [f64; 2])>) -> Branch {
        let arrivals = arrivals.into_iter();
        Branch {
            levels: LevelGrid::Fixed(0.0),
            arrivals: arrivals.map(|(a, costs)| (a, fronts(costs))).collect(),
        }
    }

    #[test]
    fn what_is_found_further_replaces_a_level_and_leaves_the_others() {
        const NONE: f64 = f64::INFINITY;
        let (east, north) = (Some(coord! {x: 1.0, y: 0.0}), Some(coord! {x: 0.0, y: 1.0}));
        let mut table = Table {
            branch: Rc::new(branch(vec![])),
            complete_to: vec![f64::NEG_INFINITY; 4],
            least: vec![NONE; 4],
        };
        assert!(!table.has_any());
        table.take(
            Some(branch(vec![(None, [5.0, NONE]), (east, [7.0, 8.0])])),
            &[6.0, f64::NEG_INFINITY, 9.0, 9.0],
        );
        assert!(table.has_any());
        let least = |t: &Table| [0, 1, 2, 3].map(|z| t.least(z));
        assert_eq!(least(&table), [5.0, NONE, 7.0, 8.0]);
        // Further at the second level received and the first one launched, where another direction is found too; what is said of
        // the other levels is looked at no further than before and does not count.
        table.take(
            Some(branch(vec![
                (None, [4.0, 6.0]),
                (north, [7.5, 3.0]),
                (east, [7.0, NONE]),
            ])),
            &[6.0, 10.0, 12.0, 2.0],
        );
        assert_eq!(least(&table), [5.0, 6.0, 7.0, 8.0]);
        let of = |away| {
            let found = table.branch.arrivals.iter().find(|a| a.0 == away);
            found.map(|a| [a.1[0].least(), a.1[1].least()])
        };
        assert_eq!(of(None), Some([5.0, 6.0]));
        assert_eq!(of(north), Some([7.5, NONE]));
        assert_eq!(of(east), Some([7.0, 8.0]));
        table.take(None, &[6.0, 10.0, 12.0, 20.0]);
        assert_eq!(least(&table), [5.0, 6.0, 7.0, NONE]);
        assert_eq!(table.complete_to, [6.0, 10.0, 12.0, 20.0]);
    }
}
