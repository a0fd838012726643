//! Straight runs between manhole positions, and lower bounds that leave levels out.

use super::{
    course::{Band, Course},
    grid::{Grid, LevelGrid, NodeId, Position},
    inner::{Chain, LeastCosts},
    least_pit::anywhere,
    least_through::{BySides, Deeper, LeastThrough, NEVER, greater},
    meeting::Meetings,
    pricing::{DirectionId, Prices, cover_profile, may_launch},
};
use crate::{
    alignment::Profile,
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    cost::{bore_cost, manhole_cost},
    job::UnknownDepth,
    plan::context::Context,
};
use std::{
    collections::{BTreeMap, BTreeSet},
    ops::Range,
    rc::Rc,
};

/// Route points nearer than this to a chord lie on it, whatever the corridor (m).
pub const ON_CHORD_M: f64 = 0.01;

/// A straight run from one manhole position to another.
#[derive(Debug, Clone)]
pub struct Run {
    /// Upstream manhole.
    pub us: usize,
    /// Downstream manhole.
    pub ds: usize,
    /// Plan length (m).
    pub length_m: f64,
    /// Direction looking downstream.
    pub down: DirectionId,
    /// Direction looking upstream.
    pub up: DirectionId,
    /// Highest inverts along it as one drive, by distance from upstream; none before they are needed.
    pub profile: Option<Profile>,
    /// Least cost as one drive, by launch side; +inf where that cannot be.
    pub single: [f64; 2],
    /// Least cost with through pits, these included, by (first drive launched from the upstream manhole, last drive
    /// launched from the downstream one); +inf where that cannot be.
    pub multi: BySides,
    /// The same by levels, where it is worked out.
    pub through: Option<LeastThrough>,
    /// Class of its direction at the upstream manhole, and of the direction up it at the downstream one.
    pub classes: [usize; 2],
    /// Where its through pits may stand, and its downstream manhole's place there.
    pub chain: Option<(Rc<Chain>, usize)>,
    /// Share of the way downstream, and an invert clashes there for certain strictly between these levels.
    pub bands: Vec<(f64, Band)>,
}

impl Run {
    /// Least cost of the run however it is driven.
    pub fn least(&self) -> f64 {
        self.single[0].min(self.single[1]).min(self.least_multi())
    }

    /// Least cost with through pits.
    pub fn least_multi(&self) -> f64 {
        self.multi
            .iter()
            .flatten()
            .copied()
            .fold(f64::INFINITY, f64::min)
    }

    /// Takes what the line is certain to pass.
    fn take_course(&mut self, cx: &Context, course: &Course) {
        let passed = course
            .bands
            .iter()
            .filter(|b| b.along_m <= self.length_m + 1e-9);
        self.bands = passed
            .map(|b| ((b.along_m / self.length_m).min(1.0), *b))
            .collect();
        let holes = course.holes(0.0, self.length_m);
        if holes == 0 {
            return;
        }
        // Whatever the drives, each service too near the line is too near one of them.
        let cost = if cx.job().rules.unknown_depth == UnknownDepth::Avoid {
            f64::INFINITY
        } else {
            holes as f64 * cx.job().costs.test_hole
        };
        self.single = self.single.map(|s| s + cost);
        self.multi = self.multi.map(|of| of.map(|m| m + cost));
    }

    fn take_chain(
        &mut self,
        cx: &Context,
        grid: &Grid,
        chain: &Rc<Chain>,
        place: usize,
        costs: LeastCosts,
    ) {
        let pits = ((self.length_m - LENGTH_TOLERANCE_M) / cx.reach.m).ceil() - 1.0;
        // What is ruled out already stays so.
        self.multi = greater(&self.multi, &costs.any);
        let single = chain.least_single(place);
        self.single = self.single.map(|s| s.max(single));
        let deeper = chain.least_rates(place).map(|rates| Deeper {
            any: chain.highest(cx, grid, place),
            rates,
            shallowest_m: cx.invert_depth_m + cx.job().rig.axis_height_m,
            pits: pits.max(2.0),
        });
        let places = chain.only_pits(cx, grid, place);
        self.through = Some(LeastThrough::new(cx, places, costs.several, deeper));
        self.chain = Some((chain.clone(), place));
    }

    /// Works out the highest inverts along the run as one drive; without ground all along it cannot be one.
    fn take_profile(&mut self, cx: &Context, grid: &Grid) {
        if self.single.iter().all(|c| c.is_infinite()) {
            return;
        }
        let ends = [self.us, self.ds].map(|p| grid.point(grid.positions[p].node));
        self.profile = cover_profile(cx, ends, self.length_m);
        if self.profile.is_none() {
            self.single = [f64::INFINITY; 2];
        }
    }

