//! Pits and drives that are lawful at some level.

use super::{
    budget::{Budget, Spent},
    closed::no_pit_at,
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M, Segment},
    plan::{
        context::{Context, Junction},
        search::{Coarse, DirectionId, Grid, NodeId, Prices, clears_buildings},
    },
};

/// One route, looked at without levels.
///
/// Levels, grades, drops and crossings of services at known depth are left out, and two drives launched out of line from one
/// pit need no more room than one. Rules are left out, none is added: what is unlawful here is unlawful.
pub struct Ways<'c, 'a> {
    /// The route.
    pub cx: &'c Context<'a>,
    /// Its grid.
    pub grid: Grid,
    /// Stations where branches may join.
    junctions: Vec<bool>,
    prices: Prices<'c, 'a>,
}

impl<'c, 'a> Ways<'c, 'a> {
    /// Nothing looked at yet.
    pub fn new(cx: &'c Context<'a>) -> Self {
        let grid = Grid::new(cx, Coarse::FINEST);
        let joins = |m: f64| {
            let near = |j: &Junction| (j.chainage_m - m).abs() < LENGTH_TOLERANCE_M;
            cx.junctions.iter().any(near)
        };
        Ways {
            cx,
            junctions: grid.stations.iter().map(|s| joins(s.chainage_m)).collect(),
            grid,
            prices: Prices::new(cx),
        }
    }

    /// The direction from one node to another.
    pub fn direction(&mut self, from: NodeId, to: NodeId) -> DirectionId {
        self.prices.direction(&self.grid, from, to)
    }

    /// A pit for one drive may stand at a node. At a junction a branch's drive may turn it.
    pub fn pit(&mut self, node: NodeId, drive: DirectionId, launched: bool) -> bool {
        if self.junctions.get(node as usize).is_some_and(|j| *j) {
            return !no_pit_at(self.cx, self.grid.point(node));
        }
        let Some(price) = self.prices.pit(&self.grid, node, &[(drive, launched)]) else {
            return false;
        };
        price.lowest_invert_m <= price.ground_m - self.cx.invert_depth_m + LENGTH_TOLERANCE_M
    }

    /// By launch side: a drive may lead from one node to another.
    ///
    /// Cover and foundations are easier to keep the deeper a drive lies, so both hold at some level if they hold together
    /// at the lowest.
    pub fn drive(
        &mut self,
        us: NodeId,
        ds: NodeId,
        budget: &mut Budget,
    ) -> Result<[bool; 2], Spent> {
        budget.look()?;
        let Some(drive) = self.prices.drive(&self.grid, us, ds) else {
            return Ok([false; 2]);
        };
        let Some(lowest) = self.lowest(us).zip(self.lowest(ds)) else {
            return Ok([false; 2]);
        };
        let covered = drive
            .profile
            .least_above(lowest.0, lowest.1, drive.length_m)
            >= -LENGTH_TOLERANCE_M;
        let centre = |node: NodeId, invert: f64| {
            let p = self.grid.point(node);
            [p.x, p.y, invert + self.cx.centre_above_invert_m()]
        };
        let line = Segment {
            a: centre(us, lowest.0),
            b: centre(ds, lowest.1),
        };
        let passes = covered && clears_buildings(self.cx, &drive.buildings, &line);
        Ok([FROM_UPSTREAM, FROM_DOWNSTREAM]
            .map(|side| passes && drive.least_cost[side].is_finite()))
    }

    /// Lowest invert that the deepest pit allows at a node.
    fn lowest(&self, node: NodeId) -> Option<f64> {
        let job = self.cx.job();
        let ground_m = self.grid.nodes[node as usize].ground_m?;
        Some(ground_m - job.pits.max_depth_m + job.rig.axis_height_m)
    }
}
