//! The line of one service part: its segments, what of them is near a drive, and the way along it.

use super::{index::SegmentAt, located::line_source};
use crate::{
    clearance::{Cutting, DepthSource, Segment, ServicePart, goes_straight_on, touches},
    job::DepthBand,
    site::{Record, Records},
};
use geo::Coord;

/// Farther than this beside the drive's line nothing meets it (m).
const MEETS_WITHIN_M: f64 = 1e-3;
/// What rounding may do to places along and beside a drive (m).
const ROUNDING_M: f64 = 1e-6;

/// The line of one service part.
pub(super) struct Line<'r> {
    points: &'r [[f64; 3]],
    /// Its first point among those of all records.
    first: u32,
    has_levels: bool,
    pub source: DepthSource,
}

impl<'r> Line<'r> {
    pub fn new(
        records: &'r Records,
        number: usize,
        record: &Record,
        part: &ServicePart,
        band: DepthBand,
    ) -> Line<'r> {
        Line {
            points: records.points_of(number),
            first: records.parts[number].first,
            has_levels: records.parts[number].levels,
            source: line_source(records, number, record, part.radius_m, band),
        }
    }

    /// Which of its segments it is.
    pub fn place(&self, s: SegmentAt) -> usize {
        (s.point - self.first) as usize
    }

    /// Segment `i` meets the drive.
    pub fn touches(&self, i: usize, drive: &Axis) -> bool {
        let [a, b] = self.ends(i);
        drive.near([a, b], MEETS_WITHIN_M).is_some()
            && self.cutting(i).is_some()
            && touches(&drive.flat, a, b)
    }

    fn segments(&self) -> usize {
        self.points.len() - 1
    }

    pub fn ends(&self, i: usize) -> [Coord<f64>; 2] {
        [i, i + 1].map(|k| Coord {
            x: self.points[k][0],
            y: self.points[k][1],
        })
    }

    pub fn levels(&self, i: usize) -> [f64; 2] {
        [self.points[i][2], self.points[i + 1][2]]
    }

    pub fn cutting(&self, i: usize) -> Option<Cutting> {
        let [a, b] = self.ends(i);
        Cutting::of(a, b, self.has_levels.then(|| self.levels(i)))
    }

    /// First and last segment of the straight part that segment `i` belongs to; repeated vertices between belong to it too.
    fn straight(&self, i: usize) -> (usize, usize) {
        let direction = |s: usize| self.cutting(s).and_then(|c| c.direction);
        let (mut first, mut last) = (i, i);
        let start = direction(i);
        let mut here = start;
        for s in (0..i).rev() {
            let Some(before) = self.cutting(s) else {
                continue;
            };
            if !goes_straight_on(before.direction, here) {
                break;
            }
            (first, here) = (s, before.direction);
        }
        here = start;
        for s in i + 1..self.segments() {
            let Some(next) = self.cutting(s) else {
                continue;
            };
            if !goes_straight_on(here, next.direction) {
                break;
            }
            (last, here) = (s, next.direction);
        }
        (first, last)
    }
}

/// A drive in plan as an axis: places along it and beside it.
pub(super) struct Axis {
    /// The drive in plan.
    pub flat: Segment,
    along: Coord<f64>,
    length_m: f64,
}

impl Axis {
    pub fn of(flat: Segment) -> Axis {
        let d = Coord {
            x: flat.b[0] - flat.a[0],
            y: flat.b[1] - flat.a[1],
        };
        let length_m = (d.x * d.x + d.y * d.y).sqrt();
        let along = match length_m > 0.0 {
            true => d / length_m,
            // A drive straight down lies along any axis.
            false => Coord { x: 1.0, y: 0.0 },
        };
        Axis {
            flat,
            along,
            length_m,
        }
    }

