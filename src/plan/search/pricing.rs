//! What pits and drives cost, and where no rule allows them.

use super::grid::{Grid, NodeId};
use crate::{
    alignment::{Profile, samples},
    clearance::{
        Depth, FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M, NearPart, PIECE_M, Segment,
        drive_line, overlap_m2, segment_polygon_distance,
    },
    cost::{PitRates, pit_rates},
    job::{LaunchFrom, Side, UnknownDepth},
    pits::{Meets, SHARED_AREA_M2, Siting, footprint, in_line},
    plan::{Verdict, context::Context},
};
use geo::Coord;
use std::{collections::HashMap, rc::Rc};

/// Index of a direction in plan.
pub type DirectionId = u32;

/// The drives that meet a pit (direction away from the pit, launched).
type Meeting = Vec<(DirectionId, bool)>;

/// What a pit costs where it stands, by depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PitPrice {
    /// Lowest invert that every rule allows.
    pub lowest_invert_m: f64,
    /// Ground level.
    pub ground_m: f64,
    /// Pit floor below the invert (m).
    pub axis_height_m: f64,
    /// Deeper than this it is supported (m).
    pub support_from_m: f64,
    /// Fixed part, and by m of depth without and with support.
    pub rates: PitRates,
}

impl PitPrice {
    /// A pit that another route pays for.
    pub const NOTHING: PitPrice = PitPrice {
        lowest_invert_m: f64::NEG_INFINITY,
        ground_m: 0.0,
        axis_height_m: 0.0,
        support_from_m: f64::INFINITY,
        rates: PitRates {
            fixed: 0.0,
            per_m: 0.0,
            support_per_m: 0.0,
        },
    };

    /// Cost and depth with the lowest invert at `invert_m`; none where some rule forbids that.
    pub fn at(&self, invert_m: f64) -> Option<(f64, f64)> {
        let depth = self.depth(invert_m);
        self.allows(invert_m).then(|| (self.cost(depth), depth))
    }

    /// No rule forbids this as the lowest invert.
    pub fn allows(&self, invert_m: f64) -> bool {
        invert_m >= self.lowest_invert_m - LENGTH_TOLERANCE_M
    }

    /// Depth with the lowest invert at `invert_m` (m).
    pub fn depth(&self, invert_m: f64) -> f64 {
        self.ground_m - invert_m + self.axis_height_m
    }

    /// Cost at a depth (m).
    pub fn cost(&self, depth_m: f64) -> f64 {
        let supported = depth_m > self.support_from_m + LENGTH_TOLERANCE_M;
        let per_m = self.rates.per_m
            + if supported {
                self.rates.support_per_m
            } else {
                0.0
            };
        self.rates.fixed + per_m * depth_m
    }
}

/// A drive in plan: everything about it that does not depend on levels or on which side launches it.
#[derive(Debug)]
pub struct Drive {
    /// Plan positions of the upstream and the downstream pit.
    pub ends: [Coord<f64>; 2],
    /// Plan length (m).
    pub length_m: f64,
    /// Highest inverts along it from upstream, for the least cover.
    pub profile: Profile,
    /// Services near; of a part that costs the same at any level without its pieces.
    pub near: Vec<NearPart>,
    /// Buildings near (index into `Obstacles::buildings`).
    pub buildings: Vec<usize>,
    /// Cost without test holes and strikes.
    pub fixed_cost: f64,
    /// Least cost, at any level, by launch side; +inf where that side is not allowed.
    pub least_cost: [f64; 2],
}

/// What is beside a straight line on which several drives may follow each other.
#[derive(Debug)]
struct Beside {
    ends: [Coord<f64>; 2],
    length_m: f64,
    /// Services near that count for every drive.
    near: Vec<NearPart>,
    buildings: Vec<usize>,
}

