//! How far pits lead along a route, levels left free.
//!
//! From a place up the route, station by station: a place is reached if a drive leads to it from one that is, and both pits
//! may stand. What a pit's place allows further up depends on how it was reached (launching, receiving), so that is kept.

use super::{
    budget::{Budget, Spent, is_too_large},
    closed::{no_pit_at, no_pit_round},
    reach::Ways,
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    plan::{
        context::Context,
        search::{DirectionId, NodeId, ON_CHORD_M, may_launch},
    },
};
use geo::Coord;

/// A stretch along which pits can be set and bored from one to the next.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Island {
    /// Its lowest pit.
    pub from_m: f64,
    /// Its highest pit.
    pub to_m: f64,
}

/// A stretch between islands, or between an end of the route and an island.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Gap {
    /// Lowest pit of the island below; that end of the route where there is none.
    pub start_m: f64,
    /// From.
    pub from_m: f64,
    /// To.
    pub to_m: f64,
}

/// A place where a manhole may stand.
#[derive(Debug, Clone, Copy)]
struct Place {
    node: NodeId,
    station: usize,
}

/// How a place has been reached from downstream.
#[derive(Debug, Clone, Copy, Default)]
struct Reached {
    /// The way starts here.
    start: bool,
    /// Its drive is launched here, where a launch pit may stand.
    launched: bool,
    /// Its drive is received here, where a reception pit may stand.
    received: bool,
    /// Its drive comes in here: if a drive is launched up the route, it is received in that launch pit.
    open: bool,
}

impl Reached {
    fn stands(&self) -> bool {
        self.launched || self.received
    }

    fn any(&self) -> bool {
        self.start || self.launched || self.open
    }
}

/// The search along one route.
pub struct Islands<'c, 'a> {
    /// What is lawful along it.
    pub ways: Ways<'c, 'a>,
    places: Vec<Place>,
    reached: Vec<Reached>,
    /// By station, as far as it was looked at: no pit can stand there.
    closed: Vec<Option<bool>>,
}

impl<'c, 'a> Islands<'c, 'a> {
    /// Of a route.
    pub fn new(cx: &'c Context<'a>) -> Result<Self, Spent> {
        let ways = Ways::new(cx);
        if is_too_large(&ways.grid) {
            return Err(Spent);
        }
        let grid = &ways.grid;
        // Any unmoved station with ground: a through pit there, unlike a manhole, needs no level of the grid.
        let unmoved = (0..grid.stations.len()).filter(|s| grid.nodes[*s].ground_m.is_some());
        let unmoved = unmoved.map(|station| Place {
            node: station as NodeId,
            station,
        });
        let moved = grid.positions.iter().map(|p| Place {
            node: p.node,
            station: p.station,
        });
        let moved = moved.filter(|p| p.node as usize >= grid.stations.len());
        let mut places: Vec<Place> = unmoved.chain(moved).collect();
        places.sort_by_key(|p| (p.station, p.node));
        Ok(Islands {
            reached: vec![Reached::default(); places.len()],
            closed: vec![None; ways.grid.stations.len()],
            ways,
            places,
        })
    }

    /// All islands, up the route. One that is a single pit is none, but for the whole of a route without drives.
    pub fn all(&mut self, budget: &mut Budget) -> Result<Vec<Island>, Spent> {
        let mut out = vec![];
        let mut station = 0;
        while station + 1 < self.ways.grid.stations.len() {
            let top = self.climb(station, budget)?;
            if top > station {
                out.push(Island {
                    from_m: self.chainage_m(station),
                    to_m: self.chainage_m(top),
                });
            }
            station = top + 1;
        }
        Ok(out)
    }

