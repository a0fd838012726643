//! All words to people. One file a command.

mod alternatives;
mod check;
mod explain;
mod export;
mod init;
mod inspect;
mod no_plan;
mod out;
mod plan;
mod register;
mod report;
mod rules;
mod view;
mod what_if;

pub use check::{check, unknown};
pub use explain::explanation;
pub use export::export;
pub use init::init;
pub use inspect::inspection;
pub use out::{document, failure, text, usage};
pub use plan::{CAUTIONS, plan};
use register::register;
pub use report::report;
pub use rules::rules;
pub use view::view;
pub use what_if::what_if;
