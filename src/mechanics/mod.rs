//! One file a phenomenon. Every formula hands out a [`Working`], refuses what its source does not hold for, and says
//! low, expected and high where no more is known.

#[cfg(test)]
mod calculator;
mod range;
mod thrust;
mod working;

pub use range::{Asked, OutOfRange, Range, asked, figure};
pub use thrust::{Pushed, thrust_kn, thrust_reach_m};
pub use working::{Step, Term, Working};
