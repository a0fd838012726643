//! One row as SQLite stores it: the types of its values, then the values.

use super::varint;

/// Greatest whole number that is stored in six bytes.
const SIX_BYTES: i64 = (1 << 47) - 1;

/// A row as it is put together; its memory is used again for the next.
#[derive(Default)]
pub(crate) struct Record {
    types: Vec<u8>,
    body: Vec<u8>,
    /// How long the head is, as it stands before the types.
    head: Vec<u8>,
}

impl Record {
    /// Begins a row.
    pub fn clear(&mut self) {
        self.types.clear();
        self.body.clear();
    }

    /// Nothing; so too the key of the table, which is the number of the row.
    pub fn null(&mut self) {
        self.types.push(0);
    }

    /// A whole number, in as few bytes as hold it.
    pub fn int(&mut self, value: i64) {
        if let 0 | 1 = value {
            return self.types.push(8 + value as u8);
        }
        let size = match if value < 0 { !value } else { value } {
            0..=0x7f => 1,
            0x80..=0x7fff => 2,
            0x8000..=0x7f_ffff => 3,
            0x80_0000..=0x7fff_ffff => 4,
            0x8000_0000..=SIX_BYTES => 6,
            _ => 8,
        };
        self.types.push([0, 1, 2, 3, 4, 4, 5, 5, 6][size]);
        self.body
            .extend_from_slice(&value.to_be_bytes()[8 - size..]);
    }

    /// A measure in a column of measures: what is whole is stored as a whole number, where that is shorter. None is what is no number.
    pub fn real(&mut self, value: f64) {
        let whole = value as i64;
        if value.is_nan() {
            self.null();
        } else if whole as f64 == value && (!SIX_BYTES..=SIX_BYTES).contains(&whole) {
            self.int(whole);
        } else {
            self.types.push(7);
            self.body.extend_from_slice(&value.to_be_bytes());
        }
    }

    /// Words.
    pub fn text(&mut self, text: &str) {
        varint::put(13 + 2 * text.len() as u64, &mut self.types);
        self.body.extend_from_slice(text.as_bytes());
    }

    /// Bytes.
    pub fn blob(&mut self, bytes: &[u8]) {
        varint::put(12 + 2 * bytes.len() as u64, &mut self.types);
        self.body.extend_from_slice(bytes);
    }

    /// The row as it is stored, in pieces that follow each other.
    pub fn pieces(&mut self) -> [&[u8]; 3] {
        // The size of the head counts itself.
        let types = self.types.len() as u64;
        let mut head = types + varint::size(types) as u64;
        head = types + varint::size(head) as u64;
        self.head.clear();
        varint::put(head, &mut self.head);
        [&self.head, &self.types, &self.body]
    }
}
