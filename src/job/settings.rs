//! The settings in force, as the planner sees them. Field names are the keys of the job file.

use crate::site::{Kind, Quality, Surface};
use std::collections::BTreeMap;

/// Every setting in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Job {
    /// `[job] name`.
    pub name: Option<String>,
    /// `[job] crs`, as typed; else that of `routes`.
    pub crs: Option<String>,
    /// Rows are written for things nearer than this (m).
    pub watch_distance_m: f64,
    /// `[pipe]`.
    pub pipe: Pipe,
    /// `[rig]`.
    pub rig: Rig,
    /// `[setting_out]`.
    pub setting_out: SettingOut,
    /// `[soil]`.
    pub soil: Soil,
    /// `[rules]`.
    pub rules: Rules,
    /// `[pits]`.
    pub pits: Pits,
    /// `[search]`.
    pub search: Search,
    /// `[costs]`.
    pub costs: Costs,
    /// `[flow]`.
    pub flow: Flow,
    /// `[programme]`.
    pub programme: Programme,
    /// `[traffic]`, where all of it is set.
    pub traffic: Option<Traffic>,
    /// `[carbon]`.
    pub carbon: Carbon,
}

/// Outside and inside diameter of a pipe (mm).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PipeSize {
    /// Outside diameter (mm).
    pub od_mm: f64,
    /// Inside diameter (mm).
    pub id_mm: f64,
}

/// The product pipe.
#[derive(Debug, Clone, PartialEq)]
pub struct Pipe {
    /// Nominal diameter of routes that state none (mm).
    pub dn_mm: u32,
    /// Material.
    pub material: String,
    /// Sizes by nominal diameter: the job's own, else the material's table.
    pub sizes: BTreeMap<u32, PipeSize>,
    /// Axial limit of the pipe joint (kN), if set.
    pub axial_limit_kn: Option<f64>,
    /// Roughness by Manning (s/m^(1/3)).
    pub manning_n: f64,
    /// Roughness by Colebrook-White, k_s (mm).
    pub roughness_mm: f64,
    /// Kinematic viscosity (mm2/s).
    pub viscosity_mm2_s: f64,
    /// Length of one pipe (m).
    pub segment_m: f64,
    /// Compressive strength or yield stress (MPa), if set.
    pub strength_mpa: Option<f64>,
    /// Safety on it, if set.
    pub strength_safety: Option<f64>,
    /// Least section of the joint at `dn_mm`, if set.
    pub joint: Option<PipeSize>,
}

/// Which pit a drive may be launched from.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LaunchFrom {
    /// Either.
    Either,
    /// The downstream pit.
    Downstream,
    /// The upstream pit.
    Upstream,
}

/// The boring rig.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    /// Reach for the soil class in force (m): `reach_by_class` if it names the class, else `reach_m`.
    pub reach_m: f64,
    /// Greatest thrust (kN), if set.
    pub thrust_kn: Option<f64>,
    /// Line and level accuracy (mm) at `accuracy_at_m`, a 95 % limit.
    pub line_accuracy_mm: f64,
    /// See `line_accuracy_mm` (m).
    pub accuracy_at_m: f64,
    /// Least error, from setting out (mm), a 95 % limit.
    pub setting_out_mm: f64,
    /// Greatest nominal diameter (mm).
    pub dn_max_mm: u32,
    /// Bored diameter (mm), else od + `overcut_mm`.
    pub bore_mm: Option<f64>,
    /// Bored diameter less pipe outside diameter (mm).
    pub overcut_mm: f64,
    /// Flattest grade (m/m).
    pub grade_min: f64,
    /// Steepest grade (m/m).
    pub grade_max: f64,
    /// Launch pit, along the axis (m).
    pub launch_length_m: f64,
    /// Launch pit, square to the axis (m).
    pub launch_width_m: f64,
    /// Reception pit, along the axis (m).
    pub reception_length_m: f64,
    /// Reception pit, square to the axis (m).
    pub reception_width_m: f64,
    /// Pit floor below the lowest invert (m).
    pub axis_height_m: f64,
    /// Width the rig and its people need to get through (m).
    pub access_width_m: f64,
    /// Which pit a drive may be launched from.
    pub launch_from: LaunchFrom,
    /// Days to set up one drive.
    pub setup_days: f64,
    /// Metres bored a day.
    pub metres_per_day: f64,
    /// Diameter of the pilot (mm).
    pub pilot_mm: f64,
    /// The pipe is lubricated.
    pub lubrication: bool,
    /// Length of one casing with its auger (m): the rig's, else that of a pipe.
    pub casing_segment_m: f64,
    /// Length of one pilot tube (m), likewise.
    pub pilot_segment_m: f64,
}

