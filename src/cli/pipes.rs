//! Whether every route's pipe has a size and fits the rig.

use super::{exit::Failure, route_fault::of_route};
use crate::{
    job::{JobFile, PipeSize},
    read::Reading,
};

/// Checks the pipe of every route.
///
/// # Errors
/// A nominal diameter without a size, or one that the rig does not bore.
pub fn check(reading: &Reading, file: &JobFile) -> Result<(), Failure> {
    for route in &reading.site.routes {
        let dn_mm = route.dn_mm.unwrap_or(file.job.pipe.dn_mm);
        if let Some(why) = unfit(file, dn_mm) {
            let what = format!("DN {dn_mm}: {why}");
            return Err(of_route(reading, file, route, "dn_mm", &what));
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
