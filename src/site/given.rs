//! Bores that somebody else designed.

use super::{FeatureRef, Polyline};

/// A designed bore as its layer gives it. What is missing the checker fills in from the job.
#[derive(Debug, Clone, PartialEq)]
pub struct GivenBore {
    /// Where it came from.
    pub at: FeatureRef,
    /// `bore_id`, where it has one.
    pub bore_id: Option<String>,
    /// Nominal diameter (mm).
    pub dn_mm: Option<u32>,
    /// Outside diameter of the pipe (mm).
    pub od_mm: Option<f64>,
    /// Inside diameter of the pipe (mm).
    pub id_mm: Option<f64>,
    /// Bored diameter (mm).
    pub bore_mm: Option<f64>,
    /// Invert at the first vertex (m).
    pub us_invert_m: Option<f64>,
    /// Invert at the last vertex (m).
    pub ds_invert_m: Option<f64>,
    /// Launched from the first vertex: `launch`, else whether `launch_pit` is `us_pit`, else yes.
    pub launched_upstream: bool,
    /// Parts; levels are inverts.
    pub parts: Vec<Polyline>,
}
