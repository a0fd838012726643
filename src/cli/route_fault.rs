//! A route or other feature that the job cannot be done with, told with its place.

use super::exit::{Exit, Failure};
use crate::{
    job::{JobFile, Role},
    read::Reading,
    site::{FeatureRef, Route},
};

/// The failure of a route: `what` is wrong with it, seen in the column that plays the part of `column`.
pub fn of_route(
    reading: &Reading,
    file: &JobFile,
    route: &Route,
    column: &str,
    what: &str,
) -> Failure {
    of_feature(reading, file, (Role::Routes, &route.at), column, what)
}

/// The same of any feature, with the role that its layer plays.
pub fn of_feature(
    reading: &Reading,
    file: &JobFile,
    (role, at): (Role, &FeatureRef),
    column: &str,
    what: &str,
) -> Failure {
    let column = column_of(file, role, column);
    let path = reading
        .inputs
        .iter()
        .find(|i| i.role == role)
        .map(|i| i.file.clone());
    let place = path
        .as_ref()
        .map_or(String::new(), |p| format!("{}: ", p.display()));
    Failure {
        exit: Exit::Input,
        message: format!("{place}{at}: {column}: {what}"),
        file: path,
        layer: Some(at.layer.to_string()),
        fid: Some(at.fid),
        column: Some(column),
    }
}

/// The name that a column of a role has in its table.
fn column_of(file: &JobFile, role: Role, column: &str) -> String {
    let sources = file.layers.by_role.get(&role);
    sources
        .and_then(|sources| sources.first())
        .and_then(|r| r.columns.get(column))
        .cloned()
        .unwrap_or_else(|| column.to_string())
}
