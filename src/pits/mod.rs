//! Pits: how large, where one may stand, what it stands on.

mod cover;
mod footprint;
mod siting;

pub use cover::{SHARED_AREA_M2, ground_cover, largest_overlap};
pub use footprint::{Footprint, Meets, bearing_deg, footprint, in_line};
pub use siting::{Dig, Siting, Standing, box_of};