/// Prices of one route, remembered.
pub struct Prices<'c, 'a> {
    /// The route.
    pub cx: &'c Context<'a>,
    directions: HashMap<(i64, i64), DirectionId>,
    vectors: Vec<Coord<f64>>,
    pits: Vec<HashMap<Meeting, Option<PitPrice>>>,
    drives: Vec<HashMap<NodeId, Option<Rc<Drive>>>>,
    lines: HashMap<(NodeId, NodeId), Rc<Beside>>,
    /// How many drives were judged at their levels.
    pub judged: usize,
}

impl<'c, 'a> Prices<'c, 'a> {
    /// Nothing remembered yet.
    pub fn new(cx: &'c Context<'a>) -> Self {
        Prices {
            cx,
            directions: HashMap::new(),
            vectors: vec![],
            pits: vec![],
            drives: vec![],
            lines: HashMap::new(),
            judged: 0,
        }
    }

    /// The direction from one node to another; directions alike to 1e-10 are one.
    pub fn direction(&mut self, grid: &Grid, from: NodeId, to: NodeId) -> DirectionId {
        let d = grid.point(to) - grid.point(from);
        self.direction_of(d / d.x.hypot(d.y))
    }

    /// The direction of a unit vector.
    pub fn direction_of(&mut self, u: Coord<f64>) -> DirectionId {
        let key = ((u.x * 1e10).round() as i64, (u.y * 1e10).round() as i64);
        let next = self.vectors.len() as DirectionId;
        let id = *self.directions.entry(key).or_insert(next);
        if id == next {
            self.vectors.push(u);
        }
        id
    }

    /// Unit vector of a direction.
    pub fn vector(&self, direction: DirectionId) -> Coord<f64> {
        self.vectors[direction as usize]
    }

    /// Those of the drives that meet a pit on which its footprint depends: two meetings alike in these are one pit.
    fn decisive(&self, drives: &[(DirectionId, bool)]) -> Meeting {
        let Some(&axis) = drives.iter().find(|d| d.1) else {
            return drives[..1].to_vec();
        };
        let launched = || drives.iter().filter(|d| d.1);
        if launched().all(|d| in_line(self.vector(axis.0), self.vector(d.0))) {
            vec![axis]
        } else {
            launched().copied().collect()
        }
    }

    /// Price of a pit for the drives that meet it (direction away from the pit, launched), in order of precedence.
    pub fn pit(
        &mut self,
        grid: &Grid,
        node: NodeId,
        drives: &[(DirectionId, bool)],
    ) -> Option<PitPrice> {
        let drives = &self.decisive(drives)[..];
        if self.pits.len() <= node as usize {
            self.pits
                .resize_with(grid.nodes.len().max(node as usize + 1), HashMap::new);
        }
        if let Some(known) = self.pits[node as usize].get(drives) {
            return *known;
        }
        let price = self.price_pit(grid, node, drives);
        self.pits[node as usize].insert(drives.to_vec(), price);
        price
    }

    fn price_pit(
        &self,
        grid: &Grid,
        node: NodeId,
        drives: &[(DirectionId, bool)],
    ) -> Option<PitPrice> {
        let n = &grid.nodes[node as usize];
        let ground_m = n.ground_m?;
        if self.cx.forbids(n.point) {
            return None;
        }
        let meets: Vec<Meets> = drives
            .iter()
            .map(|&(d, launched)| Meets {
                direction: self.vectors[d as usize],
                launched,
            })
            .collect();
        let job = self.cx.job();
        let pit = footprint(n.point, &job.rig, &meets)?;
        let siting = Siting {
            job,
            obstacles: &self.cx.world.obstacles,
            access: &self.cx.world.access,
        };
        let exempt = exempt_for_pit(self.cx, grid, node);
        let standing = siting.standing(&pit, ground_m, &|part| exempt.contains(&part))?;
        Some(PitPrice {
            lowest_invert_m: standing.lowest_floor_m + job.rig.axis_height_m,
            ground_m,
            axis_height_m: job.rig.axis_height_m,
            support_from_m: job.pits.support_from_depth_m,
            rates: pit_rates(self.cx.world.site, &job.costs, &pit, &standing),
        })
    }

