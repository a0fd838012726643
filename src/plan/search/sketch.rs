//! What every straight way from one station to another is certain to cost, wherever on the two it starts and ends: cheap
//! enough to be asked of every pair, so that few lines are looked at more closely.

use super::{
    grid::Grid,
    least_pit::{Size, least_through_pit},
    pricing::PitPrice,
};
use crate::{
    clearance::{Depth, LENGTH_TOLERANCE_M, ServicePart, crossing, nearest_2d},
    plan::{context::Context, search::runs::ON_CHORD_M},
};
use geo::Coord;
use std::collections::BTreeSet;

/// Certain costs between stations.
#[derive(Debug)]
pub struct Sketch {
    /// By upstream station, from its own down: services of unknown depth that every way crosses.
    crossed: Vec<Vec<u16>>,
    /// By station: least cost of a through pit that launches nothing, and of one that launches something.
    pits: Vec<[f64; 2]>,
    /// By station: the farthest that a drive from a pit there reaches, upstream and downstream.
    within: Vec<[usize; 2]>,
}

/// A part of a service that lies right across the route.
struct Across {
    /// Ways to this station or one farther downstream cross it ...
    below: usize,
    /// ... that start at this one or farther upstream.
    above: usize,
}

impl Sketch {
    /// Of a route's stations. Ways between stations farther apart than `spacing_m` in plan are not asked for.
    pub fn new(cx: &Context, grid: &Grid, spacing_m: f64) -> Sketch {
        let n = grid.stations.len();
        let apart = |s: usize, t: usize| {
            let d = grid.stations[s].point - grid.stations[t].point;
            d.x.hypot(d.y)
        };
        let aside = 2.0 * stray_m(cx);
        let asked = |s: usize| {
            (0..=s)
                .rev()
                .take_while(move |t| apart(s, *t) <= spacing_m + aside)
        };
        let mut crossed: Vec<Vec<u16>> = (0..n).map(|s| vec![0; asked(s).count()]).collect();
        for across in across(cx, grid) {
            for (s, row) in crossed.iter_mut().enumerate().skip(across.above) {
                for count in row.iter_mut().skip(s - across.below) {
                    *count += 1;
                }
            }
        }
        let reach_m = cx.reach.m + aside + 1e-3;
        let within = |s: usize| {
            let near = |t: &usize| apart(s, *t) <= reach_m;
            [
                (s..n).rev().find(near).unwrap_or(s),
                (0..=s).find(near).unwrap_or(s),
            ]
        };
        Sketch {
            crossed,
            pits: (0..n).map(|s| through_pits(cx, grid, s)).collect(),
            within: (0..n).map(within).collect(),
        }
    }

    /// Services of unknown depth that every way from station `us` down to station `ds` crosses.
    pub fn crossed(&self, us: usize, ds: usize) -> usize {
        self.crossed[us]
            .get(us - ds)
            .copied()
            .map_or(0, usize::from)
    }

    /// Least cost of the only through pit of a way, by (it launches something).
    pub fn only_pit(&self, us: usize, ds: usize) -> [f64; 2] {
        let from = (ds + 1).max(self.within[us][1]);
        let to = (us - 1).min(self.within[ds][0]);
        self.least_pit(from, to)
    }

    /// Least cost of any through pit of a way, by (it launches something).
    pub fn any_pit(&self, us: usize, ds: usize) -> [f64; 2] {
        self.least_pit(ds + 1, us - 1)
    }

    /// Least cost of a through pit at a station.
    pub fn pit(&self, station: usize) -> f64 {
        let [receives, launches] = self.pits[station];
        receives.min(launches)
    }

    fn least_pit(&self, from: usize, to: usize) -> [f64; 2] {
        let all = self.pits.get(from..=to).unwrap_or_default();
        let least = |l: usize| all.iter().map(|p| p[l]).fold(f64::INFINITY, f64::min);
        [least(0), least(1)]
    }
}

