//! The line of one service part: its segments, what of them is near a drive, and the way along it.

use super::{located::line_source, nearby::Near};
use crate::{
    clearance::{
        Cutting, Depth, DepthSource, Gauge, Measured, Piece, Places, Segment, ServicePart,
        goes_straight_on, touches,
    },
    ground::Ground,
    job::DepthBand,
    site::{Record, Records},
};
use geo::Coord;
use std::cell::OnceCell;

/// Farther than this beside the drive's line nothing meets it (m).
const MEETS_WITHIN_M: f64 = 1e-3;
/// What rounding may do to places along and beside a drive (m).
const ROUNDING_M: f64 = 1e-6;

/// The line of one service part.
pub(super) struct Line<'r> {
    points: &'r [[f64; 3]],
    has_levels: bool,
    source: DepthSource,
    /// How each segment is cut; looked at when first asked.
    cuttings: Vec<OnceCell<Option<Cutting>>>,
    /// Of each segment, between which shares some drive may be near.
    spans: Vec<(f64, f64)>,
    /// Of each segment that some drive may be near: the first of its joints that is there, and which one it is.
    first: Vec<(u32, u32)>,
    joints: Joints,
}

/// Where pieces end and the next begin, each list as long as the others.
#[derive(Debug, Default)]
struct Joints {
    x: Vec<f64>,
    y: Vec<f64>,
    /// Lowest and highest level of the centre line; NaN where it is not known at all.
    low: Vec<f64>,
    high: Vec<f64>,
}

impl Joints {
    fn clear(&mut self) {
        let Joints { x, y, low, high } = self;
        [x, y, low, high].into_iter().for_each(Vec::clear);
    }

    #[inline]
    fn push(&mut self, at: Coord<f64>, levels: Option<[f64; 2]>) {
        let [low, high] = levels.unwrap_or([f64::NAN; 2]);
        self.x.push(at.x);
        self.y.push(at.y);
        self.low.push(low);
        self.high.push(high);
    }
}

impl Default for Line<'_> {
    /// No line.
    fn default() -> Self {
        Line {
            points: &[],
            has_levels: false,
            source: DepthSource::Levels { to_centre: 0.0 },
            cuttings: vec![],
            spans: vec![],
            first: vec![],
            joints: Joints::default(),
        }
    }
}

impl<'r> Line<'r> {
    /// Turns to part `number`, in the memory of the one before.
    pub fn begin(
        &mut self,
        records: &'r Records,
        number: usize,
        record: &Record,
        part: &ServicePart,
        band: DepthBand,
    ) {
        self.points = records.points_of(number);
        self.has_levels = records.parts[number].levels;
        self.source = line_source(records, number, record, part.radius_m, band);
        self.cuttings.clear();
        self.cuttings.resize_with(self.segments(), OnceCell::new);
    }

    /// Cuts what drives may be near, once for all of them.
    pub fn lay(&mut self, near: &[Near], ground: &Ground) {
        self.spans.clear();
        self.spans.resize(self.segments(), (1.0, 0.0));
        for n in near {
            let span = &mut self.spans[n.segment as usize];
            *span = (span.0.min(n.span.0), span.1.max(n.span.1));
        }
        self.joints.clear();
        self.first.clear();
        self.first.resize(self.segments(), (0, 0));
        let mut joints = std::mem::take(&mut self.joints);
        for i in 0..self.segments() {
            let span = self.spans[i];
            let cutting = (span.0 <= span.1).then(|| self.cutting(i)).flatten();
            let Some(cutting) = cutting.copied() else {
                continue;
            };
            let (from, to) = pieces(cutting.n, span);
            self.first[i] = (joints.x.len() as u32, from as u32);
            let z = self.levels(i);
            for k in from..=to {
                let (share, at) = cutting.at(k);
                joints.push(at, (self.source).levels_at(z, share, || ground.level(at)));
            }
        }
        // Places are measured some at a time, and the last ones may not be enough.
        (0..Gauge::room(1)).for_each(|_| joints.push(Coord::default(), None));
        self.joints = joints;
    }

    /// The joint where piece `k` of segment `i` begins, which some drive may be near; the next ones follow it.
    #[inline]
    pub fn joint(&self, i: usize, k: usize) -> usize {
        let (first, is) = self.first[i];
        first as usize + k - is as usize
    }

