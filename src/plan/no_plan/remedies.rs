//! The least change of each kind alone that gives a plan.
//!
//! A change is tried by solving again with nothing else altered. Whatever is given here was solved and has a plan, and the
//! next smaller change was seen to have none.

use super::{
    budget::Spent,
    case::{Case, Change, WIDEST_CORRIDOR_M, made_ready},
    groups::{Works, fewest, least},
};
use crate::{
    clearance::Thing,
    job::UnknownDepth,
    plan::{
        Remedy, RemedyKind, RemedyValue,
        context::Context,
        system::{Member, System},
    },
    site::FeatureRef,
};

/// Lengths and levels are looked for in steps of a tenth of a metre; whole numbers of these stand for them.
fn metres(tenths: i64) -> f64 {
    tenths as f64 / 10.0
}

/// The greatest whole number of tenths not above a length or level.
fn tenths_below(m: f64) -> i64 {
    (m * 10.0 + 1e-6).floor() as i64
}

/// The least whole number of tenths not below a length or level.
fn tenths_above(m: f64) -> i64 {
    (m * 10.0 - 1e-6).ceil() as i64
}

/// The remedy of one kind; no row where that kind alone does not help.
///
/// `in_gaps`: the route has gaps that are there whatever the levels, so that no level helps.
pub fn of_kind(case: &Case, kind: RemedyKind, in_gaps: bool) -> Result<Vec<Remedy>, Spent> {
    match kind {
        RemedyKind::Reach => reach(case),
        RemedyKind::Prove => prove(case),
        RemedyKind::Outfall if in_gaps => Ok(vec![]),
        RemedyKind::Outfall => outfall(case),
        RemedyKind::Head if in_gaps => Ok(vec![]),
        RemedyKind::Head => head(case),
        RemedyKind::Entry => entry(case),
        RemedyKind::Corridor => corridor(case),
    }
}

fn of_metres(kind: RemedyKind, tenths: i64, source: Option<&FeatureRef>) -> Vec<Remedy> {
    vec![Remedy {
        kind,
        value: RemedyValue::Metres(metres(tenths)),
        source: source.cloned(),
    }]
}

/// The least reach. It works for every greater reach: that forbids no drive, and nothing else depends on it. No drive is
/// longer than its run, and that no longer than the route and than manholes may be apart.
fn reach(case: &Case) -> Result<Vec<Remedy>, Spent> {
    let Some((reach_m, longest_m)) = reaches(case) else {
        return Ok(vec![]);
    };
    let (now, most) = (tenths_below(reach_m), tenths_above(longest_m));
    if most <= now || !case.has_plan(Change::Reach(metres(most)))? {
        return Ok(vec![]);
    }
    let mut leads = |t| case.leads_through(Change::Reach(metres(t)));
    let first = if leads(now + 1)? {
        now + 1
    } else {
        least(now + 1, most, &mut leads)?
    };
    let mut has_plan = |t| case.has_plan(Change::Reach(metres(t)));
    let found = if has_plan(first)? {
        first
    } else {
        least(first, most, &mut has_plan)?
    };
    Ok(of_metres(RemedyKind::Reach, found, None))
}

/// The least reach of the routes of a tree, and the longest drive that any could have.
fn reaches(case: &Case) -> Option<(f64, f64)> {
    let system = System::new(case.world, case.tree, &vec![true; case.tree.len()])?;
    let of = |m: &Member| (m.cx.reach.m, m.cx.alignment.length_m());
    let members: Vec<(f64, f64)> = system.members.iter().map(of).collect();
    let reach_m = members.iter().map(|m| m.0).fold(f64::INFINITY, f64::min);
    let longest_m = members.iter().map(|m| m.1).fold(0.0, f64::max);
    // A chord between manholes beside the route can be longer than the route.
    let longest_m = longest_m + 2.0 * case.world.job.search.corridor_m;
    Some((
        reach_m,
        longest_m.min(case.world.job.rules.manhole_spacing_m),
    ))
}

/// Routes of the tree, that without a plan first.
fn this_then_others<'c>(case: &'c Case) -> impl Iterator<Item = usize> + 'c {
    let others = case.tree.iter().copied().filter(|r| *r != case.route());
    std::iter::once(case.route()).chain(others)
}

/// The highest outfall invert below the one that is fixed, and not above what cover and the deepest pit allow there. A lower
/// one can be unlawful where a higher one is not (deeper pits, other crossings), so they are tried from the highest down.
fn outfall(case: &Case) -> Result<Vec<Remedy>, Spent> {
    for route in this_then_others(case) {
        let limits = |cx: &Context| Some((cx.downstream.invert_m?, at_outfall(cx)?));
        let Some((fixed_m, [lowest_m, highest_m])) =
            made_ready(case.world, case.tree, route, limits).flatten()
        else {
            continue;
        };
        // Where the grid of levels holds every tenth of a metre, no outfall helps that does not if its level is free.
        let per_tenth = 0.1 / case.world.job.search.level_step_m;
        let on_grid = (per_tenth - per_tenth.round()).abs() < 1e-9 && per_tenth > 0.5;
        if on_grid && !case.has_plan(Change::Outfall(route, None))? {
            continue;
        }
        let highest = tenths_below(highest_m).min(tenths_above(fixed_m) - 1);
        for tenths in (tenths_above(lowest_m)..=highest).rev() {
            if case.has_plan(Change::Outfall(route, Some(metres(tenths))))? {
                let at = &case.world.site.routes[route].at;
                return Ok(of_metres(RemedyKind::Outfall, tenths, Some(at)));
            }
        }
    }
    Ok(vec![])
}

