//! The job that results were made with.

use super::{
    exit::{Exit, Failure},
    request::JobRequest,
};
use crate::{job::JobFile, read::Results};
use std::path::Path;

/// The job typed, else the one that the last plan of the file was made with, else the one beside the file, else the defaults.
pub fn kept_job(
    typed: Option<&Path>,
    site: &Path,
    results: &Results,
) -> Result<(JobFile, String), Failure> {
    if let Some(path) = typed {
        return Ok((JobRequest::read(path)?.file, path.display().to_string()));
    }
    if let Some((made, json)) = results.last_plan()? {
        return Ok((
            of_run(site, &json)?,
            format!("the job of the plan of {made}"),
        ));
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

/// The job that a run keeps, as JSON.
pub(super) fn of_run(site: &Path, json: &str) -> Result<JobFile, Failure> {
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
    Ok(JobFile::parse(&table.to_string(), "job of the plan")?)
}
