//! Keys and values of a job file, one by one.

use std::{borrow::Borrow, fmt};

/// A key with the tables it stands in, such as `rules.clearance.gas.pit_m`.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Default)]
pub struct KeyPath(pub Vec<String>);

/// A value of the job file.
#[derive(Debug, Clone, PartialEq)]
pub enum Value {
    /// A length, price, share ...
    Number(f64),
    /// A nominal diameter.
    Whole(u32),
    /// A name or a word of a list.
    Text(String),
}

impl KeyPath {
    /// The path of a key as written with dots.
    pub fn of(dotted: &str) -> KeyPath {
        KeyPath(dotted.split('.').map(str::to_string).collect())
    }

    /// This table's key.
    pub fn join(&self, key: &str) -> KeyPath {
        KeyPath(
            self.0
                .iter()
                .map(String::as_str)
                .chain([key])
                .map(str::to_string)
                .collect(),
        )
    }

    /// Whether it stands in that table, at any depth.
    pub fn is_in(&self, table: &KeyPath) -> bool {
        self.0.len() > table.0.len() && self.0.starts_with(&table.0)
    }

    /// The last part; empty only for the empty path.
    pub fn name(&self) -> &str {
        self.0.last().map_or("", String::as_str)
    }

    /// The table it stands in.
    pub fn table(&self) -> KeyPath {
        KeyPath(self.0[..self.0.len().saturating_sub(1)].to_vec())
    }
}

impl fmt::Display for KeyPath {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let parts: Vec<String> = self.0.iter().map(|p| bare_or_quoted(p)).collect();
        f.write_str(&parts.join("."))
    }
}

impl Borrow<[String]> for KeyPath {
    fn borrow(&self) -> &[String] {
        &self.0
    }
}

/// A key as TOML writes it: bare where that is allowed.
fn bare_or_quoted(part: &str) -> String {
    let bare = |c: char| c.is_ascii_alphanumeric() || c == '_' || c == '-';
    if !part.is_empty() && part.chars().all(bare) {
        part.to_string()
    } else {
        toml::Value::String(part.to_string()).to_string()
    }
}

impl Value {
    /// The same value in TOML.
    pub fn to_toml(&self) -> toml::Value {
        match self {
            Value::Number(n) => toml::Value::Float(*n),
            Value::Whole(n) => toml::Value::Integer((*n).into()),
            Value::Text(s) => toml::Value::String(s.clone()),
        }
    }
}

impl fmt::Display for Value {
    /// As people read it: numbers without a needless fraction, words without quotes.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Value::Number(n) => write!(f, "{n}"),
            Value::Whole(n) => write!(f, "{n}"),
            Value::Text(s) => f.write_str(s),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_path_prints_as_toml_reads_it() {
        assert_eq!(KeyPath::of("rig.reach_m").to_string(), "rig.reach_m");
        let odd = KeyPath::of("rig.reach_by_class").join("class 4.5");
        assert_eq!(odd.to_string(), "rig.reach_by_class.\"class 4.5\"");
    }

    #[test]
    fn a_table_does_not_stand_in_itself() {
        let table = KeyPath::of("rules.clearance");
        assert!(!table.is_in(&table));
        assert!(KeyPath::of("rules.clearance.gas.pit_m").is_in(&table));
        assert!(!KeyPath::of("rules.clearance_x").is_in(&table));
    }
}
