//! Whether a pit may stand somewhere, and how deep it may go.

use super::{
    access::Access,
    cover::{SHARED_AREA_M2, ground_cover, largest_overlap},
    footprint::Footprint,
};
use crate::{
    clearance::{
        Depth, LENGTH_TOLERANCE_M, Obstacles, overlap_m2, overlap_with_circle_m2, polygon_distance,
        rectangle_line_distance,
    },
    job::Job,
};

/// Who digs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Dig {
    /// A machine gets there.
    Machine,
    /// Only people and the rig get there.
    Hand,
}

/// Where a pit stands, and what that allows.
#[derive(Debug, Clone, PartialEq)]
pub struct Standing {
    /// Lowest floor level that every rule allows (m).
    pub lowest_floor_m: f64,
    /// Who digs.
    pub dig: Dig,
    /// Lot of most of the footprint (index into `Site::lots`).
    pub lot: Option<usize>,
    /// Area on each mapped surface (index into `Site::surfaces`, m2); the rest is bare.
    pub cover: Vec<(usize, f64)>,
}

/// What siting looks at.
#[derive(Clone, Copy)]
pub struct Siting<'a> {
    /// Settings.
    pub job: &'a Job,
    /// Everything to keep away from.
    pub obstacles: &'a Obstacles,
    /// Who gets where.
    pub access: &'a Access,
}

impl Siting<'_> {
    /// Whether and how a pit may stand; none where some rule forbids it at any depth, or nobody gets to its centre.
    ///
    /// `exempt` names service parts that do not count here (a connection, a followed pipe).
    pub fn standing(
        &self,
        pit: &Footprint,
        ground_m: f64,
        exempt: &dyn Fn(usize) -> bool,
    ) -> Option<Standing> {
        if self.in_roots(pit) || self.in_keepout(pit) || self.on_closed_lot(pit) {
            return None;
        }
        let dig = self.access.dig(pit.centre())?;
        let by_services = self.floor_over_services(pit, exempt)?;
        let by_depth = ground_m - self.deepest_m(dig);
        Some(Standing {
            lowest_floor_m: self.floor_beside_buildings(pit, by_depth.max(by_services))?,
            dig,
            lot: largest_overlap(&pit.corners, &self.obstacles.lots),
            cover: ground_cover(&pit.corners, &self.obstacles.surfaces),
        })
    }

    fn deepest_m(&self, dig: Dig) -> f64 {
        let pits = &self.job.pits;
        match dig {
            Dig::Machine => pits.max_depth_m,
            Dig::Hand => pits.max_depth_m.min(pits.hand_dig_max_depth_m),
        }
    }

    fn in_roots(&self, pit: &Footprint) -> bool {
        let mut near = self.obstacles.trees_near(&pit.corners, 0.0);
        near.any(|t| overlap_with_circle_m2(&pit.corners, t.centre, t.radius_m) > SHARED_AREA_M2)
    }

    fn in_keepout(&self, pit: &Footprint) -> bool {
        self.obstacles
            .keepouts
            .near(&pit.corners, 0.0)
            .any(|(_, p)| overlap_m2(&pit.corners, p) > SHARED_AREA_M2)
    }

    fn on_closed_lot(&self, pit: &Footprint) -> bool {
        self.obstacles
            .closed_lots
            .near(&pit.corners, 0.0)
            .any(|(_, p)| overlap_m2(&pit.corners, p) > SHARED_AREA_M2)
    }

    /// Lowest floor over the services nearer than their pit distance; none where one's top is not known.
    fn floor_over_services(&self, pit: &Footprint, exempt: &dyn Fn(usize) -> bool) -> Option<f64> {
        let services = &self.obstacles.services;
        let by_m = services.widest_pit_distance_m() + services.widest_radius_m();
        let mut floor = f64::NEG_INFINITY;
        let around = box_of(pit);
        for (i, k) in services.in_box(around, by_m) {
            let part = &services.parts[i];
            let piece = &part.pieces[k];
            // The boxes are no farther apart than what is in them.
            let far = |distance_m: f64| {
                distance_m - part.radius_m >= part.required.pit_m - LENGTH_TOLERANCE_M
            };
            if far(box_distance(around, box_of_line(piece.a, piece.b)) - LENGTH_TOLERANCE_M)
                || exempt(i)
                || far(rectangle_line_distance(&pit.corners, piece.a, piece.b).0)
            {
                continue;
            }
            let Depth::Known(z) = piece.depth else {
                return None;
            };
            floor = floor.max(z[0].max(z[1]) + part.radius_m + part.required.crossing_m);
        }
        Some(floor)
    }

    /// Lowest floor that leaves the load of near foundations alone, or `lowest` if that is higher; none where a
    /// building is nearer than its setback.
    fn floor_beside_buildings(&self, pit: &Footprint, lowest: f64) -> Option<f64> {
        let pits = &self.job.pits;
        let spread = pits.building_spread_deg.to_radians().tan();
        // Beyond this no foundation reaches a pit of the greatest depth, unless it lies 20 m above the pit's ground.
        let by_m = pits.building_setback_m.max(pits.max_depth_m / spread) + 20.0;
        let mut floor = lowest;
        for i in self.obstacles.building_ids_near(&pit.corners, by_m) {
            let prism = &self.obstacles.buildings[i].1;
            let at_least_m = box_distance(box_of(pit), self.obstacles.building_box(i));
            if at_least_m >= pits.building_setback_m && prism.base_m - at_least_m * spread <= floor
            {
                continue;
            }
            let distance_m = polygon_distance(&pit.corners, &prism.outline).0;
            if distance_m < pits.building_setback_m - LENGTH_TOLERANCE_M {
                return None;
            }
            floor = floor.max(prism.base_m - distance_m * spread);
        }
        Some(floor)
    }
}

/// Distance between two boxes, each by its low and high corner (m).
fn box_distance(
    [low, high]: [geo::Coord<f64>; 2],
    (other_low, other_high): (geo::Coord<f64>, geo::Coord<f64>),
) -> f64 {
    let gap = |low: f64, high: f64, other_low: f64, other_high: f64| {
        (other_low - high).max(low - other_high).max(0.0)
    };
    gap(low.x, high.x, other_low.x, other_high.x).hypot(gap(
        low.y,
        high.y,
        other_low.y,
        other_high.y,
    ))
}

/// Low and high corner of the box round a line.
fn box_of_line(a: geo::Coord<f64>, b: geo::Coord<f64>) -> (geo::Coord<f64>, geo::Coord<f64>) {
    let low = geo::Coord {
        x: a.x.min(b.x),
        y: a.y.min(b.y),
    };
    let high = geo::Coord {
        x: a.x.max(b.x),
        y: a.y.max(b.y),
    };
    (low, high)
}

/// Two opposite corners of the box round a footprint.
pub fn box_of(pit: &Footprint) -> [geo::Coord<f64>; 2] {
    let of = |f: fn(f64, f64) -> f64, c: fn(&geo::Coord<f64>) -> f64| {
        pit.corners.iter().map(c).reduce(f).expect("four corners")
    };
    [
        geo::Coord {
            x: of(f64::min, |c| c.x),
            y: of(f64::min, |c| c.y),
        },
        geo::Coord {
            x: of(f64::max, |c| c.x),
            y: of(f64::max, |c| c.y),
        },
    ]
}
