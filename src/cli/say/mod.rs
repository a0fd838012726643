//! All words to people. One file a command.

mod init;
mod inspect;
mod out;
mod rules;

pub use init::init;
pub use inspect::inspection;
pub use out::{document, failure, text, usage};
pub use rules::rules;
