//! What a job file says, key by key, before any default is filled in.

use super::{
    error::{JobError, JobFault},
    keys::{self, Found},
    layers::Layers,
    layers_table, nearest,
    text::Source,
    value::{KeyPath, Value},
};
use std::collections::BTreeMap;
use toml::de::{DeTable, DeValue};

/// What a job file says.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Given {
    /// Value and line of every key.
    pub values: BTreeMap<KeyPath, (Value, usize)>,
    /// `[layers]`.
    pub layers: Layers,
}

/// Reads a job file.
///
/// # Errors
/// It is not TOML, has a key that no job has, or a value that does not fit its key.
pub fn read(source: &Source) -> Result<Given, JobError> {
    let mut given = Given::default();
    for (key, value) in &source.tree()? {
        if key.get_ref() == "layers" {
            given.layers = layers_table::read(source, value)?;
        } else {
            read_one(
                source,
                KeyPath::default().join(key.get_ref()),
                key.span().start,
                value.get_ref(),
                &mut given,
            )?;
        }
    }
    Ok(given)
}

fn read_table(
    source: &Source,
    path: &KeyPath,
    table: &DeTable,
    given: &mut Given,
) -> Result<(), JobError> {
    for (key, value) in table {
        read_one(
            source,
            path.join(key.get_ref()),
            key.span().start,
            value.get_ref(),
            given,
        )?;
    }
    Ok(())
}

fn read_one(
    source: &Source,
    path: KeyPath,
    at: usize,
    raw: &DeValue,
    given: &mut Given,
) -> Result<(), JobError> {
    if keys::is_placeholder(path.name()) {
        return Err(source.error(at, unknown(&path)));
    }
    match (keys::find(&path, raw.is_table()), raw) {
        (Found::Table, DeValue::Table(inner)) => read_table(source, &path, inner, given),
        (Found::Table, _) => Err(source.bad(&path, raw, at, format!("a table, [{path}]"))),
        (Found::Nothing, _) => Err(source.error(at, unknown(&path))),
        (Found::Key(_, shape), _) => {
            let value = source.value(&path, shape, raw, at)?;
            given.values.insert(path, (value, source.line(at)));
            Ok(())
        }
    }
}

/// The fault of a key that no job has.
fn unknown(path: &KeyPath) -> JobFault {
    let key = path.to_string();
    let Some((what, mut words)) = keys::words_at(path) else {
        return JobFault::UnknownKey {
            key,
            nearest: nearest::key(path),
        };
    };
    words.extend(
        keys::names_at(path)
            .into_iter()
            .filter(|n| !keys::is_placeholder(n)),
    );
    let nearest = nearest::word(path.name(), words.iter().copied())
        .unwrap_or_default()
        .to_string();
    JobFault::UnknownWord {
        key,
        word: path.name().to_string(),
        what,
        nearest,
        known: words.join(", "),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn refused(text: &str) -> String {
        read(&Source {
            name: "job.toml",
            text,
        })
        .expect_err("refused")
        .to_string()
    }

    #[test]
    fn an_unknown_key_names_the_nearest_at_any_depth() {
        let cases = [
            (
                "[rig]\nreach = 40\n",
                "job.toml line 2: unknown key rig.reach; the nearest known one is rig.reach_m",
            ),
            (
                "[rigg]\n",
                "job.toml line 1: unknown key rigg; the nearest known one is rig",
            ),
            (
                "reach_m = 40\n",
                "job.toml line 1: unknown key reach_m; the nearest known one is rig.reach_m",
            ),
            (
                "[rules.clearance.gas]\n\npit = 1\n",
                "job.toml line 3: unknown key rules.clearance.gas.pit; the nearest known one is rules.clearance.gas.pit_m",
            ),
        ];
        for (text, expected) in cases {
            assert_eq!(refused(text), expected);
        }
    }

    #[test]
    fn an_unknown_kind_names_the_nearest_and_all() {
        let words = refused("[rules.clearance.watter]\ncrossing_m = 1\n");
        assert!(
            words.contains("'watter' is no kind of service; the nearest known one is water"),
            "{words}"
        );
        assert!(words.contains("recycled-water"), "{words}");
        assert!(refused("[rules.quality.E]\n").contains("is no quality level"));
        assert!(
            refused("[costs.reinstate]\nlawns = 3\n").contains("the nearest known one is lawn")
        );
    }

    #[test]
    fn a_value_that_does_not_fit_says_what_would() {
        let cases = [
            (
                "[rig]\nreach_m = \"far\"\n",
                "rig.reach_m is \"far\", expected a number above 0",
            ),
            (
                "[rig]\nreach_m = -60\n",
                "rig.reach_m is -60, expected a number above 0",
            ),
            (
                "[rig]\nreach_m = nan\n",
                "rig.reach_m is nan, expected a number above 0",
            ),
            (
                "[rig]\ngrade_max = 20\n",
                "rig.grade_max is 20, expected a number from 0 to 1",
            ),
            (
                "[rig]\nlaunch_from = \"down\"\n",
                "expected one of \"either\", \"downstream\", \"upstream\"",
            ),
            (
                "[pits]\non_lots = true\n",
                "pits.on_lots is true, expected one of \"entry\", \"never\", \"always\"",
            ),
            (
                "[search]\nstation_step_m = 0\n",
                "search.station_step_m is 0, expected a number above 0",
            ),
            (
                "[search]\nstation_step_m = {}\n",
                "search.station_step_m is a table, expected a number above 0",
            ),
            ("rig = 3\n", "rig is 3, expected a table, [rig]"),
            (
                "[pipe]\ndn_mm = 150.5\n",
                "pipe.dn_mm is 150.5, expected a whole number from 1 to 10000",
            ),
        ];
        for (text, expected) in cases {
            let words = refused(text);
            assert!(words.contains(expected), "{words}");
            assert!(words.starts_with("job.toml line "), "{words}");
        }
    }

    #[test]
    fn a_whole_number_does_where_a_number_is_asked() {
        let given = read(&Source {
            name: "job.toml",
            text: "[rig]\nreach_m = 45\n",
        })
        .expect("reads");
        assert_eq!(
            given.values[&KeyPath::of("rig.reach_m")],
            (Value::Number(45.0), 2)
        );
    }
}
