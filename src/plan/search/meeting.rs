//! Pit prices of a manhole position by how its drives meet it: what no real pit there undercuts.

use super::{
    grid::Grid,
    least_pit::{Size, least_pit, lower},
    pricing::{DirectionId, PitPrice, Prices},
};
use geo::Coord;

/// Stands for a drive that is not there.
const NONE: DirectionId = DirectionId::MAX;

/// Least pit prices of one position.
///
/// Directions are told apart only where there are few ways to meet; then each price is that of the pit itself. Where there are
/// many, all directions are one class.
///
/// A branch's drive that is launched from a junction only makes a pit larger that the route's own drives are launched from: what
/// these ask for is within it, on the same axis.
#[derive(Debug, Clone, Default)]
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
    /// Of a position where drives in these directions meet; at most `many` pairs are told apart. `away` are the directions in which
    /// the only branch that joins may be launched there; empty where they are not known.
    pub fn new(
        prices: &mut Prices,
        grid: &Grid,
        position: usize,
        (downs, ups): (Vec<DirectionId>, Vec<DirectionId>),
        away: &[Coord<f64>],
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
        if pairs > many {
            let size = |l: usize, ld: usize| match (l + ld, joined) {
                (0, false) => Size::Reception,
                // A branch's drive may be launched where its own are not, or turn the pit.
                (0, true) => Size::Either,
                (1, false) => Size::Launch,
                _ => Size::LaunchTwice,
            };
            let cx = prices.cx;
            return Meetings::of_one_class(|l, ld| {
                allowed(l, ld).then(|| least_pit(cx, grid, position, size(l, ld)))
            });
        }
        let node = place.node;
        let or_none = |of: Vec<DirectionId>| if of.is_empty() { vec![NONE] } else { of };
        let (downs, ups) = (or_none(downs), or_none(ups));
        let away: Vec<DirectionId> = away.iter().map(|u| prices.direction_of(*u)).collect();
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
                        let turned = launching(prices, grid, position, &drives, &away, price);
                        let turned = turned.filter(|_| allowed(l, ld));
                        of_branch[1][l][ld].push(turned);
                        price = match (price, turned) {
                            (Some(own), Some(turned)) => Some(lower(own, turned)),
                            (own, turned) => own.or(turned),
                        };
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
            prices: [0, 1].map(|l| [0, 1].map(|ld| vec![price(l, ld)])),
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

    /// Least cost with the lowest invert at `invert_m`, however drives meet the pit; +inf where none can.
    pub fn least_at(&self, invert_m: f64) -> f64 {
        let all = self.prices.iter().flatten().flatten().flatten();
        all.filter_map(|p| p.at(invert_m))
            .map(|c| c.0)
            .fold(f64::INFINITY, f64::min)
    }
}

/// Least price of a pit from which a branch's drive is launched, beside the route's own drives that come first; `own` is the price
/// without it.
fn launching(
    prices: &mut Prices,
    grid: &Grid,
    position: usize,
    drives: &[(DirectionId, bool)],
    away: &[DirectionId],
    own: Option<PitPrice>,
) -> Option<PitPrice> {
    let node = grid.positions[position].node;
    if !away.is_empty() {
        let with = |u: &DirectionId| prices.pit(grid, node, &[drives, &[(*u, true)]].concat());
        return away.iter().filter_map(with).reduce(lower);
    }
    if drives.iter().any(|d| d.1) {
        return own;
    }
    // It turns the pit, nobody knows how.
    Some(least_pit(prices.cx, grid, position, Size::LaunchTwice))
}

fn class(of: &[DirectionId], direction: DirectionId) -> usize {
    of.iter().position(|d| *d == direction).unwrap_or(0)
}

/// The drives that meet a manhole, in order of precedence, without those that are not there.
fn manhole_drives(down: (DirectionId, bool), up: (DirectionId, bool)) -> Vec<(DirectionId, bool)> {
    [down, up].into_iter().filter(|d| d.0 != NONE).collect()
}
