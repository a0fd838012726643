//! What driving a run with through pits costs at least, by its levels.

use super::{
    grid::LevelGrid,
    pricing::{PitPrice, may_launch},
};
use crate::{
    alignment::Profile,
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM, LENGTH_TOLERANCE_M},
    plan::context::Context,
};
use std::ops::Range;

/// Costs by (first drive launched from the upstream manhole, last drive launched from the downstream one).
pub type BySides = [[f64; 2]; 2];

/// A through pit may be so much above the highest invert that cover allows: only what is certain is ruled out (m).
const HAIR_M: f64 = 2.0 * LENGTH_TOLERANCE_M;

/// Cannot be.
pub const NEVER: BySides = [[f64::INFINITY; 2]; 2];

/// The greater of each two.
pub fn greater(a: &BySides, b: &BySides) -> BySides {
    [0, 1].map(|f| [0, 1].map(|l| a[f][l].max(b[f][l])))
}

/// The least cost of a run with through pits, these included.
#[derive(Debug, Clone)]
pub struct LeastThrough {
    /// Where one through pit is enough, by what pit and drives cost at least at any level: the cheapest first.
    places: Vec<(f64, Place)>,
    /// 0 where these sides may launch.
    sides: BySides,
    /// Least with several through pits, at any levels.
    several: BySides,
    /// What lower levels add to that.
    deeper: Option<Deeper>,
}

/// A place for the only through pit of a run.
#[derive(Debug, Clone)]
pub struct Place {
    /// Share of the way downstream.
    pub share: f64,
    /// Highest invert that cover allows there.
    pub highest: f64,
    /// Least cost of the two drives.
    pub drives: f64,
    /// Price of a pit that launches nothing, and of one that launches something.
    pub pits: [Option<PitPrice>; 2],
}

impl Place {
    /// Least cost of drives and pit, at the highest level that cover allows.
    pub fn least(&self) -> f64 {
        self.by_kind().into_iter().fold(f64::INFINITY, f64::min)
    }

    fn by_kind(&self) -> [f64; 2] {
        self.by_kind_at(self.highest)
    }

    /// Least cost at a level, by (the pit launches something).
    fn by_kind_at(&self, z: f64) -> [f64; 2] {
        let at = |p: &Option<PitPrice>| p.and_then(|p| p.at(z));
        [0, 1].map(|l| at(&self.pits[l]).map_or(f64::INFINITY, |c| c.0 + self.drives))
    }
}

impl LeastThrough {
    /// From the places where one is enough, and what several cost.
    pub fn new(
        cx: &Context,
        places: Vec<Place>,
        several: BySides,
        deeper: Option<Deeper>,
    ) -> LeastThrough {
        // The first drive of two is launched from the upstream manhole or from the pit; the last one likewise.
        let first = [FROM_DOWNSTREAM, FROM_UPSTREAM].map(|s| may_launch(cx, s));
        let last = [FROM_UPSTREAM, FROM_DOWNSTREAM].map(|s| may_launch(cx, s));
        let either = |f: usize, l: usize| {
            if first[f] && last[l] {
                0.0
            } else {
                f64::INFINITY
            }
        };
        let by_least = |place: Place| {
            let [receives, launches] = place.by_kind_at(place.highest + HAIR_M);
            (receives.min(launches), place)
        };
        let mut places: Vec<(f64, Place)> = places.into_iter().map(by_least).collect();
        places.sort_by(|a, b| a.0.total_cmp(&b.0));
        LeastThrough {
            places,
            sides: [0, 1].map(|f| [0, 1].map(|l| either(f, l))),
            several,
            deeper,
        }
    }

    /// At these inverts upstream and downstream, the latter anywhere between two levels.
    pub fn at(&self, z0: f64, [z1_low, z1_high]: [f64; 2], length_m: f64) -> BySides {
        let mut least = [f64::INFINITY; 2];
        for (least_here, place) in &self.places {
            if *least_here >= least[0].max(least[1]) {
                break; // nor does any place after it lower anything
            }
            let at = |z1: f64| z0 + (z1 - z0) * place.share;
            let highest = place.highest + HAIR_M;
            if at(z1_low) > highest {
                continue;
            }
            let z = at(z1_high).min(highest);
            for (least, price) in least.iter_mut().zip(&place.pits) {
                if let Some((cost, _)) = price.and_then(|p| p.at(z)) {
                    *least = least.min(place.drives + cost);
                }
            }
        }
        let [receives, launches] = least;
        let mut out = [[launches, launches], [launches, receives]];
        let several_least = self.several.iter().flatten().copied();
        let most = out.iter().flatten().copied().fold(0.0, f64::max);
        let deeper = if several_least.fold(f64::INFINITY, f64::min) < most {
            self.deeper
                .as_ref()
                .map_or(0.0, |d| d.by(z0, z1_high, length_m))
        } else {
            0.0
        };
        for (f, out) in out.iter_mut().enumerate() {
            for (l, out) in out.iter_mut().enumerate() {
                *out = (*out + self.sides[f][l]).min(self.several[f][l] + deeper);
            }
        }
        out
    }

