//! The grid: stations, sideways positions, levels.

use super::{middle::Middle, pricing::exempt_for_pit, strip::Strip};
use crate::{
    alignment::{Alignment, Station},
    clearance::LENGTH_TOLERANCE_M,
    plan::context::Context,
};
use geo::Coord;
use std::collections::{BTreeMap, HashMap};

/// Index of a node: a place where a pit may stand.
pub type NodeId = u32;

/// A place where a pit may stand.
#[derive(Debug, Clone, Copy)]
pub struct Node {
    /// Plan position.
    pub point: Coord<f64>,
    /// Ground level there; none: no pit.
    pub ground_m: Option<f64>,
    /// Its station.
    pub station: usize,
    /// Signed distance from the station, right looking downstream positive (m).
    pub offset_m: f64,
}

/// A place where a manhole may stand: a station, maybe moved sideways.
#[derive(Debug, Clone)]
pub struct Position {
    /// Its node.
    pub node: NodeId,
    /// Its station.
    pub station: usize,
    /// Inverts on the grid here.
    pub levels: LevelGrid,
    /// What is certain of every pit here; none before it is worked out, and at a branch's downstream end, where the pit is that of
    /// the route it joins.
    pub middle: Option<Middle>,
}

/// The inverts that a manhole may have.
#[derive(Debug, Clone, PartialEq)]
pub enum LevelGrid {
    /// Whole multiples of a step: `(first + i)·stride` steps of `step_m` for i from 0 to `count` - 1, rising.
    Steps {
        /// Index of the lowest.
        first: i64,
        /// How many.
        count: usize,
        /// Level step of the job (m).
        step_m: f64,
        /// How many steps apart.
        stride: i64,
        /// Levels to a metre.
        per_m: f64,
    },
    /// Exactly this one.
    Fixed(f64),
}

impl LevelGrid {
    /// How many levels.
    pub fn len(&self) -> usize {
        match self {
            LevelGrid::Steps { count, .. } => *count,
            LevelGrid::Fixed(_) => 1,
        }
    }

    /// No level fits.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Level `i`, rising with i.
    pub fn level(&self, i: usize) -> f64 {
        match self {
            // a whole number times the step, as any other program would write it
            LevelGrid::Steps {
                first,
                step_m,
                stride,
                ..
            } => ((first + i as i64) * stride) as f64 * step_m,
            LevelGrid::Fixed(z) => *z,
        }
    }

    /// Index range of the levels from `low` to `high`, both included within the tolerance.
    pub fn range(&self, low: f64, high: f64) -> std::ops::Range<usize> {
        match self {
            LevelGrid::Steps {
                first,
                count,
                per_m,
                ..
            } => {
                let from = ceil((low - LENGTH_TOLERANCE_M) * per_m).saturating_sub(*first);
                let to = -ceil(-(high + LENGTH_TOLERANCE_M) * per_m);
                let to = to.saturating_sub(*first).saturating_add(1);
                let clamp = |x: i64| x.clamp(0, *count as i64) as usize;
                clamp(from)..clamp(to).max(clamp(from))
            }
            LevelGrid::Fixed(z) => {
                0..usize::from(*z >= low - LENGTH_TOLERANCE_M && *z <= high + LENGTH_TOLERANCE_M)
            }
        }
    }

    /// Index of any level, maybe between two; 0 where there is but one.
    pub fn index(&self, z: f64) -> f64 {
        match self {
            LevelGrid::Steps { first, per_m, .. } => z * per_m - *first as f64,
            LevelGrid::Fixed(_) => 0.0,
        }
    }

    /// The levels of `other` between `low` and `high` above the level with any index, both included within the tolerance, as what
    /// their first and last index is more than that; none where the two are not steps of one kind.
    pub fn window(&self, other: &LevelGrid, [low, high]: [f64; 2]) -> Option<[i64; 2]> {
        let LevelGrid::Steps {
            first,
            step_m,
            stride,
            per_m,
            ..
        } = self
        else {
            return None;
        };
        let LevelGrid::Steps {
            first: other_first,
            step_m: other_step_m,
            stride: other_stride,
            ..
        } = other
        else {
            return None;
        };
        if (step_m, stride) != (other_step_m, other_stride) {
            return None;
        }
        // A hair more than the tolerance, for the rounding of levels.
        let tolerance_m = LENGTH_TOLERANCE_M + 1e-9;
        let from = ceil((low - tolerance_m) * per_m);
        let to = -ceil(-(high + tolerance_m) * per_m);
        let apart = first - other_first;
        Some([from + apart, to + apart])
    }

