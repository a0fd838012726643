//! The report: rows of a plan in, one page and its drawings out.
//!
//! Pure: no files, no clock. Whoever has read the rows calls [`page()`] and [`drawings`]; the same rows give the same text.

mod bore;
mod clip;
mod crossed;
mod drive_sheet;
mod key;
pub(crate) mod marks;
mod model;
mod money;
mod notes;
mod owners;
mod page;
mod plan_drawing;
mod route;
mod section;
mod section_frame;
mod section_services;
mod section_table;
pub(crate) mod text;
mod view;

pub use bore::bore;
pub use crossed::Crossings;
pub use drive_sheet::verdict;
pub use model::{
    Blocker, Bore, Conflict, Cost, Hole, Input, Pit, Place, Report, RouteSheet, SectionPoint,
    Surroundings,
};
pub use notes::CAUTIONS;
pub use page::{HEADING, page};
pub use route::{Drawing, MARK, crossings, drawings};
