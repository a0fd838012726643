//! Blockers and remedies of every route without a plan.

use super::{
    budget::{Budget, Spent},
    case::{Case, Change, Company, made_ready, near_m, obstacles_round},
    closers,
    islands::Islands,
    remedies,
};
use crate::plan::{
    Blocker, BlockerRow, Plan, Progress, Remedy, RemedyKind, RouteResult, Why,
    context::{Context, World},
    settle::Stop,
    system::Tree,
};
use geo::Coord;
use rayon::prelude::*;
use std::{
    cell::RefCell,
    sync::atomic::{AtomicUsize, Ordering},
};

/// What is said of a route without a plan.
struct Explanation {
    blockers: Vec<Blocker>,
    remedies: Vec<Remedy>,
    /// What was not looked into, in words.
    not_known: Option<String>,
}

/// Says of every route without a plan what closes its way and what would help, into the plan.
///
/// `stops` says why each route of each tree has none. The routes are looked at in parallel; the result does not depend on how.
pub fn explain(
    world: &World,
    trees: &[Tree],
    stops: &[Vec<Option<Stop>>],
    plan: &mut Plan,
    progress: &dyn Progress,
) {
    let all = trees.iter().zip(stops).flat_map(|(tree, stops)| {
        let each = stops.iter().enumerate();
        each.filter_map(move |(place, stop)| Some((tree, place, (*stop)?)))
    });
    let all: Vec<(&Tree, usize, Stop)> = all.collect();
    if all.is_empty() {
        return;
    }
    let stopped = |s: &&(&Tree, usize, Stop)| matches!(s.2, Stop::Alone | Stop::Together);
    let share = Budget::shared(all.iter().filter(stopped).count());
    let done = AtomicUsize::new(0);
    progress.at("routes without a plan", 0, all.len());
    let explained: Vec<Explanation> = all
        .par_iter()
        .map(|(tree, place, stop)| {
            let explanation = of_route(world, tree, *place, *stop, &share);
            let done = done.fetch_add(1, Ordering::Relaxed) + 1;
            progress.at("routes without a plan", done, all.len());
            explanation
        })
        .collect();
    let trees = all.iter().map(|(tree, place, _)| (tree[*place], *tree));
    let mut by_route: Vec<((usize, &Tree), Explanation)> = trees.zip(explained).collect();
    by_route.sort_by_key(|e| e.0.0);
    for ((route, tree), explanation) in by_route {
        lay_down(world, tree, route, explanation, plan);
    }
}

fn lay_down(world: &World, tree: &Tree, route: usize, explanation: Explanation, plan: &mut Plan) {
    let result: &mut RouteResult = &mut plan.routes[route];
    for blocker in &explanation.blockers {
        plan.blockers.push(BlockerRow {
            route_id: result.route_id.clone(),
            blocker: blocker.clone(),
            remedies: explanation.remedies.clone(),
            line: line(world, tree, route, blocker),
        });
    }
    result.blockers = explanation.blockers;
    result.remedies = explanation.remedies;
    plan.warnings.extend(explanation.not_known);
}

fn of_route(world: &World, tree: &Tree, place: usize, stop: Stop, share: &Budget) -> Explanation {
    if let Stop::Below(other) | Stop::With(other) = stop {
        let at = &world.site.routes[tree[other]].at;
        let hangs_on = Blocker {
            source: Some(at.clone()),
            ..whole(world, tree, tree[place])
        };
        return Explanation {
            blockers: vec![hangs_on],
            remedies: vec![],
            not_known: None,
        };
    }
    let near_m = near_m(world, tree);
    let near = world.varied(world.job, obstacles_round(world, tree, near_m));
    look_into(&Case {
        world: &near,
        tree,
        place,
        near_m,
        budget: RefCell::new(share.clone()),
    })
}

fn look_into(case: &Case) -> Explanation {
    let mut missed: Vec<&str> = vec![];
    let gaps = gaps(case).unwrap_or_else(|Spent| {
        missed.push("where the way is closed");
        vec![]
    });
    let in_gaps = !gaps.is_empty();
    let blockers = if in_gaps {
        gaps
    } else {
        let source = closers::of_levels(case).unwrap_or_else(|Spent| {
            missed.push("what leaves no levels");
            None
        });
        vec![Blocker {
            source: source.map(|t| t.at(case.world.site).clone()),
            ..whole(case.world, case.tree, case.route())
        }]
    };
    let mut found = vec![];
    for kind in RemedyKind::ALL {
        match remedies::of_kind(case, kind, in_gaps) {
            Ok(rows) => found.extend(rows),
            Err(Spent) => missed.push(tried(kind)),
        }
    }
    Explanation {
        blockers,
        remedies: found,
        not_known: not_known(case, &missed),
    }
}

/// The gaps that are there whatever the levels, each with what closes it.
fn gaps(case: &Case) -> Result<Vec<Blocker>, Spent> {
    let all = |islands: &mut Islands, budget: &mut Budget| islands.gaps(budget);
    let gaps = case
        .levels_free(Change::Nothing, Company::None, all)?
        .unwrap_or_default();
    let blocker = |gap| {
        // Where that would take too long the gap stands without a name.
        let thing = closers::of_gap(case, &gap).ok().flatten();
        Blocker {
            from_chainage_m: gap.from_m,
            to_chainage_m: gap.to_m,
            why: Why::Gap,
            source: thing.map(|t| t.at(case.world.site).clone()),
        }
    };
    Ok(gaps.into_iter().map(blocker).collect())
}

/// The whole of a route, for want of anything narrower.
fn whole(world: &World, tree: &Tree, route: usize) -> Blocker {
    let length_m = made_ready(world, tree, route, |cx| cx.alignment.length_m());
    Blocker {
        from_chainage_m: 0.0,
        to_chainage_m: length_m.unwrap_or(0.0),
        why: Why::Levels,
        source: None,
    }
}

/// The line of a route along a stretch.
fn line(world: &World, tree: &Tree, route: usize, blocker: &Blocker) -> Vec<Coord<f64>> {
    let along = |cx: &Context| {
        let ends = [blocker.from_chainage_m, blocker.to_chainage_m];
        let [from, to] = ends.map(|m| cx.alignment.station_at(m));
        let between = from.after_point + 1..=to.after_point;
        let between = cx.alignment.points().get(between).unwrap_or_default();
        let mut points = vec![from.point];
        points.extend(between);
        points.push(to.point);
        points.dedup();
        points
    };
    let as_digitised = || world.site.routes[route].line.points.clone();
    made_ready(world, tree, route, along).unwrap_or_else(as_digitised)
}

fn tried(kind: RemedyKind) -> &'static str {
    match kind {
        RemedyKind::Reach => "a greater reach",
        RemedyKind::Prove => "test holes",
        RemedyKind::Outfall => "a lower outfall",
        RemedyKind::Head => "a higher head",
        RemedyKind::Entry => "entering lots",
        RemedyKind::Corridor => "a wider corridor",
    }
}

fn not_known(case: &Case, missed: &[&str]) -> Option<String> {
    let name = &case.world.site.routes[case.route()].route_id;
    (!missed.is_empty()).then(|| {
        format!(
            "route {name} has no plan, and the search for reasons and remedies was cut short: not looked into to the end: {}",
            missed.join(", ")
        )
    })
}
