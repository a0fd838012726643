//! Which layers a command owns.

use super::*;
use crate::check::{Change, Report};
use crate::plan::Plan;
use crate::write::Table;

/// The layers of `plan`, all of them, empty or not: so an earlier run's alternatives never stay beside another plan.
pub fn plan_tables(plan: &Plan) -> Vec<Table<'_>> {
    vec![
        PROPOSED_PITS.table(&plan.pits),
        PROPOSED_BORES.table(&plan.bores),
        BORE_CONFLICTS.table(&plan.conflicts),
        TEST_HOLES.table(&plan.test_holes),
        LONG_SECTIONS.table(&plan.sections),
        AFFECTED_LOTS.table(&plan.lots),
        COST_ITEMS.table(&plan.costs),
        BORE_OR_TRENCH.table(&plan.comparisons),
        BORE_PROGRAMME.table(&plan.programme),
        ALTERNATIVES.table(&plan.alternatives),
        ALTERNATIVE_PITS.table(&plan.alternative_pits),
        ALTERNATIVE_BORES.table(&plan.alternative_bores),
        ROUTE_BLOCKERS.table(&plan.blockers),
    ]
}

/// The layers of `check`, all of them, empty or not.
pub fn check_tables<'a>(report: &'a Report<'a>, changes: &'a [Change]) -> Vec<Table<'a>> {
    let checked = report.checked;
    let holes = |i: usize| checked.holes[i].found as usize;
    let inspections = |i: usize| checked.inspections[i] as usize;
    vec![
        BORE_CONFLICTS.made(
            checked.found.len(),
            |some| report.fetch(some),
            |i, spent| report.conflict(i, spent),
        ),
        TEST_HOLES.made(
            checked.holes.len(),
            move |some| report.fetch(some.map(holes)),
            |i, spent| report.hole(i, spent),
        ),
        BORE_INSPECTIONS.made(
            checked.inspections.len(),
            move |some| report.fetch(some.map(inspections)),
            |i, spent| report.inspection(i, spent),
        ),
        CONFLICT_CHANGES.table(changes),
    ]
}
