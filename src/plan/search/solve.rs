//! Coarse grids first, for a bound; then the grid itself.

use super::{
    exact::{Branch, Ending, Exact},
    grid::{Coarse, Grid, LevelGrid},
    label::{Book, Front, SAME_COST, StepId},
    pricing::Prices,
    relax::{Relaxed, outfall_levels, outlets, relax},
    runs::Runs,
    squeeze::{least_by_inlet, squeeze},
};
use crate::{
    clearance::{FROM_DOWNSTREAM, LENGTH_TOLERANCE_M},
    pits::Meets,
    plan::{context::Context, system::System},
};
use geo::Coord;
use std::collections::BTreeMap;

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

/// How much coarser than the job's the grids are, in turn. Their points are the job's grid's too.
const GRIDS: [Coarse; 3] = [
    Coarse {
        stations: 10,
        levels: 10,
    },
    Coarse {
        stations: 3,
        levels: 3,
    },
    Coarse {
        stations: 1,
        levels: 1,
    },
];

/// The best plan of a system of joined routes; none where it has none.
pub fn solve(system: &System) -> Option<Solved> {
    let mut bound = f64::INFINITY;
    let mut judged = 0;
    let mut best = None;
    for coarse in GRIDS {
        let found = solve_on(system, coarse, bound, &mut judged);
        if let Some(s) = &found {
            bound = s.cost + 2.0 * SAME_COST;
        }
        best = found;
    }
    best.map(|s| Solved { judged, ..s })
}

/// Whether a system has a plan at all: on a coarser grid first, for its plans are the fine grid's too. Adds to `judged` the
/// drives judged at their levels on the way.
pub fn has_plan(system: &System, judged: &mut usize) -> bool {
    let mut found = |coarse| solve_on(system, coarse, f64::INFINITY, judged).is_some();
    GRIDS.into_iter().any(&mut found)
}

/// The best plan on one grid, if there is one no dearer than `bound`.
fn solve_on(system: &System, coarse: Coarse, bound: f64, judged: &mut usize) -> Option<Solved> {
    let mut routes: Vec<Searched> = system
        .members
        .iter()
        .map(|m| Searched::new(&m.cx, coarse))
        .collect();
    let best = least_on(system, &mut routes, bound);
    *judged += routes.iter().map(|r| r.prices.judged).sum::<usize>();
    best
}

fn least_on(system: &System, routes: &mut [Searched], bound: f64) -> Option<Solved> {
    settle(system, routes, bound)?;
    for r in &mut *routes {
        r.runs.take_lines(&mut r.prices, &r.grid);
    }
    settle(system, routes, bound)?;
    for r in &mut *routes {
        r.runs.take_profiles(r.prices.cx, &r.grid);
        r.runs.take_courses(r.prices.cx, &r.grid);
    }
    settle(system, routes, bound)?;
    // What no plan within the bound has, none within a lower bound has.
    squeeze_all(system, routes, bound)?;
    tell_apart(routes);
    squeeze_all(system, routes, bound)?;
    tell_apart(routes);
    tighten(system, routes)?;
    let relaxed = relax_all(system, routes, bound);
    let least = least_plan(routes, &relaxed);
    if least.is_infinite() || least > bound {
        return None;
    }
    let whole: Vec<Runs> = routes.iter().map(|r| r.runs.clone()).collect();
    for bound in bounds(least, bound) {
        for (r, whole) in routes.iter_mut().zip(&whole) {
            r.runs = whole.clone();
        }
        let best = least_within(system, routes, bound);
        // A plan within the bound is the best of all, with all its equals: only dearer ones were left out.
        if best.as_ref().is_some_and(|s| s.cost + SAME_COST <= bound) {
            return best;
        }
    }
    None
}

/// The best plan of those no dearer than `bound`, if there is one.
fn least_within(system: &System, routes: &mut [Searched], bound: f64) -> Option<Solved> {
    settle(system, routes, bound)?;
    squeeze_all(system, routes, bound)?;
    tell_apart(routes);
    squeeze_all(system, routes, bound)?;
    tell_apart(routes);
    for r in &mut *routes {
        r.runs.take_chains(&mut r.prices, &mut r.grid);
    }
    settle(system, routes, bound)?;
    squeeze_all(system, routes, bound)?;
    let relaxed = relax_all(system, routes, bound);
    if least_plan(routes, &relaxed) > bound {
        return None;
    }
    search(system, routes, &relaxed, bound)
}

/// Prices pits by the directions of the runs that are left.
fn tell_apart(routes: &mut [Searched]) {
    const MANY: usize = 64;
    for r in routes {
        r.runs.price_pits(&mut r.prices, &r.grid, MANY);
    }
}

