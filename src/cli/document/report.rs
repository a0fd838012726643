//! The document of `report`.

use super::VERSION;
use crate::cli::report::Written;
use serde_json::{Value as Json, json};

/// What was written.
pub fn report(written: &Written) -> Json {
    let drawings = written.drawings.as_ref();
    json!({
        "command": "report",
        "version": VERSION,
        "file": written.page.display().to_string(),
        "bytes": written.bytes,
        "routes": written.routes,
        "bores": written.bores,
        "drawings": drawings.map(|(folder, n)| json!({"folder": folder.display().to_string(), "files": n})),
        "warnings": written.warnings,
    })
}
