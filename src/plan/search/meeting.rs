//! Pit prices of a manhole position by how its drives meet it: what no real pit there undercuts.

use super::{
    fan::{Away, Fan, least_room_m},
    grid::Grid,
    least_pit::{Size, higher, least_pit, least_pit_of, lower},
    pricing::{DirectionId, PitPrice, Prices},
};
use crate::plan::context::Context;

/// Stands for a drive that is not there.
const NONE: DirectionId = DirectionId::MAX;

/// Least pit prices of one position.
///
/// Directions are told apart only where there are few ways to meet; then each price is that of the pit itself. Where there are
/// many, all directions are one class.
///
/// A branch's drive that is launched from a junction only makes a pit larger that the route's own drives are launched from: what
/// these ask for is within it, on the same axis.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Meetings {
    /// Directions of the drives downstream, by class; empty: all in one.
    downs: Vec<DirectionId>,
    /// Directions of the drives upstream, by class.
    ups: Vec<DirectionId>,
    /// By (launches its upstream drive, launches its downstream drive), then downstream class, then upstream class. At an end
    /// the missing drive is not launched.
    prices: Prices4,
    /// The same where one branch joins: with its drive received there, and with it launched there; else empty.
    of_branch: [Prices4; 2],
}

/// Prices by (launches its upstream drive, launches its downstream drive), then downstream class, then upstream class.
type Prices4 = [[Vec<Option<PitPrice>>; 2]; 2];

impl Meetings {
    /// Of a position where drives in these directions meet; at most `many` pairs are told apart (with 0,
    /// not even directions are known yet). `away` are the directions in which
    /// the only branch that joins may be launched there; none where they are not known.
    pub fn new(
        prices: &mut Prices,
        grid: &Grid,
        position: usize,
        (downs, ups): (Vec<DirectionId>, Vec<DirectionId>),
        away: Option<&Away>,
        many: usize,
    ) -> Meetings {
        let place = &grid.positions[position];
        let (is_head, is_outfall) = (place.station + 1 == grid.stations.len(), place.station == 0);
        if is_outfall && prices.cx.joined {
            // the pit of the route that it joins
            let nothing = |l, ld| (ld == 0 && l < 2).then_some(PitPrice::NOTHING);
            return Meetings::of_one_class(nothing);
        }
        let joined = !grid.branches(place.station).is_empty();
        let allowed = |l: usize, ld: usize| !(is_head && l == 1 || is_outfall && ld == 1);
        let pairs = downs.len().max(1) * ups.len().max(1);
        let unknown = Away::default();
        let away = away.unwrap_or(&unknown);
        if pairs > many {
            let known = |of: &[DirectionId]| Fan::of(of.iter().map(|d| prices.vector(*d)));
            let fan = |of: &[DirectionId]| if many > 0 { known(of) } else { None };
            let fans = [fan(&downs), fan(&ups), away.fan];
            let least = |(l, ld): (usize, usize), branch: usize| {
                let launched = [ld, l, branch].map(|launched| launched == 1);
                let price = || least_launching(prices.cx, grid, position, &fans, launched);
                allowed(l, ld).then(price).flatten()
            };
            if !joined {
                return Meetings::of_one_class(|l, ld| least((l, ld), 0));
            }
            let either = |l, ld| lowest(least((l, ld), 0), least((l, ld), 1));
            return Meetings {
                of_branch: [0, 1].map(|branch| one_class(|l, ld| least((l, ld), branch))),
                ..Meetings::of_one_class(either)
            };
        }
        let node = place.node;
        let or_none = |of: Vec<DirectionId>| if of.is_empty() { vec![NONE] } else { of };
        let (downs, ups) = (or_none(downs), or_none(ups));
        let each = away.each.iter();
        let each: Vec<DirectionId> = each.map(|u| prices.direction_of(*u)).collect();
        let away = (&each[..], away.fan);
        let mut all = Prices4::default();
        let mut of_branch: [Prices4; 2] = Default::default();
        for (l, ld) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            for down in &downs {
                for up in &ups {
                    let drives = manhole_drives((*down, ld == 1), (*up, l == 1));
                    let mut price = (allowed(l, ld) && !drives.is_empty())
                        .then(|| prices.pit(grid, node, &drives))
                        .flatten();
                    if joined {
                        of_branch[0][l][ld].push(price);
                        let turned = launching(prices, grid, position, &drives, away, price);
                        let turned = turned.filter(|_| allowed(l, ld));
                        of_branch[1][l][ld].push(turned);
                        price = lowest(price, turned);
                    }
                    all[l][ld].push(price);
                }
            }
        }
        Meetings {
            downs,
            ups,
            prices: all,
            of_branch,
        }
    }

    fn of_one_class(price: impl Fn(usize, usize) -> Option<PitPrice>) -> Meetings {
        Meetings {
            downs: vec![],
            ups: vec![],
            prices: one_class(price),
            of_branch: Default::default(),
        }
    }

    /// Classes of drives downstream and upstream.
    pub fn classes(&self) -> [usize; 2] {
        [&self.downs, &self.ups].map(|of| of.len().max(1))
    }

    /// Class of a drive downstream.
    pub fn down(&self, direction: DirectionId) -> usize {
        class(&self.downs, direction)
    }

    /// Class of a drive upstream.
    pub fn up(&self, direction: DirectionId) -> usize {
        class(&self.ups, direction)
    }

    /// Price by (launches its upstream drive, launches its downstream drive) and classes (downstream, upstream).
    pub fn price(&self, (l, ld): (usize, usize), (down, up): (usize, usize)) -> Option<PitPrice> {
        let ups = self.ups.len().max(1);
        *self.prices[l][ld].get(down * ups + up)?
    }

    /// The same where the only branch that joins is launched there (1) or received (0).
    pub fn price_with(
        &self,
        branch_launched: usize,
        (l, ld): (usize, usize),
        (down, up): (usize, usize),
    ) -> Option<PitPrice> {
        let prices = &self.of_branch[branch_launched][l][ld];
        if prices.is_empty() {
            return self.price((l, ld), (down, up));
        }
        *prices.get(down * self.ups.len().max(1) + up)?
    }

    /// The same for what is launched there (its upstream drive, its downstream drive).
    pub fn least_of_size(&self, (l, ld): (usize, usize), invert_m: f64) -> f64 {
        let all = self.prices[l][ld].iter().flatten();
        let costs = all.filter_map(|p| p.at(invert_m)).map(|c| c.0);
        costs.fold(f64::INFINITY, f64::min)
    }

    /// All prices, however drives meet the pit.
    pub fn each(&self) -> impl Iterator<Item = &PitPrice> {
        self.prices.iter().flatten().flatten().flatten()
    }

    /// Least cost with the lowest invert at `invert_m`, however drives meet the pit; +inf where none can.
    pub fn least_at(&self, invert_m: f64) -> f64 {
        let all = self.each().filter_map(|p| p.at(invert_m));
        all.map(|c| c.0).fold(f64::INFINITY, f64::min)
    }
}

