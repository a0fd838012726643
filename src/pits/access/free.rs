//! The free ground of one width, and which of its parts a street touches.

use super::{
    fences::Line,
    gaps::gaps,
    pair::{ONE_PLACE_M, share},
    parts::Parts,
    piece::Piece,
    walls::Walls,
};
use crate::clearance::LENGTH_TOLERANCE_M;
use geo::Coord;

/// Free ground for those who need a certain width.
pub(super) struct FreeGround {
    /// Half the width: so near to an obstacle nobody gets (m).
    by_m: f64,
    parts: Parts,
    /// Parts, by number, that a street touches.
    reached: Vec<bool>,
}

impl FreeGround {
    /// Free ground for a width (m). A gap is too narrow if it lacks more than the tolerance of lengths.
    pub fn new(walls: &Walls, streets: &[Line], width_m: f64) -> FreeGround {
        let by_m = ((width_m - LENGTH_TOLERANCE_M) / 2.0).max(0.0);
        let parts = Parts::new(walls, &gaps(walls, by_m));
        let mut reached = vec![false; parts.count()];
        let stretches = streets.iter().flat_map(|s| stretches(walls, *s, by_m));
        stretches.for_each(|p| reached[parts.at(p) as usize] = true);
        FreeGround {
            by_m,
            parts,
            reached,
        }
    }

    /// Whether every part that leads from the box `within` to the frame is reached before it gets there.
    pub fn settled(&self, walls: &Walls, within: Line) -> bool {
        let leads_out = self.parts.along(walls.frame());
        let open = |part: u32| leads_out[part as usize] && !self.reached[part as usize];
        !self.parts.any_in(within, open)
    }

    /// Whether a point is free ground that can be reached from a street.
    pub fn reached(&self, walls: &Walls, p: Coord<f64>) -> bool {
        !walls.closed(p, self.by_m) && self.reached[self.parts.at(p) as usize]
    }
}

/// A point of each stretch of a line that is free ground.
fn stretches(walls: &Walls, line: Line, by_m: f64) -> Vec<Coord<f64>> {
    let [a, b] = line;
    let length_m = (b - a).x.hypot((b - a).y);
    let mut closed = outside(walls.frame(), line);
    for i in walls.near(&line, by_m) {
        closed.extend(within(
            &walls.pieces[i],
            line,
            walls.kept_off_m(i as u32, by_m),
        ));
    }
    closed.sort_by(|p, q| p.0.total_cmp(&q.0));
    closed.push((1.0, 1.0));
    let (mut free, mut from) = (vec![], 0.0);
    for (to, next) in closed {
        if (to - from) * length_m > ONE_PLACE_M {
            free.push(a + (b - a) * ((from + to) / 2.0));
        }
        from = next.max(from);
    }
    // Between edges kept clear of, a stretch is wholly inside an area or wholly outside.
    free.retain(|p| !walls.in_area(*p));
    free
}

/// Shares of a line that lie outside a box.
fn outside([low, high]: Line, line: Line) -> Vec<(f64, f64)> {
    let sides = [
        (line[0].x - low.x, line[1].x - low.x),
        (line[0].y - low.y, line[1].y - low.y),
        (high.x - line[0].x, high.x - line[1].x),
        (high.y - line[0].y, high.y - line[1].y),
    ];
    let of = |(from, to): (f64, f64)| match (from < 0.0, to < 0.0) {
        (true, true) => Some((0.0, 1.0)),
        (true, false) => Some((0.0, from / (from - to))),
        (false, true) => Some((from / (from - to), 1.0)),
        (false, false) => None,
    };
    sides.into_iter().filter_map(of).collect()
}

/// The share of a line that lies nearer than `by_m` to a piece, which is one stretch, since the grown piece is convex.
fn within(piece: &Piece, line: Line, by_m: f64) -> Option<(f64, f64)> {
    let ends = piece.ends().map(|c| within_circle(c, line, by_m));
    let all = ends
        .into_iter()
        .chain([within_strip(piece.ends(), line, by_m)]);
    all.flatten().reduce(|p, q| (p.0.min(q.0), p.1.max(q.1)))
}

fn within_circle(centre: Coord<f64>, [a, b]: Line, radius_m: f64) -> Option<(f64, f64)> {
    let (d, foot) = (b - a, share([a, b], centre));
    let length_m = d.x.hypot(d.y);
    // The nearest point of the whole line, beyond the ends too.
    let w = centre - a;
    let along = if length_m > 0.0 {
        (w.x * d.x + w.y * d.y) / (length_m * length_m)
    } else {
        foot
    };
    let off = w - d * along;
    let half_sq = radius_m * radius_m - (off.x * off.x + off.y * off.y);
    if half_sq <= 0.0 {
        return None;
    }
    let half = half_sq.sqrt() / length_m;
    clipped(along - half, along + half)
}

/// Beside an edge, between the squares through its ends.
fn within_strip([p, q]: Line, [a, b]: Line, by_m: f64) -> Option<(f64, f64)> {
    let e = q - p;
    let length_m = e.x.hypot(e.y);
    if length_m == 0.0 {
        return None;
    }
    let u = e * (1.0 / length_m);
    let along = |c: Coord<f64>| (c - p).x * u.x + (c - p).y * u.y;
    let beside = |c: Coord<f64>| (c - p).y * u.x - (c - p).x * u.y;
    let lengthwise = between(along(a), along(b), 0.0, length_m)?;
    let across = between(beside(a), beside(b), -by_m, by_m)?;
    clipped(lengthwise.0.max(across.0), lengthwise.1.min(across.1))
}

/// The share over which a value that goes evenly from `from` to `to` lies between two others.
fn between(from: f64, to: f64, low: f64, high: f64) -> Option<(f64, f64)> {
    if from == to {
        return (from > low && from < high).then_some((0.0, 1.0));
    }
    let (s, t) = ((low - from) / (to - from), (high - from) / (to - from));
    clipped(s.min(t), s.max(t))
}

fn clipped(from: f64, to: f64) -> Option<(f64, f64)> {
    let (from, to) = (from.max(0.0), to.min(1.0));
    (from < to).then_some((from, to))
}
