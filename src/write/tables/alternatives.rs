//! `alternatives`, `alternative_pits` and `alternative_bores`.

use super::{PROPOSED_BORES, PROPOSED_PITS};
use crate::plan::{Alternative, Bore, Pit};
use crate::write::layer::{int, real, text};
use crate::write::{Layer, Numbered, Value};

/// The cheapest plans of each system of joined routes, the best first.
pub static ALTERNATIVES: Layer<Alternative> = Layer {
    name: "alternatives",
    description: "The cheapest plans of each system of joined routes that differ where pits stand, the best first.",
    geometry: None,
    columns: &[
        text("system", |a| Value::list(&a.system)),
        int("alternative", |a| a.alternative.into()),
        real("cost", |a| a.cost.into()),
        real("more_than_best", |a| a.more_than_best.into()),
        int("pits", |a| count(a.pits)),
        int("manholes", |a| count(a.manholes)),
        int("bores", |a| count(a.bores)),
        int("test_holes", |a| count(a.test_holes)),
        int("watch", |a| count(a.watch)),
        real("least_margin_m", |a| a.least_margin_m.into()),
        real("strike_cost", |a| a.strike_cost.into()),
        real("longest_bore_m", |a| a.longest_bore_m.into()),
        real("deepest_pit_m", |a| a.deepest_pit_m.into()),
        text("differs", |a| (&a.differs).into()),
    ],
};

/// Their pits: the columns of `proposed_pits`, behind the number of the plan.
pub static ALTERNATIVE_PITS: Numbered<Pit> = Numbered {
    name: "alternative_pits",
    description: "Pits of the cheapest plans, footprints, by plan. Levels and lengths in metres.",
    number: "alternative",
    of: &PROPOSED_PITS,
};

/// Their bores: the columns of `proposed_bores`, behind the number of the plan.
pub static ALTERNATIVE_BORES: Numbered<Bore> = Numbered {
    name: "alternative_bores",
    description: "Bores of the cheapest plans, upstream to downstream, by plan; Z is the pipe invert in metres.",
    number: "alternative",
    of: &PROPOSED_BORES,
};

fn count(n: usize) -> Value<'static> {
    Value::Int(i64::try_from(n).expect("no plan has that many"))
}
