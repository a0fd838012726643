//! The exact least cost of every (position, level), from upstream down.
//!
//! The state of a partial plan is what its continuation depends on: the manhole it has come to, its inlet level,
//! whether the last drive is launched from there, and if so in which direction (it turns the pit). Two partial plans
//! of one state can be continued in the same ways at the same further cost, so only the best are kept.
//!
//! Ways to a state are tried in the order of the least they can cost, and no further once that exceeds the best found.

use super::{
    grid::{Grid, LevelGrid},
    inner::{Chain, Through, through},
    joining::Incoming,
    label::{Book, Front, Label, ROUNDING, RunStep, SAME_COST, Step},
    pit_levels::PitLevels,
    pricing::{DirectionId, PitPrice, Prices},
    relax::{GRADE_TOLERANCE, Relaxed, outfall_levels, outlets, passes},
    runs::{Run, Runs, ends, manhole_prices},
    ways::{Left, Stage, Way},
};
use crate::clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM};
use crate::plan::context::Context;
use geo::Coord;
use std::{
    collections::{BTreeMap, BTreeSet, BinaryHeap},
    ops::Range,
    rc::Rc,
};

/// Stands for "any direction" and for a drive that is not there.
pub const ANY: DirectionId = u32::MAX;

/// How the last drive comes in: launched here (1) or not (0), and the direction up it where that matters.
pub type Arrival = (usize, DirectionId);

/// How a plan ends at the outfall.
#[derive(Debug, Clone, Copy)]
pub struct Ending {
    /// The whole plan.
    pub label: Label,
    /// Outfall position.
    pub position: usize,
    /// Inlet invert there.
    pub invert_m: f64,
}

/// A branch by what it costs at its junction: all its partial plans to there, the junction's pit left out.
#[derive(Debug)]
pub struct Branch {
    /// Inlet inverts at the junction.
    pub levels: LevelGrid,
    /// By the direction away from the junction of its last drive, where that is launched there: by inlet level. A drive that
    /// is received there does not turn the pit: the route's own come before it.
    pub arrivals: Vec<(Option<Coord<f64>>, Vec<Front>)>,
}

impl Branch {
    /// Without any partial plan.
    pub fn nothing(grid: &Grid) -> Branch {
        Branch {
            levels: grid.positions[0].levels.clone(),
            arrivals: vec![],
        }
    }
}

/// A kind of way to the states of a position: along one run, launched in one way.
struct Choice {
    run: usize,
    launched: usize,
    one_drive: bool,
    /// Least cost of the run so.
    least: f64,
}

/// Everything that the exact search of one route works with.
pub struct Exact<'s, 'c, 'a> {
    /// The route's place in the system.
    pub member: usize,
    /// Branches that join, by position.
    pub branches: BTreeMap<usize, Vec<Rc<Branch>>>,
    /// Prices.
    pub prices: &'s mut Prices<'c, 'a>,
    /// The grid.
    pub grid: &'s mut Grid,
    /// Runs.
    pub runs: &'s Runs,
    /// The lower bound.
    pub relaxed: &'s Relaxed,
    /// Plans dearer than this are of no use.
    pub bound: f64,
    /// Steps of the partial plans.
    pub book: &'s mut Book,
    /// Chains made again, by run.
    pub chains: BTreeMap<usize, Rc<Chain>>,
    /// By position: partial plans by arrival, by inlet level.
    pub arrived: Vec<BTreeMap<Arrival, Vec<Front>>>,
    /// By position: partial plans, its pit included, by (launches downstream, direction down), by outlet level.
    pub left: Vec<BTreeMap<Arrival, Left>>,
}

impl<'s, 'c, 'a> Exact<'s, 'c, 'a> {
    /// The best plan, if there is one no dearer than the bound.
    pub fn search(mut self) -> Option<Ending> {
        self.go_down();
        self.end()
    }