    /// What lies between the islands.
    pub fn gaps(&mut self, budget: &mut Budget) -> Result<Vec<Gap>, Spent> {
        let end_m = self.ways.cx.alignment.length_m();
        let mut gaps = vec![];
        let (mut start_m, mut from_m) = (0.0, 0.0);
        for island in self.all(budget)? {
            gaps.push(Gap {
                start_m,
                from_m,
                to_m: island.from_m,
            });
            (start_m, from_m) = (island.from_m, island.to_m);
        }
        gaps.push(Gap {
            start_m,
            from_m,
            to_m: end_m,
        });
        gaps.retain(|g| g.to_m > g.from_m + LENGTH_TOLERANCE_M);
        Ok(gaps)
    }

    /// Whether pits lead over a gap of the same route in another world, from the island below it.
    pub fn lead_over(&mut self, gap: &Gap, budget: &mut Budget) -> Result<bool, Spent> {
        let stations = &self.ways.grid.stations;
        let below = |m: f64| m < gap.start_m - LENGTH_TOLERANCE_M;
        let start = stations.partition_point(|s| below(s.chainage_m));
        let top = self.climb(start, budget)?;
        Ok(self.chainage_m(top) >= gap.to_m - LENGTH_TOLERANCE_M)
    }

    /// Whether pits lead from one end of the route to the other.
    pub fn lead_through(&mut self, budget: &mut Budget) -> Result<bool, Spent> {
        Ok(self.climb(0, budget)? + 1 == self.ways.grid.stations.len())
    }

    /// Stations within a gap, its ends included, each with the next one up the route (at the end of the route: down).
    pub fn stations_of(&self, gap: &Gap) -> Vec<[NodeId; 2]> {
        let stations = &self.ways.grid.stations;
        let within =
            |m: f64| m >= gap.from_m - LENGTH_TOLERANCE_M && m <= gap.to_m + LENGTH_TOLERANCE_M;
        let inside = (0..stations.len()).filter(|s| within(stations[*s].chainage_m));
        let pair = |s: usize| {
            if s + 1 < stations.len() {
                [s, s + 1]
            } else {
                [s, s - 1]
            }
        };
        inside.map(|s| pair(s).map(|i| i as NodeId)).collect()
    }

    fn chainage_m(&self, station: usize) -> f64 {
        self.ways.grid.stations[station].chainage_m
    }

    /// The highest station that pits lead to from one; that one where they lead nowhere.
    fn climb(&mut self, from: usize, budget: &mut Budget) -> Result<usize, Spent> {
        let first = self.places.partition_point(|p| p.station < from);
        let mut top = from;
        for q in first..self.places.len() {
            self.reached[q] = Reached {
                start: self.places[q].station == from,
                ..Reached::default()
            };
        }
        for q in first..self.places.len() {
            let Place { node, station } = self.places[q];
            let turns = self.ways.cx.job().search.corridor_m > 0.0;
            // With a corridor runs come in from many directions: one look for all of them first.
            if turns
                && (self.is_closed(station) || no_pit_at(self.ways.cx, self.ways.grid.point(node)))
            {
                continue;
            }
            self.arrive(first, q, budget)?;
            if self.reached[q].stands() {
                top = self.places[q].station;
            }
        }
        Ok(top)
    }

    /// No pit can stand at a station, wherever the corridor allows it. (Without a corridor one look at the pit says as much.)
    fn is_closed(&mut self, station: usize) -> bool {
        if self.ways.cx.job().search.corridor_m == 0.0 {
            return false;
        }
        let cx = self.ways.cx;
        let point = self.ways.grid.stations[station].point;
        *self.closed[station].get_or_insert_with(|| no_pit_round(cx, point))
    }

