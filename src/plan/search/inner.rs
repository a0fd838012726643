//! The cheapest through pits and drives of one run at given levels.
//!
//! A shortest path from the upstream manhole to the downstream one over the places for through pits. Judging a drive
//! at its levels is what costs time, so drives start with the least they can cost; the path is found, its drives are
//! judged, and so on until the cheapest path has no drive left unjudged. A drive's judged cost is never below its
//! least, so no path left out is cheaper.

use super::{
    course::Course,
    grid::{Grid, NodeId},
    label::{Leg, ROUNDING, SAME_COST, nearly},
    least_pit::lower,
    least_through::{BySides, Place},
    pricing::{PitPrice, Prices, buildings_near, clears_buildings, may_launch, over_keepout},
    runs::Run,
    sketch::Sketch,
};
use crate::{
    alignment::Profile,
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M, Segment},
    cost::bore_cost,
    job::UnknownDepth,
    plan::context::Context,
};
use std::cmp::Ordering;

/// Where the pits of runs from one manhole along one line may stand, and the drives between them: all that does not
/// depend on levels. A run takes the part of it up to its downstream manhole.
#[derive(Debug)]
pub struct Chain {
    /// From the upstream manhole on: node and distance from it (m).
    nodes: Vec<(NodeId, f64)>,
    /// Prices of through pits that launch nothing, and that launch something.
    pits: Vec<[Option<PitPrice>; 2]>,
    /// By upstream place: the downstream places within reach and the least cost of the drive to each.
    edges: Vec<Vec<(usize, f64)>>,
}

/// Least costs of a run with through pits at any levels, these included.
#[derive(Debug, Clone, Copy)]
pub struct LeastCosts {
    /// With one or more.
    pub any: BySides,
    /// With two or more.
    pub several: BySides,
}

/// Least costs with through pits to a place, by whether the last drive is launched there.
#[derive(Debug, Clone, Copy)]
struct Swept {
    any: [f64; 2],
    several: [f64; 2],
}

/// Cost and depth of a through pit that launches nothing, and of one that launches something.
type PitAt = [Option<(f64, f64)>; 2];

/// A way to drive a run with through pits, the manholes' pits left out.
#[derive(Debug, Clone)]
pub struct Through {
    /// Drives and through pits.
    pub cost: f64,
    /// Through pits.
    pub pits: u32,
    /// Sum of their depths (m).
    pub depth_m: f64,
    /// Drives launched from their downstream pit.
    pub from_downstream: u32,
    /// The drives that end at through pits, from upstream.
    pub through: Vec<Leg>,
    /// The last drive is launched at the downstream manhole.
    pub ends_launched: bool,
}

impl Chain {
    /// The places along a run.
    pub fn new(prices: &mut Prices, grid: &mut Grid, run: &Run) -> Chain {
        Chain::of_places(prices, grid, run, false, |_, _| true)
    }

    /// The places along a run for its only through pit, where pit and drives may cost no more than `most`.
    pub fn of_one_pit(
        prices: &mut Prices,
        grid: &mut Grid,
        run: &Run,
        sketch: &Sketch,
        most: f64,
    ) -> Chain {
        let cx = prices.cx;
        let reach_m = cx.reach.m + 1e-3;
        let worth = |station: usize, along_m: f64| {
            let lengths = [along_m, run.length_m - along_m];
            let drives: f64 = lengths.iter().map(|l| bore_cost(cx.job(), *l)).sum();
            lengths.iter().all(|l| *l <= reach_m) && drives + sketch.pit(station) <= most
        };
        Chain::of_places(prices, grid, run, true, worth)
    }

