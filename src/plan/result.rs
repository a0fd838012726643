//! What a plan says: the rows of the result layers and the summary, in metres.
//!
//! Field names are the columns of the layers. Plan coordinates are job metres (`write` turns them to the CRS's unit).

pub use super::checks::{
    BoreFigures, CompareFigures, Compared, PitFigures, RootsPassed, TreeTaken, Way,
};
pub use crate::{
    clearance::{Encounter, Verdict},
    pits::Dig,
};

use crate::site::{FeatureRef, Kind, Surface};
use geo::{Coord, Polygon};

/// Plan point and level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Point3 {
    /// Plan position.
    pub at: Coord<f64>,
    /// Level (m).
    pub level: f64,
}

/// What a pit is used for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PitRole {
    /// Drives are launched from it.
    Launch,
    /// Drives are received in it.
    Reception,
    /// Both.
    Both,
}

/// A row of `proposed_pits`.
#[derive(Debug, Clone, PartialEq)]
pub struct Pit {
    /// Id.
    pub pit_id: String,
    /// Route it belongs to (a junction pit: the parent).
    pub route_id: String,
    /// From the route's downstream end.
    pub chainage_m: f64,
    /// From the route, right looking downstream positive.
    pub offset_m: f64,
    /// Use.
    pub role: PitRole,
    /// A manhole stands in it.
    pub manhole: bool,
    /// Centre.
    pub centre: Coord<f64>,
    /// Ground at the centre.
    pub ground_m: f64,
    /// Lowest invert in it.
    pub invert_m: f64,
    /// Floor level.
    pub floor_m: f64,
    /// Ground - floor.
    pub depth_m: f64,
    /// Along the axis.
    pub length_m: f64,
    /// Square to the axis.
    pub width_m: f64,
    /// From the pit along its axis drive, from grid north.
    pub bearing_deg: f64,
    /// Who digs.
    pub dig: Dig,
    /// Walls are supported.
    pub support: bool,
    /// Ground cover of most of the footprint.
    pub surface: Surface,
    /// Nearest street's name, where there is one.
    pub street: Option<String>,
    /// Lot of most of the footprint.
    pub lot_id: Option<String>,
    /// Length · width · depth.
    pub volume_m3: f64,
    /// The retained tree whose protection zone it takes most of; none where it takes of none.
    pub tree: Option<TreeTaken>,
    /// Figures that stand beside the plan.
    pub figures: PitFigures,
    /// Sum of its cost rows.
    pub cost: f64,
    /// Remarks.
    pub notes: Option<String>,
    /// Footprint.
    pub footprint: Polygon<f64>,
}

/// What limits the reach of a drive.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ReachBy {
    /// The rig's stated reach.
    Rig,
    /// The rig's thrust.
    Thrust,
    /// The pipe's axial limit.
    Pipe,
    /// The error allowed at the reception pit.
    Accuracy,
}

/// A row of `proposed_bores`.
#[derive(Debug, Clone, PartialEq)]
pub struct Bore {
    /// Id.
    pub bore_id: String,
    /// Route.
    pub route_id: String,
    /// Run (manhole to manhole).
    pub run_id: String,
    /// Upstream pit.
    pub us_pit: String,
    /// Downstream pit.
    pub ds_pit: String,
    /// Where the rig stands.
    pub launch_pit: String,
    /// Where it comes out.
    pub reception_pit: String,
    /// Nominal diameter.
    pub dn_mm: u32,
    /// Pipe outside diameter.
    pub od_mm: f64,
    /// Pipe inside diameter.
    pub id_mm: f64,
    /// Bored diameter.
    pub bore_mm: f64,
    /// Plan length.
    pub length_m: f64,
    /// Upstream invert.
    pub us_invert_m: f64,
    /// Downstream invert.
    pub ds_invert_m: f64,
    /// Fall / length.
    pub grade: f64,
    /// Launch to reception, from grid north.
    pub bearing_deg: f64,
    /// Greatest length allowed.
    pub reach_m: f64,
    /// By what.
    pub reach_governed_by: ReachBy,
    /// Least ground - crown at the samples.
    pub min_cover_m: f64,
    /// Least clearance of its service rows.
    pub min_clearance_m: Option<f64>,
    /// Least margin of its service rows of known depth.
    pub worst_margin_m: Option<f64>,
    /// Expected thrust at its length, where friction or face pressure is known.
    pub thrust_kn: Option<f64>,
    /// The lesser of the rig's thrust and the pipe's axial limit.
    pub thrust_limit_kn: Option<f64>,
    /// Error at the reception pit (95 % limit).
    pub tolerance_mm: f64,
    /// Lots whose flow passes it; none where no lot of the site is to be served.
    pub lots_served: Option<u32>,
    /// The retained tree that it passes with the least depth to spare.
    pub roots: Option<RootsPassed>,
    /// Ranges and figures that stand beside the plan.
    pub figures: BoreFigures,
    /// Crew days.
    pub days: f64,
    /// Sum of its cost rows of method `bore`.
    pub cost: f64,
    /// Sum of its cost rows of method `trench`.
    pub trench_cost: f64,
    /// Remarks.
    pub notes: Option<String>,
    /// Upstream pit centre, Z = invert.
    pub us: Point3,
    /// Downstream pit centre, Z = invert.
    pub ds: Point3,
}

