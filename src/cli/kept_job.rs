//! The job that results were made with, and the files.

use super::{
    exit::{Exit, Failure},
    request::JobRequest,
};
use crate::{
    job::{JobFile, Role},
    read::{ResultRow, Results, layer_crs},
};
use serde_json::Value as Json;
use std::path::{Path, PathBuf};

/// The job typed, else the one that the run which last wrote the layer was made with, else the one beside the file, else the
/// defaults; and where it is from, in words.
pub fn kept_job(
    typed: Option<&Path>,
    site: &Path,
    results: &Results,
    layer: &str,
) -> Result<(JobFile, String), Failure> {
    if let Some(path) = typed {
        return Ok((JobRequest::read(path)?.file, path.display().to_string()));
    }
    if let Some(run) = results.last_run_of(layer)? {
        let word = |column: &str| run.text(column).unwrap_or_default();
        let job = of_run(site, &word("command"), &word("job_json"))?;
        let from = format!(
            "the job of the {} of {}",
            word("command"),
            word("finished_at")
        );
        return Ok((job, from));
    }
    let beside = site.with_extension("job.toml");
    if beside.is_file() {
        return Ok((
            JobRequest::read(&beside)?.file,
            beside.display().to_string(),
        ));
    }
    Ok((JobFile::default(), "the defaults".to_string()))
}

/// The file and layer that a run noted for a role: the file where it was, else beside the results. Of a name without a whole path
/// the file beside the results comes first: another of the same name may lie where this runs.
pub fn noted(results: &Path, run: &ResultRow, role: Role) -> Option<(PathBuf, String)> {
    let inputs: Json = serde_json::from_str(&run.text("inputs_json")?).ok()?;
    let input = (inputs.as_array()?.iter()).find(|i| i["role"] == role.name())?;
    let was = Path::new(input["file"].as_str()?);
    let beside = results.with_file_name(was.file_name()?);
    let places = match was.is_absolute() {
        true => [was, &beside],
        false => [&beside, was],
    };
    let found = places.into_iter().find(|f| f.is_file())?;
    Some((found.to_path_buf(), input["layer"].as_str()?.to_string()))
}

/// The file with what lies around results: the one typed; else theirs, if it holds what they were made of; else the one that the run
/// noted.
pub fn site_around(typed: Option<&Path>, results: &Path, run: Option<&ResultRow>) -> PathBuf {
    if let Some(typed) = typed {
        return typed.to_path_buf();
    }
    let of = |role: Role| noted(results, run?, role);
    let elsewhere = of(Role::Routes).or_else(|| of(Role::Services));
    let is_here = |layer: &str| matches!(layer_crs(results, layer), Ok(Some(_)));
    match elsewhere {
        Some((file, layer)) if !is_here(&layer) => file,
        _ => results.to_path_buf(),
    }
}

/// The job that a run keeps, as JSON.
fn of_run(site: &Path, command: &str, json: &str) -> Result<JobFile, Failure> {
    let kept: Result<toml::Table, _> = serde_json::from_str(json);
    let table = kept.map_err(|e| {
        let message = format!(
            "{}, layer pitwright_runs, column job_json: does not read as a job ({e}); give the job with --job",
            site.display()
        );
        Failure {
            layer: Some("pitwright_runs".to_string()),
            column: Some("job_json".to_string()),
            ..Failure::of_file(Exit::Input, site, message)
        }
    })?;
    Ok(JobFile::parse(
        &table.to_string(),
        &format!("job of the {command}"),
    )?)
}
