//! Values as they lie in a table, and what may be made of them.

/// One value of one feature.
#[derive(Debug, Clone, PartialEq)]
pub(super) enum Value {
    Null,
    Int(i64),
    Real(f64),
    Text(String),
}

impl Value {
    /// As written, without the blanks around; none for null and for nothing but blanks.
    pub fn text(&self) -> Option<String> {
        let text = match self {
            Value::Null => return None,
            Value::Int(i) => i.to_string(),
            Value::Real(r) => r.to_string(),
            Value::Text(t) => t.trim().to_string(),
        };
        (!text.is_empty()).then_some(text)
    }

    /// A finite number; text only where it is a plain decimal. `Err` holds what was there instead.
    pub fn number(&self) -> Result<Option<f64>, String> {
        let number = match self {
            Value::Null => return Ok(None),
            Value::Int(i) => Some(*i as f64),
            Value::Real(r) => Some(*r),
            Value::Text(t) if t.trim().is_empty() => return Ok(None),
            Value::Text(t) if is_plain_decimal(t.trim()) => t.trim().parse().ok(),
            Value::Text(_) => None,
        };
        let number = number.filter(|n: &f64| n.is_finite());
        (number.map(Some)).ok_or_else(|| self.text().unwrap_or_default())
    }

    /// Yes or no. `Err` holds what was there instead.
    pub fn flag(&self) -> Result<Option<bool>, String> {
        let Some(text) = self.text() else {
            return Ok(None);
        };
        match text.to_ascii_lowercase().as_str() {
            "1" | "yes" | "true" => Ok(Some(true)),
            "0" | "no" | "false" => Ok(Some(false)),
            _ => Err(text),
        }
    }

    /// Appends bytes that tell this value from every other, for a digest.
    pub fn bytes(&self, out: &mut Vec<u8>) {
        let mut put = |tag: u8, rest: &[u8]| {
            out.push(tag);
            out.extend((rest.len() as u64).to_le_bytes());
            out.extend(rest);
        };
        match self {
            Value::Null => put(b'n', &[]),
            Value::Int(i) => put(b'i', &i.to_le_bytes()),
            Value::Real(r) => put(b'r', &r.to_le_bytes()),
            Value::Text(t) => put(b't', t.as_bytes()),
        }
    }
}

/// Digits with at most one point and a sign before them: `300`, `-1.5`. Not `4"`, `1e3`, `1,5` or `inf`.
fn is_plain_decimal(text: &str) -> bool {
    let digits = text.strip_prefix(['-', '+']).unwrap_or(text);
    digits.bytes().all(|b| b.is_ascii_digit() || b == b'.')
        && digits.bytes().any(|b| b.is_ascii_digit())
        && digits.bytes().filter(|b| *b == b'.').count() <= 1
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn only_plain_numbers_are_taken_from_text() {
        let n = |t: &str| Value::Text(t.into()).number();
        assert_eq!(n("300"), Ok(Some(300.0)));
        assert_eq!(n(" -1.5 "), Ok(Some(-1.5)));
        assert_eq!(n(""), Ok(None));
        for dirty in [
            "4\"", "block", "1,5", "1e3", "inf", "NaN", "1.2.3", "-", "300 mm",
        ] {
            assert_eq!(n(dirty), Err(dirty.to_string()));
        }
        assert!(Value::Real(f64::NAN).number().is_err());
    }

    #[test]
    fn yes_and_no_are_known_in_every_form() {
        for (v, want) in [
            ("Yes", true),
            ("true", true),
            ("1", true),
            ("no", false),
            ("FALSE", false),
            ("0", false),
        ] {
            assert_eq!(Value::Text(v.into()).flag(), Ok(Some(want)));
        }
        assert_eq!(Value::Int(1).flag(), Ok(Some(true)));
        assert_eq!(Value::Real(0.0).flag(), Ok(Some(false)));
        assert!(Value::Text("maybe".into()).flag().is_err());
    }
}
