//! The plain search that the real one is held against: every choice of manholes, levels, through pits and launch
//! sides in turn, with no bound, no dominance and no order of merit. It asks the library only what one pit or one
//! drive costs; which levels there are, and who may launch, it works out by itself.

use pitwright::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    job::LaunchFrom,
    plan::{
        context::Context,
        search::{Coarse, Grid, NodeId, PitPrice, Prices, manhole_price},
    },
};
use rustc_hash::FxHashMap;
use std::collections::BTreeSet;

pub struct PlainSearch<'c, 'a> {
    cx: &'c Context<'a>,
    grid: Grid,
    /// By position.
    levels: Vec<Vec<f64>>,
    /// Sides from which a drive may be launched.
    sides: &'static [usize],
    prices: Prices<'c, 'a>,
    drives: FxHashMap<(NodeId, NodeId, u64, u64, usize), Option<f64>>,
    /// Costs of going on from a state; none: do not remember (every plan is then built in full).
    known: Option<FxHashMap<(usize, u64, usize, NodeId), f64>>,
    /// Stations at which, and only at which, a plan has its pits; none: any.
    only: Option<BTreeSet<usize>>,
    /// Plans built to their end.
    pub plans: u64,
}

/// The drive that comes in from upstream: the pit it comes from, and whether it is launched here.
#[derive(Clone, Copy)]
struct Incoming {
    from: NodeId,
    launched_here: bool,
}

/// A place along a run where a pit may stand.
#[derive(Clone)]
pub struct Place {
    pub node: NodeId,
    /// From the run's upstream end.
    pub along_m: f64,
    /// Price of a pit there by (next drive launched from upstream, the one before launched from downstream); none at the run's ends.
    pub through: [[Option<PitPrice>; 2]; 2],
}

impl Place {
    /// An end of a run.
    pub fn end(node: NodeId, along_m: f64) -> Place {
        Place {
            node,
            along_m,
            through: [[None; 2]; 2],
        }
    }

    /// Cost of a pit there with this invert, the drives beside it launched from these sides.
    pub fn pit(&self, invert: f64, before: usize, next: usize) -> f64 {
        let [next, before] = [next == FROM_UPSTREAM, before == FROM_DOWNSTREAM].map(usize::from);
        let price = self.through[next][before];
        price
            .and_then(|p| p.at(invert))
            .map_or(f64::INFINITY, |c| c.0)
    }
}

impl<'c, 'a> PlainSearch<'c, 'a> {
    pub fn new(cx: &'c Context<'a>, remember: bool) -> Self {
        let grid = Grid::new(cx, Coarse::FINEST);
        PlainSearch {
            cx,
            levels: levels(cx, &grid),
            sides: sides(cx.job().rig.launch_from),
            grid,
            prices: Prices::new(cx),
            drives: FxHashMap::default(),
            known: remember.then(FxHashMap::default),
            only: None,
            plans: 0,
        }
    }

    /// Launches from these sides only, whatever the job that prices the drives says.
    pub fn launching_from(mut self, from: LaunchFrom) -> Self {
        self.sides = sides(from);
        self
    }

    /// Least cost of any plan; +inf where there is none.
    pub fn least_cost(&mut self) -> f64 {
        let last = self.grid.stations.len() - 1;
        let heads: Vec<usize> = (0..self.grid.positions.len())
            .filter(|p| self.grid.positions[*p].station == last)
            .collect();
        heads
            .into_iter()
            .map(|p| self.leave(p, f64::INFINITY, None))
            .fold(f64::INFINITY, f64::min)
    }

    /// Least cost of any plan whose pits stand at exactly these stations; +inf where there is none.
    pub fn least_cost_at(&mut self, stations: BTreeSet<usize>) -> f64 {
        self.known = Some(FxHashMap::default());
        self.only = Some(stations);
        self.least_cost()
    }

    /// A drive from one station to another passes none at which a pit must stand, and ends at one at which it may.
    fn may_drive(&self, us: usize, ds: usize) -> bool {
        let Some(only) = &self.only else { return true };
        only.contains(&ds) && only.range(ds + 1..us).next().is_none()
    }

