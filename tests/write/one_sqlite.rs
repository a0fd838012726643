//! One SQLite in the process: the system's, which GDAL uses too. A second one, linked into the program, was seen
//! to take the place of the first for half of GDAL's calls and to crash it.

use gdal::vector::{LayerAccess, sql::Dialect};
use std::fs;
use std::path::{Path, PathBuf};

fn holds(file: &Path, marker: &[u8]) -> bool {
    fs::read(file)
        .unwrap()
        .windows(marker.len())
        .any(|w| w == marker)
}

/// Words of SQLite's own that every build of it holds; backwards here, so that this program does not hold them.
fn marker() -> Vec<u8> {
    b"noitcnuflam rezirohtua".iter().rev().copied().collect()
}

fn shared_libraries() -> Vec<PathBuf> {
    let maps = fs::read_to_string("/proc/self/maps").unwrap();
    let mut found: Vec<_> = maps
        .lines()
        .filter_map(|l| l.split_whitespace().nth(5))
        .filter(|p| p.contains("/libsqlite3"))
        .map(PathBuf::from)
        .collect();
    found.sort();
    found.dedup();
    found
}

#[test]
fn no_sqlite_is_linked_into_the_program() {
    let shared = shared_libraries();
    assert_eq!(shared.len(), 1, "{shared:?}");
    assert!(
        holds(&shared[0], &marker()),
        "the marker marks nothing any more"
    );
    let programs = [
        std::env::current_exe().ok(),
        option_env!("CARGO_BIN_EXE_pitwright").map(PathBuf::from),
    ];
    for program in programs.into_iter().flatten() {
        assert!(
            !holds(&program, &marker()),
            "{} holds an SQLite of its own",
            program.display()
        );
    }
}

#[test]
fn gdal_and_we_use_the_same_sqlite() {
    let site = crate::site::Site::new();
    let set = gdal::Dataset::open(&site.file).unwrap();
    let mut answer = set
        .execute_sql("SELECT sqlite_source_id() AS id", None, Dialect::DEFAULT)
        .unwrap()
        .unwrap();
    let gdals = answer
        .features()
        .next()
        .unwrap()
        .field_as_string(0)
        .unwrap()
        .unwrap();
    let ours: String = crate::dump::open(&site.file)
        .query_row("SELECT sqlite_source_id()", [], |r| r.get(0))
        .unwrap();
    assert_eq!(gdals, ours);
}