    /// The same for a branch: what it costs at its junction.
    pub fn search_branch(mut self) -> Option<Branch> {
        self.go_down();
        let p = (0..self.grid.positions.len()).find(|p| ends(self.grid, *p).1)?;
        let arrivals = std::mem::take(&mut self.arrived[p]).into_iter();
        Some(Branch {
            levels: self.grid.positions[p].levels.clone(),
            arrivals: arrivals
                .map(|((launched, up), fronts)| {
                    let away = (launched == 1).then(|| self.prices.vector(up));
                    (away, fronts)
                })
                .collect(),
        })
    }

    fn go_down(&mut self) {
        let positions = self.grid.positions.iter();
        (self.arrived, self.left) = positions
            .map(|_| (BTreeMap::new(), BTreeMap::new()))
            .unzip();
        // By position: those from which no run goes on beyond it. What is known of these is not asked for any more.
        let mut done: Vec<Vec<usize>> = vec![vec![]; self.grid.positions.len()];
        for (us, from) in self.runs.from.iter().enumerate() {
            let beyond = from.iter().map(|r| self.runs.runs[*r].ds).min();
            done[beyond.unwrap_or(us)].push(us);
        }
        for p in (0..self.grid.positions.len()).rev() {
            if !self.runs.is_bare(self.grid, p) {
                self.arrive(p);
                if !ends(self.grid, p).1 {
                    self.leave(p);
                }
            }
            done[p].iter().for_each(|us| self.left[*us].clear());
        }
    }

    /// Finds the partial plans to every inlet level of a position.
    fn arrive(&mut self, p: usize) {
        let mut choices: BTreeMap<Arrival, Vec<Choice>> = BTreeMap::new();
        for &r in &self.runs.to[p] {
            let run = &self.runs.runs[r];
            for launched in [0, 1] {
                if !self.left[run.us].contains_key(&(launched, run.down)) {
                    continue;
                }
                for (one_drive, arrives, least) in kinds(run, launched) {
                    let of_arrival = choices.entry(self.arrival(run, arrives)).or_default();
                    of_arrival.push(Choice {
                        run: r,
                        launched,
                        one_drive,
                        least,
                    });
                }
            }
        }
        let levels = self.grid.positions[p].levels.len();
        for (arrival, choices) in choices {
            let fronts = (0..levels)
                .map(|z| self.judge(p, arrival, z, &choices).fit())
                .collect();
            self.arrived[p].insert(arrival, fronts);
        }
    }

    /// The cheapest way of a choice from the outlet levels of a range, if the lower bound does not rule it out.
    fn cheapest(&self, choice: &Choice, range: Range<usize>, rest: f64) -> Option<Way> {
        let run = &self.runs.runs[choice.run];
        let left = &self.left[run.us][&(choice.launched, run.down)];
        let (outlet, so_far) = left.cheapest(&range)?;
        let least = so_far + choice.least;
        (least + rest <= self.bound).then_some(Way {
            least,
            run: choice.run,
            outlet,
            launched: choice.launched,
            one_drive: choice.one_drive,
            stage: Stage::Cheapest {
                from: range.start,
                to: range.end,
            },
        })
    }

    /// The direction matters where the pit launches the drive, and at the system's outfall, where no other drive turns the
    /// pit.
    fn arrival(&self, run: &Run, arrives: usize) -> Arrival {
        let is_outfall = ends(self.grid, run.ds).1 && !self.prices.cx.joined;
        (
            arrives,
            if arrives == 1 || is_outfall {
                run.up
            } else {
                ANY
            },
        )
    }

    /// Judges ways in the order of the least they can cost, until that exceeds the best found.
    fn judge(&mut self, p: usize, arrival: Arrival, z: usize, choices: &[Choice]) -> Front {
        let mut front = Front::default();
        let class = self.runs.pits[p].up(arrival.1);
        let rest = self.relaxed.inlet(p, arrival.0, class).at(z);
        if rest > self.bound {
            return front;
        }
        let mut heap = BinaryHeap::new();
        for choice in choices {
            let range = self.outlets_to(choice.run, z);
            heap.extend(self.cheapest(choice, range, rest));
        }
        while let Some(way) = heap.pop() {
            if way.least > front.least() + SAME_COST {
                break;
            }
            if let Stage::Cheapest { from, to } = way.stage {
                let choice = Choice {
                    run: way.run,
                    launched: way.launched,
                    one_drive: way.one_drive,
                    least: least_of(&self.runs.runs[way.run], &way, arrival.0),
                };
                heap.extend(self.cheapest(&choice, from..way.outlet, rest));
                heap.extend(self.cheapest(&choice, way.outlet + 1..to, rest));
            }
            if let Some(next) = self.next_stage(&way, arrival.0, z) {
                let useful = next.least.is_finite() && next.least + rest <= self.bound;
                heap.extend(useful.then_some(next));
                continue;
            }
            let cutoff = (self.bound - rest).min(front.least() + SAME_COST);
            self.follow(way, arrival.0, z, cutoff, &mut front);
        }
        front
    }

