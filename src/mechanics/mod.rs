//! One file a phenomenon.

mod thrust;

pub use thrust::{Pushed, thrust_kn, thrust_reach_m};
