//! Straight runs between manhole positions, and lower bounds that leave levels out.

use super::{
    bands::{Bands, Met},
    course::{Band, Course},
    fan::Away,
    grid::{Grid, LevelGrid, Position},
    inner::{Chain, LeastCosts},
    least_through::{BySides, Deeper, LeastThrough, greater},
    levels_free::LevelsFree,
    meeting::Meetings,
    pricing::{DirectionId, PitPrice, Prices, cover_profile, may_launch},
    relax::GRADE_TOLERANCE,
    sketch::Sketch,
    strikes::{Strike, class, passed, strikes},
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
    /// The same; of the longest of several lines that the run stands for, where `length_m` is that of the shortest.
    pub longest_m: f64,
    /// Direction looking downstream.
    pub down: DirectionId,
    /// Direction looking upstream.
    pub up: DirectionId,
    /// Highest inverts along it as one drive, by distance from upstream; none before they are needed.
    pub profile: Option<Rc<Profile>>,
    /// Least cost as one drive, by launch side; +inf where that cannot be.
    pub single: [f64; 2],
    /// Least cost with through pits, these included, by (first drive launched from the upstream manhole, last drive
    /// launched from the downstream one); +inf where that cannot be.
    pub multi: BySides,
    /// Least cost with several through pits, these included, however launched.
    several: f64,
    /// With through pits it may cost no more in any plan within the bound.
    pub most_multi: f64,
    /// The same by levels, where it is worked out.
    pub through: Option<Rc<LeastThrough>>,
    /// Services of unknown depth that it crosses, as far as it was seen at a glance.
    crossed: usize,
    /// Class of its direction at the upstream manhole, and of the direction up it at the downstream one.
    pub classes: [usize; 2],
    /// Where its through pits may stand, and its downstream manhole's place there.
    pub chain: Option<(Rc<Chain>, usize)>,
    /// Where an invert is certain to clash.
    pub bands: Bands,
    /// Share of the way downstream, and what a strike there costs at least by level; none before it is worked out, or where there are none.
    pub strikes: Option<Rc<[(f64, Strike)]>>,
}

impl Run {
    /// Of a length; all else is not known.
    pub fn bare(length_m: f64) -> Run {
        Run {
            us: 0,
            ds: 0,
            length_m,
            longest_m: length_m,
            down: 0,
            up: 0,
            profile: None,
            single: [f64::INFINITY; 2],
            multi: [[f64::INFINITY; 2]; 2],
            several: f64::INFINITY,
            most_multi: f64::INFINITY,
            through: None,
            crossed: 0,
            classes: [0; 2],
            chain: None,
            bands: Bands::default(),
            strikes: None,
        }
    }

    /// How far it falls at least and at most by its grade (m).
    pub fn falls_m(&self, cx: &Context) -> [f64; 2] {
        let [least, most] = [cx.grade[0] - GRADE_TOLERANCE, cx.grade[1] + GRADE_TOLERANCE];
        let of = |grade: f64| [grade * self.length_m, grade * self.longest_m];
        let ([a, b], [c, d]) = (of(least), of(most));
        [a.min(b), c.max(d)]
    }

    /// Least cost of the run however it is driven.
    pub fn least(&self) -> f64 {
        self.single[0].min(self.single[1]).min(self.least_multi())
    }

