//! What `report` says.

use super::out::{several, warnings};
use super::plan::CAUTIONS;
use crate::cli::report::Written;

/// What was written where.
pub fn report(written: &Written) -> String {
    let mut out = String::new();
    if let Some(place) = &written.place {
        let counts = written.counts.iter().map(|(what, n)| several(*n, what));
        out.push_str(&format!(
            "report written to {}: {}, {}\n",
            place.display(),
            several(written.pages, "page"),
            counts.collect::<Vec<_>>().join(", "),
        ));
    }
    if let Some((file, n)) = &written.pdf {
        let sheets = several(*n, "sheet");
        out.push_str(&format!("{sheets} written to {}\n", file.display()));
    }
    if let Some((folder, n)) = &written.drawings {
        let drawings = several(*n, "drawing");
        out.push_str(&format!("{drawings} written to {}\n", folder.display()));
    }
    out.push_str(&warnings(&written.warnings));
    out.push('\n');
    out.extend(CAUTIONS.iter().map(|c| format!("{c}\n")));
    out
}
