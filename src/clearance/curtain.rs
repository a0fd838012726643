//! Nearest points of a drive and a curtain: a service whose depth is not known may be anywhere between two levels.

use super::segment::{Apart, EQUALLY_NEAR_M, Nearest, Point, Segment, along, dot, flat, sub};

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

/// A number that changes evenly along the drive: at share s it is `.0` + s·`.1`.
#[derive(Clone, Copy)]
struct Even(f64, f64);

impl Even {
    fn at(self, s: f64) -> f64 {
        self.0 + s * self.1
    }

    fn minus(self, other: Even) -> Even {
        Even(self.0 - other.0, self.1 - other.1)
    }

    /// Narrows `span` to where the number is not below `least`.
    fn keep_from(self, least: f64, span: &mut (f64, f64)) {
        let (from, to) = (self.at(span.0) - least, self.at(span.1) - least);
        if from < 0.0 && to < 0.0 {
            *span = (1.0, 0.0);
        } else if from < 0.0 {
            span.0 = (least - self.0) / self.1;
        } else if to < 0.0 {
            span.1 = (least - self.0) / self.1;
        }
    }
}

/// The drive as seen from the curtain's plane.
struct Face {
    /// Square to the plane (m).
    off: Even,
    /// Share of the curtain's plan line.
    share: Even,
    /// Above the lower edge, and below the upper (m).
    above: Even,
    below: Even,
}

impl Curtain {
    fn edges(&self) -> [Segment; 4] {
        let [a, b] = [self.a, self.b];
        let at = |p: Point, z: f64| [p[0], p[1], z];
        let (a0, b0, a1, b1) = (
            at(a, self.low[0]),
            at(b, self.low[1]),
            at(a, self.high[0]),
            at(b, self.high[1]),
        );
        [
            Segment { a: a0, b: b0 },
            Segment { a: a1, b: b1 },
            Segment { a: a0, b: a1 },
            Segment { a: b0, b: b1 },
        ]
    }

    fn face(&self, drive: &Segment) -> Option<Face> {
        let e = flat(sub(self.b, self.a));
        let length_sq = dot(e, e);
        if length_sq == 0.0 {
            return None;
        }
        let length = length_sq.sqrt();
        let (w, d) = (flat(sub(drive.a, self.a)), flat(sub(drive.b, drive.a)));
        let across = |v: Point| (e[0] * v[1] - e[1] * v[0]) / length;
        let share = Even(dot(w, e) / length_sq, dot(d, e) / length_sq);
        let level = Even(drive.a[2], drive.b[2] - drive.a[2]);
        let edge = |z: [f64; 2]| Even(z[0] + share.0 * (z[1] - z[0]), share.1 * (z[1] - z[0]));
        Some(Face {
            off: Even(across(w), across(d)),
            share,
            above: level.minus(edge(self.low)),
            below: edge(self.high).minus(level),
        })
    }
}

impl Face {
    /// Where the drive is square off the curtain itself; empty (from > to) where it nowhere is.
    fn span(&self) -> (f64, f64) {
        let mut span = (0.0, 1.0);
        self.share.keep_from(0.0, &mut span);
        for limit in [
            Even(1.0 - self.share.0, -self.share.1),
            self.above,
            self.below,
        ] {
            if span.0 <= span.1 {
                limit.keep_from(0.0, &mut span);
            }
        }
        span
    }

    /// Least distance square off the curtain, and where.
    fn least(&self) -> Option<(f64, f64)> {
        let (from, to) = self.span();
        if from > to {
            return None;
        }
        let (a, b) = (self.off.at(from), self.off.at(to));
        if a * b <= 0.0 && a != b {
            return Some((0.0, from + (to - from) * (a / (a - b))));
        }
        Some(if a.abs() <= b.abs() {
            (a.abs(), from)
        } else {
            (b.abs(), to)
        })
    }

    /// Largest share at which the drive is square off the curtain and no farther from it than `limit`.
    fn last_within(&self, limit: f64) -> Option<f64> {
        let mut span = self.span();
        for side in [self.off, Even(-self.off.0, -self.off.1)] {
            if span.0 <= span.1 {
                side.keep_from(-limit, &mut span);
            }
        }
        (span.0 <= span.1).then_some(span.1)
    }
}

/// An edge this much farther than the nearest place is neither nearest nor equally near, whatever rounding does (m).
const BEYOND_M: f64 = 1e-3;
const _: () = assert!(BEYOND_M > 100.0 * EQUALLY_NEAR_M);

/// Distance of a drive and a point in plan.
fn in_plan(drive: &Segment, p: Point) -> f64 {
    let (d, w) = (flat(sub(drive.b, drive.a)), flat(sub(p, drive.a)));
    let length_sq = dot(d, d);
    let s = match length_sq > 0.0 {
        true => (dot(w, d) / length_sq).clamp(0.0, 1.0),
        false => 0.0,
    };
    let gap = along(w, d, -s);
    dot(gap, gap).sqrt()
}

