//! Leaves out lines that no plan for a bound has, before any run is made of them.
//!
//! With a corridor a route has many times as many lines as pairs of stations. The least costs up to and from every position are worked
//! out as in `arrive` and `relax`, but for all lines of two stations together (`bundle`): what lies beyond one of their ends is moved
//! to the other once, and not once for each line. A bundle costs no more than any of its lines, so what costs more than the bound by
//! these is in no plan for it. Manholes keep their positions: one line begins where the last ends.

use super::{
    arrive::through,
    bundle::Bundles,
    closed::End,
    grid::{Coarse, Grid, LevelGrid},
    highest::{highest_inlet, highest_outlet, outlets_below},
    look::Look,
    pit_levels::least_pit_at,
    pricing::Prices,
    ranges::Ranges,
    relax::{Relaxed, inlet},
    runs::{Pair, Runs, all_pairs, ends, gone_m},
    sketch::Sketch,
    squeeze::{Arrived, leave},
    sweep::{Open, Sweep, Swept},
    tree::by_outlet,
};
use crate::plan::{context::Context, system::System};
use std::rc::Rc;

/// The grid of a route, and the lines that its runs may have.
pub struct Ready {
    grid: Grid,
    sketch: Rc<Sketch>,
    pairs: Vec<Pair>,
}

impl Ready {
    /// All lines between stations that are near enough to each other.
    pub fn new(cx: &Context, coarse: Coarse) -> Ready {
        let mut grid = Grid::new(cx, coarse);
        grid.keep_where_pits_stand(cx);
        Ready {
            sketch: Rc::new(Sketch::new(cx, &grid, gone_m(cx))),
            pairs: all_pairs(cx, &grid),
            grid,
        }
    }

    /// Some manhole may stand aside of the route.
    pub fn is_wide(&self) -> bool {
        self.grid.is_wide()
    }

    /// Its grid and runs.
    pub fn into_runs(self, prices: &mut Prices) -> (Grid, Runs) {
        let runs = Runs::new(prices, &self.grid, &self.sketch, &self.pairs);
        (self.grid, runs)
    }
}

/// Leaves out the lines of every route of a system that no plan for `bound` has. Gives what the rest of the system costs at least
/// beside each route and its branches; none where that leaves no plan.
pub fn thin_out(system: &System, ready: &mut [Ready], bound: f64) -> Option<Vec<f64>> {
    let members = system.members.iter().zip(&*ready);
    let mut routes: Vec<Route> = members.map(|(m, ready)| Route::new(&m.cx, ready)).collect();
    cap_levels(system, &mut routes);
    let free = least_levels_free(system, &mut routes);
    if free[0] > bound {
        return None;
    }
    for i in system.upstream_first() {
        // What a part costs beyond its least is no more than what the bound leaves beyond the least of the whole.
        let least = routes[i].come_down(free[i] + bound - free[0]);
        let (cx, inlets) = (routes[i].cx, routes[i].of.grid.inlets().cloned());
        if let (Some(parent), Some(inlets)) = (system.members[i].parent, inlets) {
            routes[parent].take_branch(cx, i, &inlets, &least);
        }
    }
    leave_out(system, &routes, ready, bound)
}

/// Takes from every grid the levels that are higher than any plan comes.
fn cap_levels(system: &System, routes: &mut [Route]) {
    let mut highest = vec![f64::INFINITY; routes.len()];
    for i in system.upstream_first() {
        let branches = system.branches(i).map(|b| (b, highest[b]));
        let r = &mut routes[i];
        let outlets = outlets_below(r.cx, &r.of.grid, branches);
        r.cap_levels(|p| outlets.get(&p).copied().unwrap_or(f64::INFINITY));
        if let Some(levels) = r.of.grid.inlets() {
            highest[i] = levels.level(levels.len() - 1);
        }
    }
}

