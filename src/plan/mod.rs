//! The plan: pits, drives and levels of least cost among the lawful ones.

mod result;

pub use result::*;
