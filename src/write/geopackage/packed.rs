//! An R-tree laid down at once, full nodes from the leaves up, instead of box by box.
//!
//! SQLite keeps an R-tree in three plain tables; they are filled here in the order of their keys. Inserted one by one a million
//! boxes take half a minute; so, a quarter of a second. What SQLite reads and changes later is an R-tree like any other.
//!
//! # Source
//! SQLite documentation, "The SQLite R*Tree Module" §6 (shadow tables) and the comment on the format of nodes at the head of
//! `ext/rtree/rtree.c`: a node is a blob of big-endian numbers: depth (of the root, 0 where it is a leaf), number of cells,
//! then for each cell its 64-bit id and least and greatest of every axis as 32-bit floats.

use crate::clearance::hilbert;
use crate::write::blob::Bounds;
use rayon::prelude::*;
use rusqlite::{Connection, Result, Statement};

/// Bytes of a node before its cells, and of a cell of two axes.
const HEAD: usize = 4;
const CELL: usize = 24;
const ROOT: i64 = 1;

/// Least and greatest x, then y, as SQLite stores them.
type Box2 = [f32; 4];

/// One feature and its box.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Entry {
    /// Feature id.
    pub fid: i64,
    at: Box2,
}

impl Entry {
    /// The box is rounded outward.
    pub fn new(fid: i64, b: &Bounds) -> Entry {
        Entry {
            fid,
            at: [down(b.min[0]), up(b.max[0]), down(b.min[1]), up(b.max[1])],
        }
    }
}

/// Greatest single-precision number not above `x`.
fn down(x: f64) -> f32 {
    let near = x as f32;
    if f64::from(near) > x {
        near.next_down()
    } else {
        near
    }
}

/// Least single-precision number not below `x`.
fn up(x: f64) -> f32 {
    let near = x as f32;
    if f64::from(near) < x {
        near.next_up()
    } else {
        near
    }
}

/// Fills an R-tree that has just been made. `entries` by rising fid.
pub(super) fn fill(c: &Connection, name: &str, entries: &[Entry]) -> Result<()> {
    if entries.is_empty() {
        return Ok(());
    }
    let size: i64 = c.query_row(
        &format!("SELECT length(data) FROM \"{name}_node\" WHERE nodeno = {ROOT}"),
        [],
        |r| r.get(0),
    )?;
    let order = along_the_curve(entries);
    let mut tree = Tree {
        size: size as usize,
        nodes: c.prepare(&format!(
            "INSERT OR REPLACE INTO \"{name}_node\" VALUES (?1, ?2)"
        ))?,
        parents: vec![],
        next: ROOT + 1,
    };
    let mut leaf_of = vec![0; entries.len()];
    let cells = order.iter().map(|&i| {
        let e = &entries[i as usize];
        (e.fid, e.at)
    });
    let mut above = tree.level(0, cells.collect(), |k, node| {
        leaf_of[order[k] as usize] = node
    })?;
    let mut depth = 0;
    while above[0].0 != ROOT {
        depth += 1;
        let below: Vec<i64> = above.iter().map(|n| n.0).collect();
        let mut parents = vec![];
        above = tree.level(depth, above, |k, node| parents.push((below[k], node)))?;
        tree.parents.extend(parents);
    }
    let Tree { parents, .. } = tree;
    let mut insert = c.prepare(&format!("INSERT INTO \"{name}_rowid\" VALUES (?1, ?2)"))?;
    for (e, node) in entries.iter().zip(&leaf_of) {
        put(&mut insert, e.fid, *node)?;
    }
    let mut insert = c.prepare(&format!("INSERT INTO \"{name}_parent\" VALUES (?1, ?2)"))?;
    parents.iter().try_for_each(|p| put(&mut insert, p.0, p.1))
}

fn put(insert: &mut Statement, key: i64, value: i64) -> Result<()> {
    insert.raw_bind_parameter(1, key)?;
    insert.raw_bind_parameter(2, value)?;
    insert.raw_execute().map(|_| ())
}

/// Places of the entries, neighbours in the plane beside each other.
fn along_the_curve(entries: &[Entry]) -> Vec<u32> {
    let all = entries.iter().fold(NOTHING, |a, e| joined(a, e.at));
    let span = f64::from(all[1] - all[0])
        .max(f64::from(all[3] - all[2]))
        .max(1e-9);
    let cell = |low: f32, high: f32, from: f32| {
        let middle = (f64::from(low) + f64::from(high)) / 2.0 - f64::from(from);
        (middle / span * 65535.0) as u32
    };
    let keyed = entries.par_iter().enumerate().map(|(i, e)| {
        let [x0, x1, y0, y1] = e.at;
        (
            hilbert(cell(x0, x1, all[0]), cell(y0, y1, all[2])),
            i as u32,
        )
    });
    let mut keyed: Vec<(u32, u32)> = keyed.collect();
    keyed.par_sort_unstable();
    keyed.into_iter().map(|k| k.1).collect()
}

const NOTHING: Box2 = [
    f32::INFINITY,
    f32::NEG_INFINITY,
    f32::INFINITY,
    f32::NEG_INFINITY,
];

