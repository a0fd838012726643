//! Which layers a command owns.

use super::*;
use crate::plan::{Conflict, Plan, TestHole};
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
        ALTERNATIVES.table(&plan.alternatives),
        ALTERNATIVE_PITS.table(&plan.alternative_pits),
        ALTERNATIVE_BORES.table(&plan.alternative_bores),
        ROUTE_BLOCKERS.table(&plan.blockers),
    ]
}

/// The layers of `check`.
pub fn check_tables<'a>(conflicts: &'a [Conflict], holes: &'a [TestHole]) -> Vec<Table<'a>> {
    vec![BORE_CONFLICTS.table(conflicts), TEST_HOLES.table(holes)]
}
