//! What stands beside the plan: the engineering numbers of one bore or pit, worked out of its row and the job alone.
//!
//! Nothing here decides what is planned. The result layers take their figures from it, and `explain` prints it.

mod bore;
mod bore_sheet;
mod conflict;
#[cfg(test)]
mod example;
mod figures;
mod pit;
mod pit_figures;
mod reason;

pub use bore::{
    Above, BoreFacts, Bored, flow, grade_left, heave, predicted, settlement, settlement_there,
    thrust,
};
pub use bore_sheet::bore_checks;
pub use conflict::{ConflictFacts, conflict_checks};
pub use figures::{BoreFigures, figures};
pub use pit::{PitFacts, pit_checks};
pub use pit_figures::{PitFigures, pit_figures};
pub use reason::{Check, NotWorked};

pub(super) use figures::{Shown, findings};
pub(super) use pit_figures::pit_findings;
