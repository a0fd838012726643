//! The engineering numbers: one room a subject, one file a phenomenon.
//!
//! Every formula hands out a [`Working`] (what is given, the lines with numbers put in, the source), refuses what its source
//! does not hold for with [`OutOfRange`], and says low, expected and high ([`Range`]) where no more is known. Only
//! [`thrust_kn`] and [`thrust_reach_m`] bound what is planned; all else stands beside the plan.

#[cfg(test)]
pub(crate) mod calculator;
pub mod earthworks;
pub mod hydraulics;
pub mod jacking;
pub mod programme;
mod range;
pub mod setting_out;
pub mod settlement;
mod thrust;
pub mod trees;
mod working;

pub use range::{Asked, OutOfRange, Range, asked, figure};
pub use thrust::{Pushed, thrust_kn, thrust_reach_m};
pub use working::{Step, Term, Working};
