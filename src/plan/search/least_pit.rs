//! Pit prices that no pit undercuts, where too many directions meet to price them all.

use super::{grid::Grid, pricing::PitPrice};
use crate::{
    clearance::Corners,
    cost::PitRates,
    pits::{SHARED_AREA_M2, ground_cover},
    plan::context::Context,
};
use geo::Coord;

/// How large a pit is.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Size {
    /// It launches one drive.
    Launch,
    /// It launches several, maybe out of line: launch size or larger.
    LaunchTwice,
    /// It launches nothing.
    Reception,
}

impl Size {
    /// All sizes, in the order of their numbers.
    pub const ALL: [Size; 3] = [Size::Launch, Size::LaunchTwice, Size::Reception];
}

/// Price that no pit at a position undercuts, whatever way it is turned; none where none can stand.
pub fn least_pit(cx: &Context, grid: &Grid, position: usize, size: Size) -> Option<PitPrice> {
    let middle = grid.positions[position].middle.as_ref()?;
    Some(middle.price(cx, &least_room(cx, size), size))
}

/// The same of a pit that several drives are launched from, no smaller than so long and wide (m).
pub fn least_pit_of(
    cx: &Context,
    grid: &Grid,
    position: usize,
    room_m: (f64, f64),
) -> Option<PitPrice> {
    let room = Room {
        area_m2: room_m.0 * room_m.1,
        half_round_m: room_m.0 + room_m.1,
    };
    let middle = grid.positions[position].middle.as_ref()?;
    Some(middle.price(cx, &room, Size::LaunchTwice))
}

/// Price by depth that no through pit of a size undercuts whose centre is within `aside_m` of a place.
pub fn least_through_pit(cx: &Context, at: Coord<f64>, size: Size, aside_m: f64) -> PitPrice {
    let surface = least_surface(cx, at, half_m(cx, size) + aside_m);
    priced(cx, least_room(cx, size), surface)
}

/// What a pit takes at least.
pub struct Room {
    /// Area (m2).
    pub area_m2: f64,
    /// Length and width together (m).
    pub half_round_m: f64,
}

fn least_room(cx: &Context, size: Size) -> Room {
    let rig = &cx.job().rig;
    let launch = (rig.launch_length_m, rig.launch_width_m);
    let reception = (rig.reception_length_m, rig.reception_width_m);
    let of = |f: fn((f64, f64)) -> f64| match size {
        Size::Launch | Size::LaunchTwice => f(launch),
        Size::Reception => f(reception),
    };
    Room {
        area_m2: of(|s| s.0 * s.1),
        half_round_m: of(|s| s.0 + s.1),
    }
}

fn priced(cx: &Context, room: Room, surface_per_m2: f64) -> PitPrice {
    let (job, rig) = (cx.job(), &cx.job().rig);
    let Room {
        area_m2,
        half_round_m,
    } = room;
    let costs = &job.costs;
    PitPrice {
        lowest_invert_m: f64::NEG_INFINITY,
        ground_m: 0.0,
        axis_height_m: rig.axis_height_m,
        support_from_m: job.pits.support_from_depth_m,
        rates: PitRates {
            fixed: costs.pit_base + area_m2 * surface_per_m2,
            per_m: area_m2 * costs.pit_per_m3.min(costs.pit_hand_per_m3),
            support_per_m: 2.0 * half_round_m * costs.pit_support_per_m2,
        },
    }
}

/// How far from its centre a pit reaches, whatever way it is turned (m).
pub fn half_m(cx: &Context, size: Size) -> f64 {
    let rig = &cx.job().rig;
    let (length, width) = (rig.launch_length_m, rig.launch_width_m);
    // Half the diagonal; of the largest pit, for two launch rectangles square to each other.
    let launch = 0.5 * length.hypot(width);
    let reception = 0.5 * rig.reception_length_m.hypot(rig.reception_width_m);
    let twice = (length + width) * std::f64::consts::FRAC_1_SQRT_2;
    match size {
        Size::Launch => launch,
        Size::Reception => reception,
        Size::LaunchTwice => twice,
    }
}

/// The cheapest surface within `half` of a point, both ways along and across.
pub fn least_surface(cx: &Context, at: Coord<f64>, half: f64) -> f64 {
    let job = cx.job();
    let corner = |x: f64, y: f64| at + Coord { x, y } * half;
    let around: Corners = [
        corner(-1.0, -1.0),
        corner(1.0, -1.0),
        corner(1.0, 1.0),
        corner(-1.0, 1.0),
    ];
    let cover = ground_cover(&around, &cx.world.obstacles.surfaces);
    let mapped: f64 = cover.iter().map(|c| c.1).sum();
    let bare = 4.0 * half * half - mapped > SHARED_AREA_M2;
    let rate = |s| job.costs.reinstate[s];
    let kinds = cover
        .iter()
        .map(|c| &cx.world.site.surfaces[c.0].surface)
        .chain(bare.then_some(&crate::site::Surface::Bare));
    kinds.map(rate).fold(f64::INFINITY, f64::min)
}

/// The lower of two prices of one position.
pub fn lower(a: PitPrice, b: PitPrice) -> PitPrice {
    each(f64::min, a, b)
}

/// The higher of two prices of one position.
pub fn higher(a: PitPrice, b: PitPrice) -> PitPrice {
    each(f64::max, a, b)
}

fn each(of: fn(f64, f64) -> f64, a: PitPrice, b: PitPrice) -> PitPrice {
    PitPrice {
        lowest_invert_m: of(a.lowest_invert_m, b.lowest_invert_m),
        rates: PitRates {
            fixed: of(a.rates.fixed, b.rates.fixed),
            per_m: of(a.rates.per_m, b.rates.per_m),
            support_per_m: of(a.rates.support_per_m, b.rates.support_per_m),
        },
        ..a
    }
}
