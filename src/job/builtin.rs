//! The rule sets and schemes of location quality that are part of the program.

use super::{error::JobFault, ruleset::RuleSet};

/// The rule sets: name and text.
const RULE_SETS: &[(&str, &str)] = &[
    ("metric", include_str!("rules/metric.toml")),
    ("us-states", include_str!("rules/us-states.toml")),
];

/// The schemes of location quality: name and text.
const SCHEMES: &[(&str, &str)] = &[
    ("as5488", include_str!("rules/quality/as5488.toml")),
    ("asce38-22", include_str!("rules/quality/asce38-22.toml")),
    (
        "one-call-18in",
        include_str!("rules/quality/one-call-18in.toml"),
    ),
    (
        "one-call-24in",
        include_str!("rules/quality/one-call-24in.toml"),
    ),
    ("pas128", include_str!("rules/quality/pas128.toml")),
];

impl RuleSet {
    /// Names of the rule sets there are.
    pub fn names() -> Vec<&'static str> {
        RULE_SETS.iter().map(|(name, _)| *name).collect()
    }

    /// Names of the schemes of location quality there are.
    pub fn scheme_names() -> Vec<&'static str> {
        SCHEMES.iter().map(|(name, _)| *name).collect()
    }

    /// The built-in rule set of that name, on top of the one that it extends.
    ///
    /// # Errors
    /// None by that name is built in, or it does not keep the rules for rule sets.
    pub fn named(name: &str) -> Result<RuleSet, JobFault> {
        let unknown = || JobFault::UnknownRuleSet {
            base: name.to_string(),
            known: RuleSet::names().join(", "),
        };
        let set = read(RULE_SETS, name).ok_or_else(unknown)??;
        match &set.extends {
            Some(base) => RuleSet::named(base).map(|base| set.over(base)),
            None => Ok(set),
        }
    }

    /// The built-in scheme of location quality of that name.
    ///
    /// # Errors
    /// None by that name is built in, or it does not keep the rules for rule sets.
    pub fn scheme(name: &str) -> Result<RuleSet, JobFault> {
        let unknown = || JobFault::UnknownScheme {
            scheme: name.to_string(),
            known: RuleSet::scheme_names().join(", "),
        };
        read(SCHEMES, name).ok_or_else(unknown)?
    }
}

fn read(all: &[(&str, &str)], name: &str) -> Option<Result<RuleSet, JobFault>> {
    let (_, text) = all.iter().find(|(n, _)| *n == name)?;
    Some(RuleSet::read(text, name).map_err(|e| *e.fault))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::{KeyPath, Tag};

    fn all() -> Vec<RuleSet> {
        let sets = RuleSet::names().into_iter().map(RuleSet::named);
        let schemes = RuleSet::scheme_names().into_iter().map(RuleSet::scheme);
        sets.chain(schemes)
            .map(|set| set.expect("keeps the rules"))
            .collect()
    }

    #[test]
    fn each_is_called_what_it_calls_itself() {
        let named = [RULE_SETS, SCHEMES].concat();
        for (name, text) in named {
            assert!(text.contains(&format!("\nname = \"{name}\"\n")), "{name}");
        }
        assert!(all().iter().all(|set| !set.title.is_empty()));
    }

    #[test]
    fn every_value_is_cited_or_says_that_it_is_not() {
        for set in all() {
            for (path, e) in &set.entries {
                let cites = matches!(e.from.tag, Tag::Published | Tag::Secondary);
                assert!(!cites || e.from.cite().is_some(), "{}: {path}", set.name);
                assert!(e.value.is_none() || e.asked.is_none(), "{path}");
            }
        }
    }

    #[test]
    fn a_set_says_what_it_changes_and_takes_over_the_rest() {
        let (metric, us) = (RuleSet::named("metric"), RuleSet::named("us-states"));
        let (metric, us) = (metric.expect("built in"), us.expect("built in"));
        let rig = KeyPath::of("rig.reach_m");
        assert_eq!(us.entries[&rig], metric.entries[&rig]);
        assert_eq!(us.soils, metric.soils);
        let gas = KeyPath::of("rules.clearance.gas.crossing_m");
        assert!(metric.entries.contains_key(&gas) && !us.entries.contains_key(&gas));
        let building = &us.entries[&KeyPath::of("rules.clearance.building")];
        assert!(building.value.is_none() && building.asked.is_some());
    }

    #[test]
    fn an_unknown_scheme_names_those_there_are() {
        let fault = RuleSet::scheme("pas129").expect_err("none");
        let words = fault.to_string();
        assert!(
            words.contains("pas129") && words.contains("one-call-24in, pas128"),
            "{words}"
        );
    }
}
