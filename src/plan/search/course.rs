//! A straight line in plan, and what it is certain to pass: worked out once for all drives along it.

use super::{grid::Grid, pricing::is_building_near};
use crate::{
    clearance::{
        Depth, Encounter, LENGTH_TOLERANCE_M, Piece, ServicePart, class_of, crossing, nearest,
        plan_angle_deg, plan_segment, segment_polygon_distance,
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
    /// It holds for lines no steeper than this.
    pub grade: f64,
    /// The service that it keeps beside, where it does not cross it.
    pub beside: Option<u32>,
}

/// The flatter a line, the more is certain of it: lines up to these grades are told apart, and from all that may be.
pub const GRADES: [f64; 2] = [0.02, 0.06];

/// A straight line in plan.
#[derive(Debug)]
pub struct Course {
    /// Certain clashes with services crossed at known depth, or passed too near.
    pub bands: Vec<Band>,
    /// By service part: where along the course a drive is certain to need a test hole for it (sorted, apart).
    proved: Vec<Vec<(f64, f64)>>,
}

impl Course {
    /// The line from `p` to `q`, positions of two stations.
    ///
    /// Parts that may be exempt somewhere along the route are left out: there they do not count.
    pub fn new(cx: &Context, grid: &Grid, stations: [usize; 2], [p, q]: [Coord<f64>; 2]) -> Course {
        let mut course = Course {
            bands: vec![],
            proved: vec![],
        };
        let line = Line::new(p, q);
        let mut open: Option<usize> = None;
        let mut spans: Vec<(f64, f64)> = vec![];
        for (part, piece) in grid.strip.close(stations) {
            if open != Some(part) {
                course.proved.extend(joined(std::mem::take(&mut spans)));
                open = Some(part);
            }
            course.add(cx, &line, (part, piece), &mut spans);
        }
        course.proved.extend(joined(spans));
        for i in grid.strip.buildings(stations) {
            if is_building_near(cx, [p, q], i) {
                course.pass_under_building(cx, [p, q], i);
            }
        }
        course
    }

    /// A drive nearer to a building in plan than it may be must pass so far under the foundation there.
    fn pass_under_building(&mut self, cx: &Context, [p, q]: [Coord<f64>; 2], building: usize) {
        const STEP_M: f64 = 1.0;
        let apart = cx.job().rules.clearance_building_m + cx.bore_mm / 2000.0 - LENGTH_TOLERANCE_M;
        let d = q - p;
        let length = d.x.hypot(d.y);
        let places = (0..).map(|i| f64::from(i) * STEP_M);
        let prism = &cx.world.obstacles.buildings[building].1;
        for along_m in places.take_while(|x| *x <= length) {
            let at = p + d * (along_m / length);
            let beside = segment_polygon_distance(at, at, &prism.outline).distance_m;
            if beside < apart {
                let below = (apart * apart - beside * beside).sqrt();
                let low = prism.base_m - below - cx.centre_above_invert_m();
                self.bands.push(Band {
                    along_m,
                    low,
                    high: f64::INFINITY,
                    grade: f64::INFINITY,
                    beside: None,
                });
            }
        }
    }

    /// A piece of known depth, at levels `z`, that the line passes without crossing it.
    ///
    /// A point of the bore and a point of the piece are never nearer than the bore and the piece; so where those two are too near
    /// for the least that may be asked, the piece is.
    fn pass_beside(&mut self, cx: &Context, line: &Line, (id, k): (usize, usize), z: [f64; 2]) {
        let part = &cx.world.obstacles.services.parts[id];
        let piece = &part.pieces[k];
        let (a, b) = (line.place(piece.a), line.place(piece.b));
        let widest = part.required_m(Encounter::Crossing);
        let widest = widest.max(part.required_m(Encounter::Parallel));
        let radii_and_error =
            cx.yardstick.bore_radius_m + part.radius_m + least_allowance_m(cx, (part, k), 1.0)
                - LENGTH_TOLERANCE_M;
        if a.1.abs().min(b.1.abs()) >= radii_and_error + widest {
            return;
        }
        let apart = radii_and_error + least_required_m(line, part, piece);
        let shares = between(b.0 - a.0, a.0, [0.0, line.length_m]);
        let Some((from, to)) = shares.map(|s| (s.0.max(0.0), s.1.min(1.0))) else {
            return;
        };
        for share in [from, to] {
            let at = |ends: [f64; 2]| ends[0] + share * (ends[1] - ends[0]);
            let aside = at([a.1, b.1]);
            if from <= to && aside.abs() < apart {
                let half = (apart * apart - aside * aside).sqrt();
                let invert = at(z) - cx.centre_above_invert_m();
                self.bands.push(Band {
                    along_m: at([a.0, b.0]),
                    low: invert - half,
                    high: invert + half,
                    grade: f64::INFINITY,
                    beside: Some(id as u32),
                });
            }
        }
    }

    fn add(
        &mut self,
        cx: &Context,
        line: &Line,
        (id, k): (usize, usize),
        spans: &mut Vec<(f64, f64)>,
    ) {
        let part = &cx.world.obstacles.services.parts[id];
        let piece = &part.pieces[k];
        match piece.depth {
            Depth::Known(z) => {
                if line.may_cross(piece)
                    && let Some((t, share)) = crossing(line.p, line.q, piece.a, piece.b)
                {
                    let level = z[0] + share * (z[1] - z[0]);
                    let (of, along_m) = ((part, k), t * line.length_m);
                    for grade in grades(cx) {
                        let lean = lean([line.p, line.q], piece, slope(piece, z) + grade);
                        let allowance_m = least_allowance_m(cx, of, lean);
                        let band = band(cx, part, [along_m, level], allowance_m, grade);
                        // What says next to nothing more than the one before, steeper lines included, replaces it.
                        let same = |b: &Band| b.along_m == along_m && b.high - band.high < 1e-4;
                        if self.bands.last().is_some_and(same) {
                            self.bands.pop();
                        }
                        self.bands.push(band);
                    }
                    self.bands.extend(band_apart(cx, of, along_m, level));
                } else {
                    self.pass_beside(cx, line, (id, k), z);
                }
            }
            _ => spans.extend(line.within(piece, proved_within_m(cx, part, k))),
        }
    }

    /// Fewest test holes that a drive between two distances along the course comes to: one for each part that it
    /// comes too near.
    pub fn holes(&self, from_m: f64, to_m: f64) -> usize {
        let meets = |spans: &Vec<(f64, f64)>| spans.iter().any(|s| s.0 < to_m && s.1 > from_m);
        self.proved.iter().filter(|s| meets(s)).count()
    }
}

/// Spans that touch made one; none where there is none.
fn joined(mut spans: Vec<(f64, f64)>) -> Option<Vec<(f64, f64)>> {
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    spans.dedup_by(|b, a| {
        let joins = b.0 <= a.1;
        if joins {
            a.1 = a.1.max(b.1);
        }
        joins
    });
    (!spans.is_empty()).then_some(spans)
}

/// Nearer than this in plan to a piece of unknown depth its depth matters: location error, the rig's least error and the lesser
/// of the required distances do not leave room for more (m).
pub fn proved_within_m(cx: &Context, part: &ServicePart, k: usize) -> f64 {
    let y = &cx.yardstick;
    let crossing = part.asked_in_plan_m(Encounter::Crossing);
    let required = crossing.min(part.asked_in_plan_m(Encounter::Parallel));
    let located = part.limits_of(k).horizontal_m;
    let allowance = located.hypot(y.accuracy.setting_out_m);
    y.bore_radius_m + part.radius_m + required + allowance - 2.0 * LENGTH_TOLERANCE_M
}

/// A straight line in plan, by direction.
pub struct Line {
    /// From ...
    pub p: Coord<f64>,
    /// ... to.
    pub q: Coord<f64>,
    u: Coord<f64>,
    /// Length (m).
    pub length_m: f64,
}

impl Line {
    /// From `p` to `q`.
    pub fn new(p: Coord<f64>, q: Coord<f64>) -> Line {
        let d = q - p;
        let length_m = d.x.hypot(d.y);
        Line {
            p,
            q,
            u: d / length_m,
            length_m,
        }
    }

    /// Distances of a point along the line and to the left of it.
    pub fn place(&self, at: Coord<f64>) -> (f64, f64) {
        let (w, u) = (at - self.p, self.u);
        (w.x * u.x + w.y * u.y, u.x * w.y - u.y * w.x)
    }

    /// A piece may cross the line.
    pub fn may_cross(&self, piece: &Piece) -> bool {
        let (a, b) = (self.place(piece.a).1, self.place(piece.b).1);
        // a hair, for the rounding of whoever looks closer
        a.min(b) < 1e-6 && a.max(b) > -1e-6
    }

    /// Where along the line a point of it is nearer to a piece than `within_m`. (One span: distance to a straight piece is
    /// convex.)
    pub fn within(&self, piece: &Piece, within_m: f64) -> Option<(f64, f64)> {
        let (a, b) = (self.place(piece.a), self.place(piece.b));
        if a.1.min(b.1) >= within_m || a.1.max(b.1) <= -within_m || within_m <= 0.0 {
            return None;
        }
        let mut span = (f64::INFINITY, f64::NEG_INFINITY);
        let mut take = |from: f64, to: f64| span = (span.0.min(from), span.1.max(to));
        for (along, aside) in [a, b] {
            if aside.abs() < within_m {
                let half = (within_m * within_m - aside * aside).sqrt();
                take(along - half, along + half);
            }
        }
        // Beside the piece itself: where its foot lies between its ends and it is near enough.
        let (dx, dy) = (b.0 - a.0, b.1 - a.1);
        let length = dx.hypot(dy);
        if length > 0.0 {
            let (ux, uy) = (dx / length, dy / length);
            // of the point x along the line: the foot at (x - a.0)·ux - a.1·uy, the distance (x - a.0)·uy + a.1·ux
            let foot = between(ux, -a.0 * ux - a.1 * uy, [0.0, length]);
            let near = between(uy, -a.0 * uy + a.1 * ux, [-within_m, within_m]);
            if let (Some(f), Some(n)) = (foot, near) {
                let (from, to) = (f.0.max(n.0), f.1.min(n.1));
                if from < to {
                    take(from, to);
                }
            }
        }
        let (from, to) = (span.0.max(0.0), span.1.min(self.length_m));
        (from < to).then_some((from, to))
    }
}

/// The x for which `slope`·x + `start` lies between two limits; none where there is none.
pub fn between(slope: f64, start: f64, [low, high]: [f64; 2]) -> Option<(f64, f64)> {
    if slope.abs() < 1e-12 {
        return (start > low && start < high).then_some((f64::NEG_INFINITY, f64::INFINITY));
    }
    let (x, y) = ((low - start) / slope, (high - start) / slope);
    Some((x.min(y), x.max(y)))
}

/// Levels certain to clash with a service crossed at `z`, for drives up to a grade.
///
/// The bore is no farther from the service than straight up or down. Let dz be that distance, θ the angle in plan, and
/// G = (steepest grade + slope of the service) / sin θ. Nearest points that lie r apart in plan lie at most r / sin θ from the
/// crossing along either line, so they differ in level by at least dz - G·r; they are no farther apart than dz, so
/// (dz - G·r)² + r² ≤ dz², and the vector between them leans at most 2G / (1 + G²) from the vertical (for G < 1). The
/// allowance is therefore at least that of a direction so inclined, with the rig's least error.
fn band(
    cx: &Context,
    part: &ServicePart,
    [along_m, z]: [f64; 2],
    allowance_m: f64,
    grade: f64,
) -> Band {
    let apart = apart_m(cx, part, allowance_m);
    let invert = z - cx.centre_above_invert_m();
    Band {
        along_m,
        low: invert - apart,
        high: invert + apart,
        grade,
        beside: None,
    }
}

/// Nearer than this to the centre of a service that it crosses a bore's certainly clashes, with such an allowance (m).
pub fn apart_m(cx: &Context, part: &ServicePart, allowance_m: f64) -> f64 {
    let radii = cx.yardstick.bore_radius_m + part.radius_m;
    radii + part.required.crossing_m + allowance_m - LENGTH_TOLERANCE_M
}

/// Least allowance for a piece that leans no more than so far from the vertical above or below the bore (see [`band`]); 1: any
/// way.
pub fn least_allowance_m(cx: &Context, (part, k): (&ServicePart, usize), lean: f64) -> f64 {
    let limits = part.limits_of(k);
    let (h, v) = (limits.horizontal_m, limits.vertical_m);
    let located = if h < v {
        (h * lean).hypot(v * (1.0 - lean * lean).sqrt())
    } else {
        v
    };
    located.hypot(cx.yardstick.accuracy.setting_out_m)
}

/// The least distance that is asked of a piece by any drive along a line: it crosses them where it lies across or its straight
/// part meets them, which it does only if that meets the line.
fn least_required_m(line: &Line, part: &ServicePart, piece: &Piece) -> f64 {
    let [crossing, parallel] =
        [Encounter::Crossing, Encounter::Parallel].map(|class| part.required_m(class));
    let (p, q) = (line.p, line.q);
    match class_of(false, plan_angle_deg(piece.direction, p, q)) {
        Encounter::Crossing => crossing,
        Encounter::Parallel if parallel > crossing => {
            // a hair longer and wider than any drive
            let (drive, _) = plan_segment(p, q);
            let near =
                |w: &[Coord<f64>]| nearest(&drive, &plan_segment(w[0], w[1]).0).distance_m <= 1e-5;
            if part.straights[piece.straight].windows(2).any(near) {
                crossing
            } else {
                parallel
            }
        }
        Encounter::Parallel => parallel,
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
        grade: f64::INFINITY,
        beside: None,
    })
}