    /// Least costs by (first drive launched from the upstream manhole, last drive launched from the downstream one).
    pub fn ways(&self) -> impl Iterator<Item = (usize, usize, f64)> + '_ {
        let single = [
            (1, 0, self.single[FROM_UPSTREAM]),
            (0, 1, self.single[FROM_DOWNSTREAM]),
        ];
        let multi = [(0, 0), (0, 1), (1, 0), (1, 1)].map(|(f, l)| (f, l, self.multi[f][l]));
        single.into_iter().chain(multi)
    }

    /// Least cost with through pits.
    pub fn least_multi(&self) -> f64 {
        self.multi
            .iter()
            .flatten()
            .copied()
            .fold(f64::INFINITY, f64::min)
    }

    /// Of some bands those at which some line between its levels is.
    pub fn bands_met(&self, grid: &Grid, all: &[Band], from_m: f64) -> Bands {
        let levels = [self.us, self.ds].map(|p| &grid.positions[p].levels);
        let lowest = levels.map(|l| l.level(0));
        let highest = levels.map(|l| l.level(l.len() - 1));
        let may_be = |met: &Met| {
            let at = |z: [f64; 2]| z[0] + met.share * (z[1] - z[0]);
            met.low < at(highest) && met.high > at(lowest)
        };
        Bands::new(all, (from_m, self.length_m), may_be)
    }

    /// Takes what the line is certain to pass, from `from_m` along the course on.
    fn take_course(&mut self, cx: &Context, grid: &Grid, course: &Course, from_m: f64) {
        self.bands = self.bands_met(grid, &course.bands, from_m);
        self.take_proved(cx, course.holes(from_m, from_m + self.length_m));
    }

    /// Takes how many services of unknown depth the line is certain to come too near.
    pub fn take_proved(&mut self, cx: &Context, services: usize) {
        // Whatever the drives, each service too near the line is too near one of them. Some were counted at a glance.
        let cost = holes_cost(cx, services.saturating_sub(self.crossed));
        self.single = self.single.map(|s| s + cost);
        self.multi = self.multi.map(|of| of.map(|m| m + cost));
        self.several += cost;
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
        let deeper = chain.least_rates(place).map(|rates| Deeper {
            any: chain.highest(cx, grid, place),
            rates,
            shallowest_m: cx.invert_depth_m + cx.job().rig.axis_height_m,
            pits: pits.max(2.0),
        });
        let places = chain.only_pits(cx, grid, place);
        let through = LeastThrough::new(cx, places, costs.several, deeper);
        self.take_through(through, costs.any, (chain, place));
    }

    /// The same for one through pit: several cost too much.
    fn take_chain_of_one_pit(&mut self, cx: &Context, grid: &Grid, chain: &Rc<Chain>) {
        let end = chain.end();
        let mut places = chain.only_pits(cx, grid, end);
        places.retain(|p| p.least() <= self.most_multi);
        let several = [[self.several; 2]; 2];
        let through = LeastThrough::new(cx, places, several, None);
        let any = through.at_any_level();
        self.take_through(through, any, (chain, end));
    }

    fn take_through(
        &mut self,
        through: LeastThrough,
        any: BySides,
        (chain, place): (&Rc<Chain>, usize),
    ) {
        // What is ruled out already stays so.
        self.multi = greater(&self.multi, &any);
        let single = chain.least_single(place);
        self.single = self.single.map(|s| s.max(single));
        self.through = Some(Rc::new(through));
        self.chain = Some((chain.clone(), place));
    }

    /// Works out the highest inverts along the run as one drive; without ground all along it cannot be one.
    fn take_profile(&mut self, cx: &Context, grid: &Grid) {
        if self.single.iter().all(|c| c.is_infinite()) {
            return;
        }
        let ends = [self.us, self.ds].map(|p| grid.point(grid.positions[p].node));
        self.profile = cover_profile(cx, ends, self.length_m).map(Rc::new);
        if self.profile.is_none() {
            self.single = [f64::INFINITY; 2];
        }
    }

    /// Share of the way downstream, and what a strike there costs at least by level.
    pub fn all_strikes(&self) -> &[(f64, Strike)] {
        self.strikes.as_deref().unwrap_or_default()
    }

    /// What strikes cost at least from outlet level `z` to inlets between two levels.
    pub fn strikes(&self, z: f64, [low, high]: [f64; 2]) -> f64 {
        let class = class((z - low) / self.length_m);
        let all = self.all_strikes().iter();
        all.map(|(share, s)| s.between(passed_at(*share, z, [low, high]), class))
            .sum()
    }

    /// Finds the strikes that cost something from outlet level `z` to some inlet between two levels.
    pub fn struck(&self, z: f64, ends: [f64; 2], out: &mut Vec<usize>) {
        let all = self.all_strikes().iter().enumerate();
        let matter = all.filter(|(_, (share, s))| s.matters(passed_at(*share, z, ends)));
        out.clear();
        out.extend(matter.map(|(i, _)| i));
    }

    /// Least costs with through pits from outlet level `z` to the inlet levels of a range.
    pub fn with_through_pits(&self, z: f64, levels: &LevelGrid, range: &Range<usize>) -> BySides {
        match &self.through {
            Some(through) => greater(&self.multi, &through.over(z, levels, range, self.length_m)),
            None => self.multi,
        }
    }
}