    /// Outlet levels from which the grade lets a run come to inlet level `z`.
    fn outlets_to(&self, run: usize, z: usize) -> Range<usize> {
        let run = &self.runs.runs[run];
        let [us, ds] = [run.us, run.ds].map(|p| &self.grid.positions[p].levels);
        let [least, most] = run.falls_m(self.prices.cx);
        us.range(ds.level(z) + least, ds.level(z) + most)
    }

    /// The same way with its least cost worked out further; none where it is as far as that goes. A way that is certain to be
    /// unlawful costs +inf.
    fn next_stage(&mut self, way: &Way, arrives: usize, z: usize) -> Option<Way> {
        let run = &self.runs.runs[way.run];
        let [us, ds] = [run.us, run.ds].map(|p| &self.grid.positions[p].levels);
        let inverts = [us.level(way.outlet), ds.level(z)];
        match way.stage {
            Stage::Cheapest { .. } if !passes(run, inverts, way.one_drive) => Some(Way {
                least: f64::INFINITY,
                stage: Stage::Alone,
                ..*way
            }),
            Stage::Cheapest { .. } => {
                let strikes = run.strikes(inverts[0], [inverts[1]; 2]);
                let besides = if way.one_drive {
                    0.0
                } else {
                    let by = run.with_through_pits(inverts[0], ds, &(z..z + 1));
                    by[way.launched][arrives] - run.multi[way.launched][arrives]
                };
                Some(Way {
                    least: way.least + besides.max(0.0) + strikes,
                    stage: Stage::Alone,
                    ..*way
                })
            }
            Stage::Alone if !way.one_drive => Some(Way {
                least: way.least.max(self.refine(way, arrives, z)),
                stage: Stage::Refined,
                ..*way
            }),
            _ => None,
        }
    }

    /// Where the through pits of a run may stand, and its end there; made again where there was no room to keep it.
    fn chain(&mut self, r: usize) -> Option<(Rc<Chain>, usize)> {
        const KEPT: usize = 200;
        let run = &self.runs.runs[r];
        if run.chain.is_some() || run.least_multi().is_infinite() {
            return run.chain.clone();
        }
        if self.chains.len() >= KEPT && !self.chains.contains_key(&r) {
            self.chains.clear();
        }
        let chain = match self.chains.get(&r) {
            Some(known) => known.clone(),
            None => Rc::new(Chain::new(self.prices, self.grid, run)),
        };
        self.chains.insert(r, chain.clone());
        let end = chain.end();
        Some((chain, end))
    }

    /// The partial plans that a way goes on from.
    fn before(&self, way: &Way) -> &Front {
        let run = &self.runs.runs[way.run];
        self.left[run.us][&(way.launched, run.down)].at(way.outlet)
    }

    /// Least cost of a way with through pits, with these at their depths.
    fn refine(&mut self, way: &Way, arrives: usize, z: usize) -> f64 {
        let run = &self.runs.runs[way.run];
        let Some((chain, end)) = self.chain(way.run) else {
            return f64::INFINITY;
        };
        let [us, ds] = [run.us, run.ds].map(|p| &self.grid.positions[p]);
        let inverts = [us.levels.level(way.outlet), ds.levels.level(z)];
        if self
            .prices
            .certain_clash(self.grid, [us.node, ds.node], inverts)
        {
            return f64::INFINITY;
        }
        let before = self.before(way).least();
        if self.several(run, way.launched, arrives) + before >= way.least {
            // The least that one through pit costs is worked out already.
            return way.least;
        }
        let strikes = run.strikes(inverts[0], [inverts[1]; 2]);
        before + strikes + chain.least_at(self.prices.cx, end, inverts, way.launched)[arrives]
    }

