//! Random tables laid down as pages beside the same tables inserted by SQLite.

use super::{Leaves, PageFile, Record};
use rusqlite::types::Value;
use rusqlite::{Connection, params_from_iter};
use std::fs;
use std::os::unix::fs::FileExt;
use std::path::Path;

/// Columns of every type that our layers have.
const COLUMNS: &str = "fid INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL, geom POINT, n INTEGER, x DOUBLE, yes BOOLEAN, words TEXT, at DATETIME";

/// Seeded (a linear congruential generator, Knuth's constants).
struct Seeded(u64);

impl Seeded {
    fn below(&mut self, n: u64) -> u64 {
        self.0 = (self.0.wrapping_mul(6_364_136_223_846_793_005))
            .wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) % n
    }

    /// Numbers of every length, and those beside which the length changes.
    fn int(&mut self) -> i64 {
        let edge = (1i64 << self.below(63)).wrapping_add(self.below(4) as i64 - 2);
        [
            edge,
            -edge,
            edge.wrapping_mul(3),
            0,
            1,
            -1,
            i64::MIN,
            i64::MAX,
        ][self.below(8) as usize]
    }

    fn real(&mut self) -> f64 {
        let some = self.int() as f64;
        let odd = [
            -0.0,
            0.1,
            1e300,
            f64::NAN,
            f64::INFINITY,
            f64::NEG_INFINITY,
            5e-324,
            -123.456,
        ];
        match self.below(4) {
            0 => odd[self.below(8) as usize],
            1 => some / 8.0,
            _ => some,
        }
    }

    /// How long: mostly short, now and then as much as a leaf holds, or several pages.
    fn long(&mut self, page: u64) -> usize {
        let long = match self.below(40) {
            0 => page - 70 + self.below(70),
            1 => self.below(page * 5),
            2 => self.below(page),
            _ => self.below(24),
        };
        long as usize
    }

    fn row(&mut self, page: u64) -> Vec<Value> {
        let some = self.below(10) > 0;
        let of = |value: Value| if some { value } else { Value::Null };
        let long = self.long(page);
        let blob = (0..long).map(|_| self.below(256) as u8).collect();
        let words = ["", "bore", "Lindenstieg", "Größe ½ ✓"][self.below(4) as usize].to_string();
        let words = words.repeat(1 + self.long(page) / 8);
        vec![
            of(Value::Blob(blob)),
            Value::Integer(self.int()),
            of(Value::Real(self.real())),
            Value::Integer(self.below(2) as i64),
            of(Value::Text(words)),
            Value::Text("2026-03-01T10:20:30.500Z".into()),
        ]
    }

    /// Rows by rising number, with gaps.
    fn rows(&mut self, n: usize, page: u64) -> Vec<(i64, Vec<Value>)> {
        let mut number = -3;
        let mut next = |s: &mut Seeded| {
            number += 1 + if s.below(50) == 0 {
                s.below(1 << 30) as i64
            } else {
                0
            };
            number
        };
        (0..n).map(|_| (next(self), self.row(page))).collect()
    }
}

/// A file with the table in it, empty; where its root is.
fn made(file: &Path, page: u64) -> u32 {
    made_keeping(file, page, 0)
}

/// Of every page so many bytes at its end are not for use.
fn made_keeping(file: &Path, page: u64, kept: u8) -> u32 {
    let c = Connection::open(file).unwrap();
    c.execute_batch(&format!(
        "PRAGMA page_size = {page}; PRAGMA auto_vacuum = NONE; PRAGMA user_version = 1"
    ))
    .unwrap();
    drop(c);
    if kept > 0 {
        // The first page has nothing in it but where its cells are to begin.
        let bytes = fs::OpenOptions::new().write(true).open(file).unwrap();
        bytes.write_all_at(&[kept], 20).unwrap();
        let top = (page - u64::from(kept)) as u16;
        bytes.write_all_at(&top.to_be_bytes(), 105).unwrap();
    }
    let c = Connection::open(file).unwrap();
    c.execute_batch(&format!(
        "CREATE TABLE before (a); CREATE TABLE t ({COLUMNS}); CREATE TABLE after (a)"
    ))
    .unwrap();
    one(&c, "SELECT rootpage FROM sqlite_master WHERE name = 't'")
}