/// Grades of lines told apart, and the greatest that may be.
pub fn grades(cx: &Context) -> impl Iterator<Item = f64> {
    let most = cx.grade[1].abs().max(cx.grade[0].abs());
    let flatter = GRADES.into_iter().filter(move |g| *g < most);
    flatter.chain([most])
}

/// Fall of a piece, or rise, by its length; +inf of a vertical one.
pub fn slope(piece: &Piece, z: [f64; 2]) -> f64 {
    let e = piece.b - piece.a;
    ((z[1] - z[0]) / e.x.hypot(e.y)).abs()
}

/// How far from the vertical the shortest way between a drive from `p` to `q` and a piece that it crosses can lean (see
/// [`band`]), their slopes together no more than `slopes`; 1: any direction.
pub fn lean([p, q]: [Coord<f64>; 2], piece: &Piece, slopes: f64) -> f64 {
    let (d, e) = (q - p, piece.b - piece.a);
    lean_by_sine(sine(d, e), slopes)
}

/// Sine of the angle between two lines in plan.
pub fn sine(d: Coord<f64>, e: Coord<f64>) -> f64 {
    let (along, length) = (d.x.hypot(d.y), e.x.hypot(e.y));
    ((d.x * e.y - d.y * e.x) / (along * length)).abs()
}