/// What a conflict row is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Obstacle {
    /// A buried service.
    Service,
    /// A building.
    Building,
    /// A tree's structural root zone.
    Tree,
    /// A lot that may not be entered.
    Lot,
    /// A keepout.
    Keepout,
    /// The ground above (cover).
    Ground,
}

/// What a bore does to something above it, as much as there can be.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct OverBore {
    /// Level of its nearest point above the bore's axis.
    pub above_axis_m: f64,
    /// Plan distance of its nearest point from the axis.
    pub beside_axis_m: f64,
    /// Settlement of that point.
    pub settlement_mm: f64,
    /// Steepest slope of the trough from there outward.
    pub settlement_slope: f64,
    /// Heave over the pilot at that height.
    pub heave_mm: Option<f64>,
}

/// A row of `bore_conflicts`. Exactly one of `bore_id` and `pit_id` is set.
#[derive(Debug, Clone, PartialEq)]
pub struct Conflict {
    /// Id.
    pub conflict_id: String,
    /// Bore.
    pub bore_id: Option<String>,
    /// Pit.
    pub pit_id: Option<String>,
    /// What it is about.
    pub obstacle: Obstacle,
    /// The obstacle's feature; none for the ground.
    pub source: Option<FeatureRef>,
    /// Kind of service.
    pub kind: Option<Kind>,
    /// Owner of the service.
    pub owner: Option<String>,
    /// Along the bore from its launch pit.
    pub chainage_m: Option<f64>,
    /// In plan, 0 parallel to 90 square.
    pub angle_deg: Option<f64>,
    /// How the bore meets the service.
    pub encounter: Option<Encounter>,
    /// Surface to surface.
    pub clearance_m: f64,
    /// What the rule asks.
    pub required_m: f64,
    /// For location and boring error.
    pub allowance_m: f64,
    /// Clearance - allowance - required.
    pub margin_m: f64,
    /// Probability of contact.
    pub p_contact: Option<f64>,
    /// What a bore does to a service or foundation that lies above it; none where not worked out.
    pub over_bore: Option<OverBore>,
    /// The depth is known.
    pub depth_known: bool,
    /// What it comes to.
    pub verdict: Verdict,
    /// Where the required value comes from.
    pub rule: String,
    /// On the bore's centre line nearest the obstacle (a pit: on the footprint's edge, Z = ground).
    pub point: Point3,
}

/// A row of `test_holes`.
#[derive(Debug, Clone, PartialEq)]
pub struct TestHole {
    /// Id.
    pub hole_id: String,
    /// Bore it is dug for.
    pub bore_id: String,
    /// The service.
    pub source: FeatureRef,
    /// Kind of service.
    pub kind: Kind,
    /// Middle of the depth band; none where the band is unbounded.
    pub expected_depth_m: Option<f64>,
    /// How deep to dig; none where neither the ground nor the bore has a level to measure it from.
    pub dig_to_m: Option<f64>,
    /// 1 first.
    pub priority: u32,
    /// Probability of contact of its conflict row, which orders the priorities (no column of its own).
    pub p_contact: f64,
    /// Why.
    pub reason: String,
    /// On the service, Z = ground.
    pub point: Point3,
}

/// What stands at a sample of the long section.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Feature {
    /// A manhole (inlet, then outlet).
    Manhole,
    /// A through pit.
    Pit,
    /// The sample nearest a service crossing.
    Crossing,
    /// Plain ground.
    Ground,
}

/// A row of `long_sections`.
#[derive(Debug, Clone, PartialEq)]
pub struct SectionRow {
    /// Route.
    pub route_id: String,
    /// Chainage.
    pub chainage_m: f64,
    /// Ground.
    pub ground_m: f64,
    /// Pipe invert.
    pub invert_m: f64,
    /// Pipe crown (outside top).
    pub crown_m: f64,
    /// Ground - crown.
    pub cover_m: f64,
    /// Bore.
    pub bore_id: Option<String>,
    /// Pit, at a pit.
    pub pit_id: Option<String>,
    /// What stands here.
    pub feature: Feature,
}

