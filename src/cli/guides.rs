//! `completions` and `manual`: what the command line knows of itself, for shells and readers.

use super::{
    args::{Cli, Completions},
    exit::{Exit, Failure},
    say,
};
use clap::CommandFactory;

/// Prints the script that completes commands and flags.
pub fn completions(args: &Completions) -> Result<Exit, Failure> {
    let mut out = vec![];
    clap_complete::generate(args.shell, &mut Cli::command(), "pitwright", &mut out);
    say::text(&String::from_utf8_lossy(&out));
    Ok(Exit::Done)
}

/// Prints the manual pages in roff: that of the program, then one a command.
pub fn manual() -> Result<Exit, Failure> {
    let mut program = Cli::command();
    program.build();
    let commands = program.get_subcommands().filter(|c| c.get_name() != "help");
    let mut out = vec![];
    for page in std::iter::once(&program).chain(commands) {
        let page = clap_mangen::Man::new(page.clone());
        page.render(&mut out)
            .expect("a vector takes all that is written");
    }
    say::text(&String::from_utf8_lossy(&out));
    Ok(Exit::Done)
}
