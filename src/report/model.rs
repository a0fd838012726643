//! What a report is made of: the rows of a plan or a check, as they were read back.
//!
//! Field names are the columns of the result layers. Plan positions are job metres; `easting` and `northing` stay in the units
//! of the coordinate system.
#![allow(
    missing_docs,
    reason = "fields are columns of the result layers, told in plan::result"
)]

use super::nearby::Surroundings;
use crate::job::{Job, RuleRow};
use geo::Coord;
use std::collections::BTreeMap;

/// A report of a plan.
#[derive(Debug)]
pub struct Report {
    /// What it is of.
    pub head: Head,
    /// Routes in the order of the plan.
    pub routes: Vec<RouteSheet>,
    /// What lies around, or why it is not drawn.
    pub around: Result<Surroundings, String>,
}

/// A report of a check of bores that others designed.
#[derive(Debug)]
pub struct CheckReport {
    /// What it is of.
    pub head: Head,
    /// Bores checked, where the run says so.
    pub bores: Option<f64>,
    /// Clashes with a sewer at an end of a bore.
    pub connections: usize,
    /// What is not known, a line each.
    pub unknown: Vec<String>,
    /// What the bores come near.
    pub conflicts: Vec<Conflict>,
    /// Test holes, the first to be dug first.
    pub holes: Vec<Hole>,
    /// Gravity pipes to be looked into after boring.
    pub inspections: Vec<Inspection>,
    /// What has changed since an earlier check; none where none was compared with.
    pub changes: Option<Vec<Change>>,
}

/// What a report is of, and what it rests on.
#[derive(Debug)]
pub struct Head {
    /// Name of the job, else of the file.
    pub title: String,
    /// File that the rows were read from, without its folder.
    pub file: String,
    /// Coordinate system.
    pub place: Place,
    /// When the rows were made, as the run has it.
    pub made_at: Option<String>,
    /// Version of the program that made them.
    pub made_by: Option<String>,
    /// Version of the program that makes the report.
    pub version: String,
    /// Settings that they were made with.
    pub job: Job,
    /// Every setting in force and where it comes from.
    pub rules: Vec<RuleRow>,
    /// Layers that were read.
    pub inputs: Vec<Input>,
    /// What the run warned of.
    pub warnings: Vec<String>,
}

/// The coordinate system that eastings and northings are in.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Authority and code, else its name.
    pub crs: String,
    /// Metres in a unit of it.
    pub unit_m: f64,
    /// Name of that unit.
    pub unit_name: String,
}

/// An input layer of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct Input {
    /// Layer.
    pub layer: String,
    /// File, without its folder.
    pub file: String,
    /// The part it plays.
    pub role: String,
    /// Features read.
    pub features: f64,
    /// Digest of what was read.
    pub sha256: String,
}

/// Everything about one route.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct RouteSheet {
    /// Id.
    pub route_id: String,
    /// A plan was found.
    pub planned: bool,
    /// Every pit that one of its bores starts or ends in.
    pub pits: Vec<Pit>,
    /// Bores.
    pub bores: Vec<Bore>,
    /// What its bores and pits come near.
    pub conflicts: Vec<Conflict>,
    /// Test holes, the first to be dug first.
    pub holes: Vec<Hole>,
    /// Long section by ascending chainage.
    pub section: Vec<SectionPoint>,
    /// Priced quantities.
    pub costs: Vec<Cost>,
    /// What stands in the way of a plan.
    pub blockers: Vec<Blocker>,
    /// Its bores, runs and itself beside open trench; empty in files of older versions.
    pub compared: Vec<Compared>,
    /// Tasks of its pits and bores.
    pub tasks: Vec<Task>,
}

/// A row of `bore_or_trench`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Compared {
    pub scope: String,
    pub item_id: String,
    pub length_m: f64,
    pub cost: f64,
    pub trench_cost: f64,
    pub break_even_m: Option<f64>,
    /// Driveway, paving, garden, street (m2), fences, trees.
    pub spared: [f64; 6],
    /// Crew days bored and in trench, then yard days bored and in trench.
    pub days: [Option<f64>; 4],
    /// Bored, in trench.
    pub carbon_kg: [Option<f64>; 2],
}

