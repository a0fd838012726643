//! Tables of very many rows: SQLite makes them, empty, and their rows are laid down as pages while it has the file closed.

use super::add::{self, Laid};
use super::index;
use super::packed::Tree;
use crate::write::blob::{self, Bounds, Grid};
use crate::write::pages::{Leaves, PageFile, Record};
use crate::write::{Table, Value};
use rusqlite::{Connection, Result, params};
use std::io;
use std::ops::Range;

/// A table with nothing in it yet.
pub(crate) struct Empty {
    /// Page of its root.
    root: u32,
    index: Option<EmptyIndex>,
}

/// The index of a layer with nothing in it yet.
struct EmptyIndex {
    node_size: usize,
    /// Pages of the roots of its three tables.
    nodes: u32,
    leaves: u32,
    parents: u32,
}

/// Makes a table and its index, empty, but so that the next row will be numbered as if all were there.
pub(crate) fn make_empty(c: &Connection, table: &Table) -> Result<Empty> {
    add::create_table(c, table)?;
    if !table.rows.is_empty() {
        c.execute(
            "INSERT INTO sqlite_sequence (name, seq) VALUES (?1, ?2)",
            params![table.name, table.rows.len() as i64],
        )?;
    }
    Ok(Empty {
        root: root(c, table.name)?,
        index: (table.geometry)
            .map(|_| make_index(c, table.name))
            .transpose()?,
    })
}

fn make_index(c: &Connection, layer: &str) -> Result<EmptyIndex> {
    let name = index::create(c, layer)?;
    let root = |of: &str| root(c, &format!("{name}_{of}"));
    Ok(EmptyIndex {
        node_size: index::node_size(c, &name)?,
        nodes: root("node")?,
        leaves: root("rowid")?,
        parents: root("parent")?,
    })
}

fn root(c: &Connection, table: &str) -> Result<u32> {
    c.query_row(
        "SELECT rootpage FROM sqlite_master WHERE name = ?1 AND type = 'table'",
        [table],
        |r| r.get(0),
    )
}

/// Lays the rows of a table and its index into the file; tells where they lie.
pub(crate) fn fill(
    file: &mut PageFile,
    table: &Table,
    empty: &Empty,
    grid: Grid,
) -> io::Result<Bounds> {
    let rows = table.rows.len();
    let laid = file.fill(empty.root, rows, |some, leaves| {
        lay(table, grid, some, leaves)
    })?;
    let bounds = (laid.iter()).fold(Bounds::EMPTY, |all, some| all.with(some.bounds));
    if let Some(index) = &empty.index {
        let entries: Vec<_> = laid.into_iter().map(|some| some.entries).collect();
        fill_index(file, index, entries.concat())?;
    }
    Ok(bounds)
}

/// Some rows of a table.
fn lay(table: &Table, grid: Grid, some: Range<usize>, leaves: &mut Leaves) -> Laid {
    let mut laid = Laid::with_room(table, some.len());
    let (mut record, mut blob) = (Record::default(), vec![]);
    let mut fid = some.start as i64;
    table.rows.see(some, &mut |row| {
        fid += 1;
        record.clear();
        record.null();
        if let Some(shape) = row.shape() {
            laid.note(fid, blob::encode(&shape, grid, &mut blob));
            record.blob(&blob);
        }
        for column in 0..table.columns.len() {
            put(&mut record, &row.value(column), grid);
        }
        leaves.add(fid, record.pieces());
    });
    laid
}

/// Puts a value as it is; the columns of our layers hold what they say, so SQLite would make nothing else of it.
fn put(record: &mut Record, value: &Value, grid: Grid) {
    match value {
        Value::Null => record.null(),
        Value::Int(n) => record.int(*n),
        Value::Real(x) => record.real(*x),
        Value::Plan(metres) => record.real(metres / grid.metres_per_unit),
        Value::Bool(yes) => record.int(i64::from(*yes)),
        Value::Text(s) => record.text(s),
    }
}

fn fill_index(
    file: &mut PageFile,
    index: &EmptyIndex,
    entries: Vec<super::packed::Entry>,
) -> io::Result<()> {
    if entries.is_empty() {
        return Ok(());
    }
    let tree = Tree::new(&entries, index.node_size);
    file.fill(index.nodes, tree.nodes(), |some, leaves| {
        let (mut record, mut data) = (Record::default(), vec![]);
        for number in some.map(|i| i as i64 + 1) {
            tree.node(number, &mut data);
            record.clear();
            record.null();
            record.blob(&data);
            leaves.add(number, record.pieces());
        }
    })?;
    let pair = |record: &mut Record, leaves: &mut Leaves, key, value| {
        record.clear();
        record.null();
        record.int(value);
        leaves.add(key, record.pieces());
    };
    file.fill(index.leaves, entries.len(), |some, leaves| {
        let mut record = Record::default();
        some.for_each(|i| pair(&mut record, leaves, entries[i].fid, tree.leaf(i)));
    })?;
    // All nodes but the root, which is the first, have a parent.
    file.fill(index.parents, tree.nodes() - 1, |some, leaves| {
        let mut record = Record::default();
        for number in some.map(|i| i as i64 + 2) {
            let parent = tree.parent(number).expect("only the root has none");
            pair(&mut record, leaves, number, parent);
        }
    })?;
    Ok(())
}
