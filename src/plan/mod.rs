//! The plan: pits, drives and levels of least cost among the lawful ones.

pub mod context;
mod propose;
mod result;
mod rows;
pub mod search;
pub mod system;

pub use propose::{Progress, Quiet, plan};
pub use result::*;
