//! Values of rule sets and schemes against what their sources print.

use crate::table::{Row, rows};
use pitwright::job::{KeyPath, RuleSet, Value};

fn set(name: &str) -> RuleSet {
    let is_scheme = RuleSet::scheme_names().contains(&name);
    let set = if is_scheme {
        RuleSet::scheme(name)
    } else {
        RuleSet::named(name)
    };
    set.expect("built in")
}

/// What is printed, in the unit of the key.
fn printed(row: &Row) -> Value {
    let times = |factor: f64| Value::Number(row.number("printed") * factor);
    match row.text("unit") {
        "ft" => times(0.3048),
        "in" => times(0.0254),
        "percent" => times(0.01),
        "word" => Value::Text(row.text("printed").to_string()),
        unit => panic!("unit {unit}"),
    }
}

fn check(file: &str) {
    for row in rows(file) {
        let key = row.text("key");
        let set = set(row.text("rule_set"));
        let entry = &set.entries[&KeyPath::of(key)];
        match (&entry.value, printed(&row)) {
            (Some(Value::Number(held)), Value::Number(printed)) => {
                let off = (held - printed).abs();
                assert!(
                    off <= row.number("tolerance"),
                    "{key}: {held}, printed {printed}"
                );
            }
            (held, printed) => assert_eq!(held.as_ref(), Some(&printed), "{key}"),
        }
        assert!(entry.from.source.is_some(), "{key} is cited");
    }
}

#[test]
fn tolono_il() {
    check("tolono_il.csv");
}

#[test]
fn ohio_4781_12_13() {
    check("ohio_4781_12_13.csv");
}

#[test]
fn waverly_oh() {
    check("waverly_oh.csv");
}

#[test]
fn virginia_9vac25_790() {
    check("virginia_9vac25_790.csv");
}

#[test]
fn osha_1926_p() {
    check("osha_1926_p.csv");
}

#[test]
fn one_call() {
    check("one_call.csv");
}