    /// The places along a run that are `worth` looking at, by station and distance along; with drives between all of them, or
    /// only for one pit.
    fn of_places(
        prices: &mut Prices,
        grid: &mut Grid,
        run: &Run,
        one_pit: bool,
        worth: impl Fn(usize, f64) -> bool,
    ) -> Chain {
        let cx = prices.cx;
        let [us, ds] =
            [run.us, run.ds].map(|p| (grid.positions[p].node, grid.positions[p].station));
        let mut nodes = vec![(us.0, 0.0)];
        for s in (ds.1 + 1..us.1).rev() {
            let worth = |along_m: f64| worth(s, along_m);
            nodes.extend(grid.foot(cx, [us.0, ds.0], s, worth));
        }
        nodes.push((ds.0, run.length_m));
        let end = nodes.len() - 1;
        let pits = nodes
            .iter()
            .map(|&(n, _)| [false, true].map(|l| prices.pit(grid, n, &[(run.down, l)])))
            .collect();
        let within = |i: usize, j: usize| {
            let length = nodes[j].1 - nodes[i].1;
            let wanted = !one_pit || i == 0 || j == end;
            wanted && length > LENGTH_TOLERANCE_M && length <= cx.reach.m + 1e-3
        };
        let avoid = cx.job().rules.unknown_depth == UnknownDepth::Avoid;
        let ends = [us.0, ds.0].map(|n| grid.point(n));
        let course = Course::new(cx, grid, [us.1, ds.1], ends);
        let keepouts = cx
            .world
            .obstacles
            .keepouts
            .near(&ends, cx.bore_mm / 1000.0)
            .next()
            .is_some();
        let buildings = buildings_near(cx, ends);
        let lowest = |node: NodeId| lowest_invert(cx, grid, node) + cx.centre_above_invert_m();
        // The deeper a drive, the farther it is from a foundation: what does not pass at the lowest levels never does.
        let passes = |nodes: [NodeId; 2]| {
            let [a, b] = nodes.map(|n| {
                let p = grid.point(n);
                [p.x, p.y, lowest(n)]
            });
            clears_buildings(cx, &buildings, &Segment { a, b })
        };
        let least = |i: usize, j: usize| {
            if !buildings.is_empty() && !passes([i, j].map(|k| nodes[k].0)) {
                return None;
            }
            if keepouts && over_keepout(cx, [i, j].map(|k| grid.point(nodes[k].0))) {
                return None;
            }
            let holes = course.holes(nodes[i].1, nodes[j].1);
            let cost = bore_cost(cx.job(), nodes[j].1 - nodes[i].1)
                + holes as f64 * cx.job().costs.test_hole;
            (!(avoid && holes > 0)).then_some((j, cost))
        };
        let from = |i: usize| {
            let places = (i + 1..nodes.len()).filter(|j| within(i, *j));
            places.filter_map(|j| least(i, j)).collect()
        };
        let edges = (0..nodes.len()).map(from).collect();
        Chain { nodes, pits, edges }
    }

    /// The place of a manhole on the chain, if all places before it lie on the run to it as they lie on the chain:
    /// on the route itself.
    pub fn place_of(&self, grid: &Grid, node: NodeId) -> Option<usize> {
        let place = self.nodes.iter().position(|n| n.0 == node)?;
        let on_route = |n: &(NodeId, f64)| (n.0 as usize) < grid.stations.len();
        self.nodes[..=place].iter().all(on_route).then_some(place)
    }

    /// How much room it takes: drives between its places.
    pub fn size(&self) -> usize {
        self.edges.iter().map(Vec::len).sum()
    }

    /// Place of the last manhole.
    pub fn end(&self) -> usize {
        self.nodes.len() - 1
    }

    /// Least cost of the first drive going straight to a place; +inf where it is out of reach.
    pub fn least_single(&self, place: usize) -> f64 {
        let to = self.edges[0].iter().find(|e| e.0 == place);
        to.map_or(f64::INFINITY, |e| e.1)
    }

    /// Least costs at any level to every place as the downstream manhole, each pit as shallow as its place allows.
    pub fn least_costs(&self, cx: &Context, grid: &Grid) -> Vec<LeastCosts> {
        let highest = |n: &(NodeId, f64)| highest_invert(cx, grid, n.0);
        let levels: Vec<f64> = self.nodes.iter().map(highest).collect();
        let pits = self.pits_at(&levels);
        let [received, launched] = [0, 1].map(|first| self.sweep(cx, &pits, first));
        let both = received.into_iter().zip(launched);
        both.map(|(r, l)| LeastCosts {
            any: [r.any, l.any],
            several: [r.several, l.several],
        })
        .collect()
    }

