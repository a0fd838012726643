//! TOML text as a tree that knows its lines.

use super::{
    error::{JobError, JobFault},
    keys::Shape,
    value::{KeyPath, Value},
};
use toml::de::{DeTable, DeValue};

/// One text that is being read, for its name and lines.
#[derive(Debug, Clone, Copy)]
pub struct Source<'a> {
    /// Name of the file.
    pub name: &'a str,
    /// All of it.
    pub text: &'a str,
}

impl<'a> Source<'a> {
    /// The text as a tree.
    ///
    /// # Errors
    /// [`JobFault::Syntax`] where it is not TOML.
    pub fn tree(&self) -> Result<DeTable<'a>, JobError> {
        let parsed = DeTable::parse(self.text).map_err(|e| {
            let line = e.span().map(|s| self.line(s.start));
            JobError::new(self.name, line, JobFault::Syntax(e.message().to_string()))
        })?;
        Ok(parsed.into_inner())
    }

    /// Line of a place in the text, counted from 1.
    pub fn line(&self, at: usize) -> usize {
        1 + self.text.bytes().take(at).filter(|b| *b == b'\n').count()
    }

    /// An error at a place in the text.
    pub fn error(&self, at: usize, fault: JobFault) -> JobError {
        JobError::new(self.name, Some(self.line(at)), fault)
    }

    /// The value as one of the shape that its key takes.
    ///
    /// # Errors
    /// [`JobFault::BadValue`] where it does not fit.
    pub fn value(
        &self,
        key: &KeyPath,
        shape: Shape,
        raw: &DeValue,
        at: usize,
    ) -> Result<Value, JobError> {
        let value = match (raw, number(raw)) {
            (DeValue::String(s), _) => shape.text(s),
            (_, Some(n)) => shape.number(n),
            _ => None,
        };
        value.ok_or_else(|| self.bad(key, raw, at, shape.expected()))
    }

    /// The error that a value does not fit.
    pub fn bad(&self, key: &KeyPath, raw: &DeValue, at: usize, expected: String) -> JobError {
        self.error(
            at,
            JobFault::BadValue {
                key: key.to_string(),
                seen: seen(raw),
                expected,
            },
        )
    }
}

/// The number in a value, if it is one.
pub fn number(raw: &DeValue) -> Option<f64> {
    match raw {
        DeValue::Integer(i) => i64::from_str_radix(i.as_str(), i.radix())
            .ok()
            .map(|n| n as f64),
        DeValue::Float(f) => f.as_str().parse().ok(),
        _ => None,
    }
}

/// A value as people would call it.
fn seen(raw: &DeValue) -> String {
    match raw {
        DeValue::String(s) => format!("\"{s}\""),
        DeValue::Integer(i) => i.to_string(),
        DeValue::Float(f) => f.to_string(),
        DeValue::Boolean(b) => b.to_string(),
        DeValue::Datetime(d) => d.to_string(),
        DeValue::Array(_) => "a list".to_string(),
        DeValue::Table(_) => "a table".to_string(),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn lines_count_from_one() {
        let source = Source {
            name: "job.toml",
            text: "a = 1\nb = 2\n",
        };
        assert_eq!(source.line(0), 1);
        assert_eq!(source.line(6), 2);
    }

    #[test]
    fn a_text_that_is_not_toml_names_its_line() {
        let source = Source {
            name: "job.toml",
            text: "[rig]\nreach_m = = 3\n",
        };
        let error = source.tree().expect_err("two equal signs");
        assert_eq!(error.line, Some(2));
        assert!(matches!(*error.fault, JobFault::Syntax(_)));
    }
}