    /// The levels of both, and those between.
    fn and(&self, other: &LevelGrid) -> LevelGrid {
        let mut all = self.clone();
        if let (
            LevelGrid::Steps { first, count, .. },
            LevelGrid::Steps {
                first: other_first,
                count: other_count,
                ..
            },
        ) = (&mut all, other)
        {
            let end = (*first + *count as i64).max(other_first + *other_count as i64);
            *first = (*first).min(*other_first);
            *count = (end - *first) as usize;
        }
        all
    }

    /// Leaves out the levels below this.
    fn leave_out_below(&mut self, lowest_m: f64) {
        let left = self.range(lowest_m, f64::INFINITY);
        if let LevelGrid::Steps { first, count, .. } = self {
            *first += left.start as i64;
            *count = left.len();
        }
    }

    fn steps(low: f64, high: f64, step_m: f64, stride: i64) -> LevelGrid {
        let step = step_m * stride as f64;
        let first = ((low - LENGTH_TOLERANCE_M) / step).ceil() as i64;
        let last = ((high + LENGTH_TOLERANCE_M) / step).floor() as i64;
        LevelGrid::Steps {
            first,
            count: (last - first + 1).max(0) as usize,
            step_m,
            stride,
            per_m: 1.0 / step,
        }
    }
}

/// The least whole number that is not less; the greatest or least of all for what is beyond. (The library's own is a call where
/// the processor's instruction may not be there, and levels are asked for by the million.)
pub fn ceil(x: f64) -> i64 {
    let whole = x as i64;
    whole
        .saturating_add(i64::from((whole as f64) < x))
        .max(-i64::MAX)
}

/// How much coarser than the job asks a grid is: only every n-th station and level.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Coarse {
    /// Station step times this.
    pub stations: u32,
    /// Level step times this.
    pub levels: u32,
}

impl Coarse {
    /// As fine as the job asks.
    pub const FINEST: Coarse = Coarse {
        stations: 1,
        levels: 1,
    };
}

/// What is special at a station.
#[derive(Debug, Clone, Default)]
struct Place {
    /// Manholes stay on the route.
    held: bool,
    /// Branches that join there, by their places in the system.
    branches: Vec<usize>,
    /// A manhole stands there already.
    existing: bool,
    /// Service parts that do not count for the pit, and those that do not for the drives that end in it.
    exempt: [Vec<usize>; 2],
}

/// All places and levels of one route.
pub struct Grid {
    /// Stations, by rising chainage; 0 is the downstream end.
    pub stations: Vec<Station>,
    /// Manhole positions, by station, then offset.
    pub positions: Vec<Position>,
    /// Nodes: the unmoved stations first (node = station), then all others.
    pub nodes: Vec<Node>,
    /// What lies along the route.
    pub strip: Strip,
    /// What is special at the stations where anything is.
    places: BTreeMap<usize, Place>,
    feet: HashMap<(u64, u64, u32), NodeId>,
}

/// The stations of a route's grid.
pub fn stations(cx: &Context, coarse: Coarse) -> Vec<Station> {
    let step_m = cx.job().search.station_step_m * f64::from(coarse.stations);
    let junctions: Vec<f64> = cx.junctions.iter().map(|j| j.chainage_m).collect();
    cx.alignment.stations(step_m, &junctions)
}

/// How many steps a manhole may be moved to either side.
fn sideways(cx: &Context) -> i64 {
    let search = &cx.job().search;
    ((search.corridor_m + LENGTH_TOLERANCE_M) / search.corridor_step_m).floor() as i64
}

/// Manholes may be moved sideways.
pub fn has_room_aside(cx: &Context) -> bool {
    sideways(cx) > 0
}

impl Grid {
    /// The grid of a route.
    pub fn new(cx: &Context, coarse: Coarse) -> Grid {
        let stations = stations(cx, coarse);
        let node = |(i, s): (usize, &Station)| Node {
            point: s.point,
            ground_m: cx.world.site.ground.level(s.point),
            station: i,
            offset_m: 0.0,
        };
        let nodes = stations.iter().enumerate().map(node).collect();
        let mut grid = Grid {
            places: places(cx, &stations),
            strip: Strip::new(cx, &stations),
            stations,
            positions: vec![],
            nodes,
            feet: HashMap::new(),
        };
        for station in 0..grid.stations.len() {
            grid.add_positions(cx, coarse, station);
        }
        grid
    }

