//! A route that the job cannot be done with, told with its place.

use super::exit::{Exit, Failure};
use crate::{
    job::{JobFile, Role},
    read::Reading,
    site::Route,
};

/// The failure of a route: `what` is wrong with it, seen in the column that plays the part of `column`.
pub fn of_route(
    reading: &Reading,
    file: &JobFile,
    route: &Route,
    column: &str,
    what: &str,
) -> Failure {
    let column = column_of(file, column);
    let path = reading
        .inputs
        .iter()
        .find(|i| i.role == Role::Routes)
        .map(|i| i.file.clone());
    let place = path
        .as_ref()
        .map_or(String::new(), |p| format!("{}: ", p.display()));
    Failure {
        exit: Exit::Input,
        message: format!("{place}{}: {column}: {what}", route.at),
        file: path,
        layer: Some(route.at.layer.to_string()),
        fid: Some(route.at.fid),
        column: Some(column),
    }
}

/// The name that a column of the routes has in its table.
fn column_of(file: &JobFile, column: &str) -> String {
    let routes = file
        .layers
        .by_role
        .get(&Role::Routes)
        .and_then(|sources| sources.first());
    routes
        .and_then(|r| r.columns.get(column))
        .cloned()
        .unwrap_or_else(|| column.to_string())
}