impl Rig {
    /// The shortest side of any pit (m).
    pub fn narrowest_m(&self) -> f64 {
        let launch = self.launch_length_m.min(self.launch_width_m);
        let reception = self.reception_length_m.min(self.reception_width_m);
        launch.min(reception)
    }
}

/// How line and grade are set out; each where it is set. Errors are 95 % limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SettingOut {
    /// Error of setting up and of the target (mm).
    pub centring_mm: Option<f64>,
    /// Error of pointing (seconds of arc).
    pub pointing_s: Option<f64>,
    /// Distance of the marks that give the line (m).
    pub base_m: Option<f64>,
    /// Error of each mark (mm).
    pub marks_mm: Option<f64>,
    /// Change of the air's temperature square to the sight (°C/m).
    pub gradient_c_m: Option<f64>,
}

/// The ground that is bored.
#[derive(Debug, Clone, PartialEq)]
pub struct Soil {
    /// Soil class, if stated.
    pub class: Option<String>,
    /// Ground-water level (m), if stated.
    pub water_level_m: Option<f64>,
    /// Skin friction (kPa): the job's, else the expected value of the class, else 0 (no thrust reach).
    pub friction_kpa: f64,
    /// Least skin friction of the class (kPa), never above `friction_kpa`, which it is where there is no class.
    pub friction_low_kpa: f64,
    /// Greatest skin friction of the class (kPa), never below `friction_kpa`, which it is where there is no class.
    pub friction_high_kpa: f64,
    /// Face pressure (kPa), likewise.
    pub face_kpa: f64,
    /// Volume loss (fraction of the bore's area), if stated.
    pub volume_loss: Option<f64>,
    /// Unit weight (kN/m3), if stated.
    pub unit_weight_kn_m3: Option<f64>,
    /// Angle of internal friction (degrees), if stated.
    pub friction_deg: Option<f64>,
    /// Cohesion (kPa), if stated.
    pub cohesion_kpa: Option<f64>,
    /// Coefficient of friction of pipe on ground, if stated.
    pub pipe_mu: Option<f64>,
    /// Width of the settlement trough by depth, if stated.
    pub trough_k: Option<f64>,
    /// Cone resistance (MPa), if stated.
    pub cone_mpa: Option<f64>,
    /// A drive may stand for hours in sticky ground.
    pub sticky_stop: bool,
    /// How much more spoil is once dug (%), if stated.
    pub swell_percent: Option<f64>,
}

/// What happens where a bore passes a service of unknown depth.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum UnknownDepth {
    /// It earns a test hole.
    Prove,
    /// It is forbidden.
    Avoid,
}

/// Required distances to one kind of service (m, surface to surface).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Clearance {
    /// Where a bore crosses it.
    pub crossing_m: f64,
    /// Where a bore runs beside it.
    pub parallel_m: f64,
    /// From a pit's footprint, in plan.
    pub pit_m: f64,
}

/// 95 % limits of a location quality level (m).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Limits {
    /// In plan.
    pub horizontal_m: f64,
    /// In level.
    pub vertical_m: f64,
}

/// Location limits as shares of depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Shares {
    /// In plan.
    pub horizontal: f64,
    /// In level.
    pub vertical: f64,
}

/// Where a service must lie to be separate from a bore in level.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// Above the bore.
    Above,
    /// Above or below.
    Either,
}

/// A conditional rule: nearer in plan than `horizontal_m`, a service must be `vertical_m` above (or below) the bore.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Separation {
    /// So far apart in plan nothing more is asked (m, outside to outside).
    pub horizontal_m: f64,
    /// Nearer than that, apart in level (m, outside to outside).
    pub vertical_m: f64,
    /// Where the service must then lie.
    pub service: Side,
}

