//! How well records are located, where that depends on their depth: before they are cut into pieces.

use crate::{
    clearance::{DepthSource, ServicePart},
    ground::Ground,
    job::{DepthBand, Job, Limits},
    site::{Record, Records},
};

/// Bounds of the location limits of records, without looking at their pieces.
pub(super) struct Bounds<'a> {
    records: &'a Records,
    job: &'a Job,
    /// Highest ground (m); taken only where some level has a share of depth.
    highest_m: Option<f64>,
}

impl<'a> Bounds<'a> {
    pub fn new(records: &'a Records, ground: &Ground, job: &'a Job) -> Bounds<'a> {
        let by_depth = !job.rules.quality_share.is_empty();
        Bounds {
            records,
            job,
            highest_m: by_depth.then(|| ground.highest_m()).flatten(),
        }
    }

    /// Whether the limits of a record's pieces depend on their depth.
    pub fn by_depth(&self, record: &Record) -> bool {
        self.job.rules.quality_share.contains_key(&record.quality)
    }

    /// No piece of part `number`, a service like `manner`, has wider limits.
    pub fn of_part(&self, number: usize, manner: &ServicePart) -> Limits {
        let record = &self.records.all[self.records.parts[number].record as usize];
        if !self.by_depth(record) {
            return manner.limits;
        }
        let rules = &self.job.rules;
        let anywhere = rules.limits(record.quality, None);
        let deepest_m = self.deepest_m(number, record, manner.radius_m);
        deepest_m.map_or(anywhere, |d| {
            anywhere.widest(rules.limits(record.quality, Some(d)))
        })
    }

    /// No piece's centre line lies deeper below ground (m); none where there is no ground.
    fn deepest_m(&self, number: usize, record: &Record, radius_m: f64) -> Option<f64> {
        let band = self.job.rules.depth_band[&record.kind];
        match line_source(self.records, number, record, radius_m, band) {
            DepthSource::Levels { to_centre } => {
                let levels = self.records.points_of(number).iter().map(|p| p[2]);
                let lowest = levels.fold(f64::INFINITY, f64::min) + to_centre;
                self.highest_m.map(|ground| ground - lowest)
            }
            DepthSource::BelowGround { most, .. } => Some(most),
        }
    }
}

/// Where the levels of part `number` come from.
pub(super) fn line_source(
    records: &Records,
    number: usize,
    record: &Record,
    radius_m: f64,
    band: DepthBand,
) -> DepthSource {
    if records.parts[number].levels {
        return DepthSource::levels(records.layers[record.layer as usize].z_means, radius_m);
    }
    DepthSource::below_ground(record.cover_m, band, radius_m)
}
