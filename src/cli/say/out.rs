//! Where words go, and words that several commands use.

use crate::cli::exit::Failure;
use std::io::Write;

/// Puts text on standard output.
pub fn text(text: &str) {
    // Nobody is left to tell when standard output is closed.
    let _ = std::io::stdout().lock().write_all(text.as_bytes());
}

/// Puts a document on standard output.
pub fn document(document: &serde_json::Value) {
    text(&format!("{document:#}\n"));
}

/// Says on standard error why a command failed.
pub fn failure(failure: &Failure) {
    let _ = writeln!(std::io::stderr().lock(), "pitwright: {}", failure.message);
}

/// Says on standard error how a command is used.
pub fn usage(error: &clap::Error) {
    let _ = error.print();
}

pub(super) fn warnings(warnings: &[String]) -> String {
    warnings.iter().map(|w| format!("warning: {w}\n")).collect()
}

pub(super) fn several(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}
