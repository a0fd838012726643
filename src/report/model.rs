//! What a report is made of: the rows of a plan, as they were read back.
//!
//! Field names are the columns of the result layers. Plan positions are job metres; `easting` and `northing` stay in the units
//! of the coordinate system.
#![allow(
    missing_docs,
    reason = "fields are columns of the result layers, told in plan::result"
)]

use crate::{
    job::{Job, RuleRow},
    site::Site,
};
use geo::Coord;

/// A whole report.
#[derive(Debug)]
pub struct Report {
    /// Name of the job, else of the file.
    pub title: String,
    /// File that the rows were read from, without its folder.
    pub file: String,
    /// Coordinate system.
    pub place: Place,
    /// When the plan was made, as the run has it.
    pub planned_at: Option<String>,
    /// Version of the program that made the plan.
    pub planned_by: Option<String>,
    /// Version of the program that makes the report.
    pub version: String,
    /// Settings that the plan was made with.
    pub job: Job,
    /// Every setting in force and where it comes from.
    pub rules: Vec<RuleRow>,
    /// Layers that were read for the plan.
    pub inputs: Vec<Input>,
    /// What the plan warned of.
    pub warnings: Vec<String>,
    /// Routes in the order of the plan.
    pub routes: Vec<RouteSheet>,
    /// What lies around, or why it is not drawn.
    pub around: Result<Surroundings, String>,
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

/// What lies around the routes.
#[derive(Debug, Default)]
pub struct Surroundings {
    /// The site, as read for a plan.
    pub site: Site,
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
    pub depth_known: bool,
    pub verdict: String,
    pub rule: String,
    pub at: Coord<f64>,
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
    pub dig_to_m: f64,
    pub priority: i64,
    pub reason: String,
    pub at: Coord<f64>,
    pub ground_m: f64,
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
        self.holes.iter().find(|h| {
            c.bore_id.as_ref() == Some(&h.bore_id)
                && c.source_layer.as_ref() == Some(&h.source_layer)
                && c.source_fid == Some(h.source_fid)
        })
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
