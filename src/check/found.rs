//! What was found, in as little memory as it needs: a city makes a million rows. Words come when they are written.

use crate::{
    clearance::{Clause, Encounter, Verdict},
    plan::Obstacle,
};
use std::ops::Index;

/// One row of `bore_conflicts`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Found {
    /// Index into [`super::Bores::all`].
    pub bore: u32,
    /// Index of the record, building, tree or keepout; of no account for the ground.
    pub thing: u32,
    /// What it is.
    pub obstacle: Obstacle,
    /// How the bore meets a service.
    pub encounter: Option<Encounter>,
    /// The rule that leaves a service the least margin; of no account for what is no service.
    pub clause: Clause,
    /// What it comes to.
    pub verdict: Verdict,
    /// Its depth, and that of the bore, are known.
    pub depth_known: bool,
    /// A service whose own depth is recorded nowhere.
    pub depth_missing: bool,
    /// A service of unknown depth beyond the ground model, so that it has no band either.
    pub no_ground: bool,
    /// Along the bore from its launch pit.
    pub chainage_m: f64,
    /// In plan, 0 parallel to 90 square; 0 for what is no service.
    pub angle_deg: f64,
    /// Surface to surface.
    pub clearance_m: f64,
    /// What the rule asks.
    pub required_m: f64,
    /// For location and boring error.
    pub allowance_m: f64,
    /// Clearance - allowance - required.
    pub margin_m: f64,
    /// Probability of contact; of no account for what is no service.
    pub p_contact: f64,
    /// On the bore's centre line.
    pub point: [f64; 3],
}

/// Why a test hole is dug.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Reason {
    /// The service's depth is not recorded.
    DepthNotRecorded,
    /// Nor is there ground to measure a band from.
    NoGround,
    /// The bore has no level.
    BoreWithoutLevel,
}

/// One row of `test_holes`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Hole {
    /// Its row among [`Found`].
    pub found: u32,
    /// Why.
    pub reason: Reason,
    /// Middle of the depth band.
    pub expected_depth_m: Option<f64>,
    /// How deep to dig.
    pub dig_to_m: Option<f64>,
    /// On the service; level of the ground.
    pub point: [f64; 3],
}

/// The rows of a check in their order, where they were found: bores are worked on in an order of their own, and a city's rows are
/// too many to be moved about.
#[derive(Debug, Clone, Default)]
pub struct FoundRows {
    parts: Vec<Vec<Found>>,
    /// Of each row, its part and its place there.
    places: Vec<(u32, u32)>,
}

impl FoundRows {
    pub(super) fn new(parts: Vec<Vec<Found>>, places: Vec<(u32, u32)>) -> FoundRows {
        FoundRows { parts, places }
    }

    /// How many.
    pub fn len(&self) -> usize {
        self.places.len()
    }

    /// None.
    pub fn is_empty(&self) -> bool {
        self.places.is_empty()
    }

    /// One after the other.
    pub fn iter(&self) -> impl Iterator<Item = &Found> {
        (0..self.len()).map(|i| &self[i])
    }
}

impl Index<usize> for FoundRows {
    type Output = Found;

    fn index(&self, i: usize) -> &Found {
        let (part, place) = self.places[i];
        &self.parts[part as usize][place as usize]
    }
}

impl PartialEq for FoundRows {
    fn eq(&self, other: &FoundRows) -> bool {
        self.len() == other.len() && self.iter().eq(other.iter())
    }
}
