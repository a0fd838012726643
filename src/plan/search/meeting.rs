//! Pit prices of a manhole position by how its drives meet it: what no real pit there undercuts.

use super::{
    grid::Grid,
    least_pit::{Size, least_pit},
    pricing::{DirectionId, PitPrice, Prices},
};

/// Stands for a drive that is not there.
const NONE: DirectionId = DirectionId::MAX;

/// Least pit prices of one position.
///
/// Directions are told apart only where there are few ways to meet; then each price is that of the pit itself. Where there are
/// many, all directions are one class.
#[derive(Debug, Clone, Default)]
pub struct Meetings {
    /// Directions of the drives downstream, by class; empty: all in one.
    downs: Vec<DirectionId>,
    /// Directions of the drives upstream, by class.
    ups: Vec<DirectionId>,
    /// By (launches its upstream drive, launches its downstream drive), then downstream class, then upstream class. At an end
    /// the missing drive is not launched.
    prices: [[Vec<Option<PitPrice>>; 2]; 2],
}

impl Meetings {
    /// Of a position where drives in these directions meet; at most `many` pairs are told apart.
    pub fn new(
        prices: &mut Prices,
        grid: &Grid,
        position: usize,
        (downs, ups): (Vec<DirectionId>, Vec<DirectionId>),
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
        if joined || pairs > many {
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
        let mut all: [[Vec<Option<PitPrice>>; 2]; 2] = Default::default();
        for (l, ld) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
            for down in &downs {
                for up in &ups {
                    let drives = manhole_drives((*down, ld == 1), (*up, l == 1));
                    let price = (allowed(l, ld) && !drives.is_empty())
                        .then(|| prices.pit(grid, node, &drives))
                        .flatten();
                    all[l][ld].push(price);
                }
            }
        }
        Meetings {
            downs,
            ups,
            prices: all,
        }
    }

    fn of_one_class(price: impl Fn(usize, usize) -> Option<PitPrice>) -> Meetings {
        Meetings {
            downs: vec![],
            ups: vec![],
            prices: [0, 1].map(|l| [0, 1].map(|ld| vec![price(l, ld)])),
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

    /// Least cost with the lowest invert at `invert_m`, however drives meet the pit; +inf where none can.
    pub fn least_at(&self, invert_m: f64) -> f64 {
        let all = self.prices.iter().flatten().flatten().flatten();
        all.filter_map(|p| p.at(invert_m))
            .map(|c| c.0)
            .fold(f64::INFINITY, f64::min)
    }
}

fn class(of: &[DirectionId], direction: DirectionId) -> usize {
    of.iter().position(|d| *d == direction).unwrap_or(0)
}

/// The drives that meet a manhole, in order of precedence, without those that are not there.
fn manhole_drives(down: (DirectionId, bool), up: (DirectionId, bool)) -> Vec<(DirectionId, bool)> {
    [down, up].into_iter().filter(|d| d.0 != NONE).collect()
}
