//! Pieces of one service part beside one drive.

use super::{
    CheckedBore, Drive,
    beside::Against,
    index::SegmentAt,
    line::{Axis, Line, Walk, pieces},
    stretch::Stretch,
};
use crate::{
    clearance::{
        Cutting, Depth, DepthSource, Encounter, Estimate, Foot, Judged, Located, Piece, Ruler,
        ServicePart, Yardstick, class_of, is_steep, limits_there,
    },
    job::Limits,
    site::Record,
};
use geo::Coord;

/// A drive with what is the same for all that is beside it.
pub(super) struct Driven<'d> {
    pub number: u32,
    pub bore: &'d CheckedBore,
    pub drive: &'d Drive,
    pub axis: Axis,
    pub ends: [Coord<f64>; 2],
    in_space: Ruler,
    in_plan: Ruler,
}

impl<'d> Driven<'d> {
    pub fn new(number: u32, bore: &'d CheckedBore, drive: &'d Drive) -> Driven<'d> {
        let c = &drive.line.centre;
        let axis = Axis::of(crate::clearance::Segment {
            a: crate::clearance::flat(c.a),
            b: crate::clearance::flat(c.b),
        });
        Driven {
            number,
            bore,
            drive,
            ends: [c.a, c.b].map(|p| Coord { x: p[0], y: p[1] }),
            in_space: Ruler::new(c),
            in_plan: Ruler::new(&axis.flat),
            axis,
        }
    }
}

/// One service part beside one drive.
pub(super) struct Looking<'l, 'a> {
    pub against: &'l Against<'a>,
    pub yardstick: &'l Yardstick,
    pub driven: &'l Driven<'l>,
    pub part: &'l ServicePart,
    pub record: &'a Record,
    pub line: Line<'a>,
    /// The part's segments that are near.
    pub near: &'l [SegmentAt],
    /// Nothing farther in plan concerns it (m).
    pub within_m: f64,
    /// Location limits depend on depth.
    pub by_depth: bool,
}

/// A piece that was looked at.
#[derive(Clone, Copy)]
pub(super) struct Beheld {
    pub piece: Piece,
    pub limits: Limits,
    pub estimate: Estimate,
}

impl Looking<'_, '_> {
    /// Looks at the pieces of segment `i` that are near.
    pub fn segment(&self, i: usize, walk: &mut Walk, row: &mut Stretch) {
        let Some(near) = self.driven.axis.near(self.line.ends(i), self.within_m) else {
            return;
        };
        let Some(cutting) = self.line.cutting(i) else {
            return;
        };
        let (from, to) = pieces(cutting.n, near);
        let class = self.class(&cutting, i, walk);
        let ground = |p: Coord<f64>| match self.line.source {
            DepthSource::Levels { .. } => None,
            DepthSource::BelowGround { .. } => self.against.ground.level(p),
        };
        // Where a piece ends the next begins: the ground there is looked up once, and the drive's nearest point.
        let mut start = cutting.at(from);
        let mut here = ground(start.1);
        let mut foot = None;
        for k in from..to {
            let ((from, a), end) = (start, cutting.at(k + 1));
            let (to, b) = end;
            let there = ground(b);
            let levels = || (here, there);
            let depth = (self.line.source).depth(self.line.levels(i), [from, to], levels);
            (start, here) = (end, there);
            let piece = Piece {
                a,
                b,
                depth,
                direction: cutting.direction,
                straight: 0,
            };
            let limits = self.limits(&piece);
            let estimate = self.estimate(&piece, limits, class, &mut foot);
            let next = walk.follows(&self.line, i, k, cutting.n);
            row.add(self, (next, class), (&piece, limits), estimate);
        }
    }

    /// At a steep angle a segment crosses whether it meets the drive or not.
    fn class(&self, cutting: &Cutting, i: usize, walk: &mut Walk) -> Encounter {
        let [us, ds] = self.driven.ends;
        let meets = is_steep(cutting.direction, us, ds)
            || walk.touched(|| self.touched())
                && walk.straight_meets(&self.line, i, &self.driven.axis);
        class_of(meets, 0.0)
    }

    /// Some segment of the part meets the drive; what does is near, and the index leaves out nothing that is.
    fn touched(&self) -> bool {
        let mut near = self.near.iter();
        near.any(|s| self.line.touches(self.line.place(*s), &self.driven.axis))
    }

    /// What a piece can come to, where its ends tell. `foot`: that of its start, then that of its end.
    fn estimate(
        &self,
        piece: &Piece,
        limits: Limits,
        class: Encounter,
        foot: &mut Option<Foot>,
    ) -> Option<Estimate> {
        if !self.driven.bore.levels {
            return None;
        }
        let (driven, drive) = (self.driven, &self.driven.drive.line);
        let mut feet = |ruler: &Ruler, ends: &[[f64; 3]; 2]| {
            let start = foot.unwrap_or_else(|| ruler.foot(ends[0]));
            let end = ruler.foot(ends[1]);
            *foot = Some(end);
            [start, end]
        };
        match piece.depth {
            Depth::Known(z) => {
                let ends = <[_; 2]>::from(piece.ends(z));
                let feet = feet(&driven.in_space, &ends);
                (self.yardstick).estimate_known(drive, self.part, limits, class, (&ends, &feet))
            }
            Depth::Band { low, high } => {
                let ends = <[_; 2]>::from(piece.ends([0.0; 2]));
                let feet = feet(&driven.in_plan, &ends);
                (self.yardstick).estimate_between(
                    drive,
                    self.part,
                    limits,
                    class,
                    (&ends, &feet),
                    (low, high),
                )
            }
            Depth::Unbounded => {
                *foot = None;
                None
            }
        }
    }

    /// What a piece comes to.
    pub fn judge(&self, piece: &Piece, limits: Limits, class: Encounter) -> Judged {
        let drive = &self.driven.drive.line;
        let blind = !self.driven.bore.levels;
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
    fn limits(&self, piece: &Piece) -> Limits {
        if !self.by_depth {
            return self.part.limits;
        }
        let rules = &self.against.job.rules;
        let of = (self.record.quality, rules.depth_band[&self.record.kind]);
        limits_there(piece, of, rules, self.against.ground)
    }
}
