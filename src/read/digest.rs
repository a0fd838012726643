//! The sha256 that a run notes of each input.
//!
//! It is of what was read: features in the order of their fid, each as fid, well-known binary and the role's values;
//! of a raster the window's place and its values. So it tells whether a result still belongs to its input,
//! and does not change when the file is copied, vacuumed or given another layer.

use super::values::Value;
use sha2::{Digest as _, Sha256};

#[derive(Default)]
pub(super) struct Digest(Sha256);

impl Digest {
    pub fn feature(&mut self, fid: i64, wkb: &[u8], values: &[Value]) {
        self.0.update(fid.to_le_bytes());
        self.0.update((wkb.len() as u64).to_le_bytes());
        self.0.update(wkb);
        values.iter().for_each(|v| self.0.update(v.bytes()));
    }

    pub fn numbers(&mut self, numbers: &[f64]) {
        numbers.iter().for_each(|n| self.0.update(n.to_le_bytes()));
    }

    pub fn hex(self) -> String {
        self.0
            .finalize()
            .iter()
            .map(|b| format!("{b:02x}"))
            .collect()
    }
}