    /// Least costs of a run with through pits at given levels, drives at any price they may have there: by whether
    /// the last drive is launched from the downstream manhole.
    pub fn least_at(
        &self,
        cx: &Context,
        end: usize,
        inverts: [f64; 2],
        first_launched_upstream: usize,
    ) -> [f64; 2] {
        let pits = self.pits_at(&self.levels(end, inverts));
        self.sweep(cx, &pits, first_launched_upstream)[end].any
    }

    /// Least cost with through pits to every place that `pits` reaches, by how it is arrived at.
    fn sweep(&self, cx: &Context, pits: &[PitAt], first_launched_upstream: usize) -> Vec<Swept> {
        let nothing = Swept {
            any: [f64::INFINITY; 2],
            several: [f64::INFINITY; 2],
        };
        let mut swept = vec![nothing; pits.len()];
        let side_of =
            |launched_upstream: usize| [FROM_DOWNSTREAM, FROM_UPSTREAM][launched_upstream];
        if !may_launch(cx, side_of(first_launched_upstream)) {
            return swept;
        }
        let may = [FROM_UPSTREAM, FROM_DOWNSTREAM].map(|s| {
            if may_launch(cx, s) {
                0.0
            } else {
                f64::INFINITY
            }
        });
        let mut direct = vec![f64::INFINITY; pits.len()];
        for (j, cost) in self.edges[0].iter().take_while(|e| e.0 < pits.len()) {
            direct[*j] = *cost;
        }
        for i in 1..pits.len() {
            // The pit at i and what led to it, by the side that launches the drive from it on.
            let [received, launching] = pits[i].map(|p| p.map_or(f64::INFINITY, |p| p.0));
            let onward = |by: [f64; 2]| {
                [
                    by[0].min(by[1]) + launching + may[0],
                    (by[0] + received).min(by[1] + launching) + may[1],
                ]
            };
            let mut first = [f64::INFINITY; 2];
            first[1 - first_launched_upstream] = direct[i];
            let (one, more) = (onward(first), onward(swept[i].any));
            let so_far = [one[0].min(more[0]), one[1].min(more[1])];
            if so_far == [f64::INFINITY; 2] {
                continue;
            }
            for (j, cost) in self.edges[i].iter().take_while(|e| e.0 < pits.len()) {
                let to = &mut swept[*j];
                for arrives in [0, 1] {
                    to.any[arrives] = to.any[arrives].min(so_far[arrives] + cost);
                    to.several[arrives] = to.several[arrives].min(more[arrives] + cost);
                }
            }
        }
        swept
    }

    /// Where the only through pit of the run to `end` may stand.
    pub fn only_pits(&self, cx: &Context, grid: &Grid, end: usize) -> Vec<Place> {
        let first = self.edges[0].iter().filter(|e| e.0 < end);
        let place = |&(i, cost): &(usize, f64)| {
            let last = self.edges[i].binary_search_by_key(&end, |e| e.0).ok()?;
            let (node, at_m) = self.nodes[i];
            let place = Place {
                share: at_m / self.nodes[end].1,
                highest: highest_invert(cx, grid, node),
                drives: cost + self.edges[i][last].1,
                pits: self.pits[i],
            };
            place.pits.iter().any(Option::is_some).then_some(place)
        };
        first.filter_map(place).collect()
    }

    /// Inverts at every place up to `end`.
    fn levels(&self, end: usize, inverts: [f64; 2]) -> Vec<f64> {
        let length = self.nodes[end].1;
        let at = |n: &(NodeId, f64)| inverts[0] + (inverts[1] - inverts[0]) * (n.1 / length);
        self.nodes[..=end].iter().map(at).collect()
    }

