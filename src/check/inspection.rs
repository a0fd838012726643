//! What to look into after boring: gravity pipes that a bore crossed and nobody exposed.
//!
//! A bore through a sewer is not felt at the rig, and blocks or leaks months later; a gas pipe laid so kills whoever
//! clears the blockage. So every sewer and stormwater pipe crossed without a test hole is looked into from inside
//! (by camera) before the new pipe is put into use.

use super::{Checked, Found, Report};
use crate::{
    clearance::{Encounter, Verdict},
    plan::{Obstacle, Point3},
    site::{FeatureRef, Kind, Quality, Records},
};

/// A row of `bore_inspections`.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspection {
    /// 1 first: by falling probability of contact.
    pub priority: u32,
    /// The bore.
    pub bore_id: String,
    /// The pipe.
    pub source: FeatureRef,
    /// Sewer or stormwater.
    pub kind: Kind,
    /// Owner.
    pub owner: Option<String>,
    /// Along the bore from its launch pit.
    pub chainage_m: f64,
    /// Surface to surface, by the records.
    pub clearance_m: f64,
    /// Probability of contact, by the records.
    pub p_contact: f64,
    /// Location quality level of the record.
    pub quality: Quality,
    /// What the conflict row came to.
    pub verdict: Verdict,
    /// On the bore.
    pub point: Point3,
}

/// Rows that are to be looked into, by falling probability of contact, then in their order.
pub(super) fn list(found: &[Found], records: &Records) -> Vec<u32> {
    let gravity = |f: &Found| {
        let kind = || records.all[f.thing as usize].kind;
        f.obstacle == Obstacle::Service && matches!(kind(), Kind::Sewer | Kind::Stormwater)
    };
    // What is proved is exposed before boring.
    let unseen =
        |f: &Found| f.encounter == Some(Encounter::Crossing) && f.verdict != Verdict::Prove;
    let mut list: Vec<u32> = (0..found.len() as u32)
        .filter(|i| unseen(&found[*i as usize]) && gravity(&found[*i as usize]))
        .collect();
    list.sort_by(|a, b| {
        let p = |i: &u32| found[*i as usize].p_contact;
        p(b).total_cmp(&p(a))
    });
    list
}

impl Inspection {
    pub(super) fn of(report: &Report, i: usize) -> Inspection {
        let checked: &Checked = report.checked;
        let f = &checked.found[checked.inspections[i] as usize];
        let record = report.record(f).expect("pipes are services");
        Inspection {
            priority: i as u32 + 1,
            bore_id: report.bore(f).bore_id.clone(),
            source: report.records.at(record),
            kind: record.kind,
            owner: report.records.owner(record).map(str::to_string),
            chainage_m: f.chainage_m,
            clearance_m: f.clearance_m,
            p_contact: f.p_contact,
            quality: record.quality,
            verdict: f.verdict,
            point: Point3 {
                at: geo::Coord {
                    x: f.point[0],
                    y: f.point[1],
                },
                level: f.point[2],
            },
        }
    }
}
