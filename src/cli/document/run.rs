//! What `pitwright_runs` keeps of the input.

use crate::{job::JobFile, read::Input};
use serde_json::{Value as Json, json};

/// The job, every default filled in.
pub fn job(file: &JobFile) -> Json {
    serde_json::to_value(file.to_table()).expect("tables, texts and finite numbers are JSON")
}

/// What was read, as `pitwright_runs` keeps it.
pub fn inputs(inputs: &[Input]) -> Json {
    let input = |i: &Input| {
        json!({
            "layer": i.layer,
            "file": i.file.display().to_string(),
            "role": i.role.name(),
            "features": i.features,
            "sha256": i.sha256,
        })
    };
    inputs.iter().map(input).collect()
}
