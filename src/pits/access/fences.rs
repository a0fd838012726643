//! Which edges and lines across gaps shut anything off.

use super::{
    gaps::Gap,
    walls::{Owner, Walls},
};
use geo::Coord;

/// From end to end.
pub(super) type Line = [Coord<f64>; 2];

/// Lines that part anything: edges, split where a gap ends on them, and lines across gaps.
pub(super) fn lines(walls: &Walls, gaps: &[Gap]) -> Vec<Line> {
    let standing = in_fences(walls, gaps);
    let stands = |piece: u32| standing[walls.pieces[piece as usize].owner as usize];
    let gaps: Vec<&Gap> = gaps
        .iter()
        .filter(|g| g.pieces.into_iter().all(stands))
        .collect();
    let mut feet: Vec<(u32, f64, Coord<f64>)> = gaps
        .iter()
        .flat_map(|g| (0..2).map(|k| (g.pieces[k], g.nearest.along[k], g.nearest.at[k])))
        .collect();
    feet.sort_by(|p, q| p.0.cmp(&q.0).then(p.1.total_cmp(&q.1)));
    let mut feet = &feet[..];
    let mut lines: Vec<Line> = gaps.iter().map(|g| g.nearest.at).collect();
    for (i, piece) in (0..).zip(&walls.pieces) {
        let (own, rest) = feet.split_at(feet.partition_point(|f| f.0 <= i));
        feet = rest;
        if stands(i) {
            let mut from = piece.a;
            for to in own.iter().map(|f| f.2).chain([piece.b]) {
                lines.push([from, to]);
                from = to;
            }
        }
    }
    lines.retain(|[a, b]| a != b);
    lines
}

/// Which obstacles can be part of a fence that shuts anything off. One without yards and with a single gap is none: leaving
/// it out joins nothing. Taken away again and again, rows of houses and lone trees go, rings of them stay.
fn in_fences(walls: &Walls, gaps: &[Gap]) -> Vec<bool> {
    let owners = |g: &Gap| g.pieces.map(|k| walls.pieces[k as usize].owner as usize);
    let mut of: Vec<Vec<usize>> = vec![vec![]; walls.owners.len()];
    let encloses = |o: &Owner| matches!(o, Owner::Frame | Owner::Area { yards: true, .. });
    let mut stays: Vec<bool> = walls.owners.iter().map(encloses).collect();
    for (i, g) in gaps.iter().enumerate() {
        let [p, q] = owners(g);
        of[p].push(i);
        of[q].push(i);
        stays[p] |= p == q;
    }
    let mut left: Vec<usize> = of.iter().map(Vec::len).collect();
    let mut standing = vec![true; left.len()];
    let mut ends: Vec<usize> = (0..left.len())
        .filter(|&o| left[o] < 2 && !stays[o])
        .collect();
    while let Some(o) = ends.pop() {
        standing[o] = false;
        for p in of[o].iter().flat_map(|&i| owners(&gaps[i])) {
            if standing[p] {
                left[p] -= 1;
                ends.extend((left[p] == 1 && !stays[p]).then_some(p));
            }
        }
    }
    standing
}
