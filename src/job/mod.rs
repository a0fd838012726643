//! A job: every setting and rule that a plan depends on, with all defaults filled in.
//!
//! A rule set is data (`rules/`); a job file overlays it; `JobFile` is what comes out, with where each value is from.

mod asked;
mod builtin;
mod consistency;
mod document;
mod error;
mod given;
mod halves;
mod inforce;
mod init;
mod jobfile;
mod keys;
mod layers;
mod layers_table;
mod limits;
mod listing;
mod nearest;
mod resolve;
mod ruleset;
mod setcheck;
mod settings;
mod text;
mod value;
mod varied;

pub use crate::bibliography::Tag;
pub use error::{JobError, JobFault};
pub use inforce::{InForce, Setting};
pub use init::{Guess, init_text};
pub use jobfile::JobFile;
pub use layers::*;
pub use listing::RuleRow;
pub use ruleset::{Entry, Material, Provenance, RuleSet, SoilClass};
pub use settings::*;
pub use value::{KeyPath, Value};
pub use varied::Varied;
