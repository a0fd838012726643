//! The margin of one encounter.

use super::reason::{Check, NotWorked};
use crate::{
    bibliography::{Cited, Tag},
    mechanics::Working,
};

/// What a conflict's row says of it.
#[derive(Debug, Clone, PartialEq)]
pub struct ConflictFacts {
    /// Surface to surface (m).
    pub clearance_m: f64,
    /// For location and boring error (m).
    pub allowance_m: f64,
    /// What the rule asks (m).
    pub required_m: f64,
    /// The depth of the thing is known.
    pub depth_known: bool,
    /// Verdict of the row.
    pub verdict: String,
    /// Where the required value comes from.
    pub rule: String,
}

/// The margin: clearance less allowance less what the rule asks.
pub fn conflict_checks(row: &ConflictFacts) -> Vec<Check> {
    let cited = Cited::unsourced(
        "95 % limits of location and boring joined as squares",
        Tag::Derived,
    );
    let mut w = Working::new("Margin", cited);
    let c = w.given("c", "clearance, surface to surface", row.clearance_m, "m");
    let a = w.given(
        "a",
        "allowance for location and boring",
        row.allowance_m,
        "m",
    );
    let r = w.given("r", "required by the rule", row.required_m, "m");
    w.line(("m", "margin"), "c - a - r", c - a - r, "m");
    let worked: Result<Working, NotWorked> = Ok(w);
    let said = if row.depth_known {
        format!("{}, by the records; required by {}", row.verdict, row.rule)
    } else {
        format!(
            "{}: its depth is not known, and the margin is to all depths that it may have; required by {}",
            row.verdict, row.rule
        )
    };
    vec![Check::new("clearance", worked).judged(|_| said.clone())]
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_margin_is_what_is_left() {
        let row = ConflictFacts {
            clearance_m: 0.653,
            allowance_m: 0.251,
            required_m: 0.3,
            depth_known: true,
            verdict: "watch".to_string(),
            rule: "a rule".to_string(),
        };
        let checks = conflict_checks(&row);
        let margin = checks[0].worked.as_ref().expect("worked").value();
        assert!((margin - 0.102).abs() < 1e-9);
        assert_eq!(
            checks[0].verdict.as_deref(),
            Some("watch, by the records; required by a rule")
        );
        let unknown = ConflictFacts {
            depth_known: false,
            verdict: "prove".to_string(),
            ..row
        };
        let said = conflict_checks(&unknown)[0].verdict.clone();
        assert!(said.is_some_and(|s| s.starts_with("prove: its depth is not known")));
    }
}
