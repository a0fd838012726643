//! Which file the layers go into.

use super::WriteError;
use std::ffi::OsString;
use std::path::{Path, PathBuf};
use std::time::Duration;

/// How long a file that another program has locked is waited for.
pub const LOCK_WAIT: Duration = Duration::from_secs(10);

/// Where the layers go: into the site, or into a file of their own.
#[derive(Debug, Clone)]
pub struct Target {
    /// The input.
    pub site: PathBuf,
    /// The file of their own; it may be there already.
    pub out: Option<PathBuf>,
    /// How long to wait for a locked file.
    pub wait: Duration,
    /// Whether styles go with the layers, in `layer_styles`.
    pub styles: bool,
}

/// The file as it is found.
#[derive(Debug, PartialEq)]
pub(super) enum Place {
    /// It is there.
    There(PathBuf),
    /// It is to be made.
    New(PathBuf),
}

impl Target {
    /// Back into the input.
    pub fn site(site: impl Into<PathBuf>) -> Target {
        Target {
            site: site.into(),
            out: None,
            wait: LOCK_WAIT,
            styles: true,
        }
    }

    /// Into a file of their own; the input is not opened.
    pub fn out(site: impl Into<PathBuf>, out: impl Into<PathBuf>) -> Target {
        Target {
            out: Some(out.into()),
            ..Target::site(site)
        }
    }

    /// The file that is written.
    pub fn file(&self) -> &Path {
        self.out.as_deref().unwrap_or(&self.site)
    }

    pub(super) fn place(&self) -> Result<Place, WriteError> {
        match &self.out {
            Some(out) if same_file(out, &self.site) => {
                Err(WriteError::OutIsSite { file: out.clone() })
            }
            Some(out) if !out.exists() => new_place(out),
            _ => there(self.file()),
        }
    }
}

fn there(file: &Path) -> Result<Place, WriteError> {
    let why = match () {
        _ if file.is_file() => return Ok(Place::There(file.to_path_buf())),
        _ if file.is_dir() => "is a folder, not a GeoPackage",
        _ if file.exists() => "is not a file",
        _ => "is not there",
    };
    Err(WriteError::NotGeoPackage {
        file: file.to_path_buf(),
        why,
    })
}

fn new_place(out: &Path) -> Result<Place, WriteError> {
    let file = out.to_path_buf();
    if !folder(out).is_dir() {
        return Err(WriteError::NoFolder { file });
    }
    // SQLite would take a journal that some lost file left behind for the new file's own.
    let stray = ["-journal", "-wal"].map(|end| beside(out, end));
    match stray.into_iter().find(|s| s.exists()) {
        Some(beside) => Err(WriteError::StrayJournal { file, beside }),
        None => Ok(Place::New(file)),
    }
}

/// The folder that a file lies in.
pub(super) fn folder(file: &Path) -> &Path {
    match file.parent() {
        Some(p) if !p.as_os_str().is_empty() => p,
        _ => Path::new("."),
    }
}

/// The file's name with something put behind it.
pub(super) fn beside(file: &Path, end: &str) -> PathBuf {
    let mut name = OsString::from(file);
    name.push(end);
    name.into()
}

/// Both paths lead to one file, by whatever links.
fn same_file(a: &Path, b: &Path) -> bool {
    same_path(a, b) || same_inode(a, b)
}

fn same_path(a: &Path, b: &Path) -> bool {
    match (a.canonicalize(), b.canonicalize()) {
        (Ok(a), Ok(b)) => a == b,
        _ => a == b,
    }
}

#[cfg(unix)]
fn same_inode(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    match (a.metadata(), b.metadata()) {
        (Ok(a), Ok(b)) => (a.dev(), a.ino()) == (b.dev(), b.ino()),
        _ => false,
    }
}

#[cfg(not(unix))]
fn same_inode(_: &Path, _: &Path) -> bool {
    false
}
