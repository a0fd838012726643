//! The command line: a thin, typed shell over the library.
//!
//! `args` is what was typed, `request` what it means, `say` all words to people, `document` all documents to
//! programs. One file a command.

mod args;
mod check;
mod document;
mod exit;
mod explain;
mod export;
mod guides;
mod init;
mod inspect;
mod item;
mod joins;
mod kept_job;
mod levels;
mod memory;
mod pipes;
mod plan;
mod progress;
pub mod register;
mod report;
mod request;
mod route_fault;
mod rules;
mod run;
mod say;
mod stages;
mod view;
mod what_if;

pub use exit::Exit;
pub use run::run;