/// What every route and its branches cost at least, levels left free.
fn least_levels_free(system: &System, routes: &mut [Route]) -> Vec<f64> {
    let mut free = vec![0.0; routes.len()];
    for i in system.upstream_first() {
        let grid = &routes[i].of.grid;
        let station = |b: usize| grid.junction(b).map(|p| grid.positions[p].station);
        let joining = system
            .branches(i)
            .filter_map(|b| Some((station(b)?, free[b])));
        let joining: Vec<(usize, f64)> = joining.collect();
        let branches = |s: usize| joining.iter().filter(|j| j.0 == s).map(|j| j.1).sum();
        free[i] = routes[i].leave_levels_free(branches);
    }
    free
}

/// The last step of [`thin_out`], from the first route up: what lies upstream of each position is known.
fn leave_out(
    system: &System,
    routes: &[Route],
    ready: &mut [Ready],
    bound: f64,
) -> Option<Vec<f64>> {
    let levels = |r: &Route| r.of.grid.inlets().map_or(0, LevelGrid::len);
    let mut beyond = vec![vec![]; routes.len()];
    beyond[0] = vec![0.0; 2 * levels(&routes[0])];
    let mut rest = vec![0.0; routes.len()];
    for i in 0..routes.len() {
        let Some(least) = beyond[i].iter().copied().reduce(f64::min) else {
            continue; // no pit can stand where it ends
        };
        rest[i] = least;
        let (relaxed, kept) = routes[i].go_up(&beyond[i], bound);
        let (of, cx) = (&routes[i].of, routes[i].cx);
        if i == 0 && relaxed.least_plan(cx, &of.grid, &of.runs) > bound {
            return None;
        }
        for b in system.branches(i) {
            if let Some((p, inlets)) = of.grid.junction(b).zip(routes[b].of.grid.inlets()) {
                beyond[b] = relaxed.beyond(cx, &of.grid, &of.runs, p, (b, inlets));
            }
        }
        ready[i].pairs = kept;
    }
    Some(rest)
}

/// A route by bundles, as far as it is worked out.
struct Route<'c, 'a> {
    cx: &'c Context<'a>,
    of: Bundles,
    /// By station: least cost of its pit, its branches and all that lies downstream, levels left free.
    below: Vec<f64>,
    /// By position; none where nothing comes by.
    left: Vec<Option<Left>>,
}

/// Least cost of all that lies upstream of a position and of its pit.
struct Left {
    /// By (next drive launched there), by outlet level.
    by_level: [Ranges; 2],
    /// At any level.
    least: f64,
}

impl<'c, 'a> Route<'c, 'a> {
    fn new(cx: &'c Context<'a>, ready: &Ready) -> Self {
        let mut prices = Prices::new(cx);
        let of = Bundles::new(&mut prices, &ready.grid, &ready.sketch, &ready.pairs);
        Route {
            cx,
            of,
            below: vec![],
            left: vec![],
        }
    }

    /// Takes from the positions of every station the levels above the highest inlet that any of them can have. `joining` says how high
    /// the outlet of a position may be for the branches that join there.
    fn cap_levels(&mut self, joining: impl Fn(usize) -> f64) {
        let (cx, of) = (self.cx, &mut self.of);
        let mut inlets = vec![f64::NEG_INFINITY; of.at.len()];
        for station in (0..of.at.len()).rev() {
            // Its positions have the same levels, and where branches join there is but one.
            let places = of.at[station].clone();
            let first = places.start;
            if places.is_empty() {
                continue;
            }
            let (is_head, is_outfall) = ends(&of.grid, first);
            if !is_head {
                places.for_each(|p| of.grid.cap(p, inlets[station]));
            }
            if is_outfall {
                continue;
            }
            let outlet = highest_outlet(cx, &of.grid, first, inlets[station]).min(joining(first));
            for b in of.starting_at(station) {
                let inlet = &mut inlets[of.pairs[b].ds];
                *inlet = inlet.max(highest_inlet(cx, &of.runs.runs[b], outlet));
            }
        }
    }

