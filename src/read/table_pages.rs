//! Rows of a table straight from the pages of its file, without asking SQLite for each.
//!
//! SQLite works through a city's million values one call after the other, which is more than half of the time that reading takes. The
//! format of the file is documented and promised to last, and `write::pages` lays the same pages down. Only what is plain is
//! read so: text in UTF-8, an ordinary table, every row whole in its leaf with a value for every column. Any other row is
//! left to SQLite, and so is a whole table that looks like anything else. SQLite holds its lock on the file meanwhile, so that
//! nobody changes the pages.
//!
//! # Source
//! SQLite documentation, "Database File Format": §1.3 (header), §1.6 (pages of B-trees), §2.1 (records), §2.3 (tables); "Datatypes In
//! SQLite" §3.1 (affinity of a column).

use super::opening::Opened;
use rusqlite::types::ValueRef;
use rusqlite::{Connection, Row};
use std::fs::File;

/// So many bytes are read at once where pages follow each other.
const AT_ONCE: usize = 1 << 18;
/// A table of more levels than this is no table.
const MOST_LEVELS: usize = 20;

const INTERIOR: u8 = 0x05;
const LEAF: u8 = 0x0d;

/// A table, and where in its rows the wanted values are.
pub(super) struct TablePages<'f> {
    file: &'f File,
    /// Bytes of a page, and those of them that are for use.
    size: usize,
    usable: usize,
    /// Last row and number of each leaf, by rising row.
    leaves: Vec<(i64, u32)>,
    columns: Vec<Stored>,
    /// Place of the last of them.
    last: usize,
}

/// Where a wanted column is among the values of a row.
#[derive(Clone, Copy)]
struct Stored {
    place: usize,
    /// A column of measures, whose whole values are stored as whole numbers.
    real: bool,
}

/// A row that is not plain.
pub(super) struct NotPlain;

/// Pages that are not what they should be.
struct Strange;

type Told<T> = Result<T, Strange>;

