//! The page and the folder of drawings, each whole or not at all.

use crate::{
    cli::{
        exit::Failure,
        register::{check_place, draft, failed, foreign, there},
    },
    report::{Drawing, HEADING, MARK},
};
use std::{
    fs::{self, File},
    io::{self, Read, Write},
    path::{Path, PathBuf},
};

/// Name of a file, without its folder.
pub fn name(path: &Path) -> String {
    let name = path.file_name();
    name.map_or(path.display().to_string(), |n| {
        n.to_string_lossy().into_owned()
    })
}

/// Whether page and folder could be written: they are not there, or are ours and may be replaced.
pub fn check(page: &Path, folder: Option<&Path>, replace: bool) -> Result<(), Failure> {
    check_place(page)?;
    if page.exists() {
        let ours = page.is_file() && begins(page).map_err(|e| failed(page, &e))?;
        if !ours {
            return Err(foreign(page, "report"));
        }
        if !replace {
            return Err(there(page));
        }
    }
    folder.map_or(Ok(()), |f| check_folder(f, replace))
}

fn check_folder(folder: &Path, replace: bool) -> Result<(), Failure> {
    check_place(folder)?;
    if !folder.exists() {
        return Ok(());
    }
    let (held, other) = held(folder).map_err(|e| failed(folder, &e))?;
    match other {
        Some(path) => Err(foreign(&path, "drawing")),
        None if held == 0 || replace => Ok(()),
        None => Err(there(folder)),
    }
}

fn begins(page: &Path) -> io::Result<bool> {
    let mut begin = vec![];
    let head = HEADING.len() as u64;
    File::open(page)?.take(head).read_to_end(&mut begin)?;
    Ok(begin == HEADING.as_bytes())
}

/// How many drawings of ours a folder holds, and the first by name of what else is in it.
fn held(folder: &Path) -> io::Result<(usize, Option<PathBuf>)> {
    if !folder.is_dir() {
        return Ok((0, Some(folder.to_path_buf())));
    }
    let paths = fs::read_dir(folder)?.map(|f| f.map(|f| f.path()));
    let mut paths = paths.collect::<io::Result<Vec<_>>>()?;
    paths.sort();
    for path in &paths {
        let ours =
            fs::symlink_metadata(path)?.is_file() && fs::read(path)?.ends_with(MARK.as_bytes());
        if !ours {
            return Ok((0, Some(path.clone())));
        }
    }
    Ok((paths.len(), None))
}

/// Page and drawings, whole and not yet in their place; they go when this is dropped.
pub struct Staged {
    page: (PathBuf, PathBuf),
    folder: Option<(PathBuf, PathBuf)>,
}

impl Staged {
    /// Writes both beside their place.
    pub fn new(
        page: &Path,
        text: &str,
        drawings: Option<(&Path, &[Drawing])>,
    ) -> Result<Staged, Failure> {
        let staged = Staged {
            page: (draft(page, "tmp"), page.to_path_buf()),
            folder: drawings.map(|(f, _)| (draft(f, "tmp"), f.to_path_buf())),
        };
        put(&staged.page.0, text).map_err(|e| failed(page, &e))?;
        if let (Some((draft, folder)), Some((_, all))) = (&staged.folder, drawings) {
            put_all(draft, all).map_err(|e| failed(folder, &e))?;
        }
        Ok(staged)
    }

    /// Moves both to their place, the page last.
    pub fn publish(self) -> Result<(), Failure> {
        if let Some((draft, folder)) = &self.folder {
            swap(draft, folder).map_err(|e| failed(folder, &e))?;
        }
        let (draft, page) = &self.page;
        fs::rename(draft, page).map_err(|e| failed(page, &e))
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        // Gone already where they were moved.
        let _ = fs::remove_file(&self.page.0);
        if let Some((draft, _)) = &self.folder {
            let _ = fs::remove_dir_all(draft);
        }
    }
}

fn put(path: &Path, text: &str) -> io::Result<()> {
    let mut file = File::create(path)?;
    file.write_all(text.as_bytes())?;
    file.sync_all()
}

fn put_all(folder: &Path, drawings: &[Drawing]) -> io::Result<()> {
    fs::create_dir(folder)?;
    drawings
        .iter()
        .try_for_each(|d| put(&folder.join(&d.name), &d.text))
}

/// What was there is put aside first, and goes when the new is in its place.
fn swap(made: &Path, place: &Path) -> io::Result<()> {
    if !place.exists() {
        return fs::rename(made, place);
    }
    let aside = draft(place, "earlier");
    fs::rename(place, &aside)?;
    if let Err(error) = fs::rename(made, place) {
        fs::rename(&aside, place)?;
        return Err(error);
    }
    // What came in since it was looked at stays.
    match held(&aside)?.1 {
        None => fs::remove_dir_all(&aside),
        Some(_) => Ok(()),
    }
}
