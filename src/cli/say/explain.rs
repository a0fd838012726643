//! What `explain` says.

use super::plan::CAUTIONS;
use crate::cli::explain::Explanation;
use std::fmt::Write;

/// What the checks are, and are not.
pub const OF_CHECKS: &str = "These are checks by published formulas on the planned values; ranges are ranges. \
     An engineer who answers for the work judges them.";

/// The checks of an item, as written on a check sheet.
pub fn explanation(e: &Explanation) -> String {
    let mut out = format!(
        "{} {} of {}, by {}\n",
        e.item.kind.word(),
        e.id,
        e.file.display(),
        e.job
    );
    let mut subject = "";
    for check in e.checks {
        if check.subject != subject {
            subject = check.subject;
            let _ = write!(out, "\n== {subject}\n");
        }
        out.push('\n');
        match &check.worked {
            Ok(working) => {
                let _ = write!(out, "{working}");
            }
            Err(why) => {
                let _ = writeln!(out, "not worked out: {why}");
            }
        }
        if let Some(verdict) = &check.verdict {
            let _ = writeln!(out, "  > {verdict}");
        }
    }
    let _ = write!(out, "\n{OF_CHECKS}\n");
    out.extend(CAUTIONS.iter().map(|c| format!("{c}\n")));
    out
}
