//! What is in a file, row by row, for comparing.

use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags};
use std::collections::BTreeMap;
use std::path::Path;

/// Every table and its rows in order.
pub type Dump = BTreeMap<String, Vec<String>>;

/// Names that only our layers have.
pub const OWNED: [&str; 16] = [
    "proposed_pits",
    "proposed_bores",
    "bore_conflicts",
    "test_holes",
    "bore_inspections",
    "conflict_changes",
    "long_sections",
    "affected_lots",
    "cost_items",
    "bore_or_trench",
    "bore_programme",
    "alternatives",
    "alternative_pits",
    "alternative_bores",
    "route_blockers",
    "pitwright_runs",
];

pub fn open(file: &Path) -> Connection {
    Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_WRITE).unwrap()
}

/// All that is in the file.
pub fn whole(file: &Path) -> Dump {
    let c = open(file);
    let mut dump: Dump = tables(&c)
        .into_iter()
        .map(|t| (t.clone(), rows(&c, &t)))
        .collect();
    dump.insert("sqlite_master".into(), schema(&c));
    dump
}

/// All but our layers and the rows that speak of them.
pub fn others(file: &Path) -> Dump {
    let ours = |s: &String| OWNED.iter().any(|o| s.contains(o));
    let mut dump = whole(file);
    dump.retain(|table, _| !ours(table));
    dump.values_mut().for_each(|rows| rows.retain(|r| !ours(r)));
    // A table of styles with none but ours in it is ours too.
    if dump.get("layer_styles").is_some_and(Vec::is_empty) {
        dump.remove("layer_styles");
        let table = |r: &String| r.contains("layer_styles");
        dump.values_mut()
            .for_each(|rows| rows.retain(|r| !table(r)));
    }
    dump
}

fn tables(c: &Connection) -> Vec<String> {
    texts(
        c,
        "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name",
    )
}

/// Tables, indexes and triggers as they were declared; where their pages lie does not matter.
fn schema(c: &Connection) -> Vec<String> {
    texts(
        c,
        "SELECT type || ' ' || name || ' ' || coalesce(sql, '') FROM sqlite_master ORDER BY type, name",
    )
}

pub fn texts(c: &Connection, sql: &str) -> Vec<String> {
    let mut s = c.prepare(sql).unwrap();
    s.query_map([], |r| r.get(0))
        .unwrap()
        .map(Result::unwrap)
        .collect()
}

pub fn rows(c: &Connection, table: &str) -> Vec<String> {
    let mut s = c.prepare(&format!("SELECT * FROM \"{table}\"")).unwrap();
    let n = s.column_count();
    let row = |r: &rusqlite::Row| {
        (0..n)
            .map(|i| r.get(i))
            .collect::<rusqlite::Result<Vec<Value>>>()
    };
    let mut rows: Vec<String> = s
        .query_map([], row)
        .unwrap()
        .map(|r| format!("{:?}", r.unwrap()))
        .collect();
    // Rows of most tables come by rowid; sorting makes it so for all.
    rows.sort();
    rows
}

/// What SQLite itself says of the file.
pub fn integrity(file: &Path) -> Vec<String> {
    texts(&open(file), "PRAGMA integrity_check")
}

#[test]
fn a_changed_value_shows() {
    let site = crate::site::Site::new();
    let before = others(&site.file);
    assert!(before["services"].len() == 50 && before.contains_key("rtree_services_geom"));
    site.sql("UPDATE gpkg_contents SET last_change = '2020-01-01T00:00:00.000Z' WHERE table_name = 'services'");
    assert_ne!(before, others(&site.file));
}