    /// The drive between two neighbouring pits; none where it is unlawful at any level from either side.
    pub fn drive(&mut self, grid: &Grid, us: NodeId, ds: NodeId) -> Option<Rc<Drive>> {
        if self.drives.len() <= us as usize {
            self.drives
                .resize_with(grid.nodes.len().max(us as usize + 1), HashMap::new);
        }
        if let Some(known) = self.drives[us as usize].get(&ds) {
            return known.clone();
        }
        let drive = self.price_drive(grid, us, ds).map(Rc::new);
        self.drives[us as usize].insert(ds, drive.clone());
        drive
    }

    fn price_drive(&self, grid: &Grid, us: NodeId, ds: NodeId) -> Option<Drive> {
        let cx = self.cx;
        let ends = [grid.point(us), grid.point(ds)];
        let length_m = grid.distance_m(us, ds);
        if length_m > cx.reach.m + LENGTH_TOLERANCE_M || over_keepout(cx, ends) {
            return None;
        }
        let profile = cover_profile(cx, ends, length_m)?;
        let exempt = exempt_for_drive(cx, grid, [us, ds]);
        let mut near = cx.yardstick.near(
            &cx.world.obstacles.services,
            ends[0],
            ends[1],
            cx.concern_m,
            |p| exempt.contains(&p),
        );
        let fixed_cost = crate::cost::bore_cost(cx.job(), length_m);
        let least_cost =
            [FROM_UPSTREAM, FROM_DOWNSTREAM].map(|side| least_cost(cx, &near, side, fixed_cost));
        let lawful = least_cost.iter().any(|c| c.is_finite());
        // Drives are kept by the thousand: of a part that costs the same at any level nothing more is asked.
        let same_at_any_level = |n: &&mut NearPart| n.holes.iter().all(Option::is_some);
        let of_no_use = near.iter_mut().filter(same_at_any_level);
        of_no_use.for_each(|n| n.pieces = vec![]);
        let buildings = buildings_near(cx, ends);
        lawful.then_some(Drive {
            ends,
            length_m,
            profile,
            near,
            buildings,
            fixed_cost,
            least_cost,
        })
    }

    /// Cost of a drive between two nodes, launched from `side`, with these inverts upstream and downstream; none where
    /// some rule forbids it.
    pub fn judge(
        &mut self,
        grid: &Grid,
        nodes: [NodeId; 2],
        inverts: [f64; 2],
        side: usize,
    ) -> Option<f64> {
        let drive = self.drive(grid, nodes[0], nodes[1])?;
        let covered = drive
            .profile
            .least_above(inverts[0], inverts[1], drive.length_m)
            >= -LENGTH_TOLERANCE_M;
        if covered {
            self.drive_cost(&drive, inverts, side)
        } else {
            None
        }
    }

    /// However a line is cut into drives and wherever these are launched, one of them is unlawful with these inverts upstream
    /// and downstream of all.
    ///
    /// The point of the line nearest to a piece or building lies in one of the drives and is nearest there too; the rig's
    /// error is nowhere less than that of setting out. A piece that is `crossing` for the line may be `parallel` for a drive:
    /// it is left out where that would ask for less. Separations in level are left out too: of a drive cut short, the point
    /// nearest in plan to a piece's end is another.
    pub fn certain_clash(&mut self, grid: &Grid, nodes: [NodeId; 2], inverts: [f64; 2]) -> bool {
        let beside = self.beside(grid, nodes);
        let cx = self.cx;
        let centre = inverts.map(|z| z + cx.centre_above_invert_m());
        let line = drive_line(beside.ends[0], beside.ends[1], centre, FROM_UPSTREAM);
        if !clears_buildings(cx, &beside.buildings, &line.centre) {
            return true;
        }
        beside.near.iter().any(|near| {
            let part = &cx.world.obstacles.services.parts[near.part];
            !far_above_or_below(cx, beside.length_m, near, centre)
                && cx
                    .least_yardstick
                    .rows(&line, part, near, FROM_UPSTREAM)
                    .iter()
                    .any(|row| row.judged.verdict == Verdict::Clash)
        })
    }

