//! Values of the usual kind straight from SQLite: numbers where numbers belong, words that are met again and again.

use super::geopackage::value;
use rusqlite::types::ValueRef;

/// A number or nothing; none where it is neither.
pub(super) fn number(v: ValueRef) -> Option<Option<f64>> {
    match v {
        ValueRef::Null => Some(None),
        ValueRef::Integer(n) => Some(Some(n as f64)),
        ValueRef::Real(r) if r.is_finite() => Some(Some(r)),
        _ => None,
    }
}

/// What words mean, each looked up once.
pub(super) struct Words<T>(Vec<(Vec<u8>, Option<T>)>);

impl<T> Default for Words<T> {
    fn default() -> Words<T> {
        Words(vec![])
    }
}

impl<T: Copy> Words<T> {
    /// The meaning of a word; none where it has none.
    pub fn of(&mut self, word: &[u8], mean: impl FnOnce(&str) -> Option<T>) -> Option<T> {
        if let Some((_, known)) = self.0.iter().find(|w| w.0 == word) {
            return *known;
        }
        let meaning = std::str::from_utf8(word).ok().and_then(mean);
        // A column of free text is no list of words.
        if self.0.len() < 32 {
            self.0.push((word.to_vec(), meaning));
        }
        meaning
    }
}

/// A word without the blanks around it, none for nothing but blanks. No answer where it is anything but a word or nothing.
pub(super) fn text(v: ValueRef<'_>) -> Option<Option<&str>> {
    match v {
        ValueRef::Null => Some(None),
        ValueRef::Text(t) => {
            let text = std::str::from_utf8(t).ok()?.trim();
            Some(Some(text).filter(|t| !t.is_empty()))
        }
        _ => None,
    }
}

/// Appends what [`super::values::Value::bytes`] would.
pub(super) fn bytes(v: ValueRef, out: &mut Vec<u8>) {
    match v {
        ValueRef::Text(t) if std::str::from_utf8(t).is_ok() => {
            out.push(b't');
            out.extend((t.len() as u64).to_le_bytes());
            out.extend(t);
        }
        other => value(other).bytes(out),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn bytes_are_those_of_the_value() {
        let (odd, word) = ([0xff, b'a'], "gas ü");
        for v in [
            ValueRef::Null,
            ValueRef::Integer(-7),
            ValueRef::Real(0.5),
            ValueRef::Text(word.as_bytes()),
            ValueRef::Text(&odd),
            ValueRef::Blob(&odd),
        ] {
            let (mut plain, mut general) = (vec![], vec![]);
            bytes(v, &mut plain);
            value(v).bytes(&mut general);
            assert_eq!(plain, general, "{v:?}");
        }
    }

    #[test]
    fn a_word_loses_its_blanks_and_a_number_is_none() {
        assert_eq!(text(ValueRef::Text(b" us ")), Some(Some("us")));
        assert_eq!(text(ValueRef::Text(b"  ")), Some(None));
        assert_eq!(text(ValueRef::Integer(3)), None);
    }
}
