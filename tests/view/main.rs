//! `view`: what it serves, to whom, and what it shows of a file.

mod leaflet;
mod map;
#[allow(dead_code)]
#[path = "../cli/place.rs"]
mod place;
mod refused;
mod server;
mod shown;
