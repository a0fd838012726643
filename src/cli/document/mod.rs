//! The JSON documents that commands print and keep. One file a command.

mod check;
mod explain;
mod export;
mod failure;
mod init;
mod inspect;
mod plan;
mod register;
mod report;
mod rules;
mod run;
mod stages;
mod view;
mod what_if;

pub use check::{CheckDocument, Told, check_summary};
pub use explain::explanation;
pub use export::export;
pub use failure::failure;
pub use init::init;
pub use inspect::{inspection, part, severity};
pub use plan::{PlanDocument, count, plan_summary};
pub use report::report;
pub use rules::rules;
pub use run::{inputs, job};
pub use stages::stages;
pub use view::view;
pub use what_if::what_if;

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
