//! What a bore does to the ground above: the trough it leaves, the heave of a pilot, and what things bear.
//!
//! All of it was fitted to tunnels of a metre and more. For bores of 0.1 to 0.3 m it is extrapolation: it compares drives,
//! and says where to look.

mod heave;
mod limits;
mod loss;
mod trough;

pub use heave::{least_cover, pilot_heave};
pub use limits::{Damage, RANKIN, RANKIN_CITED, damage};
pub use loss::{grout_volume, overcut_loss, share_loss};
pub use trough::{
    Ground, LinearFit, TROUGH_K, Trough, greatest_settlement, linear_width, settlement_at,
    slope_from, steepest_slope,
};
