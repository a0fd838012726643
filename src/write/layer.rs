//! How a result layer is declared, and the table that rows of it make.

use super::{Shape, Value};

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum ColumnType {
    /// Words.
    Text,
    /// Whole numbers.
    Integer,
    /// Measures.
    Double,
    /// Yes or no.
    Boolean,
    /// A moment, UTC.
    DateTime,
}

/// What the geometries of a layer are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum GeometryType {
    /// Points with levels.
    PointZ,
    /// Lines in plan.
    LineString,
    /// Lines with levels.
    LineStringZ,
    /// Areas.
    Polygon,
    /// Things of one or more areas.
    MultiPolygon,
}

/// A column of rows `R` and how to get its value.
#[derive(Debug)]
pub struct Column<R> {
    /// Name, as the interface fixes it.
    pub name: &'static str,
    /// What it holds.
    pub kind: ColumnType,
    /// Its value in a row.
    pub value: for<'a> fn(&'a R) -> Value<'a>,
}

/// The geometry of rows `R` and how to get it.
#[derive(Debug)]
pub struct Geometry<R> {
    /// What it is.
    pub kind: GeometryType,
    /// That of a row.
    pub shape: for<'a> fn(&'a R) -> Shape<'a>,
}

/// A result layer of rows `R`: its name, what it is, and its columns in the order of the interface.
#[derive(Debug)]
pub struct Layer<R: 'static> {
    /// Table name.
    pub name: &'static str,
    /// What it is, for people who meet it in a viewer.
    pub description: &'static str,
    /// Its geometry; none for a table of attributes.
    pub geometry: Option<Geometry<R>>,
    /// Its columns.
    pub columns: &'static [Column<R>],
}

impl<R> Layer<R> {
    /// The rows as a table, in the order given.
    pub fn table<'a>(&self, rows: &'a [R]) -> Table<'a> {
        Table {
            name: self.name,
            description: self.description,
            geometry: self.geometry.as_ref().map(|g| g.kind),
            columns: self.columns.iter().map(|c| (c.name, c.kind)).collect(),
            rows: rows.iter().map(|r| self.row(r)).collect(),
        }
    }

    fn row<'a>(&self, row: &'a R) -> Row<'a> {
        Row {
            shape: self.geometry.as_ref().map(|g| (g.shape)(row)),
            values: self.columns.iter().map(|c| (c.value)(row)).collect(),
        }
    }
}

/// A layer of rows that another layer declares, behind a column with a number.
#[derive(Debug)]
pub struct Numbered<R: 'static> {
    /// Table name.
    pub name: &'static str,
    /// What it is, for people who meet it in a viewer.
    pub description: &'static str,
    /// Name of the column with the number.
    pub number: &'static str,
    /// Where geometry and all other columns are declared.
    pub of: &'static Layer<R>,
}

impl<R> Numbered<R> {
    /// The rows as a table, in the order given.
    pub fn table<'a>(&self, rows: &'a [(u32, R)]) -> Table<'a> {
        let row = |(number, row): &'a (u32, R)| {
            let mut row = self.of.row(row);
            row.values.insert(0, (*number).into());
            row
        };
        let mut table = Table {
            name: self.name,
            description: self.description,
            rows: rows.iter().map(row).collect(),
            ..self.of.table(&[])
        };
        table.columns.insert(0, (self.number, ColumnType::Integer));
        table
    }
}

/// One row of a table.
#[derive(Debug, Clone, PartialEq)]
pub struct Row<'a> {
    /// Its geometry; none in a table of attributes.
    pub shape: Option<Shape<'a>>,
    /// One value a column.
    pub values: Vec<Value<'a>>,
}

/// A layer with its rows, in metres, ready to be written.
#[derive(Debug, Clone, PartialEq)]
pub struct Table<'a> {
    /// Table name.
    pub name: &'static str,
    /// What it is.
    pub description: &'static str,
    /// What its geometries are; none for a table of attributes.
    pub geometry: Option<GeometryType>,
    /// Its columns.
    pub columns: Vec<(&'static str, ColumnType)>,
    /// Its rows, in the order they are written.
    pub rows: Vec<Row<'a>>,
}

pub(super) const fn text<R>(
    name: &'static str,
    value: for<'a> fn(&'a R) -> Value<'a>,
) -> Column<R> {
    column(name, ColumnType::Text, value)
}

pub(super) const fn int<R>(name: &'static str, value: for<'a> fn(&'a R) -> Value<'a>) -> Column<R> {
    column(name, ColumnType::Integer, value)
}

pub(super) const fn real<R>(
    name: &'static str,
    value: for<'a> fn(&'a R) -> Value<'a>,
) -> Column<R> {
    column(name, ColumnType::Double, value)
}

pub(super) const fn flag<R>(
    name: &'static str,
    value: for<'a> fn(&'a R) -> Value<'a>,
) -> Column<R> {
    column(name, ColumnType::Boolean, value)
}

pub(super) const fn column<R>(
    name: &'static str,
    kind: ColumnType,
    value: for<'a> fn(&'a R) -> Value<'a>,
) -> Column<R> {
    Column { name, kind, value }
}
