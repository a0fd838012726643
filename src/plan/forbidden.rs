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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{
        bare_site,
        context::World,
        search::{Coarse, Grid, Prices},
    };
    use geo::coord;

    #[test]
    fn a_disc_holds_its_edge() {
        let disc = Forbidden {
            centre: coord! {x: 1.0, y: 1.0},
            radius_m: 2.5,
        };
        assert!(disc.holds(coord! {x: 1.0, y: 3.5}));
        assert!(!disc.holds(coord! {x: 1.0, y: 3.51}));
    }

    #[test]
    fn neither_manholes_nor_through_pits_stand_in_a_disc() {
        let (site, job) = (bare_site::site(&[(0., 0.), (40., 0.)]), bare_site::job());
        let world = World::new(&site, &job);
        let mut cx = Context::new(&world, &site.routes[0]).expect("it has length");
        cx.forbidden.push(Forbidden {
            centre: coord! {x: 20.0, y: 0.0},
            radius_m: 5.0,
        });
        let grid = Grid::new(&cx, Coarse::FINEST);
        let stations: Vec<usize> = grid.positions.iter().map(|p| p.station).collect();
        assert_eq!(stations, [0, 1, 2, 6, 7, 8]);
        let mut prices = Prices::new(&cx);
        let down = prices.direction(&grid, 8, 0);
        let stands = |s: u32| prices.pit(&grid, s, &[(down, true)]).is_some();
        assert_eq!(
            [2, 3, 4, 5, 6].map(stands),
            [true, false, false, false, true]
        );
    }
}