    /// Least costs with through pits from outlet level `z` to the inlet levels of a range.
    pub fn with_through_pits(&self, z: f64, levels: &LevelGrid, range: &Range<usize>) -> BySides {
        match &self.through {
            Some(through) => {
                greater(&self.multi, &through.over(z, levels, range, self.length_m))
            }
            None => self.multi,
        }
    }
}

/// All runs that may be part of a plan no dearer than the bound.
#[derive(Debug, Clone)]
pub struct Runs {
    /// The runs.
    pub runs: Vec<Run>,
    /// Runs by upstream position.
    pub from: Vec<Vec<usize>>,
    /// Runs by downstream position.
    pub to: Vec<Vec<usize>>,
    /// Least pit prices by position.
    pub pits: Vec<Meetings>,
    /// Least cost of the branches that join at a position, levels left free, by position.
    pub branches: Vec<f64>,
    /// The same with levels, where it is worked out: by position, every branch (its place in the system) by outlet level.
    pub joining: BTreeMap<usize, Vec<(usize, Vec<f64>)>>,
    /// Least cost of all that lies upstream of a position, its pit left out.
    pub above: Vec<f64>,
    /// Least cost of a position's pit and all that lies downstream.
    pub below: Vec<f64>,
    /// Least cost of all that lies upstream of a position and of its pit, by outlet level; empty before it is worked out.
    pub left: Vec<Vec<f64>>,
}

/// Every pair of positions whose chord the route allows, with closed-form least costs.
fn bare_runs(prices: &mut Prices, grid: &mut Grid) -> Vec<Run> {
    let cx = prices.cx;
    let search = &cx.job().search;
    let spacing_m = cx.job().rules.manhole_spacing_m + LENGTH_TOLERANCE_M;
    let corridor_m = search.corridor_m.max(ON_CHORD_M) + LENGTH_TOLERANCE_M;
    let mut out = vec![];
    let first_of: Vec<usize> = (0..=grid.stations.len())
        .map(|s| grid.positions.partition_point(|p| p.station < s))
        .collect();
    for us_station in 1..grid.stations.len() {
        for ds_station in (0..us_station).rev() {
            let [s, t] = [us_station, ds_station].map(|i| grid.stations[i]);
            // A chord stays within the spacing of its start and the route within the corridor of the chord:
            // once the route has left that circle, no station beyond can be reached.
            let gone = (s.point - t.point).x.hypot((s.point - t.point).y);
            if gone > spacing_m + 2.0 * (corridor_m + search.corridor_m) {
                break;
            }
            // A run ends at the first junction: there is a manhole.
            if ds_station + 1 < us_station && !grid.branches(ds_station + 1).is_empty() {
                break;
            }
            for us in first_of[us_station]..first_of[us_station + 1] {
                for ds in first_of[ds_station]..first_of[ds_station + 1] {
                    let nodes = [grid.positions[us].node, grid.positions[ds].node];
                    let length_m = grid.distance_m(nodes[0], nodes[1]);
                    let [p, q] = nodes.map(|n| grid.point(n));
                    if length_m > spacing_m
                        || length_m < LENGTH_TOLERANCE_M
                        || cx.alignment.strays_from(&s, &t, p, q) > corridor_m
                    {
                        continue;
                    }
                    let run = bare_run(prices, grid, [us, ds], nodes, length_m);
                    out.push(run);
                }
            }
        }
    }
    out
}

fn bare_run(
    prices: &mut Prices,
    grid: &Grid,
    [us, ds]: [usize; 2],
    nodes: [NodeId; 2],
    length_m: f64,
) -> Run {
    let cx = prices.cx;
    let within = length_m <= cx.reach.m + LENGTH_TOLERANCE_M;
    let single = if within {
        bore_cost(cx.job(), length_m)
    } else {
        f64::INFINITY
    };
    let has_room = grid.positions[us].station > grid.positions[ds].station + 1;
    Run {
        us,
        ds,
        length_m,
        down: prices.direction(grid, nodes[0], nodes[1]),
        up: prices.direction(grid, nodes[1], nodes[0]),
        profile: None,
        single: [FROM_UPSTREAM, FROM_DOWNSTREAM].map(|s| {
            if may_launch(cx, s) {
                single
            } else {
                f64::INFINITY
            }
        }),
        multi: if has_room {
            [[least_with_through_pits(cx, length_m); 2]; 2]
        } else {
            NEVER
        },
        through: None,
        classes: [0; 2],
        chain: None,
        bands: vec![],
    }
}

