//! `check` against the brute force: `expected-check.json` holds every row that `check_model.py`, which shares no code with
//! the program, finds on random sites (`check_expect.py` made the file and the sites).

use crate::checked::{Checked, Conflict, check};
use serde_json::Value;
use std::path::Path;

const HERE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers");
const MM: f64 = 1e-3;
const CHANCE: f64 = 1e-6;

/// Who meets what: bore, obstacle, layer, fid.
fn key(r: &Conflict) -> Value {
    serde_json::json!([r.bore_id, r.obstacle, r.source_layer, r.source_fid])
}

fn key_of(want: &Value) -> Value {
    Value::from(want.as_array().expect("a row")[..4].to_vec())
}

/// How far a row is from an expected one, to find its partner among several encounters with one service.
fn unlike(r: &Conflict, want: &Value) -> f64 {
    let gap = |a: Option<f64>, b: &Value| (a.unwrap_or(0.0) - b.as_f64().unwrap_or(0.0)).abs();
    let other_class = f64::from(want[4].as_str() != r.encounter.as_deref());
    let other_verdict = f64::from(want[5] != *r.verdict);
    gap(Some(r.clearance_m), &want[9])
        + gap(r.chainage_m, &want[7])
        + 0.01 * gap(r.angle_deg, &want[8])
        + 5.0 * other_class
        + 10.0 * other_verdict
}

fn same(name: &str, column: &str, got: Option<f64>, want: &Value, tolerance: f64) {
    let near = match (got, want.as_f64()) {
        (Some(a), Some(b)) => (a - b).abs() <= tolerance,
        (None, None) => true,
        _ => false,
    };
    assert!(near, "{name}: {column} is {got:?}, the reference {want}");
}

fn same_row(seed: &str, r: &Conflict, want: &Value) {
    let name = format!("seed {seed}, {want}");
    assert_eq!(r.encounter.as_deref(), want[4].as_str(), "{name}");
    assert_eq!(want[5], *r.verdict, "{name}");
    if r.obstacle == "service" {
        assert_eq!(r.depth_known, want[6].as_bool(), "{name}");
        same(&name, "chainage_m", r.chainage_m, &want[7], MM);
    }
    same(&name, "angle_deg", r.angle_deg, &want[8], 1e-5);
    same(&name, "clearance_m", Some(r.clearance_m), &want[9], MM);
    same(&name, "required_m", Some(r.required_m), &want[10], 1e-9);
    same(&name, "allowance_m", Some(r.allowance_m), &want[11], MM);
    same(&name, "margin_m", Some(r.margin_m), &want[12], MM);
    same(&name, "p_contact", r.p_contact, &want[13], CHANCE);
}

/// Every expected row has its partner, and no row is left over. Returns how many were compared.
fn same_rows(seed: &str, found: &Checked, want: &Value) -> usize {
    let mut left: Vec<&Conflict> = found.rows.iter().collect();
    let rows = want["rows"].as_array().expect("a list");
    for row in rows {
        let partner = (0..left.len())
            .filter(|&i| key(left[i]) == key_of(row))
            .min_by(|&a, &b| unlike(left[a], row).total_cmp(&unlike(left[b], row)));
        let i = partner.unwrap_or_else(|| panic!("seed {seed}: no row for {row}"));
        same_row(seed, left.swap_remove(i), row);
    }
    let over: Vec<Value> = left.iter().map(|r| key(r)).collect();
    assert!(
        over.is_empty(),
        "seed {seed}: rows the reference has not: {over:?}"
    );
    rows.len()
}

fn same_totals(seed: &str, found: &Checked, want: &Value) {
    let of = |word: &str| found.rows.iter().filter(|r| r.verdict == word).count();
    for word in ["clash", "prove", "watch", "clear"] {
        let said = &found.said["conflicts"][word];
        assert_eq!(said, &Value::from(of(word)), "seed {seed}, {word}");
    }
    assert_eq!(Value::from(found.holes), want["holes"], "seed {seed}");
    let avoid = want["avoid"] == true;
    let attention = of("clash") > 0 || avoid && of("prove") > 0;
    assert_eq!(found.code, i32::from(attention), "seed {seed}");
}

#[test]
fn every_row_is_that_of_the_brute_force() {
    let text = std::fs::read_to_string(format!("{HERE}/expected-check.json"))
        .expect("expected-check.json is there");
    let expected: Value = serde_json::from_str(&text).expect("it is JSON");
    let expected = expected.as_object().expect("it is an object");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let sites = Path::new(HERE).join("check-sites");
    let mut rows = 0;
    for (seed, want) in expected {
        let table = want["table"].as_str().expect("a table");
        let out = folder.path().join(format!("{seed}.gpkg"));
        let found = check(&sites, &format!("check{seed}"), table, &out);
        rows += same_rows(seed, &found, want);
        same_totals(seed, &found, want);
    }
    println!("{} sites, {rows} rows", expected.len());
    assert!(expected.len() >= 30 && rows >= 500);
}