    /// Least cost of a run with several through pits.
    fn several(&self, run: &Run, launched: usize, arrives: usize) -> f64 {
        let through = run.through.as_ref();
        through.map_or(0.0, |t| t.several()[launched][arrives])
    }

    fn follow(&mut self, way: Way, arrives: usize, z: usize, cutoff: f64, front: &mut Front) {
        let run = &self.runs.runs[way.run];
        let levels = [run.us, run.ds].map(|p| &self.grid.positions[p].levels);
        let inverts = [levels[0].level(way.outlet), levels[1].level(z)];
        let grade = (inverts[0] - inverts[1]) / run.length_m;
        let allowed = self.prices.cx.grade;
        if grade < allowed[0] - GRADE_TOLERANCE || grade > allowed[1] + GRADE_TOLERANCE {
            return;
        }
        let before = self.before(&way).clone();
        let onward = if way.one_drive {
            self.one_drive(run, inverts, way.launched)
                .into_iter()
                .collect()
        } else {
            self.with_through_pits(way, z, arrives, cutoff - before.least())
        };
        for label in before.labels() {
            for t in &onward {
                self.add(front, label, run, inverts, t);
            }
        }
    }

    fn add(
        &mut self,
        front: &mut Front,
        label: &Label,
        run: &Run,
        inverts: [f64; 2],
        onward: &Through,
    ) {
        let station = self.grid.positions[run.us].station;
        let step = self.book.note(Step::Run(RunStep {
            member: self.member as u32,
            before: label.step,
            positions: [run.us, run.ds].map(|p| p as u32),
            chainage_m: self.grid.stations[station].chainage_m,
            inverts,
            through: onward.through.as_slice().into(),
            from_downstream: onward.ends_launched,
        }));
        let next = Label {
            cost: label.cost + onward.cost,
            pits: label.pits + onward.pits,
            depth_m: label.depth_m + onward.depth_m,
            offset_m: label.offset_m,
            from_downstream: label.from_downstream + onward.from_downstream,
            step: Some(step),
        };
        if !front.insert(next, self.book) {
            self.book.strike_out_last();
        }
    }

    fn one_drive(&mut self, run: &Run, inverts: [f64; 2], launched: usize) -> Option<Through> {
        let nodes = [run.us, run.ds].map(|p| self.grid.positions[p].node);
        let side = if launched == 1 {
            FROM_UPSTREAM
        } else {
            FROM_DOWNSTREAM
        };
        let cost = self.prices.judge(self.grid, nodes, inverts, side)?;
        Some(Through {
            cost,
            pits: 0,
            depth_m: 0.0,
            from_downstream: u32::from(launched == 0),
            through: vec![],
            ends_launched: launched == 0,
        })
    }

    fn with_through_pits(
        &mut self,
        way: Way,
        z: usize,
        arrives: usize,
        cutoff: f64,
    ) -> Vec<Through> {
        let run = &self.runs.runs[way.run];
        let Some((chain, end)) = self.chain(way.run) else {
            return vec![];
        };
        let levels = [run.us, run.ds].map(|p| &self.grid.positions[p].levels);
        let inverts = [levels[0].level(way.outlet), levels[1].level(z)];
        let mut limits = [f64::NEG_INFINITY; 2];
        limits[arrives] = cutoff;
        let several = self.several(run, way.launched, arrives) <= cutoff;
        std::mem::take(
            &mut through(
                self.prices,
                self.grid,
                (&chain, end),
                inverts,
                (way.launched == 1, several),
                limits,
            )[arrives],
        )
    }

