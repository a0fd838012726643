//! Bores that somebody else designed.

use super::features::Cells;
use crate::site::{FeatureRef, Polyline};

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

pub(super) fn bore(c: &mut Cells) -> Option<GivenBore> {
    Some(GivenBore {
        at: c.at(),
        parts: c.lines()?,
        bore_id: c.text("bore_id"),
        dn_mm: c
            .positive("dn_mm", "a diameter above 0 in millimetres")
            .map(|n| n.round() as u32),
        od_mm: c.positive("od_mm", "a diameter above 0 in millimetres"),
        id_mm: c.positive("id_mm", "a diameter above 0 in millimetres"),
        bore_mm: c.positive("bore_mm", "a diameter above 0 in millimetres"),
        us_invert_m: c.level("us_invert_m"),
        ds_invert_m: c.level("ds_invert_m"),
        launched_upstream: launched_upstream(c),
    })
}

fn launched_upstream(c: &mut Cells) -> bool {
    match c.text("launch").map(|l| l.to_lowercase()).as_deref() {
        Some("us") => return true,
        Some("ds") => return false,
        Some(other) => c.bad("launch", other.to_string(), "us or ds"),
        None => {}
    }
    match (c.text("launch_pit"), c.text("us_pit")) {
        (Some(launch), Some(us)) => launch == us,
        _ => true,
    }
}
