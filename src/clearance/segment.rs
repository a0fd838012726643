//! Nearest points of two straight lines in space.

/// A point: x, y (plan), z (level), metres.
pub type Point = [f64; 3];

/// Of equally near points the one farthest along is taken; this is how equal "equally" is (m).
pub const EQUALLY_NEAR_M: f64 = 1e-6;

/// a - b.
pub fn sub(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// Scalar product.
pub fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// a + t·d.
pub fn along(a: Point, d: Point, t: f64) -> Point {
    [a[0] + t * d[0], a[1] + t * d[1], a[2] + t * d[2]]
}

/// The same point at level 0, for distances in plan.
pub fn flat(a: Point) -> Point {
    [a[0], a[1], 0.0]
}

/// A straight line between two points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Segment {
    /// Start.
    pub a: Point,
    /// End.
    pub b: Point,
}

/// Nearest points of a drive and something else.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Nearest {
    /// Distance (m).
    pub distance_m: f64,
    /// Where on the drive, 0 at its start to 1 at its end.
    pub s: f64,
    /// The point on the other thing.
    pub other: Point,
}

/// A stretch of the drive over which the nearest point of the other line moves evenly:
/// squared distance = `a`·s² + 2·`b`·s + `c` for s from `lo` to `hi`.
#[derive(Clone, Copy)]
struct Stretch {
    lo: f64,
    hi: f64,
    a: f64,
    b: f64,
    c: f64,
}

impl Stretch {
    fn sq(&self, s: f64) -> f64 {
        ((self.a * s + 2.0 * self.b) * s + self.c).max(0.0)
    }

    fn lowest(&self) -> f64 {
        if self.a > 0.0 {
            (-self.b / self.a).clamp(self.lo, self.hi)
        } else {
            self.lo
        }
    }

    /// Largest s of the stretch with squared distance ≤ `limit_sq`.
    fn last_within(&self, limit_sq: f64) -> Option<f64> {
        if self.sq(self.hi) <= limit_sq {
            return Some(self.hi);
        }
        let s0 = self.lowest();
        let rest = self.sq(s0) - limit_sq;
        if rest > 0.0 {
            return None;
        }
        let slope = self.a * s0 + self.b;
        let root = (-slope + (slope * slope - self.a * rest).max(0.0).sqrt()) / self.a;
        Some((s0 + root.max(0.0)).min(self.hi))
    }
}

/// How far a drive is from a straight line all along it, worked out once for several questions.
///
/// Distance along the drive is a convex function, quadratic on at most three stretches (the line's near point at its
/// start, inside it, at its end), so both the least and the farthest are in closed form.
pub struct Apart {
    drive_a: Point,
    d: Point,
    line_a: Point,
    e: Point,
    t0: f64,
    t1: f64,
    stretches: [Stretch; 3],
    n: usize,
}

impl Apart {
    /// Of a drive and a line; either may be a single point.
    pub fn new(drive: &Segment, line: &Segment) -> Apart {
        let (d, e) = (sub(drive.b, drive.a), sub(line.b, line.a));
        let w = sub(drive.a, line.a);
        let ee = dot(e, e);
        let (t0, t1) = if ee > 0.0 {
            (dot(w, e) / ee, dot(d, e) / ee)
        } else {
            (0.0, 0.0)
        };
        let (stretches, n) = stretches(d, e, w, t0, t1);
        Apart {
            drive_a: drive.a,
            d,
            line_a: line.a,
            e,
            t0,
            t1,
            stretches,
            n,
        }
    }

    /// The line's nearest point to the drive at share `s`.
    pub fn other(&self, s: f64) -> Point {
        along(self.line_a, self.e, (self.t0 + s * self.t1).clamp(0.0, 1.0))
    }

    /// Least distance (m), and a share at which it is.
    pub fn least(&self) -> (f64, f64) {
        let lowest = |r: &Stretch| {
            let s = r.lowest();
            (r.sq(s), s)
        };
        let lowest = self.stretches[..self.n]
            .iter()
            .map(lowest)
            .min_by(|x, y| x.0.total_cmp(&y.0));
        let s = lowest.expect("the drive lies on at least one stretch").1;
        // From the points themselves: the quadratic loses its small values to rounding where the lines all but meet.
        let gap = sub(along(self.drive_a, self.d, s), self.other(s));
        (dot(gap, gap).sqrt(), s)
    }

