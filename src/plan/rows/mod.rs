//! The rows of the result layers, from a solved route.

mod alternatives;
mod bores;
mod comparison;
mod conflicts;
mod costs;
mod drawn;
mod lots;
mod pits;
mod sections;
mod taken;
mod trench;

pub(super) use alternatives::{Whole, alternative};
pub(super) use bores::{bores, bores_near_each_other, route_result};
pub(super) use comparison::comparisons;
pub(super) use conflicts::{conflicts, order_test_holes};
pub(super) use costs::costs;
pub(super) use drawn::Drawn;
pub(super) use lots::affected_lots;
pub(super) use pits::{fill_pits, pits};
pub(super) use sections::sections;
pub(super) use taken::{Taken, taken};