/// Where a service of unknown depth may be: its centre line below ground (m).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DepthBand {
    /// Least depth.
    pub min_m: f64,
    /// Greatest depth.
    pub max_m: f64,
}

/// The rule set in force.
#[derive(Debug, Clone, PartialEq)]
pub struct Rules {
    /// Name of the rule set that the job starts from.
    pub base: String,
    /// Ground to pipe crown (m).
    pub min_cover_m: f64,
    /// Flattest grade by nominal diameter: the value of the greatest listed DN not above the pipe's, else of the least listed.
    pub min_grade: BTreeMap<u32, f64>,
    /// Steepest grade (m/m).
    pub max_grade: f64,
    /// Longest run (m).
    pub manhole_spacing_m: f64,
    /// Least inlet - outlet at a manhole (m).
    pub manhole_drop_m: f64,
    /// Greatest inlet - outlet at a manhole (m), if set.
    pub manhole_drop_max_m: Option<f64>,
    /// Greatest error at the reception pit (mm), if set.
    pub max_end_error_mm: Option<f64>,
    /// Settlement of services and buildings above which they are named (mm).
    pub settlement_mm: f64,
    /// Slope under services and buildings above which they are named (m/m).
    pub settlement_slope: f64,
    /// A margin below this earns `watch` (m).
    pub watch_margin_m: f64,
    /// What happens at unknown depth.
    pub unknown_depth: UnknownDepth,
    /// Foundation depth of buildings that state none (m).
    pub foundation_depth_m: f64,
    /// Required distances by kind; every kind is there.
    pub clearance: BTreeMap<Kind, Clearance>,
    /// Required distance to a building's prism (m).
    pub clearance_building_m: f64,
    /// Separation in plan or in level, by kind; only kinds that have such a rule.
    pub separation: BTreeMap<Kind, Separation>,
    /// Location limits by quality level; every level is there. See [`Rules::limits`] for what they come to at a depth.
    pub quality: BTreeMap<Quality, Limits>,
    /// Location limits as shares of depth; only levels that have one.
    pub quality_share: BTreeMap<Quality, Shares>,
    /// Depth bands by kind; every kind is there.
    pub depth_band: BTreeMap<Kind, DepthBand>,
    /// Outside diameter of services that state none (mm); every kind is there.
    pub default_diameter_mm: BTreeMap<Kind, f64>,
}

/// Which lots a pit may be dug on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum OnLots {
    /// Only lots with `entry` = yes.
    Entry,
    /// None.
    Never,
    /// Any.
    Always,
}

/// Rules for pits.
#[derive(Debug, Clone, PartialEq)]
pub struct Pits {
    /// Which lots a pit may be dug on.
    pub on_lots: OnLots,
    /// Deepest pit (m).
    pub max_depth_m: f64,
    /// Deepest pit dug by hand (m).
    pub hand_dig_max_depth_m: f64,
    /// Width a digging machine needs to get through (m).
    pub machine_width_m: f64,
    /// Pits deeper than this are supported (m).
    pub support_from_depth_m: f64,
    /// Least plan distance from a building (m).
    pub building_setback_m: f64,
    /// Spread of a foundation's load, from the horizontal (degrees).
    pub building_spread_deg: f64,
    /// Load of a truck (m3), if stated.
    pub truck_m3: Option<f64>,
    /// Area of the power pack beside a launch pit (m2).
    pub power_pack_m2: f64,
    /// Height of the heap of spoil beside it (m).
    pub heap_m: f64,
}

/// The grid that is searched.
#[derive(Debug, Clone, PartialEq)]
pub struct Search {
    /// Distance of stations (m).
    pub station_step_m: f64,
    /// Distance of levels (m).
    pub level_step_m: f64,
    /// How far a manhole may stand beside the route (m).
    pub corridor_m: f64,
    /// Distance of sideways positions (m).
    pub corridor_step_m: f64,
    /// How near is "at" (m).
    pub snap_m: f64,
}

