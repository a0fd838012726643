//! What the arguments mean: which job, which files.

use super::{
    args::SiteArgs,
    exit::{Exit, Failure},
};
use crate::job::JobFile;
use std::{
    fs,
    path::{Path, PathBuf},
};

/// A job and the file it was read from, if from one.
#[derive(Debug)]
pub struct JobRequest {
    /// The job.
    pub file: JobFile,
    /// Where it was read from.
    pub path: Option<PathBuf>,
}

impl JobRequest {
    /// The job of a site: the one typed, else `SITE.job.toml` beside it, else the defaults.
    pub fn of_site(args: &SiteArgs) -> Result<JobRequest, Failure> {
        let beside = args.site.with_extension("job.toml");
        match &args.job {
            Some(path) => JobRequest::read(path),
            None if beside.is_file() => JobRequest::read(&beside),
            None => Ok(JobRequest::defaults()),
        }
    }

    /// The defaults.
    pub fn defaults() -> JobRequest {
        JobRequest {
            file: JobFile::default(),
            path: None,
        }
    }

    /// The job of a file.
    pub fn read(path: &Path) -> Result<JobRequest, Failure> {
        let name = path.display().to_string();
        let text = fs::read_to_string(path).map_err(|e| {
            let message =
                format!("{name}: cannot be read as a job file ({e}); check the path after --job");
            Failure::of_file(Exit::Input, path, message)
        })?;
        Ok(JobRequest {
            file: JobFile::parse(&text, &name)?,
            path: Some(path.to_path_buf()),
        })
    }

    /// Folder that files named in the job are relative to.
    pub fn folder(&self) -> Option<&Path> {
        self.path.as_deref().map(|path| match path.parent() {
            Some(folder) if !folder.as_os_str().is_empty() => folder,
            _ => Path::new("."),
        })
    }
}
