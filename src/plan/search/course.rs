//! A straight line in plan, and what it is certain to pass: worked out once for all drives along it.

use super::pricing::buildings_near;
use crate::{
    clearance::{
        Depth, Encounter, LENGTH_TOLERANCE_M, Piece, Segment, ServicePart, crossing, nearest,
        segment_polygon_distance,
    },
    job::Side,
    plan::context::Context,
};
use geo::Coord;

/// At this distance along, an invert strictly between these levels is certain to clash.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// Distance along the course (m).
    pub along_m: f64,
    /// Lower limit.
    pub low: f64,
    /// Upper limit.
    pub high: f64,
}

/// A straight line in plan.
#[derive(Debug)]
pub struct Course {
    /// Certain clashes with services crossed at known depth.
    pub bands: Vec<Band>,
    /// By service part: where along the course a drive is certain to need a test hole for it (sorted, apart).
    proved: Vec<Vec<(f64, f64)>>,
}

impl Course {
    /// The line from `p` to `q`.
    ///
    /// Parts that may be exempt somewhere along the route are left out: there they do not count.
    pub fn new(cx: &Context, p: Coord<f64>, q: Coord<f64>) -> Course {
        let services = &cx.world.obstacles.services;
        let mut course = Course {
            bands: vec![],
            proved: vec![],
        };
        course.pass_under_buildings(cx, [p, q]);
        let ids = services.in_box([p, q], cx.concern_m);
        for group in ids.chunk_by(|a, b| a.0 == b.0) {
            let i = group[0].0;
            if !cx.may_be_exempt(i) {
                course.add(cx, [p, q], &services.parts[i], group.iter().map(|g| g.1));
            }
        }
        course
    }

    /// A drive nearer to a building in plan than it may be must pass so far under the foundation there.
    fn pass_under_buildings(&mut self, cx: &Context, [p, q]: [Coord<f64>; 2]) {
        const STEP_M: f64 = 1.0;
        let apart = cx.job().rules.clearance_building_m + cx.bore_mm / 2000.0 - LENGTH_TOLERANCE_M;
        let d = q - p;
        let length = d.x.hypot(d.y);
        let places = || {
            (0..)
                .map(|i| f64::from(i) * STEP_M)
                .take_while(|x| *x <= length)
        };
        for i in buildings_near(cx, [p, q]) {
            let prism = &cx.world.obstacles.buildings[i].1;
            for along_m in places() {
                let at = p + d * (along_m / length);
                let beside = segment_polygon_distance(at, at, &prism.outline).distance_m;
                if beside < apart {
                    let below = (apart * apart - beside * beside).sqrt();
                    let low = prism.base_m - below - cx.centre_above_invert_m();
                    self.bands.push(Band {
                        along_m,
                        low,
                        high: f64::INFINITY,
                    });
                }
            }
        }
    }

    fn add(
        &mut self,
        cx: &Context,
        ends: [Coord<f64>; 2],
        part: &ServicePart,
        pieces: impl Iterator<Item = usize>,
    ) {
        let mut proved: Vec<(f64, f64)> = vec![];
        for k in pieces {
            let piece = &part.pieces[k];
            match piece.depth {
                Depth::Known(z) => {
                    if let Some((t, share)) = crossing(ends[0], ends[1], piece.a, piece.b) {
                        let along_m = t * (ends[1] - ends[0]).x.hypot((ends[1] - ends[0]).y);
                        let level = z[0] + share * (z[1] - z[0]);
                        let lean = lean(cx, ends, piece, z);
                        self.bands.push(band(cx, (part, k), along_m, level, lean));
                        self.bands.extend(band_apart(cx, (part, k), along_m, level));
                    }
                }
                _ => proved.extend(proved_along(cx, ends, part, k)),
            }
        }
        proved.sort_by(|a, b| a.0.total_cmp(&b.0));
        proved.dedup_by(|b, a| {
            let joins = b.0 <= a.1;
            if joins {
                a.1 = a.1.max(b.1);
            }
            joins
        });
        if !proved.is_empty() {
            self.proved.push(proved);
        }
    }

    /// Fewest test holes that a drive between two distances along the course comes to: one for each part that it
    /// comes too near.
    pub fn holes(&self, from_m: f64, to_m: f64) -> usize {
        let meets = |spans: &Vec<(f64, f64)>| spans.iter().any(|s| s.0 < to_m && s.1 > from_m);
        self.proved.iter().filter(|s| meets(s)).count()
    }
}