/// No plan is cheaper; +inf where leaving rules out still gives none.
fn least_plan(routes: &[Searched], relaxed: &[Relaxed]) -> f64 {
    let root = &routes[0];
    relaxed[0].least_plan(root.prices.cx, &root.grid, &root.runs)
}

/// One route on one grid, as far as it is worked out.
struct Searched<'c, 'a> {
    prices: Prices<'c, 'a>,
    grid: Grid,
    runs: Runs,
    /// What the route and its branches may cost, the rest of the system at its least.
    bound: f64,
    /// Least cost of a branch by inlet level at its junction, as far as searches of it alone have told.
    known: Vec<f64>,
}

impl<'c, 'a> Searched<'c, 'a> {
    fn new(cx: &'c Context<'a>, coarse: Coarse) -> Self {
        let mut prices = Prices::new(cx);
        let grid = Grid::new(cx, coarse);
        let runs = Runs::new(&mut prices, &grid);
        Searched {
            prices,
            grid,
            runs,
            bound: f64::INFINITY,
            known: vec![],
        }
    }

    /// Inlet levels at the downstream end; none where no pit can stand there.
    fn inlets(&self) -> Option<&LevelGrid> {
        let first = self.grid.positions.first();
        first.filter(|p| p.station == 0).map(|p| &p.levels)
    }

    /// Least cost of a branch by inlet level at its junction.
    fn least_by_inlet(&self) -> Vec<f64> {
        let mut least = least_by_inlet(self.prices.cx, &self.grid, &self.runs, self.bound);
        for (least, known) in least.iter_mut().zip(&self.known) {
            *least = least.max(*known);
        }
        least
    }

    /// The position where a branch joins; none where no pit can stand there.
    fn junction(&self, branch: usize) -> Option<usize> {
        let joins = |station: usize| self.grid.branches(station).contains(&branch);
        (0..self.grid.positions.len()).find(|p| joins(self.grid.positions[*p].station))
    }
}

/// Drops the runs that no plan of the system for `bound` has, levels left free. None where that leaves no plan.
///
/// No plan costs less than the least of all its parts, so what a part costs beyond its own least is what the bound leaves
/// beyond the least of the whole.
fn settle(system: &System, routes: &mut [Searched], bound: f64) -> Option<()> {
    let mut least = vec![0.0; routes.len()];
    for i in system.upstream_first() {
        routes[i].runs.branches.fill(0.0);
        routes[i].runs.joining.clear();
        for b in system.branches(i) {
            let p = routes[i].junction(b)?;
            routes[i].runs.branches[p] += least[b];
        }
        let r = &mut routes[i];
        r.runs.drop_hopeless(&r.grid);
        r.runs.bound_levels_free(r.prices.cx, &r.grid);
        least[i] = r.runs.least_total(r.prices.cx, &r.grid);
    }
    if least[0].is_infinite() || least[0] > bound {
        return None;
    }
    let spare = bound - least[0];
    for (r, least) in routes.iter_mut().zip(least) {
        r.bound = least + spare;
        r.runs.drop_dearer(r.prices.cx, &r.grid, r.bound);
    }
    Some(())
}

/// Tells the route that a branch joins what the branch costs at least, by outlet level at the junction.
fn bound_branch(system: &System, routes: &mut [Searched], i: usize) {
    let Some(parent) = system.members[i].parent else {
        return;
    };
    let by_inlet = routes[i].least_by_inlet();
    let (cx, below) = (routes[i].prices.cx, &routes[parent]);
    let Some((p, inlets)) = below.junction(i).zip(routes[i].inlets()) else {
        return;
    };
    let position = &below.grid.positions[p];
    let mut by_outlet = vec![f64::INFINITY; position.levels.len()];
    for (z, cost) in by_inlet.iter().enumerate().filter(|(_, c)| c.is_finite()) {
        let range = if position.station == 0 {
            outfall_levels(cx, &position.levels, inlets.level(z))
        } else {
            outlets(cx, &position.levels, inlets.level(z))
        };
        for known in &mut by_outlet[range] {
            *known = known.min(*cost);
        }
    }
    let joining = routes[parent].runs.joining.entry(p).or_default();
    joining.retain(|(b, _)| *b != i);
    joining.push((i, by_outlet));
    joining.sort_by_key(|(b, _)| *b);
}

