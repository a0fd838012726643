//! The register in one CSV file.

use super::{Failure, check_place, draft, failed, foreign, there};
use crate::register::{About, HEAD, Register, head, row};
use std::{
    fs::{self, File},
    io::{self, BufWriter, Read, Write},
    path::{Path, PathBuf},
};

/// A register that is whole and not yet in its place.
#[derive(Debug)]
pub struct Sheet {
    place: PathBuf,
    draft: PathBuf,
    rows: usize,
}

/// The file may be written: it is not there, or it is a register and may be replaced.
pub fn check(file: &Path, replace: bool) -> Result<(), Failure> {
    check_place(file)?;
    if !file.exists() {
        return Ok(());
    }
    if !is_register(file).map_err(|e| failed(file, &e))? {
        return Err(foreign(file, "register"));
    }
    if replace { Ok(()) } else { Err(there(file)) }
}

fn is_register(file: &Path) -> io::Result<bool> {
    if !file.is_file() {
        return Ok(false);
    }
    let mut begin = vec![];
    File::open(file)?
        .take(HEAD.len() as u64)
        .read_to_end(&mut begin)?;
    Ok(begin == HEAD.as_bytes())
}

impl Sheet {
    /// Writes the register beside its place.
    pub fn stage(file: &Path, about: &About, register: &Register) -> Result<Sheet, Failure> {
        let sheet = Sheet {
            place: file.to_path_buf(),
            draft: draft(file, "tmp"),
            rows: register.len(),
        };
        put(&sheet.draft, about, register).map_err(|e| failed(file, &e))?;
        Ok(sheet)
    }

    /// Moves it there.
    pub fn publish(self) -> Result<(PathBuf, usize), Failure> {
        fs::rename(&self.draft, &self.place).map_err(|e| failed(&self.place, &e))?;
        Ok((self.place.clone(), self.rows))
    }
}

impl Drop for Sheet {
    fn drop(&mut self) {
        // Gone already where it was moved.
        let _ = fs::remove_file(&self.draft);
    }
}

fn put(path: &Path, about: &About, register: &Register) -> io::Result<()> {
    let mut out = BufWriter::new(File::create(path)?);
    out.write_all(head().as_bytes())?;
    for group in &register.groups {
        for entry in &group.entries {
            out.write_all(row(about, group, entry).as_bytes())?;
        }
    }
    out.into_inner()?.sync_all()
}