    /// Rates that no through pit before `end` undercuts; none where none can stand.
    pub fn least_rates(&self, end: usize) -> Option<PitPrice> {
        let prices = self.through(end).flat_map(|(_, p)| p.iter().flatten());
        prices.copied().reduce(lower)
    }

    /// Highest inverts at the places before `end`.
    pub fn highest(&self, cx: &Context, grid: &Grid, end: usize) -> Profile {
        let places = self
            .through(end)
            .filter(|(_, p)| p.iter().any(Option::is_some))
            .map(|(n, _)| n);
        let mut at: Vec<(f64, f64)> = places
            .map(|n| (n.1, highest_invert(cx, grid, n.0)))
            .collect();
        at.sort_by(|a, b| a.0.total_cmp(&b.0));
        at.dedup_by(|b, a| b.0 - a.0 < 1e-9);
        Profile::new(at.into_iter())
    }

    fn through(&self, end: usize) -> impl Iterator<Item = ((NodeId, f64), &[Option<PitPrice>; 2])> {
        (1..end).map(|i| (self.nodes[i], &self.pits[i]))
    }

    fn pits_at(&self, levels: &[f64]) -> Vec<PitAt> {
        let at = |(p, z): (&[Option<PitPrice>; 2], &f64)| p.map(|p| p.and_then(|p| p.at(*z)));
        self.pits.iter().zip(levels).map(at).collect()
    }

    /// Drives of the run to `end`, by rising upstream then downstream place; the run as one drive is not among them. Unless
    /// `several`, only those of ways with one through pit.
    fn edges(&self, end: usize, several: bool) -> Vec<Edge> {
        let edge = |from: usize, e: &(usize, f64)| Edge {
            from,
            to: e.0,
            least: e.1,
        };
        let first = self.edges[0].iter().filter(|e| e.0 < end);
        let mut out: Vec<Edge> = first.map(|e| edge(0, e)).collect();
        for (from, edges) in self.edges.iter().enumerate().take(end).skip(1) {
            let upto = edges.partition_point(|e| e.0 <= end);
            if several {
                out.extend(edges[..upto].iter().map(|e| edge(from, e)));
            } else {
                let last = edges[..upto].last().filter(|e| e.0 == end);
                out.extend(last.map(|e| edge(from, e)));
            }
        }
        out
    }
}

/// A drive between two places of a chain.
#[derive(Clone, Copy)]
struct Edge {
    from: usize,
    to: usize,
    least: f64,
}

/// Lowest invert that the deepest pit allows at a node; +inf where there is no ground, for there is no pit.
fn lowest_invert(cx: &Context, grid: &Grid, node: NodeId) -> f64 {
    let job = cx.job();
    let below_ground = job.pits.max_depth_m - job.rig.axis_height_m;
    grid.nodes[node as usize]
        .ground_m
        .map_or(f64::INFINITY, |g| g - below_ground)
}

/// Highest invert that cover allows at a node; -inf where there is no ground.
fn highest_invert(cx: &Context, grid: &Grid, node: NodeId) -> f64 {
    grid.nodes[node as usize]
        .ground_m
        .map_or(f64::NEG_INFINITY, |g| g - cx.invert_depth_m)
}

/// A run at given levels.
struct Line<'c> {
    chain: &'c Chain,
    edges: Vec<Edge>,
    levels: Vec<f64>,
    /// Pit cost and depth at every place by (launches something).
    pits: Vec<PitAt>,
    /// Cost of every edge by launch side.
    cost: Vec<[f64; 2]>,
    judged: Vec<[bool; 2]>,
    /// The first drive's launch side.
    first: usize,
}

