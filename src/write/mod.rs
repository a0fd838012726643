//! What was found, written down: result layers as tables of a GeoPackage.
//!
//! `tables` turns rows of the core into [`Table`]s, in metres; [`layers`] puts tables into a file in one
//! transaction and turns plan coordinates to the CRS's unit on the way. A layer is declared once, in
//! `tables/`, as a list of columns with a getter each; nothing else knows its columns.

mod aside;
mod blob;
mod draft;
mod error;
mod flatgeobuf;
mod geopackage;
mod journal;
mod layer;
mod pages;
mod run;
mod styles;
mod tables;
mod target;
mod value;

pub use crate::{plan::Word, site::CrsInfo};
pub use error::WriteError;
pub use flatgeobuf::flatgeobuf;
pub use layer::{
    Column, ColumnType, Geometry, GeometryType, Layer, Numbered, Row, Rows, See, Table,
};
pub use run::{RunRecord, layers, may_write};
pub use styles::{STYLES, Style, style_of};
pub use tables::{
    AFFECTED_LOTS, ALTERNATIVE_BORES, ALTERNATIVE_PITS, ALTERNATIVES, BORE_CONFLICTS,
    BORE_INSPECTIONS, CONFLICT_CHANGES, COST_ITEMS, LONG_SECTIONS, PROPOSED_BORES, PROPOSED_PITS,
    RUNS, TEST_HOLES, check_tables, plan_tables,
};
pub use target::{LOCK_WAIT, Target};
pub use value::{Shape, Value};