/// Levels at which lines from outlet level `z` to inlets between two levels pass a share of the way.
pub fn passed_at(share: f64, z: f64, ends: [f64; 2]) -> [f64; 2] {
    ends.map(|to| z + (to - z) * share)
}

/// A branch (its place in the system) by (its last drive launched at the junction), by outlet level there: its least cost.
pub type Joining = (usize, [Vec<f64>; 2]);

/// All runs that may be part of a plan no dearer than the bound.
#[derive(Debug, Clone)]
pub struct Runs {
    /// The runs.
    pub runs: Vec<Run>,
    /// What is certain at a glance.
    sketch: Rc<Sketch>,
    /// Runs by upstream position.
    pub from: Vec<Vec<usize>>,
    /// Runs by downstream position.
    pub to: Vec<Vec<usize>>,
    /// Least pit prices by position.
    pub pits: Vec<Meetings>,
    /// Least cost of the branches that join at a position, levels left free, by position.
    pub branches: Vec<f64>,
    /// The same with levels, where it is worked out: by position, every branch (its place in the system) by (its last drive
    /// launched there), by outlet level.
    pub joining: BTreeMap<usize, Vec<Joining>>,
    /// By position, the directions in which the only branch that joins may be launched there.
    pub away: BTreeMap<usize, Away>,
    /// Least cost of all that lies upstream of a position, its pit left out.
    pub above: Vec<f64>,
    /// Least cost of a position's pit and all that lies downstream.
    pub below: Vec<f64>,
    /// The same by how drives meet the pits.
    pub free: LevelsFree,
    /// Least cost of all that lies upstream of a position and of its pit, by outlet level; empty before it is worked out.
    pub left: Vec<Vec<f64>>,
    /// By position where one branch joins: the same without the branch, by (its last drive launched there).
    pub left_alone: BTreeMap<usize, [Vec<f64>; 2]>,
    /// Least cost of a branch at its junction by (last drive launched there), then by inlet level, one after the other, the pit there
    /// left out; of what costs more than was asked for, nothing. Empty before it is worked out.
    pub arrived: Vec<f64>,
}

/// The longest that a line of a run may be (m).
pub fn longest_m(cx: &Context) -> f64 {
    cx.job().rules.manhole_spacing_m + LENGTH_TOLERANCE_M
}

/// Farther apart than this no two stations have a run (m).
///
/// A chord stays within the spacing of its start and the route within the corridor of the chord: once the route has left that
/// circle, no station beyond can be reached.
pub fn gone_m(cx: &Context) -> f64 {
    longest_m(cx) + 2.0 * (corridor_m(cx) + cx.job().search.corridor_m)
}

/// How far the route may stray from a run's line (m).
pub fn corridor_m(cx: &Context) -> f64 {
    cx.job().search.corridor_m.max(ON_CHORD_M) + LENGTH_TOLERANCE_M
}

/// Two stations, and lines between their positions.
#[derive(Debug, Clone)]
pub struct Pair {
    /// Upstream station.
    pub us: usize,
    /// Downstream station.
    pub ds: usize,
    /// Which lines there are, by upstream, then downstream position; empty: all.
    pub lines: Vec<bool>,
}

impl Pair {
    /// There is a line between two positions of its stations. (`at`: the positions of every station.)
    pub fn has(&self, at: &[Range<usize>], [us, ds]: [usize; 2]) -> bool {
        self.lines.is_empty() || self.lines[self.place(at, [us, ds])]
    }

    /// The place of the line between two positions among all.
    pub fn place(&self, at: &[Range<usize>], [us, ds]: [usize; 2]) -> usize {
        let (from, to) = (&at[self.us], &at[self.ds]);
        (us - from.start) * to.len() + ds - to.start
    }
}

