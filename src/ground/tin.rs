//! Ground as points: Delaunay triangles, barycentric inside them.

use geo::Coord;
use spade::{
    DelaunayTriangulation, FloatTriangulation, HasPosition, HierarchyHintGenerator, Point2,
    Triangulation,
};

#[derive(Clone, Copy)]
struct Spot {
    at: Point2<f64>,
    level: f64,
}

impl HasPosition for Spot {
    type Scalar = f64;
    fn position(&self) -> Point2<f64> {
        self.at
    }
}

/// Triangles between points of known level.
pub struct Tin {
    // The default hint remembers the last triangle, which is slow when queries jump about.
    triangles: DelaunayTriangulation<Spot, (), (), (), HierarchyHintGenerator<f64>>,
    origin: Coord<f64>,
}

impl Tin {
    /// Triangles over `points` (x, y, level). Of points at one place the first counts.
    /// None where fewer than three points (or all on one line) give no triangle.
    pub fn new(points: &[(Coord<f64>, f64)]) -> Option<Tin> {
        let origin = points.first()?.0;
        let mut seen = std::collections::HashSet::new();
        let spots: Vec<Spot> = points
            .iter()
            .filter(|(p, z)| p.x.is_finite() && p.y.is_finite() && z.is_finite())
            .map(|&(p, level)| Spot {
                at: Point2::new(p.x - origin.x, p.y - origin.y),
                level,
            })
            .filter(|s| seen.insert((s.at.x.to_bits(), s.at.y.to_bits())))
            .collect();
        let triangles = DelaunayTriangulation::bulk_load(spots).ok()?;
        (triangles.num_inner_faces() > 0).then_some(Tin { triangles, origin })
    }

    /// Highest of the points.
    pub(super) fn highest(&self) -> Option<f64> {
        super::highest(self.triangles.vertices().map(|v| v.data().level))
    }

    /// Level at a point, none outside the hull.
    pub fn level(&self, p: Coord<f64>) -> Option<f64> {
        let q = Point2::new(p.x - self.origin.x, p.y - self.origin.y);
        self.triangles
            .barycentric()
            .interpolate(|v| v.data().level, q)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    #[test]
    fn a_plane_is_kept_and_nothing_is_known_outside_the_hull() {
        let z = |x: f64, y: f64| 50.0 + 0.1 * x - 0.2 * y;
        let pts: Vec<_> = [(0., 0.), (10., 0.), (10., 10.), (0., 10.), (4., 5.)]
            .iter()
            .map(|&(x, y)| (coord! {x: x, y: y}, z(x, y)))
            .collect();
        let t = Tin::new(&pts).unwrap();
        assert!((t.level(coord! {x: 3.0, y: 7.0}).unwrap() - z(3., 7.)).abs() < 1e-9);
        assert!((t.level(coord! {x: 10.0, y: 5.0}).unwrap() - z(10., 5.)).abs() < 1e-9);
        assert_eq!(t.level(coord! {x: 11.0, y: 7.0}), None);
        assert!(Tin::new(&pts[..2]).is_none());
    }
}
