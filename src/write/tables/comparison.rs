//! `bore_or_trench` and `bore_programme`.

use crate::plan::{Comparison, Task};
use crate::write::layer::{int, real, text};
use crate::write::{Layer, Word};

/// Each drive, run, route and lot bored, beside the same in open trench; manholes left out, since both ways need the same.
pub static BORE_OR_TRENCH: Layer<Comparison> = Layer {
    name: "bore_or_trench",
    description: "Each bore, run, route and lot bored beside the same in open trench: cost, break-even, what the bore spares, days, delay, carbon.",
    geometry: None,
    columns: &[
        text("scope", |c| c.scope.word().into()),
        text("item_id", |c| (&c.item_id).into()),
        text("route_id", |c| c.route_id.as_ref().into()),
        real("length_m", |c| c.compared.length_m.into()),
        real("cost", |c| c.compared.bore.cost.into()),
        real("trench_cost", |c| c.compared.trench.cost.into()),
        real("fixed_cost", |c| c.compared.fixed_cost.into()),
        real("cost_per_m", |c| c.compared.bore_per_m.into()),
        real("break_even_m", |c| c.figures.break_even_m.into()),
        real("spared_driveway_m2", |c| c.spared.driveway_m2.into()),
        real("spared_paving_m2", |c| c.spared.paving_m2.into()),
        real("spared_garden_m2", |c| c.spared.garden_m2.into()),
        real("spared_other_m2", |c| c.spared.other_m2.into()),
        real("spared_street_m2", |c| c.spared.street_m2.into()),
        real("spared_fences", |c| c.spared.fences.into()),
        real("spared_trees", |c| c.spared.trees.into()),
        real("days", |c| c.compared.bore.days.into()),
        real("trench_days", |c| c.compared.trench.days.into()),
        real("street_days", |c| c.compared.bore.street_days.into()),
        real("trench_street_days", |c| {
            c.compared.trench.street_days.into()
        }),
        int("yards", |c| c.compared.bore.yards.into()),
        int("trench_yards", |c| c.compared.trench.yards.into()),
        real("yard_days", |c| c.figures.yard_days[0].into()),
        real("trench_yard_days", |c| c.figures.yard_days[1].into()),
        real("traffic_cost", |c| c.figures.traffic_cost[0].into()),
        real("trench_traffic_cost", |c| c.figures.traffic_cost[1].into()),
        real("spoil_m3", |c| c.compared.bore.spoil_m3.into()),
        real("trench_spoil_m3", |c| c.compared.trench.spoil_m3.into()),
        real("carbon_kg", |c| c.figures.carbon_kg[0].into()),
        real("trench_carbon_kg", |c| c.figures.carbon_kg[1].into()),
    ],
};

/// The order of the work, by one rig and one pit crew.
pub static BORE_PROGRAMME: Layer<Task> = Layer {
    name: "bore_programme",
    description: "The order of the work by one rig and one pit crew, in working days from day 0; the rates are the job's.",
    geometry: None,
    columns: &[
        int("step", |t| t.step.into()),
        text("task", |t| t.task.word().into()),
        text("route_id", |t| (&t.route_id).into()),
        text("pit_id", |t| t.pit_id.as_ref().into()),
        text("bore_id", |t| t.bore_id.as_ref().into()),
        real("from_day", |t| t.from_day.into()),
        real("to_day", |t| t.to_day.into()),
    ],
};
