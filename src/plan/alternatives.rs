//! The cheapest plans of a system that differ where pits stand.
//!
//! **Another plan.** A plan is another than a cheaper one if at least one pit of the cheaper has no pit of the plan, on the
//! same route, within one launch pit's length of it (in plan). A plan that only adds pits is not another. A junction's pit
//! is one of the route that is joined.
//!
//! **Which plans.** The first is the best. Each next one is the cheapest of those that are another than every one before.
//!
//! **How.** Best first over sets of forbidden discs: the best plan of a set is that of the ordinary search in which no pit
//! of the disc's route may stand in a disc. Why the order is exact:
//!
//! 1. Whatever is another than a plan P stands clear of one of P's pits, so it is a plan of P's set with that pit's disc
//!    added: together these sets hold every plan of P's set that is another than P. (A pit that every plan of the route has
//!    cannot be stood clear of: its set is empty.)
//! 2. So at any time every plan that may still be taken is in one of the open sets: the sets made of an accepted plan's pits,
//!    or of the pits of an accepted plan that the set's best is not another than, lose only plans that may not be taken.
//! 3. A set's best plan costs no more than any plan in it. The cheapest best plan of all open sets therefore costs no more
//!    than any plan that may still be taken; where it may be taken itself, it is the next.

use super::{
    context::World,
    forbidden::Forbidden,
    search::{Coarse, Grid, Solved, SolvedPit, solve},
    system::{System, Tree},
};
use geo::Coord;
use rayon::prelude::*;
use std::collections::BTreeSet;

/// Most plans that may be asked for.
pub const MOST_ALTERNATIVES: usize = 9;

/// The middle of a forbidden disc: member of the system, and the bits of its coordinates (so that sets of them have an
/// order, and the same set is looked at once).
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Spot {
    member: usize,
    at: [u64; 2],
}

/// A set of forbidden discs and its best plan.
struct Open {
    without: BTreeSet<Spot>,
    best: Solved,
}

/// The `number` cheapest plans of a tree that are each another than all before, the best first; fewer where there are no
/// more. `best` is the plan of [`solve`] for the same routes.
///
/// The result does not depend on the number of threads: sets are solved side by side, and kept in the order of the pits
/// that they come from; of equal costs the first goes first.
pub fn alternatives(
    world: &World,
    tree: &Tree,
    planned: &[bool],
    best: &Solved,
    number: usize,
) -> Vec<Solved> {
    let Some(ways) = Ways::new(world, tree, planned) else {
        return vec![];
    };
    let mut taken: Vec<Solved> = vec![];
    let mut seen: BTreeSet<BTreeSet<Spot>> = BTreeSet::new();
    let mut open = vec![Open {
        without: BTreeSet::new(),
        best: best.clone(),
    }];
    while let Some(next) = cheapest(&mut open) {
        let like = taken.iter().find(|t| !ways.is_another(t, &next.best));
        let spots = ways.spots(like.unwrap_or(&next.best));
        if like.is_none() {
            taken.push(next.best);
        }
        if taken.len() >= number {
            break;
        }
        let with = |spot: Spot| {
            let mut without = next.without.clone();
            without.insert(spot);
            without
        };
        let sets: Vec<BTreeSet<Spot>> = spots.into_iter().map(with).collect();
        let new: Vec<_> = sets
            .into_iter()
            .filter(|s| seen.insert(s.clone()))
            .collect();
        let solved: Vec<Option<Open>> = new.into_par_iter().map(|s| ways.solve(s)).collect();
        open.extend(solved.into_iter().flatten());
    }
    taken
}

/// Takes the set with the cheapest plan; of equals the one that has been there longest.
fn cheapest(open: &mut Vec<Open>) -> Option<Open> {
    let by_cost = |a: &usize, b: &usize| open[*a].best.cost.total_cmp(&open[*b].best.cost);
    let first = (0..open.len()).min_by(by_cost)?;
    Some(open.remove(first))
}

/// What the plans of a system have in common.
struct Ways<'w, 'a> {
    world: &'a World<'a>,
    tree: &'w Tree,
    planned: &'w [bool],
    /// By member: its downstream pit is that of the route it joins.
    joined: Vec<bool>,
    /// Places that every plan has a pit at, by member and the positions that it may have there.
    needed: Vec<(usize, Vec<Coord<f64>>)>,
    /// One launch pit's length (m).
    apart_m: f64,
}

impl<'w, 'a> Ways<'w, 'a> {
    fn new(world: &'a World<'a>, tree: &'w Tree, planned: &'w [bool]) -> Option<Self> {
        let system = System::new(world, tree, planned)?;
        Some(Ways {
            world,
            tree,
            planned,
            joined: system.members.iter().map(|m| m.cx.joined).collect(),
            needed: needed(&system),
            apart_m: world.job.rig.launch_length_m,
        })
    }

    /// The pits that belong to a member.
    fn pits<'s>(&self, plan: &'s Solved, member: usize) -> &'s [SolvedPit] {
        &plan.routes[member].pits[usize::from(self.joined[member])..]
    }

    /// Whether a plan is another than a cheaper one.
    fn is_another(&self, cheaper: &Solved, plan: &Solved) -> bool {
        let members = 0..self.joined.len();
        members.into_iter().any(|m| {
            let others = self.pits(plan, m);
            let deserted = |p: &SolvedPit| {
                let disc = self.disc(p.point);
                !others.iter().any(|o| disc.holds(o.point))
            };
            self.pits(cheaper, m).iter().any(deserted)
        })
    }

    /// The middles of all discs round a plan's pits.
    fn spots(&self, plan: &Solved) -> Vec<Spot> {
        let of = |member: usize| {
            self.pits(plan, member).iter().map(move |p| Spot {
                member,
                at: [p.point.x.to_bits(), p.point.y.to_bits()],
            })
        };
        (0..self.joined.len()).flat_map(of).collect()
    }

    fn disc(&self, centre: Coord<f64>) -> Forbidden {
        Forbidden {
            centre,
            radius_m: self.apart_m,
        }
    }

    /// The best plan of a set, if it has one.
    fn solve(&self, without: BTreeSet<Spot>) -> Option<Open> {
        let mut system = System::new(self.world, self.tree, self.planned)?;
        for spot in &without {
            let [x, y] = spot.at.map(f64::from_bits);
            let forbidden = &mut system.members[spot.member].cx.forbidden;
            forbidden.push(self.disc(Coord { x, y }));
        }
        // No search is needed to see that an end that cannot move is forbidden.
        let barred = |(member, at): &(usize, Vec<Coord<f64>>)| {
            at.iter().all(|p| system.members[*member].cx.forbids(*p))
        };
        if self.needed.iter().any(barred) {
            return None;
        }
        let best = solve(&system)?;
        Some(Open { without, best })
    }
}

/// Where every plan has a pit: ends (but for that of the route that is joined) and junctions.
fn needed(system: &System) -> Vec<(usize, Vec<Coord<f64>>)> {
    let mut out = vec![];
    for (i, m) in system.members.iter().enumerate() {
        let grid = Grid::new(&m.cx, Coarse::FINEST);
        let last = grid.stations.len() - 1;
        let always =
            |s: &usize| *s == last || *s == 0 && !m.cx.joined || !grid.branches(*s).is_empty();
        for station in (0..=last).filter(always) {
            let there = grid.positions.iter().filter(|p| p.station == station);
            out.push((i, there.map(|p| grid.point(p.node)).collect()));
        }
    }
    out
}
