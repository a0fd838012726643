//! The cheapest through pits and drives of one run at given levels.
//!
//! A shortest path from the upstream manhole to the downstream one over the places for through pits. Judging a drive
//! at its levels is what costs time, so drives start with the least they can cost; the path is found, its drives are
//! judged, and so on until the cheapest path has no drive left unjudged. A drive's judged cost is never below its
//! least, so no path left out is cheaper.

use super::{
    grid::{Grid, NodeId},
    label::{Leg, ROUNDING, SAME_COST, nearly},
    pricing::{Drive, PitPrice, Prices},
    runs::Run,
};
use crate::clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M};
use std::{cmp::Ordering, rc::Rc};

/// Where a run's pits may stand, and the drives between them: all that does not depend on levels.
pub struct Chain {
    /// From upstream manhole to downstream manhole: node and distance from upstream (m).
    nodes: Vec<(NodeId, f64)>,
    /// Prices of through pits that launch nothing, and that launch something.
    pits: Vec<[Option<PitPrice>; 2]>,
    edges: Vec<(usize, usize, Rc<Drive>)>,
}

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
    /// The drives, from upstream.
    pub legs: Vec<Leg>,
}

impl Chain {
    /// The places along a run.
    pub fn new(prices: &mut Prices, grid: &mut Grid, run: &Run) -> Chain {
        let cx = prices.cx;
        let [us, ds] = [run.us, run.ds].map(|p| (grid.positions[p].node, grid.positions[p].station));
        let mut nodes = vec![(us.0, 0.0)];
        nodes.extend((ds.1 + 1..us.1).rev().filter_map(|s| grid.foot(cx, us.0, ds.0, s)));
        nodes.push((ds.0, run.length_m));
        let pits = nodes.iter().map(|&(n, _)| [false, true].map(|l| prices.pit(grid, n, &[(run.down, l)]))).collect();
        let mut edges = vec![];
        for i in 0..nodes.len() {
            for j in i + 1..nodes.len() {
                let length = nodes[j].1 - nodes[i].1;
                let whole = i == 0 && j + 1 == nodes.len();
                if whole || length <= LENGTH_TOLERANCE_M || length > cx.reach.m + 1e-3 {
                    continue;
                }
                edges.extend(prices.drive(grid, nodes[i].0, nodes[j].0).map(|d| (i, j, d)));
            }
        }
        Chain { nodes, pits, edges }
    }
}

/// A chain at given levels.
struct Line<'c> {
    chain: &'c Chain,
    levels: Vec<f64>,
    /// Pit cost and depth at every node by (launches something).
    pits: Vec<[Option<(f64, f64)>; 2]>,
    /// Cost of every edge by launch side.
    cost: Vec<[f64; 2]>,
    judged: Vec<[bool; 2]>,
    /// The first drive's launch side.
    first: usize,
}

/// All ways to drive the run with through pits, launching its first drive as `first_launched_upstream` says, that may
/// still be part of a best plan; by whether the last drive is launched from the downstream manhole. Ways dearer than
/// `cutoff` of that side are of no use.
pub fn through(
    prices: &mut Prices,
    chain: &Chain,
    inverts: [f64; 2],
    first_launched_upstream: bool,
    cutoff: [f64; 2],
) -> [Vec<Through>; 2] {
    let mut line = Line::new(chain, inverts, first_launched_upstream);
    loop {
        let forward = line.forward();
        let mut changed = false;
        for l in [0, 1] {
            let arrived = forward[chain.nodes.len() - 1][l];
            if arrived.is_finite() && arrived <= cutoff[l] {
                changed |= line.judge_best(prices, &forward, l);
            }
        }
        if !changed && !line.judge_equals(prices, &forward, cutoff) {
            break;
        }
    }
    line.ways(cutoff)
}

