//! Rows of `alternatives`: what a plan of a system comes to, and how it differs from the best.

use crate::plan::{
    Alternative, Bore, Conflict, CostItem, Method, Pit, RouteResult, TestHole, Verdict,
    forbidden::Forbidden,
};

/// The rows of all routes of one plan of a system.
#[derive(Default)]
pub struct Whole {
    pub routes: Vec<RouteResult>,
    pub pits: Vec<Pit>,
    pub bores: Vec<Bore>,
    pub conflicts: Vec<Conflict>,
    pub holes: Vec<TestHole>,
    pub costs: Vec<CostItem>,
}

/// The row of a plan, the `number`-th of its system. `apart_m` is how near a pit must be to stand for another.
pub fn alternative(number: u32, plan: &Whole, best: &Whole, apart_m: f64) -> Alternative {
    let cost = |w: &Whole| w.routes.iter().filter_map(|r| r.cost).sum::<f64>();
    let struck = |c: &&CostItem| c.method == Method::Bore && c.item.starts_with("strike.");
    let greatest = |v: &mut dyn Iterator<Item = f64>| v.fold(0.0, f64::max);
    Alternative {
        system: plan.routes.iter().map(|r| r.route_id.clone()).collect(),
        alternative: number,
        cost: cost(plan),
        more_than_best: cost(plan) - cost(best),
        pits: plan.pits.len(),
        manholes: plan.pits.iter().filter(|p| p.manhole).count(),
        bores: plan.bores.len(),
        test_holes: plan.holes.len(),
        watch: (plan.conflicts.iter())
            .filter(|c| c.verdict == Verdict::Watch)
            .count(),
        least_margin_m: (plan.bores.iter())
            .filter_map(|b| b.worst_margin_m)
            .reduce(f64::min),
        strike_cost: plan.costs.iter().filter(struck).map(|c| c.amount).sum(),
        longest_bore_m: greatest(&mut plan.bores.iter().map(|b| b.length_m)),
        deepest_pit_m: greatest(&mut plan.pits.iter().map(|p| p.depth_m)),
        differs: differs(number, plan, best, apart_m),
    }
}

/// What differs from the best plan, in words.
fn differs(number: u32, plan: &Whole, best: &Whole, apart_m: f64) -> String {
    if number == 1 {
        return "the best plan".to_string();
    }
    let gone = not_near(&best.pits, &plan.pits, apart_m);
    let new = not_near(&plan.pits, &best.pits, apart_m);
    let place = |p: &&Pit| format!("{} {:.1} m", p.route_id, p.chainage_m);
    let list = |pits: &[&Pit]| pits.iter().map(place).collect::<Vec<_>>().join(", ");
    let mut out = format!(
        "no pit within {apart_m} m of the best plan's at {}",
        list(&gone)
    );
    if !new.is_empty() {
        out.push_str(&format!("; instead at {}", list(&new)));
    }
    out
}

/// Those of `pits` that no pit of `others` on the same route stands near.
fn not_near<'p>(pits: &'p [Pit], others: &[Pit], apart_m: f64) -> Vec<&'p Pit> {
    let near = |p: &Pit, o: &Pit| {
        let disc = Forbidden {
            centre: p.centre,
            radius_m: apart_m,
        };
        p.route_id == o.route_id && disc.holds(o.centre)
    };
    let alone = |p: &&Pit| !others.iter().any(|o| near(p, o));
    pits.iter().filter(alone).collect()
}