    /// Works out what lies downstream of every station, levels left free. Gives the least cost of the route with its branches, which
    /// cost so much by station.
    fn leave_levels_free(&mut self, branches: impl Fn(usize) -> f64) -> f64 {
        let (cx, of) = (self.cx, &self.of);
        self.below = vec![f64::INFINITY; of.at.len()];
        for station in 0..of.at.len() {
            let pit = |p: usize| {
                let levels = &of.grid.positions[p].levels;
                least_pit_at(cx, &of.grid, &of.runs, p, levels.level(levels.len() - 1))
            };
            let pit = of.at[station]
                .clone()
                .map(pit)
                .fold(f64::INFINITY, f64::min);
            let onward = |b: usize| of.runs.runs[b].least() + self.below[of.pairs[b].ds];
            let onward = of.starting_at(station).into_iter().map(onward);
            let onward = match station {
                0 => 0.0,
                _ => onward.fold(f64::INFINITY, f64::min),
            };
            self.below[station] = pit + branches(station) + onward;
        }
        self.below.last().copied().unwrap_or(f64::INFINITY)
    }

    /// Takes what a branch costs at least by inlet level at its junction.
    fn take_branch(&mut self, cx: &Context, branch: usize, inlets: &LevelGrid, least: &[f64]) {
        if let Some(p) = self.of.grid.junction(branch) {
            let by_outlet = by_outlet(cx, inlets, least, &self.of.grid.positions[p]);
            let joining = self.of.runs.joining.entry(p).or_default();
            joining.push((branch, by_outlet));
            joining.sort_by_key(|(b, _)| *b);
        }
    }

    /// Works out what lies upstream of every position, in no plan dearer than `bound`. Gives the least cost at the downstream end, its
    /// pit left out, by (last drive launched there), then by inlet level, one after the other.
    fn come_down(&mut self, bound: f64) -> Vec<f64> {
        let positions = self.of.grid.positions.len();
        self.left = (0..positions).map(|_| None).collect();
        self.of.runs.above = vec![f64::INFINITY; positions];
        let mut at_end = vec![];
        for station in (0..self.of.at.len()).rev() {
            let all = self.arrive(station, bound);
            for (p, arrived) in self.of.at[station].clone().zip(all) {
                if ends(&self.of.grid, p).1 {
                    at_end = arrived.concat();
                }
                self.leave(p, arrived);
            }
        }
        at_end
    }

    /// Goes on from a position with these costs up to there.
    fn leave(&mut self, p: usize, [received, launched]: [Vec<f64>; 2]) {
        let (cx, of) = (self.cx, &mut self.of);
        let (is_head, is_outfall) = ends(&of.grid, p);
        let least = received.iter().chain(&launched).copied();
        of.runs.above[p] = if is_head {
            0.0
        } else {
            least.fold(f64::INFINITY, f64::min)
        };
        if !is_outfall && !of.runs.is_bare(&of.grid, p) {
            let arrived: Arrived = vec![(1, 0, launched), (0, 0, received)];
            let (mut left, alone) = leave(cx, &of.grid, &of.runs, p, arrived);
            let left = left.pop().expect("directions are of one class");
            if of.runs.joining.get(&p).is_some_and(|of| of.len() == 1) {
                of.runs.left_alone.insert(p, alone);
            }
            let by_level = left.map(|by_level| Ranges::new(&by_level));
            let least = by_level.iter().map(Ranges::least_of_all);
            let least = least.fold(f64::INFINITY, f64::min);
            self.left[p] = Some(Left { by_level, least });
        }
    }

