//! Straight lines in plan.

use geo::{Coord, Polygon};

/// Lines whose angle has a smaller sine than this do not cross: where they would is lost to rounding.
const PARALLEL: f64 = 1e-12;

/// Where two straight lines cross in plan: the share of the way from `a` to `b`, and from `p` to `q`.
/// Ends count; lines along each other do not cross.
pub fn crossing(a: Coord<f64>, b: Coord<f64>, p: Coord<f64>, q: Coord<f64>) -> Option<(f64, f64)> {
    let (d, e, w) = (b - a, q - p, p - a);
    let det = d.x * e.y - d.y * e.x;
    if det.abs() <= PARALLEL * d.x.hypot(d.y) * e.x.hypot(e.y) {
        return None;
    }
    let (t, u) = ((w.x * e.y - w.y * e.x) / det, (w.x * d.y - w.y * d.x) / det);
    ((0.0..=1.0).contains(&t) && (0.0..=1.0).contains(&u)).then_some((t, u))
}

/// Plan distance from `p` to the nearest point of the piece from `a` to `b`, which may be a point.
pub fn nearest_2d(p: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> f64 {
    let (d, w) = (b - a, p - a);
    let squared = d.x * d.x + d.y * d.y;
    let share = if squared > 0.0 {
        ((w.x * d.x + w.y * d.y) / squared).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let off = w - d * share;
    off.x.hypot(off.y)
}

/// All edges of a polygon, ring by ring.
pub fn polygon_edges(
    polygon: &Polygon<f64>,
) -> impl Iterator<Item = (Coord<f64>, Coord<f64>)> + '_ {
    let rings = std::iter::once(polygon.exterior()).chain(polygon.interiors());
    rings.flat_map(|r| r.0.windows(2).map(|w| (w[0], w[1])))
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    #[test]
    fn the_nearest_point_of_a_piece_is_inside_it_or_an_end() {
        let at = |x: f64, y: f64| coord! {x: x, y: y};
        let by = |x, y| nearest_2d(at(x, y), at(0., 0.), at(10., 0.));
        assert_eq!([by(5., 2.), by(-3., 4.), by(13., -4.)], [2., 5., 5.]);
        assert_eq!(nearest_2d(at(3., 4.), at(0., 0.), at(0., 0.)), 5.);
    }

    #[test]
    fn lines_cross_at_shares_of_both() {
        let at = |x: f64, y: f64| coord! {x: x, y: y};
        let cross = |p, q| crossing(at(0., 0.), at(8., 0.), p, q);
        assert_eq!(cross(at(2., -1.), at(2., 3.)), Some((0.25, 0.25)));
        assert_eq!(cross(at(8., 0.), at(9., 4.)), Some((1.0, 0.0)));
        assert_eq!(cross(at(9., -1.), at(9., 3.)), None);
        assert_eq!(cross(at(1., 0.), at(5., 0.)), None);
    }
}
