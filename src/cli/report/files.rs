//! What a report is written into: a page, a folder of pages or drawings, a PDF; each whole or not at all.

use crate::{
    cli::{
        exit::Failure,
        register::{check_place, draft, failed, foreign, there},
    },
    report::{HEADING, MARK, Piece},
};
use std::{
    fs::{self, File},
    io::{self, Read, Write},
    path::{Path, PathBuf},
};

/// How a PDF written here ends, after its own end, by which it is known to be one of ours.
const PDF_MARK: &[u8] = b"% drawn by pitwright\n";

/// What stands at a place.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Kind {
    /// A page.
    Page,
    /// A folder of pages.
    Pages,
    /// A folder of drawings.
    Drawings,
    /// A PDF.
    Pdf,
}

impl Kind {
    /// In words.
    fn words(self) -> &'static str {
        match self {
            Kind::Page | Kind::Pages => "report",
            Kind::Drawings => "drawing",
            Kind::Pdf => "PDF",
        }
    }

    fn is_folder(self) -> bool {
        matches!(self, Kind::Pages | Kind::Drawings)
    }

    /// Whether a file is one that was written here.
    fn wrote(self, path: &Path) -> io::Result<bool> {
        if !fs::symlink_metadata(path)?.is_file() {
            return Ok(false);
        }
        match self {
            Kind::Page | Kind::Pages => {
                let mut begin = vec![];
                let head = HEADING.len() as u64;
                File::open(path)?.take(head).read_to_end(&mut begin)?;
                Ok(begin == HEADING.as_bytes())
            }
            Kind::Drawings => Ok(fs::read(path)?.ends_with(MARK.as_bytes())),
            Kind::Pdf => Ok(fs::read(path)?.ends_with(PDF_MARK)),
        }
    }
}

/// Name of a file, without its folder.
pub fn name(path: &Path) -> String {
    let name = path.file_name();
    name.map_or(path.display().to_string(), |n| {
        n.to_string_lossy().into_owned()
    })
}

/// Whether something could be written: it is not there, or is ours and may be replaced.
pub fn check(kind: Kind, place: &Path, replace: bool) -> Result<(), Failure> {
    check_place(place)?;
    if !place.exists() {
        return Ok(());
    }
    let held = if kind.is_folder() {
        held(kind, place)
    } else {
        kind.wrote(place).map(|ours| match ours {
            true => (1, None),
            false => (0, Some(place.to_path_buf())),
        })
    };
    match held.map_err(|e| failed(place, &e))? {
        (_, Some(path)) => Err(foreign(&path, kind.words())),
        (n, None) if n == 0 || replace => Ok(()),
        _ => Err(there(place)),
    }
}

/// How many files of ours a folder holds, and the first by name of what else is in it.
fn held(kind: Kind, folder: &Path) -> io::Result<(usize, Option<PathBuf>)> {
    if !folder.is_dir() {
        return Ok((0, Some(folder.to_path_buf())));
    }
    let paths = fs::read_dir(folder)?.map(|f| f.map(|f| f.path()));
    let mut paths = paths.collect::<io::Result<Vec<_>>>()?;
    paths.sort();
    for path in &paths {
        if !kind.wrote(path)? {
            return Ok((0, Some(path.clone())));
        }
    }
    Ok((paths.len(), None))
}

/// What is whole and not yet in its place; it goes when this is dropped.
#[derive(Default)]
pub struct Staged(Vec<Waiting>);

struct Waiting {
    kind: Kind,
    draft: PathBuf,
    place: PathBuf,
}

impl Staged {
    /// Writes a file beside its place.
    pub fn file(&mut self, kind: Kind, place: &Path, bytes: &[u8]) -> Result<(), Failure> {
        let draft = self.waiting(kind, place);
        let end: &[u8] = if kind == Kind::Pdf { PDF_MARK } else { b"" };
        put(&draft, &[bytes, end]).map_err(|e| failed(place, &e))
    }

    /// Writes a folder beside its place.
    pub fn folder(&mut self, kind: Kind, place: &Path, pieces: &[Piece]) -> Result<(), Failure> {
        let draft = self.waiting(kind, place);
        put_all(&draft, pieces).map_err(|e| failed(place, &e))
    }

    fn waiting(&mut self, kind: Kind, place: &Path) -> PathBuf {
        let draft = draft(place, "tmp");
        self.0.push(Waiting {
            kind,
            draft: draft.clone(),
            place: place.to_path_buf(),
        });
        draft
    }

    /// Moves all to their places, in the order in which they were written.
    pub fn publish(self) -> Result<(), Failure> {
        for one in &self.0 {
            let moved = if one.kind.is_folder() {
                swap(one.kind, &one.draft, &one.place)
            } else {
                fs::rename(&one.draft, &one.place)
            };
            moved.map_err(|e| failed(&one.place, &e))?;
        }
        Ok(())
    }
}

impl Drop for Staged {
    fn drop(&mut self) {
        // Gone already where they were moved.
        for one in &self.0 {
            let _ = if one.kind.is_folder() {
                fs::remove_dir_all(&one.draft)
            } else {
                fs::remove_file(&one.draft)
            };
        }
    }
}

fn put(path: &Path, parts: &[&[u8]]) -> io::Result<()> {
    let mut file = File::create(path)?;
    parts.iter().try_for_each(|p| file.write_all(p))?;
    file.sync_all()
}

fn put_all(folder: &Path, pieces: &[Piece]) -> io::Result<()> {
    fs::create_dir(folder)?;
    pieces
        .iter()
        .try_for_each(|p| fs::write(folder.join(&p.name), &p.text))?;
    // Not one by one to the disk: for thousands of pages that takes minutes, and a report is soon made again.
    File::open(folder)?.sync_all()
}

/// What was there is put aside first, and goes when the new is in its place.
fn swap(kind: Kind, made: &Path, place: &Path) -> io::Result<()> {
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
    match held(kind, &aside)?.1 {
        None => fs::remove_dir_all(&aside),
        Some(_) => Ok(()),
    }
}
