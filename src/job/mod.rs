//! A job: every setting and rule that a plan depends on, with all defaults filled in.

mod layers;
mod settings;

pub use layers::*;
pub use settings::*;
