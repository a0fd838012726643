//! How well a service is located, as its record says.

use super::super::exit::Failure;
use crate::{
    job::{JobFile, Role},
    read::Results,
};
use serde_json::Value as Json;
use std::path::{Path, PathBuf};

/// Where the quality levels of services stand.
pub struct Qualities {
    /// Table of services, its column of levels.
    columns: Vec<(String, String)>,
    /// The site, then the files that the last plan read.
    files: Vec<Results>,
}

impl Qualities {
    /// Of the layers that the job has for services, in the site itself and in the files that its last plan read. A file that is no
    /// longer there is passed over: its services are of no known quality.
    pub fn of(site: &Path, job: &JobFile, results: &Results) -> Result<Qualities, Failure> {
        let sources = job.layers.by_role.get(&Role::Services);
        let columns = sources.into_iter().flatten().map(|source| {
            let table = source.table.clone().unwrap_or_else(|| "services".into());
            let column = source.columns.get("quality").cloned();
            (table, column.unwrap_or_else(|| "quality".into()))
        });
        let mut columns: Vec<_> = columns.collect();
        if columns.is_empty() {
            columns.push(("services".into(), "quality".into()));
        }
        let mut paths = vec![site.to_path_buf()];
        for path in inputs(results)? {
            paths.extend([beside(site, &path), path]);
        }
        paths.dedup();
        Ok(Qualities {
            columns,
            files: paths.iter().filter_map(|p| Results::open(p).ok()).collect(),
        })
    }

    /// The level of one service; empty where no record says.
    pub fn of_service(&self, layer: &str, fid: i64) -> String {
        let column = self.columns.iter().find(|c| c.0 == layer);
        let said = column.and_then(|(table, column)| {
            let mut files = self.files.iter();
            files.find_map(|file| file.word_of(table, column, fid))
        });
        said.unwrap_or_default()
    }
}

/// The file of that name in the folder of the site: plan and site may have been moved together.
fn beside(site: &Path, path: &Path) -> PathBuf {
    site.with_file_name(path.file_name().unwrap_or_default())
}

/// Files with services that the last plan read, as it named them.
fn inputs(results: &Results) -> Result<Vec<PathBuf>, Failure> {
    let runs = results.rows("pitwright_runs", "command", "plan")?;
    let last = runs.last().and_then(|run| run.text("inputs_json"));
    let read: Json = last
        .and_then(|text| serde_json::from_str(&text).ok())
        .unwrap_or_default();
    let services = read.as_array().into_iter().flatten();
    let services = services.filter(|i| i["role"] == "services");
    let mut files: Vec<PathBuf> = services
        .filter_map(|i| i["file"].as_str().map(PathBuf::from))
        .collect();
    files.dedup();
    Ok(files)
}
