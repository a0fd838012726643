//! What things cost.

mod bore;
mod pit;

pub use bore::{bore_cost, bore_days};
pub use pit::{PitRates, digging, manhole_cost, pit_rates, surface_areas};