/// Every pair of stations near enough to each other, by the upper, from its own down.
pub fn all_pairs(cx: &Context, grid: &Grid) -> Vec<Pair> {
    let gone_m = gone_m(cx);
    let mut pairs = vec![];
    for us in 1..grid.stations.len() {
        for ds in (0..us).rev() {
            let gone = grid.stations[us].point - grid.stations[ds].point;
            if gone.x.hypot(gone.y) > gone_m {
                break;
            }
            // A run ends at the first junction: there is a manhole.
            if ds + 1 < us && !grid.branches(ds + 1).is_empty() {
                break;
            }
            let lines = vec![];
            pairs.push(Pair { us, ds, lines });
        }
    }
    pairs
}

/// Runs along these lines, with what a [`Sketch`] says of their costs.
fn bare_runs(cx: &Context, grid: &Grid, sketch: &Sketch, pairs: &[Pair]) -> Vec<Run> {
    let spacing_m = longest_m(cx);
    let at = grid.by_station();
    let mut out = vec![];
    for pair in pairs {
        let least = LeastOfPair::new(cx, sketch, pair.us, pair.ds);
        for us in at[pair.us].clone() {
            for ds in at[pair.ds].clone().filter(|ds| pair.has(&at, [us, *ds])) {
                let nodes = [grid.positions[us].node, grid.positions[ds].node];
                let length_m = grid.distance_m(nodes[0], nodes[1]);
                if length_m <= spacing_m && length_m >= LENGTH_TOLERANCE_M {
                    out.push(least.run(cx, [us, ds], length_m));
                }
            }
        }
    }
    out
}

/// What any run from one station to another costs at least, its length left out.
pub struct LeastOfPair {
    /// Services of unknown depth that every way crosses.
    crossed: usize,
    /// Their test holes; +inf where they may not be crossed.
    holes: f64,
    /// The only through pit, by (it launches something); +inf where there is no room for one.
    only_pit: [f64; 2],
    /// One of several.
    any_pit: f64,
}

impl LeastOfPair {
    /// Of two stations.
    pub fn new(cx: &Context, sketch: &Sketch, us: usize, ds: usize) -> LeastOfPair {
        let [only_pit, any_pit] = if us > ds + 1 {
            [sketch.only_pit(us, ds), sketch.any_pit(us, ds)]
        } else {
            [[f64::INFINITY; 2]; 2]
        };
        let crossed = sketch.crossed(us, ds);
        LeastOfPair {
            crossed,
            holes: holes_cost(cx, crossed),
            only_pit,
            any_pit: any_pit[0].min(any_pit[1]),
        }
    }

    /// The run between two of their positions.
    pub fn run(&self, cx: &Context, [us, ds]: [usize; 2], length_m: f64) -> Run {
        let job = cx.job();
        let within = length_m <= cx.reach.m + LENGTH_TOLERANCE_M;
        let single = if within {
            bore_cost(job, length_m) + self.holes
        } else {
            f64::INFINITY
        };
        // More pits cost more.
        let fewest = ((length_m - LENGTH_TOLERANCE_M) / cx.reach.m).ceil() - 1.0;
        let (several, drive) = (fewest.max(2.0), bore_cost(job, 0.0));
        let several = bore_cost(job, length_m) + self.holes + several * (drive + self.any_pit);
        let only = |launches: usize| {
            let one = bore_cost(job, length_m) + self.holes + drive + self.only_pit[launches];
            if fewest < 2.0 { one } else { f64::INFINITY }
        };
        let multi = |f: usize, l: usize| only(usize::from(f + l < 2)).min(several);
        Run {
            us,
            ds,
            single: [FROM_UPSTREAM, FROM_DOWNSTREAM].map(|s| {
                if may_launch(cx, s) {
                    single
                } else {
                    f64::INFINITY
                }
            }),
            multi: [0, 1].map(|f| [0, 1].map(|l| multi(f, l))),
            several,
            crossed: self.crossed,
            ..Run::bare(length_m)
        }
    }
}

/// Cost of test holes for services of unknown depth that no way avoids.
fn holes_cost(cx: &Context, holes: usize) -> f64 {
    if holes > 0 && cx.job().rules.unknown_depth == UnknownDepth::Avoid {
        f64::INFINITY
    } else {
        holes as f64 * cx.job().costs.test_hole
    }
}