/// Searches every branch by itself, from upstream down, for what it really costs at the levels where it costs little more than
/// its lower bound: then little is left open between the bounds of the system and its best plan.
///
/// Every level is given the same slack beyond its own bound. What the search finds there is the least; where it finds nothing,
/// the branch costs more than bound and slack. None where a branch has no plan.
fn tighten(system: &System, routes: &mut [Searched]) -> Option<()> {
    const SLACKS: [f64; 3] = [0.01, 0.02, 0.04];
    for i in system
        .upstream_first()
        .filter(|i| system.members[*i].parent.is_some())
    {
        let bound = routes[i].least_by_inlet();
        let finite = || bound.iter().copied().filter(|c| c.is_finite());
        let (least, most) = (finite().reduce(f64::min)?, finite().fold(0.0, f64::max));
        let scope = system.with_upstream(i);
        let whole: Vec<Runs> = scope.iter().map(|m| routes[*m].runs.clone()).collect();
        for slack in SLACKS.map(|s| s * least) {
            // The less a level costs by its bound, the more the rest is said to cost there.
            let beyond: Vec<f64> = bound.iter().map(|c| most - c).collect();
            let beyond = beyond
                .into_iter()
                .map(|c| if c.is_finite() { c } else { f64::INFINITY });
            let top = (i, beyond.collect::<Vec<_>>());
            let found = branch_within(system, routes, &scope, &top, most + slack);
            for (m, whole) in scope.iter().zip(&whole) {
                routes[*m].runs = whole.clone();
            }
            let at = |z: usize| {
                let fronts = found
                    .iter()
                    .flat_map(|b| b.arrivals.iter().map(move |a| &a.1[z]));
                fronts.map(Front::least).fold(bound[z] + slack, f64::min)
            };
            routes[i].known = (0..bound.len()).map(at).collect();
            let any = |b: &Branch| b.arrivals.iter().any(|a| a.1.iter().any(|f| !f.is_empty()));
            if found.as_ref().is_some_and(any) {
                break;
            }
        }
        bound_branch(system, routes, i);
    }
    Some(())
}

/// What the branch `top` and all upstream of it cost, as far as it is no more than `bound` with what lies beyond.
fn branch_within(
    system: &System,
    routes: &mut [Searched],
    scope: &[usize],
    top: &(usize, Vec<f64>),
    bound: f64,
) -> Option<Branch> {
    let squeeze_scope = |routes: &mut [Searched]| {
        let relaxed = relax_scope(system, routes, scope, top, bound);
        for &m in scope {
            let r = &mut routes[m];
            squeeze(
                r.prices.cx,
                &r.grid,
                &mut r.runs,
                relaxed[m].as_ref()?,
                bound,
            );
        }
        Some(())
    };
    squeeze_scope(routes)?;
    for &m in scope {
        let r = &mut routes[m];
        r.runs.take_chains(&mut r.prices, &mut r.grid);
    }
    squeeze_scope(routes)?;
    let relaxed = relax_scope(system, routes, scope, top, bound);
    let mut book = Book::new(system.input_order());
    let mut solved: Vec<Option<Branch>> = routes.iter().map(|_| None).collect();
    for &m in scope.iter().rev() {
        let branches = joined_at(system, routes, &mut solved, m)?;
        let exact = exact(
            &mut routes[m],
            m,
            branches,
            relaxed[m].as_ref()?,
            bound,
            &mut book,
        );
        solved[m] = exact.search_branch();
    }
    solved[top.0].take()
}

/// The lower bounds of all routes, each with the rest of the system in it.
fn relax_all(system: &System, routes: &mut [Searched], bound: f64) -> Vec<Relaxed> {
    let all: Vec<usize> = (0..routes.len()).collect();
    for i in system.upstream_first() {
        bound_branch(system, routes, i);
    }
    // A branch on its own may come in at any level.
    let free = vec![0.0; routes[0].inlets().map_or(0, LevelGrid::len)];
    let relaxed = relax_scope(system, routes, &all, &(0, free), bound);
    relaxed.into_iter().flatten().collect()
}

/// The lower bounds of the routes of `scope`, the first of which is `top`, with what lies beyond it by inlet level.
fn relax_scope(
    system: &System,
    routes: &[Searched],
    scope: &[usize],
    (top, beyond_top): &(usize, Vec<f64>),
    bound: f64,
) -> Vec<Option<Relaxed>> {
    let mut all: Vec<Option<Relaxed>> = routes.iter().map(|_| None).collect();
    for &i in scope {
        let r = &routes[i];
        let beyond = || {
            let p = system.members[i].parent?;
            let (parent, branch) = (&routes[p], (i, r.inlets()?));
            let (cx, junction) = (parent.prices.cx, parent.junction(i)?);
            let below = all[p].as_ref()?;
            Some(below.beyond(cx, &parent.grid, &parent.runs, junction, branch))
        };
        let beyond = if i == *top {
            beyond_top.clone()
        } else {
            beyond().unwrap_or_default()
        };
        all[i] = Some(relax(r.prices.cx, &r.grid, &r.runs, bound, &beyond));
    }
    all
}

