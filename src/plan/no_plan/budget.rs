//! How much looking for reasons and remedies may cost.
//!
//! A route without a plan has no cheapest plan to stop at: to say that a change does not help takes a whole search. So the
//! work is counted, not timed: the same site gives the same answers on any machine. One unit is about the work of one
//! whole search along 200 m of street at the grid's defaults.

use crate::plan::{search::Grid, system::System};

/// Units for all routes of a site together.
const FOR_ALL: f64 = 60.0;
/// Units for one route: never more, and never less, whatever the number of routes.
const FOR_ONE: [f64; 2] = [1.5, 10.0];
/// Looks at a drive or pit that make up one unit.
const LOOKS: f64 = 20_000.0;
/// Drives judged at their levels that make up one unit.
const JUDGED: f64 = 100_000.0;
/// Straight runs times levels that make up one unit.
const SEARCH: f64 = 4_000_000.0;

/// What is left to spend on one route.
#[derive(Debug, Clone)]
pub struct Budget {
    left: f64,
}

/// There was not enough left: the answer is not known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Spent;

impl Budget {
    /// The share of one of so many routes without a plan.
    pub fn shared(routes: usize) -> Budget {
        let share = FOR_ALL / routes.max(1) as f64;
        Budget {
            left: share.clamp(FOR_ONE[0], FOR_ONE[1]),
        }
    }

    /// For a glance at a system, a plan of which is not looked for yet.
    pub fn small() -> Budget {
        Budget { left: 0.2 }
    }

    /// Pays for a look at a drive or pit.
    pub fn look(&mut self) -> Result<(), Spent> {
        self.pay(1.0 / LOOKS)
    }

    /// Pays afterwards for the drives that a search had to judge, be there enough left or not.
    pub fn judged(&mut self, drives: usize) {
        self.left = (self.left - drives as f64 / JUDGED).max(0.0);
    }

    /// Pays for a whole search, the drives judged left out: what it costs at least.
    pub fn search(&mut self, system: &System) -> Result<(), Spent> {
        self.pay(system.members.iter().map(|m| work(&m.cx)).sum())
    }

    fn pay(&mut self, units: f64) -> Result<(), Spent> {
        if units > self.left {
            return Err(Spent);
        }
        self.left -= units;
        Ok(())
    }
}

/// How much work a search along a route is at most, in units: pairs of manhole positions within the spacing, times levels.
fn work(cx: &crate::plan::context::Context) -> f64 {
    let (job, search) = (cx.job(), &cx.job().search);
    let sideways = 1.0 + 2.0 * (search.corridor_m / search.corridor_step_m).floor();
    let within = |m: f64| (m / search.station_step_m).ceil().max(1.0) * sideways;
    let positions = within(cx.alignment.length_m());
    let runs = positions * within(job.rules.manhole_spacing_m).min(positions) / 2.0;
    let deep_m = job.pits.max_depth_m - job.rig.axis_height_m - cx.invert_depth_m;
    runs * (deep_m / search.level_step_m).max(1.0) / SEARCH
}

/// A grid of so many places is too large to look at one by one.
pub fn is_too_large(grid: &Grid) -> bool {
    const MOST: usize = 4_000;
    grid.positions.len() > MOST
}
