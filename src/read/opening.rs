//! Opening an SQLite file so that its bytes stay as they are.
//!
//! A file that was left half written has a hot journal beside it, and only a writer may roll it back. Such a file is
//! read from a copy of both, which SQLite rolls back, so that the reader sees what was last written whole
//! and the file itself is not touched.

use super::Problem;
use super::fault::{Place, ReadError};
use rusqlite::{Connection, ErrorCode, OpenFlags};
use std::ffi::OsString;
use std::fs::File;
use std::io::Read;
use std::path::{Path, PathBuf};
use std::sync::OnceLock;
use std::sync::atomic::{AtomicU32, Ordering};

/// How long to wait for another program to let go of the file (ms).
const PATIENCE_MS: u32 = 10_000;

/// An open file, and where it really is.
pub(super) struct Opened {
    pub db: Connection,
    /// The file itself, or the copy that is read instead.
    pub path: PathBuf,
    /// It was in log mode when it was opened.
    log_mode: bool,
    /// The file opened once more, for its pages. Whoever closes a file gives up the locks that SQLite holds on it, so this stays
    /// open as long as `db`.
    bytes: OnceLock<Option<File>>,
    // After `db`: fields drop in order, and the copy goes only when it is closed.
    _copy: Option<Copy>,
}

impl Opened {
    /// For reading only, in one transaction: every layer is read as it was at the same moment.
    pub fn new(path: &Path) -> Result<Opened, ReadError> {
        let error = |e: rusqlite::Error| match e.sqlite_error_code() {
            Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => {
                ReadError::new(Place::file(path), Problem::Locked)
            }
            _ => ReadError::new(
                Place::file(path),
                Problem::CannotOpen {
                    gdal: e.to_string(),
                },
            ),
        };
        let log_mode = is_in_log_mode(path);
        match start_reading(path, log_mode) {
            Ok(db) => Ok(Opened {
                db,
                path: path.to_path_buf(),
                log_mode,
                bytes: OnceLock::new(),
                _copy: None,
            }),
            Err(e) if needs_a_writer(&e) => {
                let copy = Copy::of(path).map_err(|io| {
                    ReadError::new(
                        Place::file(path),
                        Problem::CannotOpen {
                            gdal: format!("{e}; copying it: {io}"),
                        },
                    )
                })?;
                let db = start(&copy.file, OpenFlags::SQLITE_OPEN_READ_WRITE).map_err(error)?;
                Ok(Opened {
                    db,
                    path: copy.file.clone(),
                    log_mode,
                    bytes: OnceLock::new(),
                    _copy: Some(copy),
                })
            }
            Err(e) => Err(error(e)),
        }
    }
}

impl Opened {
    /// Another connection for reading the same state of the file. None where there may be no such thing: beside a log somebody
    /// may have written in the meantime. (Without one nobody can write while this connection reads.)
    pub fn again(&self) -> Option<Connection> {
        (!self.has_log()).then(|| start_reading(&self.path, self.log_mode).ok())?
    }

    /// What was written last may lie beside the file.
    fn has_log(&self) -> bool {
        self.log_mode && beside(&self.path, "-wal").exists()
    }

    /// The file itself, for reading its pages. None where they are not all that there is, or it cannot be opened.
    pub fn bytes(&self) -> Option<&File> {
        if self.has_log() {
            return None;
        }
        self.bytes
            .get_or_init(|| File::open(&self.path).ok())
            .as_ref()
    }
}

/// A file in log mode with no log beside it is whole in itself. Opened as one that nobody changes it gets no log
/// of ours, which would stay, since who only reads cannot take it away.
fn start_reading(path: &Path, log_mode: bool) -> rusqlite::Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY;
    if log_mode && !beside(path, "-wal").exists() {
        return start(&frozen(path), flags | OpenFlags::SQLITE_OPEN_URI);
    }
    start(path, flags)
}

/// The path as an SQLite address that promises no change.
fn frozen(path: &Path) -> PathBuf {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"/-._~".contains(&b);
    let one = |b: u8| {
        if plain(b) {
            char::from(b).to_string()
        } else {
            format!("%{b:02X}")
        }
    };
    let address: String = path
        .as_os_str()
        .as_encoded_bytes()
        .iter()
        .map(|b| one(*b))
        .collect();
    format!("file:{address}?immutable=1").into()
}

fn start(path: &Path, flags: OpenFlags) -> rusqlite::Result<Connection> {
    let db = Connection::open_with_flags(path, flags | OpenFlags::SQLITE_OPEN_NO_MUTEX)?;
    // As a pragma: the call of the same meaning needs a newer SQLite than many systems have.
    db.pragma_update(None, "busy_timeout", PATIENCE_MS)?;
    db.execute_batch("BEGIN")?;
    db.query_row("SELECT count(*) FROM sqlite_master", [], |r| {
        r.get::<_, i64>(0)
    })?;
    Ok(db)
}

/// A hot journal, or a write-ahead log that cannot be opened without writing beside it.
fn needs_a_writer(e: &rusqlite::Error) -> bool {
    matches!(
        e.sqlite_error_code(),
        Some(ErrorCode::ReadOnly | ErrorCode::CannotOpen)
    )
}

/// Whether a file starts as SQLite files do.
pub(super) fn is_sqlite(path: &Path) -> bool {
    head(path).is_some_and(|h| &h[..16] == b"SQLite format 3\0")
}

/// Read and write version 2 in the header: changes go into a log (write-ahead log) first.
fn is_in_log_mode(path: &Path) -> bool {
    head(path).is_some_and(|h| h[18..20] == [2, 2])
}

fn head(path: &Path) -> Option<[u8; 20]> {
    let mut head = [0; 20];
    File::open(path)
        .and_then(|mut f| f.read_exact(&mut head))
        .ok()
        .map(|()| head)
}

/// A copy of a file and its journals in a folder of its own, gone when dropped.
struct Copy {
    folder: PathBuf,
    file: PathBuf,
}

static COPIES: AtomicU32 = AtomicU32::new(0);

impl Copy {
    fn of(path: &Path) -> std::io::Result<Copy> {
        let n = COPIES.fetch_add(1, Ordering::Relaxed);
        let folder =
            std::env::temp_dir().join(format!("pitwright-read-{}-{n}", std::process::id()));
        std::fs::create_dir_all(&folder)?;
        let name = path
            .file_name()
            .map(OsString::from)
            .unwrap_or_else(|| "site.gpkg".into());
        let copy = Copy {
            file: folder.join(&name),
            folder,
        };
        for tail in ["", "-journal", "-wal"] {
            let (from, to) = (beside(path, tail), beside(&copy.file, tail));
            if from.exists() {
                std::fs::copy(from, &to)?;
                writable(&to)?;
            }
        }
        Ok(copy)
    }
}

/// SQLite rolls back only what it may write.
fn writable(path: &Path) -> std::io::Result<()> {
    let mut rights = std::fs::metadata(path)?.permissions();
    #[cfg(unix)]
    std::os::unix::fs::PermissionsExt::set_mode(&mut rights, 0o600);
    #[cfg(not(unix))]
    rights.set_readonly(false);
    std::fs::set_permissions(path, rights)
}

fn beside(path: &Path, tail: &str) -> PathBuf {
    let mut name = path.as_os_str().to_os_string();
    name.push(tail);
    name.into()
}

impl Drop for Copy {
    fn drop(&mut self) {
        // Nothing can be done about a copy that will not go; the system clears its temporary folder.
        let _ = std::fs::remove_dir_all(&self.folder);
    }
}
