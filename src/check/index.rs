//! What lies near a drive: the digitised segments of all service records in a packed tree of boxes.
//!
//! The tree is built once from all segments in the order of a curve that fills the plane, sixteen to a box. Coordinates
//! in it are single, half the memory of double; what is looked for is widened by what that may be off, and what is found is
//! measured from the records themselves.

use crate::{
    clearance::{Segment, by_key, hilbert},
    site::{RecordPart, Records},
};
use rayon::prelude::*;
use std::ops::Range;

const FAN: usize = 16;

/// Cells along a side of the square that the curve fills.
const CELLS: f64 = 65_535.0;

/// Bits of a key. They tell cells of a two-thousandth of the side, some metres in a city: what falls into one cell is about what falls
/// into one box.
const KEY: u32 = 22;

/// So many parts are looked at by one thread in one go.
const PARTS_TOGETHER: usize = 8192;

/// A digitised segment: its part, and the point of the records that it starts at.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct SegmentAt {
    /// Index into `Records::parts`.
    pub part: u32,
    /// Index into `Records::points`.
    pub point: u32,
}

/// Ends of a segment, or low and high corner of a box, from the index's origin.
type Four = [f32; 4];

/// All segments, findable by place.
#[derive(Debug, Default)]
pub struct Index {
    origin: [f64; 2],
    /// Ends of the segments, in the order of the curve.
    leaves: Vec<Four>,
    ids: Vec<SegmentAt>,
    /// Boxes of sixteen, of sixteen of these, and so on.
    boxes: Vec<Vec<Four>>,
    /// By how much a rounded coordinate may be off (m).
    slack_m: f32,
}

impl Index {
    /// Indexes the segments of all records.
    pub fn new(records: &Records) -> Index {
        let (low, high) = bounds(&records.points);
        let span = (high[0] - low[0]).max(high[1] - low[1]).max(1.0);
        let points = &records.points;
        let ids = by_key(&keyed(records, low, CELLS / span), KEY);
        let end = |p: [f64; 3], axis: usize| (p[axis] - low[axis]) as f32;
        let ends = |id: &SegmentAt| {
            let (a, b) = (points[id.point as usize], points[id.point as usize + 1]);
            [end(a, 0), end(a, 1), end(b, 0), end(b, 1)]
        };
        let leaves: Vec<Four> = ids.par_iter().map(ends).collect();
        Index {
            origin: low,
            boxes: boxes(&leaves),
            leaves,
            ids,
            slack_m: span as f32 * f32::EPSILON,
        }
    }

    /// Segments that may come within `by_m` of the drive in plan, by part and then along it. None that does is left out.
    pub fn near(
        &self,
        drive: &Segment,
        by_m: f64,
        stack: &mut Vec<(usize, usize)>,
        out: &mut Vec<SegmentAt>,
    ) {
        out.clear();
        let at = |p: [f64; 3], axis: usize| (p[axis] - self.origin[axis]) as f32;
        let line = [
            at(drive.a, 0),
            at(drive.a, 1),
            at(drive.b, 0),
            at(drive.b, 1),
        ];
        let by = by_m as f32 * 1.000_001 + 4.0 * self.slack_m + 1e-4;
        let window = widened(corners(&line), by);
        let strip = Strip::of(&line, by, self.slack_m);
        stack.clear();
        if let Some(top) = self.boxes.len().checked_sub(1) {
            let all = 0..self.boxes[top].len();
            stack.extend(met(&self.boxes[top], all, &window).map(|i| (top, i)));
        }
        while let Some((level, i)) = stack.pop() {
            let children = FAN * i..FAN * (i + 1);
            if level > 0 {
                let met = met(&self.boxes[level - 1], children, &window);
                stack.extend(met.map(|k| (level - 1, k)));
                continue;
            }
            let end = children.end.min(self.leaves.len());
            let leaves = &self.leaves[children.start..end];
            let mut inside = [false; FAN];
            // No branches: the processor does several at once.
            for (inside, leaf) in inside.iter_mut().zip(leaves) {
                *inside = meet(&corners(leaf), &window) & strip.holds_some_of(leaf);
            }
            let near = (children.start..).zip(inside).filter(|leaf| leaf.1);
            out.extend(near.map(|(k, _)| self.ids[k]));
        }
        out.sort_unstable();
    }
}

