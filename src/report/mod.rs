//! The report: rows of a plan in, one page and its drawings out.
//!
//! Pure: no files, no clock. Whoever has read the rows calls [`page()`] and [`drawings`]; the same rows give the same text.

mod beside_trench;
mod clip;
mod crossed;
mod drive_sheet;
mod key;
mod marks;
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
mod text;
mod view;

pub use crossed::Crossings;
pub use model::{
    Blocker, Bore, Compared, Conflict, Cost, Hole, Input, Pit, Place, Report, RouteSheet,
    SectionPoint, Surroundings, Task,
};
pub use notes::CAUTIONS;
pub use page::{HEADING, page};
pub use route::{Drawing, MARK, drawings};