fn one<T: rusqlite::types::FromSql>(c: &Connection, sql: &str) -> T {
    c.query_row(sql, [], |r| r.get(0)).unwrap()
}

fn insert(file: &Path, rows: &[(i64, Vec<Value>)]) {
    let mut c = Connection::open(file).unwrap();
    let t = c.transaction().unwrap();
    for (number, row) in rows {
        let all = std::iter::once(Value::Integer(*number)).chain(row.iter().cloned());
        let mut add = t
            .prepare_cached("INSERT INTO t VALUES (?, ?, ?, ?, ?, ?, ?)")
            .unwrap();
        add.execute(params_from_iter(all)).unwrap();
    }
    t.commit().unwrap();
}

fn lay(file: &Path, root: u32, rows: &[(i64, Vec<Value>)]) {
    let mut pages = PageFile::open(file).unwrap();
    let put = |some: std::ops::Range<usize>, leaves: &mut Leaves| {
        let mut record = Record::default();
        for (number, row) in &rows[some.clone()] {
            record.clear();
            record.null();
            row.iter().for_each(|value| put(&mut record, value));
            leaves.add(*number, record.pieces());
        }
        some.len()
    };
    let told = pages.fill(root, rows.len(), put).unwrap();
    assert_eq!(told.iter().sum::<usize>(), rows.len());
    pages.finish().unwrap();
}

fn put(record: &mut Record, value: &Value) {
    match value {
        Value::Null => record.null(),
        Value::Integer(n) => record.int(*n),
        Value::Real(x) => record.real(*x),
        Value::Text(words) => record.text(words),
        Value::Blob(bytes) => record.blob(bytes),
    }
}

fn integrity(file: &Path) -> String {
    one(&Connection::open(file).unwrap(), "PRAGMA integrity_check")
}

/// Every row as it is stored, byte for byte, read by this and not by SQLite; and how high the tree is.
fn stored(file: &Path) -> (Vec<(u64, Vec<u8>)>, usize) {
    let c = Connection::open(file).unwrap();
    let root: u32 = one(&c, "SELECT rootpage FROM sqlite_master WHERE name = 't'");
    let page: usize = one::<i64>(&c, "PRAGMA page_size") as usize;
    let (bytes, mut rows) = (fs::read(file).unwrap(), vec![]);
    let high = walk(&bytes, page, root, &mut rows);
    (rows, high)
}

fn walk(file: &[u8], size: usize, number: u32, rows: &mut Vec<(u64, Vec<u8>)>) -> usize {
    let page = &file[(number as usize - 1) * size..][..size];
    let two = |at: usize| usize::from(u16::from_be_bytes([page[at], page[at + 1]]));
    let four = |page: &[u8]| u32::from_be_bytes(page[..4].try_into().unwrap());
    match page[0] {
        5 => {
            let below = (0..two(3)).map(|i| four(&page[two(12 + 2 * i)..]));
            let below: Vec<u32> = below.chain([four(&page[8..])]).collect();
            below
                .iter()
                .map(|b| walk(file, size, *b, rows))
                .max()
                .unwrap()
                + 1
        }
        13 => {
            for i in 0..two(3) {
                let mut cell = &page[two(8 + 2 * i)..];
                let (long, rowid) = (number_at(&mut cell) as usize, number_at(&mut cell));
                // As the documentation words it: U, X, M, K.
                let (u, x) = (size, size - 35);
                let m = (u - 12) * 32 / 255 - 23;
                let k = m + if long > m { (long - m) % (u - 4) } else { 0 };
                let here = if long <= x {
                    long
                } else if k <= x {
                    k
                } else {
                    m
                };
                let mut row = cell[..here].to_vec();
                let mut rest = &cell[here..];
                while row.len() < long {
                    let next = &file[(four(rest) as usize - 1) * size..][..size];
                    row.extend(&next[4..][..(long - row.len()).min(u - 4)]);
                    rest = next;
                }
                rows.push((rowid, row));
            }
            1
        }
        other => panic!("page {number} is of type {other}"),
    }
}

