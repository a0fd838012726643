//! The document of `init`.

use super::VERSION;
use serde_json::{Value as Json, json};
use std::path::Path;

/// The job file that was written, or its text where none was.
pub fn init(file: Option<&Path>, text: &str) -> Json {
    json!({
        "command": "init",
        "version": VERSION,
        "file": file.map(|f| f.display().to_string()),
        "text": text,
    })
}
