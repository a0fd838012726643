//! Places where no pit of a route may stand, so that another plan than the best is found.

use super::context::Context;
use crate::clearance::LENGTH_TOLERANCE_M;
use geo::Coord;

/// A disc in plan in which no pit of a route may have its centre.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Forbidden {
    /// Its middle.
    pub centre: Coord<f64>,
    /// How far it reaches, its edge included (m).
    pub radius_m: f64,
}

impl Forbidden {
    /// Whether a point lies in it.
    pub fn holds(&self, p: Coord<f64>) -> bool {
        let d = p - self.centre;
        d.x.hypot(d.y) <= self.radius_m + LENGTH_TOLERANCE_M
    }
}

impl Context<'_> {
    /// Whether a pit of the route may not stand at a point because another plan is looked for.
    pub fn forbids(&self, p: Coord<f64>) -> bool {
        self.forbidden.iter().any(|f| f.holds(p))
    }
}
