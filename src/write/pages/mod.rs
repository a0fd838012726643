//! Whole tables laid into a database file as pages, by all threads at once, instead of row by row through SQLite.
//!
//! SQLite makes the file and the tables, empty. While it has the file closed, [`PageFile`] puts pages behind those that are there, full
//! leaves of rows first and then the levels above them, and the root where SQLite has made it. What SQLite finds when it opens the
//! file again is a file like any other. So this is for a file that nobody else knows of yet; one that is in use is changed by
//! SQLite alone, in its own transaction.
//!
//! # Source
//! SQLite documentation, "Database File Format" §1.3 (header), §1.6 (b-tree pages), §1.7 (overflow pages), §2.1 (records).

mod file;
mod leaves;
mod record;
#[cfg(test)]
mod tests;
mod varint;

pub(super) use file::PageFile;
pub(super) use leaves::Leaves;
pub(super) use record::Record;