/// A row of `affected_lots`.
#[derive(Debug, Clone, PartialEq)]
pub struct AffectedLot {
    /// Lot.
    pub lot_id: String,
    /// A pit is on it (else bores pass under it).
    pub pit: bool,
    /// Bores under it, sorted.
    pub bore_ids: Vec<String>,
    /// Pits on it, sorted.
    pub pit_ids: Vec<String>,
    /// Plan length of bores under it.
    pub bore_length_m: f64,
    /// Least cover of bores under it; none where no bore passes.
    pub shallowest_cover_m: Option<f64>,
    /// The lot.
    pub parts: Vec<Polygon<f64>>,
}

/// How the pipe is laid.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Method {
    /// Bored.
    Bore,
    /// In open trench, beside it for comparison.
    Trench,
}

/// A row of `cost_items`. Exactly one of `bore_id` and `pit_id` is set.
#[derive(Debug, Clone, PartialEq)]
pub struct CostItem {
    /// Route.
    pub route_id: String,
    /// Bore.
    pub bore_id: Option<String>,
    /// Pit.
    pub pit_id: Option<String>,
    /// How the pipe is laid.
    pub method: Method,
    /// What is paid.
    pub item: String,
    /// Unit of the quantity.
    pub unit: &'static str,
    /// Never 0.
    pub quantity: f64,
    /// Price a unit.
    pub rate: f64,
    /// Quantity · rate.
    pub amount: f64,
}

/// What a comparison is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Scope {
    /// One bore, with its share of its pits.
    Bore,
    /// The bores from manhole to manhole.
    Run,
    /// The bores of a route.
    Route,
    /// What lies on one lot.
    Lot,
}

/// What a trench would break less what the pits break.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub struct Spared {
    /// Asphalt and concrete on lots (m2).
    pub driveway_m2: f64,
    /// Paving on lots (m2).
    pub paving_m2: f64,
    /// Lawn and garden on lots (m2).
    pub garden_m2: f64,
    /// Gravel and bare ground on lots (m2).
    pub other_m2: f64,
    /// Any surface on no lot (m2).
    pub street_m2: f64,
    /// Fences crossed.
    pub fences: f64,
    /// Retained trees whose structural roots the trench would cut.
    pub trees: f64,
}

/// A row of `bore_or_trench`.
#[derive(Debug, Clone, PartialEq)]
pub struct Comparison {
    /// What it is of.
    pub scope: Scope,
    /// Id of the bore, run, route or lot.
    pub item_id: String,
    /// Route; none of a lot.
    pub route_id: Option<String>,
    /// Both ways.
    pub compared: Compared,
    /// What the bore spares.
    pub spared: Spared,
    /// Figures that follow.
    pub figures: CompareFigures,
}

/// What is done in a task of the programme.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TaskKind {
    /// The pit crew digs a pit.
    Dig,
    /// The rig moves to its next launch pit.
    Move,
    /// The rig bores a drive.
    Bore,
    /// The pit crew builds a manhole.
    Manhole,
    /// The pit crew fills a pit and puts its surface back.
    Close,
}

/// A row of `bore_programme`.
#[derive(Debug, Clone, PartialEq)]
pub struct Task {
    /// 1 first.
    pub step: u32,
    /// What is done.
    pub task: TaskKind,
    /// Route of the pit or bore.
    pub route_id: String,
    /// Pit; of a drive the one that launches it.
    pub pit_id: Option<String>,
    /// Drive.
    pub bore_id: Option<String>,
    /// When it begins; the work begins on day 0.
    pub from_day: f64,
    /// When it ends.
    pub to_day: f64,
}

/// Why no set of pits bridges a stretch.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Why {
    /// Pits and drives cannot, whatever the levels.
    Gap,
    /// They could, but no levels keep all rules.
    Levels,
}

/// A stretch that no lawful set of pits bridges.
#[derive(Debug, Clone, PartialEq)]
pub struct Blocker {
    /// From.
    pub from_chainage_m: f64,
    /// To.
    pub to_chainage_m: f64,
    /// Why.
    pub why: Why,
    /// What closes it: an obstacle, or the route without a plan with which this one hangs together; none where no
    /// feature alone does.
    pub source: Option<FeatureRef>,
}

/// What a remedy changes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum RemedyKind {
    /// The greatest drive length, whatever governs it.
    Reach,
    /// A service of unknown depth is proved by test holes.
    Prove,
    /// The invert that is fixed downstream.
    Outfall,
    /// The highest invert allowed upstream.
    Head,
    /// A lot is entered.
    Entry,
    /// How far manholes may stand beside the route.
    Corridor,
}