/// Prices, in `currency`.
#[derive(Debug, Clone, PartialEq)]
pub struct Costs {
    /// Name of the currency.
    pub currency: String,
    /// A pit.
    pub pit_base: f64,
    /// m3 of pit, dug by machine.
    pub pit_per_m3: f64,
    /// m3 of pit, dug by hand.
    pub pit_hand_per_m3: f64,
    /// m2 of supported pit wall.
    pub pit_support_per_m2: f64,
    /// A new manhole.
    pub manhole_base: f64,
    /// m of new manhole, ground to invert.
    pub manhole_per_m: f64,
    /// Setting up a bore.
    pub bore_setup: f64,
    /// m of bore.
    pub bore_per_m: f64,
    /// Day of the crew.
    pub crew_day: f64,
    /// Test hole.
    pub test_hole: f64,
    /// m3 of trench.
    pub trench_per_m3: f64,
    /// m2 of supported trench wall.
    pub trench_support_per_m2: f64,
    /// Metres of trench opened, laid and filled in a crew day.
    pub trench_metres_per_day: f64,
    /// m2 put back; every surface is there.
    pub reinstate: BTreeMap<Surface, f64>,
    /// A fence crossed by a trench, by material; `other` is what an unlisted one takes.
    pub fence: BTreeMap<String, f64>,
    /// Hitting a service; every kind is there.
    pub strike: BTreeMap<Kind, f64>,
}

/// Which rule the design flow is by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum FlowRule {
    /// The greatest of those that hold.
    Greatest,
    /// Peak flow of each dwelling.
    Dwellings,
    /// The table of drains of few dwellings.
    Drains,
}

/// What flows to a pipe from the lots it serves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Flow {
    /// Which rule it is by.
    pub rule: FlowRule,
    /// A lot drains to the nearest route no farther than this (m).
    pub lot_within_m: f64,
    /// Dwellings on a lot.
    pub dwellings_per_lot: f64,
    /// Peak flow of a dwelling (litres a day).
    pub dwelling_l_day: f64,
}

/// How long the work takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Programme {
    /// m3 of pit that a crew digs in a day by machine.
    pub pit_m3_per_day: f64,
    /// The same by hand.
    pub hand_m3_per_day: f64,
    /// Days for a new manhole.
    pub manhole_days: f64,
    /// Days to fill a pit and put its surface back.
    pub close_pit_days: f64,
    /// Days to move the rig to another launch pit.
    pub move_days: f64,
    /// Days of work in one yard, bored or dug.
    pub yard_days: f64,
    /// Days to put back one yard that was dug.
    pub restoring_days: f64,
}

/// Traffic on the street that is worked in.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Traffic {
    /// Vehicles a day.
    pub vehicles_per_day: f64,
    /// Delay of each (h).
    pub delay_h: f64,
    /// Cost of an hour of one.
    pub cost_per_hour: f64,
}

/// Fuel of the work.
#[derive(Debug, Clone, PartialEq)]
pub struct Carbon {
    /// Name of the fuel: `diesel`, `mineral`, `gas-oil`.
    pub fuel: String,
    /// Litres in a crew day of boring.
    pub bore_l_per_day: f64,
    /// Litres in a crew day of trench.
    pub trench_l_per_day: f64,
    /// Litres of a truck for one load.
    pub truck_l_per_load: f64,
}

impl Job {
    /// Bored diameter for a pipe (mm): the rig's, else outside diameter + overcut.
    pub fn bore_mm(&self, size: PipeSize) -> f64 {
        self.rig.bore_mm.unwrap_or(size.od_mm + self.rig.overcut_mm)
    }
}

impl Default for Job {
    /// The job that an empty job file makes.
    fn default() -> Job {
        super::JobFile::default().job
    }
}

impl Rules {
    /// Flattest grade allowed for a nominal diameter.
    pub fn min_grade(&self, dn_mm: u32) -> f64 {
        let at_or_below = self.min_grade.range(..=dn_mm).next_back();
        at_or_below
            .or_else(|| self.min_grade.iter().next())
            .map_or(0.0, |(_, g)| *g)
    }
}