/// A row of `bore_programme`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Task {
    pub step: f64,
    pub task: String,
    pub pit_id: Option<String>,
    pub bore_id: Option<String>,
    pub from_day: f64,
    pub to_day: f64,
}

/// A row of `proposed_pits`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Pit {
    pub pit_id: String,
    pub chainage_m: f64,
    pub offset_m: f64,
    pub role: String,
    pub manhole: bool,
    pub easting: f64,
    pub northing: f64,
    pub ground_m: f64,
    pub invert_m: f64,
    pub floor_m: f64,
    pub depth_m: f64,
    pub length_m: f64,
    pub width_m: f64,
    pub bearing_deg: f64,
    pub dig: String,
    pub support: bool,
    pub surface: Option<String>,
    pub street: Option<String>,
    pub lot_id: Option<String>,
    pub volume_m3: f64,
    pub notes: Option<String>,
    pub footprint: Vec<Coord<f64>>,
}

/// A row of `proposed_bores`.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Bore {
    pub bore_id: String,
    pub run_id: String,
    pub us_pit: String,
    pub ds_pit: String,
    pub launch_pit: String,
    pub reception_pit: String,
    pub dn_mm: f64,
    pub od_mm: f64,
    pub id_mm: f64,
    pub bore_mm: f64,
    pub length_m: f64,
    pub us_invert_m: f64,
    pub ds_invert_m: f64,
    pub grade: f64,
    pub bearing_deg: f64,
    pub reach_m: f64,
    pub reach_governed_by: String,
    pub min_cover_m: f64,
    pub min_clearance_m: Option<f64>,
    pub worst_margin_m: Option<f64>,
    pub thrust_low_kn: Option<f64>,
    pub thrust_kn: Option<f64>,
    pub thrust_high_kn: Option<f64>,
    pub thrust_limit_kn: Option<f64>,
    pub tolerance_mm: f64,
    pub predicted_error_mm: Option<f64>,
    pub level_tolerance_mm: Option<f64>,
    pub grade_after_errors: Option<f64>,
    pub settlement_mm: Option<f64>,
    pub pilot_heave_mm: Option<f64>,
    pub lots_served: Option<f64>,
    pub design_flow_l_s: Option<f64>,
    pub flow_share: Option<f64>,
    pub flow_depth_mm: Option<f64>,
    pub flow_velocity_m_s: Option<f64>,
    pub days: f64,
    pub cost: f64,
    pub trench_cost: f64,
    pub notes: Option<String>,
    pub us: Coord<f64>,
    pub ds: Coord<f64>,
}

/// A row of `bore_conflicts`.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    pub conflict_id: String,
    pub bore_id: Option<String>,
    pub pit_id: Option<String>,
    pub obstacle: String,
    pub source_layer: Option<String>,
    pub source_fid: Option<i64>,
    pub kind: Option<String>,
    pub owner: Option<String>,
    pub chainage_m: Option<f64>,
    pub angle_deg: Option<f64>,
    pub encounter: Option<String>,
    pub clearance_m: f64,
    pub required_m: f64,
    pub allowance_m: f64,
    pub margin_m: f64,
    pub p_contact: Option<f64>,
    pub depth_known: bool,
    pub verdict: String,
    pub rule: String,
    pub at: Coord<f64>,
    /// Place of its test hole among those of the sheet.
    pub hole: Option<usize>,
}

/// A row of `test_holes`.
#[derive(Debug, Clone, PartialEq)]
pub struct Hole {
    pub hole_id: String,
    pub bore_id: String,
    pub source_layer: String,
    pub source_fid: i64,
    pub kind: String,
    pub expected_depth_m: Option<f64>,
    pub dig_to_m: Option<f64>,
    pub priority: i64,
    pub reason: String,
    pub at: Coord<f64>,
    pub ground_m: f64,
}