impl Runs {
    /// The runs along these lines, with what is certain at a glance.
    ///
    /// Whether the route allows its line is left to [`Self::take_lines`].
    pub fn new(prices: &mut Prices, grid: &Grid, sketch: &Rc<Sketch>, pairs: &[Pair]) -> Runs {
        let runs = bare_runs(prices.cx, grid, sketch, pairs);
        let mut all = Runs::of(sketch, runs, grid);
        all.price_pits(prices, grid, 0);
        all
    }

    /// These runs, nothing known of the pits between them.
    pub fn of(sketch: &Rc<Sketch>, runs: Vec<Run>, grid: &Grid) -> Runs {
        let mut all = Runs {
            runs,
            sketch: sketch.clone(),
            from: vec![],
            to: vec![],
            pits: vec![],
            branches: vec![0.0; grid.positions.len()],
            joining: BTreeMap::new(),
            away: BTreeMap::new(),
            above: vec![],
            below: vec![],
            free: LevelsFree::default(),
            left: vec![],
            left_alone: BTreeMap::new(),
            arrived: vec![],
        };
        all.index(grid.positions.len());
        all
    }

    /// Only some of the runs.
    pub fn with(&self, runs: Vec<Run>, grid: &Grid) -> Runs {
        let mut some = Runs {
            runs,
            sketch: self.sketch.clone(),
            pits: self.pits.clone(),
            branches: self.branches.clone(),
            joining: self.joining.clone(),
            away: self.away.clone(),
            above: self.above.clone(),
            below: self.below.clone(),
            free: self.free.clone(),
            left_alone: BTreeMap::new(),
            arrived: vec![],
            from: vec![],
            to: vec![],
            left: vec![],
        };
        some.index(grid.positions.len());
        some
    }

    /// Least cost of the branches that join at a position with its outlet at level `z`.
    pub fn joining_at(&self, position: usize, z: usize) -> f64 {
        match self.joining.get(&position) {
            Some(branches) => branches.iter().map(|(_, b)| b[0][z].min(b[1][z])).sum(),
            None => self.branches[position],
        }
    }

    /// The same at each of so many levels.
    pub fn joining_by_level(&self, position: usize, levels: usize) -> Vec<f64> {
        match self.joining.get(&position) {
            Some(_) => (0..levels).map(|z| self.joining_at(position, z)).collect(),
            None => vec![self.branches[position]; levels],
        }
    }

    /// The ways in which a position's branches may come in: where there is only one, received and launched. Each with what the
    /// branches cost by outlet level, of which there are so many.
    pub fn comings_in(&self, position: usize, levels: usize) -> Vec<(usize, Vec<f64>)> {
        match self.joining.get(&position).map(Vec::as_slice) {
            Some([(_, by)]) => [0, 1].map(|way| (way, by[way].clone())).into(),
            _ => vec![(0, self.joining_by_level(position, levels))],
        }
    }

    /// Price of a position's pit by how its drives and, where only one joins, its branch's last drive (`way`) meet it.
    pub fn pit_price(
        &self,
        position: usize,
        way: usize,
        launched: (usize, usize),
        classes: (usize, usize),
    ) -> Option<PitPrice> {
        let pits = &self.pits[position];
        match self.joining.get(&position).map(Vec::len) {
            Some(1) => pits.price_with(way, launched, classes),
            _ => pits.price(launched, classes),
        }
    }

    /// No run leads on both from and to a position: there is no manhole of any plan.
    pub fn is_bare(&self, grid: &Grid, position: usize) -> bool {
        let (is_head, is_outfall) = ends(grid, position);
        self.from[position].is_empty() && !is_outfall || self.to[position].is_empty() && !is_head
    }

