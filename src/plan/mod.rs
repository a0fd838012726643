//! The plan: pits, drives and levels of least cost among the lawful ones.

pub mod context;
mod no_plan;
mod propose;
mod result;
mod rows;
pub mod search;
mod settle;
pub mod system;

pub use propose::{Progress, Quiet, plan};
pub use result::*;