fn joined(a: Box2, b: Box2) -> Box2 {
    [
        a[0].min(b[0]),
        a[1].max(b[1]),
        a[2].min(b[2]),
        a[3].max(b[3]),
    ]
}

/// An R-tree as it grows from the leaves up.
struct Tree<'c> {
    /// Bytes of a node.
    size: usize,
    nodes: Statement<'c>,
    /// Node and parent.
    parents: Vec<(i64, i64)>,
    /// Number of the next node.
    next: i64,
}

impl Tree<'_> {
    /// Puts the cells of one level into nodes, evenly; tells the node of each cell, and gives the nodes as cells of the level
    /// above. The last node is the root.
    fn level(
        &mut self,
        depth: u16,
        cells: Vec<(i64, Box2)>,
        mut tell: impl FnMut(usize, i64),
    ) -> Result<Vec<(i64, Box2)>> {
        let most = (self.size - HEAD) / CELL;
        let n = cells.len().div_ceil(most);
        let mut above = Vec::with_capacity(n);
        let mut data = Vec::with_capacity(self.size);
        for i in 0..n {
            let (from, to) = (cells.len() * i / n, cells.len() * (i + 1) / n);
            let number = if n == 1 { ROOT } else { self.next };
            self.next += 1;
            data.clear();
            data.extend(if n == 1 { depth } else { 0 }.to_be_bytes());
            data.extend(((to - from) as u16).to_be_bytes());
            let mut whole = NOTHING;
            for (k, (id, at)) in (from..).zip(&cells[from..to]) {
                data.extend(id.to_be_bytes());
                at.iter().for_each(|v| data.extend(v.to_be_bytes()));
                whole = joined(whole, *at);
                tell(k, number);
            }
            data.resize(self.size, 0);
            self.nodes.raw_bind_parameter(1, number)?;
            self.nodes.raw_bind_parameter(2, data.as_slice())?;
            self.nodes.raw_execute()?;
            above.push((number, whole));
        }
        Ok(above)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(n: usize) -> Connection {
        let c = Connection::open_in_memory().unwrap();
        c.execute_batch("CREATE VIRTUAL TABLE t USING rtree(id, minx, maxx, miny, maxy)")
            .unwrap();
        let entry = |i: usize| {
            let (x, y) = (
                (i * 7919 % 1000) as f64 + 0.1,
                (i * 104_729 % 997) as f64 + 4e6,
            );
            let b = Bounds {
                min: [x, y, 0.0],
                max: [x + (i % 5) as f64, y + 0.3, 0.0],
            };
            Entry::new(10 + 3 * i as i64, &b)
        };
        fill(&c, "t", &(0..n).map(entry).collect::<Vec<_>>()).unwrap();
        c
    }

    fn one<T: rusqlite::types::FromSql>(c: &Connection, sql: &str) -> T {
        c.query_row(sql, [], |r| r.get(0)).unwrap()
    }

    #[test]
    fn sqlite_finds_nothing_wrong_with_trees_of_any_height() {
        for n in [0, 1, 50, 51, 52, 53, 2601, 2602, 2700, 9000] {
            let c = tree(n);
            assert_eq!(one::<String>(&c, "SELECT rtreecheck('t')"), "ok", "{n}");
            assert_eq!(one::<i64>(&c, "SELECT count(*) FROM t"), n as i64);
            let inside =
                "FROM t WHERE maxx >= 100 AND minx <= 200 AND maxy >= 4000100 AND miny <= 4000300";
            let found: i64 = one(&c, &format!("SELECT count(*) {inside}"));
            let (mut ask, mut count) = (
                c.prepare("SELECT minx, maxx, miny, maxy FROM t").unwrap(),
                0,
            );
            let mut rows = ask.query([]).unwrap();
            while let Some(r) = rows.next().unwrap() {
                let v: Vec<f64> = (0..4).map(|i| r.get(i).unwrap()).collect();
                count += i64::from(
                    v[1] >= 100.0 && v[0] <= 200.0 && v[3] >= 4000100.0 && v[2] <= 4000300.0,
                );
            }
            assert_eq!(found, count, "{n}");
        }
    }

    #[test]
    fn it_can_be_changed_like_any_other() {
        let c = tree(3000);
        c.execute_batch("DELETE FROM t WHERE id % 2 = 0; INSERT INTO t VALUES (7, 1, 2, 4000000, 4000001); UPDATE t SET maxx = maxx + 5 WHERE id < 300")
            .unwrap();
        assert_eq!(one::<String>(&c, "SELECT rtreecheck('t')"), "ok");
        c.execute_batch("DELETE FROM t").unwrap();
        assert_eq!(one::<String>(&c, "SELECT rtreecheck('t')"), "ok");
    }

    #[test]
    fn boxes_are_rounded_outward() {
        for x in [4_000_000.1f64, -4_000_000.1, 0.1, 16_777_217.0] {
            assert!(f64::from(down(x)) <= x && f64::from(up(x)) >= x && down(x) < up(x));
        }
        assert_eq!((down(0.5), up(0.5)), (0.5, 0.5));
    }
}
