//! Bores that somebody else designed against everything that is recorded in the ground; no planning.
//!
//! The second user's command: bores from many designers, the services of a whole city. What a row says is worked out by
//! the same functions as for a plan (`clearance`); this room only finds what is near, in flat arrays and in parallel.
//!
//! # Readings, where the planning model leaves something open
//!
//! - Every segment of a bore is a drive of its own with encounters of its own. Chainage, and the distance by which the rig's
//!   error grows, run along all segments from the launch pit. Areas, trees and ground have one row a bore, the nearest.
//! - Parts that join end to start are one bore; parts that do not are bored each for itself, from its own launch end.
//! - Levels are those of Z, else they run straight along the line from `us_invert_m` to `ds_invert_m`, else there are none.
//! - Beside a bore without level only distances in plan count, and every service that earns a row is `prove`; a building
//!   nearer in plan than its rule asks is `watch`, its depth not known.
//! - No rule sets a distance between a bore and a tree: the root zone that it passes through or beside earns `watch`.
//! - Nothing is exempt: the sewer that a bore is to connect to has its row like any other.

mod areas;
mod beside;
mod bores;
mod cells;
mod changes;
mod drives;
mod found;
mod inspection;
mod line;
mod located;
mod nearby;
mod order;
mod piece;
mod report;
mod rows;
mod run;
mod stretch;
mod unknown;

pub use bores::{BoreFault, Bores, CheckedBore, Drive};
pub use changes::{CHANGED_FROM_M, Change, ChangeKind, Changes, Earlier, Outcome, changes};
pub use found::{Found, FoundRows, Hole, Reason};
pub use inspection::Inspection;
pub use report::Report;
pub use run::{Checked, check};
pub use unknown::Unknown;