impl RemedyKind {
    /// All, in the order in which they are looked for.
    pub const ALL: [RemedyKind; 6] = [
        RemedyKind::Reach,
        RemedyKind::Prove,
        RemedyKind::Outfall,
        RemedyKind::Head,
        RemedyKind::Entry,
        RemedyKind::Corridor,
    ];
}

/// What a remedy changes it to.
#[derive(Debug, Clone, PartialEq)]
pub enum RemedyValue {
    /// A length or level (m).
    Metres(f64),
    /// The lot's id, or the service as `LAYER/FID`.
    Name(String),
}

/// The least change of one kind that gives a plan. The rows of one kind belong together: all of them are needed.
#[derive(Debug, Clone, PartialEq)]
pub struct Remedy {
    /// What it changes.
    pub kind: RemedyKind,
    /// The change.
    pub value: RemedyValue,
    /// The feature it is about: the route whose invert it is, the lot, the service.
    pub source: Option<FeatureRef>,
}

/// A row of `route_blockers`.
#[derive(Debug, Clone, PartialEq)]
pub struct BlockerRow {
    /// Route.
    pub route_id: String,
    /// The stretch.
    pub blocker: Blocker,
    /// What would give the route a plan.
    pub remedies: Vec<Remedy>,
    /// The route from the lower to the upper chainage.
    pub line: Vec<Coord<f64>>,
}

/// What came of one route.
#[derive(Debug, Clone, PartialEq)]
pub struct RouteResult {
    /// Route.
    pub route_id: String,
    /// A plan was found.
    pub planned: bool,
    /// Pits (a junction pit counts for the parent).
    pub pits: usize,
    /// Manholes among them.
    pub manholes: usize,
    /// Bores.
    pub bores: usize,
    /// Sum of bore lengths.
    pub length_m: f64,
    /// Longest bore; none without a plan.
    pub longest_bore_m: Option<f64>,
    /// Sum of its `bore` cost rows; none without a plan.
    pub cost: Option<f64>,
    /// Sum of its `trench` cost rows; none without a plan.
    pub trench_cost: Option<f64>,
    /// Why there is no plan.
    pub blockers: Vec<Blocker>,
    /// What would give one.
    pub remedies: Vec<Remedy>,
}

/// A row of `alternatives`: one of the cheapest plans of a system of joined routes.
#[derive(Debug, Clone, PartialEq)]
pub struct Alternative {
    /// The system's routes.
    pub system: Vec<String>,
    /// 1 is the best plan.
    pub alternative: u32,
    /// Sum of its `bore` cost rows.
    pub cost: f64,
    /// Cost less that of the best plan.
    pub more_than_best: f64,
    /// Pits.
    pub pits: usize,
    /// Manholes among them.
    pub manholes: usize,
    /// Bores.
    pub bores: usize,
    /// Test holes.
    pub test_holes: usize,
    /// Conflict rows of verdict `watch`.
    pub watch: usize,
    /// Least margin of its bores to services of known depth; none where they come near none.
    pub least_margin_m: Option<f64>,
    /// Sum of its cost rows for strikes (probability · price).
    pub strike_cost: f64,
    /// Longest bore.
    pub longest_bore_m: f64,
    /// Deepest pit.
    pub deepest_pit_m: f64,
    /// What differs from the best plan, in words.
    pub differs: String,
}

/// A plan of a site.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Plan {
    /// One a route, in input order.
    pub routes: Vec<RouteResult>,
    /// `proposed_pits`.
    pub pits: Vec<Pit>,
    /// `proposed_bores`.
    pub bores: Vec<Bore>,
    /// `bore_conflicts`.
    pub conflicts: Vec<Conflict>,
    /// `test_holes`.
    pub test_holes: Vec<TestHole>,
    /// `long_sections`.
    pub sections: Vec<SectionRow>,
    /// `affected_lots`.
    pub lots: Vec<AffectedLot>,
    /// `cost_items`.
    pub costs: Vec<CostItem>,
    /// `bore_or_trench`.
    pub comparisons: Vec<Comparison>,
    /// `bore_programme`.
    pub programme: Vec<Task>,
    /// `alternatives`, empty unless asked for.
    pub alternatives: Vec<Alternative>,
    /// `alternative_pits`: pits of every alternative, with its number.
    pub alternative_pits: Vec<(u32, Pit)>,
    /// `alternative_bores`, likewise.
    pub alternative_bores: Vec<(u32, Bore)>,
    /// `route_blockers`.
    pub blockers: Vec<BlockerRow>,
    /// What an engineer must know besides.
    pub warnings: Vec<String>,
}
