//! The conflict register: what bores and pits come near, by the owner of the service, for a table and for letters.
//!
//! Pure: rows in, text out. Who writes it into files is `cli::register`.

mod cell;
mod group;
mod letter;
mod names;
mod sheet;

pub use cell::{number, words};
pub use group::{Entry, Group, OWNER_NOT_KNOWN, Register};
pub use letter::{HEADING, letter};
pub use names::file_name;
pub use sheet::{HEAD, head, row};

/// What every row's place is said in, and what the register is of.
#[derive(Debug, Clone, PartialEq)]
pub struct About {
    /// The site or job, for people.
    pub site: String,
    /// Coordinate system of eastings and northings.
    pub crs: String,
    /// Metres in one unit of it.
    pub unit_m: f64,
    /// Name of that unit.
    pub unit_name: String,
}
