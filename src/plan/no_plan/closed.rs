//! Places round which no pit can stand.

use crate::{
    pits::{Access, Footprint, Siting},
    plan::context::Context,
    site::Site,
};
use geo::Coord;

/// What is looked at: the obstacles alone. Who gets there is left out.
struct Closed<'c, 'a> {
    cx: &'c Context<'a>,
    access: Access,
}

impl Closed<'_, '_> {
    /// No part of a pit that holds a square can stand, whatever its depth.
    fn holds(&self, centre: Coord<f64>, half_m: f64) -> bool {
        let siting = Siting {
            job: self.cx.job(),
            obstacles: &self.cx.world.obstacles,
            access: &self.access,
        };
        let exempt = |part| self.cx.may_be_exempt(part);
        // No ground level is too low or too high where nothing is asked but whether any depth is lawful.
        let square = Footprint::square(centre, half_m, Coord { x: 1.0, y: 0.0 });
        let standing = siting.standing(&square, 0.0, &exempt);
        standing.is_none()
    }
}

fn closed<'c, 'a>(cx: &'c Context<'a>) -> Closed<'c, 'a> {
    Closed {
        cx,
        access: Access::new(&Site::default(), cx.job()),
    }
}

/// Whether no pit can have its centre at a place, whatever way it is turned: any pit holds the circle that touches its
/// nearer sides, and a square in that.
pub fn no_pit_at(cx: &Context, place: Coord<f64>) -> bool {
    let half_m = cx.job().rig.narrowest_m() / 2.0 * std::f64::consts::FRAC_1_SQRT_2;
    closed(cx).holds(place, half_m)
}

/// Whether every place for a pit at a station is closed, however far from it the corridor lets a pit stand.
///
/// The corridor is covered with points so dense that every pit's centre is near one of them: then a square round that point, so
/// much smaller than the circle, lies within the pit. Where the rules forbid all the squares, they forbid all pits: each keeps
/// its distance from what it must keep away from, or shares no ground with it, and part of a pit cannot break such a rule alone.
///
/// A pit at a station stands no farther from it than the corridor: on the chord's foot, and the route keeps to the chord so.
pub fn no_pit_round(cx: &Context, station: Coord<f64>) -> bool {
    let circle_m = cx.job().rig.narrowest_m() / 2.0;
    let apart_m = 0.5 * circle_m;
    // A centre is at most half a diagonal of the cell between four points away from the nearest.
    let within_m = circle_m - apart_m * std::f64::consts::FRAC_1_SQRT_2;
    let half_m = within_m * std::f64::consts::FRAC_1_SQRT_2;
    let corridor_m = cx.job().search.corridor_m + apart_m;
    let steps = (corridor_m / apart_m).ceil() as i64;
    let closed = closed(cx);
    let offsets = || (-steps..=steps).map(|k| k as f64 * apart_m);
    let round = offsets().flat_map(|x| offsets().map(move |y| Coord { x, y }));
    round
        .filter(|d| d.x.hypot(d.y) <= corridor_m)
        .all(|d| closed.holds(station + d, half_m))
}
