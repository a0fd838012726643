//! The margin of one encounter.

use super::{
    bore::{Above, Bored, heave_there, settlement_there},
    reason::{Check, NotWorked},
};
use crate::{
    bibliography::{Cited, Tag},
    job::Job,
    mechanics::{Working, settlement::damage},
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
    /// The bore, and where the thing lies above it; none where it does not.
    pub over: Option<(Bored, Above)>,
    /// It is a building.
    pub building: bool,
}

/// The margin, and what the bore does to the thing above it.
pub fn conflict_checks(job: &Job, row: &ConflictFacts) -> Vec<Check> {
    let mut all = vec![margin(row)];
    if let Some((bored, there)) = row.over {
        let limits = |w: &Working| {
            let s = w.term("s_y").map_or(f64::NAN, |t| t.value);
            let rules = &job.rules;
            let beside = |value: f64, most: f64| if value <= most { "within" } else { "ABOVE" };
            let said = format!(
                "settlement is {} {} mm (rules.settlement_mm), slope {} {} (rules.settlement_slope)",
                beside(s, rules.settlement_mm),
                rules.settlement_mm,
                beside(w.value(), rules.settlement_slope),
                rules.settlement_slope
            );
            match row.building {
                true => format!(
                    "{said}; damage by Rankin's limits of both: {} (from memory)",
                    damage(s, w.value()).word()
                ),
                false => said,
            }
        };
        let settled = settlement_there(job, &bored, there);
        all.push(Check::new("ground", settled).judged(limits));
        all.push(Check::new("ground", heave_there(job, there)));
    }
    all
}

/// Rows (id, settlement in mm, slope) that pass a limit of the rules, in words.
pub fn over_findings<'a>(
    job: &Job,
    rows: impl Iterator<Item = (&'a str, f64, f64)>,
) -> Option<String> {
    let rules = &job.rules;
    let past =
        rows.filter(|(_, mm, slope)| *mm > rules.settlement_mm || *slope > rules.settlement_slope);
    let found: Vec<&str> = past.map(|r| r.0).collect();
    (!found.is_empty()).then(|| {
        format!(
            "settlement over {} mm or slope over 1 in {:.0} of what lies above a bore, if all the overcut closes (curves fitted to tunnels): {}; ask its owner, or less overcut, grout, more depth",
            rules.settlement_mm,
            1.0 / rules.settlement_slope,
            super::ids(found.into_iter())
        )
    })
}

/// Clearance less allowance less what the rule asks.
fn margin(row: &ConflictFacts) -> Check {
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
    Check::new("clearance", worked).judged(|_| said.clone())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_row_that_passes_either_limit_is_named() {
        let rows = [("C1", 9.0, 0.001), ("C2", 11.0, 0.001), ("C3", 1.0, 0.003)];
        let said = over_findings(&job(""), rows.into_iter()).expect("two");
        assert!(
            said.contains("1 in 500") && said.contains(": C2, C3;"),
            "{said}"
        );
        assert_eq!(over_findings(&job(""), rows.into_iter().take(1)), None);
    }

    use crate::plan::checks::example::{BORE, job};

    #[test]
    fn a_margin_is_what_is_left() {
        let row = ConflictFacts {
            clearance_m: 0.653,
            allowance_m: 0.251,
            required_m: 0.3,
            depth_known: true,
            verdict: "watch".to_string(),
            rule: "a rule".to_string(),
            over: None,
            building: false,
        };
        let checks = conflict_checks(&job(""), &row);
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
        let said = conflict_checks(&job(""), &unknown)[0].verdict.clone();
        assert!(said.is_some_and(|s| s.starts_with("prove: its depth is not known")));
        let there = Above {
            above_m: 0.4,
            beside_m: 0.0,
        };
        let above = ConflictFacts {
            over: Some((BORE.bored(), there)),
            building: true,
            ..unknown
        };
        let checks = conflict_checks(&job("[soil]\nclass = \"firm-clay\"\n"), &above);
        assert_eq!(checks.len(), 3);
        let said = checks[1].verdict.as_deref().expect("judged");
        assert!(
            said.contains("slope ABOVE 0.002") && said.contains("to be expected"),
            "{said}"
        );
    }
}
