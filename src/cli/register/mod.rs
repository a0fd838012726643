//! `--register` and `--letters`: the conflict register as files, for every command that has conflict rows.
//!
//! Everything is first written beside its place under another name, and moved there when it is whole and the layers are
//! written: [`check`] before a long run, [`stage`] before the layers, [`Staged::publish`] after them.

mod folder;
mod sheet;

use super::{
    args::RegisterArgs,
    exit::{Exit, Failure},
};
use crate::{
    plan::{Conflict, TestHole},
    register::{About, Register},
    site::CrsInfo,
};
use folder::Folder;
use sheet::Sheet;
use std::{
    io,
    path::{Path, PathBuf},
};

/// What was written.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Written {
    /// The register, and its encounters.
    pub register: Option<(PathBuf, usize)>,
    /// The folder of letters, and the letters in it.
    pub letters: Option<(PathBuf, usize)>,
}

/// Asks, before a long run, whether the files could be written.
///
/// # Errors
/// Something is there and `replace` is not given (exit 3), or it is not a register of ours (exit 3, whatever `replace` says); the
/// folder that it is to stand in is not there (exit 4).
pub fn check(asked: &RegisterArgs, replace: bool) -> Result<(), Failure> {
    if let Some(file) = &asked.register {
        sheet::check(file, replace)?;
    }
    if let Some(folder) = &asked.letters {
        folder::check(folder, replace)?;
    }
    Ok(())
}

/// Writes what is asked for beside its place.
///
/// # Errors
/// As [`check`]; or it cannot be written (exit 4). Nothing is left behind.
pub fn stage(
    asked: &RegisterArgs,
    replace: bool,
    about: &About,
    rows: (&[Conflict], &[TestHole]),
) -> Result<Staged, Failure> {
    check(asked, replace)?;
    let register = Register::new(rows.0, rows.1);
    let sheet = asked.register.as_deref();
    let sheet = sheet.map(|file| Sheet::stage(file, about, &register));
    let folder = asked.letters.as_deref();
    let folder = folder.map(|folder| Folder::stage(folder, about, &register));
    Ok(Staged {
        sheet: sheet.transpose()?,
        folder: folder.transpose()?,
    })
}

/// Files that are whole and not yet in their place; they go when this is dropped.
#[derive(Debug)]
pub struct Staged {
    sheet: Option<Sheet>,
    folder: Option<Folder>,
}

impl Staged {
    /// Moves the files to their place.
    ///
    /// # Errors
    /// One could not be moved (exit 4); what was there before it is there still.
    pub fn publish(self) -> Result<Written, Failure> {
        let after_layers = |mut failure: Failure| {
            failure.message.push_str("; the layers are written");
            failure
        };
        let register = self.sheet.map(Sheet::publish).transpose();
        let letters = self.folder.map(Folder::publish).transpose();
        Ok(Written {
            register: register.map_err(after_layers)?,
            letters: letters.map_err(after_layers)?,
        })
    }
}

/// What rows are of, from what a command knows.
pub fn about(job_name: Option<&str>, site: &Path, crs: &CrsInfo) -> About {
    let file = site
        .file_name()
        .map_or_else(String::new, |n| n.to_string_lossy().into_owned());
    About {
        site: job_name.map_or(file.clone(), |name| format!("{name} ({file})")),
        crs: crs.authority.clone().unwrap_or_else(|| crs.name.clone()),
        unit_m: crs.unit_m,
        unit_name: crs.unit_name.clone(),
    }
}

/// Where something is made before it is moved to its place: beside it, so that the move is one step.
pub(in crate::cli) fn draft(path: &Path, end: &str) -> PathBuf {
    let mut name = path.file_name().unwrap_or_default().to_os_string();
    name.push(format!(".{}.{end}", std::process::id()));
    path.with_file_name(name)
}

pub(in crate::cli) fn there(path: &Path) -> Failure {
    let message = format!(
        "{}: is there already; give --replace to write it anew",
        path.display()
    );
    Failure::of_file(Exit::Input, path, message)
}

pub(in crate::cli) fn foreign(path: &Path, what: &str) -> Failure {
    let message = format!(
        "{}: is there and is no {what} that pitwright wrote, so it is not replaced; choose another place",
        path.display()
    );
    Failure::of_file(Exit::Input, path, message)
}

pub(in crate::cli) fn failed(path: &Path, error: &io::Error) -> Failure {
    let message = format!(
        "{}: cannot be written ({error}); choose another place, or make room and allow writing there",
        path.display()
    );
    Failure::of_file(Exit::Output, path, message)
}

/// The folder that a path is to stand in must be there.
pub(in crate::cli) fn check_place(path: &Path) -> Result<(), Failure> {
    let nameless = io::Error::new(io::ErrorKind::InvalidInput, "it names no file");
    if path.file_name().is_none() {
        return Err(failed(path, &nameless));
    }
    match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() && !folder.is_dir() => {
            let message = format!(
                "{}: its folder is not there; make the folder first",
                path.display()
            );
            Err(Failure::of_file(Exit::Output, path, message))
        }
        _ => Ok(()),
    }
}