    /// Builds the pit of a position for every way to leave it.
    fn leave(&mut self, p: usize) {
        let downs: BTreeSet<DirectionId> = self.runs.from[p]
            .iter()
            .map(|r| self.runs.runs[*r].down)
            .collect();
        let levels = self.grid.positions[p].levels.clone();
        let node = self.grid.positions[p].node;
        let offset_m = self.grid.nodes[node as usize].offset_m;
        let manhole = manhole_prices(self.prices.cx, self.grid, p);
        let ways = downs.into_iter().flat_map(|down| [(0, down), (1, down)]);
        let mut out: Vec<(Arrival, Vec<Front>)> = ways
            .map(|way| (way, vec![Front::default(); levels.len()]))
            .collect();
        let own = self.of_route(p);
        let lower = |cx: &Context, z: f64| outlets(cx, &levels, z);
        let most = self.most_by_level(p);
        let leaving = |exact: &mut Self, (up, fronts): &Incoming| {
            for ((launched, down), out) in &mut out {
                let drives = [&[(*down, *launched == 1)], &up[..]].concat();
                let Some(price) = exact.prices.pit(exact.grid, node, &drives) else {
                    continue;
                };
                let class = exact.runs.pits[p].down(*down);
                for (z, front) in fronts.iter().enumerate().filter(|(_, f)| !f.is_empty()) {
                    let rest = exact.relaxed.outlet(p, class, *launched, z);
                    let Some((cost, depth_m)) = price.at(levels.level(z)) else {
                        continue;
                    };
                    let cost = cost + manhole(levels.level(z));
                    let within = |l: &&Label| l.cost + cost + rest <= exact.bound;
                    for label in front.labels().iter().filter(within) {
                        out[z].insert(label.with_pit(cost, depth_m, offset_m), exact.book);
                    }
                }
            }
        };
        self.each_coming_in(p, own, lower, &most, leaving);
        let left = out
            .into_iter()
            .map(|(way, fronts)| (way, Left::new(fronts)));
        self.left[p].extend(left.filter_map(|(way, left)| Some((way, left?))));
    }

    /// Partial plans of the route itself to a position by outlet level.
    fn of_route(&mut self, p: usize) -> Vec<Incoming> {
        let levels = self.grid.positions[p].levels.clone();
        if ends(self.grid, p).0 {
            return vec![(vec![], vec![Front::of(Label::NOTHING); levels.len()])];
        }
        let arrived = std::mem::take(&mut self.arrived[p]).into_iter();
        arrived
            .map(|((launched, up), fronts)| {
                let drive = (up != ANY).then_some((up, launched == 1));
                (drive.into_iter().collect(), self.lowered(&levels, fronts))
            })
            .collect()
    }

    /// What all that comes in at a position may cost by outlet level, that a plan for the bound may come of it.
    fn most_by_level(&self, p: usize) -> Vec<f64> {
        let pit = PitLevels::new(self.prices.cx, self.grid, self.runs, p).least();
        let onward = self.relaxed.least_outlets(p).into_iter().zip(pit);
        onward
            .map(|(onward, pit)| self.bound - (onward + pit) + ROUNDING)
            .collect()
    }

    /// From partial plans by inlet level to the same by outlet level.
    fn lowered(&self, levels: &LevelGrid, fronts: Vec<Front>) -> Vec<Front> {
        let range = |inlet: usize| outlets(self.prices.cx, levels, levels.level(inlet));
        lowered(levels.len(), &fronts, range, self.book)
    }

    /// Builds the pit at the outfall and takes the best.
    fn end(&mut self) -> Option<Ending> {
        let mut endings = vec![];
        let mut front = Front::default();
        for p in 0..self.grid.positions.len() {
            if !ends(self.grid, p).1 {
                continue;
            }
            let levels = self.grid.positions[p].levels.clone();
            let node = self.grid.positions[p].node;
            let offset_m = self.grid.nodes[node as usize].offset_m;
            let manhole = manhole_prices(self.prices.cx, self.grid, p);
            let arrived = std::mem::take(&mut self.arrived[p]).into_iter();
            let own = arrived.map(|((launched, up), fronts)| (vec![(up, launched == 1)], fronts));
            // No drop is needed here, but nothing comes in below what goes out.
            let lower = |cx: &Context, z: f64| outfall_levels(cx, &levels, z);
            let most = vec![self.bound + ROUNDING; levels.len()];
            let ending = |exact: &mut Self, (drives, fronts): &Incoming| {
                let price = if exact.prices.cx.joined {
                    Some(PitPrice::NOTHING) // a branch on its own: the pit is not its
                } else {
                    exact.prices.pit(exact.grid, node, drives)
                };
                let Some(price) = price else {
                    return;
                };
                for (z, f) in fronts.iter().enumerate() {
                    let invert_m = levels.level(z);
                    let Some((cost, depth_m)) = price.at(invert_m) else {
                        continue;
                    };
                    let cost = cost + manhole(invert_m);
                    for label in f.labels() {
                        let label = label.with_pit(cost, depth_m, offset_m);
                        if front.insert(label, exact.book) {
                            endings.push(Ending {
                                label,
                                position: p,
                                invert_m,
                            });
                        }
                    }
                }
            };
            self.each_coming_in(p, own.collect(), lower, &most, ending);
        }
        let best = front.best(self.book)?;
        endings.into_iter().find(|e| e.label == best)
    }
}

