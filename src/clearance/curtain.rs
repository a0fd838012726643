//! Nearest points of a drive and a curtain: a service whose depth is not known may be anywhere between two levels.

use super::segment::{EQUALLY_NEAR_M, Nearest, Point, Segment, along, dot, flat, nearest, sub};

/// A plane vertical quadrilateral below a straight plan line.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Curtain {
    /// Plan start (level ignored).
    pub a: Point,
    /// Plan end (level ignored).
    pub b: Point,
    /// Lowest level at start and end.
    pub low: [f64; 2],
    /// Highest level at start and end.
    pub high: [f64; 2],
}

impl Curtain {
    fn level(&self, ends: [f64; 2], t: f64) -> f64 {
        ends[0] + t * (ends[1] - ends[0])
    }

    fn corner(&self, t: f64, ends: [f64; 2]) -> Point {
        let p = if t == 0.0 { self.a } else { self.b };
        [p[0], p[1], self.level(ends, t)]
    }

    fn edges(&self) -> [Segment; 4] {
        let (a0, b0) = (self.corner(0.0, self.low), self.corner(1.0, self.low));
        let (a1, b1) = (self.corner(0.0, self.high), self.corner(1.0, self.high));
        [Segment { a: a0, b: b0 }, Segment { a: a1, b: b1 }, Segment { a: a0, b: a1 }, Segment { a: b0, b: b1 }]
    }

    /// Share of the way from start to end where `p` is nearest in plan, unclamped.
    fn share(&self, p: Point) -> f64 {
        let e = flat(sub(self.b, self.a));
        let len_sq = dot(e, e);
        if len_sq > 0.0 { dot(flat(sub(p, self.a)), e) / len_sq } else { 0.0 }
    }

    /// Nearest point of the curtain to `p`.
    fn nearest_to(&self, p: Point) -> Point {
        let t = self.share(p);
        if (0.0..=1.0).contains(&t) && p[2] >= self.level(self.low, t) && p[2] <= self.level(self.high, t) {
            let q = along(self.a, sub(self.b, self.a), t);
            return [q[0], q[1], p[2]];
        }
        let point = Segment { a: p, b: p };
        let of = |e: &Segment| nearest(&point, e);
        let best = self.edges().iter().map(of).min_by(|x, y| x.distance_m.total_cmp(&y.distance_m));
        best.expect("a curtain has four edges").other
    }

    fn distance_at(&self, drive: &Segment, s: f64) -> f64 {
        let p = along(drive.a, sub(drive.b, drive.a), s);
        let v = sub(p, self.nearest_to(p));
        dot(v, v).sqrt()
    }

    /// Where the drive goes through the curtain's plane, if it does.
    fn pierced_at(&self, drive: &Segment) -> Option<f64> {
        let e = sub(self.b, self.a);
        let side = |p: Point| e[0] * (p[1] - self.a[1]) - e[1] * (p[0] - self.a[0]);
        let (s0, s1) = (side(drive.a), side(drive.b));
        (s0 * s1 <= 0.0 && s0 != s1).then(|| s0 / (s0 - s1))
    }
}

/// Nearest points of `drive` and `curtain`; of equally near ones the one farthest from the drive's start.
///
/// # Units
/// Metres; the distance is between the drive's centre line and the curtain.
pub fn nearest_curtain(drive: &Segment, curtain: &Curtain) -> Nearest {
    // The least distance to a plane convex figure is at an edge of it, at an end of the drive, or where it goes through.
    let at_edges = curtain.edges().map(|e| nearest(drive, &e)).map(|n| (n.distance_m, n.s));
    let at_ends = [0.0, 1.0].map(|s| (curtain.distance_at(drive, s), s));
    let through = curtain.pierced_at(drive).map(|s| (curtain.distance_at(drive, s), s));
    let (distance_m, s) = at_edges
        .into_iter()
        .chain(at_ends)
        .chain(through)
        .min_by(|x, y| x.0.total_cmp(&y.0))
        .expect("edges and ends are always there");
    let s = farthest_within(|s| curtain.distance_at(drive, s), s, distance_m + EQUALLY_NEAR_M);
    let p = along(drive.a, sub(drive.b, drive.a), s);
    Nearest { distance_m, s, other: curtain.nearest_to(p) }
}

/// Largest s from `s0` to 1 with f(s) ≤ limit, for a convex f with f(s0) ≤ limit.
fn farthest_within(f: impl Fn(f64) -> f64, s0: f64, limit: f64) -> f64 {
    if f(1.0) <= limit {
        return 1.0;
    }
    let (mut within, mut beyond) = (s0, 1.0);
    for _ in 0..60 {
        let mid = 0.5 * (within + beyond);
        if f(mid) <= limit {
            within = mid;
        } else {
            beyond = mid;
        }
    }
    within
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curtain() -> Curtain {
        Curtain { a: [10., -5., 0.], b: [10., 5., 0.], low: [8., 8.5], high: [9., 9.5] }
    }

    #[test]
    fn a_bore_through_the_band_meets_it() {
        let n = nearest_curtain(&Segment { a: [0., 0., 9.], b: [20., 0., 8.8] }, &curtain());
        assert!(n.distance_m < 1e-12);
    }

    #[test]
    fn a_bore_below_the_band_is_as_far_as_it_is_below() {
        let n = nearest_curtain(&Segment { a: [0., 0., 7.], b: [20., 0., 7.] }, &curtain());
        // the lower edge falls 0.5 in 10: distance is square to it
        let below = 8.25 - 7.0;
        assert!(n.distance_m <= below && n.distance_m > below * 0.99);
    }

    #[test]
    fn a_bore_beside_the_band_is_as_far_as_it_is_beside() {
        let n = nearest_curtain(&Segment { a: [12., -8., 8.8], b: [12., 8., 8.8] }, &curtain());
        assert!((n.distance_m - 2.0).abs() < 1e-12);
        // the farthest of the equally near points is on the curtain's far side
        assert!(n.other[1] > 4.0, "{n:?}");
    }
}
