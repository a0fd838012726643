//! Distances to areas and to the prisms of buildings, and shared areas.

use super::lines::polygon_edges;
use super::segment::{Nearest, Segment, along, nearest, sub};
use geo::{Coord, LineString, Polygon};

/// Four corners in order round a rectangle.
pub type Corners = [Coord<f64>; 4];

/// A building below ground: its outline from the foundation level upward, without end.
#[derive(Debug, Clone)]
pub struct Prism {
    /// Outline.
    pub outline: Polygon<f64>,
    /// Foundation level; -inf where nothing may pass under it.
    pub base_m: f64,
}

/// Inside the polygon (even-odd over all its rings).
pub fn contains(polygon: &Polygon<f64>, p: Coord<f64>) -> bool {
    let crosses = |(a, b): (Coord<f64>, Coord<f64>)| {
        (a.y > p.y) != (b.y > p.y) && p.x < a.x + (p.y - a.y) / (b.y - a.y) * (b.x - a.x)
    };
    polygon_edges(polygon).filter(|&e| crosses(e)).count() % 2 == 1
}

fn level(p: Coord<f64>, z: f64) -> [f64; 3] {
    [p.x, p.y, z]
}

/// Nearest points, in plan, of the line from `p` to `q` and a polygon's area; distance 0 inside it.
pub fn segment_polygon_distance(p: Coord<f64>, q: Coord<f64>, polygon: &Polygon<f64>) -> Nearest {
    let line = Segment {
        a: level(p, 0.0),
        b: level(q, 0.0),
    };
    if contains(polygon, p) {
        return Nearest {
            distance_m: 0.0,
            s: 0.0,
            other: line.a,
        };
    }
    let to_edge = |(a, b)| {
        nearest(
            &line,
            &Segment {
                a: level(a, 0.0),
                b: level(b, 0.0),
            },
        )
    };
    let best = polygon_edges(polygon)
        .map(to_edge)
        .min_by(|x, y| x.distance_m.total_cmp(&y.distance_m));
    best.unwrap_or(Nearest {
        distance_m: f64::INFINITY,
        s: 0.0,
        other: line.a,
    })
}

/// Plan distance between a rectangle and a polygon's area (0 where they share any), and the rectangle's nearest point.
pub fn polygon_distance(rectangle: &Corners, polygon: &Polygon<f64>) -> (f64, Coord<f64>) {
    let inside_out = polygon
        .exterior()
        .0
        .first()
        .is_some_and(|&p| in_rectangle(rectangle, p));
    if inside_out {
        return (0.0, polygon.exterior().0[0]);
    }
    let side = |i: usize| {
        let (p, q) = (rectangle[i], rectangle[(i + 1) % 4]);
        let n = segment_polygon_distance(p, q, polygon);
        (n.distance_m, p + (q - p) * n.s)
    };
    (0..4)
        .map(side)
        .min_by(|x, y| x.0.total_cmp(&y.0))
        .expect("a rectangle has four sides")
}

/// Plan distance between a rectangle (0 inside it) and a straight line, and the rectangle's nearest point.
pub fn rectangle_line_distance(
    rectangle: &Corners,
    a: Coord<f64>,
    b: Coord<f64>,
) -> (f64, Coord<f64>) {
    if in_rectangle(rectangle, a) {
        return (0.0, a);
    }
    let line = Segment {
        a: level(a, 0.0),
        b: level(b, 0.0),
    };
    let side = |i: usize| {
        let (p, q) = (rectangle[i], rectangle[(i + 1) % 4]);
        let n = nearest(
            &Segment {
                a: level(p, 0.0),
                b: level(q, 0.0),
            },
            &line,
        );
        (n.distance_m, p + (q - p) * n.s)
    };
    (0..4)
        .map(side)
        .min_by(|x, y| x.0.total_cmp(&y.0))
        .expect("a rectangle has four sides")
}

fn cross(a: Coord<f64>, b: Coord<f64>, p: Coord<f64>) -> f64 {
    (b.x - a.x) * (p.y - a.y) - (b.y - a.y) * (p.x - a.x)
}

fn in_rectangle(r: &Corners, p: Coord<f64>) -> bool {
    let sides = [0, 1, 2, 3].map(|i| cross(r[i], r[(i + 1) % 4], p));
    sides.iter().all(|s| *s >= 0.0) || sides.iter().all(|s| *s <= 0.0)
}

/// Twice the signed area of a ring given without its closing point, taken about its first point.
fn twice_area(ring: &[Coord<f64>]) -> f64 {
    let Some(&o) = ring.first() else { return 0.0 };
    ring.windows(2).map(|w| cross(o, w[0], w[1])).sum()
}

