//! `view`: a plan or a check on a map, served to this machine alone.

mod answers;
mod checked;
mod http;
mod load;
mod serve;

use super::{
    args::View as Args,
    document,
    exit::{Exit, Failure},
    say,
};
use answers::Answers;
use std::io::Write;

/// Serves the map until the process is ended.
pub fn view(args: &Args) -> Result<Exit, Failure> {
    let answers = Answers::new(args)?;
    let taken = |e: std::io::Error| {
        let message = format!(
            "port {} of this machine cannot be listened on ({e}); leave out --port to take any that is free",
            args.port
        );
        Failure {
            exit: Exit::Output,
            message,
            file: None,
            layer: None,
            fid: None,
            column: None,
        }
    };
    let listener = serve::listen(args.port).map_err(taken)?;
    let port = listener.local_addr().map_err(taken)?.port();
    let address = format!("http://127.0.0.1:{port}/");
    let loaded = answers.loaded()?;
    let warnings = [&loaded.about.missing[..], &loaded.about.warnings[..]].concat();
    if args.talk.json {
        say::document(&document::view(
            &address,
            loaded.about.bores.len(),
            &warnings,
        ));
    } else {
        say::text(&say::view(&address, &warnings));
    }
    // Whoever reads the address through a pipe waits for it.
    let _ = std::io::stdout().flush();
    serve::serve(&listener, port, &|target| answers.to(target));
    Ok(Exit::Done)
}
