//! `init`: a job file to start from.

use super::{
    args::Init,
    document,
    exit::{Exit, Failure},
    inspect,
    request::JobRequest,
    say,
};
use crate::{
    job::{self, Guess, LayerSource, Role},
    read::{Inspection, Plays},
};
use std::{fs, io::Write, path::Path};

/// Writes a job file.
pub fn init(args: &Init) -> Result<Exit, Failure> {
    let request = match &args.job {
        Some(path) => JobRequest::read(path)?,
        None => JobRequest::defaults(),
    };
    let seen = inspect::look(&args.site, &request)?;
    let text = job::init_text(&guess(&args.site, &seen));
    if let Some(path) = &args.output {
        write(path, &text, args.replace)?;
    }
    let written = args.output.as_deref();
    match (args.talk.json, written) {
        (true, _) => say::document(&document::init(written, &text)),
        (false, None) => say::text(&text),
        (false, Some(path)) if !args.talk.quiet => say::text(&say::init(path, &seen)),
        _ => {}
    }
    Ok(Exit::Done)
}

fn guess(site: &Path, seen: &Inspection) -> Guess {
    let roles = seen.guess.by_role.iter();
    let named = |(role, source): (Role, &LayerSource)| {
        let by_name = source.file.is_none().then(|| role.name().to_string());
        (
            role,
            LayerSource {
                table: source.table.clone().or(by_name),
                ..source.clone()
            },
        )
    };
    Guess {
        site: site.file_name().map_or_else(
            || site.display().to_string(),
            |n| n.to_string_lossy().into_owned(),
        ),
        crs: seen
            .crs
            .as_ref()
            .map(|crs| crs.authority.clone().unwrap_or_else(|| crs.name.clone())),
        layers: roles
            .flat_map(|(role, all)| all.iter().map(|one| (*role, one)))
            .map(named)
            .collect(),
        remarks: unused(seen),
    }
}

/// Layers that no role was found for.
fn unused(seen: &Inspection) -> Vec<String> {
    let nothing = seen.layers.iter().filter(|l| l.plays == Plays::Nothing);
    nothing
        .map(|l| format!("No role was found for the layer {}.", l.name))
        .collect()
}

/// Writes the text whole or not at all; a job file that is there holds somebody's work.
fn write(path: &Path, text: &str, replace: bool) -> Result<(), Failure> {
    if path.exists() && !replace {
        let message = format!(
            "{}: is there already; give --replace to write over it",
            path.display()
        );
        return Err(Failure::of_file(Exit::Input, path, message));
    }
    put(path, text).map_err(|e| {
        let message = format!(
            "{}: cannot be written ({e}); choose another place with -o",
            path.display()
        );
        Failure::of_file(Exit::Output, path, message)
    })
}

fn put(path: &Path, text: &str) -> std::io::Result<()> {
    let draft = path.with_extension(format!("{}.tmp", std::process::id()));
    let mut file = fs::File::create(&draft)?;
    let written = file
        .write_all(text.as_bytes())
        .and_then(|()| file.sync_all());
    written
        .and_then(|()| fs::rename(&draft, path))
        .inspect_err(|_| {
            // What is left of it is of no use to anybody.
            let _ = fs::remove_file(&draft);
        })
}
