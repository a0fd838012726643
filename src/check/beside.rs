//! One part of a service beside the drives near it.

use super::{
    Bores, CheckedBore, Found, Hole,
    drives::{Driven, Drives},
    line::{Line, Walk},
    located::Bounds,
    nearby::Nearby,
    piece::Looking,
    stretch::Stretch,
};
use crate::{
    clearance::{Accuracy, ServicePart, Yardstick},
    ground::Ground,
    job::{Clearance, DepthBand, Job, Limits},
    site::{Kind, Quality, Record, Records},
};
use rayon::prelude::*;
use std::collections::BTreeMap;

/// What every service is checked with.
pub(super) struct Against<'a> {
    pub records: &'a Records,
    pub ground: &'a Ground,
    pub job: &'a Job,
    pub bores: &'a Bores,
    /// By kind and quality: what is asked of and known about a service; the radius is that of the default diameter.
    manners: Vec<ServicePart>,
    /// By kind: depths where none is recorded.
    bands: Vec<DepthBand>,
    bounds: Bounds<'a>,
    /// A service of which everything is the greatest that any has: beyond what concerns it, nothing concerns any.
    widest: ServicePart,
}

/// Rows and test holes that some services earn, rows numbered from 0.
#[derive(Debug, Default)]
pub(super) struct Catch {
    pub found: Vec<Found>,
    /// Of each row, the pile that it is put on: every drive has one, and so has every bore, behind that of its last drive.
    pub piles: Vec<u32>,
    pub holes: Vec<Hole>,
}

/// Scratch memory of a worker, and how the bore in hand is measured.
pub(super) struct Beside<'a, 'b> {
    pub against: &'b Against<'a>,
    drives: &'b Drives,
    nearby: Nearby<'b>,
    yardstick: Yardstick,
    /// By kind and quality: the service in hand, as one of them is.
    parts: Vec<ServicePart>,
    line: Line<'a>,
    walk: Walk,
    row: Stretch,
}

impl<'a> Against<'a> {
    pub fn new(
        records: &'a Records,
        ground: &'a Ground,
        bores: &'a Bores,
        job: &'a Job,
    ) -> Against<'a> {
        let all = Kind::ALL
            .iter()
            .flat_map(|k| Quality::ALL.iter().map(|q| (*k, *q)));
        let manners: Vec<ServicePart> = all.map(|of| ServicePart::bare(0, of, None, job)).collect();
        let given = records.all.par_iter().filter_map(|r| r.diameter_mm);
        let given = given.reduce(|| 0.0, f64::max) / 2000.0;
        let default = manners.iter().map(|m| m.radius_m);
        let mut against = Against {
            widest: widest(&manners, default.fold(given, f64::max)),
            bounds: Bounds::new(records, ground, job),
            records,
            ground,
            job,
            bores,
            manners,
            bands: Kind::ALL.iter().map(|k| job.rules.depth_band[k]).collect(),
        };
        if !job.rules.quality_share.is_empty() {
            let by_depth = (0..records.parts.len())
                .filter(|i| against.bounds.by_depth(against.record(*i)))
                .map(|i| against.part(i).limits);
            let located = by_depth.fold(against.widest.limits, Limits::widest);
            against.widest.limits = located;
        }
        against
    }

    /// No service that is farther from a bore in plan concerns it (m).
    pub fn concerns_within(&self, bore: &CheckedBore) -> f64 {
        self.yardstick(bore.bore_mm / 2000.0)
            .concerns_within(&self.widest, bore.length_m)
    }

    /// How a bore of this radius is measured (m).
    fn yardstick(&self, bore_radius_m: f64) -> Yardstick {
        let (rig, job) = (&self.job.rig, self.job);
        Yardstick {
            bore_radius_m,
            accuracy: Accuracy {
                setting_out_m: rig.setting_out_mm / 1000.0,
                per_m: rig.line_accuracy_mm / rig.accuracy_at_m / 1000.0,
            },
            watch_distance_m: job.watch_distance_m,
            watch_margin_m: job.rules.watch_margin_m,
            separations: true,
            nothing_beyond: BTreeMap::new(),
        }
    }

    fn record(&self, part: usize) -> &'a Record {
        &self.records.all[self.records.parts[part].record as usize]
    }

    /// The manner of a service: its place among those by kind and quality.
    fn manner(&self, r: &Record) -> usize {
        r.kind as usize * Quality::ALL.len() + r.quality as usize
    }

    /// Makes `part`, a service of the same manner, that of which `number` is a part; its location limits are those that no piece
    /// exceeds.
    fn fill(&self, number: usize, part: &mut ServicePart) {
        let record = self.record(number);
        let manner = &self.manners[self.manner(record)];
        let default_m = manner.radius_m;
        part.service = self.records.parts[number].record as usize;
        part.radius_m = record.diameter_mm.map_or(default_m, |d| d / 2000.0);
        part.limits = manner.limits;
        part.limits = self.bounds.of_part(number, part);
    }

    /// What is asked of and known about a service, by the number of a part.
    fn part(&self, number: usize) -> ServicePart {
        let mut part = self.manners[self.manner(self.record(number))].clone();
        self.fill(number, &mut part);
        part
    }
}

impl<'a, 'b> Beside<'a, 'b> {
    pub fn new(against: &'b Against<'a>, drives: &'b Drives) -> Beside<'a, 'b> {
        Beside {
            against,
            drives,
            nearby: Nearby::new(drives),
            yardstick: against.yardstick(0.0),
            parts: against.manners.clone(),
            line: Line::default(),
            walk: Walk::default(),
            row: Stretch::default(),
        }
    }

    /// Rows and test holes of part `number` of a service.
    pub fn part(&mut self, number: usize, out: &mut Catch) {
        let against = self.against;
        let record = against.record(number);
        let manner = against.manner(record);
        against.fill(number, &mut self.parts[manner]);
        let part = &self.parts[manner];
        let yardstick = &mut self.yardstick;
        let within_m = |driven: &Driven| {
            yardstick.bore_radius_m = driven.bore_radius_m;
            yardstick.concerns_within(part, driven.length_m)
        };
        let all = (self.nearby).find(against.records.points_of(number), within_m);
        if all.is_empty() {
            return;
        }
        let band = against.bands[record.kind as usize];
        self.line.begin(against.records, number, record, part, band);
        self.line.lay(all, against.ground);
        for near in all.chunk_by(|a, b| a.drive == b.drive) {
            let driven = &self.drives.all[near[0].drive as usize];
            self.yardstick.bore_radius_m = driven.bore_radius_m;
            let at = Looking {
                against,
                yardstick: &self.yardstick,
                driven,
                part,
                record,
                line: &self.line,
                near,
                by_depth: against.bounds.by_depth(record),
            };
            at.rows(&mut self.walk, &mut self.row, out);
        }
    }
}

impl Looking<'_, '_> {
    /// Rows and test holes of the part beside the drive.
    fn rows(&self, walk: &mut Walk, row: &mut Stretch, out: &mut Catch) {
        row.begin();
        walk.begin();
        for near in self.near {
            self.segment(near, walk, row);
        }
        row.end(self);
        for (made, seen) in row.rows() {
            self.say(made, &self.piece(seen), out);
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
