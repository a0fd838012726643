//! Trees: where their roots are, by several methods, and how much of that a dig takes.
//!
//! Pits, laydown and access harm trees; a bore deep enough below the roots does not.

mod depth;
mod encroachment;
mod zones;

pub use depth::{ROOTS_WITHIN_M, UnderTree, cover_under_trees, under_tree};
pub use encroachment::{MINOR, encroachment, straight_edge};
pub use zones::{
    FEET_BY_INCH, NJUG_PROHIBITED_M, PERMIT_RADIUS_FT, RPA_CAP_M2, fence_radius,
    precautionary_zone, protection_zone, root_protection_radius, structural_zone,
};