    /// Least costs up to the inlets of the positions of a station, by (last drive launched there), by level; what is in no plan for
    /// `bound` is +inf.
    fn arrive(&self, station: usize, bound: f64) -> Vec<[Vec<f64>; 2]> {
        let (cx, of) = (self.cx, &self.of);
        let Some((places, levels)) = of.places(station) else {
            return vec![];
        };
        let limit = bound - self.below[station];
        let limits = [0, 1].map(|_| vec![limit; levels.len()]);
        let mut out = vec![[0, 1].map(|_| vec![f64::INFINITY; levels.len()]); places.len()];
        let (mut sweep, mut open) = (Sweep::default(), Open::default());
        let mut look = Look::default();
        for b in of.ending_at(station) {
            let (pair, run) = (&of.pairs[b], &of.runs.runs[b]);
            // Most bundles cost too much from most positions, whatever their levels.
            let is_of_use = |left: &&Left| left.least + run.least() <= limit;
            let left = |us: usize| Some((us, self.left[us].as_ref().filter(is_of_use)?));
            let mut from = of.at[pair.us].clone().filter_map(left).peekable();
            let Some((first, _)) = from.peek() else {
                continue;
            };
            let above = &of.grid.positions[*first].levels;
            let window = levels.window(above, run.falls_m(cx));
            if window.is_some() {
                open.take(run, End::Downstream, levels, above);
            }
            let by_sides = run.by_sides();
            for (us, left) in from {
                let left = &left.by_level;
                let to = || (places.clone().zip(0..)).filter(|(p, _)| pair.has(&of.at, [us, *p]));
                match window {
                    Some(window) => {
                        let swept = Swept {
                            cost: [0, 1].map(|l| [0, 1].map(|f: usize| by_sides[f][l])),
                            beyond: [&left[0], &left[1]],
                            window,
                        };
                        sweep.fill(levels, &swept);
                        // What lowers none of them is of no use.
                        let most = greatest(to().map(|(_, i)| &out[i]), levels.len());
                        sweep.close(&swept, &mut open, |l, z, least| {
                            least <= limit && least < most[l][z]
                        });
                    }
                    None => sweep.fill_each(levels, |z| {
                        let mut both = [f64::INFINITY; 2];
                        through(cx, run, left, (above, z, &mut look), &mut both);
                        both
                    }),
                }
                for (_, i) in to() {
                    lower(&mut out[i], &sweep, &limits);
                }
            }
        }
        out
    }

    /// Works out what is still to come from every position, in no plan dearer than `bound`, with the least of the rest of the system
    /// at the downstream end of a branch; and leaves out the lines that no such plan has.
    fn go_up(&self, beyond: &[f64], bound: f64) -> (Relaxed, Vec<Pair>) {
        let (cx, of) = (self.cx, &self.of);
        let mut relaxed = Relaxed::default();
        let mut kept: Vec<Option<Pair>> = vec![None; of.pairs.len()];
        for station in 0..of.at.len() {
            let outlets = self.outlets(station, &relaxed, bound, &mut kept);
            for (p, outlet) in of.at[station].clone().zip(outlets) {
                if of.runs.is_bare(&of.grid, p) {
                    relaxed.push_nothing();
                    continue;
                }
                let outlet = vec![outlet];
                let inlet = match cx.joined && ends(&of.grid, p).1 {
                    true => Relaxed::inlet_of_branch(beyond),
                    false => inlet(cx, &of.grid, &of.runs, &outlet, p),
                };
                relaxed.push(outlet, inlet);
            }
        }
        (relaxed, kept.into_iter().flatten().collect())
    }

