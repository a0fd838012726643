//! The result layers, one declaration each, columns in the order of the interface.

mod alternatives;
mod blockers;
mod bores;
mod changes;
mod comparison;
mod conflicts;
mod inspections;
mod lots;
mod pits;
mod runs;
mod sections;
mod sets;

pub use alternatives::{ALTERNATIVE_BORES, ALTERNATIVE_PITS, ALTERNATIVES};
pub use blockers::ROUTE_BLOCKERS;
pub use bores::PROPOSED_BORES;
pub use changes::CONFLICT_CHANGES;
pub use comparison::{BORE_OR_TRENCH, BORE_PROGRAMME};
pub use conflicts::{BORE_CONFLICTS, TEST_HOLES};
pub use inspections::BORE_INSPECTIONS;
pub use lots::{AFFECTED_LOTS, COST_ITEMS};
pub use pits::PROPOSED_PITS;
pub use runs::{NumberedRun, RUNS};
pub use sections::LONG_SECTIONS;
pub use sets::{check_tables, plan_tables};
