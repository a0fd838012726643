//! The document of `plan --what-if`.

use super::VERSION;
use crate::{
    cli::{say, what_if::Tried},
    job::Varied,
};
use serde_json::{Value as Json, json};

/// What came of every value. Nothing was written, so `layers` is empty.
pub fn what_if(what: Varied, tried: &[Tried], warnings: &[String], seconds: f64) -> Json {
    json!({
        "command": "plan",
        "version": VERSION,
        "key": what.key(),
        "what_if": tried.iter().map(line).collect::<Vec<_>>(),
        "layers": {},
        "warnings": warnings,
        "cautions": say::CAUTIONS,
        "seconds": seconds,
    })
}

fn line(t: &Tried) -> Json {
    let plan = &t.plan;
    let without = plan.routes.iter().filter(|r| !r.planned);
    json!({
        "value": value(&t.value),
        "routes": plan.routes.len(),
        "planned": t.planned(),
        "no_plan": without.map(|r| &r.route_id).collect::<Vec<_>>(),
        "pits": plan.pits.len(),
        "manholes": plan.pits.iter().filter(|p| p.manhole).count(),
        "bores": plan.bores.len(),
        "cost": t.sum(|r| r.cost),
        "trench_cost": t.sum(|r| r.trench_cost),
        "test_holes": plan.test_holes.len(),
        "longest_bore_m": t.longest_bore_m(),
        "warnings": plan.warnings,
    })
}

/// A number where it was typed as one.
fn value(typed: &str) -> Json {
    let number: Option<serde_json::Number> = typed.parse().ok();
    number.map_or_else(|| json!(typed), Json::Number)
}
