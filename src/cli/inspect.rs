//! `inspect`: what is there, what it would be used for, what is wrong with it.

use super::{
    args::Inspect,
    document,
    exit::{Exit, Failure},
    request::JobRequest,
    say,
};
use crate::read::{self, Inspection, Need};
use std::path::Path;

/// Looks at a site.
pub fn inspect(args: &Inspect) -> Result<Exit, Failure> {
    let talk = &args.site.talk;
    let request = JobRequest::of_site(&args.site)?;
    let seen = look(&args.site.site, &request)?;
    let warnings = request.file.warnings();
    if talk.json {
        say::document(&document::inspection(&args.site.site, &seen, warnings));
    } else if !talk.quiet {
        say::text(&say::inspection(&seen, warnings));
    }
    Ok(Exit::Done)
}

/// Every layer of a site, as a job would use it.
pub fn look(site: &Path, request: &JobRequest) -> Result<Inspection, Failure> {
    let wanted = read::Request {
        layers: &request.file.layers,
        base: request.folder(),
        crs: request.file.job.crs.as_deref(),
        around_m: 0.0,
        all_obstacles: false,
        need: Need::Plan,
    };
    Ok(read::inspect(site, &wanted)?)
}
