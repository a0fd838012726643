//! Cost of a bore without what it passes.

use crate::job::{Job, Rig};

/// Crew days of a bore: setting up, and its length at the daily rate.
pub fn bore_days(rig: &Rig, length_m: f64) -> f64 {
    rig.setup_days + length_m / rig.metres_per_day
}

/// Setting up, metres and crew days of a bore.
pub fn bore_cost(job: &Job, length_m: f64) -> f64 {
    let costs = &job.costs;
    costs.bore_setup + costs.bore_per_m * length_m + costs.crew_day * bore_days(&job.rig, length_m)
}