fn number_at(cell: &mut &[u8]) -> u64 {
    let mut value = 0;
    for i in 0..9 {
        let byte = cell[0];
        *cell = &cell[1..];
        if i == 8 {
            return value << 8 | u64::from(byte);
        }
        value = value << 7 | u64::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            break;
        }
    }
    value
}

#[test]
fn rows_are_stored_byte_for_byte_as_sqlite_stores_them() {
    let folder = tempfile::tempdir().unwrap();
    let (mut highest, mut rows_seen) = (0, 0);
    let sizes = [0, 1, 2, 3, 30, 1000, 2047, 2048, 2049, 20_000];
    for (seed, (page, n)) in (1..).zip(
        [512, 1024, 4096, 65_536]
            .iter()
            .flat_map(|p| sizes.map(|n| (*p, n))),
    ) {
        // The greater the pages, the longer are the rows.
        let n = n.min(10_000_000 / page as usize);
        let rows = Seeded(seed).rows(n, page);
        let (by_sqlite, as_pages) = (folder.path().join("a.db"), folder.path().join("b.db"));
        made(&by_sqlite, page);
        insert(&by_sqlite, &rows);
        lay(&as_pages, made(&as_pages, page), &rows);
        let ((theirs, _), (ours, high)) = (stored(&by_sqlite), stored(&as_pages));
        assert_eq!(theirs.len(), n);
        assert!(theirs == ours, "pages of {page}, {n} rows");
        assert_eq!(integrity(&as_pages), "ok", "pages of {page}, {n} rows");
        alike(&by_sqlite, &as_pages);
        (highest, rows_seen) = (highest.max(high), rows_seen + n);
        for file in [by_sqlite, as_pages] {
            fs::remove_file(file).unwrap();
        }
    }
    println!("{rows_seen} rows, trees up to {highest} pages high");
    assert!(highest >= 4);
}

/// What SQLite itself reads from both.
fn alike(a: &Path, b: &Path) {
    let c = Connection::open(a).unwrap();
    c.execute("ATTACH DATABASE ?1 AS b", [b.to_string_lossy()])
        .unwrap();
    let all = |of: &str| {
        format!("SELECT fid, typeof(n), n, typeof(x), x, typeof(geom), geom, words, at FROM {of}.t")
    };
    for (one_way, other) in [("main", "b"), ("b", "main")] {
        let differ = format!(
            "SELECT count(*) FROM ({} EXCEPT {})",
            all(one_way),
            all(other)
        );
        assert_eq!(one::<i64>(&c, &differ), 0);
    }
}

#[test]
fn a_table_laid_down_is_changed_like_any_other() {
    let folder = tempfile::tempdir().unwrap();
    for (page, n) in [(512, 3000), (4096, 6000)] {
        let file = folder.path().join(format!("{page}.db"));
        let rows = Seeded(7).rows(n, page);
        lay(&file, made(&file, page), &rows);
        let c = Connection::open(&file).unwrap();
        c.execute_batch("DELETE FROM t WHERE rowid % 3 = 0; UPDATE t SET words = words || words WHERE rowid % 5 = 1; INSERT INTO t (geom, n) SELECT geom, n FROM t; INSERT INTO after SELECT fid FROM t")
            .unwrap();
        assert_eq!(integrity(&file), "ok");
        c.execute_batch("DELETE FROM t").unwrap();
        assert_eq!(integrity(&file), "ok");
        c.execute_batch("VACUUM").unwrap();
        assert_eq!(integrity(&file), "ok");
    }
}

