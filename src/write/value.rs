//! What one row holds: column values and a shape, in metres.

use crate::plan::Point3;
use geo::{Coord, Polygon};
use std::borrow::Cow;

/// The value of one column.
#[derive(Debug, Clone, PartialEq)]
pub enum Value<'a> {
    /// Nothing known.
    Null,
    /// A whole number.
    Int(i64),
    /// A measure, in the unit that the column's name says.
    Real(f64),
    /// An easting or northing in metres; written in the CRS's unit.
    Plan(f64),
    /// Yes or no.
    Bool(bool),
    /// A word.
    Text(Cow<'a, str>),
}

impl Value<'_> {
    /// Ids as one word: sorted, between commas.
    pub fn list(ids: &[String]) -> Value<'static> {
        let mut sorted: Vec<&str> = ids.iter().map(String::as_str).collect();
        sorted.sort_unstable();
        Value::Text(sorted.join(",").into())
    }
}

impl From<f64> for Value<'_> {
    fn from(x: f64) -> Self {
        Value::Real(x)
    }
}

impl From<i64> for Value<'_> {
    fn from(n: i64) -> Self {
        Value::Int(n)
    }
}

impl From<u32> for Value<'_> {
    fn from(n: u32) -> Self {
        Value::Int(n.into())
    }
}

impl From<bool> for Value<'_> {
    fn from(yes: bool) -> Self {
        Value::Bool(yes)
    }
}

impl<'a> From<&'a str> for Value<'a> {
    fn from(s: &'a str) -> Self {
        Value::Text(s.into())
    }
}

impl<'a> From<&'a String> for Value<'a> {
    fn from(s: &'a String) -> Self {
        Value::Text(s.as_str().into())
    }
}

impl<'a, T: Into<Value<'a>>> From<Option<T>> for Value<'a> {
    fn from(maybe: Option<T>) -> Self {
        maybe.map_or(Value::Null, Into::into)
    }
}

/// The geometry of one row. Plan coordinates in job metres, levels in metres.
#[derive(Debug, Clone, PartialEq)]
pub enum Shape<'a> {
    /// A point with a level.
    PointZ(Point3),
    /// A line in plan.
    Line(Cow<'a, [Coord<f64>]>),
    /// A line with levels.
    LineZ(Cow<'a, [Point3]>),
    /// An area.
    Polygon(&'a Polygon<f64>),
    /// Areas that are one thing.
    MultiPolygon(&'a [Polygon<f64>]),
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_list_is_sorted_whatever_order_it_came_in() {
        let ids = ["B3", "B1", "B2"].map(String::from);
        assert_eq!(Value::list(&ids), Value::from("B1,B2,B3"));
    }

    #[test]
    fn an_empty_list_is_an_empty_word() {
        assert_eq!(Value::list(&[]), Value::from(""));
    }

    #[test]
    fn nothing_is_null() {
        assert_eq!(Value::from(None::<f64>), Value::Null);
    }
}
