//! The program against the independent reference: the least costs in `expected.json` were found by `exhaustive.py`,
//! which shares no code with it (`expect.py` made the file and the sites beside it). `check` and `chance` do the same for bores that
//! somebody else designed.

mod chance;
mod check;
mod checked;

use serde_json::Value;
use std::{path::Path, process::Command};

const HERE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/peers");

/// The routes of a site, as `plan --json` gives them.
fn routes(seed: &str, folder: &Path) -> Vec<Value> {
    let site = format!("{HERE}/sites/site{seed}.gpkg");
    let job = format!("{HERE}/sites/site{seed}.job.toml");
    let out = folder.join(format!("{seed}.gpkg"));
    let run = Command::new(env!("CARGO_BIN_EXE_pitwright"))
        .args(["plan", &site, "--job", &job, "--json", "--quiet", "--out"])
        .arg(&out)
        .output()
        .expect("the program runs");
    let text = String::from_utf8_lossy(&run.stdout);
    let json: Value =
        serde_json::from_str(&text).unwrap_or_else(|e| panic!("seed {seed}: {e}: {text}"));
    json["routes"].as_array().cloned().unwrap_or_default()
}

/// Status, cost and pits of the one route of a site.
fn planned(seed: &str, folder: &Path) -> (String, Option<f64>, u64) {
    let route = &routes(seed, folder)[0];
    let status = route["status"].as_str().unwrap_or_default().to_string();
    (
        status,
        route["cost"].as_f64(),
        route["pits"].as_u64().unwrap_or(0),
    )
}

#[test]
fn the_least_cost_is_that_of_the_reference() {
    let (sites, with_plan) = agrees("expected.json");
    assert!(sites >= 60 && with_plan >= 20);
}

/// Sites in which a separation in plan or in level, or a limit that grows with depth, makes a difference.
#[test]
fn the_least_cost_under_separations_is_that_of_the_reference() {
    let (sites, with_plan) = agrees("expected-separations.json");
    assert!(sites >= 15 && with_plan >= 12);
}

/// Compares every single route of a file of expected results; sites, and those of them with a plan.
fn agrees(name: &str) -> (usize, usize) {
    let text = std::fs::read_to_string(format!("{HERE}/{name}")).expect("it is there");
    let expected: Value = serde_json::from_str(&text).expect("it is JSON");
    let expected = expected.as_object().expect("it is an object");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut with_plan = 0;
    for (seed, want) in expected {
        let (status, cost, pits) = planned(seed, folder.path());
        assert_eq!(
            Some(status.as_str()),
            want["status"].as_str(),
            "seed {seed}"
        );
        if let Some(least) = want["cost"].as_f64() {
            let found = cost.expect("a planned route has a cost");
            assert!(
                (found - least).abs() <= 1e-6,
                "seed {seed}: {found}, the reference {least}"
            );
            assert_eq!(Some(pits), want["pits"].as_u64(), "seed {seed}");
            with_plan += 1;
        }
    }
    println!("{} sites, {with_plan} of them with a plan", expected.len());
    (expected.len(), with_plan)
}

#[test]
fn the_least_cost_of_a_tree_is_that_of_the_reference() {
    let text = std::fs::read_to_string(format!("{HERE}/expected-joined.json"))
        .expect("expected-joined.json is there");
    let expected: Value = serde_json::from_str(&text).expect("it is JSON");
    let expected = expected.as_object().expect("it is an object");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let mut with_plan = 0;
    for (seed, want) in expected {
        let routes = routes(seed, folder.path());
        for r in &routes {
            let id = r["route_id"].as_str().expect("a route has an id");
            assert_eq!(r["status"], want["routes"][id], "seed {seed}, {id}");
        }
        let Some(least) = want["cost"].as_f64() else {
            continue;
        };
        let found: f64 = routes.iter().filter_map(|r| r["cost"].as_f64()).sum();
        assert!(
            (found - least).abs() <= 1e-6,
            "seed {seed}: {found}, the reference {least}"
        );
        let pits: u64 = routes.iter().filter_map(|r| r["pits"].as_u64()).sum();
        assert_eq!(Some(pits), want["pits"].as_u64(), "seed {seed}");
        with_plan += 1;
    }
    println!("{} trees, {with_plan} of them with a plan", expected.len());
    assert!(expected.len() >= 15 && with_plan >= 12);
}