    fn beside(&mut self, grid: &Grid, nodes: [NodeId; 2]) -> Rc<Beside> {
        if let Some(known) = self.lines.get(&(nodes[0], nodes[1])) {
            return known.clone();
        }
        let cx = self.cx;
        let services = &cx.world.obstacles.services;
        let ends = nodes.map(|n| grid.point(n));
        let counts = |near: &NearPart| {
            let required = services.parts[near.part].required;
            !near.unknown && required.crossing_m <= required.parallel_m
        };
        let exempt = |p| cx.may_be_exempt(p);
        let y = &cx.least_yardstick;
        let near = y.near(services, ends[0], ends[1], cx.concern_m, exempt);
        let beside = Rc::new(Beside {
            ends,
            length_m: grid.distance_m(nodes[0], nodes[1]),
            near: near.into_iter().filter(counts).collect(),
            buildings: buildings_near(cx, ends),
        });
        self.lines.insert((nodes[0], nodes[1]), beside.clone());
        beside
    }

    /// Cost of a drive launched from `side` with these inverts upstream and downstream; none where it is unlawful.
    /// Cover is the caller's to check (`Drive::profile`).
    pub fn drive_cost(&mut self, drive: &Drive, inverts: [f64; 2], side: usize) -> Option<f64> {
        if drive.least_cost[side].is_infinite() {
            return None;
        }
        self.judged += 1;
        let cx = self.cx;
        let centre = inverts.map(|z| z + cx.centre_above_invert_m());
        let line = drive_line(drive.ends[0], drive.ends[1], centre, side);
        if !clears_buildings(cx, &drive.buildings, &line.centre) {
            return None;
        }
        let costs = &cx.job().costs;
        let mut cost = drive.fixed_cost;
        for near in &drive.near {
            if let Some(holes) = near.holes[side] {
                cost += holes as f64 * costs.test_hole;
                continue;
            }
            if far_above_or_below(cx, drive.length_m, near, centre) {
                continue;
            }
            let part = &cx.world.obstacles.services.parts[near.part];
            let rate = costs.strike[&cx.world.site.services[part.service].kind];
            for row in cx.yardstick.rows(&line, part, near, side) {
                match row.judged.verdict {
                    Verdict::Clash => return None,
                    Verdict::Prove => cost += costs.test_hole,
                    _ => cost += rate * row.judged.p_contact(),
                }
            }
        }
        Some(cost)
    }
}

/// Service parts that do not count for the pit at a node: what is exempt there, and the followed pipe.
pub fn exempt_for_pit(cx: &Context, grid: &Grid, node: NodeId) -> Vec<usize> {
    [&cx.followed[..], &grid.exempt_for_pit(node)].concat()
}

/// The same for the drive between two nodes.
pub fn exempt_for_drive(cx: &Context, grid: &Grid, nodes: [NodeId; 2]) -> Vec<usize> {
    [&cx.followed[..], &grid.exempt_for_drive(nodes)].concat()
}

/// The bore would touch a keepout.
pub fn over_keepout(cx: &Context, ends: [Coord<f64>; 2]) -> bool {
    let strip = strip(ends, cx.bore_mm / 2000.0);
    cx.world
        .obstacles
        .keepouts
        .near(&strip, 0.0)
        .any(|(_, p)| overlap_m2(&strip, p) > SHARED_AREA_M2)
}

/// The plan line widened by `radius` on both sides.
fn strip([a, b]: [Coord<f64>; 2], radius: f64) -> [Coord<f64>; 4] {
    let d = b - a;
    let side = Coord { x: -d.y, y: d.x } * (radius / d.x.hypot(d.y));
    [a - side, b - side, b + side, a + side]
}

