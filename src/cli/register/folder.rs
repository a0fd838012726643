//! The letters: a folder with one text file an owner.

use super::{Failure, check_place, draft, failed, foreign, there};
use crate::register::{About, HEADING, Register, file_name, letter};
use std::{
    fs::{self, File},
    io::{self, Read, Write},
    path::{Path, PathBuf},
};

/// Letters that are whole and not yet in their place.
#[derive(Debug)]
pub struct Folder {
    place: PathBuf,
    draft: PathBuf,
    letters: usize,
}

/// The folder may be written: it is not there, or empty, or holds nothing but letters and may be replaced.
pub fn check(folder: &Path, replace: bool) -> Result<(), Failure> {
    check_place(folder)?;
    if !folder.exists() {
        return Ok(());
    }
    let held = holds(folder).map_err(|e| failed(folder, &e))?;
    match held {
        Holds::Nothing => Ok(()),
        Holds::Letters if replace => Ok(()),
        Holds::Letters => Err(there(folder)),
        Holds::Other(path) => Err(foreign(&path, "letter")),
    }
}

/// What is in a folder.
enum Holds {
    Nothing,
    Letters,
    /// Something else, the first by name.
    Other(PathBuf),
}

fn holds(folder: &Path) -> io::Result<Holds> {
    if !folder.is_dir() {
        return Ok(Holds::Other(folder.to_path_buf()));
    }
    let paths = fs::read_dir(folder)?.map(|f| f.map(|f| f.path()));
    let mut paths = paths.collect::<io::Result<Vec<_>>>()?;
    paths.sort();
    for path in &paths {
        if !is_letter(path)? {
            return Ok(Holds::Other(path.clone()));
        }
    }
    Ok(if paths.is_empty() {
        Holds::Nothing
    } else {
        Holds::Letters
    })
}

fn is_letter(path: &Path) -> io::Result<bool> {
    if !fs::symlink_metadata(path)?.is_file() {
        return Ok(false);
    }
    let mut begin = vec![];
    File::open(path)?
        .take(HEADING.len() as u64)
        .read_to_end(&mut begin)?;
    Ok(begin == HEADING.as_bytes())
}

impl Folder {
    /// Writes the letters into a folder beside their place.
    pub fn stage(folder: &Path, about: &About, register: &Register) -> Result<Folder, Failure> {
        let staged = Folder {
            place: folder.to_path_buf(),
            draft: draft(folder, "tmp"),
            letters: register.groups.len(),
        };
        put(&staged.draft, about, register).map_err(|e| failed(folder, &e))?;
        Ok(staged)
    }

    /// Moves the folder there. Letters of an earlier run are put aside first, and go when the new ones are in their place.
    pub fn publish(self) -> Result<(PathBuf, usize), Failure> {
        self.swap().map_err(|e| failed(&self.place, &e))?;
        Ok((self.place.clone(), self.letters))
    }

    fn swap(&self) -> io::Result<()> {
        if !self.place.exists() {
            return fs::rename(&self.draft, &self.place);
        }
        let aside = draft(&self.place, "earlier");
        fs::rename(&self.place, &aside)?;
        if let Err(error) = fs::rename(&self.draft, &self.place) {
            fs::rename(&aside, &self.place)?;
            return Err(error);
        }
        // Looked at before it was put aside: nothing but letters are in it. What came in since stays.
        let Holds::Letters = holds(&aside)? else {
            return fs::remove_dir(&aside);
        };
        fs::remove_dir_all(&aside)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // Gone already where it was moved.
        let _ = fs::remove_dir_all(&self.draft);
    }
}

fn put(folder: &Path, about: &About, register: &Register) -> io::Result<()> {
    fs::create_dir(folder)?;
    for group in &register.groups {
        let mut file = File::create(folder.join(file_name(group)))?;
        file.write_all(letter(about, group).as_bytes())?;
        file.sync_all()?;
    }
    Ok(())
}
