//! The structures of a GeoPackage, written directly, all within a transaction that the caller holds.
//!
//! Source: OGC GeoPackage Encoding Standard 12-128r18 (1.3) and, for the index triggers of files that say
//! they are 1.4, 12-128r19.

mod add;
mod base;
mod bulk;
mod index;
mod owned;
mod packed;
mod runs;
mod srs;
mod styles;

pub(super) use add::{enter, lay, take};
pub(super) use base::{create, prepare};
pub(super) use bulk::{Empty, fill, make_empty};
pub(super) use owned::{Refused, check, drop_layers};
pub(super) use runs::append_run;
pub(super) use styles::add_styles;
