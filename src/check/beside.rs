//! One drive beside the services near it.

use super::{
    CheckedBore, Drive, Found, Hole, Reason,
    index::{Index, SegmentAt},
    located::{Bounds, line_source},
};
use crate::{
    clearance::{
        Accuracy, Cutting, Depth, DepthSource, Encounter, Encounters, Located, Piece, Row, Segment,
        ServicePart, Verdict, Yardstick, class_of, goes_straight_on, last_within, limits_there,
        nearest, plan_angle_deg, touches,
    },
    ground::Ground,
    job::{Clearance, Job, Limits},
    plan::Obstacle,
    site::{Kind, Quality, Record, Records},
};
use geo::Coord;
use std::collections::BTreeMap;

/// What every bore is checked with.
pub(super) struct Against<'a> {
    pub records: &'a Records,
    pub index: Index,
    pub ground: &'a Ground,
    pub job: &'a Job,
    /// By kind and quality: what is asked of and known about a service; the radius is that of the default diameter.
    manners: Vec<ServicePart>,
    bounds: Bounds<'a>,
    /// A service of which everything is the greatest that any has: beyond what concerns it, nothing concerns any.
    widest: ServicePart,
}

/// Rows and test holes of some bores, rows numbered from 0.
#[derive(Debug, Default)]
pub(super) struct Catch {
    pub found: Vec<Found>,
    pub holes: Vec<Hole>,
}

/// Scratch memory of a worker, and how its bore in hand is measured.
pub(super) struct Beside<'a, 'b> {
    against: &'b Against<'a>,
    pub yardstick: Yardstick,
    near: Vec<SegmentAt>,
    stack: Vec<(usize, usize)>,
    encounters: Encounters,
    /// Pieces looked at, which rows refer to.
    pieces: Vec<Seen>,
}

/// A piece that was looked at.
#[derive(Clone, Copy)]
struct Seen {
    angle_deg: f64,
    depth: Depth,
    limits: Limits,
}

/// A drive with what is the same for all that is beside it.
struct Driven<'d> {
    number: u32,
    bore: &'d CheckedBore,
    drive: &'d Drive,
    /// The drive in plan.
    flat: Segment,
    ends: [Coord<f64>; 2],
}

impl<'a> Against<'a> {
    pub fn new(records: &'a Records, ground: &'a Ground, job: &'a Job) -> Against<'a> {
        let all = Kind::ALL
            .iter()
            .flat_map(|k| Quality::ALL.iter().map(|q| (*k, *q)));
        let manners: Vec<ServicePart> = all.map(|of| ServicePart::bare(0, of, None, job)).collect();
        let given = records
            .all
            .iter()
            .filter_map(|r| r.diameter_mm)
            .map(|d| d / 2000.0);
        let default = manners.iter().map(|m| m.radius_m);
        let mut against = Against {
            widest: widest(&manners, given.chain(default).fold(0.0, f64::max)),
            index: Index::new(records),
            bounds: Bounds::new(records, ground, job),
            records,
            ground,
            job,
            manners,
        };
        let by_depth = (0..records.parts.len())
            .filter(|i| against.bounds.by_depth(against.record(*i)))
            .map(|i| against.part(i).limits);
        let located = by_depth.fold(against.widest.limits, Limits::widest);
        against.widest.limits = located;
        against
    }

    fn record(&self, part: usize) -> &'a Record {
        &self.records.all[self.records.parts[part].record as usize]
    }

    /// What is asked of and known about a service, by the number of a part; its location limits are those that no piece exceeds.
    fn part(&self, number: usize) -> ServicePart {
        let record = self.records.parts[number].record as usize;
        let r = &self.records.all[record];
        let manner = &self.manners[r.kind as usize * Quality::ALL.len() + r.quality as usize];
        let mut part = ServicePart {
            service: record,
            radius_m: r.diameter_mm.map_or(manner.radius_m, |d| d / 2000.0),
            ..manner.clone()
        };
        part.limits = self.bounds.of_part(number, &part);
        part
    }
}

impl<'a, 'b> Beside<'a, 'b> {
    pub fn new(against: &'b Against<'a>) -> Beside<'a, 'b> {
        let (rig, job) = (&against.job.rig, against.job);
        Beside {
            against,
            yardstick: Yardstick {
                bore_radius_m: 0.0,
                accuracy: Accuracy {
                    setting_out_m: rig.setting_out_mm / 1000.0,
                    per_m: rig.line_accuracy_mm / rig.accuracy_at_m / 1000.0,
                },
                watch_distance_m: job.watch_distance_m,
                watch_margin_m: job.rules.watch_margin_m,
                separations: true,
                nothing_beyond: BTreeMap::new(),
            },
            near: vec![],
            stack: vec![],
            encounters: Encounters::default(),
            pieces: vec![],
        }
    }

