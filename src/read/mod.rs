//! From files to a [`Site`](crate::site::Site): the door through which everything on and under the ground comes in.
//!
//! [`site`] reads what a plan, a check or a routing needs; [`inspect`] looks at every layer and says what is wrong with it.
//! GeoPackages are read through SQLite, everything else through GDAL. Both only ever read.

mod alike;
mod bore_rows;
mod bores;
mod carrier;
mod columns;
mod crs;
mod curve;
mod digest;
mod drawn;
mod earlier;
mod fault;
mod features;
mod fitting;
mod geopackage;
mod ground;
mod guess;
mod hush;
mod inspect;
mod joins;
mod line_blob;
mod nearby;
mod obstacles;
mod ogr;
mod opening;
mod plain_values;
mod planned;
mod polygons;
mod problem;
mod ranges;
mod raster;
mod records;
mod request;
mod results;
mod roles;
mod routes;
mod rows;
mod seen;
mod services;
mod shape;
mod site;
mod store;
mod surroundings;
mod table_pages;
mod tiles;
mod values;
mod wkb;

pub use crate::site::{CrsInfo, GivenBore};
pub use alike::alike;
pub use drawn::{DrawnRow, layer_crs};
pub use earlier::{Which, earlier};
pub use fault::{Fault, Place, ReadError, Severity};
pub use fitting::Fitting;
pub use geopackage::Trust;
pub use hush::{hush, last_words};
pub use inspect::{Inspection, LayerSeen, Plays, inspect};
pub use planned::{Planned, System, planned};
pub use problem::Problem;
pub use request::{Need, Progress, Request};
pub use results::{Cell, ResultRow, Results};
pub use roles::is_own_layer;
pub use seen::{Sight, bores_seen, results_seen, site_seen};
pub use site::{Input, Reading, site};
