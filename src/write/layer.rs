//! How a result layer is declared, and the table that rows of it make.

use super::{Shape, Value};
use std::ops::Range;

/// So many rows are told of before they are made.
const AHEAD: usize = 256;

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

impl<R: Send + Sync> Layer<R> {
    /// The rows as a table, in the order given.
    pub fn table<'a>(&'static self, rows: &'a [R]) -> Table<'a> {
        self.with(rows.len(), move |some, see: See| {
            for row in &rows[some] {
                see(&LayerRow { layer: self, row });
            }
        })
    }

    /// A table of `n` rows that are made when they are written, one by one, so that they need not be in memory together.
    /// `make` is given the row before, whose memory it may use again; `fetch` is told which rows come next.
    pub fn made<'a>(
        &'static self,
        n: usize,
        fetch: impl Fn(Range<usize>) + Sync + 'a,
        make: impl Fn(usize, Option<R>) -> R + Sync + 'a,
    ) -> Table<'a> {
        self.with(n, move |some, see: See| {
            let mut spent = None;
            for from in some.clone().step_by(AHEAD) {
                let next = from..some.end.min(from + AHEAD);
                fetch(next.clone());
                for i in next {
                    let row = make(i, spent.take());
                    see(&LayerRow {
                        layer: self,
                        row: &row,
                    });
                    spent = Some(row);
                }
            }
        })
    }

    fn with<'a>(&self, n: usize, see: impl Fn(Range<usize>, See) + Sync + 'a) -> Table<'a> {
        Table {
            name: self.name,
            description: self.description,
            geometry: self.geometry.as_ref().map(|g| g.kind),
            columns: self.columns.iter().map(|c| (c.name, c.kind)).collect(),
            rows: Rows {
                n,
                see: Box::new(see),
            },
        }
    }
}

/// A row with the layer that declares its columns.
struct LayerRow<'a, R: 'static> {
    layer: &'static Layer<R>,
    row: &'a R,
}

impl<R> Row for LayerRow<'_, R> {
    fn shape(&self) -> Option<Shape<'_>> {
        self.layer.geometry.as_ref().map(|g| (g.shape)(self.row))
    }

    fn value(&self, column: usize) -> Value<'_> {
        (self.layer.columns[column].value)(self.row)
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

impl<R: Send + Sync> Numbered<R> {
    /// The rows as a table, in the order given.
    pub fn table<'a>(&self, rows: &'a [(u32, R)]) -> Table<'a> {
        let layer = self.of;
        let see = move |some: Range<usize>, see: See| {
            for (number, row) in &rows[some] {
                see(&NumberedRow {
                    number: *number,
                    row: LayerRow { layer, row },
                });
            }
        };
        let mut table = Table {
            name: self.name,
            description: self.description,
            ..layer.with(rows.len(), see)
        };
        table.columns.insert(0, (self.number, ColumnType::Integer));
        table
    }
}

/// A row behind its number.
struct NumberedRow<'a, R: 'static> {
    number: u32,
    row: LayerRow<'a, R>,
}

impl<R> Row for NumberedRow<'_, R> {
    fn shape(&self) -> Option<Shape<'_>> {
        self.row.shape()
    }

    fn value(&self, column: usize) -> Value<'_> {
        match column.checked_sub(1) {
            None => self.number.into(),
            Some(column) => self.row.value(column),
        }
    }
}

/// One row of a table.
pub trait Row {
    /// Its geometry; none in a table of attributes.
    fn shape(&self) -> Option<Shape<'_>>;

    /// The value of a column.
    fn value(&self, column: usize) -> Value<'_>;
}

/// Looks at a row.
pub type See<'s> = &'s mut dyn FnMut(&dyn Row);

/// Looks at some rows.
type SeeSome<'a> = dyn Fn(Range<usize>, See) + Sync + 'a;

/// The rows of a table, in the order they are written. They may be made only when they are looked at.
pub struct Rows<'a> {
    n: usize,
    see: Box<SeeSome<'a>>,
}

impl Rows<'_> {
    /// How many.
    pub fn len(&self) -> usize {
        self.n
    }

    /// None.
    pub fn is_empty(&self) -> bool {
        self.n == 0
    }

    /// Looks at some of them, one by one in their order.
    pub fn see(&self, some: Range<usize>, see: See) {
        (self.see)(some, see)
    }
}

/// A layer with its rows, in metres, ready to be written.
pub struct Table<'a> {
    /// Table name.
    pub name: &'static str,
    /// What it is.
    pub description: &'static str,
    /// What its geometries are; none for a table of attributes.
    pub geometry: Option<GeometryType>,
    /// Its columns.
    pub columns: Vec<(&'static str, ColumnType)>,
    /// Its rows.
    pub rows: Rows<'a>,
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