/// The ground on both sides of a drive's line, without end along it.
struct Strip {
    across: [f32; 2],
    at: f32,
    by: f32,
}

impl Strip {
    fn of(line: &Four, by: f32, slack: f32) -> Strip {
        let (dx, dy) = (line[2] - line[0], line[3] - line[1]);
        let length = dx.hypot(dy);
        // Rounding turns a short drive by much, and one of no length has no sides.
        let across = match length > by {
            true => [-dy / length, dx / length],
            false => [0.0; 2],
        };
        Strip {
            across,
            at: across[0] * line[0] + across[1] * line[1],
            by: by * 1.01 + 8.0 * slack,
        }
    }

    fn holds_some_of(&self, s: &Four) -> bool {
        let off = |x: f32, y: f32| self.across[0] * x + self.across[1] * y - self.at;
        let (p, q) = (off(s[0], s[1]), off(s[2], s[3]));
        !((p > self.by) & (q > self.by) | (p < -self.by) & (q < -self.by))
    }
}

fn corners(s: &Four) -> Four {
    // Coordinates are numbers: no call of f32::min, which minds those that are none.
    let low = |a: f32, b: f32| if a < b { a } else { b };
    let high = |a: f32, b: f32| if a > b { a } else { b };
    [
        low(s[0], s[2]),
        low(s[1], s[3]),
        high(s[0], s[2]),
        high(s[1], s[3]),
    ]
}

fn widened(b: Four, by: f32) -> Four {
    [b[0] - by, b[1] - by, b[2] + by, b[3] + by]
}

fn meet(a: &Four, b: &Four) -> bool {
    (a[0] <= b[2]) & (b[0] <= a[2]) & (a[1] <= b[3]) & (b[1] <= a[3])
}

/// Which of some boxes (no more than [`FAN`]) meet the window.
fn met(boxes: &[Four], some: Range<usize>, window: &Four) -> impl Iterator<Item = usize> {
    let those = &boxes[some.start..some.end.min(boxes.len())];
    let mut inside = [false; FAN];
    for (inside, one) in inside.iter_mut().zip(those) {
        *inside = meet(one, window);
    }
    (some.start..).zip(inside).filter(|b| b.1).map(|b| b.0)
}

fn around(some: &[Four]) -> Four {
    some.iter().map(corners).fold(
        [
            f32::INFINITY,
            f32::INFINITY,
            f32::NEG_INFINITY,
            f32::NEG_INFINITY,
        ],
        |a, b| {
            [
                a[0].min(b[0]),
                a[1].min(b[1]),
                a[2].max(b[2]),
                a[3].max(b[3]),
            ]
        },
    )
}

fn boxes(leaves: &[Four]) -> Vec<Vec<Four>> {
    let mut levels: Vec<Vec<Four>> = vec![];
    loop {
        let below = levels.last().map_or(leaves, Vec::as_slice);
        if below.is_empty() || !levels.is_empty() && below.len() <= FAN {
            return levels;
        }
        let above = below.par_chunks(FAN).map(around).collect();
        levels.push(above);
    }
}

