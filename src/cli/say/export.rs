//! What `export` says.

use super::{CAUTIONS, out::several};
use crate::cli::export::Exported;

/// Which files were written.
pub fn export(done: &Exported) -> String {
    let mut out = String::new();
    for written in &done.files {
        let rows: usize = written.layers.iter().map(|l| l.1).sum();
        let rows = several(rows, "feature");
        out.push_str(&format!("written: {} ({rows})\n", written.file.display()));
    }
    out.push_str(&format!("coordinates: {}\n", done.crs));
    out.push_str(&format!("{}\n{}\n", CAUTIONS[0], CAUTIONS[1]));
    out
}
