//! What `write` puts into a GeoPackage, and what it leaves alone.

mod bulk;
mod degrees;
mod dump;
mod failing;
mod kill;
mod lock;
mod one_sqlite;
mod out;
mod reopen;
mod replace;
mod schema;
mod site;
mod styles;
mod synthetic;
mod validators;
mod victim;