    /// Drops runs from whose line the route strays, and gives the others their directions.
    pub fn take_lines(&mut self, prices: &mut Prices, grid: &Grid) {
        let cx = prices.cx;
        let corridor_m = corridor_m(cx);
        self.runs.retain(|run| {
            let [us, ds] = [run.us, run.ds].map(|p| &grid.positions[p]);
            let [s, t] = [us, ds].map(|p| &grid.stations[p.station]);
            let [p, q] = [us, ds].map(|p| grid.point(p.node));
            cx.alignment.strays_from(s, t, p, q) <= corridor_m
        });
        for run in &mut self.runs {
            let [us, ds] = [run.us, run.ds].map(|p| grid.positions[p].node);
            run.down = prices.direction(grid, us, ds);
            run.up = prices.direction(grid, ds, us);
        }
        self.index(grid.positions.len());
        self.price_pits(prices, grid, 4);
    }

    /// Works out the highest inverts along every run as one drive.
    pub fn take_profiles(&mut self, cx: &Context, grid: &Grid) {
        for run in &mut self.runs {
            run.take_profile(cx, grid);
        }
    }

    /// Lists the runs by their positions, anew.
    pub fn index(&mut self, positions: usize) {
        self.from = vec![vec![]; positions];
        self.to = vec![vec![]; positions];
        for (i, r) in self.runs.iter().enumerate() {
            self.from[r.us].push(i);
            self.to[r.ds].push(i);
        }
    }

    /// Works out the least pit prices of every position, with at most `many` pairs of directions told apart. Says whether that changed
    /// any that a run has.
    ///
    /// Fewer runs leave fewer ways for drives to meet, and so less that has to be left open.
    pub fn price_pits(&mut self, prices: &mut Prices, grid: &Grid, many: usize) -> bool {
        let apart = |of: &[usize], direction: fn(&Run) -> DirectionId| {
            let all: BTreeSet<DirectionId> = of.iter().map(|r| direction(&self.runs[*r])).collect();
            all.into_iter().collect::<Vec<_>>()
        };
        let at = |p: usize| {
            if self.is_bare(grid, p) {
                return Meetings::default();
            }
            let directions = (
                apart(&self.from[p], |r| r.down),
                apart(&self.to[p], |r| r.up),
            );
            Meetings::new(prices, grid, p, directions, self.away.get(&p), many)
        };
        let pits: Vec<Meetings> = (0..grid.positions.len()).map(at).collect();
        let is_other = |p: usize| !self.is_bare(grid, p) && self.pits.get(p) != Some(&pits[p]);
        let changed = (0..pits.len()).any(is_other);
        self.pits = pits;
        for run in &mut self.runs {
            run.classes = [
                self.pits[run.us].down(run.down),
                self.pits[run.ds].up(run.up),
            ];
        }
        changed
    }

    /// Keeps these runs.
    pub fn keep(&mut self, these: &[bool], grid: &Grid) {
        let mut these = these.iter();
        self.runs
            .retain(|_| *these.next().expect("one for each run"));
        self.index(grid.positions.len());
    }

    /// Drops runs that come to a position that cannot be.
    pub fn drop_to(&mut self, grid: &Grid, no_way: impl Fn(usize) -> bool) {
        self.runs.retain(|r| !no_way(r.ds));
        self.index(grid.positions.len());
    }

    /// Drops runs that no way of driving them allows.
    pub fn drop_hopeless(&mut self, grid: &Grid) {
        self.runs.retain(|r| r.least().is_finite());
        self.index(grid.positions.len());
    }

    /// Works out what every run is certain to pass. Runs along one line share a course.
    pub fn take_courses(&mut self, cx: &Context, grid: &Grid) {
        for line in self.lines(grid) {
            let ends = self.whole(&line).map(|p| &grid.positions[p]);
            let course = Course::new(
                cx,
                grid,
                ends.map(|p| p.station),
                ends.map(|p| grid.point(p.node)),
            );
            for (r, from_m) in line {
                self.runs[r].take_course(cx, grid, &course, from_m);
            }
        }
    }

