//! A feature's geometry, taken apart into points, lines and areas.

use crate::site::Polyline;
use geo::{Coord, LineString, Polygon};

/// One vertex; `z` is NaN where there is none.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Vertex {
    pub x: f64,
    pub y: f64,
    pub z: f64,
}

/// All parts of one geometry. An area is its rings, the outer one first.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Shape {
    pub points: Vec<Vertex>,
    pub lines: Vec<Vec<Vertex>>,
    pub areas: Vec<Vec<Vec<Vertex>>>,
}

/// Least and greatest X and Y.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Bounds {
    pub min: [f64; 2],
    pub max: [f64; 2],
}

impl Bounds {
    pub const NOTHING: Bounds = Bounds {
        min: [f64::INFINITY; 2],
        max: [f64::NEG_INFINITY; 2],
    };

    /// NaN and infinite coordinates do not count.
    pub fn add(&mut self, x: f64, y: f64) {
        if x.is_finite() && y.is_finite() {
            self.min = [self.min[0].min(x), self.min[1].min(y)];
            self.max = [self.max[0].max(x), self.max[1].max(y)];
        }
    }

    pub fn join(&mut self, other: &Bounds) {
        self.add(other.min[0], other.min[1]);
        self.add(other.max[0], other.max[1]);
    }

    pub fn meets(&self, other: &Bounds) -> bool {
        (0..2).all(|i| self.min[i] <= other.max[i] && other.min[i] <= self.max[i])
    }

    pub fn grown(&self, by: f64) -> Bounds {
        Bounds {
            min: self.min.map(|v| v - by),
            max: self.max.map(|v| v + by),
        }
    }

    pub fn is_empty(&self) -> bool {
        self.min[0] > self.max[0] || self.min[1] > self.max[1]
    }

    pub fn corners(&self) -> Option<(Coord<f64>, Coord<f64>)> {
        let at = |p: [f64; 2]| Coord { x: p[0], y: p[1] };
        (!self.is_empty()).then(|| (at(self.min), at(self.max)))
    }
}

impl Shape {
    pub fn is_empty(&self) -> bool {
        self.points.is_empty() && self.lines.is_empty() && self.areas.is_empty()
    }

    pub fn vertices(&self) -> impl Iterator<Item = &Vertex> {
        let (lines, rings) = (
            self.lines.iter().flatten(),
            self.areas.iter().flatten().flatten(),
        );
        self.points.iter().chain(lines).chain(rings)
    }

    pub fn vertices_mut(&mut self) -> impl Iterator<Item = &mut Vertex> {
        let (lines, rings) = (
            self.lines.iter_mut().flatten(),
            self.areas.iter_mut().flatten().flatten(),
        );
        self.points.iter_mut().chain(lines).chain(rings)
    }

    pub fn bounds(&self) -> Bounds {
        let mut b = Bounds::NOTHING;
        self.vertices().for_each(|v| b.add(v.x, v.y));
        b
    }

    pub fn is_finite(&self) -> bool {
        self.vertices().all(|v| v.x.is_finite() && v.y.is_finite())
    }
}

impl Vertex {
    pub fn plan(&self) -> Coord<f64> {
        Coord {
            x: self.x,
            y: self.y,
        }
    }
}

/// A line with its levels; a line whose Z are all 0, or hold one that is no number, has none.
pub(super) fn polyline(line: &[Vertex]) -> Polyline {
    let usable = line.iter().all(|v| v.z.is_finite()) && line.iter().any(|v| v.z != 0.0);
    Polyline {
        points: line.iter().map(Vertex::plan).collect(),
        levels: usable.then(|| line.iter().map(|v| v.z).collect()),
    }
}

/// A polygon of its rings, the outer one first.
pub(super) fn polygon(rings: &[Vec<Vertex>]) -> Polygon<f64> {
    let ring = |r: &Vec<Vertex>| LineString::new(r.iter().map(Vertex::plan).collect());
    let outer = rings
        .first()
        .map(ring)
        .unwrap_or_else(|| LineString::new(vec![]));
    Polygon::new(outer, rings.iter().skip(1).map(ring).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_with_all_zero_or_missing_levels_has_none() {
        let line = |z: [f64; 2]| z.map(|z| Vertex { x: 0.0, y: 0.0, z }).to_vec();
        assert_eq!(polyline(&line([0.0, 0.0])).levels, None);
        assert_eq!(polyline(&line([5.0, f64::NAN])).levels, None);
        assert_eq!(polyline(&line([5.0, 0.0])).levels, Some(vec![5.0, 0.0]));
    }
}
