//! What the routes of a tree really cost, from upstream down.
//!
//! A route is searched within a bound that begins near the least that it can cost and grows until a plan is found. For every such
//! search its branches are searched as far as it may need them, and no further: to what the bound leaves for them at every level
//! of the junction. So nothing is left open of a branch but what it may cost beyond that, and a plan found within the bound is
//! the best.

use super::{
    exact::{Branch, Ending, Exact},
    label::SAME_COST,
    relax::{Relaxed, relax},
    runs::Runs,
    solution::{Solved, solution},
    squeeze::squeeze,
    table::Table,
    tree::{Routes, Searched},
};
use std::{collections::BTreeMap, rc::Rc};

/// What strikes cost is worked out for runs of plans that cost so much more than the least, as a share of the route's own cost.
const FIRST: f64 = 0.028;

/// A plan of what is known is sought so much beyond what is looked at in turn, as a share of the route's own cost.
const AHEAD: f64 = 0.03;

/// The same of a route that no branch joins: of such a one nothing is known before it is searched.
const AHEAD_ALONE: f64 = 0.018;

/// Strikes are worked out for levels that cost so much more than is asked for, likewise.
const WIDE: f64 = 0.045;

/// How far beyond the least a route is looked at in turn, as a share of its own cost: each time that is not enough, further.
const SLACKS: [f64; 10] = [
    0.002, 0.0035, 0.006, 0.01, 0.017, 0.03, 0.05, 0.09, 0.16, 0.4,
];

/// The same for a branch at its levels.
const BRANCH_SLACKS: [f64; 5] = [0.003, 0.01, 0.04, 0.15, 0.4];

/// How far beyond the least the best plan of a tree is likely to be, as a share of it.
const LIKELY: f64 = 0.001;

/// Before it is asked for, a branch is searched for no more than what costs so much more than the least, as a share of its own cost.
const ENOUGH: f64 = 0.005;

/// And no further than this, whether anything is found or not: it may be that there is nothing.
const MOST: f64 = 0.05;

/// Runs of a route that a plan within some bound may have, and what is still to come from each of its positions.
struct Few {
    runs: Runs,
    relaxed: Rc<Relaxed>,
    /// The bound.
    upto: f64,
}

impl<'c, 'a> Searched<'c, 'a> {
    /// What is still to come from each position, with these runs.
    pub fn relaxed(&self, runs: &Runs, beyond: &[f64], bound: f64) -> Relaxed {
        relax(self.prices.cx, &self.grid, runs, bound, beyond)
    }

    /// All runs, and leaves none.
    pub fn take_runs(&mut self) -> Runs {
        let none = self.runs.with(vec![], &self.grid);
        std::mem::replace(&mut self.runs, none)
    }

    /// Of some runs those that a plan for `bound` may have, their pits priced by the directions that are left; and whether that
    /// changed any price.
    fn squeezed(&mut self, (runs, relaxed): (&Runs, &Relaxed), bound: f64) -> (Runs, bool) {
        const MANY: usize = 64;
        let mut runs = squeeze(self.prices.cx, &self.grid, runs, relaxed, bound);
        let changed = runs.price_pits(&mut self.prices, &self.grid, MANY);
        (runs, changed)
    }

    /// The same, what is still to come from each position worked out anew where that says more.
    fn fewer(&mut self, few: &Few, beyond: &[f64], bound: f64) -> Few {
        debug_assert!(
            bound <= few.upto,
            "plans are sought among runs that leave some out"
        );
        let (runs, changed) = self.squeezed((&few.runs, &few.relaxed), bound);
        self.left_of(runs, &few.relaxed, changed, (beyond, bound))
    }

    /// Runs that are left, and what is still to come from each position. That is known from before the others were left out, which no
    /// plan for the bound has: by this none became dearer, so it is worked out anew only where some `changed`.
    fn left_of(
        &self,
        runs: Runs,
        before: &Rc<Relaxed>,
        changed: bool,
        (beyond, upto): (&[f64], f64),
    ) -> Few {
        if changed {
            return self.still_to_come(runs, beyond, upto);
        }
        let relaxed = before.clone();
        Few {
            runs,
            relaxed,
            upto,
        }
    }

    /// Of all runs those that a plan for `bound` may have, with what strikes along them and through pits in them cost at least.
    fn worked_out(&mut self, (all, relaxed): (&Runs, Relaxed), beyond: &[f64], bound: f64) -> Few {
        let (mut runs, _) = self.squeezed((all, &relaxed), bound);
        // With all runs it is large.
        drop(relaxed);
        runs.take_strikes(self.prices.cx, &self.grid);
        let relaxed = Rc::new(self.relaxed(&runs, beyond, bound));
        let (mut runs, repriced) = self.squeezed((&runs, &relaxed), bound);
        let with_chains = runs.take_chains(&mut self.prices, &mut self.grid);
        let changed = repriced || with_chains;
        self.left_of(runs, &relaxed, changed, (beyond, bound))
    }

