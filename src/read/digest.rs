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

    /// What stands before the values of a feature, appended to bytes that are digested later.
    pub fn head(fid: i64, wkb: &[u8], out: &mut Vec<u8>) {
        out.extend(fid.to_le_bytes());
        out.extend((wkb.len() as u64).to_le_bytes());
        out.extend(wkb);
    }

    /// Bytes as they are.
    pub fn plain(&mut self, bytes: &[u8]) {
        self.0.update(bytes);
    }

    /// What was read in parts has the digest of its parts' digests, in order.
    pub fn of_part(&mut self, part: Digest) {
        self.0.update(part.0.finalize());
    }

    pub fn singles(&mut self, numbers: &[f32]) {
        // Some at a time, through memory that stays at hand.
        let mut bytes = [0; 4 * 1024];
        for some in numbers.chunks(1024) {
            let bytes = &mut bytes[..4 * some.len()];
            for (to, n) in bytes.chunks_exact_mut(4).zip(some) {
                to.copy_from_slice(&n.to_le_bytes());
            }
            self.0.update(bytes);
        }
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
