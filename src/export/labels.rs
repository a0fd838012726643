//! What stands beside a thing on a drawing or a map.

use super::{Feature, Layer, Unit};

/// Columns that name a row, the first that a layer has.
const NAMES: [&str; 7] = [
    "bore_id",
    "pit_id",
    "hole_id",
    "conflict_id",
    "lot_id",
    "route_id",
    "alternative",
];

/// Its id; for a conflict or a test hole that of the conflict or hole, not of the bore.
pub(super) fn name(layer: &Layer, row: &Feature) -> String {
    let own = match layer.name.as_str() {
        "bore_conflicts" => Some("conflict_id"),
        "test_holes" => Some("hole_id"),
        "proposed_pits" | "alternative_pits" => Some("pit_id"),
        "affected_lots" => Some("lot_id"),
        _ => None,
    };
    let said = |column: &str| layer.value(row, column).map(|v| v.said());
    let all = own.into_iter().chain(NAMES).filter_map(said);
    all.into_iter()
        .find(|name| !name.is_empty())
        .unwrap_or_default()
}

/// The bore, its pipe; its length, grade and inverts.
pub(super) fn bore(layer: &Layer, row: &Feature, unit: Unit) -> [String; 2] {
    let m = |column: &str, decimals| measure(layer, row, column, unit, decimals);
    let dn = layer
        .number(row, "dn_mm")
        .map_or(String::new(), |d| format!("  DN{d}"));
    let grade = match layer.number(row, "grade_1_in") {
        Some(n) => format!("1 in {n:.0}"),
        None => "level".to_string(),
    };
    [
        format!("{}{dn}", layer.word(row, "bore_id")),
        format!(
            "L {}  {grade}  IL {} / {}",
            m("length_m", 2),
            m("us_invert_m", 3),
            m("ds_invert_m", 3)
        ),
    ]
}

/// The pit and what it is for; ground, invert and depth.
pub(super) fn pit(layer: &Layer, row: &Feature, unit: Unit) -> [String; 2] {
    let m = |column: &str, decimals| measure(layer, row, column, unit, decimals);
    let manhole = layer.number(row, "manhole") == Some(1.0);
    let manhole = if manhole { ", manhole" } else { "" };
    [
        format!(
            "{}  {}{manhole}",
            layer.word(row, "pit_id"),
            layer.word(row, "role")
        ),
        format!(
            "GL {}  IL {}  depth {}",
            m("ground_m", 3),
            m("invert_m", 3),
            m("depth_m", 2)
        ),
    ]
}

/// The verdict, what is met, and how far it is; a depth that is not known is said.
pub(super) fn conflict(layer: &Layer, row: &Feature, unit: Unit) -> String {
    let kind = match layer.word(row, "kind") {
        "" => layer.word(row, "obstacle"),
        kind => kind,
    };
    let clearance = match layer.number(row, "depth_known") {
        Some(0.0) => "depth unknown".to_string(),
        _ => format!("clearance {}", measure(layer, row, "clearance_m", unit, 2)),
    };
    format!("{} {kind}  {clearance}", layer.word(row, "verdict"))
}

/// Number in order of digging, and how deep to dig.
pub(super) fn hole(layer: &Layer, row: &Feature, unit: Unit) -> String {
    let number = layer.number(row, "priority").unwrap_or_default();
    let deep = measure(layer, row, "dig_to_m", unit, 2);
    format!("TH{number}  dig to {deep}")
}

fn measure(layer: &Layer, row: &Feature, column: &str, unit: Unit, decimals: usize) -> String {
    match layer.number(row, column) {
        Some(metres) => super::cell::number(unit.of(metres), decimals),
        None => "-".to_string(),
    }
}