/// Drives and through pits of a run with as few through pits as the reach allows (at least one), each pit as small
/// and shallow and on as cheap a surface as there may be: more pits cost more.
fn least_with_through_pits(cx: &Context, length_m: f64) -> f64 {
    let job = cx.job();
    let drives = ((length_m - LENGTH_TOLERANCE_M) / cx.reach.m)
        .ceil()
        .max(2.0);
    let pit_cost = anywhere(cx).cost(cx.invert_depth_m + job.rig.axis_height_m);
    bore_cost(job, length_m) + (drives - 1.0) * (bore_cost(job, 0.0) + pit_cost)
}

impl Runs {
    /// Every run that the route's line allows, with closed-form least costs.
    pub fn new(prices: &mut Prices, grid: &mut Grid) -> Runs {
        let mut all = Runs {
            runs: bare_runs(prices, grid),
            from: vec![],
            to: vec![],
            pits: vec![],
            branches: vec![0.0; grid.positions.len()],
            joining: BTreeMap::new(),
            above: vec![],
            below: vec![],
            left: vec![],
        };
        all.index(grid.positions.len());
        all.price_pits(prices, grid, 4);
        all
    }

    /// Least cost of the branches that join at a position with its outlet at level `z`.
    pub fn joining_at(&self, position: usize, z: usize) -> f64 {
        match self.joining.get(&position) {
            Some(branches) => branches.iter().map(|(_, by_level)| by_level[z]).sum(),
            None => self.branches[position],
        }
    }

    /// No way to build the route is cheaper, its branches included; the downstream pit of a branch is not.
    pub fn least_total(&self, cx: &Context, grid: &Grid) -> f64 {
        let outfalls = (0..grid.positions.len()).filter(|p| ends(grid, *p).1);
        let totals = outfalls.map(|p| self.above[p] + self.cheapest_pit(cx, grid, p));
        totals.fold(f64::INFINITY, f64::min)
    }

    /// Works out the highest inverts along every run as one drive.
    pub fn take_profiles(&mut self, cx: &Context, grid: &Grid) {
        for run in &mut self.runs {
            run.take_profile(cx, grid);
        }
    }

    fn index(&mut self, positions: usize) {
        self.from = vec![vec![]; positions];
        self.to = vec![vec![]; positions];
        for (i, r) in self.runs.iter().enumerate() {
            self.from[r.us].push(i);
            self.to[r.ds].push(i);
        }
    }

    /// Works out the least pit prices of every position, with at most `many` pairs of directions told apart.
    ///
    /// Fewer runs leave fewer ways for drives to meet, and so less that has to be left open.
    pub fn price_pits(&mut self, prices: &mut Prices, grid: &Grid, many: usize) {
        let apart = |of: &[usize], direction: fn(&Run) -> DirectionId| {
            let all: BTreeSet<DirectionId> = of.iter().map(|r| direction(&self.runs[*r])).collect();
            all.into_iter().collect::<Vec<_>>()
        };
        let at = |p: usize| {
            let (is_head, is_outfall) = ends(grid, p);
            if self.from[p].is_empty() && !is_outfall || self.to[p].is_empty() && !is_head {
                return Meetings::default();
            }
            let directions = (
                apart(&self.from[p], |r| r.down),
                apart(&self.to[p], |r| r.up),
            );
            Meetings::new(prices, grid, p, directions, many)
        };
        self.pits = (0..grid.positions.len()).map(at).collect();
        for run in &mut self.runs {
            run.classes = [
                self.pits[run.us].down(run.down),
                self.pits[run.ds].up(run.up),
            ];
        }
    }

    /// Least cost above and below every position with levels left out: dynamic programming over the runs,
    /// every pit at its cheapest.
    pub fn bound_levels_free(&mut self, cx: &Context, grid: &Grid) {
        let n = grid.positions.len();
        let pit: Vec<f64> = (0..n).map(|p| self.cheapest_pit(cx, grid, p)).collect();
        let last = grid.stations.len() - 1;
        let at = |station: usize, p: usize| grid.positions[p].station == station;
        self.above = (0..n)
            .map(|p| if at(last, p) { 0.0 } else { f64::INFINITY })
            .collect();
        self.below = (0..n)
            .map(|p| if at(0, p) { pit[p] } else { f64::INFINITY })
            .collect();
        for p in (0..n).rev() {
            for &r in &self.to[p] {
                let run = &self.runs[r];
                self.above[p] = self.above[p].min(self.above[run.us] + pit[run.us] + run.least());
            }
        }
        for (p, pit) in pit.iter().enumerate() {
            for &r in &self.from[p] {
                let run = &self.runs[r];
                self.below[p] = self.below[p].min(pit + run.least() + self.below[run.ds]);
            }
        }
    }

