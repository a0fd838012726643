//! The document of `view`.

use super::VERSION;
use serde_json::{Value as Json, json};

/// Where the map is.
pub fn view(address: &str, bores: usize, warnings: &[String]) -> Json {
    json!({
        "command": "view",
        "version": VERSION,
        "address": address,
        "bores": bores,
        "warnings": warnings,
    })
}