/// Drops the ways to drive runs that no plan of the system for `bound` has, with levels. None where that leaves no plan.
fn squeeze_all(system: &System, routes: &mut [Searched], bound: f64) -> Option<()> {
    // Without a bound every run stays.
    if bound.is_infinite() {
        return Some(());
    }
    let relaxed = relax_all(system, routes, bound);
    for (r, relaxed) in routes.iter_mut().zip(&relaxed) {
        squeeze(r.prices.cx, &r.grid, &mut r.runs, relaxed, bound);
    }
    settle(system, routes, bound)
}

/// Searches the routes from upstream down, every branch before the route that it joins.
fn search(
    system: &System,
    routes: &mut [Searched],
    relaxed: &[Relaxed],
    bound: f64,
) -> Option<Solved> {
    let mut book = Book::new(system.input_order());
    let mut solved: Vec<Option<Branch>> = routes.iter().map(|_| None).collect();
    for i in system.upstream_first() {
        let branches = joined_at(system, routes, &mut solved, i)?;
        let exact = exact(&mut routes[i], i, branches, &relaxed[i], bound, &mut book);
        if i > 0 {
            solved[i] = Some(exact.search_branch()?);
        } else {
            let ending = exact.search()?;
            return Some(solution(system, routes, &book, ending));
        }
    }
    None
}

/// The branches of a route, by position where they join. None where no pit can stand there.
fn joined_at(
    system: &System,
    routes: &[Searched],
    solved: &mut [Option<Branch>],
    i: usize,
) -> Option<BTreeMap<usize, Vec<Branch>>> {
    let mut branches: BTreeMap<usize, Vec<Branch>> = BTreeMap::new();
    for b in system.branches(i) {
        let p = routes[i].junction(b)?;
        branches.entry(p).or_default().push(solved[b].take()?);
    }
    Some(branches)
}

fn exact<'s, 'c, 'a>(
    r: &'s mut Searched<'c, 'a>,
    member: usize,
    branches: BTreeMap<usize, Vec<Branch>>,
    relaxed: &'s Relaxed,
    bound: f64,
    book: &'s mut Book,
) -> Exact<'s, 'c, 'a> {
    Exact {
        member,
        branches,
        prices: &mut r.prices,
        grid: &mut r.grid,
        runs: &r.runs,
        relaxed,
        bound,
        book,
        chains: BTreeMap::new(),
        arrived: vec![],
        left: vec![],
    }
}

/// Bounds to try in turn, from near the least that a plan can cost to the bound given: the search grows faster than
/// evenly with its bound, so that the last one tried is nearly all the work.
fn bounds(least: f64, bound: f64) -> Vec<f64> {
    let tries = [1.005, 1.01, 1.02, 1.04, 1.08, 1.16, 1.5].map(|by| by * least);
    // Where they are close already, a try in between costs more than it saves.
    let mut below: Vec<f64> = tries.into_iter().filter(|t| 1.002 * t < bound).collect();
    below.push(bound);
    below
}

/// Reads a plan off its steps.
fn solution(system: &System, routes: &[Searched], book: &Book, ending: Ending) -> Solved {
    let strands = book.strands(ending.label.step);
    let mut solved: Vec<Solution> = vec![];
    for (i, r) in routes.iter().enumerate() {
        let end = if i == 0 {
            (ending.position, ending.invert_m)
        } else {
            let last = book.upward(strands[i]).next().expect("a branch has runs");
            (last.positions[1], last.inverts[1])
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
    let exempt = |nodes: &[u32]| super::pricing::exempt(cx, grid, nodes);
    let pit = |node: u32, manhole: bool, invert_m: f64| {
        let n = &grid.nodes[node as usize];
        SolvedPit {
            point: n.point,
            chainage_m: grid.stations[n.station].chainage_m,
            offset_m: n.offset_m,
            manhole,
            invert_m,
            exempt: exempt(&[node]),
            branches: vec![],
        }
    };
    let mut pits = vec![pit(grid.positions[position].node, true, invert_m)];
    let mut drives = vec![];
    for (run, step) in book.upward(strand).enumerate() {
        let [us, ds] = step.positions.map(|p| grid.positions[p].node);
        let length = grid.distance_m(us, ds);
        let level = |node: u32| {
            if node == ds {
                step.inverts[1]
            } else {
                step.inverts[0]
                    + (step.inverts[1] - step.inverts[0]) * (grid.distance_m(us, node) / length)
            }
        };
        for (i, leg) in step.legs.iter().enumerate().rev() {
            let upper = if i == 0 { us } else { step.legs[i - 1].ds };
            let inverts = [level(upper), level(leg.ds)];
            let k = pits.len();
            drives.push(SolvedDrive {
                pits: [k, k - 1],
                inverts,
                side: leg.side,
                run,
                exempt: exempt(&[upper, leg.ds]),
            });
            pits.push(pit(upper, i == 0, inverts[0]));
        }
    }
    Solution { pits, drives }
}
