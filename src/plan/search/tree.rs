//! The routes of a tree on one grid: what they may cost beside each other, and what each branch costs at its junction.

use super::{
    exact::{Branch, Ending, Exact},
    grid::{Coarse, Grid, LevelGrid},
    highest::cap_levels,
    label::{Book, Front, SAME_COST},
    pricing::Prices,
    ranges::Lowered,
    relax::{Relaxed, outfall_levels, outlets, relax},
    runs::{Runs, ends},
    solution::{Solved, solution},
    squeeze::{least_by_inlet, squeeze},
};
use crate::plan::{context::Context, system::System};
use geo::Coord;
use std::{
    collections::{BTreeMap, BTreeSet},
    rc::Rc,
};

/// What strikes cost is worked out for runs of plans that cost so much more than the least.
const FIRST: f64 = 0.02;

/// One route on one grid, as far as it is worked out.
pub struct Searched<'c, 'a> {
    /// Its prices.
    pub prices: Prices<'c, 'a>,
    /// Its grid.
    pub grid: Grid,
    /// Its runs.
    pub runs: Runs,
    /// What the route and its branches may cost, the rest of the system at its least.
    bound: f64,
    /// Least cost of a branch at its junction by (last drive launched there), then by inlet level, one after the other, as far as
    /// searches of it have told.
    known: Vec<f64>,
    /// The same, with what its runs tell.
    by_inlet: Vec<f64>,
    /// What a search of the branch has found.
    table: Option<Table>,
}

/// What a search of a branch has found.
#[derive(Clone)]
struct Table {
    branch: Rc<Branch>,
    /// By (last drive launched at the junction), then by inlet level there, one after the other: all that costs no more is in it.
    complete_to: Vec<f64>,
}

/// Lower bounds of some routes.
struct Bounds {
    /// By member: what is still to come.
    relaxed: Vec<Option<Relaxed>>,
    /// By member: least cost of the rest of the system by (last drive launched at its downstream end), then by inlet level there, one
    /// after the other.
    beyond: Vec<Vec<f64>>,
}

/// The routes of a system on one grid.
pub struct Routes<'s, 'a> {
    system: &'s System<'a>,
    /// By member.
    pub searched: Vec<Searched<'s, 'a>>,
    book: Book,
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
            by_inlet: vec![],
            table: None,
        }
    }

    /// Forgets all that was found, and takes these runs.
    pub fn begin_anew(&mut self, runs: Runs) {
        self.runs = runs;
        (self.known, self.by_inlet, self.table) = (vec![], vec![], None);
    }

    /// Inlet levels at the downstream end; none where no pit can stand there.
    fn inlets(&self) -> Option<&LevelGrid> {
        let first = self.grid.positions.first();
        first.filter(|p| p.station == 0).map(|p| &p.levels)
    }

    /// Takes the least cost of a branch by inlet level at its junction, and what is known beyond that.
    fn take_by_inlet(&mut self, least: Vec<f64>) {
        let levels = self.inlets().map_or(0, LevelGrid::len);
        let known = |z: usize| self.known.get(z).copied().unwrap_or(0.0);
        let none = least.is_empty();
        let at = |z: usize| {
            if none {
                f64::INFINITY
            } else {
                least[z].max(known(z))
            }
        };
        self.by_inlet = (0..2 * levels).map(at).collect();
    }

    /// Directions in which the route's last drive may be launched from the junction; empty where there are many.
    fn ways_to_be_launched(&self) -> Vec<Coord<f64>> {
        const MANY: usize = 6;
        let ends = (0..self.grid.positions.len()).filter(|p| ends(&self.grid, *p).1);
        let last = ends.flat_map(|p| &self.runs.to[p]);
        let up: BTreeSet<_> = last.map(|r| self.runs.runs[*r].up).collect();
        let all: Vec<_> = up.into_iter().map(|u| self.prices.vector(u)).collect();
        if all.len() > MANY { vec![] } else { all }
    }

    /// The position where a branch joins; none where no pit can stand there.
    fn junction(&self, branch: usize) -> Option<usize> {
        let joins = |station: usize| self.grid.branches(station).contains(&branch);
        (0..self.grid.positions.len()).find(|p| joins(self.grid.positions[*p].station))
    }

    /// Prices pits by the directions of the runs that are left.
    fn tell_apart(&mut self) {
        const MANY: usize = 64;
        self.runs.price_pits(&mut self.prices, &self.grid, MANY);
    }

    /// All partial plans of a branch within `bound`, with what lies `beyond` by inlet level, are in its table.
    fn is_complete(&self, beyond: &[f64], bound: f64) -> bool {
        let Some(table) = &self.table else {
            return false;
        };
        let levels = beyond.iter().zip(&self.by_inlet).zip(&table.complete_to);
        levels.into_iter().all(|((beyond, least), complete_to)| {
            let may_cost = bound - beyond;
            may_cost.is_nan() || may_cost < *least || may_cost <= *complete_to
        })
    }
}

