//! Gaps between obstacles that are too narrow to pass.
//!
//! **Why lines across gaps will do.** Grow every edge and trunk by half the width. Two grown pieces overlap exactly where the
//! pieces are nearer than the width; each is convex, so the two together are one lump without a hole. So any fence of
//! overlapping grown pieces that shuts one place off from another can be pulled tight, without leaving what is grown, onto
//! the pieces themselves and one line across each gap. Conversely such a line lies wholly in what is grown. Hence two
//! places of free ground are shut off from each other by edges and lines just where they are by the grown obstacles.
//!
//! **Why most lines can be left out.** A line is needless where it can be pulled onto others that come before it in a fixed
//! order (by length, then as [`Rank`] says). Each way of leaving one out below says what it is pulled onto.

use super::{
    pair::{Nearest, ONE_PLACE_M, distance, nearest, share},
    walls::{Owner, Walls},
};
use crate::clearance::crossing;

/// Less than this counts as nothing where a line is said to be shorter than another (m).
const SHORTER_M: f64 = 1e-6;

/// Two pieces nearer to each other than the width.
#[derive(Debug, Clone, Copy)]
pub(super) struct Gap {
    pub pieces: [u32; 2],
    pub nearest: Nearest,
}

/// Length in units too coarse for rounding to show; ends that are corners; pieces. No two gaps are equal in all.
type Rank = (u64, usize, u32, u32);

impl Gap {
    fn rank(&self) -> Rank {
        let [i, j] = self.pieces;
        let corners = self.nearest.along.iter().filter(|s| is_end(**s)).count();
        let length = (self.nearest.length_m / ONE_PLACE_M).round() as u64;
        (length, corners, i.min(j), i.max(j))
    }
}

fn is_end(share: f64) -> bool {
    share == 0.0 || share == 1.0
}

/// The gaps that shut off whatever is shut off for people who need `by_m` on either side, in a fixed order.
pub(super) fn gaps(walls: &Walls, by_m: f64) -> Vec<Gap> {
    let finder = Finder { walls, by_m };
    let pieces = 0..walls.pieces.len() as u32;
    pieces.flat_map(|i| finder.from(i)).collect()
}

struct Finder<'a> {
    walls: &'a Walls,
    by_m: f64,
}

impl Finder<'_> {
    /// Gaps from a piece to later ones.
    fn from(&self, i: u32) -> Vec<Gap> {
        let piece = &self.walls.pieces[i as usize];
        let around = self
            .walls
            .near(&[piece.a, piece.b], piece.radius_m + 2.0 * self.by_m);
        let later = around.into_iter().map(|j| j as u32).filter(|&j| j > i);
        let gaps = later.filter_map(|j| self.gap(i, j));
        gaps.filter(|g| !self.needless(g)).collect()
    }

    /// The gap between two pieces, if it is too narrow. Neighbours in a ring have none between them.
    fn gap(&self, i: u32, j: u32) -> Option<Gap> {
        let pieces = [i, j].map(|k| &self.walls.pieces[k as usize]);
        let frames = [i, j].map(|k| self.walls.owner(k) == Owner::Frame);
        if frames == [true; 2] || self.walls.joined(i, j) {
            return None;
        }
        let nearest = nearest(pieces[0], pieces[1]);
        (nearest.length_m <= self.reach_m(i, j)).then_some(Gap {
            pieces: [i, j],
            nearest,
        })
    }

    /// Pieces as near as this leave no way between them (m).
    fn reach_m(&self, i: u32, j: u32) -> f64 {
        self.walls.kept_off_m(i, self.by_m) + self.walls.kept_off_m(j, self.by_m)
    }

    fn needless(&self, gap: &Gap) -> bool {
        self.through_own_area(gap)
            || self.past_a_corner(gap)
            || self.past_a_trunk(gap)
            || self.across_an_edge(gap)
    }

    /// A line inside its own obstacle: nobody is there to be shut off.
    fn through_own_area(&self, gap: &Gap) -> bool {
        let [p, q] = gap.pieces.map(|k| self.walls.pieces[k as usize].owner);
        let [a, b] = gap.nearest.at;
        p == q && self.walls.inside(p, (a + b) / 2.0)
    }

    /// A line that ends at a corner is also one to the next edge of the ring; it is pulled onto the gap there, or, where
    /// the next edge is joined to the other piece, onto the ring.
    fn past_a_corner(&self, gap: &Gap) -> bool {
        (0..2).any(|k| {
            let (own, other) = (gap.pieces[k], gap.pieces[1 - k]);
            let Some(next) = self.beyond(own, gap.nearest.along[k]) else {
                return false;
            };
            let before = |g: Gap| g.rank() < gap.rank();
            self.walls.joined(next, other) || self.gap(next, other).is_some_and(before)
        })
    }

    /// The edge that goes on from an end of another.
    fn beyond(&self, piece: u32, share: f64) -> Option<u32> {
        let [before, after] = self.walls.pieces[piece as usize].neighbours?;
        match share {
            0.0 => Some(before),
            1.0 => Some(after),
            _ => None,
        }
    }

    /// Between two trunks, where a third reaches the line and so fills the triangle of the three: it is pulled onto the
    /// other two sides, if both are shorter. The grown third and each of the others hold the foot on the line, and with it
    /// one of the two right-angled triangles.
    fn past_a_trunk(&self, gap: &Gap) -> bool {
        let is_trunk = |k: u32| self.walls.owner(k) == Owner::Trunk;
        let [a, b] = gap.nearest.at;
        let [i, j] = gap.pieces;
        let shorter_m = gap.nearest.length_m - SHORTER_M;
        let fills = |k: u32| {
            let c = self.walls.pieces[k as usize].a;
            let foot = a + (b - a) * share([a, b], c);
            let holds = |k, p| distance(p, foot) <= self.walls.kept_off_m(k, self.by_m);
            distance(a, c) < shorter_m
                && distance(b, c) < shorter_m
                && [(i, a), (j, b), (k, c)]
                    .into_iter()
                    .all(|(k, p)| holds(k, p))
        };
        if !(is_trunk(i) && is_trunk(j)) {
            return false;
        }
        let around = self.walls.near(&[a, b], self.by_m).into_iter();
        let mut others = around.map(|k| k as u32).filter(|&k| k != i && k != j);
        others.any(|k| is_trunk(k) && fills(k))
    }

    /// A line across a third piece is pulled onto the gaps on either side of it, if both are too narrow and shorter.
    fn across_an_edge(&self, gap: &Gap) -> bool {
        let ([a, b], [i, j]) = (gap.nearest.at, gap.pieces);
        let length_m = gap.nearest.length_m;
        let narrow =
            |k, l, m: f64| m <= self.reach_m(k, l) - SHORTER_M && m <= length_m - SHORTER_M;
        let mut others = self.walls.near(&[a, b], 0.0).into_iter().map(|k| k as u32);
        others.any(|k| {
            let piece = &self.walls.pieces[k as usize];
            let across = || crossing(a, b, piece.a, piece.b).map(|(s, _)| s * length_m);
            k != i
                && k != j
                && across().is_some_and(|m| narrow(i, k, m) && narrow(k, j, length_m - m))
        })
    }
}
