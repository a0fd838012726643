//! Why a command could not be done.

use super::VERSION;
use crate::cli::exit::Failure;
use serde_json::{Value as Json, json};

/// Why a command could not be done.
pub fn failure(command: Option<&str>, failure: &Failure) -> Json {
    json!({
        "command": command,
        "version": VERSION,
        "error": {
            "code": failure.exit as u8,
            "message": failure.message,
            "file": failure.file.as_ref().map(|f| f.display().to_string()),
            "layer": failure.layer,
            "fid": failure.fid,
            "column": failure.column,
        },
    })
}
