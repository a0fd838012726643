//! The part of a bore's sheet that is about what flows in it.

use super::{
    bore::{BoreFacts, flow, full},
    reason::{Check, NotWorked},
    served_flow::{at_design_flow, flows},
};
use crate::{
    job::Job,
    mechanics::{
        Working,
        hydraulics::{
            MIN_GRADES, MinGrades, SHEAR_PA, colebrook_white, grade_for_velocity, one_in_dn, shear,
        },
    },
};

/// Every check of what flows in a bore: full, by rules for the least grade, and from the lots served.
pub(super) fn flow_checks(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    let pipe = &job.pipe;
    let viscosity = pipe.viscosity_mm2_s / 1e6;
    let cleansed = |w: &Working| {
        let v = w.term("V").map_or(f64::NAN, |t| t.value);
        let words = if v >= 0.7 { "keeps" } else { "does NOT keep" };
        format!("flowing full it {words} to 0.7 m/s (EN 752, secondary)")
    };
    let mut all = vec![
        Check::new("flow", flow(job, bore)).judged(cleansed),
        Check::new(
            "flow",
            colebrook_white(full(bore), pipe.roughness_mm, viscosity),
        ),
        Check::new("flow", shear(bore.id_mm, 1.0, bore.grade)),
    ];
    all.extend(least_grades(job, bore));
    all.extend(design_flow_checks(job, bore));
    all
}

/// Flattest grades by rules and tables, beside the bore's.
fn least_grades(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    let beside = |w: &Working| {
        let words = if bore.grade >= w.value() - 1e-9 {
            "no flatter"
        } else {
            "FLATTER"
        };
        format!("grade {:.5} is {words}", bore.grade)
    };
    let dn = f64::from(bore.dn_mm);
    // Nominal diameters of tables in inches are up to 1.6 % wider: DN 150 is their 6 in.
    let row = |t: &'static MinGrades| Some((t, t.at(dn * 1.016)?));
    let tables = MIN_GRADES.iter().filter_map(row);
    let named = |keeps: bool| {
        let like = tables
            .clone()
            .filter(|(_, s)| (bore.grade >= s - 1e-9) == keeps);
        let names: Vec<String> = like.map(|(t, s)| format!("{} ({s:.4})", t.name)).collect();
        if names.is_empty() {
            "none".to_string()
        } else {
            names.join("; ")
        }
    };
    let by_tables = format!("tables kept: {}. Not kept: {}", named(true), named(false));
    vec![
        Check::new(
            "flow",
            grade_for_velocity(bore.id_mm, 0.7, job.pipe.manning_n),
        )
        .judged(beside),
        Check::new("flow", one_in_dn(dn)).judged(|w| format!("{}; {by_tables}", beside(w))),
    ]
}

/// What the lots served send down, by every rule, and how the pipe runs then.
fn design_flow_checks(job: &Job, bore: &BoreFacts) -> Vec<Check> {
    const SUBJECT: &str = "design flow";
    let by_rule = match flows(job, bore) {
        Err(why) => return vec![Check::new(SUBJECT, Err(why))],
        Ok(rules) => rules.into_iter(),
    };
    let running = |w: &Working| {
        let of = |symbol| w.term(symbol).map_or(f64::NAN, |t| t.value);
        let (share, v, tau) = (w.value(), of("V"), of("τ"));
        let enough = if share <= 1.0 {
            "is enough"
        } else {
            "is NOT enough"
        };
        let cleans = match (v >= 0.7, tau >= SHEAR_PA.low) {
            (true, _) => "it keeps to 0.7 m/s (EN 752, secondary)",
            (_, true) => {
                "it does not keep to 0.7 m/s (EN 752, secondary), but to 1 Pa of shear (from memory)"
            }
            _ => {
                "it keeps NEITHER to 0.7 m/s (EN 752, secondary) NOR to 1 Pa of shear (from memory)"
            }
        };
        format!("capacity {enough}; at its design flow {cleans}")
    };
    let mut all: Vec<Check> = by_rule.map(|w| Check::new(SUBJECT, w)).collect();
    let lacks = Check::new(SUBJECT, at_design_flow(job, bore)).judged(running);
    let verdict = match &lacks.worked {
        Err(NotWorked::OutOfRange(e)) if e.quantity == "flow by full flow" => Some(
            "the pipe does NOT carry its design flow: a wider pipe, or a steeper grade".to_string(),
        ),
        _ => lacks.verdict.clone(),
    };
    all.push(Check { verdict, ..lacks });
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::checks::example::{BORE, job};

    #[test]
    fn tables_in_inches_are_asked_for_the_same_pipe() {
        let said: Vec<String> = flow_checks(&job(""), &BORE)
            .into_iter()
            .filter_map(|c| c.verdict)
            .collect();
        // 1/8 in a foot, which is steeper than 1 in 100, not the 1/4 of smaller pipes.
        let tables = said
            .iter()
            .find(|v| v.contains("tables kept: "))
            .expect("said");
        assert!(
            tables.contains("plumbing code, Chicago (0.0104)"),
            "{tables}"
        );
        let kept = tables.split("Not kept").next().expect("the first half");
        assert!(
            kept.contains("house drains, AS/NZS 3500.2 (0.0100)"),
            "{kept}"
        );
    }

    #[test]
    fn a_pipe_that_does_not_carry_its_lots_says_so() {
        let busy = BoreFacts {
            lots_served: Some(900),
            ..BORE
        };
        let checks = flow_checks(&job(""), &busy);
        let last = checks.last().and_then(|c| c.verdict.as_deref());
        assert!(
            last.is_some_and(|v| v.starts_with("the pipe does NOT carry")),
            "{last:?}"
        );
    }
}
