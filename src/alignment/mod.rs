//! The line of a sewer in plan, and the level of the pipe along it.

mod line;
mod profile;

pub use line::{Alignment, Station};
pub use profile::{Profile, samples};