    /// Largest share that is no farther than `limit_m`; none where no part of the drive is.
    pub fn last_within(&self, limit_m: f64) -> Option<f64> {
        self.stretches[..self.n]
            .iter()
            .filter_map(|r| r.last_within(limit_m * limit_m))
            .reduce(f64::max)
    }
}

/// Nearest points of `drive` and `line`; of equally near ones the one farthest from the drive's start.
///
/// Either may be a single point.
///
/// # Units
/// Metres; `distance_m` is between centre lines, never negative.
pub fn nearest(drive: &Segment, line: &Segment) -> Nearest {
    let apart = Apart::new(drive, line);
    let (distance_m, least_at) = apart.least();
    let farthest = apart.last_within(distance_m + EQUALLY_NEAR_M);
    let s = farthest.map_or(least_at, |s| s.max(least_at));
    Nearest {
        distance_m,
        s,
        other: apart.other(s),
    }
}

/// The stretches of [`Apart`]: where the near point of the line is its start, inside, its end.
fn stretches(d: Point, e: Point, w: Point, t0: f64, t1: f64) -> ([Stretch; 3], usize) {
    let dd = dot(d, d);
    let at_point = |lo: f64, hi: f64, w: Point| Stretch {
        lo,
        hi,
        a: dd,
        b: dot(d, w),
        c: dot(w, w),
    };
    let inside = |lo: f64, hi: f64| {
        let (v, u) = (along(d, e, -t1), along(w, e, -t0));
        Stretch {
            lo,
            hi,
            a: dot(v, v),
            b: dot(v, u),
            c: dot(u, u),
        }
    };
    let mut out = [at_point(0.0, 1.0, w); 3];
    let mut n = 0;
    let mut push = |r: Stretch| {
        if r.hi >= r.lo {
            out[n] = r;
            n += 1;
        }
    };
    let end = sub(w, e);
    if t1.abs() < 1e-300 {
        push(if t0 <= 0.0 {
            at_point(0.0, 1.0, w)
        } else if t0 >= 1.0 {
            at_point(0.0, 1.0, end)
        } else {
            inside(0.0, 1.0)
        });
        return (out, n);
    }
    let (at_start, at_end) = (-t0 / t1, (1.0 - t0) / t1);
    if t1 > 0.0 {
        push(at_point(0.0, at_start.min(1.0), w));
        push(inside(at_start.max(0.0), at_end.min(1.0)));
        push(at_point(at_end.max(0.0), 1.0, end));
    } else {
        push(at_point(0.0, at_end.min(1.0), end));
        push(inside(at_end.max(0.0), at_start.min(1.0)));
        push(at_point(at_start.max(0.0), 1.0, w));
    }
    (out, n)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn seg(a: Point, b: Point) -> Segment {
        Segment { a, b }
    }

    #[test]
    fn a_crossing_main_above_is_as_far_as_it_is_above() {
        let n = nearest(
            &seg([0., 0., 10.], [20., 0., 10.]),
            &seg([10., -5., 11.5], [10., 5., 11.5]),
        );
        assert!((n.distance_m - 1.5).abs() < 1e-12);
        // equally near within 1e-6 m: a millimetre or two past the crossing itself
        assert!((n.s * 20.0 - 10.0).abs() < 0.002 && n.s >= 0.5);
    }

    #[test]
    fn of_a_parallel_line_the_farthest_equally_near_point_counts() {
        let n = nearest(
            &seg([0., 0., 0.], [20., 0., 0.]),
            &seg([15., 2., 0.], [5., 2., 0.]),
        );
        assert!((n.distance_m - 2.0).abs() < 1e-12);
        // past the end of the line by what 1e-6 m of distance allows
        assert!((n.s * 20.0 - (15.0 + (2.0f64 * 2.0 * 1e-6).sqrt())).abs() < 1e-5);
        assert_eq!(n.other[0], 15.0);
    }

    #[test]
    fn a_point_is_a_line_too() {
        let n = nearest(
            &seg([0., 0., 0.], [10., 0., 0.]),
            &seg([4., 3., 0.], [4., 3., 0.]),
        );
        assert!((n.distance_m - 3.0).abs() < 1e-12);
    }

    /// Handbook W5.1: bore axis (0,0,97.80)-(30,0,97.50), gas axis (12,-5,98.60)-(12,5,98.50): 0.8699 m.
    #[test]
    fn worked_crossing_of_a_gas_main() {
        let n = nearest(
            &seg([0., 0., 97.80], [30., 0., 97.50]),
            &seg([12., -5., 98.60], [12., 5., 98.50]),
        );
        assert!((n.distance_m - 0.8699).abs() < 5e-5);
    }
}
