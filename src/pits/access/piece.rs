//! An edge or a trunk.

use super::pair::{ONE_PLACE_M, distance};
use geo::Coord;

/// A straight edge of an obstacle, or a trunk (`a` is `b`).
#[derive(Debug, Clone, Copy)]
pub(super) struct Piece {
    pub a: Coord<f64>,
    pub b: Coord<f64>,
    /// Radius of a trunk, 0 of an edge (m).
    pub radius_m: f64,
    /// Index of the obstacle.
    pub owner: u32,
    /// The edges before and after it in its ring; none of a trunk.
    pub neighbours: Option<[u32; 2]>,
}

impl Piece {
    /// An edge of a test.
    #[cfg(test)]
    pub fn edge(a: Coord<f64>, b: Coord<f64>, owner: u32) -> Piece {
        Piece {
            a,
            b,
            radius_m: 0.0,
            owner,
            neighbours: None,
        }
    }

    /// Both ends.
    pub fn ends(&self) -> [Coord<f64>; 2] {
        [self.a, self.b]
    }

    /// The point at a share of the way; the ends exactly.
    pub fn at(&self, share: f64) -> Coord<f64> {
        match share {
            1.0 => self.b,
            s => self.a + (self.b - self.a) * s,
        }
    }

    /// A share that is as good as an end's is the end's.
    pub fn end_or(&self, share: f64) -> f64 {
        let near = |length_m: f64| length_m <= ONE_PLACE_M;
        let length_m = distance(self.a, self.b);
        if near(share * length_m) {
            0.0
        } else if near((1.0 - share) * length_m) {
            1.0
        } else {
            share
        }
    }

    /// Low and high corner of its box.
    pub fn corners(&self) -> (Coord<f64>, Coord<f64>) {
        let of = |f: fn(f64, f64) -> f64| Coord {
            x: f(self.a.x, self.b.x),
            y: f(self.a.y, self.b.y),
        };
        let r = Coord {
            x: self.radius_m,
            y: self.radius_m,
        };
        (of(f64::min) - r, of(f64::max) + r)
    }
}