impl<'s, 'a> Routes<'s, 'a> {
    /// All routes of a system.
    pub fn new(system: &'s System<'a>, coarse: Coarse) -> Routes<'s, 'a> {
        let members = system.members.iter();
        Routes {
            system,
            searched: members.map(|m| Searched::new(&m.cx, coarse)).collect(),
            book: Book::new(system.input_order()),
        }
    }

    /// Does something with every route.
    pub fn each(&mut self, what: impl FnMut(&mut Searched<'s, 'a>)) {
        self.searched.iter_mut().for_each(what);
    }

    /// Drives judged at their levels so far.
    pub fn judged(&self) -> usize {
        self.searched.iter().map(|r| r.prices.judged).sum()
    }

    /// Drops the runs that no plan of the system for `bound` has, levels left free. Gives the least that a plan costs so; none
    /// where that leaves no plan.
    ///
    /// No plan costs less than the least of all its parts, so what a part costs beyond its own least is what the bound leaves
    /// beyond the least of the whole.
    pub fn settle(&mut self, bound: f64) -> Option<f64> {
        let (system, routes) = (self.system, &mut self.searched);
        let mut least = vec![0.0; routes.len()];
        for i in system.upstream_first() {
            routes[i].runs.branches.fill(0.0);
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
        let (whole, spare) = (least[0], bound - least[0]);
        for (r, least) in routes.iter_mut().zip(least) {
            r.bound = least + spare;
            r.runs.drop_dearer(&r.grid, r.bound);
        }
        Some(whole)
    }

    /// Takes from every grid the levels that are higher than any plan comes.
    pub fn cap_levels(&mut self) {
        let (system, routes) = (self.system, &mut self.searched);
        let mut highest = vec![f64::INFINITY; routes.len()];
        for i in system.upstream_first() {
            let mut joining: BTreeMap<usize, f64> = BTreeMap::new();
            for b in system.branches(i) {
                if let Some(p) = routes[i].junction(b) {
                    let drop_m = match ends(&routes[i].grid, p).1 {
                        true => 0.0,
                        false => routes[i].prices.cx.job().rules.manhole_drop_m,
                    };
                    let outlet = joining.entry(p).or_insert(f64::INFINITY);
                    *outlet = outlet.min(highest[b] - drop_m);
                }
            }
            let r = &mut routes[i];
            let joining = |p: usize| joining.get(&p).copied().unwrap_or(f64::INFINITY);
            cap_levels(r.prices.cx, &mut r.grid, &mut r.runs, joining);
            if let Some(levels) = r.inlets() {
                highest[i] = levels.level(levels.len() - 1);
            }
        }
    }

    /// Drops the ways to drive runs that no plan of the system for `bound` has, with levels. None where that leaves no plan.
    pub fn squeeze_all(&mut self, bound: f64) -> Option<()> {
        // Without a bound every run stays.
        if bound.is_infinite() {
            self.bound_branches();
            return Some(());
        }
        let scope = self.all();
        self.squeeze(&scope, &self.free(), bound);
        self.settle(bound)?;
        self.each(Searched::tell_apart);
        Some(())
    }

    /// The best plan of those no dearer than `bound`, if there is one.
    pub fn least_within(&mut self, bound: f64) -> Option<Solved> {
        self.settle(bound)?;
        self.bound_branches();
        let least = self.tighten(bound)?;
        // What is known may leave out the plan that is sought: that nothing was found says nothing.
        let found = self.with_what_is_known(least, bound);
        let bound = found.map_or(bound, |(ending, _)| {
            // No dearer plan is of interest any more.
            (ending.label.cost + 2.0 * SAME_COST).min(bound)
        });
        if let Some((ending, _)) = found.filter(|(_, looked_to)| bound <= *looked_to) {
            let bounds = self.relax(&self.all(), &self.free(), bound);
            let complete = |i: usize| self.searched[i].is_complete(&bounds.beyond[i], bound);
            if (1..self.searched.len()).all(complete) {
                return Some(solution(self.system, &self.searched, &self.book, ending));
            }
        }
        self.settle(bound)?;
        self.squeeze_all(bound)?;
        self.each(|r| r.runs.take_strikes(r.prices.cx, &r.grid));
        self.squeeze_all(bound)?;
        self.take_chains(&self.all());
        self.squeeze_all(bound)?;
        let bounds = self.relax(&self.all(), &self.free(), bound);
        for b in self.system.branches(0) {
            self.search_branch(b, &bounds, bound)?;
        }
        let ending = self.exact(0, &bounds, bound)?.search()?;
        Some(solution(self.system, &self.searched, &self.book, ending))
    }

    /// A plan of branches as far as they are known, and up to what cost the first route was looked at for it.
    fn with_what_is_known(&mut self, least: f64, bound: f64) -> Option<(Ending, f64)> {
        const SLACKS: [f64; 7] = [0.0005, 0.001, 0.002, 0.004, 0.01, 0.03, 0.1];
        let (scope, free) = (vec![0], self.free());
        let whole = self.kept(&scope);
        let first = ((1.0 + FIRST) * least).min(bound);
        let known = self.least_with_strikes(&scope, &free, first);
        let least = known.unwrap_or(first);
        let few = self.kept(&scope);
        let tries = SLACKS.map(|s| (1.0 + s) * least);
        // Where they are close already, a try in between costs more than it saves.
        let tries = tries.into_iter().filter(|t| 1.0003 * t < bound);
        for within in tries.chain([bound]) {
            let enough = known.is_some() && within <= first;
            self.restore(if enough { &few } else { &whole });
            self.squeeze_for_search(&scope, &free, within);
            let bounds = self.relax(&scope, &free, within);
            let ending = if self.least_plan(&bounds) > within {
                None
            } else {
                self.exact(0, &bounds, within)?.search()
            };
            self.restore(&whole);
            if let Some(ending) = ending {
                return Some((ending, within));
            }
        }
        None
    }

    /// Leaves in some routes what a plan for `bound` may have, works out what strikes along that cost at least, and gives the least
    /// that a plan costs then; none where there is none for `bound`.
    fn least_with_strikes(&mut self, scope: &[usize], beyond: &[f64], bound: f64) -> Option<f64> {
        self.squeeze(scope, beyond, bound);
        for m in scope {
            let r = &mut self.searched[*m];
            r.tell_apart();
            r.runs.take_strikes(r.prices.cx, &r.grid);
        }
        let bounds = self.relax(scope, beyond, bound);
        let least = self.least_plan_of(scope[0], &bounds);
        (least <= bound).then_some(least)
    }

    /// Runs of some routes and what they tell, to come back to.
    fn kept(&self, scope: &[usize]) -> Vec<(usize, Runs, Vec<f64>)> {
        let keep = |m: &usize| {
            let r = &self.searched[*m];
            (*m, r.runs.clone(), r.by_inlet.clone())
        };
        scope.iter().map(keep).collect()
    }

    fn restore(&mut self, kept: &[(usize, Runs, Vec<f64>)]) {
        for (m, runs, by_inlet) in kept {
            let r = &mut self.searched[*m];
            (r.runs, r.by_inlet) = (runs.clone(), by_inlet.clone());
        }
    }

    /// Leaves in some routes what a search within `bound` needs, their through pits priced.
    fn squeeze_for_search(&mut self, scope: &[usize], beyond: &[f64], bound: f64) {
        self.squeeze(scope, beyond, bound);
        for m in scope {
            let r = &mut self.searched[*m];
            r.tell_apart();
            if !r.runs.with_strikes {
                r.runs.take_strikes(r.prices.cx, &r.grid);
            }
        }
        self.squeeze(scope, beyond, bound);
        scope.iter().for_each(|m| self.searched[*m].tell_apart());
        self.take_chains(scope);
        self.squeeze(scope, beyond, bound);
    }

    fn take_chains(&mut self, scope: &[usize]) {
        for &m in scope {
            let r = &mut self.searched[m];
            r.runs.take_chains(&mut r.prices, &mut r.grid);
        }
    }

    /// Searches every branch, from upstream down, for what it really costs at the levels where it may be part of a cheap plan:
    /// then little is left open between the bounds of the system and its best plan. Gives the least that a plan can cost; none
    /// where there is none within `bound`.
    ///
    /// What the search of a branch finds is the least; where it finds nothing, the branch costs more than what was asked for.
    fn tighten(&mut self, bound: f64) -> Option<f64> {
        const SLACKS: [f64; 5] = [0.002, 0.005, 0.0125, 0.03, 0.08];
        let bounds = self.relax(&self.all(), &self.free(), bound);
        for i in self.system.upstream_first().filter(|i| *i > 0) {
            if self.system.branches(i).next().is_some() {
                // They cost more than was thought.
                self.bound_branch(i);
            }
            let beyond = self.beyond_of(i, &bounds)?;
            let finite = |of: &[f64]| of.iter().copied().fold(f64::INFINITY, f64::min);
            let own = finite(&self.searched[i].by_inlet);
            let whole = self.searched[i].by_inlet.iter().zip(&beyond);
            let least = finite(&whole.map(|(a, b)| a + b).collect::<Vec<_>>());
            if least.is_infinite() || least > bound {
                return None;
            }
            let scope = self.system.with_upstream(i);
            let whole = self.kept(&scope);
            let first = (least + FIRST * own).min(bound);
            let known = self.least_with_strikes(&scope, &beyond, first);
            let least = known.unwrap_or(first);
            let few = self.kept(&scope);
            for slack in SLACKS {
                let within = (least + slack * own).min(bound);
                let enough = known.is_some() && within <= first;
                self.restore(if enough { &few } else { &whole });
                let found = self.branch_within(&scope, &beyond, within);
                self.restore(&whole);
                if found == Some(true) || within == bound {
                    break;
                }
            }
            let r = &mut self.searched[i];
            let least = std::mem::take(&mut r.by_inlet);
            r.take_by_inlet(least);
            self.tell_parent(i);
        }
        let bounds = self.relax(&[0], &self.free(), bound);
        let least = self.least_plan(&bounds);
        (least.is_finite() && least <= bound).then_some(least)
    }

    /// Searches the branch that `scope` begins with for what costs no more than `bound` with what lies `beyond`, and learns from
    /// it; says whether it found anything.
    fn branch_within(&mut self, scope: &[usize], beyond: &[f64], bound: f64) -> Option<bool> {
        let top = scope[0];
        self.squeeze_for_search(scope, beyond, bound);
        let bounds = self.relax(scope, beyond, bound);
        let found = self.search_branch(top, &bounds, bound);
        let r = &mut self.searched[top];
        if found.is_none() {
            r.table = Some(Table {
                branch: Rc::new(Branch::nothing(&r.grid)),
                complete_to: beyond.iter().map(|b| bound - b).collect(),
            });
        }
        let table = r.table.as_ref()?;
        let levels = table.complete_to.len() / 2;
        let fronts = |i: usize| {
            let arrivals = table.branch.arrivals.iter();
            let so = arrivals.filter(move |a| usize::from(a.0.is_some()) == i / levels);
            so.map(move |a| &a.1[i % levels])
        };
        let known = |(z, complete_to): (usize, &f64)| {
            let before = r.known.get(z).copied().unwrap_or(0.0);
            // f64::max leaves out what is not a number: a level that does not matter.
            before.max(fronts(z).map(Front::least).fold(*complete_to, f64::min))
        };
        let all: Vec<f64> = table.complete_to.iter().enumerate().map(known).collect();
        let any = (0..all.len()).any(|z| fronts(z).any(|f| !f.is_empty()));
        r.known = all;
        Some(any)
    }

    /// Searches a branch, unless all of it that `bound` allows is known. None where it has no plan within the bound.
    fn search_branch(&mut self, i: usize, bounds: &Bounds, bound: f64) -> Option<()> {
        let beyond = &bounds.beyond[i];
        if self.searched[i].is_complete(beyond, bound) {
            return Some(());
        }
        for b in self.system.branches(i) {
            self.search_branch(b, bounds, bound)?;
        }
        let branch = self.exact(i, bounds, bound)?.search_branch()?;
        self.searched[i].table = Some(Table {
            branch: Rc::new(branch),
            complete_to: beyond.iter().map(|b| bound - b).collect(),
        });
        Some(())
    }

    /// All routes, each after the one that it joins.
    fn all(&self) -> Vec<usize> {
        (0..self.searched.len()).collect()
    }

    /// Nothing lies beyond the first route: a branch on its own may come in at any level.
    fn free(&self) -> Vec<f64> {
        vec![0.0; 2 * self.searched[0].inlets().map_or(0, LevelGrid::len)]
    }

    /// No plan is cheaper; +inf where leaving rules out still gives none.
    fn least_plan(&self, bounds: &Bounds) -> f64 {
        self.least_plan_of(0, bounds)
    }

    /// The same from the head of a route on, with the branches above it.
    fn least_plan_of(&self, i: usize, bounds: &Bounds) -> f64 {
        let r = &self.searched[i];
        let relaxed = bounds.relaxed[i].as_ref();
        relaxed.map_or(f64::INFINITY, |relaxed| {
            relaxed.least_plan(r.prices.cx, &r.grid, &r.runs)
        })
    }

    /// Works out what every branch costs at least, and tells the routes that they join.
    fn bound_branches(&mut self) {
        for i in self.system.upstream_first() {
            self.bound_branch(i);
        }
    }

    /// Works out what a branch costs at least, and tells the route that it joins.
    fn bound_branch(&mut self, i: usize) {
        if self.system.members[i].parent.is_some() {
            let r = &mut self.searched[i];
            let least = least_by_inlet(r.prices.cx, &r.grid, &r.runs, r.bound);
            r.take_by_inlet(least);
            self.tell_parent(i);
        }
    }

    /// Tells the route that a branch joins what the branch costs at least, by outlet level at the junction.
    fn tell_parent(&mut self, i: usize) {
        let Some(parent) = self.system.members[i].parent else {
            return;
        };
        let (branch, below) = (&self.searched[i], &self.searched[parent]);
        let Some((p, inlets)) = below.junction(i).zip(branch.inlets()) else {
            return;
        };
        let cx = branch.prices.cx;
        let position = &below.grid.positions[p];
        let mut by_outlet = [0, 1].map(|_| Lowered::new(position.levels.len()));
        for (i, cost) in branch.by_inlet.iter().enumerate() {
            let (launched, z) = (i / inlets.len(), i % inlets.len());
            let range = if position.station == 0 {
                outfall_levels(cx, &position.levels, inlets.level(z))
            } else {
                outlets(cx, &position.levels, inlets.level(z))
            };
            by_outlet[launched].lower(range, *cost);
        }
        let away = branch.ways_to_be_launched();
        let runs = &mut self.searched[parent].runs;
        runs.away.insert(p, away);
        let joining = runs.joining.entry(p).or_default();
        joining.retain(|(b, _)| *b != i);
        joining.push((i, by_outlet.map(Lowered::into_numbers)));
        joining.sort_by_key(|(b, _)| *b);
        if joining.len() > 1 {
            runs.away.remove(&p);
        }
    }

    /// The lower bounds of the routes of `scope`, the first of which has `beyond` downstream of it.
    fn relax(&self, scope: &[usize], beyond: &[f64], bound: f64) -> Bounds {
        let routes = &self.searched;
        let mut all = Bounds {
            relaxed: routes.iter().map(|_| None).collect(),
            beyond: vec![vec![]; routes.len()],
        };
        for &i in scope {
            let r = &routes[i];
            all.beyond[i] = if i == scope[0] {
                beyond.to_vec()
            } else {
                self.beyond_of(i, &all).unwrap_or_default()
            };
            let relaxed = relax(r.prices.cx, &r.grid, &r.runs, bound, &all.beyond[i]);
            all.relaxed[i] = Some(relaxed);
        }
        all
    }

    /// Least cost of the rest of the system by inlet level at the downstream end of a branch, from the bounds of the route that
    /// it joins.
    fn beyond_of(&self, i: usize, bounds: &Bounds) -> Option<Vec<f64>> {
        let p = self.system.members[i].parent?;
        let parent = &self.searched[p];
        let branch = (i, self.searched[i].inlets()?);
        let junction = parent.junction(i)?;
        let below = bounds.relaxed[p].as_ref()?;
        Some(below.beyond(
            parent.prices.cx,
            &parent.grid,
            &parent.runs,
            junction,
            branch,
        ))
    }

    /// Drops the ways to drive runs of some routes that no plan for `bound` has, and tells each route what its branches cost.
    fn squeeze(&mut self, scope: &[usize], beyond: &[f64], bound: f64) {
        let bounds = self.relax(scope, beyond, bound);
        for &m in scope.iter().rev() {
            if let (r, Some(relaxed)) = (&mut self.searched[m], &bounds.relaxed[m]) {
                let least = squeeze(r.prices.cx, &r.grid, &mut r.runs, relaxed, bound);
                if m != scope[0] {
                    r.take_by_inlet(least);
                    self.tell_parent(m);
                }
            }
        }
    }

    /// The exact search of a route; its branches have been searched. None where no pit can stand at a junction.
    fn exact<'e>(
        &'e mut self,
        i: usize,
        bounds: &'e Bounds,
        bound: f64,
    ) -> Option<Exact<'e, 's, 'a>> {
        let mut branches: BTreeMap<usize, Vec<Rc<Branch>>> = BTreeMap::new();
        for b in self.system.branches(i) {
            let p = self.searched[i].junction(b)?;
            let table = self.searched[b].table.as_ref()?;
            branches.entry(p).or_default().push(table.branch.clone());
        }
        let r = &mut self.searched[i];
        Some(Exact {
            member: i,
            branches,
            prices: &mut r.prices,
            grid: &mut r.grid,
            runs: &r.runs,
            relaxed: bounds.relaxed[i].as_ref()?,
            bound,
            book: &mut self.book,
            chains: BTreeMap::new(),
            arrived: vec![],
            left: vec![],
        })
    }
}
