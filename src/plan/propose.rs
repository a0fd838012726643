//! From a site to a plan: every route on its own, then what concerns them all.

use super::{
    Alternative, Bore, Conflict, CostItem, Pit, Plan, RouteResult, SectionRow, TestHole,
    alternatives::alternatives,
    checks,
    context::World,
    kinks, no_plan,
    programme::programme,
    rows,
    search::{Solved, solve},
    served::Served,
    settle::{Stop, settle},
    system::{System, Tree, trees},
};
use crate::{
    job::Job,
    site::{Kind, Site},
};
use rayon::prelude::*;
use std::{
    collections::{BTreeMap, VecDeque},
    sync::{
        Mutex,
        atomic::{AtomicUsize, Ordering},
    },
};

/// Hears how far long work has come.
pub trait Progress: Sync {
    /// `done` of `total` of a stage are done.
    fn at(&self, stage: &'static str, done: usize, total: usize);
}

/// Tells nobody.
pub struct Quiet;

impl Progress for Quiet {
    fn at(&self, _: &'static str, _: usize, _: usize) {}
}

/// Everything that one route adds to the plan.
pub(super) struct Proposal {
    pub result: RouteResult,
    pub pits: Vec<Pit>,
    pub bores: Vec<Bore>,
    pub conflicts: Vec<Conflict>,
    pub holes: Vec<TestHole>,
    pub sections: Vec<SectionRow>,
    pub costs: Vec<CostItem>,
    pub taken: Vec<rows::Taken>,
}

/// Plans all routes of a site. Cannot fail: a route may come out without a plan.
///
/// Systems of joined routes are planned in parallel on rayon's current pool; the result does not depend on how many
/// threads it has.
pub fn plan(site: &Site, job: &Job, progress: &dyn Progress) -> Plan {
    plan_with_alternatives(site, job, 0, progress)
}

/// The same, with the `number` cheapest plans of every system of joined routes beside (0: none; the best is the first).
pub fn plan_with_alternatives(
    site: &Site,
    job: &Job,
    number: usize,
    progress: &dyn Progress,
) -> Plan {
    progress.at("obstacles", 0, 1);
    let world = World::new(site, job);
    progress.at("obstacles", 1, 1);
    let (done, total) = (AtomicUsize::new(0), site.routes.len());
    progress.at("routes", 0, total);
    let trees = trees(site);
    let outcomes: Vec<Outcome> = of_each(site, &trees, |tree| {
        let outcome = plan_tree(&world, tree, number);
        let done = done.fetch_add(tree.len(), Ordering::Relaxed) + tree.len();
        progress.at("routes", done, total);
        outcome
    });
    let stops: Vec<_> = outcomes.iter().map(|o| o.stops.clone()).collect();
    let mut plan = gather(&world, &trees, outcomes);
    no_plan::explain(&world, &trees, &stops, &mut plan, progress);
    plan
}

/// What `plan` makes of each tree, in their order.
///
/// One thread takes the longest that is left, all others the shortest: the longest take most memory by far, and so only short ones
/// are worked on beside them.
fn of_each<T: Send>(site: &Site, trees: &[Tree], plan: impl Fn(&Tree) -> T + Sync) -> Vec<T> {
    let length_m = |tree: &Tree| -> f64 {
        let lines = tree.iter().map(|r| &site.routes[*r].line.points);
        let steps = lines.flat_map(|points| points.windows(2));
        steps
            .map(|ab| (ab[1].x - ab[0].x).hypot(ab[1].y - ab[0].y))
            .sum()
    };
    let mut left: Vec<(f64, usize)> = trees.iter().map(length_m).zip(0..).collect();
    left.sort_by(|a, b| a.0.total_cmp(&b.0));
    let left = Mutex::new(VecDeque::from(left));
    let hand = |hand: usize| {
        let next = || {
            let mut left = left.lock().expect("nobody panics in between");
            if hand == 0 {
                left.pop_back()
            } else {
                left.pop_front()
            }
        };
        let each = std::iter::from_fn(next).map(|(_, i)| (i, plan(&trees[i])));
        each.collect::<Vec<_>>()
    };
    let hands = rayon::current_num_threads().min(trees.len());
    let done = (0..hands).into_par_iter().with_max_len(1);
    let mut done: Vec<(usize, T)> = done.flat_map_iter(hand).collect();
    done.sort_by_key(|(i, _)| *i);
    done.into_iter().map(|(_, of)| of).collect()
}

/// What came of a tree.
struct Outcome {
    /// By route of the tree.
    proposals: Vec<Proposal>,
    /// The cheapest plans, by rising cost; empty unless asked for.
    alternatives: Vec<(Alternative, rows::Whole)>,
    /// By route of the tree: why it has no plan.
    stops: Vec<Option<Stop>>,
    /// What an engineer must know besides.
    warnings: Vec<String>,
}

fn plan_tree(world: &World, tree: &Tree, number: usize) -> Outcome {
    let find = |mut s: System| (!no_plan::is_hopeless(&mut s)).then(|| solve(&s)).flatten();
    let mut settled = settle(world, tree, find);
    settled.name_stopper(world, tree, find);
    let mut warnings = settled.words(world, tree);
    let planned = settled.planned;
    let mut proposals: Vec<Option<Proposal>> = tree.iter().map(|_| None).collect();
    let mut others = vec![];
    if let Some((system, solved)) = System::new(world, tree, &planned).zip(settled.found) {
        for (m, proposal) in system.members.iter().zip(propose_all(&system, &solved)) {
            let place = tree.iter().position(|r| *r == m.route);
            proposals[place.expect("members are of the tree")] = Some(proposal);
        }
        let routes = system.members.iter().zip(&solved.routes);
        warnings.extend(routes.filter_map(|(m, s)| kinks::warning(&m.cx, s)));
        if number > 0 {
            let plans = alternatives(world, tree, &planned, &solved, number);
            others = rows_of_alternatives(&system, &plans);
        }
    }
    let named = |i: usize| &world.site.routes[tree[i]].route_id;
    let or_none = |(i, p): (usize, Option<Proposal>)| p.unwrap_or_else(|| no_plan(named(i)));
    Outcome {
        proposals: proposals.into_iter().enumerate().map(or_none).collect(),
        alternatives: others,
        stops: settled.stops,
        warnings,
    }
}

/// What every member of a system adds to the plan.
fn propose_all(system: &System, solved: &Solved) -> Vec<Proposal> {
    let mut drawn: Vec<rows::Drawn> = vec![];
    for (m, solution) in system.members.iter().zip(&solved.routes) {
        let junction = m.parent.and_then(|p| {
            let at = system.junction_of(drawn.len(), p);
            drawn[p].pit_at(at)
        });
        let d = rows::Drawn::new(&m.cx, solution, junction);
        drawn.push(d);
    }
    drawn.iter().map(propose).collect()
}

/// The rows of a system's cheapest plans, routes in input order.
fn rows_of_alternatives(system: &System, plans: &[Solved]) -> Vec<(Alternative, rows::Whole)> {
    let whole = |plan: &Solved| {
        let mut routes: Vec<(usize, Proposal)> = (system.members.iter().map(|m| m.route))
            .zip(propose_all(system, plan))
            .collect();
        routes.sort_by_key(|r| r.0);
        let mut whole = rows::Whole::default();
        for (_, p) in routes {
            whole.routes.push(p.result);
            whole.pits.extend(p.pits);
            whole.bores.extend(p.bores);
            whole.conflicts.extend(p.conflicts);
            whole.holes.extend(p.holes);
            whole.costs.extend(p.costs);
        }
        whole
    };
    let wholes: Vec<rows::Whole> = plans.iter().map(whole).collect();
    let apart_m = system.members[0].cx.job().rig.launch_length_m;
    let row =
        |(number, plan): (u32, &rows::Whole)| rows::alternative(number, plan, &wholes[0], apart_m);
    let rows: Vec<Alternative> = (1..).zip(&wholes).map(row).collect();
    rows.into_iter().zip(wholes).collect()
}

fn propose(drawn: &rows::Drawn) -> Proposal {
    let (conflicts, holes) = rows::conflicts(drawn);
    let costs = rows::costs(drawn, &conflicts);
    let (pits, bores) = (
        rows::pits(drawn, &costs),
        rows::bores(drawn, &conflicts, &costs),
    );
    let sections = rows::sections(drawn, &conflicts);
    let result = rows::route_result(drawn, &costs);
    Proposal {
        result,
        pits,
        bores,
        conflicts,
        holes,
        sections,
        costs,
        taken: rows::taken(drawn),
    }
}

fn no_plan(route_id: &str) -> Proposal {
    let result = RouteResult {
        route_id: route_id.to_string(),
        planned: false,
        pits: 0,
        manholes: 0,
        bores: 0,
        length_m: 0.0,
        longest_bore_m: None,
        cost: None,
        trench_cost: None,
        blockers: vec![],
        remedies: vec![],
    };
    Proposal {
        result,
        pits: vec![],
        bores: vec![],
        conflicts: vec![],
        holes: vec![],
        sections: vec![],
        costs: vec![],
        taken: vec![],
    }
}

/// Puts the routes' rows together in input order and numbers what is numbered over all of them.
fn gather(world: &World, trees: &[Tree], outcomes: Vec<Outcome>) -> Plan {
    let mut plan = Plan::default();
    let mut by_route: Vec<Option<Proposal>> = world.site.routes.iter().map(|_| None).collect();
    let served = Served::new(world.site, world.job);
    for (tree, outcome) in trees.iter().zip(outcomes) {
        plan.warnings.extend(outcome.warnings);
        for (row, mut whole) in outcome.alternatives {
            let number = row.alternative;
            served.fill(world.job, &whole.pits, &mut whole.bores);
            rows::fill_pits(world.job, &mut whole.pits, &whole.bores);
            plan.alternatives.push(row);
            (plan.alternative_pits).extend(whole.pits.into_iter().map(|p| (number, p)));
            (plan.alternative_bores).extend(whole.bores.into_iter().map(|b| (number, b)));
        }
        for (route, proposal) in tree.iter().zip(outcome.proposals) {
            by_route[*route] = Some(proposal);
        }
    }
    let mut taken = vec![];
    for p in by_route.into_iter().flatten() {
        taken.extend(p.taken);
        plan.routes.push(p.result);
        plan.pits.extend(p.pits);
        plan.bores.extend(p.bores);
        plan.conflicts.extend(p.conflicts);
        plan.test_holes.extend(p.holes);
        plan.sections.extend(p.sections);
        plan.costs.extend(p.costs);
    }
    for (i, c) in plan.conflicts.iter_mut().enumerate() {
        c.conflict_id = format!("C{:04}", i + 1);
    }
    served.fill(world.job, &plan.pits, &mut plan.bores);
    rows::fill_pits(world.job, &mut plan.pits, &plan.bores);
    sequence(world, trees, &mut plan);
    plan.comparisons = rows::comparisons(world.site, world.job, &plan, &taken);
    plan.warnings.extend(served.warnings);
    rows::order_test_holes(&mut plan.test_holes);
    plan.lots = rows::affected_lots(world, &plan.pits, &plan.bores);
    let more = warnings(world, trees, &plan);
    plan.warnings.extend(more);
    plan
}

/// The order of the work: systems in input order, in each every route after the one that it joins.
fn sequence(world: &World, trees: &[Tree], plan: &mut Plan) {
    let routes = trees
        .iter()
        .flatten()
        .map(|r| &world.site.routes[*r].route_id);
    let mut by_route: BTreeMap<&str, Vec<&Bore>> = BTreeMap::new();
    for bore in &plan.bores {
        by_route.entry(&bore.route_id).or_default().push(bore);
    }
    let of_route = |id: &String| by_route.remove(id.as_str()).unwrap_or_default();
    let bores: Vec<&Bore> = routes.flat_map(of_route).collect();
    plan.programme = programme(world.job, &plan.pits, &bores, &plan.costs);
}

fn warnings(world: &World, trees: &[Tree], plan: &Plan) -> Vec<String> {
    let mut out = vec![];
    if world.job.soil.friction_kpa == 0.0 && !plan.bores.is_empty() {
        out.push(
            "no soil class and no friction is set: no drive was checked for thrust".to_string(),
        );
    }
    let bores: Vec<_> = (plan.bores.iter())
        .map(|b| checks::Shown {
            id: &b.bore_id,
            facts: b.facts(),
            figures: b.figures,
        })
        .collect();
    out.extend(checks::findings(world.job, &bores));
    let over = plan.conflicts.iter().filter_map(|c| {
        let over = c.over_bore?;
        Some((
            c.conflict_id.as_str(),
            over.settlement_mm,
            over.settlement_slope,
        ))
    });
    out.extend(checks::over_findings(world.job, over));
    let figures: Vec<_> = (plan.pits.iter())
        .map(|p| (p.pit_id.as_str(), p.figures))
        .collect();
    out.extend(checks::pit_findings(&figures));
    let routes = &world.site.routes;
    let of_tree = |(i, tree): (usize, &Tree)| {
        let names = tree.iter().map(|r| (routes[*r].route_id.clone(), i));
        names.collect::<Vec<_>>()
    };
    let systems: BTreeMap<String, usize> = trees.iter().enumerate().flat_map(of_tree).collect();
    out.extend(rows::bores_near_each_other(
        plan,
        world.job.rules.clearance[&Kind::Sewer].crossing_m,
        &|route_id| systems[route_id],
    ));
    out
}