/// The same by the sine of the angle between the two in plan.
pub fn lean_by_sine(sine: f64, slopes: f64) -> f64 {
    let g = slopes / sine;
    if g < 1.0 {
        2.0 * g / (1.0 + g * g)
    } else {
        1.0
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    fn piece(a: (f64, f64), b: (f64, f64)) -> Piece {
        Piece {
            a: coord! {x: a.0, y: a.1},
            b: coord! {x: b.0, y: b.1},
            depth: Depth::Known([0.0; 2]),
            direction: None,
            straight: 0,
        }
    }

    /// The same by looking at every millimetre.
    fn looked_at(line: &Line, piece: &Piece, within_m: f64) -> Option<(f64, f64)> {
        let near = |x: &f64| {
            crate::clearance::nearest_2d(line.p + line.u * *x, piece.a, piece.b) < within_m
        };
        let all = (0..=(line.length_m * 1000.0) as usize).map(|i| i as f64 / 1000.0);
        let near: Vec<f64> = all.filter(near).collect();
        Some((*near.first()?, *near.last()?))
    }

    #[test]
    fn a_line_is_near_a_piece_along_one_span() {
        let line = Line::new(coord! {x: 3.0, y: -1.0}, coord! {x: 15.0, y: 4.0});
        let pieces = [
            piece((5.0, -3.0), (6.0, 4.0)),
            piece((4.0, 0.0), (14.0, 4.2)),
            piece((3.0, -1.2), (2.0, -1.0)),
            piece((16.0, 5.0), (15.5, 3.0)),
            piece((9.0, 9.0), (10.0, 8.0)),
            piece((8.0, 1.0), (8.0, 1.0)),
        ];
        for p in &pieces {
            for within_m in [0.3, 0.8, 2.0, 7.0] {
                let (got, want) = (line.within(p, within_m), looked_at(&line, p, within_m));
                match (got, want) {
                    (Some(g), Some(w)) => {
                        assert!(
                            (g.0 - w.0).abs() < 2e-3 && (g.1 - w.1).abs() < 2e-3,
                            "{g:?} {w:?}"
                        );
                    }
                    (g, w) => assert!(g.is_none() && w.is_none(), "{g:?} {w:?} {within_m}"),
                }
            }
        }
    }
}