    /// Between which shares of a segment it may come within `by_m` of the drive: where it is in the rectangle around it.
    #[inline]
    pub fn near(&self, [p, q]: [Coord<f64>; 2], by_m: f64) -> Option<(f64, f64)> {
        let by_m = by_m + ROUNDING_M;
        let place = |c: Coord<f64>| {
            let w = Coord {
                x: c.x - self.flat.a[0],
                y: c.y - self.flat.a[1],
            };
            [
                w.x * self.along.x + w.y * self.along.y,
                w.y * self.along.x - w.x * self.along.y,
            ]
        };
        let (from, to) = (place(p), place(q));
        let mut span = (0.0f64, 1.0f64);
        for (axis, least, most) in [(1, -by_m, by_m), (0, -by_m, self.length_m + by_m)] {
            let (a, b) = (from[axis], to[axis]);
            if a < least && b < least || a > most && b > most {
                return None;
            }
            let at = |limit: f64| (limit - a) / (b - a);
            let (low, high) = if a <= b { (least, most) } else { (most, least) };
            if (a - low) * (b - low) < 0.0 {
                span.0 = span.0.max(at(low));
            }
            if (a - high) * (b - high) < 0.0 {
                span.1 = span.1.min(at(high));
            }
        }
        (span.0 <= span.1).then_some(span)
    }
}

/// Which of the `n` equal pieces of a segment lie between these shares of it, in part or whole: from, up to.
pub(super) fn pieces(n: usize, (first, last): (f64, f64)) -> (usize, usize) {
    // Casts round down, and never below nought.
    let (from, last) = (
        ((first - 1e-9) * n as f64) as usize,
        ((last + 1e-9) * n as f64) as usize,
    );
    (from.min(n - 1), (last + 1).min(n))
}

/// The way along a part: what was met of it so far.
#[derive(Default)]
pub(super) struct Walk {
    /// Segment, place and number of pieces of the piece before.
    last: Option<(usize, usize, usize)>,
    /// A straight part, first to last segment, and whether it meets the drive.
    straight: Option<(usize, usize, bool)>,
    /// Some segment of the part meets the drive.
    touched: Option<bool>,
}

impl Walk {
    /// Piece `k` of `n` of segment `i` comes right behind the one asked about before.
    pub fn follows(&mut self, line: &Line, i: usize, k: usize, n: usize) -> bool {
        let last = self.last.replace((i, k, n));
        let Some((before, place, count)) = last else {
            return false;
        };
        if before == i {
            return place + 1 == k;
        }
        let nothing_between = || (before + 1..i).all(|s| line.cutting(s).is_none());
        k == 0 && place + 1 == count && nothing_between()
    }

    /// Some segment of the part meets the drive; asked once.
    pub fn touched(&mut self, ask: impl FnOnce() -> bool) -> bool {
        *self.touched.get_or_insert_with(ask)
    }

    /// The straight part of the line that segment `i` belongs to meets the drive.
    pub fn straight_meets(&mut self, line: &Line, i: usize, drive: &Axis) -> bool {
        if let Some((first, last, meets)) = self.straight
            && (first..=last).contains(&i)
        {
            return meets;
        }
        let (first, last) = line.straight(i);
        let meets = (first..=last).any(|s| line.touches(s, drive));
        self.straight = Some((first, last, meets));
        meets
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::clearance::nearest;

    #[test]
    fn what_is_near_of_a_segment_is_not_cut_off() {
        let mut x = 0x2545_F491_4F6C_DD1Du64;
        let mut next = || {
            x ^= x << 13;
            x ^= x >> 7;
            x ^= x << 17;
            (x >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut near = 0;
        for case in 0..2000 {
            let mut at = || [30.0 * next() + 4e5, 30.0 * next() + 6e6, 0.0];
            let (a, p, q) = (at(), at(), at());
            let b = if case % 20 == 0 { a } else { at() };
            let axis = Axis::of(Segment { a, b });
            let ends = [p, q].map(|v| Coord { x: v[0], y: v[1] });
            let span = axis.near(ends, 2.0);
            for k in 0..=50 {
                let t = f64::from(k) / 50.0;
                let v = [p[0] + t * (q[0] - p[0]), p[1] + t * (q[1] - p[1]), 0.0];
                if nearest(&axis.flat, &Segment { a: v, b: v }).distance_m <= 2.0 {
                    let (from, to) = span.expect("some of it is near");
                    assert!(
                        from <= t + 1e-6 && t <= to + 1e-6,
                        "case {case}: {t} {span:?}"
                    );
                    near += 1;
                }
            }
        }
        assert!(near > 5000, "{near}");
    }
}