/// A row of `bore_inspections`.
#[derive(Debug, Clone, PartialEq)]
pub struct Inspection {
    pub priority: i64,
    pub bore_id: String,
    pub source_layer: String,
    pub source_fid: i64,
    pub kind: String,
    pub owner: Option<String>,
    pub chainage_m: Option<f64>,
    pub clearance_m: f64,
    pub p_contact: Option<f64>,
    pub quality: Option<String>,
    pub verdict: String,
    pub at: Coord<f64>,
}

/// A row of `conflict_changes`.
#[derive(Debug, Clone, PartialEq)]
pub struct Change {
    pub change: String,
    pub bore_id: String,
    pub obstacle: String,
    pub source_layer: Option<String>,
    pub source_fid: Option<i64>,
    pub kind: Option<String>,
    pub owner: Option<String>,
    pub chainage_m: Option<f64>,
    pub verdict_before: Option<String>,
    pub verdict: Option<String>,
    pub margin_before_m: Option<f64>,
    pub margin_m: Option<f64>,
}

/// A row of `long_sections`.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionPoint {
    pub chainage_m: f64,
    pub ground_m: f64,
    pub invert_m: f64,
    pub crown_m: f64,
    pub cover_m: f64,
    pub bore_id: Option<String>,
    pub pit_id: Option<String>,
    pub feature: String,
}

/// A row of `cost_items`.
#[derive(Debug, Clone, PartialEq)]
pub struct Cost {
    pub method: String,
    pub item: String,
    pub unit: String,
    pub quantity: f64,
    pub rate: f64,
    pub amount: f64,
}

/// A row of `route_blockers`.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocker {
    pub from_chainage_m: f64,
    pub to_chainage_m: f64,
    pub why: String,
    pub source_layer: Option<String>,
    pub source_fid: Option<i64>,
    pub remedies: Option<String>,
}

impl RouteSheet {
    /// The pit of that id.
    pub fn pit(&self, id: &str) -> Option<&Pit> {
        self.pits.iter().find(|p| p.pit_id == id)
    }

    /// Chainage along this route of a pit (m). A junction's pit counts along the parent, so the long section is asked first.
    pub fn chainage(&self, pit: &str) -> Option<f64> {
        let of = |s: &&SectionPoint| s.pit_id.as_deref() == Some(pit);
        let drawn = self.section.iter().find(of).map(|s| s.chainage_m);
        drawn.or_else(|| self.pit(pit).map(|p| p.chainage_m))
    }

    /// Bores of each run, in the order of the bores.
    pub fn runs(&self) -> Vec<Vec<&Bore>> {
        let mut runs: Vec<Vec<&Bore>> = vec![];
        for bore in &self.bores {
            match runs.iter_mut().find(|r| r[0].run_id == bore.run_id) {
                Some(run) => run.push(bore),
                None => runs.push(vec![bore]),
            }
        }
        runs
    }

    /// Rows of a bore, from its launch pit on.
    pub fn met_by(&self, bore: &Bore) -> Vec<&Conflict> {
        let of = |c: &&Conflict| c.bore_id.as_ref() == Some(&bore.bore_id);
        let mut met: Vec<&Conflict> = self.conflicts.iter().filter(of).collect();
        let from_launch = |c: &Conflict| c.chainage_m.unwrap_or(0.0);
        met.sort_by(|a, b| from_launch(a).total_cmp(&from_launch(b)));
        met
    }

    /// The hole to be dug for a row, if one is.
    pub fn hole(&self, c: &Conflict) -> Option<&Hole> {
        self.holes.get(c.hole?)
    }
}

