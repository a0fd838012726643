//! Planned layers as other programs take them: text made of values, without a file, a clock or GDAL.
//!
//! [`geojson`] and [`kml`] take layers in degrees, [`drawing`] and [`schedule`] in the job's system. What comes in is a
//! [`Layer`] a table, read back by `read::planned`; what goes out is the text of one file.

mod axis;
mod cell;
mod dxf;
mod geojson;
mod kml;
mod labels;
mod layer;
mod level;
mod measure;
mod orient;
mod schedule;

pub use dxf::{Sheet, drawing};
pub use geojson::geojson;
pub use kml::kml;
pub use layer::{Column, Feature, Holds, Kind, Layer, Position, Shape, Value};
pub use level::with_levels;
pub use measure::Unit;
pub use schedule::{Beside, schedule};
