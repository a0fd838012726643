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

/// Which of some rows are to be looked into, each with its probability of contact.
pub(super) fn of(found: &[Found], records: &Records) -> Vec<(f64, u32)> {
    let gravity = |f: &Found| {
        let kind = || records.all[f.thing as usize].kind;
        f.obstacle == Obstacle::Service && matches!(kind(), Kind::Sewer | Kind::Stormwater)
    };
    // What is proved is exposed before boring.
    let unseen =
        |f: &Found| f.encounter == Some(Encounter::Crossing) && f.verdict != Verdict::Prove;
    let rows = found.iter().enumerate();
    let rows = rows.filter(|(_, f)| unseen(f) && gravity(f));
    rows.map(|(i, f)| (f.p_contact, i as u32)).collect()
}

impl Inspection {
    pub(super) fn of(report: &Report, i: usize, spent: Option<Inspection>) -> Inspection {
        let checked: &Checked = report.checked;
        let f = &checked.found[checked.inspections[i] as usize];
        let record = report.record(f).expect("pipes are services");
        let spent = spent.map(|s| (s.bore_id, s.owner, Some(s.source)));
        let (mut bore_id, owner, source) = spent.unwrap_or_default();
        bore_id.clone_from(&report.bore(f).bore_id);
        let owner = report.records.owner(record).map(|o| {
            let mut text = owner.unwrap_or_default();
            text.clear();
            text.push_str(o);
            text
        });
        Inspection {
            priority: i as u32 + 1,
            bore_id,
            source: report.records.at_again(source, record),
            kind: record.kind,
            owner,
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
