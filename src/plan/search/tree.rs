//! The routes of a tree on one grid: what they may cost beside each other, and what each branch costs at its junction.

use super::{
    arrive::least_of_all,
    fan::Away,
    grid::{Coarse, Grid, LevelGrid, Position},
    highest::{cap_levels, outlets_below},
    label::Book,
    pricing::Prices,
    ranges::Lowered,
    relax::{Relaxed, hopeful, outfall_levels, outlets},
    runs::{Run, Runs, ends},
    squeeze::squeeze,
    table::Table,
    thin_out::{Ready, thin_out},
};
use crate::plan::{context::Context, system::System};
use std::collections::BTreeSet;

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
    pub known: Vec<f64>,
    /// The same, with what its runs tell; empty of a route that joins none.
    pub by_inlet: Vec<f64>,
    /// The branch's last drive comes in from one direction only.
    pub arrives_one_way: bool,
    /// Runs of plans that cost no more than so much at every level, what strikes along them cost worked out.
    pub few: Option<(Runs, Vec<f64>)>,
    /// What searches of the branch have found.
    pub table: Option<Table>,
}

/// The routes of a system on one grid.
pub struct Routes<'s, 'a> {
    /// The system.
    pub system: &'s System<'a>,
    /// By member.
    pub searched: Vec<Searched<'s, 'a>>,
    /// By member: its least cost with its branches, levels left free.
    least: Vec<f64>,
    /// By member: what the rest of the system costs at least, as far as it is known before that.
    rest: Vec<f64>,
    /// Steps of their partial plans.
    pub book: Book,
    /// How often a branch was searched.
    pub searches: usize,
}

impl<'c, 'a> Searched<'c, 'a> {
    fn new(cx: &'c Context<'a>, ready: Ready) -> Self {
        let mut prices = Prices::new(cx);
        let (grid, runs) = ready.into_runs(&mut prices);
        Searched {
            prices,
            grid,
            runs,
            bound: f64::INFINITY,
            known: vec![],
            by_inlet: vec![],
            arrives_one_way: false,
            few: None,
            table: None,
        }
    }

    /// Takes the least cost of a branch by inlet level at its junction, and what is known beyond that.
    pub fn take_by_inlet(&mut self, least: Vec<f64>) {
        let levels = self.grid.inlets().map_or(0, LevelGrid::len);
        let none = least.is_empty();
        let at = |z: usize| {
            if none {
                f64::INFINITY
            } else {
                least[z].max(self.known_at(z))
            }
        };
        self.by_inlet = (0..2 * levels).map(at).collect();
    }

    /// What is known of the least cost of a branch for one inlet level.
    pub fn known_at(&self, z: usize) -> f64 {
        self.known.get(z).copied().unwrap_or(0.0)
    }

    /// Directions in which the route's last drive may be launched from the junction.
    fn away(&self) -> Away {
        let ends = (0..self.grid.positions.len()).filter(|p| ends(&self.grid, *p).1);
        let last = ends
            .flat_map(|p| &self.runs.to[p])
            .map(|r| &self.runs.runs[*r]);
        let may_be = |r: &&Run| {
            r.ways()
                .any(|(_, launched, cost)| launched == 1 && cost.is_finite())
        };
        let up: BTreeSet<_> = last.filter(may_be).map(|r| r.up).collect();
        Away::new(up.into_iter().map(|u| self.prices.vector(u)).collect())
    }
}

