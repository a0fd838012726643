//! Pits: how large, where one may stand, who gets there, what it stands on.

mod access;
mod cover;
mod footprint;
mod siting;

pub use access::Access;
pub use cover::{SHARED_AREA_M2, ground_cover, largest_overlap};
pub use footprint::{Footprint, IN_LINE_DEG, Meets, bearing_deg, footprint, in_line};
pub use siting::{Dig, Siting, Standing, box_of};