    fn add_positions(&mut self, cx: &Context, coarse: Coarse, station: usize) {
        let search = &cx.job().search;
        let sideways = if self.places.get(&station).is_some_and(|p| p.held) {
            0
        } else {
            sideways(cx)
        };
        for k in -sideways..=sideways {
            let node = if k == 0 {
                station as NodeId
            } else {
                self.moved(cx, station, k as f64 * search.corridor_step_m)
            };
            let Some(ground_m) = self.nodes[node as usize].ground_m else {
                continue;
            };
            // The pit at a branch's downstream end is that of the route it joins.
            let own = station > 0 || !cx.joined;
            if own && cx.forbids(self.nodes[node as usize].point) {
                continue;
            }
            let levels = self.levels(cx, coarse, station, ground_m);
            if !levels.is_empty() {
                self.positions.push(Position {
                    node,
                    station,
                    levels,
                    middle: None,
                });
            }
        }
    }

    /// Leaves out the positions where no pit can stand and the levels that are lower than any pit there may be, and takes what is
    /// certain of the others' pits.
    pub fn keep_where_pits_stand(&mut self, cx: &Context) {
        let mut positions = std::mem::take(&mut self.positions);
        positions.retain_mut(|p| {
            // The pit at a branch's downstream end is that of the route it joins.
            if p.station == 0 && cx.joined {
                return true;
            }
            let node = &self.nodes[p.node as usize];
            let exempt = exempt_for_pit(cx, self, p.node);
            let middle = |ground_m| Middle::new(cx, node.point, ground_m, &exempt);
            p.middle = node.ground_m.and_then(middle);
            if let Some(middle) = &p.middle {
                p.levels.leave_out_below(middle.lowest_invert_m(cx));
            }
            p.middle.is_some() && !p.levels.is_empty()
        });
        self.positions = positions;
    }

    /// The positions of every station.
    pub fn by_station(&self) -> Vec<std::ops::Range<usize>> {
        let first = |s: usize| self.positions.partition_point(|p| p.station < s);
        (0..self.stations.len())
            .map(|s| first(s)..first(s + 1))
            .collect()
    }

    /// Some station has several positions.
    pub fn is_wide(&self) -> bool {
        self.positions
            .windows(2)
            .any(|w| w[0].station == w[1].station)
    }

    /// With the levels at every position that any of its station has.
    pub fn with_levels_of_any(&self) -> Grid {
        let mut positions = self.positions.clone();
        for of_one in positions.chunk_by_mut(|a, b| a.station == b.station) {
            let all = of_one.iter().map(|p| p.levels.clone());
            let all = all.reduce(|a, b| a.and(&b)).expect("a chunk is not empty");
            of_one.iter_mut().for_each(|p| p.levels = all.clone());
        }
        Grid {
            positions,
            stations: self.stations.clone(),
            nodes: self.nodes.clone(),
            strip: Strip::default(),
            places: self.places.clone(),
            feet: HashMap::new(),
        }
    }

    /// The position where a branch joins; none where no pit can stand there.
    pub fn junction(&self, branch: usize) -> Option<usize> {
        let joins = |station: usize| self.branches(station).contains(&branch);
        (0..self.positions.len()).find(|p| joins(self.positions[*p].station))
    }

    /// Inlet levels at the downstream end; none where no pit can stand there.
    pub fn inlets(&self) -> Option<&LevelGrid> {
        let first = self.positions.first();
        first.filter(|p| p.station == 0).map(|p| &p.levels)
    }

    /// Leaves out the levels of a position above this, but for the lowest.
    pub fn cap(&mut self, position: usize, highest_m: f64) {
        let below = self.positions[position]
            .levels
            .range(f64::NEG_INFINITY, highest_m);
        if let LevelGrid::Steps { count, .. } = &mut self.positions[position].levels {
            *count = below.end.max(1);
        }
    }

    /// Branches that join at a station, by their places in the system.
    pub fn branches(&self, station: usize) -> &[usize] {
        self.places.get(&station).map_or(&[], |p| &p.branches)
    }

    /// A manhole stands at a station already.
    pub fn existing(&self, station: usize) -> bool {
        self.places.get(&station).is_some_and(|p| p.existing)
    }

    /// Service parts that do not count for the pit at a node: connections, the pipes that branches follow.
    pub fn exempt_for_pit(&self, node: NodeId) -> Vec<usize> {
        self.exempt(&[node], 0)
    }

    /// The same for the drive between two nodes.
    pub fn exempt_for_drive(&self, nodes: [NodeId; 2]) -> Vec<usize> {
        self.exempt(&nodes, 1)
    }