fn one_class(price: impl Fn(usize, usize) -> Option<PitPrice>) -> Prices4 {
    [0, 1].map(|l| [0, 1].map(|ld| vec![price(l, ld)]))
}

/// Price that no pit undercuts from which such drives are launched: its own downstream, its own upstream, a branch's. Of each its
/// directions, as far as they are known.
fn least_launching(
    cx: &Context,
    grid: &Grid,
    position: usize,
    fans: &[Option<Fan>; 3],
    launched: [bool; 3],
) -> Option<PitPrice> {
    let of_each = fans.iter().zip(launched).filter(|(_, launched)| *launched);
    let fans: Vec<Fan> = of_each.filter_map(|(fan, _)| *fan).collect();
    match launched.into_iter().filter(|launched| *launched).count() {
        0 => least_pit(cx, grid, position, Size::Reception),
        1 if !launched[2] => least_pit(cx, grid, position, Size::Launch),
        _ => least_pit_of(cx, grid, position, least_room_m(&cx.job().rig, &fans)),
    }
}

/// Least price of a pit from which a branch's drive is launched in one of some directions (each, where they are few, and their
/// range), beside the route's own drives that come first; `own` is the price without it.
fn launching(
    prices: &mut Prices,
    grid: &Grid,
    position: usize,
    drives: &[(DirectionId, bool)],
    (each, fan): (&[DirectionId], Option<Fan>),
    own: Option<PitPrice>,
) -> Option<PitPrice> {
    let node = grid.positions[position].node;
    if !each.is_empty() {
        let with = |u: &DirectionId| prices.pit(grid, node, &[drives, &[(*u, true)]].concat());
        return each.iter().filter_map(with).reduce(lower);
    }
    let launched = drives.iter().filter(|d| d.1);
    let of_own = launched.map(|d| Fan::of(std::iter::once(prices.vector(d.0))));
    let fans: Vec<Fan> = of_own.chain([fan]).flatten().collect();
    let room_m = least_room_m(&prices.cx.job().rig, &fans);
    let least = least_pit_of(prices.cx, grid, position, room_m)?;
    match drives.iter().any(|d| d.1) {
        // It only makes the pit larger.
        true => Some(higher(own?, least)),
        // It turns the pit, nobody knows how.
        false => Some(least),
    }
}

fn lowest(a: Option<PitPrice>, b: Option<PitPrice>) -> Option<PitPrice> {
    match (a, b) {
        (Some(a), Some(b)) => Some(lower(a, b)),
        (a, b) => a.or(b),
    }
}

fn class(of: &[DirectionId], direction: DirectionId) -> usize {
    of.iter().position(|d| *d == direction).unwrap_or(0)
}