/// Every segment with the place of its middle along the curve, part by part.
fn keyed(records: &Records, low: [f64; 2], step: f64) -> Vec<(u32, SegmentAt)> {
    let of_some = |(chunk, some): (usize, &[RecordPart])| {
        let first = chunk * PARTS_TOGETHER;
        let ends = first..first + some.len();
        let mut keyed = Vec::with_capacity(ends.clone().map(|p| records.points_of(p).len()).sum());
        for part in ends {
            let from = records.parts[part].first;
            for (point, ab) in (from..).zip(records.points_of(part).windows(2)) {
                let cell = |axis| (((ab[0][axis] + ab[1][axis]) / 2.0 - low[axis]) * step) as u32;
                let key = hilbert(cell(0), cell(1)) >> (32 - KEY);
                let part = part as u32;
                keyed.push((key, SegmentAt { part, point }));
            }
        }
        keyed
    };
    let some = records.parts.par_chunks(PARTS_TOGETHER).enumerate();
    some.map(of_some).collect::<Vec<_>>().concat()
}

fn bounds(points: &[[f64; 3]]) -> ([f64; 2], [f64; 2]) {
    type Corners = ([f64; 2], [f64; 2]);
    let wider = |(low, high): Corners, (l, h): Corners| {
        (
            [low[0].min(l[0]), low[1].min(l[1])],
            [high[0].max(h[0]), high[1].max(h[1])],
        )
    };
    let nothing = || ([f64::INFINITY; 2], [f64::NEG_INFINITY; 2]);
    if points.is_empty() {
        return ([0.0; 2], [0.0; 2]);
    }
    let some = |some: &[[f64; 3]]| {
        let each = some.iter().map(|p| ([p[0], p[1]], [p[0], p[1]]));
        each.fold(nothing(), wider)
    };
    points.par_chunks(1 << 14).map(some).reduce(nothing, wider)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{clearance::nearest, site::Kind};

    /// Lines all over a square of `side` m from a seed.
    fn scattered(n: usize, side: f64) -> Records {
        let mut x = 0x9E37_79B9_7F4A_7C15u64;
        let mut next = || {
            x ^= x << 13;
            x ^= x >> 7;
            x ^= x << 17;
            (x >> 11) as f64 / (1u64 << 53) as f64
        };
        let mut records = Records::default();
        let layer = records.layer(&"mains".into(), Default::default());
        for fid in 0..n {
            let of = (Kind::Gas, crate::site::Quality::A);
            records.begin(Records::record(fid as i64, layer, of), None);
            records.begin_part(false);
            let (cx, cy) = (side * next() + 4e5, side * next() + 6e6);
            let reach = if fid % 50 == 0 { side } else { 30.0 };
            for _ in 0..2 + fid % 3 {
                records.points.push([
                    cx + reach * (next() - 0.5),
                    cy + reach * (next() - 0.5),
                    0.0,
                ]);
            }
        }
        records
    }

    #[test]
    fn whatever_is_near_is_found() {
        let records = scattered(3000, 2000.0);
        let index = Index::new(&records);
        let (mut stack, mut out) = (vec![], vec![]);
        let mut found = 0;
        for k in 0..200 {
            let o = records.points[k * 7];
            let drive = Segment {
                a: [o[0], o[1], 0.0],
                b: [o[0] + (k % 13) as f64, o[1] - (k % 7) as f64 * 4.0, 0.0],
            };
            index.near(&drive, 3.0, &mut stack, &mut out);
            assert!(out.is_sorted());
            for part in 0..records.parts.len() {
                for (i, ab) in records.points_of(part).windows(2).enumerate() {
                    let line = Segment { a: ab[0], b: ab[1] };
                    let id = SegmentAt {
                        part: part as u32,
                        point: records.parts[part].first + i as u32,
                    };
                    if nearest(&drive, &line).distance_m <= 3.0 {
                        assert!(out.binary_search(&id).is_ok(), "{drive:?} {line:?}");
                        found += 1;
                    }
                }
            }
        }
        assert!(found > 300, "{found}");
    }

    #[test]
    fn without_records_nothing_is_near() {
        let index = Index::new(&Records::default());
        let drive = Segment {
            a: [0.0; 3],
            b: [1.0; 3],
        };
        let mut out = vec![];
        index.near(&drive, 1e6, &mut vec![], &mut out);
        assert!(out.is_empty());
    }
}
