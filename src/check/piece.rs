//! Pieces of one service part beside one drive.

use super::{
    beside::Against,
    drives::Driven,
    line::{Line, Walk, pieces},
    nearby::Near,
    stretch::{Seen, Stretch},
};
use crate::{
    clearance::{
        Cutting, Depth, Encounter, Estimate, Foot, Gauge, Judged, Located, Measured,
        PIECES_TOGETHER, Piece, ServicePart, Yardstick, class_of, is_steep, limits_there,
    },
    job::Limits,
    site::Record,
};

/// One service part beside one drive.
pub(super) struct Looking<'l, 'a> {
    pub against: &'l Against<'a>,
    pub yardstick: &'l Yardstick,
    pub driven: &'l Driven,
    pub part: &'l ServicePart,
    pub record: &'a Record,
    pub line: &'l Line<'a>,
    /// The part's segments that may be near.
    pub near: &'l [Near],
    /// Location limits depend on depth.
    pub by_depth: bool,
}

impl Looking<'_, '_> {
    /// Looks at the pieces of a segment that are near.
    pub fn segment(&self, near: &Near, walk: &mut Walk, row: &mut Stretch) {
        let i = near.segment as usize;
        let Some(cutting) = self.line.cutting(i) else {
            return;
        };
        let (from, to) = pieces(cutting.n, near.span);
        let class = self.class(cutting, i, walk);
        let next = walk.follows(self.line, i, (from, to), cutting.n);
        let seen = Seen {
            segment: near.segment,
            joint: self.line.joint(i, from) as u32,
        };
        let run = (seen, to - from);
        match self.gauge(class) {
            Some(gauge) => self.measured(&gauge, run, (next, class), &mut walk.measured, row),
            None => self.one_by_one(run, (next, class), row),
        }
    }

    /// How all pieces are measured; none where they differ, or there are no levels to measure to.
    fn gauge(&self, class: Encounter) -> Option<Gauge> {
        let alike = self.driven.levels && self.line.known() && !self.by_depth;
        let drive = (&self.driven.line, self.driven.in_space);
        alike
            .then(|| Gauge::new(self.yardstick, drive, self.part, self.part.limits, class))
            .flatten()
    }

    /// Looks at pieces, some measured at once: from the first on, so many.
    fn measured(
        &self,
        gauge: &Gauge,
        (mut first, mut count): (Seen, usize),
        (mut next, class): (bool, Encounter),
        measured: &mut Measured,
        row: &mut Stretch,
    ) {
        while count > 0 {
            let some = count.min(PIECES_TOGETHER);
            let places = self.line.places(first.joint as usize, some);
            gauge.measure(places, some, measured);
            for k in 0..some {
                let (seen, estimate) = (first.plus(k), gauge.estimate(measured, k));
                let known = estimate.is_some() || self.is_known(&seen);
                row.add(self, (next, class, known), seen, estimate);
                next = true;
            }
            (first, count) = (first.plus(some), count - some);
        }
    }

    /// The levels of a piece and of the bore are known.
    fn is_known(&self, seen: &Seen) -> bool {
        self.driven.levels && matches!(self.piece(seen).depth, Depth::Known(_))
    }

    /// Looks at pieces one after the other.
    fn one_by_one(
        &self,
        (first, count): (Seen, usize),
        (mut next, class): (bool, Encounter),
        row: &mut Stretch,
    ) {
        // Where a piece ends the next begins: so does the drive's nearest point.
        let mut foot = None;
        for k in 0..count {
            let seen = first.plus(k);
            let piece = self.piece(&seen);
            let estimate = self.estimate(&piece, class, &mut foot);
            let known = self.driven.levels && matches!(piece.depth, Depth::Known(_));
            row.add(self, (next, class, known), seen, estimate);
            next = true;
        }
    }

    /// A piece that was looked at.
    #[inline]
    pub fn piece(&self, seen: &Seen) -> Piece {
        self.line.piece(seen.joint as usize, seen.segment as usize)
    }

