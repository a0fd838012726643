//! The things a site is made of.

use super::{Kind, Quality, Surface};
use crate::ground::Ground;
use geo::{Coord, Polygon};
use std::{fmt, sync::Arc};

/// Where a thing came from: the layer and the feature id, so that a person can find it.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct FeatureRef {
    /// Layer (table) name.
    pub layer: Arc<str>,
    /// Feature id.
    pub fid: i64,
}

impl fmt::Display for FeatureRef {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{} fid {}", self.layer, self.fid)
    }
}

/// One line part: plan points, and levels where the record has them.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Polyline {
    /// Plan points, as digitised.
    pub points: Vec<Coord<f64>>,
    /// One level a point, or none where the record has no usable Z (absent, all 0, or a NaN among them).
    pub levels: Option<Vec<f64>>,
}

/// A line that a new pipe should follow, digitised downstream.
#[derive(Debug, Clone)]
pub struct Route {
    /// Where it came from.
    pub at: FeatureRef,
    /// `route_id`, or `R` + fid.
    pub route_id: String,
    /// The line; its levels, where there are any, are ground levels.
    pub line: Polyline,
    /// Nominal diameter (mm), where it differs from the job's.
    pub dn_mm: Option<u32>,
    /// Invert of the pipe at the downstream end, if fixed.
    pub outfall_invert_m: Option<f64>,
    /// Highest invert allowed at the upstream end.
    pub head_invert_max_m: Option<f64>,
    /// The route this one flows into.
    pub joins: Option<String>,
    /// The old pipe that the pilot follows.
    pub follows: Option<FeatureRef>,
    /// Ids of the lots that drain to it, where the layer lists them.
    pub serves: Vec<String>,
}

/// A street centre line.
#[derive(Debug, Clone)]
pub struct Street {
    /// Where it came from.
    pub at: FeatureRef,
    /// Street name.
    pub name: Option<String>,
    /// Parts.
    pub parts: Vec<Polyline>,
}

/// A lot (plot, parcel).
#[derive(Debug, Clone)]
pub struct Lot {
    /// Where it came from.
    pub at: FeatureRef,
    /// `lot_id`, or `L` + fid.
    pub lot_id: String,
    /// To be served.
    pub serve: bool,
    /// A pit may be dug here (`entry` = yes).
    pub entry: bool,
    /// Level of the lowest fixture or ground to be drained.
    pub low_level_m: Option<f64>,
    /// Parts.
    pub parts: Vec<Polygon<f64>>,
}

/// A building.
#[derive(Debug, Clone)]
pub struct Building {
    /// Where it came from.
    pub at: FeatureRef,
    /// Level of the lowest floor.
    pub floor_m: Option<f64>,
    /// Depth of the foundation below the lower of floor and ground, where it differs from the job's.
    pub foundation_depth_m: Option<f64>,
    /// Parts, each an obstacle of its own.
    pub parts: Vec<Polygon<f64>>,
}

/// A mapped piece of ground cover.
#[derive(Debug, Clone)]
pub struct SurfaceArea {
    /// Where it came from.
    pub at: FeatureRef,
    /// What it is.
    pub surface: Surface,
    /// Parts.
    pub parts: Vec<Polygon<f64>>,
}

/// A fence.
#[derive(Debug, Clone)]
pub struct Fence {
    /// Where it came from.
    pub at: FeatureRef,
    /// Material, lower case; empty where not stated.
    pub material: String,
    /// Parts.
    pub parts: Vec<Polyline>,
}

/// A tree.
#[derive(Debug, Clone)]
pub struct Tree {
    /// Where it came from.
    pub at: FeatureRef,
    /// Trunk diameter (m).
    pub trunk_diameter_m: f64,
    /// It stays, so no pit in its structural roots.
    pub retain: bool,
    /// Trunks (a multi-point is several).
    pub points: Vec<Coord<f64>>,
}

/// A buried service. `status = removed` never becomes one.
#[derive(Debug, Clone)]
pub struct Service {
    /// Where it came from.
    pub at: FeatureRef,
    /// What it carries.
    pub kind: Kind,
    /// Outside diameter (mm), where recorded.
    pub diameter_mm: Option<f64>,
    /// Ground to top (m), where recorded.
    pub cover_m: Option<f64>,
    /// Location quality level.
    pub quality: Quality,
    /// Owner.
    pub owner: Option<String>,
    /// Material.
    pub material: Option<String>,
    /// Abandoned pipes count like any other.
    pub abandoned: bool,
    /// What a level of `parts` is.
    pub z_means: ZMeans,
    /// Parts, each an obstacle of its own.
    pub parts: Vec<Polyline>,
}

/// What the Z of a service line is the level of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum ZMeans {
    /// Outside top: centre = Z - d/2.
    #[default]
    Top,
    /// Centre line.
    Centre,
    /// Invert: centre = Z + d/2.
    Invert,
}

/// An existing manhole.
#[derive(Debug, Clone)]
pub struct Manhole {
    /// Where it came from.
    pub at: FeatureRef,
    /// `manhole_id`.
    pub manhole_id: Option<String>,
    /// Level of the cover.
    pub cover_level_m: Option<f64>,
    /// Invert.
    pub invert_m: Option<f64>,
    /// Where it is.
    pub point: Coord<f64>,
}

/// An area that neither pit nor bore may touch.
#[derive(Debug, Clone)]
pub struct Keepout {
    /// Where it came from.
    pub at: FeatureRef,
    /// Why.
    pub reason: Option<String>,
    /// Parts.
    pub parts: Vec<Polygon<f64>>,
}

/// All that was read of a site, ready to plan on. Features of a role are in the order of their layers, then fid.
#[derive(Debug, Default)]
pub struct Site {
    /// The lines to plan along, in input order.
    pub routes: Vec<Route>,
    /// Street centre lines, all of them; with none a machine gets everywhere.
    pub streets: Vec<Street>,
    /// Lots.
    pub lots: Vec<Lot>,
    /// Buildings.
    pub buildings: Vec<Building>,
    /// Ground cover.
    pub surfaces: Vec<SurfaceArea>,
    /// Fences.
    pub fences: Vec<Fence>,
    /// Trees.
    pub trees: Vec<Tree>,
    /// Buried services.
    pub services: Vec<Service>,
    /// Existing manholes.
    pub manholes: Vec<Manhole>,
    /// Keepouts.
    pub keepouts: Vec<Keepout>,
    /// Level of the ground.
    pub ground: Ground,
    /// Bounding box of all vector layers that fill a role, whole, though only part was read: min, max.
    pub extent: Option<(Coord<f64>, Coord<f64>)>,
    /// Box outside which buildings, keepouts or trees were passed over: min, max. None where all were read.
    pub obstacles_within: Option<(Coord<f64>, Coord<f64>)>,
}