/// Where along the course a drive is nearer to a piece of unknown depth than location error, the rig's least error and
/// the lesser of the required distances leave room for. (Within a distance of a straight piece a straight line has one
/// span: distance to a straight piece is convex.)
fn proved_along(
    cx: &Context,
    [p, q]: [Coord<f64>; 2],
    part: &ServicePart,
    k: usize,
) -> Option<(f64, f64)> {
    let (y, piece) = (&cx.yardstick, &part.pieces[k]);
    let crossing = part.asked_in_plan_m(Encounter::Crossing);
    let required = crossing.min(part.asked_in_plan_m(Encounter::Parallel));
    let located = part.limits_of(k).horizontal_m;
    let allowance = located.hypot(y.accuracy.setting_out_m);
    let within = y.bore_radius_m + part.radius_m + required + allowance - 2.0 * LENGTH_TOLERANCE_M;
    let d = q - p;
    let length = d.x.hypot(d.y);
    let (a, b) = piece.ends([0.0; 2]);
    let at = |t: f64| [p.x + d.x * t, p.y + d.y * t, 0.0];
    let line = Segment {
        a: at(0.0),
        b: at(1.0),
    };
    let n = nearest(&line, &Segment { a, b });
    if n.distance_m >= within {
        return None;
    }
    let far = |t: f64| {
        let point = Segment { a: at(t), b: at(t) };
        nearest(&point, &Segment { a, b }).distance_m >= within
    };
    Some((length * edge(n.s, 0.0, far), length * edge(n.s, 1.0, far)))
}

/// The last share from `inside` towards `end` that is not far, to a millionth of the way, on the near side.
fn edge(inside: f64, end: f64, far: impl Fn(f64) -> bool) -> f64 {
    if !far(end) {
        return end;
    }
    let (mut near, mut beyond) = (inside, end);
    for _ in 0..20 {
        let middle = 0.5 * (near + beyond);
        if far(middle) {
            beyond = middle;
        } else {
            near = middle;
        }
    }
    near
}

/// Levels certain to clash with a service crossed at `z`, whatever the grade of the drive.
///
/// The bore is no farther from the service than straight up or down. Let dz be that distance, θ the angle in plan, and
/// G = (steepest grade + slope of the service) / sin θ. Nearest points that lie r apart in plan lie at most r / sin θ from the
/// crossing along either line, so they differ in level by at least dz - G·r; they are no farther apart than dz, so
/// (dz - G·r)² + r² ≤ dz², and the vector between them leans at most 2G / (1 + G²) from the vertical (for G < 1). The
/// allowance is therefore at least that of a direction so inclined, with the rig's least error.
fn band(cx: &Context, (part, k): (&ServicePart, usize), along_m: f64, z: f64, lean: f64) -> Band {
    let y = &cx.yardstick;
    let limits = part.limits_of(k);
    let (h, v) = (limits.horizontal_m, limits.vertical_m);
    let located = if h < v {
        (h * lean).hypot(v * (1.0 - lean * lean).sqrt())
    } else {
        v
    };
    let allowance = located.hypot(y.accuracy.setting_out_m);
    let apart =
        y.bore_radius_m + part.radius_m + part.required.crossing_m + allowance - LENGTH_TOLERANCE_M;
    let invert = z - cx.centre_above_invert_m();
    Band {
        along_m,
        low: invert - apart,
        high: invert + apart,
    }
}

/// Levels certain to break the separation rule of a service crossed at `z`.
///
/// Where lines cross they are not apart in plan, so they must be in level, at the crossing too, with at least the rig's
/// least error.
fn band_apart(
    cx: &Context,
    (part, k): (&ServicePart, usize),
    along_m: f64,
    z: f64,
) -> Option<Band> {
    let (y, rule) = (&cx.yardstick, part.separation.as_ref()?);
    let allowance = part.limits_of(k).vertical_m.hypot(y.accuracy.setting_out_m);
    let apart = y.bore_radius_m + part.radius_m + rule.vertical_m + allowance - LENGTH_TOLERANCE_M;
    let invert = z - cx.centre_above_invert_m();
    Some(Band {
        along_m,
        low: invert - apart,
        high: match rule.service {
            Side::Above => f64::INFINITY,
            Side::Either => invert + apart,
        },
    })
}

/// How far from the vertical the shortest way between a drive from `p` to `q` and a piece that it crosses can lean (see
/// [`band`]); 1: any direction.
fn lean(cx: &Context, [p, q]: [Coord<f64>; 2], piece: &Piece, z: [f64; 2]) -> f64 {
    let (d, e) = (q - p, piece.b - piece.a);
    let (along, length) = (d.x.hypot(d.y), e.x.hypot(e.y));
    let sine = ((d.x * e.y - d.y * e.x) / (along * length)).abs();
    let slopes = cx.grade[1].abs().max(cx.grade[0].abs()) + ((z[1] - z[0]) / length).abs();
    let g = slopes / sine;
    if g < 1.0 {
        2.0 * g / (1.0 + g * g)
    } else {
        1.0
    }
}