/// Area shared by a convex figure of four corners and a polygon (m2).
///
/// Each ring is clipped by the figure's sides (Sutherland & Hodgman 1974): a ring that falls apart keeps
/// bridges along the sides, which have no area.
pub fn overlap_m2(corners: &Corners, polygon: &Polygon<f64>) -> f64 {
    let ccw = twice_area(corners) > 0.0;
    let clipped = |ring: &LineString<f64>| {
        let mut points: Vec<Coord<f64>> = ring.0[..ring.0.len().saturating_sub(1)].to_vec();
        for i in 0..4 {
            let (a, b) = (corners[i], corners[(i + 1) % 4]);
            points = if ccw {
                clip(&points, a, b)
            } else {
                clip(&points, b, a)
            };
        }
        twice_area(&points).abs() / 2.0
    };
    let holes: f64 = polygon.interiors().iter().map(clipped).sum();
    (clipped(polygon.exterior()) - holes).max(0.0)
}

/// What of a ring lies left of the line from `a` to `b`.
fn clip(ring: &[Coord<f64>], a: Coord<f64>, b: Coord<f64>) -> Vec<Coord<f64>> {
    let Some(&last) = ring.last() else {
        return vec![];
    };
    let mut out = Vec::with_capacity(ring.len() + 4);
    let (mut p, mut sp) = (last, cross(a, b, last));
    for &q in ring {
        let sq = cross(a, b, q);
        if (sp > 0.0) != (sq > 0.0) && sp != sq {
            out.push(p + (q - p) * (sp / (sp - sq)));
        }
        if sq > 0.0 {
            out.push(q);
        }
        (p, sp) = (q, sq);
    }
    out
}

/// Area shared by a rectangle and a circle (m2).
pub fn overlap_with_circle_m2(corners: &Corners, centre: Coord<f64>, radius: f64) -> f64 {
    let v = corners.map(|c| c - centre);
    let sum: f64 = (0..4).map(|i| sector(v[i], v[(i + 1) % 4], radius)).sum();
    sum.abs()
}

/// Signed area shared by the circle round the origin and the triangle origin, p, q.
fn sector(p: Coord<f64>, q: Coord<f64>, r: f64) -> f64 {
    let d = q - p;
    let (a, b, c) = (
        d.x * d.x + d.y * d.y,
        p.x * d.x + p.y * d.y,
        p.x * p.x + p.y * p.y - r * r,
    );
    let wedge = |u: Coord<f64>, v: Coord<f64>| {
        r * r / 2.0 * (u.x * v.y - u.y * v.x).atan2(u.x * v.x + u.y * v.y)
    };
    let under = b * b - a * c;
    if a == 0.0 || under <= 0.0 {
        return wedge(p, q);
    }
    let root = under.sqrt();
    let (t0, t1) = ((-b - root) / a, (-b + root) / a);
    if t1 <= 0.0 || t0 >= 1.0 {
        return wedge(p, q);
    }
    let (u, v) = (p + d * t0.max(0.0), p + d * t1.min(1.0));
    let triangle = (u.x * v.y - u.y * v.x) / 2.0;
    let before = if t0 > 0.0 { wedge(p, u) } else { 0.0 };
    let after = if t1 < 1.0 { wedge(v, q) } else { 0.0 };
    before + triangle + after
}

impl Prism {
    /// Nearest points of a drive and the prism; distance 0 inside it.
    pub fn nearest(&self, drive: &Segment) -> Nearest {
        let (below, above) = split_at_level(drive, self.base_m);
        let mut best = Nearest {
            distance_m: f64::INFINITY,
            s: 0.0,
            other: drive.a,
        };
        let mut take = |n: Nearest, from: f64, to: f64| {
            if n.distance_m < best.distance_m {
                best = Nearest {
                    s: from + n.s * (to - from),
                    ..n
                };
            }
        };
        if let Some((from, to)) = above {
            let (p, q) = (at(drive, from), at(drive, to));
            take(
                segment_polygon_distance(plan(p), plan(q), &self.outline),
                from,
                to,
            );
        }
        if let Some((from, to)) = below {
            let part = Segment {
                a: at(drive, from),
                b: at(drive, to),
            };
            for (a, b) in polygon_edges(&self.outline) {
                take(
                    nearest(
                        &part,
                        &Segment {
                            a: level(a, self.base_m),
                            b: level(b, self.base_m),
                        },
                    ),
                    from,
                    to,
                );
            }
            for s in [0.0, 1.0] {
                let p = along(part.a, sub(part.b, part.a), s);
                if contains(&self.outline, plan(p)) {
                    let n = Nearest {
                        distance_m: self.base_m - p[2],
                        s,
                        other: [p[0], p[1], self.base_m],
                    };
                    take(n, from, to);
                }
            }
        }
        best
    }
}