    /// Rows and test holes of one drive of bore number `number`.
    pub fn drive(&mut self, number: u32, bore: &CheckedBore, drive: &Drive, out: &mut Catch) {
        self.yardstick.bore_radius_m = bore.bore_mm / 2000.0;
        let c = &drive.line.centre;
        let plan = |p: [f64; 3]| Coord { x: p[0], y: p[1] };
        let driven = Driven {
            number,
            bore,
            drive,
            flat: Segment {
                a: [c.a[0], c.a[1], 0.0],
                b: [c.b[0], c.b[1], 0.0],
            },
            ends: [plan(c.a), plan(c.b)],
        };
        let by_m = self
            .yardstick
            .concerns_within(&self.against.widest, bore.length_m);
        let mut near = std::mem::take(&mut self.near);
        self.against
            .index
            .near(&driven.flat, by_m, &mut self.stack, &mut near);
        for segments in near.chunk_by(|a, b| a.part == b.part) {
            self.part(&driven, segments, out);
        }
        self.near = near;
    }

    fn part(&mut self, driven: &Driven, segments: &[SegmentAt], out: &mut Catch) {
        let records = self.against.records;
        let of = records.parts[segments[0].part as usize];
        let record = &records.all[of.record as usize];
        let number = segments[0].part as usize;
        let part = self.against.part(number);
        let line = Line::new(records, number, record, &part, self.against.job);
        let within = self.yardstick.concerns_within(&part, driven.bore.length_m);
        self.pieces.clear();
        let mut walk = Walk::default();
        for s in segments {
            self.segment(
                driven,
                &part,
                &line,
                s.point as usize - of.first as usize,
                within,
                &mut walk,
            );
        }
        let mut rows = std::mem::take(&mut self.encounters);
        for row in rows.drain() {
            self.say(driven, &part, record, &row, out);
        }
        self.encounters = rows;
    }

    /// Looks at the pieces of segment `i` that are near.
    fn segment(
        &mut self,
        driven: &Driven,
        part: &ServicePart,
        line: &Line,
        i: usize,
        within: f64,
        walk: &mut Walk,
    ) {
        let Some(cutting) = line.cutting(i) else {
            return;
        };
        let [a, b] = line.ends(i);
        let flat = Segment {
            a: [a.x, a.y, 0.0],
            b: [b.x, b.y, 0.0],
        };
        let Some((from, to)) = near_pieces(&driven.flat, &flat, within, cutting.n) else {
            return;
        };
        let angle_deg = plan_angle_deg(cutting.direction, driven.ends[0], driven.ends[1]);
        // At a steep angle it crosses whether it meets the drive or not.
        let steep = class_of(false, angle_deg) == Encounter::Crossing;
        let class = class_of(
            !steep && walk.straight_meets(line, i, &driven.flat),
            angle_deg,
        );
        let against = self.against;
        let ground = |p: Coord<f64>| against.ground.level(p);
        // Where a piece ends the next begins: the ground there is looked up once.
        let mut at_end: Option<(Coord<f64>, Option<f64>)> = None;
        for k in from..to {
            let (p, q) = cutting.ends(k);
            let levels = || {
                let begins = at_end
                    .filter(|e| e.0 == p)
                    .map_or_else(|| ground(p), |e| e.1);
                let ends = ground(q);
                at_end = Some((q, ends));
                (begins, ends)
            };
            let depth = line.source.depth(line.levels(i), cutting.shares(k), levels);
            let piece = Piece {
                a: p,
                b: q,
                depth,
                direction: cutting.direction,
                straight: 0,
            };
            let next = walk.follows(line, i, k, cutting.n);
            self.judge(driven, part, piece, (class, angle_deg), next);
        }
    }

