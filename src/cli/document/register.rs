//! The part of a document that tells of the register and the letters.

use crate::cli::register::Written;
use serde_json::{Value as Json, json};
use std::path::Path;

/// The register and the letters; null where none is asked for.
pub(super) fn register(written: &Written) -> Json {
    let file = |path: &Path, rows: usize, count: &str| json!({"file": path.display().to_string(), count: rows});
    let table = written.register.as_ref();
    let letters = written.letters.as_ref();
    json!({
        "table": table.map(|(path, n)| file(path, *n, "rows")),
        "letters": letters.map(|(path, n)| file(path, *n, "count")),
    })
}
