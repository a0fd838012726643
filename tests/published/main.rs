//! Published values beside ours, one file a source or a family of sources.
//!
//! What is expected is what the source prints, never a result of ours. A worked value must round to the printed digits; a
//! rule value must be the same number. Each says whether the source was read, read in a page that restates it, or is from
//! memory. `peers` holds formulas against libraries that others wrote. `values`, `limits` and `separation` hold rule sets against
//! the files of `data/`, one file a source; its head says which and how near.

mod approved_document_h;
mod bennett1998;
mod british_sewers;
mod chu_stoppage;
mod clay_pipe;
mod en1610;
mod excavations;
mod herzog1985;
mod limits;
mod line_and_level;
mod oreilly_new1982;
mod pacific_grades;
mod page;
mod peers;
mod pipe_flow_tables;
mod pipe_jacking_association;
mod rankin1988;
mod rule_set;
mod separation;
mod silo_authors;
mod table;
mod trees;
mod trough_exercise;
mod uk_greenhouse_gas2025;
mod us_states;
mod values;
mod waverly_oh;

use page::{Page, Proof, Value};
use pitwright::bibliography::{Source, Tag};
use std::collections::BTreeMap;

const SOURCES: &[fn() -> Vec<Page>] = &[
    approved_document_h::pages,
    bennett1998::pages,
    british_sewers::sector_guidance,
    british_sewers::en752,
    british_sewers::design_and_construction,
    chu_stoppage::pages,
    clay_pipe::astm,
    clay_pipe::en295,
    en1610::pages,
    excavations::osha,
    excavations::din4124,
    excavations::nt_whs,
    excavations::swell,
    excavations::thomson,
    excavations::watercare,
    herzog1985::pages,
    line_and_level::tauranga,
    line_and_level::levelling,
    oreilly_new1982::pages,
    pacific_grades::as_nzs_3500,
    pacific_grades::nzs4404,
    pipe_flow_tables::table,
    pipe_flow_tables::manual,
    pipe_flow_tables::exercise,
    pipe_jacking_association::pages,
    rankin1988::pages,
    rule_set::amaravati,
    rule_set::as5488,
    rule_set::hsg47,
    rule_set::wsa02,
    rule_set::au_cover,
    silo_authors::terzaghi,
    silo_authors::atv_a161,
    silo_authors::pellet_kastner,
    trees::as4970,
    trees::bs5837,
    trees::njug,
    trees::arlington,
    trees::permits,
    trough_exercise::pages,
    uk_greenhouse_gas2025::pages,
    us_states::wisconsin,
    us_states::virginia,
    us_states::purcell,
    us_states::tolono,
    us_states::chicago,
    waverly_oh::pages,
];

fn pages() -> Vec<Page> {
    SOURCES.iter().flat_map(|pages| pages()).collect()
}

fn values() -> Vec<Value> {
    pages().into_iter().flat_map(|p| p.values).collect()
}

#[test]
fn every_published_value_is_ours_too() {
    let wrong = values().into_iter().filter(|v| !v.agrees()).map(|v| {
        let Value {
            at,
            what,
            printed,
            found,
            tolerance,
            ..
        } = &v;
        format!(
            "{}, {at}: {what}: printed {printed}, found {found} (± {tolerance})",
            v.source
        )
    });
    let wrong: Vec<String> = wrong.collect();
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn known_differences_are_still_there() {
    let all: Vec<_> = pages().into_iter().flat_map(|p| p.differences).collect();
    assert!(!all.is_empty());
    for d in all {
        let (value, why) = (d.value, d.why);
        assert!(
            !value.agrees(),
            "{} agrees now; it did not: {why}",
            value.what
        );
        assert!(
            (value.found - value.printed.parse::<f64>().unwrap()).abs() < 3.0 * value.tolerance
        );
    }
}

/// How much is held against how many sources; also that no value is counted twice.
#[test]
fn there_are_enough_of_them() {
    let values = values();
    let mut by_source: BTreeMap<Source, Vec<&Value>> = BTreeMap::new();
    for v in &values {
        by_source.entry(v.source).or_default().push(v);
    }
    for (source, of) in &by_source {
        let tags: Vec<&str> = Tag::ALL
            .into_iter()
            .filter(|t| of.iter().any(|v| v.tag == *t))
            .map(Tag::word)
            .collect();
        println!("{:3} {} [{}]", of.len(), source, tags.join(", "));
        let mut names: Vec<_> = of.iter().map(|v| (v.at, &v.what)).collect();
        let all = names.len();
        names.sort();
        names.dedup();
        assert_eq!(names.len(), all, "{source} counts a value twice");
    }
    let count = |wanted: &dyn Fn(&&Value) -> bool| values.iter().filter(wanted).count();
    let tagged = |tag| count(&|v| v.tag == tag);
    println!(
        "{} values of {} sources: {} read, {} secondary, {} from memory; {} worked, {} rule values",
        values.len(),
        by_source.len(),
        tagged(Tag::Published),
        tagged(Tag::Secondary),
        tagged(Tag::FromMemory),
        count(&|v| v.proof == Proof::Worked),
        count(&|v| v.proof == Proof::Rule),
    );
    assert!(values.len() >= 120, "only {} values", values.len());
    assert!(by_source.len() >= 25, "only {} sources", by_source.len());
}
