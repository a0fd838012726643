//! Some of the obstacles of a site, to see what each of them forbids.

use super::{
    near::Services,
    obstacles::{Areas, Obstacles},
    pieces::{Depth, ServicePart},
};
use crate::site::{FeatureRef, Site};
use geo::{Coord, Polygon};
use std::collections::BTreeSet;

/// A thing to keep away from, by its place in the site's list of its kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    /// A lot that may not be entered.
    Lot(usize),
    /// A keepout.
    Keepout(usize),
    /// A building.
    Building(usize),
    /// A retained tree.
    Tree(usize),
    /// A service.
    Service(usize),
}

impl Thing {
    /// Where it came from.
    pub fn at(self, site: &Site) -> &FeatureRef {
        match self {
            Thing::Lot(i) => &site.lots[i].at,
            Thing::Keepout(i) => &site.keepouts[i].at,
            Thing::Building(i) => &site.buildings[i].at,
            Thing::Tree(i) => &site.trees[i].at,
            Thing::Service(i) => &site.services[i].at,
        }
    }
}

/// So far below nothing that no distance is too small (m).
const ASKS_NOTHING_M: f64 = -1e9;

impl Obstacles {
    /// All things that are among the obstacles.
    pub fn things(&self) -> BTreeSet<Thing> {
        let lots = self.closed_lots.parts.iter().map(|p| Thing::Lot(p.0));
        let keepouts = self.keepouts.parts.iter().map(|p| Thing::Keepout(p.0));
        let buildings = self.buildings.iter().map(|b| Thing::Building(b.0));
        let trees = self.trees.iter().map(|t| Thing::Tree(t.tree));
        let services = self.services.parts.iter();
        let services = services.map(|p| Thing::Service(p.service));
        let areas = lots.chain(keepouts).chain(buildings);
        areas.chain(trees).chain(services).collect()
    }

    /// The things that `keep` names. A lot that is not kept may be entered; it is still a lot. Surfaces are left out:
    /// they have a price, and forbid nothing.
    pub fn keeping(&self, keep: impl Fn(Thing) -> bool) -> Obstacles {
        let parts = self.services.parts.iter();
        let parts = parts.filter(|p| keep(Thing::Service(p.service)));
        let buildings = self.buildings.iter();
        let buildings = buildings.filter(|b| keep(Thing::Building(b.0)));
        let trees = self.trees.iter().filter(|t| keep(Thing::Tree(t.tree)));
        let areas = |areas: &Areas, kept: &dyn Fn(usize) -> bool| {
            Areas::of(areas.parts.iter().filter(|p| kept(p.0)).cloned())
        };
        let mut kept = Obstacles::standing(
            parts.cloned().collect(),
            buildings.cloned().collect(),
            trees.copied().collect(),
        );
        kept.keepouts = areas(&self.keepouts, &|i| keep(Thing::Keepout(i)));
        kept.closed_lots = areas(&self.closed_lots, &|i| keep(Thing::Lot(i)));
        kept.lots = areas(&self.lots, &|_| true);
        kept
    }

    /// What comes within `by_m` of the box of `points`; surfaces are left out.
    pub fn around(&self, points: &[Coord<f64>], by_m: f64) -> Obstacles {
        let low = |of: fn(&Coord<f64>) -> f64| points.iter().map(of).fold(f64::INFINITY, f64::min);
        let high =
            |of: fn(&Coord<f64>) -> f64| points.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
        let corners = [
            Coord {
                x: low(|c| c.x),
                y: low(|c| c.y),
            },
            Coord {
                x: high(|c| c.x),
                y: high(|c| c.y),
            },
        ];
        let pieces = self.services.in_box(corners, by_m);
        let parts: BTreeSet<usize> = pieces.into_iter().map(|p| p.0).collect();
        let part = |i: usize| self.services.parts[i].clone();
        let areas = |areas: &Areas| {
            let near: Vec<(usize, Polygon<f64>)> = areas.near(&corners, by_m).cloned().collect();
            Areas::of(near.into_iter())
        };
        let mut kept = Obstacles::standing(
            parts.into_iter().map(part).collect(),
            self.buildings_near(&corners, by_m).cloned().collect(),
            self.trees_near(&corners, by_m).copied().collect(),
        );
        kept.keepouts = areas(&self.keepouts);
        kept.closed_lots = areas(&self.closed_lots);
        kept.lots = areas(&self.lots);
        kept
    }

    /// Services of which something lies at unknown depth.
    pub fn of_unknown_depth(&self) -> BTreeSet<usize> {
        let parts = self.services.parts.iter();
        let unknown = parts.filter(|p| p.pieces.iter().any(|k| !is_known(&k.depth)));
        unknown.map(|p| p.service).collect()
    }

    /// The same obstacles where drives may pass what of these services lies at unknown depth, as they may where a test hole
    /// proves it. Pits keep away from it as before.
    pub fn proving(&self, services: &[usize]) -> Obstacles {
        let mut all = self.keeping(|_| true);
        let each = |part: &ServicePart| {
            if services.contains(&part.service) {
                let (known, mut unknown) = (with(part, is_known), with(part, |d| !is_known(d)));
                unknown.required.crossing_m = ASKS_NOTHING_M;
                unknown.required.parallel_m = ASKS_NOTHING_M;
                unknown.separation = None;
                vec![known, unknown]
            } else {
                vec![part.clone()]
            }
        };
        let parts = self.services.parts.iter().flat_map(each);
        all.services = Services::new(parts.filter(|p| !p.pieces.is_empty()).collect());
        all
    }
}

fn is_known(depth: &Depth) -> bool {
    matches!(depth, Depth::Known(_))
}

/// The part with some of its pieces; its straight parts stay, for they decide what crosses.
fn with(part: &ServicePart, keep: impl Fn(&Depth) -> bool) -> ServicePart {
    let kept = |k: &usize| keep(&part.pieces[*k].depth);
    let kept: Vec<usize> = (0..part.pieces.len()).filter(kept).collect();
    let by_piece = kept.iter().filter_map(|k| part.by_piece.get(*k).copied());
    ServicePart {
        pieces: kept.iter().map(|k| part.pieces[*k]).collect(),
        by_piece: by_piece.collect(),
        straights: part.straights.clone(),
        ..part.clone()
    }
}