impl<'s, 'a> Routes<'s, 'a> {
    /// All routes of a system, with the runs that plans for `bound` may have; none where there is no such plan.
    pub fn new(system: &'s System<'a>, coarse: Coarse, bound: f64) -> Option<Routes<'s, 'a>> {
        let members = system.members.iter();
        let mut ready: Vec<Ready> = members.map(|m| Ready::new(&m.cx, coarse)).collect();
        let rest = match bound.is_finite() && ready.iter().any(Ready::is_wide) {
            true => thin_out(system, &mut ready, bound)?,
            false => vec![0.0; ready.len()],
        };
        let members = system.members.iter().zip(ready);
        Some(Routes {
            system,
            searched: members.map(|(m, r)| Searched::new(&m.cx, r)).collect(),
            least: vec![],
            rest,
            book: Book::new(system.input_order()),
            searches: 0,
        })
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
    pub fn settle(&mut self, bound: f64) -> Option<f64> {
        let (system, routes) = (self.system, &mut self.searched);
        let mut least = vec![0.0; routes.len()];
        for i in system.upstream_first() {
            routes[i].runs.branches.fill(0.0);
            for b in system.branches(i) {
                let p = routes[i].grid.junction(b)?;
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
        let whole = least[0];
        self.least = least;
        self.allow(bound);
        self.each(|r| r.runs.drop_dearer(&r.grid, r.bound));
        Some(whole)
    }

    /// Bounds what every route and its branches may cost in plans for `bound`.
    ///
    /// No plan costs less than the least of all its parts, so what a part costs beyond its own least is what the bound leaves
    /// beyond the least of the whole.
    pub fn allow(&mut self, bound: f64) {
        let spare = bound - self.least[0];
        let known = self.least.iter().zip(&self.rest);
        for (r, (least, rest)) in self.searched.iter_mut().zip(known) {
            r.bound = (least + spare).min(bound - rest);
        }
    }

    /// Takes from every grid the levels that are higher than any plan comes.
    pub fn cap_levels(&mut self) {
        let (system, routes) = (self.system, &mut self.searched);
        let mut highest = vec![f64::INFINITY; routes.len()];
        for i in system.upstream_first() {
            let r = &mut routes[i];
            let branches = system.branches(i).map(|b| (b, highest[b]));
            let outlets = outlets_below(r.prices.cx, &r.grid, branches);
            let joining = |p: usize| outlets.get(&p).copied().unwrap_or(f64::INFINITY);
            cap_levels(r.prices.cx, &mut r.grid, &mut r.runs, joining);
            if let Some(levels) = r.grid.inlets() {
                highest[i] = levels.level(levels.len() - 1);
            }
        }
    }

    /// Nothing lies beyond the first route: a branch on its own may come in at any level.
    fn free(&self) -> Vec<f64> {
        vec![0.0; 2 * self.searched[0].grid.inlets().map_or(0, LevelGrid::len)]
    }

    /// Works out what every branch costs at least, and tells the routes that they join.
    pub fn bound_branches(&mut self) {
        for i in self.system.upstream_first() {
            self.bound_branch(i);
        }
    }

    /// Works out what a branch costs at least, and tells the route that it joins.
    fn bound_branch(&mut self, i: usize) {
        if self.system.members[i].parent.is_some() {
            let r = &mut self.searched[i];
            let least = least_of_all(r.prices.cx, &r.grid, &r.runs, r.bound);
            r.runs.left = least.left;
            r.take_by_inlet(least.arrived);
            r.arrives_one_way = r.away().each.len() == 1;
            self.tell_parent(i);
        }
    }

    /// Tells the route that a branch joins what the branch costs at least, by outlet level at the junction.
    pub fn tell_parent(&mut self, i: usize) {
        let Some(parent) = self.system.members[i].parent else {
            return;
        };
        let (branch, below) = (&self.searched[i], &self.searched[parent]);
        let Some((p, inlets)) = below.grid.junction(i).zip(branch.grid.inlets()) else {
            return;
        };
        let cx = branch.prices.cx;
        let by_outlet = by_outlet(cx, inlets, &branch.by_inlet, &below.grid.positions[p]);
        let away = branch.away();
        let runs = &mut self.searched[parent].runs;
        runs.away.insert(p, away);
        let joining = runs.joining.entry(p).or_default();
        joining.retain(|(b, _)| *b != i);
        joining.push((i, by_outlet));
        joining.sort_by_key(|(b, _)| *b);
        if joining.len() > 1 {
            runs.away.remove(&p);
        }
    }

    /// Leaves of every route the runs that plans for `bound` may have, from the first up. Gives what lies beyond each, what is known
    /// of each cost at least, and the least that a plan costs so.
    pub fn beyond_all(&mut self, bound: f64) -> (Vec<Vec<f64>>, f64) {
        // With so many runs a closer look at each pays: they are looked at again and again. So it does with fewer, where there is room
        // aside of the route, if branches join: what lies beyond those is known better by it.
        const MANY: usize = 10_000;
        let mut all = vec![vec![]; self.searched.len()];
        all[0] = self.free();
        let mut least = f64::INFINITY;
        for i in 0..self.searched.len() {
            let r = &mut self.searched[i];
            if all[i].is_empty() {
                continue; // no pit can stand where it ends
            }
            if bound.is_finite() {
                let relaxed = r.relaxed(&r.runs, &all[i], bound);
                let runs = r.take_runs();
                let few = hopeful(r.prices.cx, &r.grid, runs, &relaxed, bound);
                let is_joined = self.system.branches(i).next().is_some();
                let closer = few.runs.len() > MANY || is_joined && r.grid.is_wide();
                r.runs = match closer {
                    true => squeeze(r.prices.cx, &r.grid, &few, &relaxed, bound),
                    false => few,
                };
            }
            let mut branches = self.system.branches(i).peekable();
            if i == 0 || branches.peek().is_some() {
                let r = &self.searched[i];
                let relaxed = r.relaxed(&r.runs, &all[i], bound);
                if i == 0 {
                    least = relaxed.least_plan(r.prices.cx, &r.grid, &r.runs);
                }
                for b in branches {
                    all[b] = self.beyond_of(b, &relaxed, &r.runs).unwrap_or_default();
                }
            }
        }
        (all, least)
    }

    /// Least cost of the rest of the system by inlet level at the downstream end of a branch, from the bounds of the runs of the
    /// route that it joins.
    pub fn beyond_of(&self, i: usize, below: &Relaxed, runs: &Runs) -> Option<Vec<f64>> {
        let parent = &self.searched[self.system.members[i].parent?];
        let branch = (i, self.searched[i].grid.inlets()?);
        let junction = parent.grid.junction(i)?;
        let cx = parent.prices.cx;
        Some(below.beyond(cx, &parent.grid, runs, junction, branch))
    }
}

/// What a branch costs at least by (its last drive launched at the junction), by outlet level there, from the same by inlet level, one
/// after the other.
pub fn by_outlet(
    cx: &Context,
    inlets: &LevelGrid,
    least: &[f64],
    junction: &Position,
) -> [Vec<f64>; 2] {
    let mut by_outlet = [0, 1].map(|_| Lowered::new(junction.levels.len()));
    for (i, cost) in least.iter().enumerate() {
        let (launched, z) = (i / inlets.len(), i % inlets.len());
        let range = if junction.station == 0 {
            outfall_levels(cx, &junction.levels, inlets.level(z))
        } else {
            outlets(cx, &junction.levels, inlets.level(z))
        };
        by_outlet[launched].lower(range, *cost);
    }
    by_outlet.map(Lowered::into_numbers)
}
