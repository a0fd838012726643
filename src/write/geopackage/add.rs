//! One table put into the file: its columns, its rows, its place in the contents, its index.

use super::index;
use super::packed::Entry;
use crate::write::blob::{self, Bounds, Grid};
use crate::write::{ColumnType, GeometryType, Row, Table, Value};
use rusqlite::types::ToSqlOutput;
use rusqlite::{Connection, Result, Statement, params};

/// Puts the table into the file. No table of its name may be there.
pub(crate) fn add(c: &Connection, table: &Table, grid: Grid, changed_at: &str) -> Result<()> {
    let bounds = lay(c, table, grid)?;
    enter(c, table, grid, &bounds, changed_at)
}

/// Lays down the table's rows and its index; tells where they lie. No table of its name may be there.
pub(crate) fn lay(c: &Connection, table: &Table, grid: Grid) -> Result<Bounds> {
    create_table(c, table)?;
    let laid = insert_rows(c, table, grid, 1)?;
    if table.geometry.is_some() {
        index::lay(c, table.name, &laid.entries)?;
    }
    Ok(laid.bounds)
}

/// Takes over rows and index that lie in the file attached as `side`: SQLite copies them without looking into them.
pub(crate) fn take(c: &Connection, table: &Table) -> Result<()> {
    create_table(c, table)?;
    let name = table.name;
    c.execute_batch(&format!(
        "INSERT INTO main.\"{name}\" SELECT * FROM side.\"{name}\""
    ))?;
    table.geometry.map_or(Ok(()), |_| index::take(c, name))
}

/// Enters a table that has been laid down into the contents of the file.
pub(crate) fn enter(
    c: &Connection,
    table: &Table,
    grid: Grid,
    bounds: &Bounds,
    changed_at: &str,
) -> Result<()> {
    register(c, table, grid, bounds, changed_at)?;
    if let Some(kind) = table.geometry {
        register_geometry(c, table.name, kind, grid)?;
        index::register(c, table.name)?;
    }
    count(c, table)
}

/// Where the rows lie that have a shape.
pub(super) struct Laid {
    /// Each of them, by rising fid.
    pub entries: Vec<Entry>,
    /// All of them.
    pub bounds: Bounds,
}

impl Laid {
    /// Nothing, with room for rows of the table.
    pub fn with_room(table: &Table, rows: usize) -> Laid {
        let room = table.geometry.map_or(0, |_| rows);
        Laid {
            entries: Vec::with_capacity(room),
            bounds: Bounds::EMPTY,
        }
    }

    /// Notes where a row lies.
    pub fn note(&mut self, fid: i64, at: Bounds) {
        if !at.is_empty() {
            self.entries.push(Entry::new(fid, &at));
            self.bounds = self.bounds.with(at);
        }
    }
}

pub(super) fn create_table(c: &Connection, table: &Table) -> Result<()> {
    let mut columns = vec!["\"fid\" INTEGER PRIMARY KEY AUTOINCREMENT NOT NULL".to_string()];
    columns.extend(table.geometry.map(|g| format!("\"geom\" {}", g.name())));
    columns.extend(
        table
            .columns
            .iter()
            .map(|(name, kind)| format!("\"{name}\" {}", kind.name())),
    );
    let sql = format!("CREATE TABLE \"{}\" ({})", table.name, columns.join(", "));
    c.execute_batch(&sql)
}

/// Inserts the rows, numbered from `first_fid` on; returns where they lie.
pub(super) fn insert_rows(
    c: &Connection,
    table: &Table,
    grid: Grid,
    first_fid: i64,
) -> Result<Laid> {
    let mut insert = c.prepare(&insert_sql(table))?;
    let mut laid = Laid::with_room(table, table.rows.len());
    let mut binder = Binder::new(table.columns.len(), grid);
    let (mut fid, mut done) = (first_fid, Ok(()));
    table.rows.see(0..table.rows.len(), &mut |row| {
        if done.is_err() {
            return;
        }
        match binder.insert(&mut insert, fid, row) {
            Ok(at) => at.into_iter().for_each(|at| laid.note(fid, at)),
            Err(error) => done = Err(error),
        }
        fid += 1;
    });
    done.map(|()| laid)
}

fn insert_sql(table: &Table) -> String {
    let mut names = vec!["\"fid\"".to_string()];
    names.extend(table.geometry.map(|_| "\"geom\"".to_string()));
    names.extend(table.columns.iter().map(|(name, _)| format!("\"{name}\"")));
    let marks = vec!["?"; names.len()].join(", ");
    format!(
        "INSERT INTO \"{}\" ({}) VALUES ({marks})",
        table.name,
        names.join(", ")
    )
}

/// Binds rows to a statement. SQLite keeps what is bound from one row to the next, and copies every text that it is given: so
/// a value that is that of the row before is not bound again.
struct Binder {
    grid: Grid,
    /// What is bound, column by column.
    bound: Vec<Bound>,
    blob: Vec<u8>,
}

/// What is bound to a column.
#[derive(Clone)]
enum Bound {
    /// Nothing yet, or a number that is not looked at.
    Other,
    Null,
    Text(String),
}

impl Binder {
    fn new(columns: usize, grid: Grid) -> Binder {
        Binder {
            grid,
            bound: vec![Bound::Other; columns],
            blob: vec![],
        }
    }

