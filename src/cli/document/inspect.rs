//! The document of `inspect`.

use super::VERSION;
use crate::read::{CrsInfo, Fault, Inspection, LayerSeen, Plays, Severity};
use serde_json::{Value as Json, json};
use std::path::Path;

/// What was found in a site.
pub fn inspection(site: &Path, seen: &Inspection, warnings: &[String]) -> Json {
    json!({
        "command": "inspect",
        "version": VERSION,
        "file": site.display().to_string(),
        "crs": seen.crs.as_ref().map(crs),
        "layers": seen.layers.iter().map(layer).collect::<Vec<_>>(),
        "faults": seen.faults.iter().map(fault).collect::<Vec<_>>(),
        "warnings": warnings,
    })
}

fn crs(crs: &CrsInfo) -> Json {
    json!({"name": crs.name, "code": crs.authority, "unit": crs.unit_name, "unit_m": crs.unit_m})
}

fn layer(layer: &LayerSeen) -> Json {
    let (role, because) = part(layer.plays);
    json!({
        "file": layer.file.display().to_string(),
        "layer": layer.name,
        "role": role,
        "because": because,
        "geometry": layer.geometry,
        "crs": layer.crs.as_ref().map(crs),
        "features": layer.features,
        "columns": layer.columns,
    })
}

/// The role that a layer plays, and why.
pub fn part(plays: Plays) -> (Option<&'static str>, &'static str) {
    match plays {
        Plays::Named(role) => (Some(role.name()), "named in the job"),
        Plays::ByName(role) => (Some(role.name()), "by its name"),
        Plays::Guess(role) => (
            Some(role.name()),
            "guessed: a plan uses it only when the job names it",
        ),
        Plays::Result => (None, "result of an earlier run"),
        Plays::Nothing => (None, "no role"),
    }
}

fn fault(fault: &Fault) -> Json {
    let place = &fault.place;
    json!({
        "severity": severity(fault.severity),
        "file": place.file.as_ref().map(|f| f.display().to_string()),
        "layer": place.layer,
        "fid": place.fid,
        "column": place.column,
        "message": fault.problem.to_string(),
        "remedy": fault.remedy(),
    })
}

/// How bad a fault is, in a word.
pub fn severity(severity: Severity) -> &'static str {
    match severity {
        Severity::Note => "note",
        Severity::Fault => "fault",
        Severity::Stop => "stop",
    }
}
