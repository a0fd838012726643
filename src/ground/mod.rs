//! Level of the ground at a point.

mod levels;
mod raster;
mod tin;

pub use levels::{Levels, TILE, Tile, Tiles};
pub use raster::{Grid, Project};
pub use tin::Tin;

use geo::Coord;

/// Where ground levels come from: the first source that is there.
#[derive(Default)]
pub enum Ground {
    /// No source at all.
    #[default]
    None,
    /// A raster: values at cell centres, bilinear between them.
    Grid(Grid),
    /// Points with levels: Delaunay triangles, barycentric.
    Points(Tin),
    /// The Z of the routes: level at the nearest point of the nearest route.
    Lines(Vec<crate::site::Polyline>),
}

impl std::fmt::Debug for Ground {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(match self {
            Ground::None => "Ground::None",
            Ground::Grid(_) => "Ground::Grid",
            Ground::Points(_) => "Ground::Points",
            Ground::Lines(_) => "Ground::Lines",
        })
    }
}

impl Ground {
    /// No level of the ground is above this (m); none where there is none at all.
    pub fn highest_m(&self) -> Option<f64> {
        match self {
            Ground::None => None,
            Ground::Grid(g) => g.levels.highest(),
            Ground::Points(t) => t.highest(),
            Ground::Lines(lines) => highest(
                lines
                    .iter()
                    .filter_map(|l| l.levels.as_ref())
                    .flatten()
                    .copied(),
            ),
        }
    }

    /// There is ground all over a box of the plan, and nowhere in it a level below this (m). None where that is not known without
    /// looking at the places themselves.
    pub fn least_within(&self, low: Coord<f64>, high: Coord<f64>) -> Option<f64> {
        match self {
            Ground::Grid(g) => g.least_within(low, high),
            _ => None,
        }
    }

    /// Ground level at a plan point, or none outside the source.
    #[inline]
    pub fn level(&self, p: Coord<f64>) -> Option<f64> {
        match self {
            Ground::None => None,
            Ground::Grid(g) => g.level(p),
            Ground::Points(t) => t.level(p),
            Ground::Lines(lines) => nearest_line_level(lines, p),
        }
    }
}

/// The highest level that is one; what stands for none counts for nothing.
fn highest(levels: impl Iterator<Item = f64>) -> Option<f64> {
    levels.filter(|z| !z.is_nan()).reduce(f64::max)
}

/// Level at the nearest point of the nearest line; the first line of equally near ones.
fn nearest_line_level(lines: &[crate::site::Polyline], p: Coord<f64>) -> Option<f64> {
    let mut best: Option<(f64, f64)> = None;
    for line in lines {
        let Some(z) = &line.levels else { continue };
        for (ab, zz) in line.points.windows(2).zip(z.windows(2)) {
            let (d, e) = (ab[1] - ab[0], p - ab[0]);
            let len_sq = d.x * d.x + d.y * d.y;
            let t = if len_sq > 0.0 {
                ((e.x * d.x + e.y * d.y) / len_sq).clamp(0.0, 1.0)
            } else {
                0.0
            };
            let (dx, dy) = (e.x - t * d.x, e.y - t * d.y);
            let dist_sq = dx * dx + dy * dy;
            if best.is_none_or(|(b, _)| dist_sq < b) {
                best = Some((dist_sq, zz[0] + t * (zz[1] - zz[0])));
            }
        }
    }
    best.map(|(_, z)| z)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    #[test]
    fn level_of_routes_is_taken_at_the_nearest_point() {
        let line = crate::site::Polyline {
            points: vec![coord! {x: 0., y: 0.}, coord! {x: 10., y: 0.}],
            levels: Some(vec![100., 101.]),
        };
        let g = Ground::Lines(vec![line]);
        assert_eq!(g.level(coord! {x: 5., y: 3.}), Some(100.5));
        assert_eq!(g.level(coord! {x: 20., y: 3.}), Some(101.));
    }
}