/// Highest inverts along a drive; none where a sample has no ground.
pub fn cover_profile(cx: &Context, ends: [Coord<f64>; 2], length_m: f64) -> Option<Profile> {
    let d = ends[1] - ends[0];
    let mut levels = vec![];
    for t in samples(length_m) {
        let ground = cx.world.site.ground.level(ends[0] + d * t)?;
        levels.push((t * length_m, ground - cx.invert_depth_m));
    }
    Some(Profile::new(levels.into_iter()))
}

/// The rig may launch a drive from this side.
pub fn may_launch(cx: &Context, side: usize) -> bool {
    match cx.job().rig.launch_from {
        LaunchFrom::Either => true,
        LaunchFrom::Upstream => side == FROM_UPSTREAM,
        LaunchFrom::Downstream => side == FROM_DOWNSTREAM,
    }
}

fn least_cost(cx: &Context, near: &[NearPart], side: usize, fixed_cost: f64) -> f64 {
    let job = cx.job();
    let allowed = may_launch(cx, side);
    let avoid = job.rules.unknown_depth == UnknownDepth::Avoid;
    if !allowed || avoid && near.iter().any(|n| n.prove[side]) {
        return f64::INFINITY;
    }
    let holes: usize = near.iter().map(|n| n.least_holes[side]).sum();
    fixed_cost + holes as f64 * job.costs.test_hole
}

/// Buildings that a drive between these points may pass too near.
pub fn buildings_near(cx: &Context, ends: [Coord<f64>; 2]) -> Vec<usize> {
    let found = cx
        .world
        .obstacles
        .building_ids_near(&ends, building_reach_m(cx));
    found
        .into_iter()
        .filter(|i| is_building_near(cx, ends, *i))
        .collect()
}

/// A drive between these points may pass too near this building.
pub fn is_building_near(cx: &Context, [p, q]: [Coord<f64>; 2], building: usize) -> bool {
    let outline = &cx.world.obstacles.buildings[building].1.outline;
    segment_polygon_distance(p, q, outline).distance_m <= building_reach_m(cx)
}

/// How near a building has to be to a drive to matter (m).
pub fn building_reach_m(cx: &Context) -> f64 {
    cx.job().rules.clearance_building_m + cx.bore_mm / 2000.0 + 1e-3
}

/// A centre line keeps its distance from these buildings.
pub fn clears_buildings(cx: &Context, buildings: &[usize], centre: &Segment) -> bool {
    let required = cx.job().rules.clearance_building_m + cx.bore_mm / 2000.0 - LENGTH_TOLERANCE_M;
    let prism = |i: &usize| &cx.world.obstacles.buildings[*i].1;
    buildings
        .iter()
        .all(|i| prism(i).nearest(centre).distance_m >= required)
}

