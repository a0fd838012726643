//! What stands beside the plan: the engineering numbers of one bore or pit, worked out of its row and the job alone.
//!
//! Nothing here decides what is planned. The result layers take their figures from it, and `explain` prints it.

mod bore;
mod bore_sheet;
mod comparison;
mod conflict;
#[cfg(test)]
mod example;
mod figures;
mod flow_sheet;
mod pit;
mod pit_figures;
mod reason;
mod served_flow;
mod strings;

pub use bore::{
    Above, BoreFacts, Bored, RootsPassed, flow, grade_left, heave, heave_there, predicted,
    settlement, settlement_there, thrust, under_roots,
};
pub use bore_sheet::bore_checks;
pub use comparison::{CompareFigures, Compared, Way, compare_checks, compare_figures};
pub use conflict::{ConflictFacts, conflict_checks, over_findings};
pub use figures::{BoreFigures, figures};
pub use pit::{Launched, PitFacts, TreeTaken, pit_checks};
pub use pit_figures::{PitFigures, pit_figures};
pub use reason::{Check, NotWorked};
pub use served_flow::{at_design_flow, design_flow, flows};
pub use strings::{Strings, capacity, strings};

pub(super) use figures::{Shown, findings, ids};
pub(super) use pit_figures::pit_findings;
