//! The document of `plan`, and what `pitwright_runs` keeps of it.

use super::{VERSION, register::register};
use crate::{
    cli::{register::Written, say},
    plan::{
        Alternative, Blocker, Comparison, Plan, Remedy, RemedyValue, RouteResult, Task, TaskKind,
        Verdict,
    },
    site::FeatureRef,
    write::Word,
};
use serde_json::{Map, Value as Json, json};

/// What `plan` prints, but for how long it took.
pub struct PlanDocument<'a> {
    /// The plan.
    pub plan: &'a Plan,
    /// Coordinate system of the result.
    pub crs: &'a str,
    /// Rows of each layer written.
    pub layers: &'a [(String, usize)],
    /// The file they were written to.
    pub file: &'a str,
    /// The register and letters written.
    pub register: &'a Written,
    /// Everything an engineer must know besides.
    pub warnings: &'a [String],
}

impl PlanDocument<'_> {
    /// The document with the time it took.
    pub fn json(&self, stages: &[(String, f64)], seconds: f64) -> Json {
        json!({
            "command": "plan",
            "version": VERSION,
            "crs": self.crs,
            "file": self.file,
            "routes": routes(self.plan),
            "conflicts": conflicts(self.plan),
            "layers": self.layers.iter().map(|(l, n)| (l.clone(), json!(n))).collect::<Map<_, _>>(),
            "bore_or_trench": comparisons(self.plan),
            "programme": programme(self.plan),
            "alternatives": alternatives(self.plan),
            "register": register(self.register),
            "warnings": self.warnings,
            "cautions": say::CAUTIONS,
            "stages": super::stages(stages),
            "seconds": seconds,
        })
    }
}

/// What `pitwright_runs` keeps of a plan.
pub fn plan_summary(plan: &Plan, warnings: &[String]) -> Json {
    json!({"routes": routes(plan), "conflicts": conflicts(plan), "alternatives": alternatives(plan), "warnings": warnings})
}

fn routes(plan: &Plan) -> Vec<Json> {
    plan.routes.iter().map(route).collect()
}

fn route(route: &RouteResult) -> Json {
    json!({
        "route_id": route.route_id,
        "status": if route.planned { "planned" } else { "no-plan" },
        "pits": route.pits,
        "manholes": route.manholes,
        "bores": route.bores,
        "length_m": route.length_m,
        "longest_bore_m": route.longest_bore_m,
        "cost": route.cost,
        "trench_cost": route.trench_cost,
        "blockers": route.blockers.iter().map(blocker).collect::<Vec<_>>(),
        "remedies": route.remedies.iter().map(remedy).collect::<Vec<_>>(),
    })
}

/// Each bore, run, route and lot bored beside open trench: the columns of `bore_or_trench`.
fn comparisons(plan: &Plan) -> Vec<Json> {
    let both = |pair: [Option<f64>; 2]| json!({"bore": pair[0], "trench": pair[1]});
    let one = |c: &Comparison| {
        let (bore, trench) = (&c.compared.bore, &c.compared.trench);
        json!({
            "scope": c.scope.word(),
            "item_id": c.item_id,
            "route_id": c.route_id,
            "length_m": c.compared.length_m,
            "cost": bore.cost,
            "trench_cost": trench.cost,
            "break_even_m": c.figures.break_even_m,
            "spared": {
                "driveway_m2": c.spared.driveway_m2,
                "paving_m2": c.spared.paving_m2,
                "garden_m2": c.spared.garden_m2,
                "other_m2": c.spared.other_m2,
                "street_m2": c.spared.street_m2,
                "fences": c.spared.fences,
                "trees": c.spared.trees,
            },
            "days": {"bore": bore.days, "trench": trench.days},
            "yard_days": both(c.figures.yard_days),
            "traffic_cost": both(c.figures.traffic_cost),
            "carbon_kg": both(c.figures.carbon_kg),
        })
    };
    plan.comparisons.iter().map(one).collect()
}

/// How long the work takes by one rig and one pit crew, and its order.
fn programme(plan: &Plan) -> Json {
    let tasks = &plan.programme;
    let last = |of: &dyn Fn(&Task) -> bool| {
        let days = tasks.iter().filter(|t| of(t)).map(|t| t.to_day);
        days.reduce(f64::max)
    };
    let task = |t: &Task| {
        json!({
            "step": t.step,
            "task": t.task.word(),
            "route_id": t.route_id,
            "pit_id": t.pit_id,
            "bore_id": t.bore_id,
            "from_day": t.from_day,
            "to_day": t.to_day,
        })
    };
    json!({
        "days": last(&|_| true),
        "rig_days": last(&|t| t.task == TaskKind::Bore),
        "rig_moves": tasks.iter().filter(|t| t.task == TaskKind::Move).count(),
        "tasks": tasks.iter().map(task).collect::<Vec<_>>(),
    })
}

/// The cheapest plans of each system; empty unless asked for.
fn alternatives(plan: &Plan) -> Vec<Json> {
    let one = |a: &Alternative| {
        json!({
            "system": a.system,
            "alternative": a.alternative,
            "cost": a.cost,
            "more_than_best": a.more_than_best,
            "pits": a.pits,
            "manholes": a.manholes,
            "bores": a.bores,
            "test_holes": a.test_holes,
            "watch": a.watch,
            "least_margin_m": a.least_margin_m,
            "strike_cost": a.strike_cost,
            "longest_bore_m": a.longest_bore_m,
            "deepest_pit_m": a.deepest_pit_m,
            "differs": a.differs,
        })
    };
    plan.alternatives.iter().map(one).collect()
}

fn blocker(blocker: &Blocker) -> Json {
    let (layer, fid) = source(blocker.source.as_ref());
    json!({
        "from_chainage_m": blocker.from_chainage_m,
        "to_chainage_m": blocker.to_chainage_m,
        "why": blocker.why.word(),
        "source_layer": layer,
        "source_fid": fid,
    })
}

fn remedy(remedy: &Remedy) -> Json {
    let (layer, fid) = source(remedy.source.as_ref());
    let value = match &remedy.value {
        RemedyValue::Metres(m) => json!(m),
        RemedyValue::Name(name) => json!(name),
    };
    json!({"kind": remedy.kind.word(), "value": value, "source_layer": layer, "source_fid": fid})
}

fn source(at: Option<&FeatureRef>) -> (Option<&str>, Option<i64>) {
    (at.map(|a| a.layer.as_ref()), at.map(|a| a.fid))
}

fn conflicts(plan: &Plan) -> Json {
    let count = |verdict| count(plan, verdict);
    json!({
        "clash": count(Verdict::Clash),
        "prove": count(Verdict::Prove),
        "watch": count(Verdict::Watch),
        "clear": count(Verdict::Clear),
    })
}

/// Rows of one verdict.
pub fn count(plan: &Plan, verdict: Verdict) -> usize {
    plan.conflicts
        .iter()
        .filter(|c| c.verdict == verdict)
        .count()
}
