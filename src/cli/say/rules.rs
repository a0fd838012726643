//! What `rules` says.

use super::out::warnings;
use crate::{
    bibliography::Source,
    job::{InForce, Provenance, RuleRow, RuleSet},
};
use std::fmt::Write;

/// The rules as a table, and the sources they cite.
pub fn rules(in_force: &InForce) -> String {
    let rows = in_force.rows();
    let sources = sources(&rows);
    let width = rows.iter().map(|r| r.key.len()).max().unwrap_or(0);
    let set = &in_force.rule_set;
    let mut out = format!("Rule set {}: {}\n\n", set.name, set.title);
    for row in &rows {
        let _ = writeln!(
            out,
            "{:width$}  {:18}  {}",
            row.key,
            valued(row),
            remark(row, &sources)
        );
    }
    out.push_str("\nSources\n");
    for (n, source) in (1..).zip(&sources) {
        let _ = writeln!(out, "[{n}] {source}. {}", source.place());
    }
    out.push_str("\nRule sets, for rules.base\n");
    out.push_str(&listed(RuleSet::names(), RuleSet::named));
    out.push_str("\nSchemes of location quality, for rules.quality_scheme\n");
    out.push_str(&listed(RuleSet::scheme_names(), RuleSet::scheme));
    out + &warnings(&in_force.warnings)
}

/// A line a name, with what it is for.
fn listed<E>(names: Vec<&str>, of: impl Fn(&str) -> Result<RuleSet, E>) -> String {
    let width = names.iter().map(|n| n.len()).max().unwrap_or(0);
    let title = |name: &str| of(name).map_or(String::new(), |set| set.title);
    let line = |name: &&str| format!("{name:width$}  {}\n", title(name));
    names.iter().map(line).collect()
}

fn valued(row: &RuleRow) -> String {
    match &row.value {
        Some(value) => format!("{value} {}", row.unit).trim_end().to_string(),
        None if row.asked.is_some() => "asked for".to_string(),
        None => "not set".to_string(),
    }
}

/// `pits deeper than this are supported; published [4] regulation 306; job file line 3`
fn remark(row: &RuleRow, sources: &[Source]) -> String {
    let from = row.from.as_ref().map(|from| origin(from, sources));
    let line = row.line.map(|line| format!("job file line {line}"));
    let asked = row
        .asked
        .as_ref()
        .map(|why| format!("the job must state it: {why}"));
    let parts: Vec<String> = [Some(row.about.clone()), from, line, asked]
        .into_iter()
        .flatten()
        .collect();
    parts.join("; ")
}

fn origin(from: &Provenance, sources: &[Source]) -> String {
    let number = from
        .source
        .and_then(|cited| sources.iter().position(|s| *s == cited));
    let number = number.map_or(String::new(), |n| format!(" [{}]", n + 1));
    let at = from
        .at
        .as_ref()
        .map_or(String::new(), |at| format!(" {at}"));
    format!("{}{number}{at}", from.tag)
}

/// Every source that the rows cite, once.
fn sources(rows: &[RuleRow]) -> Vec<Source> {
    let cited = |s: &Source| {
        rows.iter()
            .filter_map(|r| r.from.as_ref()?.source)
            .any(|c| c == *s)
    };
    Source::ALL.iter().copied().filter(cited).collect()
}
