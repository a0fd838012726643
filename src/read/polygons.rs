//! Polygons as they must be: closed, and not crossing themselves.

use super::shape::{Shape, Vertex, polygon};
use super::{Problem, wkb};
use gdal::cpl::CslStringList;
use gdal::vector::Geometry;
use geo::Polygon;
use std::sync::LazyLock;

type Rings = Vec<Vec<Vertex>>;

/// Whether polygons can be checked at all.
static GEOS: LazyLock<bool> =
    LazyLock::new(|| gdal::version::version_info("BUILD_INFO").contains("GEOS_ENABLED=YES"));

/// Each part made valid by itself, and the worst that was wrong.
///
/// Parts that overlap each other stay as they are: each is an obstacle of its own.
pub(super) fn valid(parts: &[Rings]) -> (Vec<Polygon<f64>>, Option<Problem>) {
    let (mut good, mut worst) = (vec![], None);
    for part in parts {
        let rings = closed(part);
        match check(&rings) {
            State::Valid => good.push(polygon(&rings)),
            State::Unchecked => {
                good.push(polygon(&rings));
                worst = worst.or(Some(Problem::NoGeos));
            }
            State::Mended(areas) => {
                worst = Some(if areas.is_empty() {
                    Problem::NothingLeft
                } else {
                    worst.unwrap_or(Problem::MadeValid)
                });
                good.extend(areas.iter().map(|a| polygon(a)));
            }
        }
    }
    (good, worst)
}

enum State {
    Valid,
    Unchecked,
    Mended(Vec<Rings>),
}

fn check(rings: &[Vec<Vertex>]) -> State {
    if !*GEOS {
        return State::Unchecked;
    }
    let long_enough = rings.iter().all(|r| r.len() >= 4);
    let Some(made) = Geometry::from_wkb(&wkb::of_polygon(rings))
        .ok()
        .filter(|_| !rings.is_empty())
    else {
        return State::Mended(vec![]);
    };
    if long_enough && made.is_valid() {
        return State::Valid;
    }
    let options = CslStringList::new();
    let bytes = made
        .make_valid(&options)
        .ok()
        .and_then(|g| g.iso_wkb().ok());
    let shape: Shape = bytes
        .and_then(|b| wkb::parse(&b, 1.0).ok())
        .unwrap_or_default();
    State::Mended(shape.areas)
}

/// Rings whose last vertex is their first.
fn closed(rings: &Rings) -> Rings {
    let close = |r: &Vec<Vertex>| {
        let mut r = r.clone();
        let open = r
            .first()
            .zip(r.last())
            .filter(|(a, b)| a.x != b.x || a.y != b.y);
        let again = open.map(|(a, _)| *a);
        r.extend(again);
        r
    };
    rings.iter().map(close).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::Area;

    fn ring(xy: &[(f64, f64)]) -> Vec<Vertex> {
        xy.iter()
            .map(|&(x, y)| Vertex { x, y, z: f64::NAN })
            .collect()
    }

    #[test]
    fn a_bow_tie_becomes_two_triangles() {
        let tie = ring(&[(0., 0.), (10., 10.), (10., 0.), (0., 10.), (0., 0.)]);
        let (parts, problem) = valid(&[vec![tie]]);
        assert_eq!(problem, Some(Problem::MadeValid));
        assert_eq!(
            (
                parts.len(),
                parts.iter().map(|p| p.unsigned_area()).sum::<f64>()
            ),
            (2, 50.0)
        );
    }

    #[test]
    fn a_flat_ring_leaves_nothing() {
        let (parts, problem) = valid(&[vec![ring(&[(0., 0.), (10., 0.), (0., 0.)])]]);
        assert_eq!((parts.len(), problem), (0, Some(Problem::NothingLeft)));
    }

    #[test]
    fn an_open_ring_is_closed_without_a_word() {
        let (parts, problem) = valid(&[vec![ring(&[(0., 0.), (4., 0.), (4., 2.), (0., 2.)])]]);
        assert_eq!((parts[0].unsigned_area(), problem), (8.0, None));
    }
}