/// From partial plans by inlet level to the same by outlet level; `range` gives the outlets of an inlet, both of its ends rising
/// with the inlet.
pub fn lowered(
    levels: usize,
    fronts: &[Front],
    range: impl Fn(usize) -> Range<usize>,
    book: &Book,
) -> Vec<Front> {
    let mut out = vec![Front::default(); levels];
    // From the highest inlet down: where nothing bounds a drop, what came in higher goes on with what comes in now.
    let mut all = Front::default();
    let mut done = levels;
    for (inlet, front) in fronts
        .iter()
        .enumerate()
        .rev()
        .filter(|(_, f)| !f.is_empty())
    {
        let range = range(inlet);
        if range.start > 0 {
            // A drop is bounded, or there is none.
            for outlet in range {
                front.labels().iter().for_each(|l| {
                    out[outlet].insert(*l, book);
                });
            }
            continue;
        }
        out[range.end.min(done)..done]
            .iter_mut()
            .for_each(|o| o.take(&all, book));
        done = range.end.min(done);
        front.labels().iter().for_each(|l| {
            all.insert(*l, book);
        });
    }
    out[..done].iter_mut().for_each(|o| o.take(&all, book));
    out
}

/// The kinds of ways along a run: as one drive, and with through pits; whether the last drive is launched from the
/// downstream manhole; and the least cost.
fn kinds(run: &Run, launched: usize) -> impl Iterator<Item = (bool, usize, f64)> {
    let side = if launched == 1 {
        FROM_UPSTREAM
    } else {
        FROM_DOWNSTREAM
    };
    let one = (true, 1 - launched, run.single[side]);
    let multi = run.multi[launched];
    [one, (false, 0, multi[0]), (false, 1, multi[1])]
        .into_iter()
        .filter(|k| k.2.is_finite())
}

/// Least cost of the run of a way, whatever its levels.
fn least_of(run: &Run, way: &Way, arrives: usize) -> f64 {
    if way.one_drive {
        run.single[1 - way.launched]
    } else {
        run.multi[way.launched][arrives]
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outlets_have_the_cheapest_of_the_inlets_that_may_lead_to_them() {
        const LEVELS: usize = 12;
        let book = Book::new(vec![0]);
        let cost = |z: usize| [7.0, f64::INFINITY, 3.0, 5.0, 4.0, f64::INFINITY, 6.0][z % 7];
        let front = |z: usize| match cost(z).is_finite() {
            true => Front::of(Label {
                cost: cost(z) + z as f64 / 100.0,
                ..Label::NOTHING
            }),
            false => Front::default(),
        };
        let fronts: Vec<Front> = (0..LEVELS).map(front).collect();
        for drop in [0, 1, 3] {
            for most in [2, 4, LEVELS] {
                let range = |z: usize| {
                    let end = (z + 1).saturating_sub(drop);
                    z.saturating_sub(most).min(end)..end
                };
                let out = lowered(LEVELS, &fronts, range, &book);
                for (outlet, out) in out.iter().enumerate() {
                    let from = (0..LEVELS).filter(|z| range(*z).contains(&outlet));
                    let least = from.map(|z| fronts[z].least());
                    assert_eq!(
                        out.least(),
                        least.fold(f64::INFINITY, f64::min),
                        "{drop} {most}"
                    );
                }
            }
        }
    }
}
