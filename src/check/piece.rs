//! Pieces of one service part beside one drive.

use super::{
    beside::{Against, Near},
    drives::Driven,
    line::{Joint, Line, Walk, pieces},
    stretch::{Seen, Stretch},
};
use crate::{
    clearance::{
        Cutting, Depth, Encounter, Estimate, Foot, Judged, Located, Piece, Ruler, ServicePart,
        Yardstick, class_of, is_steep, limits_there,
    },
    job::Limits,
    site::Record,
};
use geo::Coord;

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
        let mut next = walk.follows(self.line, i, (from, to), cutting.n);
        // Where a piece ends the next begins: so does the drive's nearest point.
        let mut foot = None;
        let joints = self.line.joints(i, (from, to));
        for (k, ends) in (from..to).zip(joints.windows(2)) {
            let piece = self.between(ends, cutting);
            let estimate = self.estimate(&piece, class, &mut foot);
            let seen = Seen {
                segment: near.segment,
                piece: k as u32,
            };
            let known = self.driven.levels && matches!(piece.depth, Depth::Known(_));
            row.add(self, (next, class, known), seen, estimate);
            next = true;
        }
    }

    /// A piece that was looked at.
    pub fn piece(&self, seen: &Seen) -> Piece {
        let (i, k) = (seen.segment as usize, seen.piece as usize);
        let cutting = self.line.cutting(i).expect("what has pieces was cut");
        self.between(self.line.joints(i, (k, k + 1)), cutting)
    }

    #[inline]
    fn between(&self, ends: &[Joint], cutting: &Cutting) -> Piece {
        Piece {
            a: ends[0].at,
            b: ends[1].at,
            depth: self.line.depth(&ends[0], &ends[1]),
            direction: cutting.direction,
            straight: 0,
        }
    }

    /// At a steep angle a segment crosses whether it meets the drive or not.
    fn class(&self, cutting: &Cutting, i: usize, walk: &mut Walk) -> Encounter {
        let [us, ds] = self.driven.ends().map(|p| Coord { x: p[0], y: p[1] });
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