    /// At a steep angle a segment crosses whether it meets the drive or not.
    fn class(&self, cutting: &Cutting, i: usize, walk: &mut Walk) -> Encounter {
        let [us, ds] = self.driven.ends_in_plan();
        let meets = is_steep(cutting.direction, us, ds)
            || walk.touched(|| self.touched())
                && walk.straight_meets(self.line, i, &self.driven.axis);
        class_of(meets, 0.0)
    }

    /// Some segment of the part meets the drive; what does is near, and no segment that is was left out.
    fn touched(&self) -> bool {
        let mut near = self.near.iter();
        near.any(|s| self.line.touches(s.segment as usize, &self.driven.axis))
    }

    /// What a piece can come to, where its ends tell. `foot`: that of its start, then that of its end.
    fn estimate(
        &self,
        piece: &Piece,
        class: Encounter,
        foot: &mut Option<Foot>,
    ) -> Option<Estimate> {
        let limits = self.limits(piece);
        let (driven, drive) = (self.driven, &self.driven.line);
        if !driven.levels {
            return None;
        }
        let Depth::Band { low, high } = piece.depth else {
            *foot = None;
            return self.of_known(piece, limits, class);
        };
        let ends = <[_; 2]>::from(piece.ends([0.0; 2]));
        let start = foot.unwrap_or_else(|| driven.in_plan.foot(ends[0]));
        let end = driven.in_plan.foot(ends[1]);
        *foot = Some(end);
        (self.yardstick).estimate_between(
            drive,
            self.part,
            limits,
            class,
            (&ends, &[start, end]),
            (low, high),
        )
    }

    /// What a piece of known levels can come to, where its location limits are its own.
    fn of_known(&self, piece: &Piece, limits: Limits, class: Encounter) -> Option<Estimate> {
        let Depth::Known(z) = piece.depth else {
            return None;
        };
        let (a, b) = piece.ends(z);
        let rest = Gauge::room(1) - 2;
        let places = [0, 1, 2].map(|axis| {
            let mut list = vec![a[axis], b[axis]];
            list.extend(std::iter::repeat_n(b[axis], rest));
            list
        });
        let places = places.each_ref().map(|p| &p[..]);
        let drive = (&self.driven.line, self.driven.in_space);
        let gauge = Gauge::new(self.yardstick, drive, self.part, limits, class)?;
        let mut measured = Measured::default();
        gauge.measure(places, 1, &mut measured);
        gauge.estimate(&measured, 0)
    }

    /// What a piece comes to.
    pub fn judge(&self, piece: &Piece, class: Encounter) -> Judged {
        let limits = self.limits(piece);
        let drive = &self.driven.line;
        let blind = !self.driven.levels;
        let without_level;
        let looked_at = match blind {
            true => {
                without_level = Piece {
                    depth: Depth::Unbounded,
                    ..*piece
                };
                &without_level
            }
            false => piece,
        };
        let located = Located {
            piece: looked_at,
            limits,
        };
        let in_plan = || {
            let run = [drive.before_m, drive.length_m];
            (self.yardstick).plan_near_from(self.part, &located, class, &self.driven.axis.flat, run)
        };
        let plan = (!matches!(looked_at.depth, Depth::Known(_))).then(in_plan);
        let judged = (self.yardstick).judge(drive, self.part, located, class, plan.as_ref());
        match blind {
            true => judged.of_bore_without_level(),
            false => judged,
        }
    }

    /// How well a piece is located; where that depends on its depth, at its own.
    #[inline]
    pub fn limits(&self, piece: &Piece) -> Limits {
        if !self.by_depth {
            return self.part.limits;
        }
        let rules = &self.against.job.rules;
        let of = (self.record.quality, rules.depth_band[&self.record.kind]);
        limits_there(piece, of, rules, self.against.ground)
    }
}