    fn judge(
        &mut self,
        driven: &Driven,
        part: &ServicePart,
        piece: Piece,
        (class, angle_deg): (Encounter, f64),
        next: bool,
    ) {
        let drive = &driven.drive.line;
        let limits = self.limits(part, &piece);
        let blind = !driven.bore.levels;
        let looked_at = match blind {
            true => Piece {
                depth: Depth::Unbounded,
                ..piece
            },
            false => piece,
        };
        let located = Located {
            piece: &looked_at,
            limits,
        };
        let in_plan = || {
            let run = [drive.before_m, drive.length_m];
            self.yardstick
                .plan_near_from(part, &located, class, &driven.flat, run)
        };
        let plan = (!matches!(looked_at.depth, Depth::Known(_))).then(in_plan);
        if let (Some(plan), false) = (&plan, blind)
            && plan.prove
            && let Some(margin_m) = self.encounters.margin_to_prove(next, class)
            && self
                .yardstick
                .least_margin_in_plan(drive, part, limits, (class, plan))
                >= margin_m
        {
            // How near its curtain comes is dear to work out, and would change nothing.
            return;
        }
        let mut judged = self
            .yardstick
            .judge(drive, part, located, class, plan.as_ref());
        if blind {
            judged = judged.of_bore_without_level();
        }
        self.encounters.add(self.pieces.len(), next, class, judged);
        self.pieces.push(Seen {
            angle_deg,
            depth: piece.depth,
            limits,
        });
    }

    /// How well a piece is located; where that depends on its depth, at its own.
    fn limits(&self, part: &ServicePart, piece: &Piece) -> Limits {
        let against = self.against;
        let record = &against.records.all[part.service];
        if !against.bounds.by_depth(record) {
            return part.limits;
        }
        let rules = &against.job.rules;
        let of = (record.quality, rules.depth_band[&record.kind]);
        limits_there(piece, of, rules, against.ground)
    }

    fn say(
        &self,
        driven: &Driven,
        part: &ServicePart,
        record: &Record,
        row: &Row,
        out: &mut Catch,
    ) {
        let (j, seen) = (&row.judged, &self.pieces[row.piece]);
        let line = &driven.drive.line;
        if j.verdict == Verdict::Prove {
            out.holes
                .push(self.hole(out.found.len() as u32, driven, part, record, row));
        }
        out.found.push(Found {
            bore: driven.number,
            thing: part.service as u32,
            obstacle: Obstacle::Service,
            encounter: Some(row.encounter),
            clause: j.clause,
            verdict: j.verdict,
            depth_known: j.known,
            depth_missing: !matches!(seen.depth, Depth::Known(_)),
            no_ground: matches!(seen.depth, Depth::Unbounded),
            chainage_m: line.from_launch_m(j.s),
            angle_deg: seen.angle_deg,
            clearance_m: j.clearance_m,
            required_m: j.required_m,
            allowance_m: j.allowance_m,
            margin_m: j.margin_m,
            p_contact: j.p_contact(),
            point: line.at(j.s),
        });
    }

    /// The test hole of a `prove` row.
    fn hole(
        &self,
        found: u32,
        driven: &Driven,
        part: &ServicePart,
        record: &Record,
        row: &Row,
    ) -> Hole {
        let (j, seen) = (&row.judged, &self.pieces[row.piece]);
        let line = &driven.drive.line;
        let at = Coord {
            x: j.other[0],
            y: j.other[1],
        };
        let ground = self
            .against
            .ground
            .level(at)
            .or_else(|| self.ground_of_end(driven, j.s));
        let band = self.against.job.rules.depth_band[&record.kind];
        let past_bore = ground.filter(|_| driven.bore.levels).map(|g| {
            let underside = line.at(j.s)[2] - self.yardstick.bore_radius_m;
            g - underside + part.required_m(row.encounter)
        });
        let (reason, expected_depth_m, dig_to_m) = match seen.depth {
            Depth::Known(z) => {
                let recorded = ground.map(|g| g - (z[0] + z[1]) / 2.0);
                let whole = recorded.map(|d| d + part.radius_m + seen.limits.vertical_m);
                (Reason::BoreWithoutLevel, recorded, whole)
            }
            Depth::Band { .. } => {
                let dig = past_bore.map_or(band.max_m, |d| band.max_m.min(d));
                (
                    Reason::DepthNotRecorded,
                    Some((band.min_m + band.max_m) / 2.0),
                    Some(dig),
                )
            }
            Depth::Unbounded => (Reason::NoGround, None, past_bore),
        };
        // Where there is no ground at all, the bore's level stands in for that of the point.
        let level = ground.unwrap_or(line.at(j.s)[2]);
        Hole {
            found,
            reason,
            expected_depth_m,
            dig_to_m,
            point: [at.x, at.y, level],
        }
    }

    /// Ground at that end of the bore which is nearer along it, else at the other.
    fn ground_of_end(&self, driven: &Driven, s: f64) -> Option<f64> {
        let ends = driven.bore.ends;
        let first_half = driven.drive.line.from_launch_m(s) < 0.5 * driven.bore.length_m;
        let [near, far] = if first_half { ends } else { [ends[1], ends[0]] };
        let level = |p: [f64; 2]| self.against.ground.level(Coord { x: p[0], y: p[1] });
        level(near).or_else(|| level(far))
    }
}

