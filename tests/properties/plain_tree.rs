//! The plain search for trees of joined routes: from every outfall up, every choice of manholes, levels, through pits, launch
//! sides and branches in turn, with no bound, no dominance and no order of merit. It goes the other way than the real search,
//! and asks the library only what one pit or one drive costs and where pits may stand. Who may launch, and for which pits and
//! drives an old pipe that some route follows does not count, it works out by itself.

use super::plain_search::{Place, levels, sides};
use geo::Coord;
use pitwright::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    job::LaunchFrom,
    plan::{
        context::Context,
        search::{Coarse, DirectionId, Grid, NodeId, Prices, manhole_price},
        system::System,
    },
};
use rustc_hash::FxHashMap;
use std::{collections::BTreeMap, rc::Rc};

/// The drive that comes in at a manhole from upstream: the pit that it comes from, launched at the manhole.
type Arm = (NodeId, bool);

/// Least cost of all that lies upstream of a manhole along one route, the manhole's pit left out, by arm.
type Arms = BTreeMap<Arm, f64>;

/// A drive looking away from a pit, launched there.
type Away = (Coord<f64>, bool);

/// The same, as prices know it.
type Seen = (DirectionId, bool);

/// A grid, and what pits and drives cost on it.
type Priced<'c, 'a> = (Grid, Prices<'c, 'a>);

struct Route<'c, 'a> {
    grid: Grid,
    levels: Vec<Vec<f64>>,
    prices: Prices<'c, 'a>,
    /// The same without the old pipe.
    bare: Option<Priced<'c, 'a>>,
    /// It follows the old pipe.
    follows: bool,
    drives: FxHashMap<(NodeId, NodeId, u64, u64, usize), Option<f64>>,
    /// By upstream and downstream position.
    runs: FxHashMap<(usize, usize), Rc<[Place]>>,
    /// By position and inlet.
    arms: FxHashMap<(usize, u64), Arms>,
    /// By position, outlet, node downstream and launched.
    manholes: FxHashMap<(usize, u64, NodeId, bool), f64>,
}

pub struct PlainTree<'c, 'a> {
    system: &'c System<'a>,
    routes: Vec<Route<'c, 'a>>,
    sides: &'static [usize],
}

impl<'c, 'a> PlainTree<'c, 'a> {
    pub fn new(system: &'c System<'a>) -> Self {
        let route = |m: &'c pitwright::plan::system::Member<'a>| {
            let grid = Grid::new(&m.cx, Coarse::FINEST);
            Route {
                levels: levels(&m.cx, &grid),
                grid,
                prices: Prices::new(&m.cx),
                bare: None,
                follows: false,
                drives: FxHashMap::default(),
                runs: FxHashMap::default(),
                arms: FxHashMap::default(),
                manholes: FxHashMap::default(),
            }
        };
        let from = system.members[0].cx.job().rig.launch_from;
        PlainTree {
            system,
            routes: system.members.iter().map(route).collect(),
            sides: sides(from),
        }
    }

    /// Launches from these sides only, whatever the job that prices the drives says.
    pub fn launching_from(mut self, from: LaunchFrom) -> Self {
        self.sides = sides(from);
        self
    }

    /// Some routes follow one old pipe. `bare` is the tree without that pipe; in the tree that the search was made with it stands, and
    /// no route follows it.
    pub fn following(mut self, bare: &'c System<'a>, follows: &[bool]) -> Self {
        for ((r, m), follows) in self.routes.iter_mut().zip(&bare.members).zip(follows) {
            r.bare = Some((Grid::new(&m.cx, Coarse::FINEST), Prices::new(&m.cx)));
            r.follows = *follows;
        }
        self
    }

    /// The old pipe does not count for the pit at a node of a route: the route follows it, or one that ends there does.
    fn exempts_pit(&self, m: usize, node: NodeId) -> bool {
        self.routes[m].follows || self.ends_at(m, node).any(|b| self.routes[b].follows)
    }

    /// It does not count for a drive of a route: the route follows it, or one does that joins this route and ends where the
    /// drive does.
    fn exempts_drive(&self, m: usize, nodes: [NodeId; 2]) -> bool {
        let route = |m: usize| self.system.members[m].cx.route;
        let joins = |b: usize| route(b).joins.as_ref() == Some(&route(m).route_id);
        let mut ends: Vec<usize> = nodes.iter().flat_map(|n| self.ends_at(m, *n)).collect();
        // The lowest pit of a branch is that of the route it joins, and what ends there ends here.
        if let Some(below) = self.system.members[m].parent.filter(|_| nodes[1] == 0) {
            let junctions = &self.system.members[below].cx.junctions;
            let own = junctions.iter().find(|j| j.branches.contains(&m));
            ends.extend(&own.expect("it joins somewhere").branches);
        }
        self.routes[m].follows || ends.into_iter().any(|b| self.routes[b].follows && joins(b))
    }

