//! Reading changes nothing, whatever state the file is in.

use crate::fixture::*;
use rusqlite::Connection;
use std::path::{Path, PathBuf};

fn bytes(path: &Path) -> Vec<u8> {
    std::fs::read(path).unwrap()
}

fn beside(path: &Path, tail: &str) -> PathBuf {
    PathBuf::from(format!("{}{tail}", path.display()))
}

fn site(folder: &Folder) -> PathBuf {
    folder.gpkg(&[route(), layer("trees", &["POINT (500010 5800000)"])])
}

#[test]
fn the_bytes_of_a_site_stay_as_they_are_and_nothing_is_left_beside_it() {
    let folder = Folder::new();
    let path = site(&folder);
    let before = bytes(&path);
    read(&path).unwrap();
    pitwright::read::inspect(&path, &plan(&Default::default())).unwrap();
    assert_eq!(bytes(&path), before);
    assert_eq!(std::fs::read_dir(&folder.0).unwrap().count(), 1);
}

/// A file as a killed writer leaves it: new pages in it, the old ones in the journal.
#[test]
fn a_file_left_half_written_is_read_as_it_was_before() {
    let folder = Folder::new();
    let path = site(&folder);
    let db = Connection::open(&path).unwrap();
    db.execute_batch("PRAGMA cache_size = 1; PRAGMA cache_spill = 1; BEGIN IMMEDIATE; CREATE TABLE filler (b BLOB);").unwrap();
    db.execute_batch("WITH RECURSIVE n(i) AS (SELECT 1 UNION ALL SELECT i + 1 FROM n WHERE i < 200) INSERT INTO filler SELECT randomblob(4000) FROM n; DELETE FROM gpkg_contents").unwrap();
    let (half, journal) = (bytes(&path), bytes(&beside(&path, "-journal")));
    db.execute_batch("ROLLBACK").unwrap();
    drop(db);
    assert!(!journal.is_empty() && half != bytes(&path));
    let dead = folder.0.join("dead.gpkg");
    std::fs::write(&dead, &half).unwrap();
    std::fs::write(beside(&dead, "-journal"), &journal).unwrap();
    let r = read(&dead).unwrap();
    assert_eq!((r.site.routes.len(), r.site.trees.len()), (1, 1));
    assert_eq!(
        (bytes(&dead), bytes(&beside(&dead, "-journal"))),
        (half, journal)
    );
    let ours = format!("pitwright-read-{}-", std::process::id());
    let left = std::fs::read_dir(std::env::temp_dir())
        .unwrap()
        .flatten()
        .filter(|f| f.file_name().to_string_lossy().starts_with(&ours));
    assert_eq!(left.count(), 0);
}

#[test]
fn a_file_whose_log_holds_the_news_is_read_with_them() {
    let folder = Folder::new();
    let path = site(&folder);
    let db = Connection::open(&path).unwrap();
    db.query_row("PRAGMA journal_mode = wal", [], |r| r.get::<_, String>(0))
        .unwrap();
    db.execute_batch("CREATE TABLE more AS SELECT * FROM trees")
        .unwrap();
    db.execute_batch("INSERT INTO gpkg_contents (table_name, data_type, identifier, srs_id) VALUES ('more', 'attributes', 'more', 0)").unwrap();
    let before = bytes(&path);
    let seen = pitwright::read::inspect(&path, &plan(&Default::default())).unwrap();
    assert!(
        seen.layers.iter().any(|l| l.name == "more"),
        "the log was not read"
    );
    assert_eq!(bytes(&path), before);
    drop(db);
}

#[test]
fn a_file_in_log_mode_keeps_its_bytes_whatever_its_name() {
    let folder = Folder::new();
    let path = folder.0.join("Straße 50% #1?.gpkg");
    std::fs::rename(site(&folder), &path).unwrap();
    let db = Connection::open(&path).unwrap();
    db.query_row("PRAGMA journal_mode = wal", [], |r| r.get::<_, String>(0))
        .unwrap();
    drop(db);
    let before = bytes(&path);
    assert_eq!(read(&path).unwrap().site.trees.len(), 1);
    assert_eq!(bytes(&path), before);
    assert_eq!(
        std::fs::read_dir(&folder.0).unwrap().count(),
        1,
        "a log was left beside it"
    );
}