/// So far above or below that no rule and no price can tell it from nothing: no piece near enough for a verdict but
/// `clear`, and contact too unlikely to have a price.
///
/// A piece's plan distance to the drive exceeds what matters except within that distance, and its own length, of the
/// plan-nearest point; only the drive's levels there count. (For a separation in level the drive's levels nearest in plan to the
/// piece's points count, which lie within the piece's length of that point.) Below a service that must lie above the bore
/// nothing is far enough.
fn far_above_or_below(cx: &Context, length_m: f64, near: &NearPart, centre: [f64; 2]) -> bool {
    if near.unknown {
        return false;
    }
    let part = &cx.world.obstacles.services.parts[near.part];
    let y = &cx.yardstick;
    let allowance = part
        .limits
        .horizontal_m
        .max(part.limits.vertical_m)
        .hypot(y.accuracy.at(length_m));
    let required = part.required.crossing_m.max(part.required.parallel_m);
    let separation = part.separation.as_ref();
    let required = separation.map_or(required, |s| required.max(s.vertical_m));
    let only_above = separation.is_some_and(|s| s.service == Side::Above);
    let judged = required + allowance + y.watch_margin_m.max(0.0) + LENGTH_TOLERANCE_M;
    let matters = judged.max(y.nothing_beyond[&part.kind] / 1.96 * allowance)
        + part.radius_m
        + y.bore_radius_m;
    let reach = (matters + PIECE_M) / length_m;
    let level = |s: f64| centre[0] + s.clamp(0.0, 1.0) * (centre[1] - centre[0]);
    near.pieces.iter().all(|n| {
        let Depth::Known(z) = part.pieces[n.piece].depth else {
            return false;
        };
        let (a, b) = (
            level(n.from_upstream - reach),
            level(n.from_upstream + reach),
        );
        let (over, under) = (z[0].min(z[1]) - a.max(b), a.min(b) - z[0].max(z[1]));
        (if only_above { over } else { over.max(under) }) > matters
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{bare_site, context::World, search::Coarse, system::System};

    #[test]
    fn what_a_drive_keeps_is_enough_to_judge_it_from_either_side_at_any_level() {
        let mut site = bare_site::site(&[(0.0, 0.0), (40.0, 0.0)]);
        let across = [(8.0, -9.0, Some(47.9)), (21.0, -9.0, None)];
        let stubs = (0..16).map(|i| (5.0 + 2.0 * f64::from(i), 0.3 + 0.05 * f64::from(i), None));
        for (fid, (x, from, level)) in (1..).zip(across.into_iter().chain(stubs)) {
            let ends = [(x, from), (x + 2.0, 9.0)];
            site.services.push(bare_site::main(fid, ends, level));
        }
        let mut job = bare_site::job();
        // With no distance asked, contact with what is just clear of the bore has its price.
        for clearance in job.rules.clearance.values_mut() {
            (clearance.crossing_m, clearance.parallel_m) = (0.0, 0.0);
        }
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("it has length");
        let cx = &system.members[0].cx;
        let grid = Grid::new(cx, Coarse::FINEST);
        let mut prices = Prices::new(cx);
        let services = &cx.world.obstacles.services;
        let (mut without_pieces, mut by_level, mut lawful) = (0, 0, 0);
        for us in 1..grid.stations.len() {
            for ds in 0..us {
                let Some(drive) = prices.drive(&grid, us as NodeId, ds as NodeId) else {
                    continue;
                };
                let kept = drive.near.iter().filter(|n| n.pieces.is_empty());
                without_pieces += kept.count();
                let by_levels = drive
                    .near
                    .iter()
                    .filter(|n| n.unknown && !n.pieces.is_empty());
                by_level += by_levels.count();
                let [p, q] = drive.ends;
                let all = cx.yardstick.near(services, p, q, cx.concern_m, |_| false);
                for z in [48.6, 48.1, 47.7, 47.2, 46.6] {
                    for side in [FROM_UPSTREAM, FROM_DOWNSTREAM] {
                        let centre = [z, z - 0.3].map(|z| z + cx.centre_above_invert_m());
                        let line = drive_line(p, q, centre, side);
                        let rows = all.iter().flat_map(|near| {
                            let part = &services.parts[near.part];
                            let rate = job.costs.strike[&part.kind];
                            let rows = cx.yardstick.rows(&line, part, near, side);
                            rows.into_iter().map(move |row| (row.judged, rate))
                        });
                        let price = |(judged, rate): (crate::clearance::Judged, f64)| match judged
                            .verdict
                        {
                            Verdict::Clash => f64::INFINITY,
                            Verdict::Prove => job.costs.test_hole,
                            _ => rate * judged.p_contact(),
                        };
                        let want = drive.fixed_cost + rows.map(price).sum::<f64>();
                        let got = prices.drive_cost(&drive, [z, z - 0.3], side);
                        let got = got.unwrap_or(f64::INFINITY);
                        assert!(got == want || (got - want).abs() < 1e-6, "{got} {want}");
                        lawful += usize::from(got.is_finite());
                    }
                }
            }
        }
        assert!(without_pieces > 50, "{without_pieces}");
        assert!(by_level > 20 && lawful > 50, "{by_level} {lawful}");
    }
}
