//! What lies along a route, by station: so that what is near a line between two stations is at hand.

use super::{pricing::building_reach_m, runs::ON_CHORD_M};
use crate::{
    alignment::Station,
    clearance::{LENGTH_TOLERANCE_M, Piece, crossing, nearest_2d},
    plan::context::Context,
};
use geo::Coord;

/// Neighbours of a crossed piece that are nearer than this are there, whatever they are (m).
pub const NEIGHBOURS_M: f64 = 4.0;

/// Plan distance of a piece from a stretch of the route (m).
fn apart_m([p, q]: [Coord<f64>; 2], piece: &Piece) -> f64 {
    if crossing(p, q, piece.a, piece.b).is_some() {
        return 0.0;
    }
    let to_piece = [p, q].map(|at| nearest_2d(at, piece.a, piece.b));
    let to_stretch = [piece.a, piece.b].map(|at| nearest_2d(at, p, q));
    to_piece
        .into_iter()
        .chain(to_stretch)
        .fold(f64::INFINITY, f64::min)
}

/// Something near a stretch of the route.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
struct Beside {
    /// Service part and piece, or building and 0.
    what: (u32, u32),
    /// First and last station of the stretch.
    stations: [u32; 2],
}

/// What lies along a route.
#[derive(Debug, Default)]
pub struct Strip {
    /// Pieces of services that count everywhere along the route, by part, then along it.
    pieces: Vec<Beside>,
    /// Those of them that a line may be certain to come too near to.
    close: Vec<Beside>,
    /// Buildings.
    buildings: Vec<Beside>,
}

impl Strip {
    /// Of a route's stations.
    pub fn new(cx: &Context, stations: &[Station]) -> Strip {
        let o = &cx.world.obstacles;
        // A line between positions strays no farther from the route between their stations.
        let aside_m = cx.job().search.corridor_m.max(ON_CHORD_M) + 2.0 * LENGTH_TOLERANCE_M;
        let mut strip = Strip::default();
        let building_m = building_reach_m(cx) + aside_m;
        let mut found_pieces: Vec<((u32, u32), u32)> = vec![];
        let mut found_close: Vec<((u32, u32), u32)> = vec![];
        let mut found_buildings: Vec<((u32, u32), u32)> = vec![];
        for (i, w) in stations.windows(2).enumerate() {
            let ends = [w[0].point, w[1].point];
            let pieces = o.services.in_box(ends, cx.concern_m + aside_m);
            for (part, k) in pieces.into_iter().filter(|p| !cx.may_be_exempt(p.0)) {
                let what = ((part as u32, k as u32), i as u32);
                let of = &o.services.parts[part];
                let apart_m = apart_m(ends, &of.pieces[k]) - aside_m;
                if apart_m
                    <= cx
                        .yardstick
                        .concerns_within(of, cx.reach.m)
                        .max(NEIGHBOURS_M)
                {
                    found_pieces.push(what);
                }
                if apart_m <= cx.yardstick.may_break_within(of) {
                    found_close.push(what);
                }
            }
            let buildings = o.building_ids_near(&ends, building_m).into_iter();
            found_buildings.extend(buildings.map(|b| ((b as u32, 0), i as u32)));
        }
        strip.pieces = stretches(found_pieces);
        strip.close = stretches(found_close);
        strip.buildings = stretches(found_buildings);
        strip
    }

    /// Pieces that may be near a line between positions of two stations: service part and piece, by part.
    pub fn pieces(&self, stations: [usize; 2]) -> impl Iterator<Item = (usize, usize)> + '_ {
        along(&self.pieces, stations)
    }

    /// Those of them that the line may be certain to come too near to, or to need a test hole for.
    pub fn close(&self, stations: [usize; 2]) -> impl Iterator<Item = (usize, usize)> + '_ {
        along(&self.close, stations)
    }

    /// Buildings that may be near such a line.
    pub fn buildings(&self, stations: [usize; 2]) -> impl Iterator<Item = usize> + '_ {
        along(&self.buildings, stations).map(|b| b.0)
    }
}

fn along(of: &[Beside], [s, t]: [usize; 2]) -> impl Iterator<Item = (usize, usize)> + '_ {
    let (low, high) = (s.min(t) as u32, s.max(t) as u32);
    of.iter()
        .filter(move |b| b.stations[0] < high && b.stations[1] > low)
        .map(|b| (b.what.0 as usize, b.what.1 as usize))
}

/// From what was found at each stretch between neighbouring stations to one stretch for everything found.
fn stretches(mut found: Vec<((u32, u32), u32)>) -> Vec<Beside> {
    found.sort_unstable();
    let of = |group: &[((u32, u32), u32)]| Beside {
        what: group[0].0,
        stations: [group[0].1, group[group.len() - 1].1 + 1],
    };
    found.chunk_by(|a, b| a.0 == b.0).map(of).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_found_at_several_stretches_lies_along_all_between() {
        let all = stretches(vec![((7, 1), 4), ((7, 0), 2), ((7, 1), 2), ((3, 0), 0)]);
        let strip = Strip {
            pieces: all,
            ..Strip::default()
        };
        let at = |stations| strip.pieces(stations).collect::<Vec<_>>();
        assert_eq!(at([5, 0]), [(3, 0), (7, 0), (7, 1)]);
        assert_eq!(at([4, 3]), [(7, 1)]);
        assert_eq!(at([2, 1]), []);
        assert_eq!(at([1, 0]), [(3, 0)]);
    }
}