/// How far from the route a manhole or a chord may be (m).
fn stray_m(cx: &Context) -> f64 {
    cx.job().search.corridor_m.max(ON_CHORD_M) + LENGTH_TOLERANCE_M
}

/// Costs of the cheapest pits that any chord may have at the foot of a station, as shallow as cover allows.
fn through_pits(cx: &Context, grid: &Grid, station: usize) -> [f64; 2] {
    let at = grid.stations[station].point;
    let depth_m = cx.invert_depth_m + cx.job().rig.axis_height_m;
    [Size::Reception, Size::Launch].map(|size| {
        let price: PitPrice = least_through_pit(cx, at, size, stray_m(cx));
        price.cost(depth_m)
    })
}

/// Services of unknown depth that lie right across all ways past them.
///
/// Let a stretch of a service have both ends farther from the route than any chord strays, and let the route cross it an odd
/// number of times. The route from one side to the other, the chord and the steps aside to its ends enclose nothing farther
/// from the route than that, so the stretch begins and ends outside; it crosses the whole outline an even number of times,
/// and so the chord at least once, where the steps aside are too far away to be crossed.
fn across(cx: &Context, grid: &Grid) -> Vec<Across> {
    let services = &cx.world.obstacles.services;
    let line: Vec<Coord<f64>> = grid.stations.iter().map(|s| s.point).collect();
    let mut near: BTreeSet<usize> = BTreeSet::new();
    for w in line.windows(2) {
        near.extend(services.in_box([w[0], w[1]], 0.0).iter().map(|i| i.0));
    }
    let counts = near.into_iter().filter(|i| !cx.may_be_exempt(*i));
    counts
        .filter_map(|i| part_across(&line, &services.parts[i], stray_m(cx)))
        .collect()
}

/// The first stretch of a part that lies right across: no more than one is counted.
fn part_across(line: &[Coord<f64>], part: &ServicePart, stray_m: f64) -> Option<Across> {
    let unknown = |k: usize| !matches!(part.pieces[k].depth, Depth::Known(_));
    let crosses = |k: usize| {
        let piece = &part.pieces[k];
        let on = |w: &[Coord<f64>]| crossing(w[0], w[1], piece.a, piece.b);
        line.windows(2).any(|w| on(w).is_some())
    };
    let first = (0..part.pieces.len()).find(|k| unknown(*k) && crosses(*k))?;
    let away = |p: Coord<f64>| distance_m(line, p) > stray_m;
    let (mut from, mut to) = (first, first);
    while !away(part.pieces[from].a) {
        from = from.checked_sub(1).filter(|k| unknown(*k))?;
    }
    while !away(part.pieces[to].b) {
        to += 1;
        (to < part.pieces.len() && unknown(to)).then_some(())?;
    }
    let (mut times, mut below, mut above) = (0, usize::MAX, 0);
    for (i, w) in line.windows(2).enumerate() {
        for piece in &part.pieces[from..=to] {
            if let Some((t, u)) = crossing(w[0], w[1], piece.a, piece.b) {
                // At a joint it might be seen twice or not at all.
                let clear_of_joints = |x: f64| x > 1e-6 && x < 1.0 - 1e-6;
                (clear_of_joints(t) && clear_of_joints(u)).then_some(())?;
                times += 1;
                (below, above) = (below.min(i), above.max(i + 1));
            }
        }
    }
    for (i, p) in line.iter().enumerate() {
        let by = |k: &crate::clearance::Piece| nearest_2d(*p, k.a, k.b) <= stray_m;
        if part.pieces[from..=to].iter().any(by) {
            below = below.min(i.checked_sub(1)?);
            above = above.max(i + 1);
        }
    }
    (times % 2 == 1 && above < line.len()).then_some(Across { below, above })
}

fn distance_m(line: &[Coord<f64>], p: Coord<f64>) -> f64 {
    let all = line.windows(2).map(|w| nearest_2d(p, w[0], w[1]));
    all.fold(f64::INFINITY, f64::min)
}