    /// Routes whose downstream end is at a node of another.
    fn ends_at(&self, m: usize, node: NodeId) -> impl Iterator<Item = usize> + '_ {
        let grid = &self.routes[m].grid;
        // Junctions are stations, and their manholes never moved: nodes come in the order of stations.
        let at = (node as usize) < grid.stations.len();
        let ends = if at {
            grid.branches(node as usize)
        } else {
            &[]
        };
        ends.iter().copied()
    }

    /// Least cost of any plan; +inf where there is none.
    pub fn least_cost(&mut self) -> f64 {
        let mut best = f64::INFINITY;
        for p in self.positions_at(0, 0) {
            for z in self.routes[0].levels[p].clone() {
                best = best.min(self.outfall(p, z));
            }
        }
        best
    }

    fn positions_at(&self, m: usize, station: usize) -> Vec<usize> {
        let grid = &self.routes[m].grid;
        let at = |p: &usize| grid.positions[*p].station == station;
        (0..grid.positions.len()).filter(at).collect()
    }

    /// The system's outfall: what comes down the route comes in at the outfall's level, branches no lower.
    fn outfall(&mut self, p: usize, z: f64) -> f64 {
        let own = self.arms(0, p, z);
        let most = self.system.members[0].cx.job().rules.manhole_drop_max_m;
        let allowed = |inlet: f64| {
            inlet >= z - LENGTH_TOLERANCE_M
                && most.is_none_or(|d| inlet - z <= d + LENGTH_TOLERANCE_M)
        };
        let branches = self.branch_arms(0, p, &allowed);
        self.stand(0, p, z, None, Some(own), branches)
    }

    /// A manhole with a drive going down from it to `ds`.
    fn manhole(&mut self, m: usize, p: usize, z: f64, ds: NodeId, launched: bool) -> f64 {
        let key = (p, z.to_bits(), ds, launched);
        if let Some(known) = self.routes[m].manholes.get(&key) {
            return *known;
        }
        let rules = &self.system.members[m].cx.job().rules;
        let (least, most) = (rules.manhole_drop_m, rules.manhole_drop_max_m);
        let drops = |inlet: f64| {
            inlet - z >= least - LENGTH_TOLERANCE_M
                && most.is_none_or(|d| inlet - z <= d + LENGTH_TOLERANCE_M)
        };
        let head =
            self.routes[m].grid.positions[p].station + 1 == self.routes[m].grid.stations.len();
        let own = (!head).then(|| {
            let mut own = Arms::new();
            for inlet in self.routes[m].levels[p]
                .clone()
                .into_iter()
                .filter(|i| drops(*i))
            {
                lower(&mut own, self.arms(m, p, inlet));
            }
            own
        });
        let branches = self.branch_arms(m, p, &drops);
        let grid = &self.routes[m].grid;
        let down = (away(grid, grid.positions[p].node, ds), launched);
        let cost = self.stand(m, p, z, Some(down), own, branches);
        self.routes[m].manholes.insert(key, cost);
        cost
    }

    /// Arms of every branch that joins at a position, as seen from there.
    fn branch_arms(
        &mut self,
        m: usize,
        p: usize,
        allowed: &dyn Fn(f64) -> bool,
    ) -> Vec<Vec<(Away, f64)>> {
        let station = self.routes[m].grid.positions[p].station;
        let branches = self.routes[m].grid.branches(station).to_vec();
        let mut out = vec![];
        for b in branches {
            let mut arms = Arms::new();
            for end in self.positions_at(b, 0) {
                for inlet in self.routes[b].levels[end]
                    .clone()
                    .into_iter()
                    .filter(|i| allowed(*i))
                {
                    lower(&mut arms, self.arms(b, end, inlet));
                }
            }
            let grid = &self.routes[b].grid;
            let seen =
                |((from, launched), cost): (Arm, f64)| ((away(grid, 0, from), launched), cost);
            out.push(arms.into_iter().map(seen).collect());
        }
        out
    }

    /// Least cost of the pit and of all upstream, over every choice of arms.
    fn stand(
        &mut self,
        m: usize,
        p: usize,
        z: f64,
        down: Option<Away>,
        own: Option<Arms>,
        branches: Vec<Vec<(Away, f64)>>,
    ) -> f64 {
        let grid = &self.routes[m].grid;
        let node = grid.positions[p].node;
        let own = own.map(|arms| {
            let seen =
                |((from, launched), cost): (Arm, f64)| ((away(grid, node, from), launched), cost);
            arms.into_iter().map(seen).collect::<Vec<_>>()
        });
        let exempt = self.exempts_pit(m, node);
        let mut choices: Vec<(Vec<Seen>, f64)> = vec![(vec![], 0.0)];
        let down = down.map(|d| vec![(d, 0.0)]);
        for arms in down.into_iter().chain(own).chain(branches) {
            let arms: Vec<(Seen, f64)> = arms
                .into_iter()
                .map(|(drive, cost)| (self.seen(m, exempt, drive), cost))
                .collect();
            let with = |(drives, so_far): &(Vec<Seen>, f64)| {
                let more = |(drive, cost): &(Seen, f64)| {
                    ([&drives[..], &[*drive]].concat(), so_far + cost)
                };
                arms.iter().map(more).collect::<Vec<_>>()
            };
            choices = choices.iter().flat_map(with).collect();
        }
        let mut best = f64::INFINITY;
        let (grid, prices) = self.routes[m].priced(exempt);
        for (drives, cost) in choices {
            let price = prices.pit(grid, node, &drives);
            let pit = price.and_then(|x| x.at(z)).map_or(f64::INFINITY, |c| c.0);
            best = best.min(cost + pit);
        }
        let r = &self.routes[m];
        best + manhole_price(&self.system.members[m].cx, &r.grid, p, z)
    }

    /// A drive as prices know it.
    fn seen(&mut self, m: usize, exempt: bool, (away, launched): Away) -> Seen {
        let (_, prices) = self.routes[m].priced(exempt);
        (prices.direction_of(away), launched)
    }

    /// Every way to come in at `inlet`.
    fn arms(&mut self, m: usize, p: usize, inlet: f64) -> Arms {
        let key = (p, inlet.to_bits());
        if let Some(known) = self.routes[m].arms.get(&key) {
            return known.clone();
        }
        let mut arms = Arms::new();
        for us in 0..self.routes[m].grid.positions.len() {
            if self.is_run(m, us, p) {
                let places = self.places(m, us, p);
                for outlet in self.routes[m].levels[us].clone() {
                    lower(&mut arms, self.run(m, us, &places, [outlet, inlet]));
                }
            }
        }
        self.routes[m].arms.insert(key, arms.clone());
        arms
    }

    fn is_run(&self, m: usize, us: usize, ds: usize) -> bool {
        let (grid, cx) = (&self.routes[m].grid, &self.system.members[m].cx);
        let [a, b] = [us, ds].map(|p| &grid.positions[p]);
        let passes_junction = |s: usize| !grid.branches(s).is_empty();
        if a.station <= b.station || (b.station + 1..a.station).any(passes_junction) {
            return false;
        }
        let [p, q] = [a.node, b.node].map(|n| grid.point(n));
        let [s, t] = [a.station, b.station].map(|i| grid.stations[i]);
        let corridor = cx.job().search.corridor_m.max(0.01) + LENGTH_TOLERANCE_M;
        let length = grid.distance_m(a.node, b.node);
        length <= cx.job().rules.manhole_spacing_m + LENGTH_TOLERANCE_M
            && cx.alignment.strays_from(&s, &t, p, q) <= corridor
    }

    /// A run, from the upstream manhole to the downstream one.
    fn places(&mut self, m: usize, us: usize, ds: usize) -> Rc<[Place]> {
        if let Some(known) = self.routes[m].runs.get(&(us, ds)) {
            return known.clone();
        }
        let cx = &self.system.members[m].cx;
        let grid = &self.routes[m].grid;
        let nodes = [us, ds].map(|p| grid.positions[p].node);
        let between = grid.positions[ds].station + 1..grid.positions[us].station;
        let length = grid.distance_m(nodes[0], nodes[1]);
        let mut places = vec![Place::end(nodes[0], 0.0)];
        for s in between.rev() {
            let Some((node, along_m)) = self.routes[m].foot(cx, nodes, s) else {
                continue;
            };
            let [up, down] = nodes.map(|n| away(&self.routes[m].grid, node, n));
            let mut pit = |next: bool, before: bool| {
                let exempt = self.exempts_pit(m, node);
                let [down, up] = [(down, next), (up, before)].map(|d| self.seen(m, exempt, d));
                let (grid, prices) = self.routes[m].priced(exempt);
                prices.pit(grid, node, &[down, up])
            };
            let through = [false, true].map(|next| [false, true].map(|b| pit(next, b)));
            places.push(Place {
                node,
                along_m,
                through,
            });
        }
        places.push(Place::end(nodes[1], length));
        let places: Rc<[Place]> = places.into();
        self.routes[m].runs.insert((us, ds), places.clone());
        places
    }

    /// Every way to build one run and all upstream of it.
    fn run(&mut self, m: usize, us: usize, places: &[Place], inverts: [f64; 2]) -> Arms {
        let cx = &self.system.members[m].cx;
        let (head, end) = (&places[0], &places[places.len() - 1]);
        let grade = (inverts[0] - inverts[1]) / end.along_m;
        if grade < cx.grade[0] - 1e-9 || grade > cx.grade[1] + 1e-9 {
            return Arms::new();
        }
        let level = |p: &Place| inverts[0] + (inverts[1] - inverts[0]) * (p.along_m / end.along_m);
        let levels: Vec<f64> = places.iter().map(level).collect();
        let mut arms = Arms::new();
        for &side in self.sides {
            let ways = self.drives_from(m, (places, &levels), 0, side);
            if ways.iter().all(|w| w.is_infinite()) {
                continue;
            }
            let above = self.manhole(m, us, inverts[0], end.node, side == FROM_UPSTREAM);
            for (launched, cost) in [false, true].into_iter().zip(ways) {
                if (above + cost).is_finite() {
                    let way = Arms::from([((head.node, launched), above + cost)]);
                    lower(&mut arms, way);
                }
            }
        }
        arms
    }

    /// Least cost of the drives and through pits from place `i` of a run on, the next drive being launched from `side`, by whether
    /// the last is launched at the end.
    fn drives_from(
        &mut self,
        m: usize,
        run: (&[Place], &[f64]),
        i: usize,
        side: usize,
    ) -> [f64; 2] {
        let mut best = [f64::INFINITY; 2];
        let (places, levels) = run;
        let end = places.len() - 1;
        let here = usize::from(side == FROM_DOWNSTREAM);
        for j in i + 1..=end {
            if places[j].along_m - places[i].along_m <= LENGTH_TOLERANCE_M {
                continue;
            }
            let nodes = [places[i].node, places[j].node];
            let Some(drive) = self.drive(m, nodes, [levels[i], levels[j]], side) else {
                continue;
            };
            if j == end {
                best[here] = best[here].min(drive);
                continue;
            }
            for &next in self.sides {
                let pit = places[j].pit(levels[j], side, next);
                if pit.is_finite() {
                    let rest = self.drives_from(m, run, j, next);
                    best = [0, 1].map(|l| best[l].min(drive + pit + rest[l]));
                }
            }
        }
        best
    }

    fn drive(
        &mut self,
        m: usize,
        nodes: [NodeId; 2],
        inverts: [f64; 2],
        side: usize,
    ) -> Option<f64> {
        let key = (
            nodes[0],
            nodes[1],
            inverts[0].to_bits(),
            inverts[1].to_bits(),
            side,
        );
        if let Some(known) = self.routes[m].drives.get(&key) {
            return *known;
        }
        let exempt = self.exempts_drive(m, nodes);
        let (grid, prices) = self.routes[m].priced(exempt);
        let drive = prices.drive(grid, nodes[0], nodes[1]);
        let cost = drive.and_then(|d| {
            let above = d.profile.least_above(inverts[0], inverts[1], d.length_m);
            let covered = above >= -LENGTH_TOLERANCE_M;
            covered
                .then(|| prices.drive_cost(&d, inverts, side))
                .flatten()
        });
        self.routes[m].drives.insert(key, cost);
        cost
    }
}

impl<'c, 'a> Route<'c, 'a> {
    /// What pits and drives cost with the old pipe, or without it.
    fn priced(&mut self, exempt: bool) -> (&Grid, &mut Prices<'c, 'a>) {
        match &mut self.bare {
            Some((grid, prices)) if exempt => (grid, prices),
            _ => (&self.grid, &mut self.prices),
        }
    }

    /// Foot of a station on a chord, the same node with the old pipe and without it.
    fn foot(&mut self, cx: &Context, nodes: [NodeId; 2], station: usize) -> Option<(NodeId, f64)> {
        let foot = self.grid.foot(cx, nodes, station, |_| true);
        if let Some((grid, _)) = &mut self.bare {
            assert_eq!(grid.foot(cx, nodes, station, |_| true), foot);
        }
        foot
    }
}

fn away(grid: &Grid, from: NodeId, to: NodeId) -> Coord<f64> {
    let d = grid.point(to) - grid.point(from);
    d / d.x.hypot(d.y)
}

fn lower(best: &mut Arms, more: Arms) {
    for (arm, cost) in more {
        let known = best.entry(arm).or_insert(f64::INFINITY);
        *known = known.min(cost);
    }
}
