//! The sha256 that a run notes of each input.
//!
//! It is of what was read: features in the order of their fid, each as fid, well-known binary and the role's values;
//! of a raster the window's place and its values. So it tells whether a result still belongs to its input,
//! and does not change when the file is copied, vacuumed or given another layer.

use super::values::Value;
use sha2::{Digest as _, Sha256};

#[derive(Clone, Default)]
pub(super) struct Digest(Sha256);

impl Digest {
    pub fn feature(&mut self, fid: i64, wkb: &[u8], values: &[Value]) {
        let mut bytes = Vec::with_capacity(16 * values.len());
        values.iter().for_each(|v| v.bytes(&mut bytes));
        self.bytes(fid, wkb, &bytes);
    }

    /// A feature whose values are bytes already, as [`Digest::feature`] makes them.
    pub fn bytes(&mut self, fid: i64, wkb: &[u8], values: &[u8]) {
        self.0.update(fid.to_le_bytes());
        self.0.update((wkb.len() as u64).to_le_bytes());
        self.0.update(wkb);
        self.0.update(values);
    }

    /// What was read in parts has the digest of its parts' digests, in order.
    pub fn of_part(&mut self, part: Digest) {
        self.0.update(part.0.finalize());
    }

    pub fn singles(&mut self, numbers: &[f32]) {
        let bytes: Vec<u8> = numbers.iter().flat_map(|n| n.to_le_bytes()).collect();
        self.0.update(bytes);
    }

    pub fn numbers(&mut self, numbers: &[f64]) {
        for some in numbers.chunks(4096) {
            let bytes: Vec<u8> = some.iter().flat_map(|n| n.to_le_bytes()).collect();
            self.0.update(bytes);
        }
    }

    pub fn hex(self) -> String {
        self.0
            .finalize()
            .iter()
            .map(|b| format!("{b:02x}"))
            .collect()
    }
}