/// All ways to drive a run with through pits, launching its first drive as `first_launched_upstream` says, that may
/// still be part of a best plan; by whether the last drive is launched from the downstream manhole. Ways dearer than
/// `cutoff` of that side are of no use; unless `several`, all ways with several through pits are.
pub fn through(
    prices: &mut Prices,
    grid: &Grid,
    (chain, end): (&Chain, usize),
    inverts: [f64; 2],
    (first_launched_upstream, several): (bool, bool),
    cutoff: [f64; 2],
) -> [Vec<Through>; 2] {
    let edges = chain.edges(end, several);
    let mut line = Line::new(
        prices.cx,
        chain,
        edges,
        inverts,
        (end, first_launched_upstream),
    );
    line.leave_out_dearer(cutoff);
    loop {
        let forward = line.forward();
        let mut changed = false;
        for l in [0, 1] {
            let arrived = forward[end][l];
            if arrived.is_finite() && arrived <= cutoff[l] {
                changed |= line.judge_best(prices, grid, &forward, l);
            }
        }
        if !changed && !line.judge_equals(prices, grid, &forward, cutoff) {
            break;
        }
    }
    line.ways(grid, cutoff)
}

impl<'c> Line<'c> {
    fn new(
        cx: &Context,
        chain: &'c Chain,
        edges: Vec<Edge>,
        inverts: [f64; 2],
        (end, first_launched_upstream): (usize, bool),
    ) -> Line<'c> {
        let levels = chain.levels(end, inverts);
        let pits = chain.pits_at(&levels);
        let sides = [FROM_UPSTREAM, FROM_DOWNSTREAM].map(|s| {
            if may_launch(cx, s) {
                0.0
            } else {
                f64::INFINITY
            }
        });
        let cost = edges.iter().map(|e| sides.map(|s| s + e.least)).collect();
        let first = if first_launched_upstream {
            FROM_UPSTREAM
        } else {
            FROM_DOWNSTREAM
        };
        Line {
            chain,
            judged: vec![[false; 2]; edges.len()],
            edges,
            levels,
            pits,
            cost,
            first,
        }
    }

    /// Leaves out the drives that are on no way within the cutoff: judged, they only cost more.
    fn leave_out_dearer(&mut self, cutoff: [f64; 2]) {
        let forward = self.forward();
        let backward = [0, 1].map(|last| self.backward(last));
        let useful = |e: usize, Edge { from, to, .. }: &Edge| {
            [(0, 0), (0, 1), (1, 0), (1, 1)].iter().any(|&(l, side)| {
                let here = forward[*from][l] + self.onward(*from, l, e, side);
                let arrives = usize::from(side == FROM_DOWNSTREAM);
                [0, 1].iter().any(|&last| {
                    let all = here + backward[last][*to][arrives];
                    all.is_finite() && all <= cutoff[last] + SAME_COST
                })
            })
        };
        let kept: Vec<usize> = (0..self.edges.len())
            .filter(|e| useful(*e, &self.edges[*e]))
            .collect();
        self.cost = kept.iter().map(|e| self.cost[*e]).collect();
        self.edges = kept.iter().map(|e| self.edges[*e]).collect();
        self.judged.truncate(kept.len());
    }

    /// Cost of going on from node `i`, whose upstream drive is launched there or not (`l`), through an edge launched
    /// from `side`: the pit at `i` and the drive.
    fn onward(&self, i: usize, l: usize, edge: usize, side: usize) -> f64 {
        if i == 0 {
            return if side == self.first {
                self.cost[edge][side]
            } else {
                f64::INFINITY
            };
        }
        let launches = usize::from(l == 1 || side == FROM_UPSTREAM);
        self.pits[i][launches].map_or(f64::INFINITY, |p| p.0 + self.cost[edge][side])
    }

    /// Least cost of arriving at every node by (arriving drive launched there).
    fn forward(&self) -> Vec<[f64; 2]> {
        let mut best = vec![[f64::INFINITY; 2]; self.levels.len()];
        best[0][0] = 0.0;
        for (e, Edge { from: i, to: j, .. }) in self.edges.iter().enumerate() {
            for (l, side) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let cost = best[*i][l] + self.onward(*i, l, e, side);
                let to = &mut best[*j][usize::from(side == FROM_DOWNSTREAM)];
                *to = to.min(cost);
            }
        }
        best
    }

    /// Least cost of going on from every (node, arriving drive launched there) to the end, arriving there with `last`.
    fn backward(&self, last: usize) -> Vec<[f64; 2]> {
        let n = self.levels.len();
        let mut best = vec![[f64::INFINITY; 2]; n];
        best[n - 1][last] = 0.0;
        for (e, Edge { from: i, to: j, .. }) in self.edges.iter().enumerate().rev() {
            for (l, side) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let cost =
                    self.onward(*i, l, e, side) + best[*j][usize::from(side == FROM_DOWNSTREAM)];
                best[*i][l] = best[*i][l].min(cost);
            }
        }
        best
    }

    fn judge(&mut self, prices: &mut Prices, grid: &Grid, edge: usize, side: usize) {
        let Edge { from, to, .. } = self.edges[edge];
        let nodes = [from, to].map(|i| self.chain.nodes[i].0);
        let judged = prices.judge(grid, nodes, [self.levels[from], self.levels[to]], side);
        self.cost[edge][side] = judged.unwrap_or(f64::INFINITY);
        self.judged[edge][side] = true;
    }

    /// Judges the drives of the cheapest way that arrives with `last`; says whether any was not judged yet.
    fn judge_best(
        &mut self,
        prices: &mut Prices,
        grid: &Grid,
        forward: &[[f64; 2]],
        last: usize,
    ) -> bool {
        let (mut node, mut l) = (self.levels.len() - 1, last);
        let mut path = vec![];
        while node != 0 {
            let side = if l == 1 {
                FROM_DOWNSTREAM
            } else {
                FROM_UPSTREAM
            };
            let (e, i, from) = self.came_from(forward, node, l, side);
            path.push((e, side));
            (node, l) = (i, from);
        }
        path.retain(|&(e, side)| !self.judged[e][side]);
        for &(e, side) in &path {
            self.judge(prices, grid, e, side);
        }
        !path.is_empty()
    }

    fn came_from(
        &self,
        forward: &[[f64; 2]],
        node: usize,
        l: usize,
        side: usize,
    ) -> (usize, usize, usize) {
        let arrivals = self.edges.iter().enumerate().filter(|(_, e)| e.to == node);
        let ways = arrivals.flat_map(|(e, edge)| [0, 1].map(|from| (e, edge.from, from)));
        let cost = |&(e, i, from): &(usize, usize, usize)| {
            forward[i][from] + self.onward(i, from, e, side)
        };
        let best = ways.min_by(|a, b| cost(a).total_cmp(&cost(b)));
        debug_assert!(best.is_some_and(|b| cost(&b) == forward[node][l]));
        best.expect("a node with a finite cost was arrived at")
    }

    /// Judges every drive on a way as cheap as the cheapest; says whether there was one.
    fn judge_equals(
        &mut self,
        prices: &mut Prices,
        grid: &Grid,
        forward: &[[f64; 2]],
        cutoff: [f64; 2],
    ) -> bool {
        let mut found = vec![];
        for last in [0, 1] {
            let least = forward[self.levels.len() - 1][last];
            if least.is_infinite() || least > cutoff[last] {
                continue;
            }
            let backward = self.backward(last);
            for (e, Edge { from: i, to: j, .. }) in self.edges.iter().enumerate() {
                for (l, side) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                    let rest = backward[*j][usize::from(side == FROM_DOWNSTREAM)];
                    let all = forward[*i][l] + self.onward(*i, l, e, side) + rest;
                    if !self.judged[e][side] && all <= least + SAME_COST {
                        found.push((e, side));
                    }
                }
            }
        }
        found.sort_unstable();
        found.dedup();
        for &(e, side) in &found {
            self.judge(prices, grid, e, side);
        }
        !found.is_empty()
    }

    /// All ways within [`SAME_COST`] of the cheapest that no other beats by cost and ties, by how they arrive.
    fn ways(&self, grid: &Grid, cutoff: [f64; 2]) -> [Vec<Through>; 2] {
        let forward = self.forward();
        [0, 1].map(|last| {
            let least = forward[self.levels.len() - 1][last];
            if least > cutoff[last] || least.is_infinite() {
                return vec![];
            }
            let arrived = self.equals(&self.backward(last), least + SAME_COST);
            arrived[last]
                .iter()
                .map(|w| w.through(self.chain, grid))
                .collect()
        })
    }

    /// The ways to the last node no dearer than `most`, by how they arrive.
    fn equals(&self, backward: &[[f64; 2]], most: f64) -> [Vec<Way>; 2] {
        let mut fronts: Vec<[Vec<Way>; 2]> = vec![Default::default(); self.levels.len()];
        fronts[0][0].push(Way::default());
        for (e, Edge { from: i, to: j, .. }) in self.edges.iter().enumerate() {
            for (l, side) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let (onward, arrives) = (
                    self.onward(*i, l, e, side),
                    usize::from(side == FROM_DOWNSTREAM),
                );
                for way in fronts[*i][l].clone() {
                    if way.cost + onward + backward[*j][arrives] <= most {
                        let launches = usize::from(l == 1 || side == FROM_UPSTREAM);
                        let depth_m = if *i == 0 {
                            0.0
                        } else {
                            self.pits[*i][launches].map_or(0.0, |p| p.1)
                        };
                        way.going_on(*i, *j, side, onward, depth_m)
                            .keep(&mut fronts[*j][arrives]);
                    }
                }
            }
        }
        std::mem::take(&mut fronts[self.levels.len() - 1])
    }
}

