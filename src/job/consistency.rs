//! Values that are each possible but not together.

use super::{error::JobFault, settings::*};

/// Checks a job, and through it the rule set it starts from.
///
/// # Errors
/// The first rule broken, with the key that breaks it.
pub fn check(job: &Job) -> Result<(), JobFault> {
    grades(job)?;
    depth_bands(job)?;
    separations(job)?;
    drops(job)?;
    pipes(job)
}

/// Minimum grade may not rise with diameter, nor pass the maximum.
fn grades(job: &Job) -> Result<(), JobFault> {
    let rules = &job.rules;
    for ((_, flat), (dn, steep)) in rules.min_grade.iter().zip(rules.min_grade.iter().skip(1)) {
        if steep > flat {
            let why = format!(
                "minimum grade may not rise with diameter, but {steep} is above the {flat} of a smaller pipe"
            );
            return Err(fault(&format!("rules.min_grade.{dn}"), why));
        }
    }
    let least = rules.min_grade(job.pipe.dn_mm);
    not_above("rules.min_grade", least, "rules.max_grade", rules.max_grade)?;
    not_above(
        "rig.grade_min",
        job.rig.grade_min,
        "rig.grade_max",
        job.rig.grade_max,
    )
}

fn depth_bands(job: &Job) -> Result<(), JobFault> {
    for (kind, band) in &job.rules.depth_band {
        let key = |end| format!("rules.depth_band.{kind}.{end}");
        not_above(&key("min_m"), band.min_m, &key("max_m"), band.max_m)?;
    }
    Ok(())
}

/// What is far enough apart in plan is farther than what must be apart in level.
fn separations(job: &Job) -> Result<(), JobFault> {
    for (kind, s) in &job.rules.separation {
        let key = |end| format!("rules.separation.{kind}.{end}");
        not_above(
            &key("vertical_m"),
            s.vertical_m,
            &key("horizontal_m"),
            s.horizontal_m,
        )?;
    }
    Ok(())
}

fn drops(job: &Job) -> Result<(), JobFault> {
    let rules = &job.rules;
    let greatest = rules.manhole_drop_max_m.unwrap_or(f64::INFINITY);
    not_above(
        "rules.manhole_drop_m",
        rules.manhole_drop_m,
        "rules.manhole_drop_max_m",
        greatest,
    )
}

/// A pipe has a wall, and fits the bore where one is stated.
fn pipes(job: &Job) -> Result<(), JobFault> {
    for (dn, size) in &job.pipe.sizes {
        if size.id_mm >= size.od_mm {
            let why = format!(
                "id_mm {} must be less than od_mm {}",
                size.id_mm, size.od_mm
            );
            return Err(fault(&format!("pipe.sizes.{dn}"), why));
        }
    }
    let Some(size) = job.pipe.sizes.get(&job.pipe.dn_mm) else {
        return Ok(());
    };
    not_above("pipe.od_mm", size.od_mm, "rig.bore_mm", job.bore_mm(*size))
}

fn not_above(low_key: &str, low: f64, high_key: &str, high: f64) -> Result<(), JobFault> {
    if low <= high {
        Ok(())
    } else {
        Err(fault(
            low_key,
            format!("{low} may not be above {high_key}, which is {high}"),
        ))
    }
}

fn fault(key: &str, why: String) -> JobFault {
    JobFault::Inconsistent {
        key: key.to_string(),
        why,
    }
}
