//! Nearest points of two straight lines in space.

/// A point: x, y (plan), z (level), metres.
pub type Point = [f64; 3];

/// Of equally near points the one farthest along is taken; this is how equal "equally" is (m).
pub const EQUALLY_NEAR_M: f64 = 1e-6;

/// a - b.
#[inline]
pub fn sub(a: Point, b: Point) -> Point {
    [a[0] - b[0], a[1] - b[1], a[2] - b[2]]
}

/// Scalar product.
#[inline]
pub fn dot(a: Point, b: Point) -> f64 {
    a[0] * b[0] + a[1] * b[1] + a[2] * b[2]
}

/// a + t·d.
#[inline]
pub fn along(a: Point, d: Point, t: f64) -> Point {
    [a[0] + t * d[0], a[1] + t * d[1], a[2] + t * d[2]]
}

/// The same point at level 0, for distances in plan.
#[inline]
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

impl Segment {
    /// Its nearest point to another.
    pub fn nearest_to(&self, p: Point) -> Point {
        let e = sub(self.b, self.a);
        let ee = dot(e, e);
        let share = if ee > 0.0 {
            dot(sub(p, self.a), e) / ee
        } else {
            0.0
        };
        along(self.a, e, share.clamp(0.0, 1.0))
    }
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
/// squared distance = `a`·s² + 2·`b`·s + `c` for s up to `hi`.
#[derive(Clone, Copy)]
struct Stretch {
    hi: f64,
    a: f64,
    b: f64,
    c: f64,
    /// Where it is lowest, and how low.
    lowest: f64,
    least_sq: f64,
}

impl Stretch {
    const NONE: Stretch = Stretch {
        hi: 0.0,
        a: 0.0,
        b: 0.0,
        c: 0.0,
        lowest: 0.0,
        least_sq: f64::INFINITY,
    };

    #[inline]
    fn new((lo, hi): (f64, f64), a: f64, b: f64, c: f64) -> Stretch {
        let lowest = if a > 0.0 {
            let s = -b / a;
            // Not f64::clamp, which minds what is no number.
            if s < lo {
                lo
            } else if s > hi {
                hi
            } else {
                s
            }
        } else {
            lo
        };
        let mut stretch = Stretch {
            hi,
            a,
            b,
            c,
            lowest,
            least_sq: 0.0,
        };
        stretch.least_sq = stretch.sq(lowest);
        stretch
    }

    #[inline]
    fn sq(&self, s: f64) -> f64 {
        let sq = (self.a * s + 2.0 * self.b) * s + self.c;
        if sq > 0.0 { sq } else { 0.0 }
    }

    /// Largest s of the stretch with squared distance ≤ `limit_sq`.
    #[inline]
    fn last_within(&self, limit_sq: f64) -> Option<f64> {
        if self.sq(self.hi) <= limit_sq {
            return Some(self.hi);
        }
        let s0 = self.lowest;
        let rest = self.least_sq - limit_sq;
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
    #[inline]
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
    #[inline]
    pub fn other(&self, s: f64) -> Point {
        along(self.line_a, self.e, (self.t0 + s * self.t1).clamp(0.0, 1.0))
    }

    /// Least distance (m), and a share at which it is.
    #[inline]
    pub fn least(&self) -> (f64, f64) {
        let mut lowest = &self.stretches[0];
        for stretch in &self.stretches[1..self.n] {
            if stretch.least_sq < lowest.least_sq {
                lowest = stretch;
            }
        }
        let s = lowest.lowest;
        // From the points themselves: the quadratic loses its small values to rounding where the lines all but meet.
        let gap = sub(along(self.drive_a, self.d, s), self.other(s));
        (dot(gap, gap).sqrt(), s)
    }

    /// Largest share that is no farther than `limit_m`; none where no part of the drive is.
    #[inline]
    pub fn last_within(&self, limit_m: f64) -> Option<f64> {
        // The stretches follow each other: the last that has such a share has the largest.
        let mut stretches = self.stretches[..self.n].iter().rev();
        stretches.find_map(|r| r.last_within(limit_m * limit_m))
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
#[inline]
fn stretches(d: Point, e: Point, w: Point, t0: f64, t1: f64) -> ([Stretch; 3], usize) {
    let dd = dot(d, d);
    let at_point = |span: (f64, f64), w: Point| Stretch::new(span, dd, dot(d, w), dot(w, w));
    let inside = |span: (f64, f64)| {
        let (v, u) = (along(d, e, -t1), along(w, e, -t0));
        Stretch::new(span, dot(v, v), dot(v, u), dot(u, u))
    };
    let mut out = [Stretch::NONE; 3];
    let mut n = 0;
    let end = sub(w, e);
    if t1.abs() < 1e-300 {
        out[0] = if t0 <= 0.0 {
            at_point((0.0, 1.0), w)
        } else if t0 >= 1.0 {
            at_point((0.0, 1.0), end)
        } else {
            inside((0.0, 1.0))
        };
        return (out, 1);
    }
    let (at_start, at_end) = (-t0 / t1, (1.0 - t0) / t1);
    let ((enters, at), (leaves, then)) = if t1 > 0.0 {
        ((at_start, w), (at_end, end))
    } else {
        ((at_end, end), (at_start, w))
    };
    if enters >= 0.0 {
        out[n] = at_point((0.0, enters.min(1.0)), at);
        n += 1;
    }
    let (from, to) = (enters.max(0.0), leaves.min(1.0));
    if to >= from {
        out[n] = inside((from, to));
        n += 1;
    }
    if leaves <= 1.0 {
        out[n] = at_point((leaves.max(0.0), 1.0), then);
        n += 1;
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

    #[test]
    fn the_nearest_point_of_a_line_to_a_point_is_that_to_a_line_without_length() {
        let line = seg([1., 2., 3.], [4., -2., 5.]);
        for p in [
            [0., 0., 0.],
            [2.2, 0.1, 4.5],
            [9., -9., 9.],
            [2.5, 0.0, 4.0],
        ] {
            assert_eq!(line.nearest_to(p), nearest(&seg(p, p), &line).other);
        }
        let point = seg([1., 2., 3.], [1., 2., 3.]);
        assert_eq!(point.nearest_to([7., 8., 9.]), [1., 2., 3.]);
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
