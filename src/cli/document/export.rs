//! The document of `export`.

use super::VERSION;
use crate::cli::{
    export::{Exported, Written},
    say,
};
use serde_json::{Map, Value as Json, json};

/// Which files were written, and what is in each.
pub fn export(done: &Exported) -> Json {
    json!({
        "command": "export",
        "version": VERSION,
        "file": done.site.display().to_string(),
        "crs": done.crs,
        "files": done.files.iter().map(file).collect::<Vec<_>>(),
        "cautions": say::CAUTIONS,
    })
}

fn file(written: &Written) -> Json {
    let layers = written.layers.iter();
    let layers: Map<_, _> = layers.map(|(l, n)| (l.clone(), json!(n))).collect();
    json!({"file": written.file.display().to_string(), "layers": layers})
}
