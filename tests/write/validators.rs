//! What validators that others wrote say of our files.

use crate::site::{Site, crs, run};
use crate::synthetic;
use pitwright::plan::Plan;
use pitwright::write::{Target, layers, plan_tables};
use std::path::Path;
use std::process::Command;

const NO_VALIDATOR: i32 = 77;

fn validate(files: &[&Path]) {
    let script = concat!(env!("CARGO_MANIFEST_DIR"), "/tests/validators/validate.sh");
    // The rules of one publisher's own, which PDOK would add, do not fit files that are empty.
    let output = Command::new("sh")
        .env_remove("PDOK")
        .arg(script)
        .args(files)
        .output()
        .unwrap();
    let said = String::from_utf8_lossy(&output.stdout);
    match output.status.code() {
        Some(NO_VALIDATOR) => println!("SKIPPED: {said}"),
        code => assert_eq!(code, Some(0), "{said}"),
    }
}

#[test]
fn validators_accept_sites_and_files_of_their_own_full_and_empty() {
    let site = Site::new();
    let (full, empty) = (site.beside("full.gpkg"), site.beside("empty.gpkg"));
    let write = |target: Target, plan: &Plan, replace| {
        layers(&target, &crs(), &plan_tables(plan), &run(), replace).unwrap();
    };
    let plan = synthetic::plan(40, 2);
    write(Target::site(&site.file), &plan, false);
    write(Target::site(&site.file), &plan, true);
    write(Target::out(&site.file, &full), &plan, false);
    write(Target::out(&site.file, &empty), &Plan::default(), false);
    validate(&[&site.file, &full, &empty]);
}
