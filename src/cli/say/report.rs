//! What `report` says.

use super::out::{several, warnings};
use super::plan::CAUTIONS;
use crate::cli::report::Written;

/// What was written where.
pub fn report(written: &Written) -> String {
    let mut out = format!(
        "report written to {}: {}, {}\n",
        written.page.display(),
        several(written.routes, "route"),
        several(written.bores, "bore")
    );
    if let Some((folder, n)) = &written.drawings {
        let drawings = several(*n, "drawing");
        out.push_str(&format!("{drawings} written to {}\n", folder.display()));
    }
    out.push_str(&warnings(&written.warnings));
    out.push('\n');
    out.extend(CAUTIONS.iter().map(|c| format!("{c}\n")));
    out
}
