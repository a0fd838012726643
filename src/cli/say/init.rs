//! What `init` says.

use super::out::several;
use crate::read::{Inspection, Severity};
use std::path::Path;

/// That a job file was written.
pub fn init(path: &Path, seen: &Inspection) -> String {
    let stops = seen
        .faults
        .iter()
        .filter(|f| f.severity == Severity::Stop)
        .count();
    let after = match stops {
        0 => String::new(),
        n => format!(
            "{} would stop a plan: see pitwright inspect\n",
            several(n, "problem")
        ),
    };
    format!(
        "written: {}; look at roles, columns and prices before you plan\n{after}",
        path.display()
    )
}
