//! What lies near a drive in plan: the part of every check that does not depend on levels.

use super::{
    encounter::{DriveLine, LENGTH_TOLERANCE_M, Yardstick},
    located::Located,
    pieces::{Depth, ServicePart},
    segment::{Point, Segment, nearest},
    verdict::Encounter,
};
use geo::Coord;
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};
use std::collections::HashSet;

/// From this plan angle on, a service crosses (degrees).
const CROSSING_FROM_DEG: f64 = 45.0;

/// Launched from the drive's upstream pit.
pub const FROM_UPSTREAM: usize = 0;
/// Launched from the drive's downstream pit.
pub const FROM_DOWNSTREAM: usize = 1;

/// Nearest points in plan of a drive and a piece of unknown depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanNear {
    /// Centre line to centre line, in plan (m).
    pub distance_m: f64,
    /// The same less both radii (m).
    pub clearance_m: f64,
    /// Where on the drive, 0 at the launch pit.
    pub s: f64,
    /// Where on the piece, 0 to 1.
    pub share: f64,
    /// Nearest point of the piece (level 0).
    pub other: Point,
    /// So near that its depth matters.
    pub prove: bool,
}

/// A piece near a drive.
#[derive(Debug, Clone, PartialEq)]
pub struct NearPiece {
    /// Index in its part.
    pub piece: usize,
    /// Class.
    pub class: Encounter,
    /// Where on the drive it is nearest in plan, 0 upstream to 1 downstream.
    pub from_upstream: f64,
    /// In plan, 0 parallel to 90 square (degrees).
    pub angle_deg: f64,
    /// Plan distances by launch side, for pieces of unknown depth. (Aside, for they are few and large.)
    plan: Option<Box<[PlanNear; 2]>>,
}

impl NearPiece {
    /// Plan distance from a drive launched from a side; none of a piece of known depth.
    pub fn plan(&self, side: usize) -> Option<&PlanNear> {
        self.plan.as_ref().map(|by_side| &by_side[side])
    }
}

/// The near pieces of one service part.
#[derive(Debug, Clone, PartialEq)]
pub struct NearPart {
    /// Index into the parts searched.
    pub part: usize,
    /// Pieces, ascending.
    pub pieces: Vec<NearPiece>,
    /// Fewest `prove` rows that this part can come to, by launch side.
    pub least_holes: [usize; 2],
    /// At some piece the depth matters, by launch side.
    pub prove: [bool; 2],
    /// The part comes to this many `prove` rows at any level, and to no other row with a price worth telling from
    /// nothing, by launch side; none where that depends on levels.
    pub holes: [Option<usize>; 2],
    /// A piece of unknown depth is near.
    pub unknown: bool,
}

/// Box of a piece, with its part and its place there.
type PieceBox = GeomWithData<Rectangle<[f64; 2]>, (u32, u32)>;

/// Service parts with an index on their pieces.
#[derive(Debug, Default)]
pub struct Services {
    /// The parts.
    pub parts: Vec<ServicePart>,
    tree: RTree<PieceBox>,
    /// One part of all those that reach out alike: with the same limits, distances asked and radius.
    unlike: Vec<usize>,
    widest_pit_distance_m: f64,
    widest_radius_m: f64,
}

impl Services {
    /// Indexes parts.
    pub fn new(parts: Vec<ServicePart>) -> Services {
        let mut boxes = vec![];
        for (i, part) in parts.iter().enumerate() {
            for (k, p) in part.pieces.iter().enumerate() {
                let corners = Rectangle::from_corners([p.a.x, p.a.y], [p.b.x, p.b.y]);
                boxes.push(GeomWithData::new(corners, (i as u32, k as u32)));
            }
        }
        let widest = |of: fn(&ServicePart) -> f64| parts.iter().map(of).fold(0.0, f64::max);
        let mut seen = HashSet::new();
        let is_new = |i: &usize| seen.insert(parts[*i].reaches_out_by().map(f64::to_bits));
        Services {
            unlike: (0..parts.len()).filter(is_new).collect(),
            widest_pit_distance_m: widest(|p| p.required.pit_m),
            widest_radius_m: widest(|p| p.radius_m),
            tree: RTree::bulk_load(boxes),
            parts,
        }
    }

    /// Widest distance that any part asks a pit to keep (m).
    pub fn widest_pit_distance_m(&self) -> f64 {
        self.widest_pit_distance_m
    }

    /// Greatest outside radius of any part (m).
    pub fn widest_radius_m(&self) -> f64 {
        self.widest_radius_m
    }