impl<'f> TablePages<'f> {
    /// Of a table whose numbers are those of its rows. None where it is better left to SQLite.
    pub fn of(opened: &'f Opened, table: &str, wanted: &[&str]) -> Option<TablePages<'f>> {
        let db = &opened.db;
        let text: String = db.query_row("PRAGMA encoding", [], |r| r.get(0)).ok()?;
        if text != "UTF-8" {
            return None;
        }
        let root = "SELECT rootpage FROM sqlite_master WHERE type = 'table' AND name = ?1";
        let root: u32 = db.query_row(root, [table], |r| r.get(0)).ok()?;
        let columns = columns(db, table, wanted)?;
        let file = opened.bytes()?;
        let mut head = [0; 100];
        read_at(file, &mut head, 0)?;
        let size = match u16::from_be_bytes([head[16], head[17]]) {
            1 => 65_536,
            size => usize::from(size),
        };
        if !head.starts_with(b"SQLite format 3\0") || size < 512 || root < 2 {
            return None;
        }
        let mut pages = TablePages {
            file,
            size,
            usable: size - usize::from(head[20]),
            leaves: vec![],
            last: columns.iter().map(|c| c.place).max()?,
            columns,
        };
        pages.list(root, i64::MAX, MOST_LEVELS)?;
        let rising = |pair: &[(i64, u32)]| pair[0].0 < pair[1].0;
        (pages.usable >= 480 && pages.leaves.windows(2).all(rising)).then_some(pages)
    }

    /// Adds the leaves below a page that holds rows up to `last`.
    fn list(&mut self, page: u32, last: i64, levels: usize) -> Option<()> {
        let mut bytes = vec![0; self.size];
        self.read(page, &mut bytes)?;
        if bytes[0] == LEAF {
            self.leaves.push((last, page));
            return Some(());
        }
        if bytes[0] != INTERIOR || levels == 0 {
            return None;
        }
        let number = |at: usize| Some(u32::from_be_bytes(bytes.get(at..at + 4)?.try_into().ok()?));
        let mut below = vec![];
        for i in 0..usize::from(short(&bytes, 3)?) {
            let cell = usize::from(short(&bytes, 12 + 2 * i)?);
            let (key, _) = varint(bytes.get(cell + 4..)?)?;
            below.push((key as i64, number(cell)?));
        }
        below.push((last, number(8)?));
        // All leaves of a table are equally far down. What is no leaf after all is found out when its rows are read.
        let mut kind = [0];
        read_at(self.file, &mut kind, self.place(below[0].1)?)?;
        if kind[0] == LEAF {
            self.leaves.extend(below);
            return Some(());
        }
        (below.into_iter()).try_for_each(|(last, page)| self.list(page, last, levels - 1))
    }

    fn place(&self, page: u32) -> Option<u64> {
        Some(u64::from(page.checked_sub(1)?) * self.size as u64)
    }

    fn read(&self, page: u32, bytes: &mut [u8]) -> Option<()> {
        read_at(self.file, bytes, self.place(page)?)
    }

    /// Every row with a number from `from` to `to`, by rising number, with the wanted values. None where the pages are not what they
    /// should be; then nothing that was seen counts.
    pub fn each<E>(
        &self,
        (from, to): (i64, i64),
        bytes: &mut Vec<u8>,
        mut see: impl FnMut(i64, Result<&[ValueRef<'_>], NotPlain>) -> Result<(), E>,
    ) -> Option<Result<(), E>> {
        let first = self.leaves.partition_point(|leaf| leaf.0 < from);
        let last = self.leaves.partition_point(|leaf| leaf.0 < to);
        let mut those = &self.leaves[first..(last + 1).min(self.leaves.len())];
        while !those.is_empty() {
            let most = (AT_ONCE / self.size).max(1).min(those.len());
            let run = those[..most].windows(2);
            let run = 1 + run.take_while(|pair| pair[0].1 + 1 == pair[1].1).count();
            bytes.resize(run * self.size, 0);
            self.read(those[0].1, bytes)?;
            let (mut stored, mut values) = (vec![], Vec::with_capacity(self.columns.len()));
            for leaf in bytes.chunks_exact(self.size) {
                match self.rows(leaf, (from, to), (&mut stored, &mut values), &mut see) {
                    Ok(Ok(())) => {}
                    Ok(Err(error)) => return Some(Err(error)),
                    Err(Strange) => return None,
                }
            }
            those = &those[run..];
        }
        Some(Ok(()))
    }

    fn rows<'b, E>(
        &self,
        leaf: &'b [u8],
        (from, to): (i64, i64),
        (stored, values): (&mut Vec<(u64, usize)>, &mut Vec<ValueRef<'b>>),
        see: &mut impl FnMut(i64, Result<&[ValueRef<'_>], NotPlain>) -> Result<(), E>,
    ) -> Told<Result<(), E>> {
        if leaf[0] != LEAF {
            return Err(Strange);
        }
        for i in 0..usize::from(short(leaf, 3).ok_or(Strange)?) {
            let cell = usize::from(short(leaf, 8 + 2 * i).ok_or(Strange)?);
            let cell = leaf.get(cell..).ok_or(Strange)?;
            let (size, lead) = varint(cell).ok_or(Strange)?;
            let (row, more) = varint(&cell[lead..]).ok_or(Strange)?;
            let row = row as i64;
            if row < from || row > to {
                continue;
            }
            let plain = usize::try_from(size).is_ok_and(|size| size <= self.usable - 35);
            let seen = match plain {
                true => {
                    let record = cell.get(lead + more..lead + more + size as usize);
                    match self.values(record.ok_or(Strange)?, stored, values)? {
                        true => see(row, Ok(values)),
                        false => see(row, Err(NotPlain)),
                    }
                }
                false => see(row, Err(NotPlain)),
            };
            if seen.is_err() {
                return Ok(seen);
            }
        }
        Ok(Ok(()))
    }

    /// The wanted values of a row; false where it was written before the table had all of its columns.
    fn values<'b>(
        &self,
        record: &'b [u8],
        stored: &mut Vec<(u64, usize)>,
        values: &mut Vec<ValueRef<'b>>,
    ) -> Told<bool> {
        let (head, mut at) = varint(record).ok_or(Strange)?;
        let head = usize::try_from(head).map_err(|_| Strange)?;
        let (types, body) = record.split_at_checked(head).ok_or(Strange)?;
        // Of each value its type, and where it begins.
        stored.clear();
        let mut from = 0usize;
        while at < head && stored.len() <= self.last {
            let (kind, bytes) = varint(&types[at..]).ok_or(Strange)?;
            stored.push((kind, from));
            from = from.checked_add(length(kind)?).ok_or(Strange)?;
            at += bytes;
        }
        values.clear();
        for column in &self.columns {
            let Some(&(kind, from)) = stored.get(column.place) else {
                return Ok(false);
            };
            let bytes = body.get(from..).and_then(|b| b.get(..length(kind).ok()?));
            values.push(match (value(kind, bytes.ok_or(Strange)?), column.real) {
                (ValueRef::Integer(n), true) => ValueRef::Real(n as f64),
                (value, _) => value,
            });
        }
        Ok(true)
    }
}

/// Where the wanted columns are stored. None where the table has columns that are worked out, or where the number of the row is wanted
/// as a value, which is not stored as one.
fn columns(db: &Connection, table: &str, wanted: &[&str]) -> Option<Vec<Stored>> {
    let sql = "SELECT name, type, pk, hidden FROM pragma_table_xinfo(?1) ORDER BY cid";
    let mut ask = db.prepare(sql).ok()?;
    let row = |r: &Row| Ok((r.get(0)?, r.get(1)?, r.get(2)?, r.get(3)?));
    let all: rusqlite::Result<Vec<(String, String, i64, i64)>> =
        ask.query_map([table], row).ok()?.collect();
    let all = all.ok()?;
    if all.iter().any(|c| c.3 != 0) {
        return None;
    }
    let stored = |name: &&str| {
        let place = all.iter().position(|c| c.0 == **name)?;
        let (_, declared, key, _) = &all[place];
        let real = is_real(declared);
        (*key == 0).then_some(Stored { place, real })
    };
    wanted.iter().map(stored).collect()
}

/// Whether a column declared so makes measures of whole numbers.
fn is_real(declared: &str) -> bool {
    let declared = declared.to_ascii_uppercase();
    let has = |words: &[&str]| words.iter().any(|w| declared.contains(w));
    !has(&["INT", "CHAR", "CLOB", "TEXT", "BLOB"]) && has(&["REAL", "FLOA", "DOUB"])
}

/// Bytes of a value by its type.
fn length(kind: u64) -> Told<usize> {
    Ok(match kind {
        0 | 8 | 9 => 0,
        1..=4 => kind as usize,
        5 => 6,
        6 | 7 => 8,
        10 | 11 => return Err(Strange),
        _ => usize::try_from((kind - 12) / 2).map_err(|_| Strange)?,
    })
}

fn value(kind: u64, stored: &[u8]) -> ValueRef<'_> {
    match kind {
        0 => ValueRef::Null,
        7 => {
            let bits = stored.iter().fold(0, |n, b| n << 8 | u64::from(*b));
            match f64::from_bits(bits) {
                // SQLite holds what is no number for nothing.
                x if x.is_nan() => ValueRef::Null,
                x => ValueRef::Real(x),
            }
        }
        8 | 9 => ValueRef::Integer(kind as i64 - 8),
        1..=6 => {
            let sign = if stored[0] & 0x80 == 0 { 0 } else { -1 };
            let whole = stored.iter().fold(sign, |n: i64, b| n << 8 | i64::from(*b));
            ValueRef::Integer(whole)
        }
        even if even % 2 == 0 => ValueRef::Blob(stored),
        _ => ValueRef::Text(stored),
    }
}

fn short(bytes: &[u8], at: usize) -> Option<u16> {
    Some(u16::from_be_bytes(bytes.get(at..at + 2)?.try_into().ok()?))
}

/// A number of one to nine bytes, and how many they were.
#[inline]
fn varint(bytes: &[u8]) -> Option<(u64, usize)> {
    let first = *bytes.first()?;
    if first < 0x80 {
        return Some((u64::from(first), 1));
    }
    let mut value = 0;
    for (i, byte) in bytes.iter().take(9).enumerate() {
        if i == 8 {
            return Some((value << 8 | u64::from(*byte), 9));
        }
        value = value << 7 | u64::from(byte & 0x7f);
        if byte & 0x80 == 0 {
            return Some((value, i + 1));
        }
    }
    None
}

#[cfg(unix)]
fn read_at(file: &File, bytes: &mut [u8], at: u64) -> Option<()> {
    std::os::unix::fs::FileExt::read_exact_at(file, bytes, at).ok()
}

/// To read from several threads at once needs a system that reads at a place.
#[cfg(not(unix))]
fn read_at(_: &File, _: &mut [u8], _: u64) -> Option<()> {
    None
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::types::Value;
    use std::collections::BTreeMap;
    use tempfile::TempDir;

    type Rows = BTreeMap<i64, Vec<Value>>;

    const WANTED: [&str; 5] = ["geom", "kind", "diameter_mm", "n", "late"];

    /// A table of values of every kind and length, changed after it was filled.
    fn table(folder: &TempDir, page: usize, n: i64, rest: &str) -> Opened {
        let path = folder.path().join(format!("{page}-{n}.gpkg"));
        let db = Connection::open(&path).unwrap();
        db.execute_batch(&format!(
            "PRAGMA page_size = {page}; {rest}
             CREATE TABLE other (x);
             CREATE TABLE \"a \"\" table\" (fid INTEGER PRIMARY KEY AUTOINCREMENT, geom BLOB, kind TEXT, diameter_mm DOUBLE PRECISION,
                                        n MEDIUMINT, flag)"
        ))
        .unwrap();
        let mut put = db
            .prepare("INSERT INTO \"a \"\" table\" VALUES (?1, ?2, ?3, ?4, ?5, ?6)")
            .unwrap();
        db.execute_batch("BEGIN").unwrap();
        for i in 0..n {
            // Now and then longer than a page.
            let blob =
                vec![i as u8; (i * 7919 % 300) as usize + if i % 97 == 5 { 9000 } else { 0 }];
            let whole = (i * 104_729) << (i % 40);
            let number = match i % 4 {
                0 => Value::Null,
                1 => Value::Real(i as f64 / 3.0),
                2 => Value::Integer(-i),
                _ => Value::Integer(whole),
            };
            let word = ["gas", "", "größer", "x"][(i % 4) as usize];
            let sign = if i % 3 == 0 { -whole } else { whole };
            put.execute((2 * i - 50, blob, word, number, sign, i % 2))
                .unwrap();
        }
        db.execute_batch("COMMIT").unwrap();
        db.execute_batch(
            "DELETE FROM \"a \"\" table\" WHERE fid % 14 = 0;
             ALTER TABLE \"a \"\" table\" ADD COLUMN late TEXT DEFAULT 'no';
             UPDATE \"a \"\" table\" SET late = 'yes', n = n + 1 WHERE fid % 6 = 0",
        )
        .unwrap();
        drop(put);
        db.close().unwrap();
        Opened::new(&path).unwrap()
    }

    fn asked(opened: &Opened, sql: &str) -> Rows {
        let mut ask = opened.db.prepare(sql).unwrap();
        let row = |r: &Row| {
            let values = (1..=WANTED.len()).map(|i| r.get(i));
            Ok((r.get(0)?, values.collect::<Result<_, _>>()?))
        };
        ask.query_map([], row)
            .unwrap()
            .map(Result::unwrap)
            .collect()
    }

    /// The plain rows, how many others there are, and whether numbers rise.
    fn seen(pages: &TablePages, range: (i64, i64)) -> Option<(Rows, Vec<i64>)> {
        let (mut rows, mut others, mut last) = (Rows::new(), vec![], None);
        let done = pages.each(range, &mut vec![], |fid, row| {
            assert!(last.replace(fid).is_none_or(|l| l < fid), "{fid}");
            match row {
                Ok(values) => {
                    let values = values.iter().map(|v| Value::try_from(*v).unwrap());
                    rows.insert(fid, values.collect());
                }
                Err(NotPlain) => others.push(fid),
            }
            Ok::<(), ()>(())
        });
        done.map(|done| done.map(|()| (rows, others)).unwrap())
    }

    #[test]
    fn rows_are_those_that_sqlite_gives() {
        let folder = TempDir::new().unwrap();
        let (mut plain, mut left) = (0, 0);
        for (page, n, rest) in [
            (4096, 3000, ""),
            (512, 700, ""),
            (65_536, 2000, ""),
            (1024, 900, "PRAGMA auto_vacuum = FULL;"),
            (4096, 0, ""),
            (4096, 1, ""),
        ] {
            let opened = table(&folder, page, n, rest);
            let pages = TablePages::of(&opened, "a \" table", &WANTED).unwrap();
            for (from, to) in [(i64::MIN, i64::MAX), (-50, 100), (101, 500), (333, 333)] {
                let names = WANTED.join(", ");
                let sql = format!(
                    "SELECT fid, {names} FROM \"a \"\" table\" WHERE fid BETWEEN {from} AND {to}"
                );
                let expected = asked(&opened, &sql);
                let (rows, others) = seen(&pages, (from, to)).unwrap();
                for (fid, row) in &rows {
                    assert_eq!(Some(row), expected.get(fid), "{page} {fid}");
                }
                assert!(others.iter().all(|fid| expected.contains_key(fid)));
                assert_eq!(
                    rows.len() + others.len(),
                    expected.len(),
                    "{page} {from} {to}"
                );
                (plain, left) = (plain + rows.len(), left + others.len());
            }
        }
        // Rows of two values of `late` were written before there was such a column.
        assert!(plain > 1000 && left > 1000, "{plain} {left}");
    }

    #[test]
    fn what_is_not_plain_is_left_to_sqlite() {
        let folder = TempDir::new().unwrap();
        let opened = table(&folder, 4096, 10, "");
        let of = |table: &str, wanted: &[&str]| TablePages::of(&opened, table, wanted).is_some();
        assert!(of("a \" table", &["kind"]));
        // The number of a row is stored as nothing; no such column; no such table.
        assert!(!of("a \" table", &["fid"]) && !of("a \" table", &["x"]) && !of("b", &["kind"]));
        let wide = table(&folder, 8192, 10, "PRAGMA encoding = 'UTF-16';");
        assert!(TablePages::of(&wide, "a \" table", &["kind"]).is_none());
        let worked_out = folder.path().join("worked-out.gpkg");
        let db = Connection::open(&worked_out).unwrap();
        db.execute_batch("CREATE TABLE t (fid INTEGER PRIMARY KEY, a, b AS (a + 1), c)")
            .unwrap();
        db.close().unwrap();
        let opened = Opened::new(&worked_out).unwrap();
        assert!(TablePages::of(&opened, "t", &["c"]).is_none());
    }

    #[test]
    fn pages_that_are_none_are_noticed() {
        let folder = TempDir::new().unwrap();
        let opened = table(&folder, 512, 700, "");
        let path = opened.path.clone();
        let pages = TablePages::of(&opened, "a \" table", &WANTED).unwrap();
        assert!(pages.leaves.len() > 20);
        let whole = std::fs::read(&path).unwrap();
        let leaf = (pages.leaves[7].1 as usize - 1) * 512;
        // No leaf; a cell beyond the page; a row longer than the page; types that are none.
        let cell = leaf + usize::from(short(&whole[leaf..], 8).unwrap());
        for (at, byte) in [
            (leaf, 0x0a),
            (leaf + 8, 0x7f),
            (cell + 3, 0x7f),
            (cell + 4, 10),
        ] {
            let mut broken = whole.clone();
            broken[at] = byte;
            std::fs::write(&path, &broken).unwrap();
            assert!(seen(&pages, (i64::MIN, i64::MAX)).is_none(), "{at} {byte}");
        }
        std::fs::write(&path, &whole).unwrap();
        assert!(seen(&pages, (i64::MIN, i64::MAX)).is_some());
    }

    #[test]
    fn measures_are_told_by_how_they_are_declared() {
        for (declared, real) in [
            ("DOUBLE", true),
            ("real", true),
            ("FLOAT", true),
            ("FLOATING POINT", false),
            ("MEDIUMINT", false),
            ("NUMERIC", false),
            ("TEXT(20)", false),
            ("", false),
        ] {
            assert_eq!(is_real(declared), real, "{declared}");
        }
    }
}