/// Lowest and highest invert that the deepest pit and cover allow at the downstream end.
fn at_outfall(cx: &Context) -> Option<[f64; 2]> {
    let [down, _] = cx.alignment.ends();
    let job = cx.job();
    let ground_m = cx.world.site.ground.level(down)?;
    let lowest_m = ground_m - job.pits.max_depth_m + job.rig.axis_height_m;
    Some([lowest_m, ground_m - cx.invert_depth_m])
}

/// The lowest highest invert at the head. It works for every higher one: that only adds levels there. Above what cover
/// allows it adds none.
fn head(case: &Case) -> Result<Vec<Remedy>, Spent> {
    for route in this_then_others(case) {
        let limits = |cx: &Context| Some((cx.upstream.invert_m?, highest_at_head(cx)?));
        let Some((now_m, most_m)) = made_ready(case.world, case.tree, route, limits).flatten()
        else {
            continue;
        };
        let (now, most) = (tenths_below(now_m), tenths_above(most_m));
        let mut has_plan = |t| case.has_plan(Change::Head(route, metres(t)));
        if most > now && has_plan(most)? {
            let found = least(now, most, &mut has_plan)?;
            let at = &case.world.site.routes[route].at;
            return Ok(of_metres(RemedyKind::Head, found, Some(at)));
        }
    }
    Ok(vec![])
}

/// Highest invert that cover allows anywhere a head's manhole may stand.
fn highest_at_head(cx: &Context) -> Option<f64> {
    let search = &cx.job().search;
    let sideways = (search.corridor_m / search.corridor_step_m + 1e-9).floor() as i64;
    let end = cx.alignment.station_at(cx.alignment.length_m());
    let at = |k: i64| end.point + end.right * (k as f64 * search.corridor_step_m);
    let levels = (-sideways..=sideways).filter_map(|k| cx.world.site.ground.level(at(k)));
    let highest = levels.reduce(f64::max)?;
    Some(highest - cx.invert_depth_m)
}

/// The fewest lots to be entered.
fn entry(case: &Case) -> Result<Vec<Remedy>, Spent> {
    let closed = case.world.obstacles.things().into_iter();
    let lots: Vec<usize> = closed
        .filter_map(|t| if let Thing::Lot(i) = t { Some(i) } else { None })
        .collect();
    let mut works = |lots: &[usize]| case.has_plan(Change::Entered(lots));
    let found = fewest_in_order(&lots, &mut works)?;
    let row = |i: usize| {
        let lot = &case.world.site.lots[i];
        Remedy {
            kind: RemedyKind::Entry,
            value: RemedyValue::Name(lot.lot_id.clone()),
            source: Some(lot.at.clone()),
        }
    };
    Ok(found.into_iter().map(row).collect())
}

fn fewest_in_order(all: &[usize], works: &mut Works<usize>) -> Result<Vec<usize>, Spent> {
    let mut found = fewest(all, works)?.unwrap_or_default();
    found.sort_unstable();
    Ok(found)
}

/// The fewest services to be proved, where passing them unproved is forbidden.
fn prove(case: &Case) -> Result<Vec<Remedy>, Spent> {
    if case.world.job.rules.unknown_depth != UnknownDepth::Avoid {
        return Ok(vec![]);
    }
    let unknown: Vec<usize> = case
        .world
        .obstacles
        .of_unknown_depth()
        .into_iter()
        .collect();
    let mut works = |services: &[usize]| case.has_plan(Change::Proved(services));
    let found = fewest_in_order(&unknown, &mut works)?;
    let row = |i: usize| {
        let at = &case.world.site.services[i].at;
        Remedy {
            kind: RemedyKind::Prove,
            value: RemedyValue::Name(format!("{}/{}", at.layer, at.fid)),
            source: Some(at.clone()),
        }
    };
    Ok(found.into_iter().map(row).collect())
}

/// The least corridor, up to [`WIDEST_CORRIDOR_M`]. It works for every wider one: that adds positions and runs, and takes
/// none away. Narrow ones are tried first, for the work grows with the square of the width.
fn corridor(case: &Case) -> Result<Vec<Remedy>, Spent> {
    let now = tenths_below(case.world.job.search.corridor_m);
    let most = tenths_below(WIDEST_CORRIDOR_M);
    let mut leads = |t| case.leads_through(Change::Corridor(metres(t)));
    let Some(first) = least_from(now, most, &mut leads)? else {
        return Ok(vec![]);
    };
    let mut has_plan = |t| case.has_plan(Change::Corridor(metres(t)));
    let found = least_from(first - 1, most, &mut has_plan)?;
    Ok(found.map_or(vec![], |t| of_metres(RemedyKind::Corridor, t, None)))
}

/// The least number above `no` and up to `most` that works, tried in growing steps from below.
fn least_from(
    no: i64,
    most: i64,
    works: &mut dyn FnMut(i64) -> Result<bool, Spent>,
) -> Result<Option<i64>, Spent> {
    let (mut no, mut step) = (no, 1);
    while no < most {
        let next = (no + step).min(most);
        if works(next)? {
            return least(no, next, works).map(Some);
        }
        (no, step) = (next, 2 * step);
    }
    Ok(None)
}
