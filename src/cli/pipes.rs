//! Whether every route's pipe has a size and fits the rig.

use super::exit::{Exit, Failure};
use crate::{
    job::{JobFile, PipeSize, Role},
    read::Reading,
    site::Route,
};

/// Checks the pipe of every route.
///
/// # Errors
/// A nominal diameter without a size, or one that the rig does not bore.
pub fn check(reading: &Reading, file: &JobFile) -> Result<(), Failure> {
    for route in &reading.site.routes {
        let dn_mm = route.dn_mm.unwrap_or(file.job.pipe.dn_mm);
        if let Some(why) = unfit(file, dn_mm) {
            return Err(of_route(reading, file, route, dn_mm, &why));
        }
    }
    Ok(())
}

/// Why a nominal diameter cannot be bored, with what to do.
pub fn unfit(file: &JobFile, dn_mm: u32) -> Option<String> {
    let (pipe, rig) = (&file.job.pipe, &file.job.rig);
    let Some(size) = pipe.sizes.get(&dn_mm) else {
        return Some(no_size(file, dn_mm));
    };
    if dn_mm > rig.dn_max_mm {
        return Some(format!(
            "the rig bores up to rig.dn_max_mm = {}; choose another rig or pipe",
            rig.dn_max_mm
        ));
    }
    let PipeSize { od_mm, .. } = *size;
    let bore_mm = file.job.bore_mm(*size);
    (bore_mm < od_mm).then(|| {
        format!(
            "rig.bore_mm = {bore_mm} is less than the pipe's od_mm {od_mm}; leave rig.bore_mm out"
        )
    })
}

fn no_size(file: &JobFile, dn_mm: u32) -> String {
    let pipe = &file.job.pipe;
    let there: Vec<String> = pipe.sizes.keys().map(u32::to_string).collect();
    let materials: Vec<&str> = file
        .in_force
        .rule_set
        .materials
        .keys()
        .map(String::as_str)
        .collect();
    format!(
        "material \"{}\" has no such size (sizes there: {}; materials there: {}); give od_mm and id_mm under [pipe.sizes.{dn_mm}]",
        pipe.material,
        if there.is_empty() {
            "none".to_string()
        } else {
            there.join(", ")
        },
        materials.join(", "),
    )
}

fn of_route(reading: &Reading, file: &JobFile, route: &Route, dn_mm: u32, why: &str) -> Failure {
    let column = column(file);
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
        message: format!("{place}{}: {column}: DN {dn_mm}: {why}", route.at),
        file: path,
        layer: Some(route.at.layer.to_string()),
        fid: Some(route.at.fid),
        column: Some(column),
    }
}

/// The column of the routes that holds `dn_mm`.
fn column(file: &JobFile) -> String {
    let routes = file
        .layers
        .by_role
        .get(&Role::Routes)
        .and_then(|sources| sources.first());
    routes
        .and_then(|r| r.columns.get("dn_mm"))
        .cloned()
        .unwrap_or_else(|| "dn_mm".to_string())
}