fn widest(manners: &[ServicePart], radius_m: f64) -> ServicePart {
    let most = |of: fn(&ServicePart) -> f64| manners.iter().map(of).fold(0.0, f64::max);
    let asked = most(ServicePart::asked_m);
    let located = most(|m| m.limits.horizontal_m.max(m.limits.vertical_m));
    let any = manners[0].clone();
    ServicePart {
        radius_m,
        required: Clearance {
            crossing_m: asked,
            parallel_m: asked,
            ..any.required
        },
        limits: Limits {
            horizontal_m: located,
            vertical_m: located,
        },
        ..any
    }
}

/// Which of the `n` equal pieces of a segment may come within `within` of the drive, both in plan: from, up to.
///
/// How far the segment is from the drive is a convex function along it, so what is near is one stretch.
fn near_pieces(
    drive: &Segment,
    segment: &Segment,
    within: f64,
    n: usize,
) -> Option<(usize, usize)> {
    if n < 3 {
        return (nearest(segment, drive).distance_m <= within).then_some((0, n));
    }
    let back = Segment {
        a: segment.b,
        b: segment.a,
    };
    let last = last_within(segment, drive, within)?;
    let first = 1.0 - last_within(&back, drive, within)?;
    let whole = |share: f64| (share * n as f64).clamp(0.0, n as f64);
    let (from, to) = (
        whole(first - 1e-9).floor() as usize,
        whole(last + 1e-9).ceil() as usize,
    );
    Some((from, to.max(from + 1).min(n)))
}

/// The line of one service part.
struct Line<'r> {
    points: &'r [[f64; 3]],
    has_levels: bool,
    source: DepthSource,
}

impl<'r> Line<'r> {
    fn new(
        records: &'r Records,
        number: usize,
        record: &Record,
        part: &ServicePart,
        job: &Job,
    ) -> Line<'r> {
        Line {
            points: records.points_of(number),
            has_levels: records.parts[number].levels,
            source: line_source(records, number, record, part.radius_m, job),
        }
    }

    fn segments(&self) -> usize {
        self.points.len() - 1
    }

    fn ends(&self, i: usize) -> [Coord<f64>; 2] {
        [i, i + 1].map(|k| Coord {
            x: self.points[k][0],
            y: self.points[k][1],
        })
    }

    fn levels(&self, i: usize) -> [f64; 2] {
        [self.points[i][2], self.points[i + 1][2]]
    }

    fn cutting(&self, i: usize) -> Option<Cutting> {
        let [a, b] = self.ends(i);
        Cutting::of(a, b, self.has_levels.then(|| self.levels(i)))
    }
}

/// The way along a part: what was met of it so far.
#[derive(Default)]
struct Walk {
    /// Segment, place and number of pieces of the piece before.
    last: Option<(usize, usize, usize)>,
    /// A straight part, first to last segment, and whether it meets the drive.
    straight: Option<(usize, usize, bool)>,
}

impl Walk {
    /// Piece `k` of `n` of segment `i` comes right behind the one asked about before.
    fn follows(&mut self, line: &Line, i: usize, k: usize, n: usize) -> bool {
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

    /// The straight part of the line that segment `i` belongs to meets the drive.
    fn straight_meets(&mut self, line: &Line, i: usize, drive: &Segment) -> bool {
        if let Some((first, last, meets)) = self.straight
            && (first..=last).contains(&i)
        {
            return meets;
        }
        let (first, last) = straight(line, i);
        let meets = (first..=last).any(|s| {
            let [a, b] = line.ends(s);
            line.cutting(s).is_some() && touches(drive, a, b)
        });
        self.straight = Some((first, last, meets));
        meets
    }
}

/// First and last segment of the straight part that segment `i` belongs to; repeated vertices between belong to it too.
fn straight(line: &Line, i: usize) -> (usize, usize) {
    let direction = |s: usize| line.cutting(s).and_then(|c| c.direction);
    let (mut first, mut last) = (i, i);
    let mut here = direction(i);
    for s in (0..i).rev() {
        let Some(before) = line.cutting(s) else {
            continue;
        };
        if !goes_straight_on(before.direction, here) {
            break;
        }
        (first, here) = (s, before.direction);
    }
    here = direction(i);
    for s in i + 1..line.segments() {
        let Some(next) = line.cutting(s) else {
            continue;
        };
        if !goes_straight_on(here, next.direction) {
            break;
        }
        (last, here) = (s, next.direction);
    }
    (first, last)
}