    /// Looks for ways to a place from those below it, the nearest first.
    fn arrive(&mut self, first: usize, q: usize, budget: &mut Budget) -> Result<(), Spent> {
        let cx = self.ways.cx;
        let (search, s) = (&cx.job().search, self.places[q].station);
        let spacing_m = cx.job().rules.manhole_spacing_m + LENGTH_TOLERANCE_M;
        let corridor_m = search.corridor_m.max(ON_CHORD_M) + LENGTH_TOLERANCE_M;
        for p in (first..q).rev() {
            let t = self.places[p].station;
            if t == s {
                continue;
            }
            let grid = &self.ways.grid;
            // A run ends at the first junction: there is a manhole.
            if t + 1 < s && !grid.branches(t + 1).is_empty() || self.all_known(q) {
                break;
            }
            let (above, below) = (grid.stations[s], grid.stations[t]);
            // A chord stays within the spacing of its start and the route within the corridor of the chord.
            if apart(above.point, below.point) > spacing_m + 2.0 * (corridor_m + search.corridor_m)
            {
                break;
            }
            if !self.reached[p].any() {
                continue;
            }
            let nodes = [q, p].map(|i| self.places[i].node);
            let length_m = grid.distance_m(nodes[0], nodes[1]);
            let [a, b] = nodes.map(|n| grid.point(n));
            let lies = length_m <= spacing_m
                && length_m >= LENGTH_TOLERANCE_M
                && cx.alignment.strays_from(&above, &below, a, b) <= corridor_m;
            if lies {
                self.run(p, q, budget)?;
            }
        }
        Ok(())
    }

    /// No further way to a place can tell more.
    fn all_known(&self, q: usize) -> bool {
        let r = &self.reached[q];
        (r.launched || !may_launch(self.ways.cx, FROM_UPSTREAM))
            && (r.received || !may_launch(self.ways.cx, FROM_DOWNSTREAM))
    }

    /// Looks for ways along the run from place `q` down to place `p`.
    fn run(&mut self, p: usize, q: usize, budget: &mut Budget) -> Result<(), Spent> {
        budget.look()?;
        let [us, ds] = [q, p].map(|i| self.places[i].node);
        if !self.within_reach(us, ds) && !self.can_step([p, q]) {
            return Ok(());
        }
        let (up, down) = (self.ways.direction(ds, us), self.ways.direction(us, ds));
        let leaves = [self.leaves(p, up, false), self.leaves(p, up, true)];
        let pits = [
            self.ways.pit(us, down, false),
            self.ways.pit(us, down, true),
        ];
        let mut way = Leg { leaves, pits };
        if !way.tells_more(&self.reached[q]) {
            return Ok(());
        }
        if self.within_reach(us, ds) {
            let drive = self.ways.drive(us, ds, budget)?;
            way.add_to(&mut self.reached[q], drive);
        }
        if way.tells_more(&self.reached[q]) && !self.all_known(q) {
            self.with_through_pits([p, q], down, &mut way, budget)?;
        }
        Ok(())
    }

    /// No two neighbouring feet of open stations along the run from place `q` down to place `p` are out of reach of each other.
    fn can_step(&mut self, [p, q]: [usize; 2]) -> bool {
        let between = self.places[p].station + 1..self.places[q].station;
        let open: Vec<usize> = between.filter(|s| !self.is_closed(*s)).collect();
        let grid = &self.ways.grid;
        let [us, ds] = [q, p].map(|i| grid.point(self.places[i].node));
        let length_m = apart(us, ds);
        let along = |s: usize| {
            let (d, e) = (ds - us, grid.stations[s].point - us);
            ((d.x * e.x + d.y * e.y) / length_m).clamp(0.0, length_m)
        };
        let mut feet: Vec<f64> = open.into_iter().map(along).chain([0.0, length_m]).collect();
        feet.sort_by(f64::total_cmp);
        let reach_m = self.ways.cx.reach.m + LENGTH_TOLERANCE_M;
        feet.windows(2).all(|w| w[1] - w[0] <= reach_m)
    }

    fn within_reach(&self, us: NodeId, ds: NodeId) -> bool {
        self.ways.grid.distance_m(us, ds) <= self.ways.cx.reach.m + LENGTH_TOLERANCE_M
    }

