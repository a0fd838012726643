//! What is certain of every pit at a place, whatever way it is turned and whatever drives meet it.
//!
//! Each holds the circle that touches the nearer sides of the narrowest pit, and so every square in that. A square keeps its
//! distances wherever a pit does that holds it, shares no ground with what that shares none with, and what it costs to reinstate is
//! part of what the pit costs; who digs depends on the centre alone. So what forbids a square forbids every pit, at the same depth.

use super::{
    least_pit::{Room, Size, half_m, least_surface},
    pricing::PitPrice,
};
use crate::{
    cost::{PitRates, digging, pit_rates},
    pits::{Dig, Footprint, Siting, Standing},
    plan::context::Context,
};
use geo::Coord;
use std::f64::consts::FRAC_1_SQRT_2;

/// The middle that all pits at a place have.
#[derive(Debug, Clone)]
pub struct Middle {
    /// Lowest floor that every rule allows.
    lowest_floor_m: f64,
    /// Who digs.
    dig: Dig,
    ground_m: f64,
    /// Area of a square, and what its reinstatement costs.
    area_m2: f64,
    reinstated: f64,
    /// Cheapest surface within reach of a pit, by size (by m2).
    surface: [f64; Size::ALL.len()],
}

impl Middle {
    /// Of a place with ground at `ground_m`; none where no pit can stand. `exempt` are service parts that do not count there.
    pub fn new(cx: &Context, at: Coord<f64>, ground_m: f64, exempt: &[usize]) -> Option<Middle> {
        let job = cx.job();
        let siting = Siting {
            job,
            obstacles: &cx.world.obstacles,
            access: &cx.world.access,
        };
        let half = job.rig.narrowest_m() / 2.0 * FRAC_1_SQRT_2;
        let square = |axis| Footprint::square(at, half, axis);
        let upright = square(Coord { x: 1.0, y: 0.0 });
        let turned = square(Coord {
            x: FRAC_1_SQRT_2,
            y: FRAC_1_SQRT_2,
        });
        let standing = |pit: &Footprint| -> Option<Standing> {
            siting.standing(pit, ground_m, &|part| exempt.contains(&part))
        };
        let (of_upright, of_turned) = (standing(&upright)?, standing(&turned)?);
        let rates = pit_rates(cx.world.site, &job.costs, &upright, &of_upright);
        Some(Middle {
            lowest_floor_m: of_upright.lowest_floor_m.max(of_turned.lowest_floor_m),
            dig: of_upright.dig,
            ground_m,
            area_m2: upright.area_m2(),
            reinstated: rates.fixed - job.costs.pit_base,
            surface: Size::ALL.map(|size| least_surface(cx, at, half_m(cx, size))),
        })
    }

    /// Lowest invert that a pit allows.
    pub fn lowest_invert_m(&self, cx: &Context) -> f64 {
        self.lowest_floor_m + cx.job().rig.axis_height_m
    }

    /// Price that no pit undercuts that takes so much room and reaches no farther than one of a size.
    pub fn price(&self, cx: &Context, room: &Room, size: Size) -> PitPrice {
        let (job, costs) = (cx.job(), &cx.job().costs);
        let around = (room.area_m2 - self.area_m2).max(0.0) * self.surface[size as usize];
        PitPrice {
            lowest_invert_m: self.lowest_invert_m(cx),
            ground_m: self.ground_m,
            axis_height_m: job.rig.axis_height_m,
            support_from_m: job.pits.support_from_depth_m,
            rates: PitRates {
                fixed: costs.pit_base + self.reinstated + around,
                per_m: room.area_m2 * digging(costs, self.dig).1,
                support_per_m: 2.0 * room.half_round_m * costs.pit_support_per_m2,
            },
        }
    }
}
