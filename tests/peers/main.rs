//! The program against the independent reference: what `expected.json` says of the sites beside it was found by
//! `exhaustive.py`, which shares no code with it (`expect.py` made both). `check` and `chance` do the same for bores that
//! somebody else designed.

mod chance;
mod check;
mod checked;

use serde_json::Value;
use std::{collections::BTreeMap, ops::Range, path::Path, process::Command};

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

#[test]
fn the_least_cost_is_that_of_the_reference() {
    let (sites, with_plan) = agrees(0..500);
    assert!(sites >= 60 && with_plan >= 20);
}

/// Sites in which a separation in plan or in level, or a limit that grows with depth, makes a difference.
#[test]
fn the_least_cost_under_separations_is_that_of_the_reference() {
    let (sites, with_plan) = agrees(500..2000);
    assert!(sites >= 15 && with_plan >= 12);
}

#[test]
fn the_least_cost_of_a_tree_is_that_of_the_reference() {
    let (sites, with_plan) = agrees(2000..u32::MAX);
    assert!(sites >= 30 && with_plan >= 12);
}

/// Compares what is expected of the sites of some seeds; how many there are, and how many of them with a plan.
fn agrees(seeds: Range<u32>) -> (usize, usize) {
    let text = std::fs::read_to_string(format!("{HERE}/expected.json")).expect("it is there");
    let expected: BTreeMap<String, BTreeMap<String, Value>> =
        serde_json::from_str(&text).expect("it is JSON of trees by seed");
    let folder = tempfile::tempdir().expect("a temporary folder");
    let of_seed = |seed: &&String| seeds.contains(&seed.parse().expect("a seed is a number"));
    let (mut sites, mut with_plan) = (0, 0);
    for seed in expected.keys().filter(of_seed) {
        let routes = routes(seed, folder.path());
        let planned = expected[seed]
            .values()
            .filter(|tree| is_of_tree(seed, &routes, tree));
        with_plan += usize::from(planned.count() > 0);
        sites += 1;
    }
    println!("{sites} sites, {with_plan} of them with a plan");
    (sites, with_plan)
}

/// Compares the routes of one tree with what is expected of it; whether there is a plan.
fn is_of_tree(seed: &str, routes: &[Value], want: &Value) -> bool {
    let named = |id: &Value| want["routes"].get(id.as_str().expect("a route has an id"));
    let of_tree = || routes.iter().filter(|r| named(&r["route_id"]).is_some());
    for r in of_tree() {
        assert_eq!(
            Some(&r["status"]),
            named(&r["route_id"]),
            "seed {seed}: {r}"
        );
    }
    let members = want["routes"].as_object().map(|of| of.len());
    assert_eq!(Some(of_tree().count()), members, "seed {seed}");
    let found: f64 = of_tree().filter_map(|r| r["cost"].as_f64()).sum();
    let Some(least) = want["cost"].as_f64() else {
        assert_eq!(found, 0.0, "seed {seed}");
        return false;
    };
    assert!(
        (found - least).abs() <= 1e-6,
        "seed {seed}: {found}, the reference {least}"
    );
    let pits: u64 = of_tree().filter_map(|r| r["pits"].as_u64()).sum();
    assert_eq!(Some(pits), want["pits"].as_u64(), "seed {seed}");
    true
}
