//! From arguments to an exit code.

use super::{
    args::{Cli, Command},
    check, document,
    exit::{Exit, Failure},
    explain, export, guides, init, inspect, plan, report as page, rules, say, view,
};
use clap::{Parser, error::ErrorKind};
use std::{ffi::OsString, process::ExitCode};

/// Does what the arguments of the process ask.
pub fn run() -> ExitCode {
    let typed: Vec<OsString> = std::env::args_os().collect();
    match Cli::try_parse_from(&typed) {
        Ok(cli) => {
            use_threads(&cli.command);
            finish(&cli.command, obey(&cli.command))
        }
        Err(error) => usage(&typed, &error),
    }
    .into()
}

/// Results do not depend on the number of threads.
fn use_threads(command: &Command) {
    if let Some(threads) = command.talk().and_then(|talk| talk.threads) {
        // Fails only where a pool is there already, and nothing has worked yet.
        let _ = rayon::ThreadPoolBuilder::new()
            .num_threads(threads.get())
            .build_global();
    }
}

fn obey(command: &Command) -> Result<Exit, Failure> {
    match command {
        Command::Inspect(args) => inspect::inspect(args),
        Command::Init(args) => init::init(args),
        Command::Plan(args) => plan::plan(args),
        Command::Check(args) => check::check(args),
        Command::Explain(args) => explain::explain(args),
        Command::Export(args) => export::export(args),
        Command::Report(args) => page::report(args),
        Command::View(args) => view::view(args),
        Command::Rules(args) => rules::rules(args),
        Command::Completions(args) => guides::completions(args),
        Command::Manual => guides::manual(),
    }
}

fn finish(command: &Command, result: Result<Exit, Failure>) -> Exit {
    match result {
        Ok(exit) => exit,
        Err(failure) => {
            report(Some(command.name()), command.json(), &failure);
            failure.exit
        }
    }
}

/// Says on standard error why it failed, and with `--json` on standard output too.
fn report(command: Option<&str>, json: bool, failure: &Failure) {
    if json {
        say::document(&document::failure(command, failure));
    }
    say::failure(failure);
}

/// Help and version are no failure; anything else is wrong usage.
fn usage(typed: &[OsString], error: &clap::Error) -> Exit {
    if matches!(
        error.kind(),
        ErrorKind::DisplayHelp | ErrorKind::DisplayVersion
    ) {
        say::text(&error.to_string());
        return Exit::Done;
    }
    let words: Vec<&str> = typed.iter().skip(1).filter_map(|a| a.to_str()).collect();
    if words.contains(&"--json") {
        let failure = Failure {
            exit: Exit::Usage,
            message: error.to_string().trim_end().to_string(),
            file: None,
            layer: None,
            fid: None,
            column: None,
        };
        say::document(&document::failure(named(&words), &failure));
    }
    say::usage(error);
    Exit::Usage
}

/// The command that was meant, if it is one.
fn named<'a>(words: &[&'a str]) -> Option<&'a str> {
    use clap::CommandFactory;
    let first = words.iter().find(|w| !w.starts_with('-'))?;
    Cli::command().find_subcommand(first).map(|_| *first)
}
