//! What was read: the things on and under the ground that a plan must respect.
//!
//! Everything here is in metres: X and Y are the job CRS's coordinates times its unit factor,
//! levels are metres above the job's height datum.

mod crs;
mod kinds;
mod things;

pub use crs::CrsInfo;
pub use kinds::{Kind, Quality, Surface, UnknownWord};
pub use things::*;