    /// Least cost of the pit at `p` and all below it, for an inlet at `inlet`.
    fn leave(&mut self, p: usize, inlet: f64, incoming: Option<Incoming>) -> f64 {
        let key = incoming.map(|i| (p, inlet.to_bits(), usize::from(i.launched_here), i.from));
        if let (Some(known), Some(key)) = (&self.known, key)
            && let Some(cost) = known.get(&key)
        {
            return *cost;
        }
        let cost = self.leave_anew(p, inlet, incoming);
        if let (Some(known), Some(key)) = (&mut self.known, key) {
            known.insert(key, cost);
        }
        cost
    }

    fn leave_anew(&mut self, p: usize, inlet: f64, incoming: Option<Incoming>) -> f64 {
        if self.grid.positions[p].station == 0 {
            self.plans += 1;
            return self.pit(p, inlet, None, incoming);
        }
        let rules = &self.cx.job().rules;
        let (drop, drop_max) = (rules.manhole_drop_m, rules.manhole_drop_max_m);
        let mut best = f64::INFINITY;
        for next in 0..p {
            if !self.is_run(p, next) {
                continue;
            }
            let places = self.places(p, next);
            for i in 0..self.levels[p].len() {
                let outlet = self.levels[p][i];
                let drops = inlet - outlet;
                if incoming.is_some()
                    && (drops < drop - LENGTH_TOLERANCE_M
                        || drop_max.is_some_and(|m| drops > m + LENGTH_TOLERANCE_M))
                {
                    continue;
                }
                for j in 0..self.levels[next].len() {
                    let inverts = [outlet, self.levels[next][j]];
                    best = best.min(self.run([p, next], &places, inverts, incoming));
                }
            }
        }
        best
    }

    fn is_run(&self, us: usize, ds: usize) -> bool {
        let [a, b] = [us, ds].map(|p| &self.grid.positions[p]);
        if a.station <= b.station {
            return false;
        }
        let [p, q] = [a.node, b.node].map(|n| self.grid.point(n));
        let [s, t] = [a.station, b.station].map(|i| self.grid.stations[i]);
        let corridor = self.cx.job().search.corridor_m.max(0.01) + LENGTH_TOLERANCE_M;
        let length = self.grid.distance_m(a.node, b.node);
        length <= self.cx.job().rules.manhole_spacing_m + LENGTH_TOLERANCE_M
            && self.cx.alignment.strays_from(&s, &t, p, q) <= corridor
    }

    /// A run, from the upstream manhole to the downstream one.
    fn places(&mut self, us: usize, ds: usize) -> Vec<Place> {
        let nodes = [us, ds].map(|p| self.grid.positions[p].node);
        let stations = self.grid.positions[ds].station + 1..self.grid.positions[us].station;
        let mut places = vec![Place::end(nodes[0], 0.0)];
        for s in stations.rev() {
            if let Some((node, along_m)) = self.grid.foot(self.cx, nodes, s, |_| true) {
                let [up, down] = nodes.map(|n| self.prices.direction(&self.grid, node, n));
                let mut pit = |next: bool, before: bool| {
                    let drives = [(down, next), (up, before)];
                    self.prices.pit(&self.grid, node, &drives)
                };
                let through = [false, true].map(|next| [false, true].map(|b| pit(next, b)));
                places.push(Place {
                    node,
                    along_m,
                    through,
                });
            }
        }
        let length = self.grid.distance_m(nodes[0], nodes[1]);
        places.push(Place::end(nodes[1], length));
        places
    }

    /// Least cost of the pit at `us`, the run, and all below it.
    fn run(
        &mut self,
        [us, ds]: [usize; 2],
        places: &[Place],
        inverts: [f64; 2],
        incoming: Option<Incoming>,
    ) -> f64 {
        let end = places.last().expect("a run has two ends");
        let grade = (inverts[0] - inverts[1]) / end.along_m;
        if grade < self.cx.grade[0] - 1e-9 || grade > self.cx.grade[1] + 1e-9 {
            return f64::INFINITY;
        }
        let level = |p: &Place| inverts[0] + (inverts[1] - inverts[0]) * (p.along_m / end.along_m);
        let levels: Vec<f64> = places.iter().map(level).collect();
        let mut best = f64::INFINITY;
        for &side in self.sides {
            let down = Some((end.node, side == FROM_UPSTREAM));
            let pit = self.pit(us, inverts[0], down, incoming);
            if pit.is_finite() {
                best = best.min(pit + self.drives_from((places, &levels), 0, side, ds));
            }
        }
        best
    }