/// The drives that meet a manhole, in order of precedence, without those that are not there.
fn manhole_drives(down: (DirectionId, bool), up: (DirectionId, bool)) -> Vec<(DirectionId, bool)> {
    [down, up].into_iter().filter(|d| d.0 != NONE).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        plan::{bare_site, context::World, search::Coarse, system::System},
        site::{Building, FeatureRef, Site, Surface, SurfaceArea, Tree},
    };
    use geo::{Coord, Rect, coord};

    fn at(fid: i64) -> FeatureRef {
        FeatureRef {
            layer: "made".into(),
            fid,
        }
    }

    /// A main with a branch at 20 m, and things beside it that pits keep away from or cost more on.
    fn site() -> Site {
        let mut site = bare_site::site(&[(0.0, 0.0), (20.0, 0.0), (40.0, 0.0)]);
        let mut branch = bare_site::site(&[(20.0, 25.0), (20.0, 0.0)])
            .routes
            .remove(0);
        (branch.route_id, branch.joins) = ("R2".into(), Some("R1".into()));
        site.routes.push(branch);
        let area = |from: (f64, f64), to: (f64, f64)| Rect::new(from, to).to_polygon();
        let paved = [(Surface::Asphalt, -30.0, 7.0), (Surface::Lawn, 9.5, 21.0)];
        site.surfaces = paved
            .map(|(surface, from, to)| SurfaceArea {
                at: at(1),
                surface,
                parts: vec![area((from, -9.0), (to, 0.6))],
            })
            .to_vec();
        site.buildings.push(Building {
            at: at(1),
            floor_m: None,
            foundation_depth_m: None,
            parts: vec![area((25.0, 2.2), (35.0, 9.0))],
        });
        site.trees.push(Tree {
            at: at(1),
            trunk_diameter_m: 0.3,
            retain: true,
            points: vec![coord! {x: 13.0, y: -2.6}],
        });
        for (fid, x, level) in [(1, 5.0, Some(48.4)), (2, 37.3, None)] {
            site.services
                .push(bare_site::main(fid, [(x, 1.0), (x, 30.0)], level));
        }
        site
    }

    fn around() -> impl Iterator<Item = Coord<f64>> {
        (0..24).map(|i| {
            let (y, x) = (f64::from(i) * 15.0 + 7.0).to_radians().sin_cos();
            coord! {x: x, y: y}
        })
    }

    /// Every pit for such drives costs at least `least` at every level, and none stands where it says that none can.
    fn assert_none_undercuts(
        (prices, grid, position): (&mut Prices, &Grid, usize),
        drives: &[(DirectionId, bool)],
        least: Option<PitPrice>,
    ) -> bool {
        let place = &grid.positions[position];
        let real = prices.pit(grid, place.node, drives);
        for z in (0..place.levels.len()).map(|z| place.levels.level(z)) {
            let cost = |p: Option<PitPrice>| p.and_then(|p| p.at(z)).map_or(f64::INFINITY, |c| c.0);
            assert!(
                cost(least) <= cost(real) + 1e-9,
                "{position} {drives:?} {z}"
            );
        }
        real.is_some()
    }

    #[test]
    fn no_pit_undercuts_what_is_certain_of_its_directions() {
        let (site, mut job) = (site(), bare_site::job());
        job.search.station_step_m = 1.0;
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0, 1], &[true, true]).expect("it has length");
        let cx = &system.members[0].cx;
        let mut grid = Grid::new(cx, Coarse::FINEST);
        let all = grid.positions.len();
        grid.keep_where_pits_stand(cx);
        assert!(
            grid.positions.len() < all,
            "the service of unknown depth closes some"
        );
        let mut prices = Prices::new(cx);
        let away = Away::new(
            around()
                .filter(|u| u.y > 0.8)
                .chain((0..4).map(|i| {
                    let (y, x) = (f64::from(i) + 80.0).to_radians().sin_cos();
                    coord! {x: x, y: y}
                }))
                .collect(),
        );
        assert!(away.each.is_empty());
        let mut some = 0;
        for position in 1..grid.positions.len() - 1 {
            let of = |prices: &mut Prices, wanted: fn(&Coord<f64>) -> bool| -> Vec<DirectionId> {
                around()
                    .filter(wanted)
                    .map(|u| prices.direction_of(u))
                    .collect()
            };
            let (downs, ups) = (
                of(&mut prices, |u| u.x < -0.6),
                of(&mut prices, |u| u.x > 0.6),
            );
            let many = Meetings::new(
                &mut prices,
                &grid,
                position,
                (downs.clone(), ups.clone()),
                Some(&away),
                1,
            );
            let branch: Vec<DirectionId> = of(&mut prices, |u| u.y > 0.8);
            let joined = !grid.branches(grid.positions[position].station).is_empty();
            for (l, ld) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
                for (down, up) in downs.iter().flat_map(|d| ups.iter().map(move |u| (*d, *u))) {
                    let own = [(down, ld == 1), (up, l == 1)];
                    let place = (&mut prices, &grid, position);
                    let least = many.price_with(0, (l, ld), (0, 0));
                    some += usize::from(assert_none_undercuts(place, &own, least));
                    for u in branch.iter().filter(|_| joined) {
                        let least = many.price_with(1, (l, ld), (0, 0));
                        let with = [own[0], own[1], (*u, true)];
                        assert_none_undercuts((&mut prices, &grid, position), &with, least);
                        let either = many.price((l, ld), (0, 0));
                        assert_none_undercuts((&mut prices, &grid, position), &with, either);
                    }
                }
            }
        }
        assert!(some > 1000, "{some} pits can stand");
    }
}