    /// Pieces whose box comes within `by_m` of the box of `corners`, by part, then along it.
    pub fn in_box(&self, corners: [Coord<f64>; 2], by_m: f64) -> Vec<(usize, usize)> {
        let [p, q] = corners;
        let low = [p.x.min(q.x) - by_m, p.y.min(q.y) - by_m];
        let high = [p.x.max(q.x) + by_m, p.y.max(q.y) + by_m];
        let found = self
            .tree
            .locate_in_envelope_intersecting(AABB::from_corners(low, high));
        let mut ids: Vec<_> = found
            .map(|g| (g.data.0 as usize, g.data.1 as usize))
            .collect();
        ids.sort_unstable();
        ids
    }
}

impl ServicePart {
    /// What it is asked to keep in plan at most, the greater limit of its location, and its radius (m): all that says how far out
    /// it matters.
    fn reaches_out_by(&self) -> [f64; 3] {
        let located = self.limits.horizontal_m.max(self.limits.vertical_m);
        [self.asked_m(), located, self.radius_m]
    }
}

impl Yardstick {
    /// Plan distance between centre lines beyond which a piece of this part can neither break a rule nor make a row.
    pub fn concerns_within(&self, part: &ServicePart, length_m: f64) -> f64 {
        let [asked, located, radius_m] = part.reaches_out_by();
        let boring = self.accuracy.at(length_m);
        let allowance = (located * located + boring * boring).sqrt();
        let judged = asked + allowance + self.watch_margin_m.max(0.0);
        self.bore_radius_m + radius_m + self.watch_distance_m.max(judged) + 1e-3
    }

    /// Plan distance between centre lines beyond which it is certain of no piece of this part that it breaks a rule or is in doubt,
    /// whatever the distance from where the drive is launched.
    pub fn may_break_within(&self, part: &ServicePart) -> f64 {
        let [asked, located, radius_m] = part.reaches_out_by();
        let allowance = located.hypot(self.accuracy.setting_out_m);
        self.bore_radius_m + radius_m + asked + allowance + 1e-3
    }

    /// The farthest that [`Self::concerns_within`] reaches for any part.
    pub fn farthest_concern(&self, services: &Services, length_m: f64) -> f64 {
        (services.unlike.iter())
            .map(|i| self.concerns_within(&services.parts[*i], length_m))
            .fold(0.0, f64::max)
    }

    /// All that lies near the drive from `us` to `ds`, but the parts that `exempt` names.
    pub fn near(
        &self,
        services: &Services,
        us: Coord<f64>,
        ds: Coord<f64>,
        by_m: f64,
        exempt: impl Fn(usize) -> bool,
    ) -> Vec<NearPart> {
        let mut out: Vec<NearPart> = vec![];
        let ids = services.in_box([us, ds], by_m);
        for group in ids.chunk_by(|x, y| x.0 == y.0) {
            let i = group[0].0;
            if !exempt(i) {
                let pieces = group.iter().map(|g| g.1);
                out.extend(self.near_part(&services.parts[i], i, pieces, us, ds));
            }
        }
        out
    }

    fn near_part(
        &self,
        part: &ServicePart,
        index: usize,
        pieces: impl Iterator<Item = usize>,
        us: Coord<f64>,
        ds: Coord<f64>,
    ) -> Option<NearPart> {
        let (drive, length_m) = plan_segment(us, ds);
        let within = self.concerns_within(part, length_m);
        let mut meets: Option<(usize, bool)> = None;
        let mut near = NearPart {
            part: index,
            pieces: vec![],
            least_holes: [0; 2],
            prove: [false; 2],
            holes: [None; 2],
            unknown: false,
        };
        for k in pieces {
            let piece = &part.pieces[k];
            let line = piece.in_plan();
            let in_plan = nearest(&drive, &line);
            if in_plan.distance_m > within {
                continue;
            }
            let straight_meets = match meets {
                Some((s, m)) if s == piece.straight => m,
                _ => part.straights[piece.straight]
                    .windows(2)
                    .any(|w| touches(&drive, w[0], w[1])),
            };
            meets = Some((piece.straight, straight_meets));
            let angle_deg = plan_angle_deg(piece.direction, us, ds);
            let class = class_of(straight_meets, angle_deg);
            let mut found = NearPiece {
                piece: k,
                class,
                from_upstream: in_plan.s,
                angle_deg,
                plan: None,
            };
            if !matches!(piece.depth, Depth::Known(_)) {
                near.unknown = true;
                let by_side = self.plan_near(part, &found, &drive, length_m);
                found.plan = Some(Box::new(by_side));
            }
            near.pieces.push(found);
        }
        near.pieces.shrink_to_fit();
        near.count_holes();
        for side in [FROM_UPSTREAM, FROM_DOWNSTREAM] {
            near.holes[side] = self.holes_at_any_level(part, &near, side, length_m);
        }
        (!near.pieces.is_empty()).then_some(near)
    }