fn at(drive: &Segment, s: f64) -> [f64; 3] {
    along(drive.a, sub(drive.b, drive.a), s)
}

fn plan(p: [f64; 3]) -> Coord<f64> {
    Coord { x: p[0], y: p[1] }
}

type Span = Option<(f64, f64)>;

/// The spans of a drive below and above a level.
fn split_at_level(drive: &Segment, z: f64) -> (Span, Span) {
    let (a, b) = (drive.a[2] - z, drive.b[2] - z);
    match (a >= 0.0, b >= 0.0) {
        (true, true) => (None, Some((0.0, 1.0))),
        (false, false) => (Some((0.0, 1.0)), None),
        (false, true) => (Some((0.0, a / (a - b))), Some((a / (a - b), 1.0))),
        (true, false) => (Some((a / (a - b), 1.0)), Some((0.0, a / (a - b)))),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::{coord, polygon};

    fn unit() -> Corners {
        [
            coord! {x: 0., y: 0.},
            coord! {x: 1., y: 0.},
            coord! {x: 1., y: 1.},
            coord! {x: 0., y: 1.},
        ]
    }

    #[test]
    fn shared_area_of_a_polygon_that_falls_apart() {
        // a U round the square's middle: two legs 0.2 wide
        let u = polygon![(x: 0.1, y: -1.), (x: 0.9, y: -1.), (x: 0.9, y: 2.), (x: 0.7, y: 2.), (x: 0.7, y: -0.5), (x: 0.3, y: -0.5), (x: 0.3, y: 2.), (x: 0.1, y: 2.)];
        assert!((overlap_m2(&unit(), &u) - 0.4).abs() < 1e-12);
    }

    #[test]
    fn holes_are_not_shared() {
        let ring = polygon! { exterior: [(x: -1., y: -1.), (x: 2., y: -1.), (x: 2., y: 2.), (x: -1., y: 2.)], interiors: [[(x: 0.25, y: 0.25), (x: 0.75, y: 0.25), (x: 0.75, y: 0.75), (x: 0.25, y: 0.75)]] };
        assert!((overlap_m2(&unit(), &ring) - 0.75).abs() < 1e-12);
    }

    #[test]
    fn shared_area_with_circles() {
        let c = coord! {x: 0.5, y: 0.5};
        assert!((overlap_with_circle_m2(&unit(), c, 10.0) - 1.0).abs() < 1e-12);
        assert!(
            (overlap_with_circle_m2(&unit(), c, 0.25) - std::f64::consts::PI / 16.0).abs() < 1e-12
        );
        let corner = coord! {x: 0.0, y: 0.0};
        assert!(
            (overlap_with_circle_m2(&unit(), corner, 0.5) - std::f64::consts::PI / 16.0).abs()
                < 1e-12
        );
        assert!(overlap_with_circle_m2(&unit(), coord! {x: 3., y: 0.}, 1.0) < 1e-12);
    }

    #[test]
    fn a_bore_under_a_building_is_measured_to_its_foundation() {
        let prism = Prism {
            outline: polygon![(x: 0., y: 0.), (x: 10., y: 0.), (x: 10., y: 10.), (x: 0., y: 10.)],
            base_m: 99.0,
        };
        let under = Segment {
            a: [-5., 5., 97.0],
            b: [15., 5., 98.0],
        };
        // highest under the outline where it leaves it: z = 97.75 at x = 10
        let n = prism.nearest(&under);
        assert!(n.distance_m < 1.25 && n.distance_m > 1.24, "{n:?}");
        let beside = Segment {
            a: [-5., 12., 99.5],
            b: [15., 12., 99.5],
        };
        assert!((prism.nearest(&beside).distance_m - 2.0).abs() < 1e-12);
        let through = Segment {
            a: [-5., 5., 99.5],
            b: [15., 5., 99.5],
        };
        assert_eq!(prism.nearest(&through).distance_m, 0.0);
        let deep_beside = Segment {
            a: [-5., 13., 95.0],
            b: [15., 13., 95.0],
        };
        assert!((prism.nearest(&deep_beside).distance_m - 5.0).abs() < 1e-12);
    }

    #[test]
    fn distance_of_a_rectangle_to_an_area() {
        let far = polygon![(x: 3., y: 0.), (x: 4., y: 0.), (x: 4., y: 1.)];
        assert_eq!(polygon_distance(&unit(), &far).0, 2.0);
        let inside = polygon![(x: 0.4, y: 0.4), (x: 0.6, y: 0.4), (x: 0.6, y: 0.6)];
        assert_eq!(polygon_distance(&unit(), &inside).0, 0.0);
        assert_eq!(
            rectangle_line_distance(&unit(), coord! {x: 2., y: -5.}, coord! {x: 2., y: 5.}).0,
            1.0
        );
    }
}
