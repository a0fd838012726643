//! What `plan` says.

use super::out::several;
use crate::{
    cli::{document::count, register::Written},
    plan::{Plan, RouteResult, Verdict},
};

/// What every plan says of itself.
pub const CAUTIONS: [&str; 4] = [
    "Records are not proof: a service may lie elsewhere than recorded, or not be on record at all.",
    "Locate and expose services before boring, whatever the verdict here.",
    "Pits need support and a competent person who judges them before anybody enters.",
    "Local codes and licensed practice govern; this is a proposal, not a design that anybody has signed.",
];

/// What came of a plan.
pub fn plan(
    plan: &Plan,
    currency: &str,
    layers: &[(String, usize)],
    file: &str,
    register: &Written,
    warnings: &[String],
) -> String {
    let mut out = String::new();
    for route in &plan.routes {
        out.push_str(&self::route(route, currency));
    }
    if !plan.bores.is_empty() {
        out.push_str(&verdicts(plan));
        out.push_str(&holes(plan));
    }
    out.push_str(&super::alternatives::alternatives(
        &plan.alternatives,
        currency,
    ));
    out.push_str(&super::out::warnings(warnings));
    out.push_str(&super::out::written(layers, file, register));
    out
}

fn route(route: &RouteResult, currency: &str) -> String {
    if !route.planned {
        return super::no_plan::no_plan(route);
    }
    let longest = route.longest_bore_m.unwrap_or_default();
    format!(
        "route {}: {}, {} of them manholes; {}, {:.1} m, the longest {longest:.1} m; cost {} beside {} in open trench ({currency})\n",
        route.route_id,
        several(route.pits, "pit"),
        route.manholes,
        several(route.bores, "bore"),
        route.length_m,
        money(route.cost),
        money(route.trench_cost),
    )
}

fn verdicts(plan: &Plan) -> String {
    format!(
        "conflicts: {} clash, {} prove, {} watch, {} clear by the records\n",
        count(plan, Verdict::Clash),
        count(plan, Verdict::Prove),
        count(plan, Verdict::Watch),
        count(plan, Verdict::Clear),
    )
}

fn holes(plan: &Plan) -> String {
    match plan.test_holes.len() {
        0 => "test holes: none by this plan\n".to_string(),
        n => format!("test holes: {n}, to be dug and looked into before the bore is launched\n"),
    }
}

fn money(amount: Option<f64>) -> String {
    amount.map_or("-".to_string(), |a| format!("{a:.0}"))
}
