//! A result layer as it was read back.

/// What a column holds.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Holds {
    /// Words.
    Text,
    /// Whole numbers.
    Integer,
    /// Measures.
    Real,
    /// Yes or no.
    Flag,
}

/// A column.
#[derive(Debug, Clone, PartialEq)]
pub struct Column {
    /// Its name.
    pub name: String,
    /// What it holds.
    pub holds: Holds,
}

/// A value of a row.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// Nothing.
    Null,
    /// A whole number.
    Integer(i64),
    /// A measure.
    Real(f64),
    /// Yes or no.
    Flag(bool),
    /// A word.
    Text(String),
}

/// A place: X and Y as the layer has them, the level in metres where there is one.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Position {
    /// East, or longitude.
    pub x: f64,
    /// North, or latitude.
    pub y: f64,
    /// Level (m above the job's height datum).
    pub z: Option<f64>,
}

/// Where a row lies. An area is its rings, the outer one first, each closed.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape {
    /// A point.
    Point(Position),
    /// A line.
    Line(Vec<Position>),
    /// An area.
    Polygon(Vec<Vec<Position>>),
    /// Areas that are one thing.
    MultiPolygon(Vec<Vec<Vec<Position>>>),
}

/// What the shapes of a layer are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// Points.
    Point,
    /// Lines.
    Line,
    /// Areas.
    Polygon,
    /// Things of one or more areas.
    MultiPolygon,
}

/// A row: its number in the file, where it lies, one value a column.
#[derive(Debug, Clone, PartialEq)]
pub struct Feature {
    /// Feature id.
    pub fid: i64,
    /// None where the file has none.
    pub shape: Option<Shape>,
    /// `values[i]` belongs to `columns[i]` of the layer.
    pub values: Vec<Value>,
}

/// A layer with its rows by fid.
#[derive(Debug, Clone, PartialEq)]
pub struct Layer {
    /// Table name.
    pub name: String,
    /// What its shapes are.
    pub kind: Kind,
    /// Whether its places have levels.
    pub has_levels: bool,
    /// Columns, in the order of the file.
    pub columns: Vec<Column>,
    /// Rows.
    pub features: Vec<Feature>,
}

impl Shape {
    /// Every place of it.
    pub fn positions(&self) -> Vec<Position> {
        match self {
            Shape::Point(p) => vec![*p],
            Shape::Line(line) => line.clone(),
            Shape::Polygon(rings) => rings.concat(),
            Shape::MultiPolygon(areas) => areas.concat().concat(),
        }
    }

    /// The same shape with every place changed.
    pub fn map(&mut self, change: &mut dyn FnMut(&mut Position)) {
        match self {
            Shape::Point(p) => change(p),
            Shape::Line(line) => line.iter_mut().for_each(change),
            Shape::Polygon(rings) => rings.iter_mut().flatten().for_each(change),
            Shape::MultiPolygon(areas) => areas.iter_mut().flatten().flatten().for_each(change),
        }
    }
}

impl Layer {
    /// The value of a row in a column; none where the layer has no such column.
    pub fn value<'a>(&self, row: &'a Feature, column: &str) -> Option<&'a Value> {
        let at = self.columns.iter().position(|c| c.name == column)?;
        row.values.get(at)
    }

    /// A number; none where the column is empty or not there.
    pub fn number(&self, row: &Feature, column: &str) -> Option<f64> {
        match self.value(row, column)? {
            Value::Real(x) => Some(*x),
            Value::Integer(n) => Some(*n as f64),
            Value::Flag(yes) => Some(f64::from(*yes)),
            _ => None,
        }
    }

    /// A word; empty where the column is empty or not there.
    pub fn word<'a>(&self, row: &'a Feature, column: &str) -> &'a str {
        match self.value(row, column) {
            Some(Value::Text(word)) => word,
            _ => "",
        }
    }

    /// The first row whose column holds the word.
    pub fn find(&self, column: &str, word: &str) -> Option<&Feature> {
        self.features.iter().find(|f| self.word(f, column) == word)
    }
}

impl Value {
    /// As people read it; yes and no for flags.
    pub fn said(&self) -> String {
        match self {
            Value::Null => String::new(),
            Value::Integer(n) => n.to_string(),
            Value::Real(x) => x.to_string(),
            Value::Flag(yes) => if *yes { "yes" } else { "no" }.to_string(),
            Value::Text(word) => word.clone(),
        }
    }
}