    /// Joints from one on, enough to measure `count` pieces; each at its highest level.
    #[inline]
    pub fn places(&self, joint: usize, count: usize) -> Places<'_> {
        let some = joint..joint + Gauge::room(count);
        let Joints { x, y, high, .. } = &self.joints;
        [&x[some.clone()], &y[some.clone()], &high[some]]
    }

    /// The piece of segment `i` from a joint to the next.
    #[inline]
    pub fn piece(&self, joint: usize, i: usize) -> Piece {
        let at = |k: usize| Coord {
            x: self.joints.x[k],
            y: self.joints.y[k],
        };
        Piece {
            a: at(joint),
            b: at(joint + 1),
            depth: self.depth(joint),
            direction: self.cutting(i).and_then(|c| c.direction),
            straight: 0,
        }
    }

    /// What is known of the depth between a joint and the next.
    #[inline]
    fn depth(&self, joint: usize) -> Depth {
        let levels = |k: usize| {
            let (low, high) = (self.joints.low[k], self.joints.high[k]);
            (!high.is_nan()).then_some([low, high])
        };
        self.source.between(levels(joint), levels(joint + 1))
    }

    /// Its depth is recorded.
    pub fn known(&self) -> bool {
        self.source.known()
    }

    /// Segment `i` meets the drive.
    pub fn touches(&self, i: usize, drive: &Axis) -> bool {
        let [a, b] = self.ends(i);
        drive.near([a, b], MEETS_WITHIN_M).is_some()
            && self.cutting(i).is_some()
            && touches(&drive.flat, coord(a), coord(b))
    }

    fn segments(&self) -> usize {
        self.points.len() - 1
    }

    /// Ends of segment `i` in plan.
    #[inline]
    pub fn ends(&self, i: usize) -> [[f64; 2]; 2] {
        let (a, b) = (&self.points[i], &self.points[i + 1]);
        [[a[0], a[1]], [b[0], b[1]]]
    }

    fn levels(&self, i: usize) -> [f64; 2] {
        [self.points[i][2], self.points[i + 1][2]]
    }

    /// How segment `i` is cut; none where it is a repeated vertex.
    #[inline]
    pub fn cutting(&self, i: usize) -> Option<&Cutting> {
        let cutting = || {
            let [a, b] = self.ends(i).map(coord);
            Cutting::of(a, b, self.has_levels.then(|| self.levels(i)))
        };
        self.cuttings[i].get_or_init(cutting).as_ref()
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

fn coord(p: [f64; 2]) -> Coord<f64> {
    Coord { x: p[0], y: p[1] }
}

/// A drive in plan as an axis: places along it and beside it.
pub(super) struct Axis {
    /// The drive in plan.
    pub flat: Segment,
    along: Coord<f64>,
    pub length_m: f64,
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
    pub fn near(&self, [p, q]: [[f64; 2]; 2], by_m: f64) -> Option<(f64, f64)> {
        let by_m = by_m + ROUNDING_M;
        let from = |c: [f64; 2]| [c[0] - self.flat.a[0], c[1] - self.flat.a[1]];
        let (v, w) = (from(p), from(q));
        let beside = |w: [f64; 2]| w[1] * self.along.x - w[0] * self.along.y;
        let beside = Within::new([beside(v), beside(w)], [-by_m, by_m])?;
        let along = |w: [f64; 2]| w[0] * self.along.x + w[1] * self.along.y;
        let along = Within::new([along(v), along(w)], [-by_m, self.length_m + by_m])?;
        let (b, a) = (beside.span(), along.span());
        let span = (
            if b.0 > a.0 { b.0 } else { a.0 },
            if b.1 < a.1 { b.1 } else { a.1 },
        );
        (span.0 <= span.1).then_some(span)
    }
}

/// A number that changes evenly from one to another, and is somewhere within limits.
struct Within {
    from: f64,
    to: f64,
    limits: [f64; 2],
}

impl Within {
    #[inline]
    fn new([from, to]: [f64; 2], limits: [f64; 2]) -> Option<Within> {
        let [least, most] = limits;
        let beyond = (from < least) & (to < least) | (from > most) & (to > most);
        (!beyond).then_some(Within { from, to, limits })
    }

    /// Between which shares of the way it is.
    #[inline]
    fn span(&self) -> (f64, f64) {
        let Within { from, to, limits } = *self;
        let [least, most] = limits;
        let inside = |v: f64| least <= v && v <= most;
        if inside(from) && inside(to) {
            return (0.0, 1.0);
        }
        let at = |limit: f64| (limit - from) / (to - from);
        let (low, high) = if from <= to {
            (least, most)
        } else {
            (most, least)
        };
        (
            if inside(from) { 0.0 } else { at(low) },
            if inside(to) { 1.0 } else { at(high) },
        )
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
    /// Memory to measure in.
    pub measured: Measured,
}

impl Walk {
    /// Begins anew, beside another drive.
    pub fn begin(&mut self) {
        (self.last, self.straight, self.touched) = (None, None, None);
    }

    /// Pieces `from` up to `to` of the `n` of segment `i` come next: right behind the last one that came before?
    pub fn follows(&mut self, line: &Line, i: usize, (from, to): (usize, usize), n: usize) -> bool {
        let last = self.last.replace((i, to - 1, n));
        let Some((before, place, count)) = last else {
            return false;
        };
        if before == i {
            return place + 1 == from;
        }
        let nothing_between = || (before + 1..i).all(|s| line.cutting(s).is_none());
        from == 0 && place + 1 == count && nothing_between()
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
        let mut dice = crate::dice::Dice(0x2545_F491_4F6C_DD1D);
        let mut next = || dice.roll();
        let mut near = 0;
        for case in 0..2000 {
            let mut at = || [30.0 * next() + 4e5, 30.0 * next() + 6e6, 0.0];
            let (a, p, q) = (at(), at(), at());
            let b = if case % 20 == 0 { a } else { at() };
            let axis = Axis::of(Segment { a, b });
            let ends = [p, q].map(|v| [v[0], v[1]]);
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
