//! Cells of a table and numbers as people read them: as the conflict register has them.

pub(super) use crate::register::{number, words};
