//! The report: rows of a plan or a check in, pages and drawings out.
//!
//! Pure: no files, no clock. Whoever has read the rows calls [`plan_book`] or [`check_book`], and [`drawings`]; the same rows give the same text.

mod beside_trench;
mod bore;
mod chapter;
mod checked;
mod clip;
mod crossed;
mod drive_sheet;
mod key;
pub(crate) mod marks;
mod model;
mod money;
mod nearby;
mod notes;
mod page;
#[cfg(feature = "cli")]
pub mod paper;
mod plan_drawing;
mod register;
mod route;
mod section;
mod section_frame;
mod section_services;
mod section_table;
mod shared;
mod style;
pub(crate) mod text;
mod view;

pub use bore::bore;
pub use chapter::Layout;
pub use checked::check_book;
pub use crossed::Crossings;
pub use drive_sheet::verdict;
pub use model::{
    Blocker, Bore, Change, CheckReport, Compared, Conflict, Cost, Head, Hole, Input, Inspection,
    Pit, Place, Report, RouteSheet, SectionPoint, Task, give_holes,
};
pub use nearby::Surroundings;
pub use notes::CAUTIONS;
pub use page::{Book, HEADING, INDEX, Piece, plan_book};
pub use route::{MARK, drawings};