/// Tells each row of services to be proved which of the holes is dug for it.
///
/// No column says so. A hole is dug for one row of its bore and service; where a bore meets a service more than once, holes stand by
/// falling probability of contact, and by the order of the rows where that is the same.
pub fn give_holes(conflicts: &mut [Conflict], holes: &[Hole]) {
    let mut waiting: BTreeMap<(&str, &str, i64), Vec<usize>> = BTreeMap::new();
    let mut by_priority: Vec<usize> = (0..holes.len()).collect();
    by_priority.sort_by_key(|i| holes[*i].priority);
    for i in by_priority.into_iter().rev() {
        let h = &holes[i];
        let of = (h.bore_id.as_str(), h.source_layer.as_str(), h.source_fid);
        waiting.entry(of).or_default().push(i);
    }
    let mut rows: Vec<usize> = (0..conflicts.len())
        .filter(|i| conflicts[*i].verdict == "prove")
        .collect();
    let chance = |i: &usize| conflicts[*i].p_contact.unwrap_or(0.0);
    rows.sort_by(|a, b| chance(b).total_cmp(&chance(a)));
    let mut given = vec![];
    for i in rows {
        let c = &conflicts[i];
        if let (Some(bore), Some(layer), Some(fid)) = (&c.bore_id, &c.source_layer, c.source_fid) {
            let of = waiting.get_mut(&(bore.as_str(), layer.as_str(), fid));
            given.extend(of.and_then(Vec::pop).map(|hole| (i, hole)));
        }
    }
    for (i, hole) in given {
        conflicts[i].hole = Some(hole);
    }
}

impl Bore {
    /// The rig stands upstream.
    pub fn launched_upstream(&self) -> bool {
        self.launch_pit == self.us_pit
    }

    /// Level of the invert at the launch pit and at the reception pit (m).
    pub fn inverts(&self) -> (f64, f64) {
        if self.launched_upstream() {
            (self.us_invert_m, self.ds_invert_m)
        } else {
            (self.ds_invert_m, self.us_invert_m)
        }
    }

    /// Level of the invert so far from the launch pit (m).
    pub fn invert_at(&self, from_launch_m: f64) -> f64 {
        let (launch, reception) = self.inverts();
        launch + (reception - launch) * from_launch_m / self.length_m
    }
}

impl Conflict {
    /// It is about a buried service.
    pub fn of_service(&self) -> bool {
        self.obstacle == "service"
    }
}

#[cfg(test)]
pub mod tests {
    use super::*;

    /// A row of a bore and a service.
    pub fn conflict(id: &str, fid: i64, verdict: &str, p_contact: f64) -> Conflict {
        Conflict {
            conflict_id: id.to_string(),
            bore_id: Some("A-B01".to_string()),
            pit_id: None,
            obstacle: "service".to_string(),
            source_layer: Some("gas_mains".to_string()),
            source_fid: Some(fid),
            kind: Some("gas".to_string()),
            owner: None,
            chainage_m: Some(12.5),
            angle_deg: Some(88.0),
            encounter: Some("crossing".to_string()),
            clearance_m: 0.4,
            required_m: 0.3,
            allowance_m: 0.35,
            margin_m: -0.25,
            p_contact: Some(p_contact),
            depth_known: verdict != "prove",
            verdict: verdict.to_string(),
            rule: "rules.clearance.gas.crossing_m".to_string(),
            at: Coord { x: 1.0, y: 2.0 },
            hole: None,
        }
    }

    /// A hole for such a row.
    pub fn hole(id: &str, fid: i64, priority: i64) -> Hole {
        Hole {
            hole_id: id.to_string(),
            bore_id: "A-B01".to_string(),
            source_layer: "gas_mains".to_string(),
            source_fid: fid,
            kind: "gas".to_string(),
            expected_depth_m: Some(0.9),
            dig_to_m: None,
            priority,
            reason: "depth not recorded".to_string(),
            at: Coord { x: 1.0, y: 2.0 },
            ground_m: f64::NAN,
        }
    }

    #[test]
    fn every_hole_goes_to_one_row_the_likelier_contact_first() {
        let mut rows = [
            conflict("C1", 7, "prove", 0.1),
            conflict("C2", 7, "watch", 0.9),
            conflict("C3", 7, "prove", 0.4),
            conflict("C4", 8, "prove", 0.2),
            conflict("C5", 9, "prove", 0.2),
        ];
        let holes = [hole("H2", 7, 3), hole("H1", 7, 1), hole("H3", 8, 2)];
        give_holes(&mut rows, &holes);
        let given: Vec<Option<usize>> = rows.iter().map(|r| r.hole).collect();
        assert_eq!(given, [Some(0), None, Some(1), Some(2), None]);
    }
}
