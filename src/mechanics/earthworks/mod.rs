//! Pits as holes in the ground: size, spoil, slopes, support, ladders, room beside them, foundations near.

mod batter;
mod bulking;
mod foundations;
mod laydown;
mod safety;
mod size;
mod trench;

pub use batter::{SLOPES, Slope, battered_volume, top_width};
pub use bulking::{SWELL, Swell, bore_spoil, loose_volume, pit_volume, truck_loads};
pub use foundations::{SPREAD_DEG, Spread, distance_from_foundation};
pub use laydown::{Laydown, laydown_area};
pub use safety::{
    DIN_BATTERED_M, DIN_STRIP_M, EGRESS_FROM_FT, LADDER_ABOVE_FT, OSHA_DESIGNED_FROM_FT,
    SHIELD_ABOVE_IN, SHIELD_BELOW_FT, SUPPORT_FROM, Support, ladders, spoil_set_back_m,
};
pub use size::{LENGTH_MORE_M, WIDTH_MORE_M, pit_length, pit_width};
pub use trench::{Sides, least_width_m, trench_width_m, working_space_m};