    /// At all levels of a range.
    pub fn over(
        &self,
        z0: f64,
        levels: &LevelGrid,
        range: &Range<usize>,
        length_m: f64,
    ) -> BySides {
        let ends = [range.start, range.end - 1].map(|i| levels.level(i));
        self.at(z0, ends, length_m)
    }

    /// At any levels.
    pub fn at_any_level(&self) -> BySides {
        let kinds = self.places.iter().map(|(_, place)| place.by_kind());
        let [receives, launches] =
            kinds.fold([f64::INFINITY; 2], |a, b| [a[0].min(b[0]), a[1].min(b[1])]);
        let one = [[launches, launches], [launches, receives]];
        [0, 1].map(|f| [0, 1].map(|l| (one[f][l] + self.sides[f][l]).min(self.several[f][l])))
    }

    /// Least cost with several through pits, at any levels.
    pub fn several(&self) -> &BySides {
        &self.several
    }
}

/// The depth of several through pits that no line avoids: each stands at least as far below the highest invert possible at
/// its place as the line is below the highest inverts of all places.
#[derive(Debug, Clone)]
pub struct Deeper {
    /// Highest inverts at all places for through pits.
    pub any: Profile,
    /// Rates that no through pit undercuts.
    pub rates: PitPrice,
    /// Depth that none undercuts (m).
    pub shallowest_m: f64,
    /// Fewest through pits.
    pub pits: f64,
}

impl Deeper {
    fn by(&self, z0: f64, z1: f64, length_m: f64) -> f64 {
        let deeper_m = self.any.least_above(z0, z1, length_m).max(0.0);
        let one =
            self.rates.cost(self.shallowest_m + deeper_m) - self.rates.cost(self.shallowest_m);
        self.pits * one
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        cost::PitRates,
        plan::{bare_site, context::World, system::System},
    };

    #[test]
    fn the_cheapest_place_is_found_whatever_their_order() {
        let (site, job) = (
            bare_site::site(&[(0.0, 0.0), (60.0, 0.0)]),
            bare_site::job(),
        );
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("it has length");
        let pit = |lowest_invert_m: f64, fixed: f64| {
            Some(PitPrice {
                lowest_invert_m,
                ground_m: 50.0,
                axis_height_m: 0.4,
                support_from_m: 1.5,
                rates: PitRates {
                    fixed,
                    per_m: 700.0,
                    support_per_m: 90.0,
                },
            })
        };
        let place = |i: usize| {
            let k = (i * 7 % 11) as f64;
            let receives = match i % 3 {
                0 => None,
                _ => pit(44.0 + k / 5.0, 900.0 + 40.0 * k),
            };
            Place {
                share: (i + 1) as f64 / 12.0,
                highest: 48.0 - (i * 5 % 11) as f64 / 5.0,
                drives: 3000.0 + 90.0 * (i * 3 % 11) as f64,
                pits: [receives, pit(45.0 + k / 5.0, 1000.0 + 40.0 * k)],
            }
        };
        let places: Vec<Place> = (0..11).map(place).collect();
        let several = [[f64::INFINITY; 2]; 2];
        let through = LeastThrough::new(&system.members[0].cx, places.clone(), several, None);
        let (mut cheapest, length_m) = (std::collections::BTreeSet::new(), 40.0);
        for z0 in (0..60).map(|i| 45.0 + f64::from(i) / 15.0) {
            for z1 in (0..60).map(|i| 44.0 + f64::from(i) / 15.0) {
                let each = |l: usize| {
                    let cost = places.iter().enumerate().filter_map(move |(i, p)| {
                        let z = z0 + (z1 - z0) * p.share;
                        let cost = p.pits[l]?.at(z)?.0 + p.drives;
                        (z <= p.highest + HAIR_M).then_some((cost, i))
                    });
                    cost.min_by(|a, b| a.0.total_cmp(&b.0))
                };
                let least = [0, 1].map(|l| each(l).map_or(f64::INFINITY, |c| c.0));
                let found = through.at(z0, [z1; 2], length_m);
                assert_eq!([found[1][1], found[0][0]], least, "{z0} {z1}");
                cheapest.extend([each(0), each(1)].into_iter().flatten().map(|c| c.1));
            }
        }
        assert!(cheapest.len() > 4, "{cheapest:?}");
    }
}
