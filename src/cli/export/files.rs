//! Files that appear whole or not at all: each is made beside its place under another name, and all are moved when all are
//! whole.

use super::{Exit, Failure, Written};
use std::{
    fs::{self, File},
    io::Write,
    path::{Path, PathBuf},
};

/// Files in the making; gone again unless published.
pub struct Drafts {
    folder: PathBuf,
    /// Whether this run made the folder.
    made: bool,
    replace: bool,
    drafts: Vec<(PathBuf, Written)>,
}

impl Drafts {
    /// Drafts for a folder, which is made if it is not there; the folder above it must be.
    ///
    /// # Errors
    /// Something that is no folder is there (exit 3), or it cannot be made (exit 4).
    pub fn new(folder: &Path, replace: bool) -> Result<Drafts, Failure> {
        let mut drafts = Drafts {
            folder: folder.to_path_buf(),
            made: false,
            replace,
            drafts: vec![],
        };
        if folder.is_dir() {
            return Ok(drafts);
        }
        if folder.exists() {
            let message = format!("{}: is no folder; choose another place", folder.display());
            return Err(Failure::of_file(Exit::Input, folder, message));
        }
        fs::create_dir(folder).map_err(|e| failed(folder, &e))?;
        drafts.made = true;
        Ok(drafts)
    }

    /// A file of text.
    ///
    /// # Errors
    /// As [`Drafts::made`].
    pub fn text(
        &mut self,
        name: &str,
        text: String,
        layers: Vec<(String, usize)>,
    ) -> Result<(), Failure> {
        self.made(name, layers, |draft| {
            File::create(draft)?.write_all(text.as_bytes())
        })
    }

    /// A file that `make` puts at the path it is given.
    ///
    /// # Errors
    /// A file is there and is not to be replaced (exit 3), or it cannot be made (exit 4).
    pub fn made<E: std::fmt::Display>(
        &mut self,
        name: &str,
        layers: Vec<(String, usize)>,
        make: impl FnOnce(&Path) -> Result<(), E>,
    ) -> Result<(), Failure> {
        let place = self.folder.join(name);
        self.free(&place)?;
        // The end stays: by it GDAL knows what to make.
        let draft = self.folder.join(format!(".{}.{name}", std::process::id()));
        // Left by a run of the same number that was killed.
        let _ = fs::remove_file(&draft);
        let written = Written {
            file: place.clone(),
            layers,
        };
        self.drafts.push((draft.clone(), written));
        make(&draft).map_err(|e| failed(&place, &e))?;
        let kept = File::open(&draft).and_then(|file| file.sync_all());
        kept.map_err(|e| failed(&place, &e))
    }

    fn free(&self, place: &Path) -> Result<(), Failure> {
        let message = match fs::symlink_metadata(place) {
            Err(_) => return Ok(()),
            Ok(there) if there.is_dir() => "is a folder; choose another place",
            Ok(_) if self.replace => return Ok(()),
            Ok(_) => "is there already; give --replace to write it anew",
        };
        let message = format!("{}: {message}", place.display());
        Err(Failure::of_file(Exit::Input, place, message))
    }

    /// Moves all to their places.
    ///
    /// # Errors
    /// One could not be moved (exit 4): those before it are new, it and those after it as they were.
    pub fn publish(mut self) -> Result<Vec<Written>, Failure> {
        for (draft, written) in &self.drafts {
            // Since the first look somebody may have put one there.
            self.free(&written.file)?;
            fs::rename(draft, &written.file).map_err(|e| failed(&written.file, &e))?;
        }
        Ok(self.drafts.drain(..).map(|d| d.1).collect())
    }
}

impl Drop for Drafts {
    fn drop(&mut self) {
        for (draft, _) in &self.drafts {
            // Gone already where it was moved.
            let _ = fs::remove_file(draft);
        }
        if self.made {
            // Stays where something is in it.
            let _ = fs::remove_dir(&self.folder);
        }
    }
}

fn failed(place: &Path, error: &impl std::fmt::Display) -> Failure {
    let message = format!(
        "{}: cannot be written ({error}); choose another place, or make room and allow writing there",
        place.display()
    );
    Failure::of_file(Exit::Output, place, message)
}
