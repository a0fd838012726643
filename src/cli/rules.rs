//! `rules`: every rule value in force and where it comes from.

use super::{
    args::Rules,
    document,
    exit::{Exit, Failure},
    request::JobRequest,
    say,
};
use crate::job::JobFile;

/// Prints the rules.
pub fn rules(args: &Rules) -> Result<Exit, Failure> {
    let file = match &args.job {
        Some(path) => JobRequest::read(path)?.file,
        None => JobFile::default(),
    };
    if args.json {
        say::document(&document::rules(&file));
    } else {
        say::text(&say::rules(&file));
    }
    Ok(Exit::Done)
}