/// Nearest points of `drive` and `curtain`; of equally near ones the one farthest from the drive's start. `plan_m`: they are nowhere
/// nearer in plan.
///
/// The places within a distance of a plane convex figure are those within it of an edge, and those square off the
/// figure within it: both are in closed form along a straight drive.
///
/// # Units
/// Metres; the distance is between the drive's centre line and the curtain.
pub fn nearest_curtain(drive: &Segment, curtain: &Curtain, plan_m: f64) -> Nearest {
    let (edges, face) = (curtain.edges(), curtain.face(drive));
    let square_off = face.as_ref().and_then(Face::least);
    let apart = near_edges(drive, curtain, &edges, plan_m, square_off.map(|s| s.0));
    let at_edges = apart.iter().flatten().map(Apart::least);
    let least = at_edges
        .chain(square_off)
        .reduce(|x, y| if y.0 < x.0 { y } else { x });
    let (distance_m, least_at) = least.expect("a curtain is somewhere");
    let limit = distance_m + EQUALLY_NEAR_M;
    let off = face
        .as_ref()
        .and_then(|f| f.last_within(limit).map(|s| (s, None)));
    let at_edges = edges
        .iter()
        .zip(&apart)
        .filter_map(|(e, apart)| Some((apart.as_ref()?.last_within(limit)?, Some(e))));
    let farthest = at_edges
        .chain(off)
        .reduce(|x, y| if y.0 >= x.0 { y } else { x })
        .unwrap_or((least_at, None));
    let (s, edge) = farthest;
    let p = along(drive.a, sub(drive.b, drive.a), s);
    let other = match (edge, &face) {
        (Some(e), _) => e.nearest_to(p),
        (None, Some(f)) => {
            let q = along(curtain.a, sub(curtain.b, curtain.a), f.share.at(s));
            [q[0], q[1], p[2]]
        }
        (None, None) => curtain.a,
    };
    Nearest {
        distance_m,
        s,
        other,
    }
}

/// How far the drive is from each edge; none where that edge is so far that it changes nothing. `off_m`: from the curtain's face.
fn near_edges(
    drive: &Segment,
    curtain: &Curtain,
    edges: &[Segment; 4],
    plan_m: f64,
    off_m: Option<f64>,
) -> [Option<Apart>; 4] {
    let mut within = off_m.unwrap_or(f64::INFINITY) + BEYOND_M;
    let mut apart = [None, None, None, None];
    let beams = [0, 1].map(|k| (no_nearer(drive, &edges[k], plan_m), k));
    // The nearer one first: it may show that the other is too far.
    let beams = if beams[1].0 < beams[0].0 {
        [beams[1], beams[0]]
    } else {
        beams
    };
    for (no_nearer_m, k) in beams {
        if no_nearer_m <= within {
            let beam = Apart::new(drive, &edges[k]);
            within = within.min(beam.least().0 + BEYOND_M);
            apart[k] = Some(beam);
        }
    }
    // A post stands upright: it is nowhere nearer than in plan.
    for (k, p) in [(2, curtain.a), (3, curtain.b)] {
        if in_plan(drive, p) <= within {
            apart[k] = Some(Apart::new(drive, &edges[k]));
        }
    }
    apart
}

/// The drive is nowhere nearer to a line than this, which is `plan_m` away in plan (m): they are at least as far apart in level as
/// their ends.
fn no_nearer(drive: &Segment, line: &Segment, plan_m: f64) -> f64 {
    let span = |s: &Segment| {
        let [a, b] = [s.a[2], s.b[2]];
        if a < b { (a, b) } else { (b, a) }
    };
    let (d, l) = (span(drive), span(line));
    let apart = (l.0 - d.1).max(d.0 - l.1).max(0.0);
    (plan_m * plan_m + apart * apart).sqrt()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn curtain() -> Curtain {
        Curtain {
            a: [10., -5., 0.],
            b: [10., 5., 0.],
            low: [8., 8.5],
            high: [9., 9.5],
        }
    }

    #[test]
    fn a_bore_through_the_band_meets_it() {
        let n = nearest_curtain(
            &Segment {
                a: [0., 0., 9.],
                b: [20., 0., 8.8],
            },
            &curtain(),
            0.0,
        );
        assert!(n.distance_m < 1e-12);
    }

    #[test]
    fn a_bore_below_the_band_is_as_far_as_it_is_below() {
        let n = nearest_curtain(
            &Segment {
                a: [0., 0., 7.],
                b: [20., 0., 7.],
            },
            &curtain(),
            0.0,
        );
        // the lower edge falls 0.5 in 10: distance is square to it
        let below = 8.25 - 7.0;
        assert!(n.distance_m <= below && n.distance_m > below * 0.99);
    }

    #[test]
    fn a_bore_beside_the_band_is_as_far_as_it_is_beside() {
        let n = nearest_curtain(
            &Segment {
                a: [12., -8., 8.8],
                b: [12., 8., 8.8],
            },
            &curtain(),
            0.0,
        );
        assert!((n.distance_m - 2.0).abs() < 1e-12);
        // the farthest of the equally near points is on the curtain's far side
        assert!(n.other[1] > 4.0, "{n:?}");
    }
}

#[cfg(test)]
mod against_sampling {
    use super::*;