    /// Where every near piece is of unknown depth and belongs to a row, or does not, whatever the levels.
    fn holes_at_any_level(
        &self,
        part: &ServicePart,
        near: &NearPart,
        side: usize,
        length_m: f64,
    ) -> Option<usize> {
        let allowance = part.limits.horizontal_m.hypot(self.accuracy.at(length_m));
        let mut rows: Vec<AlwaysRow> = vec![];
        for n in &near.pieces {
            let plan = n.plan(side)?;
            let asked = part.asked_m();
            let always_clear =
                plan.clearance_m >= asked + allowance + self.watch_margin_m + LENGTH_TOLERANCE_M;
            let watched = plan.clearance_m <= self.watch_distance_m + LENGTH_TOLERANCE_M;
            if !plan.prove && !watched && !always_clear {
                return None;
            }
            if !plan.prove && !watched {
                continue;
            }
            let row = AlwaysRow {
                piece: n.piece,
                class: n.class,
                proves: plan.prove,
                priced: plan.clearance_m < self.nothing_beyond[&part.kind] / 1.96 * allowance,
            };
            match rows.last_mut() {
                Some(last) if last.piece + 1 == row.piece && last.class == row.class => {
                    *last = AlwaysRow {
                        proves: last.proves || row.proves,
                        priced: last.priced || row.priced,
                        ..row
                    };
                }
                _ => rows.push(row),
            }
        }
        // A row with a piece to prove is a `prove` row, whatever its other pieces come to: depth unknown never clashes.
        let same_price = rows.iter().all(|r| r.proves || !r.priced);
        same_price.then(|| rows.iter().filter(|r| r.proves).count())
    }

    fn plan_near(
        &self,
        part: &ServicePart,
        near: &NearPiece,
        drive: &Segment,
        length_m: f64,
    ) -> [PlanNear; 2] {
        let located = part.located(near.piece);
        let run = [0.0, length_m];
        let from = |drive: &Segment| self.plan_near_from(part, &located, near.class, drive, run);
        [
            from(drive),
            from(&Segment {
                a: drive.b,
                b: drive.a,
            }),
        ]
    }

    /// Nearest points in plan of a drive (from its launch pit) and a piece.
    /// `run`: plan distance of the drive's start from the launch pit, and the drive's length (m).
    pub fn plan_near_from(
        &self,
        part: &ServicePart,
        located: &Located,
        class: Encounter,
        drive: &Segment,
        run: [f64; 2],
    ) -> PlanNear {
        let line = located.piece.in_plan();
        let n = nearest(drive, &line);
        let clearance_m = n.distance_m - self.bore_radius_m - part.radius_m;
        let allowance_m = located
            .limits
            .horizontal_m
            .hypot(self.accuracy.at(run[0] + n.s * run[1]));
        let e = super::segment::sub(line.b, line.a);
        let ee = super::segment::dot(e, e);
        let share = if ee > 0.0 {
            super::segment::dot(super::segment::sub(n.other, line.a), e) / ee
        } else {
            0.0
        };
        let margin_m = clearance_m - allowance_m - part.asked_in_plan_m(class);
        PlanNear {
            distance_m: n.distance_m,
            clearance_m,
            s: n.s,
            share,
            other: n.other,
            prove: margin_m < -LENGTH_TOLERANCE_M,
        }
    }
}

/// A row that there is at any level: its last piece, its class, and what its pieces come to.
struct AlwaysRow {
    piece: usize,
    class: Encounter,
    /// Some piece is so near that its depth matters.
    proves: bool,
    /// Some piece is so near that contact may have a price.
    priced: bool,
}

impl NearPart {
    /// Fewest `prove` rows: as if every consecutive near piece of one class joined its neighbours.
    fn count_holes(&mut self) {
        for side in [FROM_UPSTREAM, FROM_DOWNSTREAM] {
            let proves = |n: &NearPiece| n.plan(side).is_some_and(|p| p.prove);
            let joined = |a: &NearPiece, b: &NearPiece| {
                a.piece + 1 == b.piece && a.class == b.class && a.plan.is_some() == b.plan.is_some()
            };
            self.least_holes[side] = self
                .pieces
                .chunk_by(joined)
                .filter(|g| g.iter().any(proves))
                .count();
            self.prove[side] = self.least_holes[side] > 0;
        }
    }
}

