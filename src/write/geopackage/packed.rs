//! An R-tree laid down at once, full nodes from the leaves up, instead of box by box.
//!
//! SQLite keeps an R-tree in three plain tables: nodes, the leaf of each feature, the parent of each node. Their rows are worked
//! out here. Inserted one by one a million boxes take half a minute. What SQLite reads and changes later is an R-tree like any
//! other.
//!
//! # Source
//! SQLite documentation, "The SQLite R*Tree Module" §6 (shadow tables) and the comment on the format of nodes at the head of
//! `ext/rtree/rtree.c`: a node is a blob of big-endian numbers: depth (of the root, 0 where it is a leaf), number of cells,
//! then for each cell its 64-bit id and least and greatest of every axis as 32-bit floats.

use crate::clearance::{by_key, hilbert};
use crate::single::{down, up};
use crate::write::blob::Bounds;
use rayon::prelude::*;
use std::ops::Range;

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

/// An R-tree of full nodes.
///
/// Node 1 is the root, the leaves are numbered from 2 on, then level by level upward; a tree of one node is that root.
pub(super) struct Tree {
    /// Bytes of a node.
    size: usize,
    /// From the leaves up; the last is the root.
    levels: Vec<Level>,
    /// Of each entry, in the order given, its place among the cells of the leaves.
    places: Vec<u32>,
}

/// The nodes of one height.
struct Level {
    /// Number of the first.
    first: i64,
    /// How many.
    nodes: usize,
    /// What they hold: number and box of features, or of the nodes below.
    cells: Vec<(i64, Box2)>,
}

impl Tree {
    /// Over one entry or more, in nodes of `size` bytes.
    pub fn new(entries: &[Entry], size: usize) -> Tree {
        let most = (size - HEAD) / CELL;
        let order = along_the_curve(entries);
        let mut places = vec![0; entries.len()];
        for (place, i) in (0..).zip(&order) {
            places[*i as usize] = place;
        }
        let cell = |i: &u32| (entries[*i as usize].fid, entries[*i as usize].at);
        let mut cells: Vec<(i64, Box2)> = order.par_iter().map(cell).collect();
        let (mut levels, mut first) = (vec![], ROOT + 1);
        loop {
            let nodes = cells.len().div_ceil(most);
            let mut level = Level {
                first,
                nodes,
                cells,
            };
            first += nodes as i64;
            if nodes == 1 {
                level.first = ROOT;
                levels.push(level);
                break;
            }
            cells = level.as_cells();
            levels.push(level);
        }
        Tree {
            size,
            levels,
            places,
        }
    }

    /// How many nodes.
    pub fn nodes(&self) -> usize {
        self.levels.iter().map(|l| l.nodes).sum()
    }

    /// Puts the node of this number into `data`.
    pub fn node(&self, number: i64, data: &mut Vec<u8>) {
        let (depth, i) = self.at(number);
        let cells = &self.levels[depth].cells[self.levels[depth].of(i)];
        data.clear();
        let depth = if number == ROOT { depth as u16 } else { 0 };
        data.extend(depth.to_be_bytes());
        data.extend((cells.len() as u16).to_be_bytes());
        for (id, at) in cells {
            data.extend(id.to_be_bytes());
            at.iter().for_each(|v| data.extend(v.to_be_bytes()));
        }
        data.resize(self.size, 0);
    }

    /// The leaf of entry `i`.
    pub fn leaf(&self, i: usize) -> i64 {
        self.levels[0].holding(self.places[i] as usize)
    }

    /// The node above this one; none above the root.
    pub fn parent(&self, number: i64) -> Option<i64> {
        let (depth, i) = self.at(number);
        self.levels.get(depth + 1).map(|above| above.holding(i))
    }

    /// Which level a node is on, and its place there.
    fn at(&self, number: i64) -> (usize, usize) {
        let top = self.levels.len() - 1;
        let on = |l: &Level| number != ROOT && number < l.first + l.nodes as i64;
        let depth = self.levels[..top].iter().position(on).unwrap_or(top);
        (depth, (number - self.levels[depth].first) as usize)
    }
}

impl Level {
    /// The cells of node `i`: as many as of any other, or one more.
    fn of(&self, i: usize) -> Range<usize> {
        self.cells.len() * i / self.nodes..self.cells.len() * (i + 1) / self.nodes
    }

    /// Number of the node that holds a cell.
    fn holding(&self, cell: usize) -> i64 {
        self.first + (((cell + 1) * self.nodes - 1) / self.cells.len()) as i64
    }

    /// The nodes as cells of the level above.
    fn as_cells(&self) -> Vec<(i64, Box2)> {
        let whole = |i: usize| (self.cells[self.of(i)].iter()).fold(NOTHING, |a, c| joined(a, c.1));
        let nodes = (0..self.nodes).into_par_iter();
        nodes.map(|i| (self.first + i as i64, whole(i))).collect()
    }
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
    by_key(&keyed.collect::<Vec<_>>(), 32)
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::write::geopackage::index;
    use rusqlite::Connection;

    fn tree(n: usize) -> Connection {
        let c = Connection::open_in_memory().unwrap();
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
        let entries: Vec<Entry> = (0..n).map(entry).collect();
        index::lay(&c, "t", &entries).unwrap();
        c
    }

    fn one<T: rusqlite::types::FromSql>(c: &Connection, sql: &str) -> T {
        c.query_row(sql, [], |r| r.get(0)).unwrap()
    }

    #[test]
    fn sqlite_finds_nothing_wrong_with_trees_of_any_height() {
        for n in [0, 1, 50, 51, 52, 53, 2601, 2602, 2700, 9000] {
            let c = tree(n);
            assert_eq!(
                one::<String>(&c, "SELECT rtreecheck('rtree_t_geom')"),
                "ok",
                "{n}"
            );
            assert_eq!(
                one::<i64>(&c, "SELECT count(*) FROM rtree_t_geom"),
                n as i64
            );
            let inside = "FROM rtree_t_geom WHERE maxx >= 100 AND minx <= 200 AND maxy >= 4000100 AND miny <= 4000300";
            let found: i64 = one(&c, &format!("SELECT count(*) {inside}"));
            let (mut ask, mut count) = (
                c.prepare("SELECT minx, maxx, miny, maxy FROM rtree_t_geom")
                    .unwrap(),
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
        c.execute_batch("DELETE FROM rtree_t_geom WHERE id % 2 = 0; INSERT INTO rtree_t_geom VALUES (7, 1, 2, 4000000, 4000001); UPDATE rtree_t_geom SET maxx = maxx + 5 WHERE id < 300")
            .unwrap();
        assert_eq!(one::<String>(&c, "SELECT rtreecheck('rtree_t_geom')"), "ok");
        c.execute_batch("DELETE FROM rtree_t_geom").unwrap();
        assert_eq!(one::<String>(&c, "SELECT rtreecheck('rtree_t_geom')"), "ok");
    }
}
