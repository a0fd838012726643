//! What must hold for any input.

mod access;
mod chance;
mod exhaustive;
mod plain_search;
mod small_site;
