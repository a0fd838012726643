//! One drive beside the services near it.

use super::{
    CheckedBore, Drive, Found, Hole,
    index::{Index, SegmentAt},
    line::{Line, Walk},
    located::Bounds,
    piece::{Driven, Looking},
    stretch::Stretch,
};
use crate::{
    clearance::{Accuracy, ServicePart, Yardstick},
    ground::Ground,
    job::{Clearance, DepthBand, Job, Limits},
    site::{Kind, Quality, Record, Records},
};
use std::collections::BTreeMap;

/// What every bore is checked with.
pub(super) struct Against<'a> {
    pub records: &'a Records,
    pub index: Index,
    pub ground: &'a Ground,
    pub job: &'a Job,
    /// By kind and quality: what is asked of and known about a service; the radius is that of the default diameter.
    manners: Vec<ServicePart>,
    /// By kind: depths where none is recorded.
    bands: Vec<DepthBand>,
    bounds: Bounds<'a>,
    /// A service of which everything is the greatest that any has: beyond what concerns it, nothing concerns any.
    widest: ServicePart,
}

/// Rows and test holes of some bores, rows numbered from 0.
#[derive(Debug, Clone, Default)]
pub(super) struct Catch {
    pub found: Vec<Found>,
    pub holes: Vec<Hole>,
}

/// Scratch memory of a worker, and how its bore in hand is measured.
pub(super) struct Beside<'a, 'b> {
    pub against: &'b Against<'a>,
    pub yardstick: Yardstick,
    near: Vec<SegmentAt>,
    stack: Vec<(usize, usize)>,
    /// By kind and quality: the service in hand, as one of them is.
    parts: Vec<ServicePart>,
    row: Stretch,
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
            bands: Kind::ALL.iter().map(|k| job.rules.depth_band[k]).collect(),
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

    /// The band of depths of a service that has none recorded.
    fn band(&self, record: &Record) -> DepthBand {
        self.bands[record.kind as usize]
    }

    /// The manner of a service: its place among those by kind and quality.
    fn manner(&self, part: usize) -> usize {
        let r = self.record(part);
        r.kind as usize * Quality::ALL.len() + r.quality as usize
    }

    /// Makes `part`, a service of the same manner, that of which `number` is a part; its location limits are those that no piece
    /// exceeds.
    fn fill(&self, number: usize, part: &mut ServicePart) {
        let manner = &self.manners[self.manner(number)];
        let default_m = manner.radius_m;
        part.service = self.records.parts[number].record as usize;
        part.radius_m = (self.record(number).diameter_mm).map_or(default_m, |d| d / 2000.0);
        part.limits = manner.limits;
        part.limits = self.bounds.of_part(number, part);
    }

    /// What is asked of and known about a service, by the number of a part.
    fn part(&self, number: usize) -> ServicePart {
        let mut part = self.manners[self.manner(number)].clone();
        self.fill(number, &mut part);
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
            parts: against.manners.clone(),
            row: Stretch::default(),
        }
    }

    /// Rows and test holes of one drive of bore number `number`.
    pub fn drive(&mut self, number: u32, bore: &CheckedBore, drive: &Drive, out: &mut Catch) {
        self.yardstick.bore_radius_m = bore.bore_mm / 2000.0;
        let driven = Driven::new(number, bore, drive);
        let widest = &self.against.widest;
        let by_m = self.yardstick.concerns_within(widest, bore.length_m);
        let mut near = std::mem::take(&mut self.near);
        (self.against.index).near(&driven.axis.flat, by_m, &mut self.stack, &mut near);
        for segments in near.chunk_by(|a, b| a.part == b.part) {
            self.part(&driven, segments, out);
        }
        self.near = near;
    }

    fn part(&mut self, driven: &Driven, segments: &[SegmentAt], out: &mut Catch) {
        let against = self.against;
        let number = segments[0].part as usize;
        let record = against.record(number);
        let part = &mut self.parts[against.manner(number)];
        against.fill(number, part);
        let at = Looking {
            against,
            yardstick: &self.yardstick,
            driven,
            part,
            record,
            line: Line::new(against.records, number, record, part, against.band(record)),
            near: segments,
            within_m: self.yardstick.concerns_within(part, driven.bore.length_m),
            by_depth: against.bounds.by_depth(record),
        };
        self.row.begin();
        let mut walk = Walk::default();
        for s in segments {
            at.segment(at.line.place(*s), &mut walk, &mut self.row);
        }
        self.row.end(&at);
        for (row, seen) in self.row.rows() {
            at.say(row, seen, out);
        }
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
