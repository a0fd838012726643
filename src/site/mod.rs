//! What was read: the things on and under the ground that a plan must respect.
//!
//! Everything here is in metres: X and Y are the job CRS's coordinates times its unit factor,
//! levels are metres above the job's height datum.

mod crs;
mod given;
mod kinds;
mod records;
mod things;

pub use crs::CrsInfo;
pub use given::GivenBore;
pub use kinds::{Kind, Quality, Surface, UnknownWord};
pub use records::{Record, RecordLayer, RecordPart, Records};
pub use things::*;
