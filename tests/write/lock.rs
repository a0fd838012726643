//! Files that other programs have in use.

use crate::dump::{integrity, open, texts, whole};
use crate::site::{Site, crs, run};
use crate::synthetic;
use pitwright::plan::Plan;
use pitwright::write::{LOCK_WAIT, Target, WriteError, layers, may_write, plan_tables};
use std::time::{Duration, Instant};

fn waiting(site: &Site, wait: Duration) -> Target {
    Target {
        wait,
        ..Target::site(&site.file)
    }
}

#[test]
fn the_wait_is_ten_seconds_unless_told_otherwise() {
    assert_eq!(LOCK_WAIT, Duration::from_secs(10));
    assert_eq!(Target::site("a.gpkg").wait, LOCK_WAIT);
    assert_eq!(Target::out("a.gpkg", "b.gpkg").wait, LOCK_WAIT);
}

#[test]
fn a_locked_file_is_waited_for_and_then_said_to_be_locked() {
    let site = Site::new();
    let other = open(&site.file);
    other.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let target = waiting(&site, Duration::from_millis(300));
    let began = Instant::now();
    let error = layers(
        &target,
        &crs(),
        &plan_tables(&Plan::default()),
        &run(),
        false,
    )
    .unwrap_err();
    assert!(
        began.elapsed() >= Duration::from_millis(300) && began.elapsed() < Duration::from_secs(5)
    );
    assert!(matches!(error, WriteError::Locked { .. }), "{error:?}");
    assert!(!error.is_refusal());
    assert!(
        error
            .to_string()
            .contains("another program has it locked (waited 0.3 s)"),
        "{error}"
    );
    assert!(matches!(
        may_write(&target, &[], false),
        Err(WriteError::Locked { .. })
    ));
    other.execute_batch("ROLLBACK").unwrap();
    layers(
        &target,
        &crs(),
        &plan_tables(&Plan::default()),
        &run(),
        false,
    )
    .unwrap();
}

#[test]
fn a_lock_that_ends_in_time_does_no_harm() {
    let site = Site::new();
    let other = open(&site.file);
    other.execute_batch("BEGIN EXCLUSIVE").unwrap();
    let freed = std::thread::spawn(move || {
        std::thread::sleep(Duration::from_millis(300));
        other.execute_batch("ROLLBACK").unwrap();
    });
    let target = waiting(&site, Duration::from_secs(8));
    layers(
        &target,
        &crs(),
        &plan_tables(&synthetic::plan(3, 1)),
        &run(),
        false,
    )
    .unwrap();
    freed.join().unwrap();
}

/// A reader keeps a file in journal mode from being written. It is waited for once, though the plan be greater
/// than the page cache.
#[test]
fn a_reader_that_stays_makes_the_run_fail_whole() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(3, 1)), false)
        .unwrap();
    let before = whole(&site.file);
    for bores in [2, 2000] {
        let reader = open(&site.file);
        reader
            .execute_batch("BEGIN; SELECT count(*) FROM services")
            .unwrap();
        let plan = synthetic::plan(bores, 1);
        let target = waiting(&site, Duration::from_millis(200));
        let began = Instant::now();
        let error = layers(&target, &crs(), &plan_tables(&plan), &run(), true).unwrap_err();
        assert!(began.elapsed() < Duration::from_secs(5));
        assert!(matches!(error, WriteError::Locked { .. }), "{error:?}");
        may_write(&target, &[], true).unwrap();
        drop(reader);
        assert!(before == whole(&site.file));
    }
    assert_eq!(integrity(&site.file), ["ok"]);
}

#[test]
fn a_file_in_wal_mode_is_written_and_stays_in_it() {
    let site = Site::new();
    site.sql("PRAGMA journal_mode = WAL");
    let reader = open(&site.file);
    reader
        .execute_batch("BEGIN; SELECT count(*) FROM services")
        .unwrap();
    site.write(&plan_tables(&synthetic::plan(30, 1)), false)
        .unwrap();
    reader.execute_batch("COMMIT").unwrap();
    assert_eq!(
        texts(&reader, "SELECT '' || count(*) FROM proposed_bores"),
        ["30"]
    );
    assert_eq!(texts(&reader, "PRAGMA journal_mode"), ["wal"]);
    let set = gdal::Dataset::open(&site.file).unwrap();
    assert!(set.layer_by_name("proposed_bores").is_ok());
}

#[test]
fn a_file_without_a_log_has_none_afterwards() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(30, 1)), false)
        .unwrap();
    assert_eq!(texts(&open(&site.file), "PRAGMA journal_mode"), ["delete"]);
    let files = std::fs::read_dir(site.folder.path()).unwrap().count();
    assert_eq!(files, 1);
}

#[test]
fn what_is_refused_leaves_every_byte() {
    let site = Site::new();
    site.write(&plan_tables(&synthetic::plan(30, 1)), false)
        .unwrap();
    let before = std::fs::read(&site.file).unwrap();
    site.write(&plan_tables(&Plan::default()), false)
        .unwrap_err();
    may_write(&Target::site(&site.file), &["proposed_pits"], true).unwrap();
    assert!(before == std::fs::read(&site.file).unwrap());
}