    /// The pit at a place may stand with a drive up the route, launched from it or not.
    fn leaves(&mut self, p: usize, up: DirectionId, launched: bool) -> bool {
        let (r, place) = (self.reached[p], self.places[p]);
        // The downstream pit of a branch is that of the route it joins.
        if r.start && place.station == 0 && self.ways.cx.joined {
            return true;
        }
        match (launched, r.start) {
            (launched, true) => self.ways.pit(place.node, up, launched),
            (false, _) => r.stands(),
            (true, _) => r.launched || r.open && self.ways.pit(place.node, up, true),
        }
    }

    /// The same with through pits at the feet of the stations between. Where these all stand on the route, every one is a
    /// place itself and was looked at as such.
    fn with_through_pits(
        &mut self,
        [p, q]: [usize; 2],
        down: DirectionId,
        last: &mut Leg,
        budget: &mut Budget,
    ) -> Result<(), Spent> {
        let cx = self.ways.cx;
        let [us, ds] = [q, p].map(|i| self.places[i].node);
        let between = self.places[p].station + 1..self.places[q].station;
        let open: Vec<usize> = between.filter(|s| !self.is_closed(*s)).collect();
        let feet = open
            .into_iter()
            .filter_map(|s| self.ways.grid.foot(cx, [us, ds], s, |_| true));
        let feet: Vec<NodeId> = feet.map(|f| f.0).collect();
        if feet
            .iter()
            .all(|f| (*f as usize) < self.ways.grid.stations.len())
        {
            return Ok(());
        }
        let mut stands: Vec<(NodeId, Leg, Reached)> = vec![];
        for foot in feet {
            budget.look()?;
            let pits = [
                self.ways.pit(foot, down, false),
                self.ways.pit(foot, down, true),
            ];
            if pits == [false; 2] {
                continue;
            }
            let mut here = Reached::default();
            let from_below = std::iter::once((ds, last.leaves));
            let from_feet = stands.iter().map(|(n, leg, r)| (*n, leg.onward(r)));
            let below: Vec<(NodeId, [bool; 2])> = from_below.chain(from_feet).collect();
            for (node, leaves) in below.into_iter().rev() {
                let leg = Leg { leaves, pits };
                if leg.tells_more(&here) && self.within_reach(foot, node) {
                    leg.add_to(&mut here, self.ways.drive(foot, node, budget)?);
                }
            }
            if here.any() {
                let leaves = [false; 2];
                stands.push((foot, Leg { leaves, pits }, here));
            }
        }
        for (node, leg, r) in &stands {
            last.leaves = leg.onward(r);
            if last.tells_more(&self.reached[q]) && self.within_reach(us, *node) {
                let drive = self.ways.drive(us, *node, budget)?;
                last.add_to(&mut self.reached[q], drive);
            }
        }
        Ok(())
    }
}

/// A drive up the route: how it may leave the pit below, and what pit may stand above it.
#[derive(Debug, Clone, Copy)]
struct Leg {
    /// The pit below may receive it, may launch it.
    leaves: [bool; 2],
    /// The pit above may launch nothing, may launch something.
    pits: [bool; 2],
}

impl Leg {
    /// It can add to what is known of the place above.
    fn tells_more(&self, r: &Reached) -> bool {
        let launched_above = self.leaves[0] && self.pits[1] && !r.launched;
        let launched_below = self.leaves[1] && (!r.open || self.pits[0] && !r.received);
        launched_above || launched_below
    }

    /// Adds what a drive does that may be launched from these sides.
    fn add_to(&self, r: &mut Reached, sides: [bool; 2]) {
        r.launched |= sides[FROM_UPSTREAM] && self.leaves[0] && self.pits[1];
        let comes_in = sides[FROM_DOWNSTREAM] && self.leaves[1];
        r.open |= comes_in;
        r.received |= comes_in && self.pits[0];
    }

    /// How the next drive may leave the through pit above this one.
    fn onward(&self, r: &Reached) -> [bool; 2] {
        let receives = r.launched || r.received;
        [receives, self.pits[1] && (r.launched || r.open)]
    }
}

fn apart(a: Coord<f64>, b: Coord<f64>) -> f64 {
    let d = a - b;
    d.x.hypot(d.y)
}
