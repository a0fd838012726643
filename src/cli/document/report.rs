//! The document of `report`.

use super::VERSION;
use crate::cli::report::Written;
use serde_json::{Value as Json, json};

/// What was written.
pub fn report(written: &Written) -> Json {
    let drawings = written.drawings.as_ref();
    let pdf = written.pdf.as_ref();
    let mut document = json!({
        "command": "report",
        "version": VERSION,
        "file": written.place.as_ref().map(|p| p.display().to_string()),
        "pages": written.pages,
        "bytes": written.bytes,
        "drawings": drawings.map(|(folder, n)| json!({"folder": folder.display().to_string(), "files": n})),
        "pdf": pdf.map(|(file, n)| json!({"file": file.display().to_string(), "sheets": n})),
        "warnings": written.warnings,
    });
    for (what, n) in &written.counts {
        document[format!("{}s", what.replace(' ', "_"))] = json!(n);
    }
    document
}