    fn cheapest_pit(&self, cx: &Context, grid: &Grid, p: usize) -> f64 {
        let levels = &grid.positions[p].levels;
        let highest = levels.level(levels.len() - 1);
        let manhole = manhole_price(cx, grid, p, highest);
        manhole + self.branches[p] + self.pits[p].least_at(highest)
    }

    /// Drops runs that no way of driving them allows.
    pub fn drop_hopeless(&mut self, grid: &Grid) {
        self.runs.retain(|r| r.least().is_finite());
        self.index(grid.positions.len());
    }

    /// Works out what every run is certain to pass. Runs from one manhole along one line share a course.
    pub fn take_courses(&mut self, cx: &Context, grid: &Grid) {
        self.along_lines(grid, |runs, longest, shared| {
            let ends = [runs[longest].us, runs[longest].ds];
            let [p, q] = ends.map(|p| grid.point(grid.positions[p].node));
            let course = Course::new(cx, p, q);
            for &r in shared {
                runs[r].take_course(cx, &course);
            }
        });
    }

    /// Replaces closed-form costs with through pits by those of the cheapest drives and through pits along the line, each
    /// pit as shallow as its place allows, drives at any level. Runs from one manhole along one line share a chain.
    ///
    /// Chains are kept while there is room; a run whose chain is not kept has it made again when it is needed.
    pub fn take_chains(&mut self, prices: &mut Prices, grid: &mut Grid) {
        const ROOM: usize = 10_000_000;
        let mut kept = 0;
        for p in 0..grid.positions.len() {
            let with_pits = |r: &&usize| self.runs[**r].least_multi().is_finite();
            let mut rest: Vec<usize> = self.from[p].iter().filter(with_pits).copied().collect();
            rest.sort_by(|a, b| self.runs[*b].length_m.total_cmp(&self.runs[*a].length_m));
            while let Some(&longest) = rest.first() {
                let chain = Rc::new(Chain::new(prices, grid, &self.runs[longest]));
                let down = self.runs[longest].down;
                let costs = chain.least_costs(prices.cx, grid);
                kept += chain.size();
                rest.retain(|&r| {
                    let run = &mut self.runs[r];
                    let node = grid.positions[run.ds].node;
                    let shared = || chain.place_of(grid, node).filter(|_| run.down == down);
                    let place = if r == longest {
                        Some(chain.end())
                    } else {
                        shared()
                    };
                    if let Some(place) = place {
                        run.take_chain(prices.cx, grid, &chain, place, costs[place]);
                        if kept > ROOM {
                            run.chain = None;
                        }
                    }
                    place.is_none()
                });
            }
        }
    }

    /// Hands over the runs of every line from one manhole: the longest, and all of them.
    fn along_lines(&mut self, grid: &Grid, mut hand: impl FnMut(&mut [Run], usize, &[usize])) {
        for p in 0..grid.positions.len() {
            let mut rest: Vec<usize> = self.from[p].clone();
            rest.sort_by(|a, b| self.runs[*b].length_m.total_cmp(&self.runs[*a].length_m));
            while let Some(&longest) = rest.first() {
                let down = self.runs[longest].down;
                let (line, others) = rest.iter().partition(|r| self.runs[**r].down == down);
                let line: Vec<usize> = line;
                hand(&mut self.runs, longest, &line);
                rest = others;
            }
        }
    }

    /// Drops runs that are part of no way to build the route and its branches for `bound`.
    pub fn drop_dearer(&mut self, cx: &Context, grid: &Grid, bound: f64) {
        let pit: Vec<f64> = (0..grid.positions.len())
            .map(|p| self.cheapest_pit(cx, grid, p))
            .collect();
        let (above, below) = (
            std::mem::take(&mut self.above),
            std::mem::take(&mut self.below),
        );
        self.runs.retain(|r| {
            let least = above[r.us] + pit[r.us] + r.least() + below[r.ds];
            least.is_finite() && least <= bound
        });
        (self.above, self.below) = (above, below);
        self.index(grid.positions.len());
    }
}

/// Whether a position is at the route's upstream and at its downstream end.
pub fn ends(grid: &Grid, position: usize) -> (bool, bool) {
    let station = grid.positions[position].station;
    (station + 1 == grid.stations.len(), station == 0)
}

/// Price of the manhole in a position's pit, with the lowest invert at `invert_m`; 0 where one stands already, and where
/// the pit is that of the route that this one joins.
pub fn manhole_price(cx: &Context, grid: &Grid, position: usize, invert_m: f64) -> f64 {
    let Position { node, station, .. } = grid.positions[position];
    if grid.existing(station) || cx.joined && station == 0 {
        return 0.0;
    }
    let node = &grid.nodes[node as usize];
    manhole_cost(
        &cx.job().costs,
        node.ground_m.expect("positions have ground") - invert_m,
    )
}
