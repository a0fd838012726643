//! How a file is opened for writing, so that a kill at any moment leaves it open to everybody.
//!
//! With a rollback journal, a run that is killed while it commits leaves a file that the next program must first
//! roll back. One that opens it for reading only, as GDAL does unless told otherwise, cannot do that: to it the
//! file does not open. With a write-ahead log the file is whole at every moment. So a file that has no such log
//! is lent one while it is written. Lending changes two bytes in the file's first sector, by one write.

use rusqlite::{Connection, OpenFlags, Result, Transaction, TransactionBehavior};
use std::path::Path;
use std::time::Duration;

/// Opens a file that is there. SQLite rolls back what a killed program left half done in it.
pub(super) fn open(file: &Path, wait: Duration) -> Result<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(file, flags)?;
    settle(&connection, wait)?;
    Ok(connection)
}

/// Opens a draft, with pages of so many bytes where it is not there yet: nobody else knows of it, it is thrown away where anything
/// fails, and whoever moves it to its place sees to it that it is on the disk. So it needs no journal.
pub(super) fn draft(draft: &Path, page_size: usize) -> Result<Connection> {
    let connection = Connection::open(draft)?;
    settle(&connection, Duration::ZERO)?;
    connection.pragma_update(None, "page_size", page_size as i64)?;
    connection.pragma_update(None, "auto_vacuum", "NONE")?;
    pragma(&connection, "journal_mode = OFF")?;
    connection.pragma_update(None, "synchronous", "OFF")?;
    Ok(connection)
}

fn settle(connection: &Connection, wait: Duration) -> Result<()> {
    // By pragma: the call of the same name needs a newer SQLite than some systems have.
    connection.pragma_update(None, "busy_timeout", wait.as_millis() as i64)?;
    connection.pragma_update(None, "synchronous", "FULL")?;
    // Rows of dropped layers are taken away by name; a cascade must not reach into other layers.
    connection.pragma_update(None, "foreign_keys", false)
}

/// Begins to look: nobody else may write meanwhile. To be rolled back.
pub(super) fn look(connection: &mut Connection) -> Result<Transaction<'_>> {
    let look = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    // A number set to what it is changes nothing, but asks the file and its folder whether they may be written.
    let version: i64 = look.pragma_query_value(None, "user_version", |r| r.get(0))?;
    look.pragma_update(None, "user_version", version)?;
    Ok(look)
}

/// Begins to write. Readers are waited for here, once: left for later they would be waited for again at every
/// page that does not fit into memory, and the wait would have no bound. Beside a log they read on.
pub(super) fn begin(connection: &mut Connection) -> Result<Transaction<'_>> {
    connection.transaction_with_behavior(TransactionBehavior::Exclusive)
}

/// Lends the file a write-ahead log where it has none; true where that was done.
///
/// Nobody else gets into the file until the log is given back, so the log needs no memory shared between programs.
/// Where the file system cannot have a log, the file keeps its rollback journal.
pub(super) fn lend_log(connection: &Connection) -> Result<bool> {
    if pragma(connection, "journal_mode")? == "wal" {
        return Ok(false);
    }
    pragma(connection, "locking_mode = EXCLUSIVE")?;
    // The change of mode is one write of one page: a journal of it on the disk would only be in the way.
    pragma(connection, "journal_mode = MEMORY")?;
    let lent = pragma(connection, "journal_mode = WAL")? == "wal";
    if !lent {
        pragma(connection, "journal_mode = DELETE")?;
    }
    Ok(lent)
}

/// Puts the log's pages into the file and takes the log away.
pub(super) fn give_back(connection: &Connection) -> Result<()> {
    let busy: i64 = connection.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |r| r.get(0))?;
    debug_assert_eq!(busy, 0, "nobody else is in the file");
    pragma(connection, "journal_mode = MEMORY").map(|_| ())
}

/// The value that the pragma has, after being set where one is given.
fn pragma(connection: &Connection, words: &str) -> Result<String> {
    connection.query_row(&format!("PRAGMA {words}"), [], |r| r.get(0))
}
