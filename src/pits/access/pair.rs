//! Nearest points of two straight edges.

use super::piece::Piece;
use crate::clearance::crossing;
use geo::Coord;

/// Lengths that differ by less are taken for equal, places nearer than this for one (m).
pub(super) const ONE_PLACE_M: f64 = 1e-8;

/// Where two pieces come nearest: `at[k]` on the k-th, `along[k]` its share of the way from end to end.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Nearest {
    pub at: [Coord<f64>; 2],
    pub along: [f64; 2],
    pub length_m: f64,
}

/// Nearest points of two pieces; of edges that run side by side the middle of where they do.
pub(super) fn nearest(p: &Piece, q: &Piece) -> Nearest {
    if let Some((s, t)) = crossing(p.a, p.b, q.a, q.b) {
        return Nearest::of(p, q, s, t);
    }
    // Lines that do not cross are nearest at an end of one of them.
    let ends = [
        (0.0, share(q.ends(), p.a)),
        (1.0, share(q.ends(), p.b)),
        (share(p.ends(), q.a), 0.0),
        (share(p.ends(), q.b), 1.0),
    ];
    let apart = ends.map(|(s, t)| distance(p.at(s), q.at(t)));
    let least = apart.into_iter().fold(f64::INFINITY, f64::min);
    // Nearest places make up a convex set, so between several is one too.
    let (mut s, mut t, mut n) = (0.0, 0.0, 0.0);
    for ((u, v), d) in ends.into_iter().zip(apart) {
        if d <= least + ONE_PLACE_M {
            (s, t, n) = (s + u, t + v, n + 1.0);
        }
    }
    Nearest::of(p, q, s / n, t / n)
}

impl Nearest {
    fn of(p: &Piece, q: &Piece, s: f64, t: f64) -> Nearest {
        let (s, t) = (p.end_or(s), q.end_or(t));
        let mut at = [p.at(s), q.at(t)];
        let mut length_m = distance(at[0], at[1]);
        let is_end = |share: f64| share == 0.0 || share == 1.0;
        // Edges that touch must share a point to the last digit, or the triangulation finds a way between them.
        if length_m <= ONE_PLACE_M && !(is_end(s) && is_end(t)) {
            at = if is_end(t) { [at[1]; 2] } else { [at[0]; 2] };
            length_m = 0.0;
        }
        Nearest {
            at,
            along: [s, t],
            length_m,
        }
    }
}

/// Share of the way from `a` to `b` that is nearest to a point; 0 where they are one.
pub(super) fn share([a, b]: [Coord<f64>; 2], p: Coord<f64>) -> f64 {
    let (d, w) = (b - a, p - a);
    let length_sq = d.x * d.x + d.y * d.y;
    if length_sq > 0.0 {
        ((w.x * d.x + w.y * d.y) / length_sq).clamp(0.0, 1.0)
    } else {
        0.0
    }
}

/// Distance of two points (m).
pub(super) fn distance(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a.x - b.x).hypot(a.y - b.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    fn edge(a: (f64, f64), b: (f64, f64)) -> Piece {
        Piece::edge(coord! {x: a.0, y: a.1}, coord! {x: b.0, y: b.1}, 0)
    }

    #[test]
    fn edges_side_by_side_are_nearest_in_the_middle() {
        let n = nearest(&edge((0., 0.), (10., 0.)), &edge((14., 2.), (4., 2.)));
        assert_eq!((n.length_m, n.at[0].x, n.at[1].x), (2.0, 7.0, 7.0));
    }

    #[test]
    fn edges_askew_are_nearest_at_an_end() {
        let n = nearest(&edge((0., 0.), (10., 0.)), &edge((4., 1.), (4., 5.)));
        assert_eq!((n.length_m, n.along), (1.0, [0.4, 0.0]));
    }

    #[test]
    fn touching_edges_share_a_point() {
        let n = nearest(&edge((0., 0.), (10., 0.)), &edge((4., -3.), (4., 5.)));
        assert_eq!((n.length_m, n.at[0]), (0.0, n.at[1]));
        let on = nearest(&edge((0., 0.), (3., 1.)), &edge((1.5, 0.5), (9., 9.)));
        assert_eq!((on.length_m, on.at), (0.0, [coord! {x: 1.5, y: 0.5}; 2]));
    }
}