    fn exempt(&self, nodes: &[NodeId], of: usize) -> Vec<usize> {
        // A node that is not an unmoved station has nothing special: special stations are held.
        let places = nodes.iter().filter_map(|n| self.places.get(&(*n as usize)));
        places.flat_map(|p| &p.exempt[of]).copied().collect()
    }

    fn moved(&mut self, cx: &Context, station: usize, offset_m: f64) -> NodeId {
        let s = &self.stations[station];
        let point = s.point + s.right * offset_m;
        self.push(Node {
            point,
            ground_m: cx.world.site.ground.level(point),
            station,
            offset_m,
        })
    }

    fn push(&mut self, node: Node) -> NodeId {
        self.nodes.push(node);
        (self.nodes.len() - 1) as NodeId
    }

    /// Inverts that cover and the deepest pit leave at a manhole.
    fn levels(&self, cx: &Context, coarse: Coarse, station: usize, ground_m: f64) -> LevelGrid {
        let job = cx.job();
        let mut high = ground_m - cx.invert_depth_m;
        let mut low = ground_m - job.pits.max_depth_m + job.rig.axis_height_m;
        if station == 0 && cx.free_end {
            // as low as the steepest line goes
            low -= cx.grade[1] * cx.alignment.length_m();
        }
        if station == 0
            && let Some(z) = cx.downstream.invert_m
        {
            return LevelGrid::Fixed(z);
        }
        if station + 1 == self.stations.len()
            && let Some(z) = cx.upstream.invert_m
        {
            high = high.min(z);
        }
        LevelGrid::steps(low, high, job.search.level_step_m, i64::from(coarse.levels))
    }

    /// Foot of an unmoved station on the chord from `us` to `ds`, and its distance from `us`; none where it does not lie strictly
    /// between, and where that distance is not `worth` it.
    pub fn foot(
        &mut self,
        cx: &Context,
        [us, ds]: [NodeId; 2],
        station: usize,
        worth: impl Fn(f64) -> bool,
    ) -> Option<(NodeId, f64)> {
        let (p, q) = (self.nodes[us as usize].point, self.nodes[ds as usize].point);
        let d = q - p;
        let length = d.x.hypot(d.y);
        let s = self.stations[station];
        let w = s.point - p;
        let along = (w.x * d.x + w.y * d.y) / length;
        if along <= LENGTH_TOLERANCE_M || along >= length - LENGTH_TOLERANCE_M || !worth(along) {
            return None;
        }
        let point = p + d * (along / length);
        let off = s.point - point;
        if off.x.hypot(off.y) < 1e-9 {
            return Some((station as NodeId, along));
        }
        let key = (point.x.to_bits(), point.y.to_bits(), station as u32);
        if let Some(&node) = self.feet.get(&key) {
            return Some((node, along));
        }
        let ground_m = cx.world.site.ground.level(point);
        let node = self.push(Node {
            point,
            ground_m,
            station,
            offset_m: Alignment::offset_m(&s, point),
        });
        self.feet.insert(key, node);
        Some((node, along))
    }

    /// Plan point of a node.
    pub fn point(&self, node: NodeId) -> Coord<f64> {
        self.nodes[node as usize].point
    }

    /// Plan length from node to node (m).
    pub fn distance_m(&self, a: NodeId, b: NodeId) -> f64 {
        let d = self.point(a) - self.point(b);
        d.x.hypot(d.y)
    }
}

/// Ends and junctions.
///
/// Held on the route: an end with an existing manhole, a fixed outfall or a join, and a junction.
fn places(cx: &Context, stations: &[Station]) -> BTreeMap<usize, Place> {
    let place = |(i, s): (usize, &Station)| {
        let near = |c: f64| (c - s.chainage_m).abs() < LENGTH_TOLERANCE_M;
        let junctions = || cx.junctions.iter().filter(|j| near(j.chainage_m));
        let down =
            i == 0 && (cx.downstream.existing || cx.downstream.invert_m.is_some() || cx.joined);
        let up = i + 1 == stations.len() && cx.upstream.existing;
        let place = Place {
            held: down || up || junctions().next().is_some(),
            branches: junctions()
                .flat_map(|j| j.branches.iter().copied())
                .collect(),
            existing: cx.existing_at(s.chainage_m),
            exempt: cx.exempt_at(s.chainage_m),
        };
        place.held.then_some((i, place))
    };
    stations.iter().enumerate().filter_map(place).collect()
}
