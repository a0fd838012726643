//! Where words go, and words that several commands use.

use super::CAUTIONS;
use crate::{
    cli::{exit::Failure, register::Written},
    read::alike,
};
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
    let told = alike(warnings);
    let mut out: String = told.iter().map(|w| format!("warning: {w}\n")).collect();
    if told.len() < warnings.len() {
        out.push_str(&all_of_them(warnings.len()));
    }
    out
}

/// Where all warnings or problems can be read of which many are alike.
pub(super) fn all_of_them(n: usize) -> String {
    format!("all {n} of them one by one: --json\n")
}

/// How a command that writes layers ends: where they went, and the cautions.
pub(super) fn written(layers: &[(String, usize)], file: &str, register: &Written) -> String {
    let rows = layers.iter().map(|(layer, n)| format!("{layer} {n}"));
    let rows = rows.collect::<Vec<_>>().join(", ");
    let mut out = format!("written to {file}: {rows}\n");
    out.push_str(&super::register(register));
    out.push('\n');
    out.extend(CAUTIONS.iter().map(|c| format!("{c}\n")));
    out
}

pub(super) fn several(n: usize, what: &str) -> String {
    format!("{n} {what}{}", if n == 1 { "" } else { "s" })
}