    /// Least cost from place `i` of a run on, the next drive being launched from `side`; the pit at `i` is paid already.
    fn drives_from(&mut self, run: (&[Place], &[f64]), i: usize, side: usize, ds: usize) -> f64 {
        let mut best = f64::INFINITY;
        let (places, levels) = run;
        let end = places.len() - 1;
        for j in i + 1..=end {
            let [from, to] = [i, j].map(|k| self.grid.nodes[places[k].node as usize].station);
            let apart = places[j].along_m - places[i].along_m > LENGTH_TOLERANCE_M;
            if !apart || !self.may_drive(from, to) {
                continue;
            }
            let nodes = [places[i].node, places[j].node];
            let Some(drive) = self.drive(nodes, [levels[i], levels[j]], side) else {
                continue;
            };
            if j == end {
                let incoming = Incoming {
                    from: places[0].node,
                    launched_here: side == FROM_DOWNSTREAM,
                };
                best = best.min(drive + self.leave(ds, levels[j], Some(incoming)));
                continue;
            }
            for &next in self.sides {
                let pit = places[j].pit(levels[j], side, next);
                if pit.is_finite() {
                    best = best.min(drive + pit + self.drives_from(run, j, next, ds));
                }
            }
        }
        best
    }

    fn drive(&mut self, nodes: [NodeId; 2], inverts: [f64; 2], side: usize) -> Option<f64> {
        let key = (
            nodes[0],
            nodes[1],
            inverts[0].to_bits(),
            inverts[1].to_bits(),
            side,
        );
        if let Some(known) = self.drives.get(&key) {
            return *known;
        }
        let cost = self
            .prices
            .drive(&self.grid, nodes[0], nodes[1])
            .and_then(|d| {
                let covered = d.profile.least_above(inverts[0], inverts[1], d.length_m)
                    >= -LENGTH_TOLERANCE_M;
                covered
                    .then(|| self.prices.drive_cost(&d, inverts, side))
                    .flatten()
            });
        self.drives.insert(key, cost);
        cost
    }

    /// Pit and manhole at a position; the drive down as (node it goes to, launched here).
    fn pit(
        &mut self,
        p: usize,
        invert: f64,
        down: Option<(NodeId, bool)>,
        incoming: Option<Incoming>,
    ) -> f64 {
        let node = self.grid.positions[p].node;
        let up = incoming.map(|i| (i.from, i.launched_here));
        let drives: Vec<_> = [down, up]
            .into_iter()
            .flatten()
            .map(|(n, launched)| (self.prices.direction(&self.grid, node, n), launched))
            .collect();
        let price = self.prices.pit(&self.grid, node, &drives);
        let pit = price
            .and_then(|x| x.at(invert))
            .map_or(f64::INFINITY, |c| c.0);
        pit + manhole_price(self.cx, &self.grid, p, invert)
    }
}

/// Sides from which a drive may be launched.
pub fn sides(from: LaunchFrom) -> &'static [usize] {
    match from {
        LaunchFrom::Either => &[FROM_UPSTREAM, FROM_DOWNSTREAM],
        LaunchFrom::Upstream => &[FROM_UPSTREAM],
        LaunchFrom::Downstream => &[FROM_DOWNSTREAM],
    }
}

/// Inverts to try at every position: the fixed one, else every whole multiple of the level step from the deepest pit to the least
/// cover, and one beyond on either side, which pit and drives then refuse.
pub fn levels(cx: &Context, grid: &Grid) -> Vec<Vec<f64>> {
    let (job, step) = (cx.job(), cx.job().search.level_step_m);
    let at = |p: &pitwright::plan::search::Position| {
        if let Some(z) = cx.downstream.invert_m.filter(|_| p.station == 0) {
            return vec![z];
        }
        let head = p.station + 1 == grid.stations.len();
        let highest = cx.upstream.invert_m.filter(|_| head);
        let highest = highest.map_or(f64::INFINITY, |z| z + LENGTH_TOLERANCE_M);
        let ground = grid.nodes[p.node as usize].ground_m;
        let ground = ground.expect("positions have ground");
        let crown_m = (cx.size.id_mm + cx.size.od_mm) / 2000.0;
        let deepest = ground - job.pits.max_depth_m + job.rig.axis_height_m;
        let shallowest = ground - job.rules.min_cover_m - crown_m;
        let lowest = (deepest / step).floor() as i64 - 1;
        let above = (shallowest / step).ceil() as i64 + 1;
        let all = (lowest..=above).map(|k| k as f64 * step);
        all.filter(|z| *z <= highest).collect()
    };
    grid.positions.iter().map(at).collect()
}
