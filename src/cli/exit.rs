//! How a command ends.

use crate::{job::JobError, read, write::WriteError};
use std::{path::PathBuf, process::ExitCode};

/// Exit codes, as the interface fixes them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u8)]
pub enum Exit {
    /// Done.
    Done = 0,
    /// Done, and something needs attention.
    Attention = 1,
    /// Wrong usage.
    Usage = 2,
    /// The input or the job file cannot be used.
    Input = 3,
    /// The result could not be written.
    Output = 4,
}

/// Why a command could not be done.
#[derive(Debug, Clone, PartialEq)]
pub struct Failure {
    /// How to exit.
    pub exit: Exit,
    /// What is wrong and what to do, place included.
    pub message: String,
    /// File.
    pub file: Option<PathBuf>,
    /// Layer.
    pub layer: Option<String>,
    /// Feature id.
    pub fid: Option<i64>,
    /// Column.
    pub column: Option<String>,
}

impl Failure {
    /// A failure that concerns a file as a whole.
    pub fn of_file(exit: Exit, file: impl Into<PathBuf>, message: String) -> Failure {
        Failure {
            exit,
            message,
            file: Some(file.into()),
            layer: None,
            fid: None,
            column: None,
        }
    }
}

impl From<Exit> for ExitCode {
    fn from(exit: Exit) -> ExitCode {
        ExitCode::from(exit as u8)
    }
}

impl From<read::ReadError> for Failure {
    /// A file that another program has locked is no fault of the input.
    fn from(error: read::ReadError) -> Failure {
        let locked = matches!(*error.problem, read::Problem::Locked);
        let message = error.to_string();
        let place = *error.place;
        Failure {
            exit: if locked { Exit::Output } else { Exit::Input },
            message,
            file: place.file,
            layer: place.layer,
            fid: place.fid,
            column: place.column,
        }
    }
}

impl From<WriteError> for Failure {
    fn from(error: WriteError) -> Failure {
        let exit = if error.is_refusal() {
            Exit::Input
        } else {
            Exit::Output
        };
        let layer = error.layer().map(str::to_string);
        Failure {
            layer,
            ..Failure::of_file(exit, error.file(), error.to_string())
        }
    }
}

impl From<JobError> for Failure {
    fn from(error: JobError) -> Failure {
        Failure::of_file(Exit::Input, &error.file, error.to_string())
    }
}