    /// Works out what strikes and through pits cost at least along the runs that the branch may have for these costs at its levels,
    /// and what that tells of it.
    fn work_out(&mut self, to: &[f64]) {
        let (beyond, bound) = beyond_for(to);
        let runs = self.take_runs();
        let relaxed = self.relaxed(&runs, &beyond, bound);
        let few = self.worked_out((&runs, relaxed), &beyond, bound);
        let (few, _) = self.squeezed((&few.runs, &few.relaxed), bound);
        self.runs = runs;
        let least = |z: usize| few.arrived.get(z).copied().unwrap_or(f64::INFINITY);
        self.raise((0..to.len()).map(|z| least(z).min(to[z])).collect());
        self.few = Some((few, to.to_vec()));
    }

    /// What strikes cost is worked out for all plans that cost no more than so much at every level.
    fn covers(&self, to: &[f64]) -> bool {
        let few = self.few.as_ref();
        few.is_some_and(|(_, upto)| to.iter().zip(upto).all(|(to, upto)| to <= upto))
    }

    /// These runs, with what is known of the branches by now.
    fn few_now(&self, beyond: &[f64], bound: f64) -> Option<Few> {
        let (few, _) = self.few.as_ref()?;
        let mut few = few.clone();
        few.joining = self.runs.joining.clone();
        Some(self.still_to_come(few, beyond, bound))
    }

    /// Some runs, with what is still to come from each position.
    fn still_to_come(&self, runs: Runs, beyond: &[f64], upto: f64) -> Few {
        let relaxed = Rc::new(self.relaxed(&runs, beyond, upto));
        Few {
            runs,
            relaxed,
            upto,
        }
    }

    /// The least that a plan with these runs costs, all beyond the route included.
    fn least_of(&self, few: &Few) -> f64 {
        few.relaxed
            .least_plan(self.prices.cx, &self.grid, &few.runs)
    }

    /// Takes what a search of the branch has found: all that costs no more at every level than `to`.
    fn take_found(&mut self, found: Option<Branch>, to: &[f64]) {
        let none = || Table::nothing(&self.grid, to.len());
        let mut table = self.table.take().unwrap_or_else(none);
        table.take(found, to);
        let known = |z: usize| table.least(z).min(table.complete_to[z]);
        self.raise((0..to.len()).map(known).collect());
        self.table = Some(table);
    }

    /// A branch costs at least so much at its levels.
    fn raise(&mut self, least: Vec<f64>) {
        let raised = |(z, least): (usize, f64)| least.max(self.known_at(z));
        self.known = least.into_iter().enumerate().map(raised).collect();
        let by_inlet = std::mem::take(&mut self.by_inlet);
        self.take_by_inlet(by_inlet);
    }

    /// What has still to be found of a branch at a level where it may cost `need`.
    fn open_at(&self, z: usize, need: f64) -> Open {
        if need < self.by_inlet[z] || need.is_nan() {
            return Open::Nothing;
        }
        let Some(table) = &self.table else {
            return Open::Least;
        };
        if need <= table.complete_to[z] {
            return Open::Nothing;
        }
        let is_found = table.least(z) + 2.0 * SAME_COST <= table.complete_to[z];
        let received = z < self.by_inlet.len() / 2;
        match (is_found, received || self.arrives_one_way) {
            (true, true) => Open::Nothing,
            (true, false) => Open::OtherWays,
            (false, _) => Open::Least,
        }
    }
}

/// What has still to be found of a branch at a level.
#[derive(Clone, Copy, PartialEq)]
enum Open {
    /// Nothing, or nothing that matters.
    Nothing,
    /// The least that it costs.
    Least,
    /// What it costs if its last drive is launched in other directions: they turn the junction's pit.
    OtherWays,
}

impl<'s, 'a> Routes<'s, 'a> {
    /// The best plan of those no dearer than `bound`, if there is one.
    pub fn least_within(&mut self, bound: f64) -> Option<Solved> {
        self.allow(bound);
        self.bound_branches();
        let (beyond, least) = self.beyond_all(bound);
        if least > bound || least.is_infinite() {
            return None;
        }
        let more = LIKELY * least;
        let system = self.system;
        for i in system.upstream_first().filter(|i| *i > 0) {
            self.learn_the_least(i, &beyond[i], more, bound)?;
        }
        let ending = self.best(&beyond[0], bound)?;
        Some(solution(system, &self.searched, &self.book, ending))
    }