impl<'c> Line<'c> {
    fn new(chain: &'c Chain, inverts: [f64; 2], first_launched_upstream: bool) -> Line<'c> {
        let length = chain.nodes[chain.nodes.len() - 1].1;
        let levels: Vec<f64> =
            chain.nodes.iter().map(|n| inverts[0] + (inverts[1] - inverts[0]) * (n.1 / length)).collect();
        let at = |(p, z): (&[Option<PitPrice>; 2], &f64)| p.map(|p| p.and_then(|p| p.at(*z)));
        let pits = chain.pits.iter().zip(&levels).map(at).collect();
        let covered = |(i, j, d): &(usize, usize, Rc<Drive>)| {
            d.profile.least_above(levels[*i], levels[*j], d.length_m) >= -LENGTH_TOLERANCE_M
        };
        let cost = chain.edges.iter().map(|e| if covered(e) { e.2.least_cost } else { [f64::INFINITY; 2] }).collect();
        let first = if first_launched_upstream { FROM_UPSTREAM } else { FROM_DOWNSTREAM };
        Line { chain, levels, pits, cost, judged: vec![[false; 2]; chain.edges.len()], first }
    }

    /// Cost of going on from node `i`, whose upstream drive is launched there or not (`l`), through an edge launched
    /// from `side`: the pit at `i` and the drive.
    fn onward(&self, i: usize, l: usize, edge: usize, side: usize) -> f64 {
        if i == 0 {
            return if side == self.first { self.cost[edge][side] } else { f64::INFINITY };
        }
        let launches = usize::from(l == 1 || side == FROM_UPSTREAM);
        self.pits[i][launches].map_or(f64::INFINITY, |p| p.0 + self.cost[edge][side])
    }

    /// Least cost of arriving at every node by (arriving drive launched there).
    fn forward(&self) -> Vec<[f64; 2]> {
        let mut best = vec![[f64::INFINITY; 2]; self.levels.len()];
        best[0][0] = 0.0;
        for (e, (i, j, _)) in self.chain.edges.iter().enumerate() {
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
        for (e, (i, j, _)) in self.chain.edges.iter().enumerate().rev() {
            for (l, side) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let cost = self.onward(*i, l, e, side) + best[*j][usize::from(side == FROM_DOWNSTREAM)];
                best[*i][l] = best[*i][l].min(cost);
            }
        }
        best
    }

    fn judge(&mut self, prices: &mut Prices, edge: usize, side: usize) {
        let (i, j, drive) = &self.chain.edges[edge];
        let judged = prices.drive_cost(drive, [self.levels[*i], self.levels[*j]], side);
        self.cost[edge][side] = judged.unwrap_or(f64::INFINITY);
        self.judged[edge][side] = true;
    }

    /// Judges the drives of the cheapest way that arrives with `last`; says whether any was not judged yet.
    fn judge_best(&mut self, prices: &mut Prices, forward: &[[f64; 2]], last: usize) -> bool {
        let (mut node, mut l) = (self.levels.len() - 1, last);
        let mut path = vec![];
        while node != 0 {
            let side = if l == 1 { FROM_DOWNSTREAM } else { FROM_UPSTREAM };
            let (e, i, from) = self.came_from(forward, node, l, side);
            path.push((e, side));
            (node, l) = (i, from);
        }
        path.retain(|&(e, side)| !self.judged[e][side]);
        for &(e, side) in &path {
            self.judge(prices, e, side);
        }
        !path.is_empty()
    }

    fn came_from(&self, forward: &[[f64; 2]], node: usize, l: usize, side: usize) -> (usize, usize, usize) {
        let arrivals = self.chain.edges.iter().enumerate().filter(|(_, e)| e.1 == node);
        let ways = arrivals.flat_map(|(e, (i, _, _))| [0, 1].map(|from| (e, *i, from)));
        let cost = |&(e, i, from): &(usize, usize, usize)| forward[i][from] + self.onward(i, from, e, side);
        let best = ways.min_by(|a, b| cost(a).total_cmp(&cost(b)));
        debug_assert!(best.is_some_and(|b| cost(&b) == forward[node][l]));
        best.expect("a node with a finite cost was arrived at")
    }

    /// Judges every drive on a way as cheap as the cheapest; says whether there was one.
    fn judge_equals(&mut self, prices: &mut Prices, forward: &[[f64; 2]], cutoff: [f64; 2]) -> bool {
        let mut found = vec![];
        for last in [0, 1] {
            let least = forward[self.levels.len() - 1][last];
            if least.is_infinite() || least > cutoff[last] {
                continue;
            }
            let backward = self.backward(last);
            for (e, (i, j, _)) in self.chain.edges.iter().enumerate() {
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
            self.judge(prices, e, side);
        }
        !found.is_empty()
    }

    /// All ways within [`SAME_COST`] of the cheapest that no other beats by cost and ties, by how they arrive.
    fn ways(&self, cutoff: [f64; 2]) -> [Vec<Through>; 2] {
        let forward = self.forward();
        [0, 1].map(|last| {
            let least = forward[self.levels.len() - 1][last];
            if least > cutoff[last] || least.is_infinite() {
                return vec![];
            }
            let arrived = self.equals(&self.backward(last), least + SAME_COST);
            arrived[last].iter().map(|w| w.through(self.chain)).collect()
        })
    }

    /// The ways to the last node no dearer than `most`, by how they arrive.
    fn equals(&self, backward: &[[f64; 2]], most: f64) -> [Vec<Way>; 2] {
        let mut fronts: Vec<[Vec<Way>; 2]> = vec![Default::default(); self.levels.len()];
        fronts[0][0].push(Way::default());
        for (e, (i, j, _)) in self.chain.edges.iter().enumerate() {
            for (l, side) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                let (onward, arrives) = (self.onward(*i, l, e, side), usize::from(side == FROM_DOWNSTREAM));
                for way in fronts[*i][l].clone() {
                    if way.cost + onward + backward[*j][arrives] <= most {
                        let launches = usize::from(l == 1 || side == FROM_UPSTREAM);
                        let depth_m = if *i == 0 { 0.0 } else { self.pits[*i][launches].map_or(0.0, |p| p.1) };
                        way.going_on(*i, *j, side, onward, depth_m).keep(&mut fronts[*j][arrives]);
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
        let from_downstream = |w: &Way| w.path.iter().rev().map(|p| std::cmp::Reverse(p.0)).collect::<Vec<_>>();
        self.pits
            .cmp(&other.pits)
            .then_with(|| nearly(self.depth_m, other.depth_m))
            .then_with(|| from_downstream(self).cmp(&from_downstream(other)))
            .then_with(|| other.from_downstream.cmp(&self.from_downstream))
    }

    fn through(&self, chain: &Chain) -> Through {
        Through {
            cost: self.cost,
            pits: self.pits,
            depth_m: self.depth_m,
            from_downstream: self.from_downstream,
            legs: self.path.iter().map(|&(n, side)| Leg { ds: chain.nodes[n].0, side }).collect(),
        }
    }
}