/// The drive in plan from upstream to downstream, and its length.
pub fn plan_segment(us: Coord<f64>, ds: Coord<f64>) -> (Segment, f64) {
    let d = ds - us;
    (
        Segment {
            a: [us.x, us.y, 0.0],
            b: [ds.x, ds.y, 0.0],
        },
        d.x.hypot(d.y),
    )
}

/// Class of a piece, by whether the straight part it belongs to meets the drive, and its plan angle.
pub fn class_of(straight_meets: bool, angle_deg: f64) -> Encounter {
    if straight_meets || angle_deg >= CROSSING_FROM_DEG - 1e-9 {
        Encounter::Crossing
    } else {
        Encounter::Parallel
    }
}

/// A drive meets a straight line in plan.
pub fn touches(drive: &Segment, a: Coord<f64>, b: Coord<f64>) -> bool {
    let line = Segment {
        a: [a.x, a.y, 0.0],
        b: [b.x, b.y, 0.0],
    };
    nearest(drive, &line).distance_m <= LENGTH_TOLERANCE_M
}

/// Plan angle between a piece of this direction and a drive, 0 parallel to 90 square; a vertical piece is square to
/// everything.
pub fn plan_angle_deg(direction: Option<Coord<f64>>, us: Coord<f64>, ds: Coord<f64>) -> f64 {
    let Some(v) = direction else {
        return 90.0;
    };
    let u = ds - us;
    (u.x * v.y - u.y * v.x)
        .abs()
        .atan2((u.x * v.x + u.y * v.y).abs())
        .to_degrees()
}

/// Whether a piece of this direction crosses, be it met or not: its plan angle makes it so.
pub fn is_steep(direction: Option<Coord<f64>>, us: Coord<f64>, ds: Coord<f64>) -> bool {
    let (Some(v), u) = (direction, ds - us) else {
        return true;
    };
    let (across, along) = ((u.x * v.y - u.y * v.x).abs(), (u.x * v.x + u.y * v.y).abs());
    // The angle itself is asked only where it is close.
    if (across - along).abs() > 1e-6 * (across + along) {
        across > along
    } else {
        class_of(false, plan_angle_deg(direction, us, ds)) == Encounter::Crossing
    }
}

/// A drive in space from the pit it is launched from.
///
/// `us` and `ds` are plan positions, `z` the levels of the pipe's centre at them.
pub fn drive_line(us: Coord<f64>, ds: Coord<f64>, z: [f64; 2], launch: usize) -> DriveLine {
    let (a, b) = ([us.x, us.y, z[0]], [ds.x, ds.y, z[1]]);
    let length_m = (ds - us).x.hypot((ds - us).y);
    let centre = if launch == FROM_UPSTREAM {
        Segment { a, b }
    } else {
        Segment { a: b, b: a }
    };
    DriveLine {
        centre,
        length_m,
        before_m: 0.0,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        clearance::Accuracy,
        dice::Dice,
        job::Job,
        site::{Kind, Quality},
    };

    #[test]
    fn the_farthest_concern_is_that_of_one_of_all_parts() {
        let yardstick = Yardstick {
            separations: true,
            bore_radius_m: 0.1,
            accuracy: Accuracy {
                setting_out_m: 0.01,
                per_m: 0.0004,
            },
            watch_distance_m: 0.2,
            watch_margin_m: 0.3,
            nothing_beyond: Default::default(),
        };
        let mut dice = Dice(97);
        let job = Job::default();
        for _ in 0..200 {
            let mut roll = |n: usize| (dice.roll() * n as f64) as usize;
            let parts: Vec<ServicePart> = (0..6)
                .map(|i| {
                    let kind = [Kind::Gas, Kind::Water, Kind::Sewer][roll(3)];
                    let quality = [Quality::A, Quality::C, Quality::Unknown][roll(3)];
                    let diameter_mm = [100.0, 225.0, 900.0][roll(3)];
                    ServicePart::bare(i, (kind, quality), Some(diameter_mm), &job)
                })
                .collect();
            let each = parts.iter().map(|p| yardstick.concerns_within(p, 40.0));
            let farthest = each.fold(0.0, f64::max);
            let services = Services::new(parts);
            assert_eq!(yardstick.farthest_concern(&services, 40.0), farthest);
        }
    }
}