    fn insert(
        &mut self,
        insert: &mut Statement,
        fid: i64,
        row: &dyn Row,
    ) -> Result<Option<Bounds>> {
        insert.raw_bind_parameter(1, fid)?;
        let bounds = row
            .shape()
            .map(|s| blob::encode(&s, self.grid, &mut self.blob));
        let mut at = 2;
        if bounds.is_some() {
            insert.raw_bind_parameter(at, self.blob.as_slice())?;
            at += 1;
        }
        for column in 0..self.bound.len() {
            let value = row.value(column);
            if !self.is_bound(column, &value) {
                insert.raw_bind_parameter(at + column, as_stored(&value, self.grid))?;
            }
        }
        insert.raw_execute()?;
        Ok(bounds)
    }

    /// The value is bound already; notes it where it is not, for it will be.
    fn is_bound(&mut self, column: usize, value: &Value) -> bool {
        let bound = &mut self.bound[column];
        match (&mut *bound, value) {
            (Bound::Null, Value::Null) => return true,
            (Bound::Text(known), Value::Text(text)) => {
                if known == text {
                    return true;
                }
                known.clear();
                known.push_str(text);
            }
            (_, Value::Null) => *bound = Bound::Null,
            (_, Value::Text(text)) => *bound = Bound::Text(text.to_string()),
            _ => *bound = Bound::Other,
        }
        false
    }
}

/// The value as SQLite stores it; an easting or northing in the CRS's unit.
fn as_stored<'v>(value: &'v Value, grid: Grid) -> ToSqlOutput<'v> {
    match value {
        Value::Null => ToSqlOutput::from(rusqlite::types::Null),
        Value::Int(n) => (*n).into(),
        Value::Real(x) => (*x).into(),
        Value::Plan(metres) => (metres / grid.metres_per_unit).into(),
        Value::Bool(yes) => i64::from(*yes).into(),
        Value::Text(s) => s.as_ref().into(),
    }
}

fn register(
    c: &Connection,
    table: &Table,
    grid: Grid,
    whole: &Bounds,
    changed_at: &str,
) -> Result<()> {
    let side = |of: &[f64; 3], axis| (!whole.is_empty()).then_some(of[axis]);
    let (data_type, srs_id) = match table.geometry {
        Some(_) => ("features", grid.srs_id),
        None => ("attributes", 0),
    };
    // An identifier must be unlike all others; where somebody's layer has ours, ours goes without.
    c.execute(
        "INSERT INTO gpkg_contents
         (table_name, data_type, identifier, description, last_change, min_x, min_y, max_x, max_y, srs_id)
         VALUES (?1, ?2, CASE WHEN EXISTS (SELECT 1 FROM gpkg_contents WHERE identifier = ?1) THEN NULL ELSE ?1 END,
                 ?3, ?4, ?5, ?6, ?7, ?8, ?9)",
        params![
            table.name,
            data_type,
            table.description,
            changed_at,
            side(&whole.min, 0),
            side(&whole.min, 1),
            side(&whole.max, 0),
            side(&whole.max, 1),
            srs_id
        ],
    )?;
    Ok(())
}

fn register_geometry(c: &Connection, name: &str, kind: GeometryType, grid: Grid) -> Result<()> {
    c.execute(
        "INSERT INTO gpkg_geometry_columns (table_name, column_name, geometry_type_name, srs_id, z, m)
         VALUES (?1, 'geom', ?2, ?3, ?4, 0)",
        params![name, kind.name(), grid.srs_id, kind.has_z()],
    )?;
    Ok(())
}

/// The count that GDAL keeps, and the triggers that keep it.
fn count(c: &Connection, table: &Table) -> Result<()> {
    let name = table.name;
    c.execute(
        "INSERT OR REPLACE INTO gpkg_ogr_contents (table_name, feature_count) VALUES (?1, ?2)",
        params![name, table.rows.len() as i64],
    )?;
    c.execute_batch(&format!(
        "CREATE TRIGGER \"trigger_insert_feature_count_{name}\" AFTER INSERT ON \"{name}\" BEGIN
           UPDATE gpkg_ogr_contents SET feature_count = feature_count + 1 WHERE lower(table_name) = lower('{name}'); END;
         CREATE TRIGGER \"trigger_delete_feature_count_{name}\" AFTER DELETE ON \"{name}\" BEGIN
           UPDATE gpkg_ogr_contents SET feature_count = feature_count - 1 WHERE lower(table_name) = lower('{name}'); END;"
    ))
}

impl ColumnType {
    /// The SQL type (clause 1.1.1.1.3, table 1).
    fn name(self) -> &'static str {
        match self {
            ColumnType::Text => "TEXT",
            ColumnType::Integer => "INTEGER",
            ColumnType::Double => "DOUBLE",
            ColumnType::Boolean => "BOOLEAN",
            ColumnType::DateTime => "DATETIME",
        }
    }
}

impl GeometryType {
    /// The type's name without its dimension (annex G).
    fn name(self) -> &'static str {
        match self {
            GeometryType::PointZ => "POINT",
            GeometryType::LineString | GeometryType::LineStringZ => "LINESTRING",
            GeometryType::Polygon => "POLYGON",
            GeometryType::MultiPolygon => "MULTIPOLYGON",
        }
    }

    fn has_z(self) -> bool {
        matches!(self, GeometryType::PointZ | GeometryType::LineStringZ)
    }
}
