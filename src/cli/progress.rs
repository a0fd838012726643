//! How far a command has come, on standard error.

use super::args::{self, Talk};
use std::io::{IsTerminal, Write};

/// How progress is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Progress {
    /// Not at all.
    None,
    /// One line that is written over.
    Line,
    /// One JSON object a line.
    Json,
}

impl Progress {
    /// As typed; `auto` shows it to people who watch a terminal.
    pub fn new(talk: &Talk) -> Progress {
        match talk.progress {
            args::Progress::Json => Progress::Json,
            args::Progress::Auto if !talk.quiet && std::io::stderr().is_terminal() => {
                Progress::Line
            }
            _ => Progress::None,
        }
    }

    /// A stage has come this far.
    pub fn show(self, stage: &str, done: u64, total: u64) {
        let mut err = std::io::stderr().lock();
        // Nobody is left to tell when standard error is closed.
        let _ = match self {
            Progress::None => Ok(()),
            Progress::Line => {
                write!(err, "\r\x1b[K{stage} {done} of {total}").and_then(|()| err.flush())
            }
            Progress::Json => {
                writeln!(
                    err,
                    "{}",
                    serde_json::json!({"stage": stage, "done": done, "total": total})
                )
            }
        };
    }

    /// Takes the line away again.
    pub fn end(self) {
        if self == Progress::Line {
            let _ = write!(std::io::stderr().lock(), "\r\x1b[K");
        }
    }
}

impl crate::plan::Progress for Progress {
    fn at(&self, stage: &'static str, done: usize, total: usize) {
        self.show(stage, done as u64, total as u64);
    }
}