    /// Least costs from the outlets of the positions of a station, by (next drive launched there), by level; what costs more than is
    /// left of the bound is +inf.
    fn outlets(
        &self,
        station: usize,
        relaxed: &Relaxed,
        bound: f64,
        kept: &mut [Option<Pair>],
    ) -> Vec<[Vec<f64>; 2]> {
        let (cx, of) = (self.cx, &self.of);
        let Some((places, levels)) = of.places(station) else {
            return vec![];
        };
        let spare = |p: usize, f: usize| {
            let left = self.left[p].as_ref().map(|left| &left.by_level[f]);
            let spare = |z: usize| left.map_or(f64::NEG_INFINITY, |left| bound - left.at(z));
            (0..levels.len()).map(spare).collect()
        };
        let spare = places.clone().map(|p| [spare(p, 0), spare(p, 1)]);
        let spare: Vec<[Vec<f64>; 2]> = spare.collect();
        let most = greatest(spare.iter(), levels.len());
        let greatest_spare = most
            .iter()
            .flatten()
            .copied()
            .fold(f64::NEG_INFINITY, f64::max);
        let mut out = vec![[0, 1].map(|_| vec![f64::INFINITY; levels.len()]); places.len()];
        let (mut sweep, mut open) = (Sweep::default(), Open::default());
        let mut look = Look::default();
        for b in of.starting_at(station) {
            let (pair, run) = (&of.pairs[b], &of.runs.runs[b]);
            let is_of_use = |ds: &usize| run.least() + relaxed.least[*ds] <= greatest_spare;
            let mut to = of.at[pair.ds].clone().filter(is_of_use).peekable();
            let Some(first) = to.peek() else {
                continue;
            };
            let below = &of.grid.positions[*first].levels;
            open.take(run, End::Upstream, levels, below);
            for ds in to {
                match relaxed.sweep(cx, &of.grid, run, [places.start, ds], &mut sweep) {
                    // What is within none of their limits is of no use.
                    Some(swept) => {
                        sweep.close(&swept, &mut open, |f, z, least| least <= most[f][z]);
                    }
                    None => sweep.fill_each(levels, |z| {
                        let mut both = [f64::INFINITY; 2];
                        let at = (z, f64::INFINITY, &mut look);
                        relaxed.through(cx, &of.grid, (run, ds), at, &mut both);
                        both
                    }),
                }
                for (us, i) in places.clone().zip(0..) {
                    if pair.has(&of.at, [us, ds]) && lower(&mut out[i], &sweep, &spare[i]) {
                        let none = || Pair {
                            lines: vec![false; pair.lines.len()],
                            ..*pair
                        };
                        let line = pair.place(&of.at, [us, ds]);
                        kept[b].get_or_insert_with(none).lines[line] = true;
                    }
                }
            }
        }
        out
    }
}

/// The greatest of several costs by (launched at this end), by level.
fn greatest<'v>(of: impl Iterator<Item = &'v [Vec<f64>; 2]>, levels: usize) -> [Vec<f64>; 2] {
    let mut most = [0, 1].map(|_| vec![f64::NEG_INFINITY; levels]);
    for of in of {
        for (most, of) in most.iter_mut().zip(of) {
            for (most, of) in most.iter_mut().zip(of) {
                *most = if of > most { *of } else { *most };
            }
        }
    }
    most
}

