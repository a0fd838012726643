//! Plans small guided bores for gravity sewers and service pipes in built-up streets.
#![warn(missing_docs)]
// Allowed in one place, `cli::memory`.
#![deny(unsafe_code)]

pub mod alignment;
pub mod bibliography;
pub mod check;
pub mod clearance;
#[cfg(feature = "cli")]
pub mod cli;
pub mod cost;
#[cfg(test)]
mod dice;
pub mod export;
pub mod ground;
pub mod job;
pub mod mechanics;
pub mod pits;
pub mod plan;
#[cfg(feature = "gdal")]
pub mod read;
pub mod register;
pub mod report;
mod single;
pub mod site;
pub mod view;
#[cfg(feature = "gdal")]
pub mod write;
