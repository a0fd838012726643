//! What a rule set must keep, checked whenever one is read.

use super::{
    error::{JobError, JobFault},
    ruleset::RuleSet,
    text::Source,
    value::{KeyPath, Value},
};
use crate::{
    bibliography::{self, Tag},
    site::Quality,
};
use toml::de::DeTable;

/// Every line says what it is by a known word, and cites what is in the bibliography.
///
/// # Errors
/// An unknown tag or source; `published` or `secondary` without a source; a line that gives a value and asks for one.
pub(super) fn written(source: &Source, table: &DeTable) -> Result<(), JobError> {
    for (key, value) in table {
        let Some(inner) = value.get_ref().as_table() else {
            continue;
        };
        let at = key.span().start;
        line(key.get_ref(), inner).map_err(|fault| source.error(at, fault))?;
        written(source, inner)?;
    }
    Ok(())
}

fn line(key: &str, table: &DeTable) -> Result<(), JobFault> {
    let word = |name: &str| table.get(name)?.get_ref().as_str();
    let fault = |why: String| {
        let key = key.to_string();
        Err(JobFault::Inconsistent { key, why })
    };
    let tag = match word("tag") {
        Some(written) => match Tag::of(written) {
            Some(tag) => Some(tag),
            None => return fault(format!("tag \"{written}\" is none that is known")),
        },
        None => None,
    };
    match word("source") {
        Some(name) if bibliography::Source::named(name).is_none() => {
            return fault(format!("source {name} is not in the bibliography"));
        }
        None if matches!(tag, Some(Tag::Published | Tag::Secondary)) => {
            return fault("what is published or secondary names its source".to_string());
        }
        _ => {}
    }
    if table.contains_key("ask") && table.contains_key("value") {
        return fault("gives a value and asks for one".to_string());
    }
    Ok(())
}

/// Values of a set that may not stand together.
///
/// # Errors
/// Minimum grade rises with diameter (enacted copies of tables have misprints of that kind), or a better quality level is
/// less certain than a worse one.
pub(super) fn values(set: &RuleSet) -> Result<(), JobFault> {
    grades(set)?;
    for key in ["horizontal_m", "vertical_m"] {
        levels(set, key)?;
    }
    Ok(())
}

fn grades(set: &RuleSet) -> Result<(), JobFault> {
    let table = KeyPath::of("rules.min_grade");
    let rows = set.entries.iter().filter(|(path, _)| path.is_in(&table));
    let mut rows: Vec<(u32, f64)> = rows
        .filter_map(|(path, e)| Some((path.name().parse().ok()?, number(e.value.as_ref()?)?)))
        .collect();
    rows.sort_by_key(|(dn, _)| *dn);
    for pair in rows.windows(2) {
        if pair[1].1 > pair[0].1 {
            let why = format!(
                "minimum grade may not rise with diameter, but {} is above the {} of a smaller pipe",
                pair[1].1, pair[0].1
            );
            let key = table.join(&pair[1].0.to_string()).to_string();
            return Err(JobFault::Inconsistent { key, why });
        }
    }
    Ok(())
}

fn levels(set: &RuleSet, key: &str) -> Result<(), JobFault> {
    let table = KeyPath::of("rules.quality");
    let limit = |level: Quality| {
        let entry = set.entries.get(&table.join(level.word()).join(key))?;
        Some((level, number(entry.value.as_ref()?)?))
    };
    // A limit of 0 beside a share of depth says nothing by itself.
    let stated = Quality::ALL.iter().filter_map(|l| limit(*l));
    let stated: Vec<_> = stated.filter(|(_, m)| *m > 0.0).collect();
    for pair in stated.windows(2) {
        if pair[0].1 > pair[1].1 {
            let why = format!(
                "quality {} is the better level, but its {key} {} is above the {} of {}",
                pair[0].0, pair[0].1, pair[1].1, pair[1].0
            );
            let key = table.join(pair[0].0.word()).join(key).to_string();
            return Err(JobFault::Inconsistent { key, why });
        }
    }
    Ok(())
}

fn number(value: &Value) -> Option<f64> {
    match value {
        Value::Number(n) => Some(*n),
        _ => None,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        RuleSet::read(text, "mine")
            .expect_err("refused")
            .to_string()
    }

    #[test]
    fn what_is_said_of_a_value_must_be_known() {
        let line = |rest: &str| refused(&format!("[rig]\nreach_m = {{ value = 60.0, {rest} }}\n"));
        assert!(line("tag = \"printed\"").contains("line 2: reach_m: tag \"printed\""));
        assert!(line("tag = \"from memory\", source = \"Nobody\"").contains("source Nobody"));
        assert!(line("tag = \"published\"").contains("names its source"));
        assert!(line("tag = \"from memory\", ask = \"why\"").contains("asks for one"));
    }

    #[test]
    fn a_misprint_in_a_table_of_grades_is_found() {
        let text = "[rules.min_grade]\n600 = { value = 0.0008 }\n675 = { value = 0.0067 }\n";
        let words = refused(text);
        assert!(words.contains("rules.min_grade.675"), "{words}");
    }

    #[test]
    fn a_better_level_is_no_less_certain() {
        let text = "[rules.quality.A]\nhorizontal_m = { value = 0.4 }\n[rules.quality.B]\nhorizontal_m = { value = 0.3 }\n";
        let words = refused(text);
        assert!(words.contains("rules.quality.A.horizontal_m"), "{words}");
    }
}
