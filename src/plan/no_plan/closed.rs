//! Places round which no pit can stand.

use crate::{
    job::Job,
    pits::{Access, Footprint, Siting},
    plan::context::Context,
    site::Site,
};
use geo::Coord;

/// Whether every place for a pit at a station is closed, however far from it the corridor lets a pit stand.
///
/// Any pit holds the circle that touches its nearer sides. The corridor is covered with points so dense that every pit's
/// centre is near one of them: then a square round that point, so much smaller than the circle, lies within the pit. Where
/// the rules forbid all the squares, they forbid all pits: each keeps its distance from what it must keep away from, or
/// shares no ground with it, and part of a pit cannot break such a rule alone. Who gets there is left out.
///
/// A pit at a station stands no farther from it than the corridor: on the chord's foot, and the route keeps to the chord so.
pub fn no_pit_round(cx: &Context, station: Coord<f64>) -> bool {
    let job = cx.job();
    let (apart_m, half_m) = squares(job);
    let corridor_m = job.search.corridor_m + apart_m;
    let steps = (corridor_m / apart_m).ceil() as i64;
    let access = Access::new(&Site::default(), job);
    let siting = Siting {
        job,
        obstacles: &cx.world.obstacles,
        access: &access,
    };
    let closed = |centre: Coord<f64>| {
        let Some(ground_m) = cx.world.site.ground.level(station) else {
            return false;
        };
        let square = square(centre, half_m);
        let exempt = |part| cx.may_be_exempt(part);
        siting.standing(&square, ground_m, &exempt).is_none()
    };
    let offsets = || (-steps..=steps).map(|k| k as f64 * apart_m);
    let round = offsets().flat_map(|x| offsets().map(move |y| Coord { x, y }));
    round
        .filter(|d| d.x.hypot(d.y) <= corridor_m)
        .all(|d| closed(station + d))
}

/// How far the points that cover a corridor are apart, and half the side of the squares round them (m).
fn squares(job: &Job) -> (f64, f64) {
    let rig = &job.rig;
    let sides = [
        rig.launch_length_m,
        rig.launch_width_m,
        rig.reception_length_m,
        rig.reception_width_m,
    ];
    let circle_m = sides.into_iter().fold(f64::INFINITY, f64::min) / 2.0;
    let apart_m = 0.5 * circle_m;
    // A centre is at most half a diagonal of the cell between four points away from the nearest.
    let within_m = circle_m - apart_m * std::f64::consts::FRAC_1_SQRT_2;
    (apart_m, within_m * std::f64::consts::FRAC_1_SQRT_2)
}

fn square(centre: Coord<f64>, half_m: f64) -> Footprint {
    let corner = |x: f64, y: f64| centre + Coord { x, y } * half_m;
    Footprint {
        length_m: 2.0 * half_m,
        width_m: 2.0 * half_m,
        axis: Coord { x: 1.0, y: 0.0 },
        corners: [
            corner(-1.0, -1.0),
            corner(1.0, -1.0),
            corner(1.0, 1.0),
            corner(-1.0, 1.0),
        ],
    }
}
