//! The plan: pits, drives and levels of least cost among the lawful ones.

pub mod alternatives;
#[cfg(test)]
mod bare_site;
pub mod checks;
pub mod context;
pub mod forbidden;
mod kinks;
mod no_plan;
mod programme;
mod propose;
mod result;
mod rows;
pub mod search;
pub mod served;
mod settle;
pub mod system;
mod words;

pub use alternatives::MOST_ALTERNATIVES;
pub use propose::{Progress, Quiet, plan, plan_with_alternatives};
pub use result::*;
pub use words::Word;
