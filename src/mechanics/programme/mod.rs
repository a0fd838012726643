//! Bore beside trench: length at which they break even, days, traffic, carbon. Every price and rate is the user's.

mod break_even;
mod carbon;
mod days;
mod materials;
mod traffic;

pub use break_even::{Against, break_even};
pub use carbon::{DIESEL, Fuel, diesel_carbon, fuel};
pub use days::{
    CrewRates, RESTORING_DAYS, YARD_DAYS, crew_days, drive_days, restart_free_length, yard_days,
};
pub use materials::pieces;
pub use traffic::{Vehicles, traffic_delay};
