//! What `inspect` says.

use super::out::several;
use crate::{
    cli::document,
    read::{Fault, Inspection, LayerSeen, Severity, alike},
};
use std::fmt::Write;

/// What was found in a site.
pub fn inspection(seen: &Inspection, warnings: &[String]) -> String {
    let mut out = match &seen.crs {
        Some(crs) => format!(
            "job CRS: {} ({}), unit {}\n",
            crs.name,
            crs.authority.as_deref().unwrap_or("no code"),
            crs.unit_name
        ),
        None => "job CRS: none that a plan can use\n".to_string(),
    };
    out.extend(seen.layers.iter().map(layer));
    let count = |s| seen.faults.iter().filter(|f| f.severity == s).count();
    let (stops, faults, notes) = (
        count(Severity::Stop),
        count(Severity::Fault),
        count(Severity::Note),
    );
    let _ = writeln!(
        out,
        "problems: {stops} that stop a plan, {faults} faults, {notes} notes"
    );
    let line = |fault: &Fault| {
        let severity = document::severity(fault.severity);
        format!("{severity}: {fault}; {}", fault.remedy())
    };
    let lines: Vec<String> = seen.faults.iter().map(line).collect();
    let told = alike(&lines);
    out.extend(told.iter().map(|line| format!("  {line}\n")));
    if told.len() < lines.len() {
        out.push_str(&super::out::all_of_them(lines.len()));
    }
    out.push_str(&super::out::warnings(warnings));
    out
}

fn layer(layer: &LayerSeen) -> String {
    let (role, because) = document::part(layer.plays);
    let part = role.map_or_else(|| because.to_string(), |role| format!("{role} ({because})"));
    format!(
        "layer {}: {part}; {}, {}; columns {}\n",
        layer.name,
        layer.geometry.as_deref().unwrap_or("no geometry"),
        several(layer.features as usize, "feature"),
        if layer.columns.is_empty() {
            "none".to_string()
        } else {
            layer.columns.join(", ")
        },
    )
}