    /// Searches a branch for what it costs at the levels where, with what lies `beyond`, it costs little `more` than the least that it
    /// can; none where there is nothing for `bound`.
    fn learn_the_least(&mut self, i: usize, beyond: &[f64], more: f64, bound: f64) -> Option<()> {
        let mut more = more.max(SAME_COST);
        loop {
            let r = &self.searched[i];
            let all = r.by_inlet.iter().zip(beyond).map(|(own, rest)| own + rest);
            let least = all.fold(f64::INFINITY, f64::min);
            if least > bound || least.is_infinite() {
                return None;
            }
            let likely = (least + more).min(bound);
            let need: Vec<f64> = beyond.iter().map(|b| likely - b).collect();
            self.learn(i, &need, false);
            let table = self.searched[i].table.as_ref();
            let far = more > MOST * least;
            if table.is_some_and(Table::has_any) || likely >= bound || far {
                return Some(());
            }
            more *= 2.0;
        }
    }

    /// The best plan of the first route with its branches, if it is no dearer than `bound`.
    fn best(&mut self, beyond: &[f64], mut bound: f64) -> Option<Ending> {
        let own = self.own_cost(0);
        let alone = self.system.branches(0).next().is_none();
        let ahead = own * if alone { AHEAD_ALONE } else { AHEAD };
        let r = &mut self.searched[0];
        let mut all = r.take_runs();
        let relaxed = r.relaxed(&all, beyond, bound);
        let mut least = relaxed.least_plan(r.prices.cx, &r.grid, &all);
        let mut upto = (least + SLACKS[0] * own + ahead).min(bound);
        let mut few = r.worked_out((&all, relaxed), beyond, upto);
        let mut searches = 0;
        for slack in SLACKS.into_iter().chain([f64::INFINITY]) {
            let r = &mut self.searched[0];
            // What is known of the branches by now may say more.
            all.joining = r.runs.joining.clone();
            let next = (least + slack * own).min(bound);
            if next > upto {
                upto = (next + ahead).min(bound);
                let relaxed = r.relaxed(&all, beyond, upto);
                few = r.worked_out((&all, relaxed), beyond, upto);
            } else if few.runs.joining != all.joining {
                few.runs.joining = all.joining.clone();
                few = r.still_to_come(few.runs, beyond, upto);
            }
            if !alone {
                few = r.fewer(&few, beyond, upto);
            }
            least = self.raised(least, &few, upto);
            if searches < self.searches && least < upto && upto.is_finite() {
                // With what searches of the branches have found there may be a plan: what costs more is of no use.
                searches = self.searches;
                let steps = self.book.len();
                let known = self.exact(0, &few, upto).and_then(|e| e.search());
                self.book.keep_of(steps, std::iter::empty());
                if let Some(known) = known {
                    bound = bound.min(known.label.cost + 2.0 * SAME_COST);
                    upto = upto.min(bound);
                    few = self.searched[0].fewer(&few, beyond, upto);
                    least = self.raised(least, &few, upto);
                }
            }
            let within = (least + slack * own).min(upto);
            let found = self.with_branches(0, &few, beyond, within);
            let steps = self.book.len();
            let ending = found.and_then(|few| self.exact(0, &few, within)?.search());
            if let Some(ending) = ending.filter(|e| e.label.cost + SAME_COST <= within) {
                return Some(ending);
            }
            self.book.keep_of(steps, std::iter::empty());
            if within == bound {
                return None;
            }
            least = within;
        }
        None
    }

    /// What a plan of the first route costs at least, where these are all runs of plans for `bound`.
    fn raised(&self, least: f64, few: &Few, bound: f64) -> f64 {
        least.max(self.searched[0].least_of(few).min(bound))
    }

