//! The map page: what a window shows as JSON, the page around it, the page of a bore.
//!
//! Pure: no files, no network. `read::site_seen` and its sisters fill [`Seen`]; `cli::view` serves what is made here.

mod answer;
mod bore;
mod key;
mod page;
mod thing;

pub use answer::answer;
pub use bore::{CheckedBore, CheckedRow, checked_bore, planned_bore};
pub use page::{About, Listed, MOST_LISTED, page};
pub use thing::{MOST_SIGNS, MOST_THINGS, NotDrawn, Seen, Thing};