    /// A curtain and a drive from a seed, and the least distance of many sampled pairs of points.
    fn case(seed: u64) -> (Segment, Curtain) {
        let mut dice = crate::dice::Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
        let mut next = || dice.roll();
        let mut point = || [6.0 * next() - 3.0, 6.0 * next() - 3.0, 3.0 * next()];
        let drive = Segment {
            a: point(),
            b: point(),
        };
        let (a, b) = (point(), point());
        let low = [point()[2] - 1.0, point()[2] - 1.0];
        let high = [low[0] + point()[2] * 0.5, low[1] + point()[2] * 0.5];
        (drive, Curtain { a, b, low, high })
    }

    fn sampled(drive: &Segment, c: &Curtain, n: usize) -> f64 {
        let mut best = f64::INFINITY;
        for i in 0..=n {
            let p = along(drive.a, sub(drive.b, drive.a), i as f64 / n as f64);
            for j in 0..=n {
                let t = j as f64 / n as f64;
                let q = along(c.a, sub(c.b, c.a), t);
                let level = |z: [f64; 2]| z[0] + t * (z[1] - z[0]);
                let z = p[2].clamp(level(c.low), level(c.high));
                let v = sub(p, [q[0], q[1], z]);
                best = best.min(dot(v, v).sqrt());
            }
        }
        best
    }

    #[test]
    fn no_sampled_pair_is_nearer_and_some_pair_is_as_near() {
        for seed in 1..300 {
            let (drive, c) = case(seed);
            let n = nearest_curtain(&drive, &c, apart_in_plan(&drive, &c));
            let by_sampling = sampled(&drive, &c, 200);
            assert!(
                n.distance_m <= by_sampling + 1e-9,
                "seed {seed}: {n:?} {by_sampling}"
            );
            assert!(
                n.distance_m >= by_sampling - 0.06,
                "seed {seed}: {n:?} {by_sampling}"
            );
            let p = along(drive.a, sub(drive.b, drive.a), n.s);
            let v = sub(p, n.other);
            assert!(
                (dot(v, v).sqrt() - n.distance_m).abs() < 1.1e-6,
                "seed {seed}: {n:?}"
            );
        }
    }

    fn apart_in_plan(drive: &Segment, c: &Curtain) -> f64 {
        let level = |s: Segment| Segment {
            a: flat(s.a),
            b: flat(s.b),
        };
        let line = Segment { a: c.a, b: c.b };
        crate::clearance::nearest(&level(*drive), &level(line)).distance_m
    }

    /// The nearest points, every edge looked at.
    fn of_all_edges(drive: &Segment, curtain: &Curtain) -> (f64, f64) {
        let (edges, face) = (curtain.edges(), curtain.face(drive));
        let apart = edges.each_ref().map(|e| Apart::new(drive, e));
        let square_off = face.as_ref().and_then(Face::least);
        let least = (apart.iter().map(Apart::least).chain(square_off))
            .min_by(|x, y| x.0.total_cmp(&y.0))
            .unwrap();
        let limit = least.0 + EQUALLY_NEAR_M;
        let off = face.as_ref().and_then(|f| f.last_within(limit));
        let at_edges = apart.iter().filter_map(|apart| apart.last_within(limit));
        let s = at_edges.chain(off).max_by(f64::total_cmp);
        (least.0, s.unwrap_or(least.1))
    }

    #[test]
    fn an_edge_that_is_passed_over_changes_nothing() {
        let mut dice = crate::dice::Dice(0x2545_F491_4F6C_DD1D);
        let mut step = |step: f64, n: f64| step * (dice.roll() * n).floor();
        let (mut beams, mut posts) = (0, 0);
        for case in 0..40_000 {
            // On a grid, so that things lie at, along and above each other.
            let mut at = |by: f64, n: f64| {
                [
                    4e5 + step(by, n),
                    6e6 + step(by, n),
                    50.0 + step(0.25, 16.0),
                ]
            };
            let drive = Segment {
                a: at(0.5, 40.0),
                b: at(0.5, 40.0),
            };
            let (a, b) = (at(0.5, 40.0), at(0.5, 40.0));
            let b = [0, 1, 2].map(|i| a[i] + (b[i] - a[i]) / 10.0);
            let high = [a[2] + step(0.25, 8.0), b[2] + step(0.25, 8.0)];
            let curtain = Curtain {
                a: flat(a),
                b: flat(b),
                low: [a[2], b[2]],
                high,
            };
            let plan_m = apart_in_plan(&drive, &curtain);
            let n = nearest_curtain(&drive, &curtain, plan_m);
            let expected = of_all_edges(&drive, &curtain);
            assert_eq!((n.distance_m, n.s), expected, "case {case}");
            let off = curtain.face(&drive).as_ref().and_then(Face::least);
            let edges = curtain.edges();
            let apart = near_edges(&drive, &curtain, &edges, plan_m, off.map(|o| o.0));
            let far = |some: &[Option<Apart>]| some.iter().filter(|e| e.is_none()).count();
            beams += far(&apart[..2]);
            posts += far(&apart[2..]);
        }
        assert!(beams > 10_000 && posts > 10_000, "{beams} {posts}");
    }
}