    /// Runs that overlap along one line: each with how far along it starts, by rising start.
    fn lines(&self, grid: &Grid) -> Vec<Vec<(usize, f64)>> {
        // Lines nearer than this to each other are one (m).
        const APART_M: f64 = 1e-6;
        let origin = grid.point(0);
        let place = |r: usize| {
            let [p, q] =
                [self.runs[r].us, self.runs[r].ds].map(|p| grid.point(grid.positions[p].node));
            let (u, w) = ((q - p) / self.runs[r].length_m, p - origin);
            let aside = u.x * w.y - u.y * w.x;
            let key = (self.runs[r].down, (aside / APART_M).round() as i64);
            (key, u.x * w.x + u.y * w.y, r)
        };
        let mut places: Vec<_> = (0..self.runs.len()).map(place).collect();
        places.sort_by(|a, b| {
            let by_start = a.1.total_cmp(&b.1);
            a.0.cmp(&b.0).then(by_start).then(a.2.cmp(&b.2))
        });
        let mut lines = vec![];
        let mut open: Option<((DirectionId, i64), f64, f64)> = None;
        for (key, start, r) in places {
            let end = start + self.runs[r].length_m;
            match &mut open {
                Some((of, from, to)) if *of == key && start < *to => {
                    let line: &mut Vec<(usize, f64)> = lines.last_mut().expect("one is open");
                    line.push((r, start - *from));
                    *to = to.max(end);
                }
                _ => {
                    open = Some((key, start, end));
                    lines.push(vec![(r, 0.0)]);
                }
            }
        }
        lines
    }

    /// Works out what strikes along every run cost at least.
    pub fn take_strikes(&mut self, cx: &Context, grid: &Grid) {
        for line in self.lines(grid) {
            let all = |grid: &Grid, ends: [usize; 2]| {
                let ends = ends.map(|p| &grid.positions[p]);
                let points = ends.map(|p| grid.point(p.node));
                strikes(cx, grid, ends.map(|p| p.station), points)
            };
            let all = all(grid, self.whole(&line));
            for (r, from_m) in line {
                let run = &mut self.runs[r];
                let passed = passed(&all, from_m, from_m + run.length_m).into_iter();
                let all: Vec<_> = passed.map(|s| (s.along_m / run.length_m, s)).collect();
                run.strikes = (!all.is_empty()).then(|| all.into());
            }
        }
    }

    /// Upstream and downstream position of the runs along one line together.
    fn whole(&self, line: &[(usize, f64)]) -> [usize; 2] {
        let end = |(r, from_m): &(usize, f64)| from_m + self.runs[*r].length_m;
        let last = line.iter().max_by(|a, b| end(a).total_cmp(&end(b)));
        let (last, _) = last.expect("a line has runs");
        [self.runs[line[0].0].us, self.runs[*last].ds]
    }

    /// Replaces closed-form costs with through pits by those of the cheapest drives and through pits along the line, each
    /// pit as shallow as its place allows, drives at any level. Runs from one manhole along one line share a chain.
    ///
    /// Chains are kept while there is room; a run whose chain is not kept has it made again when it is needed. Says whether there is any
    /// run with through pits.
    pub fn take_chains(&mut self, prices: &mut Prices, grid: &mut Grid) -> bool {
        const ROOM: usize = 10_000_000;
        let (mut kept, mut any) = (0, false);
        for p in 0..grid.positions.len() {
            let with_pits = |r: &&usize| self.runs[**r].least_multi().is_finite();
            let rest = self.from[p].iter().filter(with_pits).copied();
            let (one, mut rest): (Vec<usize>, Vec<usize>) =
                rest.partition(|r| self.runs[*r].several > self.runs[*r].most_multi);
            any |= !one.is_empty() || !rest.is_empty();
            for r in one {
                let run = &mut self.runs[r];
                let most = run.most_multi;
                let chain = Chain::of_one_pit(prices, grid, run, &self.sketch, most);
                run.take_chain_of_one_pit(prices.cx, grid, &Rc::new(chain));
            }
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
        any
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
    manhole_prices(cx, grid, position)(invert_m)
}

/// The same by lowest invert.
pub fn manhole_prices<'c>(
    cx: &'c Context,
    grid: &Grid,
    position: usize,
) -> impl Fn(f64) -> f64 + 'c {
    let Position { node, station, .. } = grid.positions[position];
    let is_paid = grid.existing(station) || cx.joined && station == 0;
    let ground_m = grid.nodes[node as usize].ground_m;
    let ground_m = ground_m.expect("positions have ground");
    let costs = &cx.job().costs;
    move |invert_m| match is_paid {
        true => 0.0,
        false => manhole_cost(costs, ground_m - invert_m),
    }
}
