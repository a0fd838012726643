//! The JSON documents that commands print and keep. One file a command.

mod failure;
mod init;
mod inspect;
mod rules;

pub use failure::failure;
pub use init::init;
pub use inspect::{inspection, part, severity};
pub use rules::rules;

/// Version of the program.
pub const VERSION: &str = env!("CARGO_PKG_VERSION");
