//! Why layers could not be written.

use rusqlite::ErrorCode;
use std::path::{Path, PathBuf};

/// Layers could not be written. But for [`WriteError::LogLeft`] the file is as it was before.
#[derive(Debug, thiserror::Error)]
pub enum WriteError {
    /// Layers of an earlier run are there and `--replace` was not given.
    #[error("{}: already has {} from an earlier run; give --replace to write them anew", .file.display(), .layers.join(", "))]
    Exists {
        /// File.
        file: PathBuf,
        /// The layers that are there.
        layers: Vec<String>,
    },
    /// Something of an owned name is there that no row of `pitwright_runs` lists.
    #[error("{}: {layer} is there and was not made by pitwright, so it is not replaced; rename it, or write to another file with --out", .file.display())]
    Foreign {
        /// File.
        file: PathBuf,
        /// The layer that is somebody else's.
        layer: String,
    },
    /// The file cannot take layers.
    #[error("{}: {why}; write to a GeoPackage of its own with --out FILE.gpkg", .file.display())]
    NotGeoPackage {
        /// File.
        file: PathBuf,
        /// What is wrong with it.
        why: &'static str,
    },
    /// `--out` names the input.
    #[error("{}: --out names the input file itself; leave --out away to write the layers into it", .file.display())]
    OutIsSite {
        /// File.
        file: PathBuf,
    },
    /// A journal lies beside a file that is not there.
    #[error("{}: lies beside the new file and would be taken for its journal; remove it or choose another name", .beside.display())]
    StrayJournal {
        /// File to be made.
        file: PathBuf,
        /// What lies beside it.
        beside: PathBuf,
    },
    /// The folder of the new file is not there.
    #[error("{}: its folder is not there; make the folder first", .file.display())]
    NoFolder {
        /// File to be made.
        file: PathBuf,
    },
    /// Another program has the file locked.
    #[error("{}: another program has it locked (waited {waited_s} s); close it there and try again", .file.display())]
    Locked {
        /// File.
        file: PathBuf,
        /// How long was waited for it (s).
        waited_s: f64,
    },
    /// The file may not be written.
    #[error("{}: is read-only; allow writing, or write to another file with --out", .file.display())]
    ReadOnly {
        /// File.
        file: PathBuf,
    },
    /// No file can be made in the folder: neither a journal nor a new file.
    #[error("{}: no file can be made in its folder, and a journal is needed there; allow writing in the folder, or write elsewhere with --out", .file.display())]
    ReadOnlyFolder {
        /// File.
        file: PathBuf,
    },
    /// The disk is full.
    #[error("{}: the disk is full; nothing was changed", .file.display())]
    DiskFull {
        /// File.
        file: PathBuf,
    },
    /// The layers are written, but part of them is still in the log beside the file.
    #[error("{0}: the layers are written, but part of them is still in {0}-wal ({error}); keep both files together, make room, and open the file once", .file.display())]
    LogLeft {
        /// File.
        file: PathBuf,
        /// Why the log could not be put into the file.
        #[source]
        error: rusqlite::Error,
    },
    /// The layers could not be laid down in a file beside it.
    #[error("{}: {error}; nothing was changed", .file.display())]
    Pages {
        /// File.
        file: PathBuf,
        /// What the system says.
        #[source]
        error: std::io::Error,
    },
    /// The new file could not be put in its place.
    #[error("{}: {error}", .file.display())]
    Io {
        /// File.
        file: PathBuf,
        /// What the system says.
        #[source]
        error: std::io::Error,
    },
    /// Anything else that SQLite refuses.
    #[error("{}{}: {error}; nothing was changed", .file.display(), .layer.as_deref().map(|l| format!(", layer {l}")).unwrap_or_default())]
    Sqlite {
        /// File.
        file: PathBuf,
        /// Layer that was being written.
        layer: Option<String>,
        /// What SQLite says.
        #[source]
        error: rusqlite::Error,
    },
}

impl WriteError {
    /// The file that the error is about.
    pub fn file(&self) -> &Path {
        use WriteError::*;
        match self {
            Exists { file, .. }
            | Foreign { file, .. }
            | NotGeoPackage { file, .. }
            | OutIsSite { file }
            | StrayJournal { file, .. }
            | NoFolder { file }
            | Locked { file, .. }
            | ReadOnly { file }
            | ReadOnlyFolder { file }
            | DiskFull { file }
            | LogLeft { file, .. }
            | Pages { file, .. }
            | Io { file, .. }
            | Sqlite { file, .. } => file,
        }
    }

    /// The layer that the error is about, where it is about one.
    pub fn layer(&self) -> Option<&str> {
        match self {
            WriteError::Exists { layers, .. } => layers.first().map(String::as_str),
            WriteError::Foreign { layer, .. } => Some(layer),
            WriteError::Sqlite { layer, .. } => layer.as_deref(),
            _ => None,
        }
    }

    /// The file was refused for what it is or holds (exit 3), rather than failing to be written (exit 4).
    pub fn is_refusal(&self) -> bool {
        use WriteError::*;
        matches!(
            self,
            Exists { .. } | Foreign { .. } | NotGeoPackage { .. } | OutIsSite { .. }
        )
    }
}

/// Where a statement was when SQLite refused it.
pub(super) struct At<'a> {
    pub file: &'a Path,
    pub layer: Option<&'a str>,
    pub waited_s: f64,
}

impl At<'_> {
    /// SQLite's refusal in our words.
    pub fn error(&self, error: rusqlite::Error) -> WriteError {
        let file = self.file.to_path_buf();
        match error.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => WriteError::Locked {
                file,
                waited_s: self.waited_s,
            },
            Some(ErrorCode::ReadOnly) if is_folder(&error) => WriteError::ReadOnlyFolder { file },
            Some(ErrorCode::ReadOnly) => WriteError::ReadOnly { file },
            Some(ErrorCode::CannotOpen) => WriteError::ReadOnlyFolder { file },
            Some(ErrorCode::DiskFull) => WriteError::DiskFull { file },
            Some(ErrorCode::NotADatabase) => WriteError::NotGeoPackage {
                file,
                why: "is not a GeoPackage",
            },
            _ => WriteError::Sqlite {
                file,
                layer: self.layer.map(str::to_string),
                error,
            },
        }
    }
}

impl At<'_> {
    /// The system's refusal in our words.
    pub fn io(&self, error: std::io::Error) -> WriteError {
        let file = self.file.to_path_buf();
        match error.kind() {
            std::io::ErrorKind::StorageFull => WriteError::DiskFull { file },
            _ => WriteError::Pages { file, error },
        }
    }
}

/// SQLite found the folder, not the file, closed to writing.
fn is_folder(error: &rusqlite::Error) -> bool {
    error
        .sqlite_error()
        .is_some_and(|e| e.extended_code == rusqlite::ffi::SQLITE_READONLY_DIRECTORY)
}