/// A way from the upstream manhole, as (node arrived at, launch side) a drive.
#[derive(Debug, Clone, Default)]
struct Way {
    cost: f64,
    pits: u32,
    depth_m: f64,
    from_downstream: u32,
    path: Vec<(usize, usize)>,
}

impl Way {
    fn going_on(mut self, from: usize, to: usize, side: usize, cost: f64, depth_m: f64) -> Way {
        self.cost += cost;
        self.pits += u32::from(from != 0);
        self.depth_m += depth_m;
        self.from_downstream += u32::from(side == FROM_DOWNSTREAM);
        self.path.push((to, side));
        self
    }

    /// Adds itself to a front unless one there beats it; the same rule as `label::Front`.
    fn keep(self, front: &mut Vec<Way>) {
        if front.iter().any(|k| k.beats(&self)) {
            return;
        }
        front.retain(|k| !self.beats(k));
        front.push(self);
    }

    fn beats(&self, other: &Way) -> bool {
        self.cost <= other.cost + ROUNDING
            && (other.cost > self.cost + SAME_COST || self.by_ties(other) != Ordering::Greater)
    }

    fn by_ties(&self, other: &Way) -> Ordering {
        // From downstream: the node farther along the chain has the smaller chainage.
        let from_downstream = |w: &Way| {
            w.path
                .iter()
                .rev()
                .map(|p| std::cmp::Reverse(p.0))
                .collect::<Vec<_>>()
        };
        self.pits
            .cmp(&other.pits)
            .then_with(|| nearly(self.depth_m, other.depth_m))
            .then_with(|| from_downstream(self).cmp(&from_downstream(other)))
            .then_with(|| other.from_downstream.cmp(&self.from_downstream))
    }

    fn through(&self, chain: &Chain, grid: &Grid) -> Through {
        let chainage_m = |n: NodeId| grid.stations[grid.nodes[n as usize].station].chainage_m;
        let (last, before) = self.path.split_last().expect("there is a last drive");
        Through {
            cost: self.cost,
            pits: self.pits,
            depth_m: self.depth_m,
            from_downstream: self.from_downstream,
            ends_launched: last.1 == FROM_DOWNSTREAM,
            through: before
                .iter()
                .map(|&(n, side)| Leg {
                    ds: chain.nodes[n].0,
                    chainage_m: chainage_m(chain.nodes[n].0),
                    from_downstream: side == FROM_DOWNSTREAM,
                })
                .collect(),
        }
    }
}
