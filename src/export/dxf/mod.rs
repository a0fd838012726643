//! The drawing as DXF, of the release that every drawing program reads.
//!
//! # Source
//! Autodesk, DXF Reference, release 12 (AC1009): sections, tables, `POLYLINE` of three dimensions (flag 8), closed (flag 1),
//! `TEXT` with its justification, `\U+XXXX` for what ASCII lacks. From memory; held by two readers in the tests.
//! Heights of text are those of ISO 3098 on paper (2.5 and 3.5 mm), from memory, at the drawing's scale.

mod layers;
mod pen;
mod sheet;

pub use sheet::{Sheet, drawing};
