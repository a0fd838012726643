//! A plan, read off the steps of the search.

use super::{
    exact::Ending,
    label::{Book, StepId},
    pricing::{exempt_for_drive, exempt_for_pit},
    tree::Searched,
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    pits::Meets,
    plan::system::System,
};
use geo::Coord;

/// A pit of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SolvedPit {
    /// Centre.
    pub point: Coord<f64>,
    /// Chainage of its station (m).
    pub chainage_m: f64,
    /// Right looking downstream positive (m).
    pub offset_m: f64,
    /// A manhole stands in it.
    pub manhole: bool,
    /// Invert of its downstream drive there (at the outfall: of its upstream drive): the lowest.
    pub invert_m: f64,
    /// Service parts that do not count here.
    pub exempt: Vec<usize>,
    /// The drives of branches that meet it.
    pub branches: Vec<Meets>,
}

/// A drive of the plan.
#[derive(Debug, Clone, PartialEq)]
pub struct SolvedDrive {
    /// Upstream and downstream pit (index into the pits, from downstream).
    pub pits: [usize; 2],
    /// Inverts upstream and downstream.
    pub inverts: [f64; 2],
    /// Which side launches it.
    pub side: usize,
    /// Which run it belongs to, counted from downstream.
    pub run: usize,
    /// Service parts that do not count for it.
    pub exempt: Vec<usize>,
}

/// The plan of one route, from the downstream end up. A branch's first pit is that of the route it joins.
#[derive(Debug, Clone, PartialEq)]
pub struct Solution {
    /// Pits.
    pub pits: Vec<SolvedPit>,
    /// Drives.
    pub drives: Vec<SolvedDrive>,
}

/// The best plan of a system.
#[derive(Debug, Clone, PartialEq)]
pub struct Solved {
    /// Its cost.
    pub cost: f64,
    /// By member of the system.
    pub routes: Vec<Solution>,
    /// Drives judged at their levels on the way: the work done.
    pub judged: usize,
}

/// Reads a plan off its steps.
pub fn solution(system: &System, routes: &[Searched], book: &Book, ending: Ending) -> Solved {
    let strands = book.strands(ending.label.step);
    let mut solved: Vec<Solution> = vec![];
    for (i, r) in routes.iter().enumerate() {
        let end = if i == 0 {
            (ending.position, ending.invert_m)
        } else {
            let last = book.upward(strands[i]).next().expect("a branch has runs");
            (last.positions[1] as usize, last.inverts[1])
        };
        solved.push(route_solution(r, book, strands[i], end));
    }
    meet_at_junctions(system, &mut solved);
    Solved {
        cost: ending.label.cost,
        routes: solved,
        judged: 0,
    }
}

/// Tells every junction's pit of the branches' drives that meet it.
fn meet_at_junctions(system: &System, solved: &mut [Solution]) {
    for i in 0..solved.len() {
        for j in &system.members[i].cx.junctions {
            let meets = j.branches.iter().map(|b| {
                let d = solved[*b].pits[1].point - solved[*b].pits[0].point;
                Meets {
                    direction: d / d.x.hypot(d.y),
                    launched: solved[*b].drives[0].side == FROM_DOWNSTREAM,
                }
            });
            let meets: Vec<Meets> = meets.collect();
            let at = |p: &&mut SolvedPit| (p.chainage_m - j.chainage_m).abs() < LENGTH_TOLERANCE_M;
            if let Some(pit) = solved[i].pits.iter_mut().find(at) {
                pit.branches = meets;
            }
        }
    }
}

fn route_solution(
    r: &Searched,
    book: &Book,
    strand: Option<StepId>,
    (position, invert_m): (usize, f64),
) -> Solution {
    let (cx, grid) = (r.prices.cx, &r.grid);
    let pit = |node: u32, manhole: bool, invert_m: f64| {
        let n = &grid.nodes[node as usize];
        SolvedPit {
            point: n.point,
            chainage_m: grid.stations[n.station].chainage_m,
            offset_m: n.offset_m,
            manhole,
            invert_m,
            exempt: exempt_for_pit(cx, grid, node),
            branches: vec![],
        }
    };
    let mut pits = vec![pit(grid.positions[position].node, true, invert_m)];
    let mut drives = vec![];
    for (run, step) in book.upward(strand).enumerate() {
        let [us, ds] = step.positions.map(|p| grid.positions[p as usize].node);
        let length = grid.distance_m(us, ds);
        let level = |node: u32| {
            if node == ds {
                step.inverts[1]
            } else {
                step.inverts[0]
                    + (step.inverts[1] - step.inverts[0]) * (grid.distance_m(us, node) / length)
            }
        };
        let through = step.through.iter();
        let through = through.map(|leg| (leg.ds, leg.from_downstream));
        let legs: Vec<_> = through.chain([(ds, step.from_downstream)]).collect();
        for (i, &(lower, from_downstream)) in legs.iter().enumerate().rev() {
            let upper = if i == 0 { us } else { legs[i - 1].0 };
            let inverts = [level(upper), level(lower)];
            let k = pits.len();
            drives.push(SolvedDrive {
                pits: [k, k - 1],
                inverts,
                side: if from_downstream {
                    FROM_DOWNSTREAM
                } else {
                    FROM_UPSTREAM
                },
                run,
                exempt: exempt_for_drive(cx, grid, [upper, lower]),
            });
            pits.push(pit(upper, i == 0, inverts[0]));
        }
    }
    Solution { pits, drives }
}
