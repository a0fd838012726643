//! The document of `rules`.

use super::VERSION;
use crate::job::{InForce, RuleRow, RuleSet, Value};
use serde_json::{Value as Json, json};

/// Every rule value in force.
pub fn rules(in_force: &InForce) -> Json {
    let set = &in_force.rule_set;
    json!({
        "command": "rules",
        "version": VERSION,
        "rule_set": {"name": set.name, "title": set.title},
        "rule_sets": listed(RuleSet::names(), RuleSet::named),
        "quality_schemes": listed(RuleSet::scheme_names(), RuleSet::scheme),
        "rules": in_force.rows().iter().map(rule).collect::<Vec<_>>(),
        "warnings": in_force.warnings,
    })
}

/// Names with what each is for.
fn listed<E>(names: Vec<&str>, of: impl Fn(&str) -> Result<RuleSet, E>) -> Vec<Json> {
    let one = |name: &&str| json!({"name": name, "title": of(name).ok().map(|set| set.title)});
    names.iter().map(one).collect()
}

fn rule(row: &RuleRow) -> Json {
    json!({
        "key": row.key,
        "value": row.value.as_ref().map(value),
        "unit": Some(&row.unit).filter(|u| !u.is_empty()),
        "about": row.about,
        "source": row.from.as_ref().and_then(|f| f.cite()),
        "tag": row.from.as_ref().map(|f| f.tag.word()),
        "set_by": set_by(row),
        "line": row.line,
        "asked": row.asked,
    })
}

/// Who sets a value: `job file`, `rule set`, or nobody.
pub fn set_by(row: &RuleRow) -> Option<&'static str> {
    match (&row.value, row.line) {
        (None, _) => None,
        (Some(_), Some(_)) => Some("job file"),
        (Some(_), None) => Some("rule set"),
    }
}

fn value(value: &Value) -> Json {
    match value {
        Value::Number(n) => json!(n),
        Value::Whole(n) => json!(n),
        Value::Text(s) => json!(s),
    }
}
