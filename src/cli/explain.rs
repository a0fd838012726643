//! `explain`: the checks of one item of the result, with numbers put in.

use super::{
    args::Explain,
    document,
    exit::{Exit, Failure},
    item::{self, Item, ItemKind},
    kept_job, say,
};
use crate::{
    plan::checks::Check,
    read::{ReadError, Results},
};
use std::path::Path;

/// What is said of an item.
pub struct Explanation<'a> {
    /// Its id.
    pub id: &'a str,
    /// The item.
    pub item: &'a Item,
    /// Where it was read.
    pub file: &'a Path,
    /// Whose settings the checks take.
    pub job: &'a str,
    /// The checks.
    pub checks: &'a [Check],
}

/// Explains an item.
pub fn explain(args: &Explain) -> Result<Exit, Failure> {
    let results = Results::open(&args.site)?;
    let found = item::find(&results, &args.item)?;
    let item = found.map_or_else(|| Err(unknown(args, &results)?), Ok)?;
    let (file, job) = kept_job::kept_job(
        args.job.as_deref(),
        &args.site,
        &results,
        item.kind.place().0,
    )?;
    let checks = item::checks(&item, &results, &file.job)?;
    let checks = checks.ok_or_else(|| incomplete(args, item.kind))?;
    let explanation = Explanation {
        id: &args.item,
        item: &item,
        file: &args.site,
        job: &job,
        checks: &checks,
    };
    if args.talk.json {
        say::document(&document::explanation(&explanation));
    } else if !args.talk.quiet {
        say::text(&say::explanation(&explanation));
    }
    Ok(Exit::Done)
}

/// No layer has the id: which there are.
fn unknown(args: &Explain, results: &Results) -> Result<Failure, ReadError> {
    let mut known = vec![];
    for kind in ItemKind::ALL {
        let (layer, column) = kind.place();
        known.extend(results.words(layer, column)?);
    }
    let file = args.site.display();
    let near = |id: &&String| strsim::normalized_damerau_levenshtein(id, &args.item);
    let nearest = known.iter().max_by(|a, b| near(a).total_cmp(&near(b)));
    let message = match nearest {
        None => format!(
            "{file}: holds no bores, pits or conflicts of a plan; run pitwright plan first, or name the file that --out wrote"
        ),
        Some(id) => format!(
            "{file}: no bore, pit, conflict, run, route or lot of the plan has the id '{}'; the nearest is {id}; ids stand in proposed_bores.bore_id, proposed_pits.pit_id, bore_conflicts.conflict_id, bore_or_trench.item_id",
            args.item
        ),
    };
    Ok(Failure::of_file(Exit::Input, &args.site, message))
}

fn incomplete(args: &Explain, kind: ItemKind) -> Failure {
    let (layer, column) = kind.place();
    let message = format!(
        "{}, layer {layer}: the row whose {column} is '{}' lacks a value that its checks need; plan again with --replace",
        args.site.display(),
        args.item
    );
    Failure {
        layer: Some(layer.to_string()),
        column: Some(column.to_string()),
        ..Failure::of_file(Exit::Input, &args.site, message)
    }
}
