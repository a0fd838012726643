//! From a site to a plan: every route on its own, then what concerns them all.

use super::{
    Bore, Conflict, CostItem, Pit, Plan, RouteResult, SectionRow, TestHole,
    context::{Context, World},
    rows,
    search::{Solution, solve},
};
use crate::{
    job::Job,
    site::{Kind, Site},
};
use rayon::prelude::*;
use std::sync::atomic::{AtomicUsize, Ordering};

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
}

/// Plans all routes of a site. Cannot fail: a route may come out without a plan.
///
/// Routes are planned in parallel on rayon's current pool; the result does not depend on how many threads it has.
pub fn plan(site: &Site, job: &Job, progress: &dyn Progress) -> Plan {
    progress.at("obstacles", 0, 1);
    let world = World::new(site, job);
    progress.at("obstacles", 1, 1);
    let (done, total) = (AtomicUsize::new(0), site.routes.len());
    progress.at("routes", 0, total);
    let proposals: Vec<Proposal> = site
        .routes
        .par_iter()
        .map(|route| {
            let cx = Context::new(&world, route);
            let solved = cx.as_ref().and_then(|cx| solve(cx).map(|s| (cx, s)));
            let proposal = match solved {
                Some((cx, solution)) => propose(cx, &solution),
                None => no_plan(&route.route_id),
            };
            progress.at("routes", done.fetch_add(1, Ordering::Relaxed) + 1, total);
            proposal
        })
        .collect();
    gather(&world, proposals)
}

fn propose(cx: &Context, solution: &Solution) -> Proposal {
    let drawn = rows::Drawn::new(cx, solution);
    let (conflicts, holes) = rows::conflicts(&drawn);
    let costs = rows::costs(&drawn, &conflicts);
    let (pits, bores) = (
        rows::pits(&drawn, &costs),
        rows::bores(&drawn, &conflicts, &costs),
    );
    let sections = rows::sections(&drawn, &conflicts);
    let result = rows::route_result(&drawn, &costs);
    Proposal {
        result,
        pits,
        bores,
        conflicts,
        holes,
        sections,
        costs,
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
    }
}

/// Puts the routes' rows together in input order and numbers what is numbered over all of them.
fn gather(world: &World, proposals: Vec<Proposal>) -> Plan {
    let mut plan = Plan::default();
    for p in proposals {
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
    rows::order_test_holes(&mut plan.test_holes);
    plan.lots = rows::affected_lots(world, &plan.pits, &plan.bores);
    plan.warnings = warnings(world, &plan);
    plan
}

fn warnings(world: &World, plan: &Plan) -> Vec<String> {
    let unplanned = plan.routes.iter().filter(|r| !r.planned);
    let mut out: Vec<String> = unplanned
        .map(|r| format!("route {} has no plan", r.route_id))
        .collect();
    if world.job.soil.friction_kpa == 0.0 && !plan.bores.is_empty() {
        out.push(
            "no soil class and no friction is set: no drive was checked for thrust".to_string(),
        );
    }
    let joining = world
        .site
        .routes
        .iter()
        .filter_map(|r| Some((r, r.joins.as_ref()?)));
    out.extend(joining.map(|(r, parent)| {
        format!(
            "route {} joins {parent}, but routes are planned on their own yet: its downstream end is not brought to the parent's line or level",
            r.route_id
        )
    }));
    out.extend(rows::bores_near_each_other(
        plan,
        world.job.rules.clearance[&Kind::Sewer].crossing_m,
    ));
    out
}