#[test]
fn bytes_that_are_not_for_use_are_left_alone() {
    let folder = tempfile::tempdir().unwrap();
    let (by_sqlite, as_pages) = (folder.path().join("a.db"), folder.path().join("b.db"));
    let rows = Seeded(13).rows(9000, 1024);
    made_keeping(&by_sqlite, 1024, 12);
    insert(&by_sqlite, &rows);
    lay(&as_pages, made_keeping(&as_pages, 1024, 12), &rows);
    assert_eq!(fs::read(&as_pages).unwrap()[20], 12);
    assert_eq!(integrity(&as_pages), "ok");
    alike(&by_sqlite, &as_pages);
}

#[test]
fn the_pages_are_the_same_for_any_number_of_threads() {
    let folder = tempfile::tempdir().unwrap();
    let rows = Seeded(11).rows(30_000, 512);
    let file = |threads: usize| {
        let file = folder.path().join(format!("{threads}.db"));
        let root = made(&file, 4096);
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build();
        pool.unwrap().install(|| lay(&file, root, &rows));
        fs::read(file).unwrap()
    };
    let one = file(1);
    assert!([2, 3, 7].into_iter().all(|threads| file(threads) == one));
}

/// SQLite takes its locks on a byte 1 GiB into the file, of whose page nothing may be used.
#[test]
fn the_page_of_locks_is_left_out() {
    const SIZE: u64 = 65_536;
    const LOCK: u32 = (1 << 30) / SIZE as u32 + 1;
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("big.db");
    let root = made(&file, SIZE);
    // Free pages, listed in the first of them, up to shortly before.
    let (first, last) = (
        (fs::metadata(&file).unwrap().len() / SIZE) as u32 + 1,
        LOCK - 80,
    );
    let bytes = fs::OpenOptions::new().write(true).open(&file).unwrap();
    bytes.set_len(u64::from(last) * SIZE).unwrap();
    let list: Vec<u8> = [0, last - first]
        .into_iter()
        .chain(first + 1..=last)
        .flat_map(u32::to_be_bytes)
        .collect();
    bytes
        .write_all_at(&list, u64::from(first - 1) * SIZE)
        .unwrap();
    let head: Vec<u8> = [last, first, last - first + 1]
        .into_iter()
        .flat_map(u32::to_be_bytes)
        .collect();
    bytes.write_all_at(&head, 28).unwrap();
    assert_eq!(integrity(&file), "ok");

    let long = |i: i64| {
        vec![
            Value::Blob(vec![i as u8; 200_000 + i as usize]),
            Value::Null,
        ]
    };
    let rows: Vec<(i64, Vec<Value>)> = (1..=60).map(|i| (i, long(i))).collect();
    lay(&file, root, &rows);
    let c = Connection::open(&file).unwrap();
    assert!(one::<u32>(&c, "PRAGMA page_count") > LOCK + 50);
    assert_eq!(integrity(&file), "ok");
    let wrong = "SELECT count(*) FROM t WHERE length(geom) != 200000 + fid OR substr(geom, 150000, 1) != substr(geom, 1, 1)";
    assert_eq!(
        (
            one::<i64>(&c, "SELECT count(*) FROM t"),
            one::<i64>(&c, wrong)
        ),
        (60, 0)
    );
}

#[test]
fn what_is_no_database_of_plain_pages_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("a.db");
    fs::write(&file, [0; 4096]).unwrap();
    assert!(PageFile::open(&file).is_err());
    fs::remove_file(&file).unwrap();
    let c = Connection::open(&file).unwrap();
    c.execute_batch("PRAGMA auto_vacuum = FULL; CREATE TABLE t (a)")
        .unwrap();
    assert!(PageFile::open(&file).is_err());
}
