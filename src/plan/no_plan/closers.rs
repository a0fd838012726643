//! What closes a gap.

use super::{
    budget::{Budget, Spent},
    case::{Case, Change, Company},
    groups::{first_alone, irreducible},
    islands::{Gap, Islands},
};
use crate::clearance::Thing;
use geo::Coord;
use std::collections::BTreeSet;

/// The thing that closes a gap: of those that forbid pits or drives there the first whose removal alone opens it, that which
/// forbids most tried first; where none alone opens it, that which forbids most. None where nothing forbids anything: the
/// reach alone, or ground that is not known.
pub fn of_gap(case: &Case, gap: &Gap) -> Result<Option<Thing>, Spent> {
    let near = things_near(case, gap)?;
    let all: Vec<Thing> = case.world.obstacles.things().into_iter().collect();
    let unlawful_anyway = unlawful(case, gap, &all)?;
    let mut things: Vec<(usize, Thing)> = vec![];
    for thing in near {
        let others: Vec<Thing> = all.iter().copied().filter(|t| *t != thing).collect();
        let forbids = unlawful(case, gap, &others)?.saturating_sub(unlawful_anyway);
        if forbids > 0 {
            things.push((forbids, thing));
        }
    }
    things.sort_by_key(|(forbids, thing)| (usize::MAX - forbids, *thing));
    let things: Vec<Thing> = things.into_iter().map(|t| t.1).collect();
    let mut opens = |without: &[Thing]| {
        let over = |islands: &mut Islands, budget: &mut Budget| islands.lead_over(gap, budget);
        let leads = case.levels_free(Change::Without(without), Company::None, over)?;
        Ok(leads.unwrap_or(false))
    };
    let alone = first_alone(&things, &mut opens)?;
    Ok(alone.or(things.first().copied()))
}

/// Things so near a gap that they may forbid something there.
fn things_near(case: &Case, gap: &Gap) -> Result<BTreeSet<Thing>, Spent> {
    let points = |islands: &mut Islands, _: &mut Budget| {
        let grid = &islands.ways.grid;
        let stations = islands.stations_of(gap);
        Ok(stations.iter().map(|s| grid.point(s[0])).collect())
    };
    let points: Vec<Coord<f64>> = case
        .levels_free(Change::Nothing, Company::None, points)?
        .unwrap_or_default();
    Ok(case.world.obstacles.around(&points, case.near_m).things())
}

/// How many pits and short drives within a gap are unlawful without some things.
fn unlawful(case: &Case, gap: &Gap, without: &[Thing]) -> Result<usize, Spent> {
    let count = |islands: &mut Islands, budget: &mut Budget| {
        let mut unlawful = 0;
        for [at, next] in islands.stations_of(gap) {
            budget.look()?;
            let along = islands.ways.direction(at, next);
            let pits = [false, true].map(|launched| islands.ways.pit(at, along, launched));
            unlawful += pits.iter().filter(|lawful| !**lawful).count();
            if next > at {
                let sides = islands.ways.drive(next, at, budget)?;
                unlawful += usize::from(sides == [false; 2]);
            }
        }
        Ok(unlawful)
    };
    Ok(case
        .levels_free(Change::Without(without), Company::None, count)?
        .unwrap_or(0))
}

/// The thing that leaves no levels: the first without which there is a plan; where none is alone enough, one of those
/// that are together. None where not even all are.
pub fn of_levels(case: &Case) -> Result<Option<Thing>, Spent> {
    let mut things: Vec<Thing> = case.world.obstacles.things().into_iter().collect();
    things.sort_by_key(|t| (rank(t), *t));
    let mut works = |without: &[Thing]| case.has_plan(Change::Without(without));
    if let Some(alone) = first_alone(&things, &mut works)? {
        return Ok(Some(alone));
    }
    let together = irreducible(&things, &mut works)?;
    Ok(together.and_then(|t| t.last().copied()))
}

/// Services and buildings first: they are what levels have to get past.
fn rank(thing: &Thing) -> usize {
    match thing {
        Thing::Service(_) => 0,
        Thing::Building(_) => 1,
        _ => 2,
    }
}