/// Lowers costs by (launched at this end), by level, to those of a sweep that are within limits. Says whether any is.
fn lower(out: &mut [Vec<f64>; 2], sweep: &Sweep, limits: &[Vec<f64>; 2]) -> bool {
    let mut within = false;
    for ((out, least), limits) in out.iter_mut().zip(&sweep.least).zip(limits) {
        for ((out, least), limit) in out.iter_mut().zip(least).zip(limits) {
            let least = if least <= limit {
                *least
            } else {
                f64::INFINITY
            };
            within |= least < f64::INFINITY;
            *out = if least < *out { least } else { *out };
        }
    }
    within
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        job::Job,
        plan::{
            bare_site,
            context::World,
            search::{solve::solve, tree::Routes},
        },
        site::Site,
    };
    use std::collections::BTreeSet;

    /// A curved main with a branch, pipes across both.
    fn site() -> Site {
        let mut site = bare_site::site(&[(0.0, 0.0), (20.0, 1.5), (40.0, 1.0), (60.0, -2.0)]);
        let branch = [(5.0, 30.0), (12.0, 18.0), (20.0, 1.5)];
        let mut branch = bare_site::site(&branch).routes.remove(0);
        (branch.route_id, branch.joins) = ("R2".into(), Some("R1".into()));
        site.routes.push(branch);
        let across = [
            (1, 10.0, Some(47.5)),
            (2, 30.0, Some(47.2)),
            (3, 48.0, None),
        ];
        for (fid, x, level) in across {
            let (from, to) = ((x, -9.0), (x + 2.0, 40.0));
            site.services.push(bare_site::main(fid, [from, to], level));
        }
        site
    }

    fn job() -> Job {
        let mut job = bare_site::job();
        (job.search.corridor_m, job.search.corridor_step_m) = (1.0, 0.5);
        job.search.station_step_m = 4.0;
        job
    }

    /// All runs of a system, with what they are certain to pass.
    fn each_run<'s, 'a>(system: &'s System<'a>) -> Routes<'s, 'a> {
        let mut each = Routes::new(system, Coarse::FINEST, f64::INFINITY).expect("it has a plan");
        each.each(|r| {
            r.runs.take_lines(&mut r.prices, &r.grid);
            r.runs.take_profiles(r.prices.cx, &r.grid);
            r.runs.take_courses(r.prices.cx, &r.grid);
        });
        each
    }

    #[test]
    fn no_level_is_left_out_that_runs_by_themselves_have() {
        let (mut site, job) = (site(), job());
        for (fid, x) in (10..).zip([4.0, 22.0, 36.0, 55.0]) {
            let shallow = bare_site::main(fid, [(x, -9.0), (x, 40.0)], Some(48.3));
            site.services.push(shallow);
        }
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0, 1], &[true, true]).expect("it has length");
        let mut each = each_run(&system);
        each.cap_levels();
        let members = system.members.iter();
        let ready: Vec<Ready> = members.map(|m| Ready::new(&m.cx, Coarse::FINEST)).collect();
        let members = system.members.iter().zip(&ready);
        let mut routes: Vec<Route> = members.map(|(m, r)| Route::new(&m.cx, r)).collect();
        let levels =
            |grid: &Grid| -> Vec<usize> { grid.positions.iter().map(|p| p.levels.len()).collect() };
        let all: Vec<Vec<usize>> = routes.iter().map(|r| levels(&r.of.grid)).collect();
        cap_levels(&system, &mut routes);
        let (mut left_out, mut close) = (0, 0);
        for ((route, all), each) in routes.iter().zip(&all).zip(&each.searched) {
            let now = levels(&route.of.grid);
            left_out += all.iter().zip(&now).filter(|(all, now)| now < all).count();
            for (of_all, of_each) in route.of.grid.positions.iter().zip(&each.grid.positions) {
                let highest = [of_all, of_each].map(|p| p.levels.level(p.levels.len() - 1));
                assert!(highest[0] >= highest[1] - 1e-9, "{highest:?}");
                close += usize::from(highest[0] < highest[1] + 0.05);
            }
        }
        assert!(left_out > 20 && close > 10, "{left_out} {close}");
    }

    #[test]
    fn no_line_is_left_out_that_runs_by_themselves_are_not() {
        let (site, job) = (site(), job());
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0, 1], &[true, true]).expect("it has length");
        let best = solve(&system).expect("it has a plan").cost;
        let ends = |routes: &Routes| -> Vec<BTreeSet<(usize, usize)>> {
            let of = routes.searched.iter();
            of.map(|r| r.runs.runs.iter().map(|r| (r.us, r.ds)).collect())
                .collect()
        };
        for more in [1.0, 1.02, 1.1] {
            let bound = best * more + 1e-3;
            let mut each = each_run(&system);
            let all = ends(&each);
            each.settle(bound).expect("it has a plan");
            each.bound_branches();
            each.beyond_all(bound);
            let thinned = Routes::new(&system, Coarse::FINEST, bound).expect("it has a plan");
            for ((by_each, kept), all) in ends(&each).iter().zip(ends(&thinned)).zip(&all) {
                assert!(by_each.is_subset(&kept), "{more}");
                assert!(!by_each.is_empty());
                assert!(
                    more > 1.05 || kept.len() < all.len() / 2,
                    "{} {}",
                    kept.len(),
                    all.len()
                );
            }
        }
        assert!(Routes::new(&system, Coarse::FINEST, 0.8 * best).is_none());
    }
}