    /// Searches a branch for what it costs at every level, as far as it may cost `need` there; unless `all` of that is asked for,
    /// only near the least that it can cost.
    fn learn(&mut self, i: usize, need: &[f64], all: bool) {
        let own = self.own_cost(i);
        for slack in BRANCH_SLACKS.into_iter().chain([f64::INFINITY]) {
            let r = &mut self.searched[i];
            let open: Vec<Open> = (0..need.len()).map(|z| r.open_at(z, need[z])).collect();
            let least_open = open.contains(&Open::Least);
            let enough = slack > ENOUGH && r.table.as_ref().is_some_and(Table::has_any);
            let nothing_open = !least_open && (!all || !open.contains(&Open::OtherWays));
            if nothing_open || !all && (enough || slack > MOST) {
                break;
            }
            let upto = |r: &Searched, slack: f64| -> Vec<f64> {
                let at = |z: usize| match open[z] {
                    Open::Least => (r.by_inlet[z] + slack * own).min(need[z]),
                    Open::OtherWays if all && !least_open => need[z],
                    _ => f64::NEG_INFINITY,
                };
                (0..need.len()).map(at).collect()
            };
            let mut to = upto(r, slack);
            if !r.covers(&to) {
                // More than is asked for now: for what may be asked for next.
                let near = |z: usize| r.by_inlet[z] <= need[z] + WIDE * own;
                let first = |z: usize| match near(z) {
                    true => to[z].max(r.by_inlet[z] + FIRST * own),
                    false => f64::NEG_INFINITY,
                };
                let first: Vec<f64> = (0..need.len()).map(first).collect();
                r.work_out(&first);
                // The least is known better by now, but the runs are those of plans that cost no more than was said.
                let known = upto(r, slack);
                to = known.iter().zip(&first).map(|(to, f)| to.min(*f)).collect();
            }
            debug_assert!(
                r.covers(&to),
                "plans are sought among runs that leave some out"
            );
            let (beyond, bound) = beyond_for(&to);
            let few = r.few_now(&beyond, bound);
            let found = few.and_then(|few| self.with_branches(i, &few, &beyond, bound));
            let steps = self.book.len();
            let mut found = found.and_then(|few| self.exact(i, &few, bound)?.search_branch());
            let arrivals = found.iter_mut().flat_map(|b| &mut b.arrivals);
            self.book
                .keep_of(steps, arrivals.flat_map(|(_, fronts)| fronts));
            self.searched[i].take_found(found, &to);
            self.searches += 1;
        }
        self.tell_parent(i);
    }

    /// What a route costs at least without its branches.
    fn own_cost(&self, i: usize) -> f64 {
        let least = |i: usize| {
            let r = &self.searched[i];
            let of_branch = r.by_inlet.iter().copied().fold(f64::INFINITY, f64::min);
            let with_branches = r.runs.least_total(r.prices.cx, &r.grid);
            if r.by_inlet.is_empty() {
                with_branches
            } else {
                of_branch
            }
        };
        let branches: f64 = self.system.branches(i).map(least).sum();
        (least(i) - branches).max(0.0)
    }

    /// Of some runs of a route those that a plan for `bound` may have, its branches searched as far as that asks; none where
    /// there is no such plan.
    fn with_branches(&mut self, i: usize, few: &Few, beyond: &[f64], bound: f64) -> Option<Few> {
        let mut few = self.searched[i].fewer(few, beyond, bound);
        let system = self.system;
        for b in system.branches(i) {
            if self.searched[i].least_of(&few) > bound {
                return None;
            }
            let beyond_branch = self.beyond_of(b, &few.relaxed, &few.runs)?;
            let need: Vec<f64> = beyond_branch.iter().map(|b| bound - b).collect();
            let is_open = |z: usize| self.searched[b].open_at(z, need[z]) != Open::Nothing;
            if (0..need.len()).any(is_open) {
                self.learn(b, &need, true);
                let r = &mut self.searched[i];
                few.runs.joining = r.runs.joining.clone();
                few = r.still_to_come(few.runs, beyond, bound);
                few = r.fewer(&few, beyond, bound);
            }
        }
        (self.searched[i].least_of(&few) <= bound).then_some(few)
    }

    /// The exact search of a route; its branches have been searched. None where no pit can stand at a junction.
    fn exact<'e>(&'e mut self, i: usize, few: &'e Few, bound: f64) -> Option<Exact<'e, 's, 'a>> {
        let mut branches: BTreeMap<usize, Vec<Rc<Branch>>> = BTreeMap::new();
        for b in self.system.branches(i) {
            let p = self.searched[i].grid.junction(b)?;
            let table = self.searched[b].table.as_ref()?;
            branches.entry(p).or_default().push(table.branch.clone());
        }
        let r = &mut self.searched[i];
        Some(Exact {
            member: i,
            branches,
            prices: &mut r.prices,
            grid: &mut r.grid,
            runs: &few.runs,
            relaxed: &few.relaxed,
            bound,
            book: &mut self.book,
            chains: BTreeMap::new(),
            arrived: vec![],
            left: vec![],
        })
    }
}

/// What lies beyond a branch that may cost so much by inlet level, and a bound to go with it.
fn beyond_for(to: &[f64]) -> (Vec<f64>, f64) {
    let bound = to.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let beyond = |to: &f64| match (to.is_finite(), bound.is_finite()) {
        (true, true) => bound - to,
        (_, false) if *to > f64::NEG_INFINITY => 0.0,
        _ => f64::INFINITY,
    };
    (to.iter().map(beyond).collect(), bound)
}
