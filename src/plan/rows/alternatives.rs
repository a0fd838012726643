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

#[cfg(test)]
mod tests {
    use crate::plan::{Method, Plan, Quiet, bare_site, plan, plan_with_alternatives};

    /// A straight street with a pit somewhere between its ends.
    fn three() -> Plan {
        let (site, mut job) = (bare_site::site(&[(0., 0.), (80., 0.)]), bare_site::job());
        job.rig.reach_m = 50.0;
        plan_with_alternatives(&site, &job, 3, &Quiet)
    }

    #[test]
    fn the_rows_agree_with_the_pits_and_bores_of_each_plan() {
        let plan = three();
        let numbers: Vec<u32> = plan.alternatives.iter().map(|a| a.alternative).collect();
        assert_eq!(numbers, [1, 2, 3]);
        for a in &plan.alternatives {
            let pits = || {
                plan.alternative_pits
                    .iter()
                    .filter(|p| p.0 == a.alternative)
            };
            let bores = || {
                plan.alternative_bores
                    .iter()
                    .filter(|b| b.0 == a.alternative)
            };
            assert_eq!((a.pits, a.bores), (pits().count(), bores().count()));
            let cost: f64 = pits()
                .map(|p| p.1.cost)
                .chain(bores().map(|b| b.1.cost))
                .sum();
            assert!((cost - a.cost).abs() < 1e-6, "{cost} {}", a.cost);
            let longest = bores().map(|b| b.1.length_m).fold(0.0, f64::max);
            assert_eq!(a.longest_bore_m, longest);
            assert!((a.cost - plan.alternatives[0].cost - a.more_than_best).abs() < 1e-9);
        }
    }

    #[test]
    fn the_first_is_the_plan_itself() {
        let plan = three();
        let first = |p: &&(u32, _)| p.0 == 1;
        let pits = plan.alternative_pits.iter().filter(first).map(|p| &p.1);
        assert!(pits.eq(&plan.pits));
        let bored = plan.costs.iter().filter(|c| c.method == Method::Bore);
        let cost: f64 = bored.map(|c| c.amount).sum();
        assert!((plan.alternatives[0].cost - cost).abs() < 1e-6);
        assert_eq!(plan.alternatives[0].differs, "the best plan");
    }

    #[test]
    fn what_differs_is_said_by_route_and_chainage() {
        let plan = three();
        let middle = |n: u32| {
            let mut pits = plan.alternative_pits.iter().filter(move |p| p.0 == n);
            pits.nth(1)
                .expect("there is one between the ends")
                .1
                .chainage_m
        };
        let words = format!(
            "no pit within 2.5 m of the best plan's at R1 {:.1} m; instead at R1 {:.1} m",
            middle(1),
            middle(2)
        );
        assert_eq!(plan.alternatives[1].differs, words);
    }

    #[test]
    fn without_asking_there_are_none() {
        let (site, job) = (bare_site::site(&[(0., 0.), (80., 0.)]), bare_site::job());
        let plan = plan(&site, &job, &Quiet);
        assert!(plan.alternatives.is_empty() && plan.alternative_pits.is_empty());
    }
}
