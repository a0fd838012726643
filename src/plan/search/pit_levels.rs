//! What a position's pit, manhole and branches cost, all levels together.

use super::{
    grid::Grid,
    pricing::PitPrice,
    runs::{Runs, ends, manhole_price, manhole_prices},
    squeeze::Arrived,
};
use crate::plan::context::Context;

/// A position by its levels.
pub struct PitLevels<'r> {
    runs: &'r Runs,
    position: usize,
    is_outfall: bool,
    /// The levels.
    levels_m: Vec<f64>,
    /// Price of the manhole at each.
    manhole: Vec<f64>,
}

impl<'r> PitLevels<'r> {
    /// Of a position.
    pub fn new(cx: &Context, grid: &Grid, runs: &'r Runs, position: usize) -> PitLevels<'r> {
        let levels = &grid.positions[position].levels;
        let levels_m: Vec<f64> = (0..levels.len()).map(|z| levels.level(z)).collect();
        let manhole = manhole_prices(cx, grid, position);
        PitLevels {
            runs,
            position,
            is_outfall: ends(grid, position).1,
            manhole: levels_m.iter().map(|z| manhole(*z)).collect(),
            levels_m,
        }
    }

    /// Nothing is known yet of any level.
    fn nothing(&self) -> Vec<f64> {
        vec![f64::INFINITY; self.levels_m.len()]
    }

    /// Least pit and manhole, however drives meet the pit.
    pub fn least(&self) -> Vec<f64> {
        let (mut out, mut cost) = (self.nothing(), vec![]);
        for price in self.runs.pits[self.position].each() {
            price.by_level(&self.levels_m, &mut cost);
            for (out, cost) in out.iter_mut().zip(&cost) {
                *out = lesser(*cost, *out);
            }
        }
        for (out, manhole) in out.iter_mut().zip(&self.manhole) {
            *out += manhole;
        }
        out
    }

    /// Least further cost with the pit, manhole and branches, the drive from upstream launched here or not (`l`), in a direction of
    /// class `up`. `outlet`: further cost without these, by class of the next drive's direction, by (it is launched here).
    pub fn onward(&self, outlet: &[[Vec<f64>; 2]], (l, up): (usize, usize)) -> Vec<f64> {
        let (mut least, mut cost) = (self.nothing(), vec![]);
        let nothing = vec![0.0; self.levels_m.len()];
        for (way, branches) in self.runs.comings_in(self.position, self.levels_m.len()) {
            for (down, onward) in outlet.iter().enumerate() {
                for (ld, onward) in onward.iter().enumerate() {
                    let launched = (l, ld);
                    let price = self
                        .runs
                        .pit_price(self.position, way, launched, (down, up));
                    let Some(price) = price else {
                        continue;
                    };
                    price.by_level(&self.levels_m, &mut cost);
                    let rest = if self.is_outfall { &nothing } else { onward };
                    let all = cost.iter().zip(rest).zip(&branches);
                    for (least, ((cost, rest), branches)) in least.iter_mut().zip(all) {
                        *least = lesser(cost + rest + branches, *least);
                    }
                }
            }
        }
        for (least, manhole) in least.iter_mut().zip(&self.manhole) {
            *least += manhole;
        }
        least
    }

    /// Least cost so far by class of the next drive's direction, by (it is launched here), the pit and branches included; and the
    /// least of all without the branches, by (the only one is launched here). `above`: what it costs without these.
    pub fn leave(&self, above: &Arrived) -> (Vec<[Vec<f64>; 2]>, [Vec<f64>; 2]) {
        let comings_in = self.runs.comings_in(self.position, self.levels_m.len());
        let mut alone = [0, 1].map(|_| self.nothing());
        let mut cost = vec![];
        let mut leaving = |down: usize, ld: usize| {
            let mut out = self.nothing();
            for (way, branches) in &comings_in {
                for (l, up, so_far) in above {
                    let (launched, classes) = ((*l, ld), (down, *up));
                    let price = self.runs.pit_price(self.position, *way, launched, classes);
                    let Some(price) = price else {
                        continue;
                    };
                    price.by_level(&self.levels_m, &mut cost);
                    let each = so_far.iter().zip(&cost).zip(&self.manhole).zip(branches);
                    let lowered = out.iter_mut().zip(&mut alone[*way]);
                    for ((out, alone), (((so_far, pit), manhole), branches)) in lowered.zip(each) {
                        let all = so_far + pit + manhole;
                        *alone = lesser(all, *alone);
                        *out = lesser(all + branches, *out);
                    }
                }
            }
            out
        };
        let left = (0..self.runs.pits[self.position].classes()[0])
            .map(|down| [0, 1].map(|ld| leaving(down, ld)))
            .collect();
        (left, alone)
    }
}

impl PitPrice {
    /// Cost at each of some levels, which rise, as the lowest invert; +inf below the lowest that every rule allows.
    fn by_level(&self, levels_m: &[f64], out: &mut Vec<f64>) {
        let below = levels_m.partition_point(|z| !self.allows(*z));
        out.clear();
        out.resize(below, f64::INFINITY);
        let depth = |z: &f64| self.depth(*z);
        out.extend(levels_m[below..].iter().map(|z| self.cost(depth(z))));
    }
}

/// Least pit and manhole at a level, however drives meet the pit.
pub fn least_pit_at(cx: &Context, grid: &Grid, runs: &Runs, p: usize, z: f64) -> f64 {
    runs.pits[p].least_at(z) + manhole_price(cx, grid, p, z)
}

/// The lesser of two numbers; without regard to what is none, so that many are compared at once.
fn lesser(a: f64, b: f64) -> f64 {
    if a < b { a } else { b }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::cost::PitRates;

    #[test]
    fn a_pit_by_levels_costs_what_it_costs_at_each() {
        let price = PitPrice {
            lowest_invert_m: 7.5,
            ground_m: 10.0,
            axis_height_m: 0.4,
            support_from_m: 1.5,
            rates: PitRates {
                fixed: 900.0,
                per_m: 120.0,
                support_per_m: 55.0,
            },
        };
        let levels_m: Vec<f64> = (0..200).map(|i| f64::from(i) * 0.02 + 6.0).collect();
        let mut costs = vec![1.0];
        price.by_level(&levels_m, &mut costs);
        let alone = |z: &f64| price.at(*z).map_or(f64::INFINITY, |c| c.0);
        assert_eq!(costs, levels_m.iter().map(alone).collect::<Vec<_>>());
        let supported = costs[80] - costs[81] - (costs[198] - costs[199]);
        assert!(costs[74].is_infinite() && costs[75].is_finite() && supported > 1.0);
    }
}
