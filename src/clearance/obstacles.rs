//! Everything on a site that pits and drives keep away from or are counted with, with indexes.

use super::{
    lines::nearest_2d,
    near::Services,
    pieces::{ServicePart, cut},
    solids::Prism,
};
use crate::{
    job::{Job, OnLots},
    site::{Building, Polyline, Site},
};
use geo::{BoundingRect, Coord, Polygon};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};

/// Boxes of things, to find those near.
#[derive(Debug, Default)]
pub struct Boxes {
    tree: RTree<GeomWithData<Rectangle<[f64; 2]>, u32>>,
}

impl Boxes {
    /// One box (low, high corner) a thing.
    pub fn new(boxes: impl Iterator<Item = (Coord<f64>, Coord<f64>)>) -> Boxes {
        let rectangle = |(i, (p, q)): (usize, (Coord<f64>, Coord<f64>))| {
            GeomWithData::new(Rectangle::from_corners([p.x, p.y], [q.x, q.y]), i as u32)
        };
        Boxes {
            tree: RTree::bulk_load(boxes.enumerate().map(rectangle).collect()),
        }
    }

    /// Things whose box comes within `by_m` of the box of `points`, ascending.
    pub fn near(&self, points: &[Coord<f64>], by_m: f64) -> Vec<usize> {
        let fold = |f: fn(f64, f64) -> f64, of: fn(&Coord<f64>) -> f64, from: f64| {
            points.iter().map(of).fold(from, f)
        };
        let low = [
            fold(f64::min, |c| c.x, f64::INFINITY) - by_m,
            fold(f64::min, |c| c.y, f64::INFINITY) - by_m,
        ];
        let high = [
            fold(f64::max, |c| c.x, f64::NEG_INFINITY) + by_m,
            fold(f64::max, |c| c.y, f64::NEG_INFINITY) + by_m,
        ];
        let found = self
            .tree
            .locate_in_envelope_intersecting(AABB::from_corners(low, high));
        let mut ids: Vec<usize> = found.map(|g| g.data as usize).collect();
        ids.sort_unstable();
        ids
    }
}

/// Polygon parts with the feature each belongs to.
#[derive(Debug, Default)]
pub struct Areas {
    /// Index of the feature, and its part.
    pub parts: Vec<(usize, Polygon<f64>)>,
    boxes: Boxes,
}

impl Areas {
    fn new<'a>(features: impl Iterator<Item = (usize, &'a Vec<Polygon<f64>>)>) -> Areas {
        let each = features.flat_map(|(i, parts)| parts.iter().map(move |p| (i, p.clone())));
        Areas::of(each)
    }

    /// Of single parts; parts without points are left out.
    pub(super) fn of(parts: impl Iterator<Item = (usize, Polygon<f64>)>) -> Areas {
        let parts: Vec<_> = parts.filter(|(_, p)| p.bounding_rect().is_some()).collect();
        let boxes = Boxes::new(parts.iter().map(|(_, p)| corners_of(p)));
        Areas { parts, boxes }
    }

    /// Parts near `points`, in input order.
    pub fn near(
        &self,
        points: &[Coord<f64>],
        by_m: f64,
    ) -> impl Iterator<Item = &(usize, Polygon<f64>)> {
        self.ids_near(points, by_m)
            .into_iter()
            .map(|i| &self.parts[i])
    }

    /// Indexes of the parts near `points`.
    pub fn ids_near(&self, points: &[Coord<f64>], by_m: f64) -> Vec<usize> {
        self.boxes.near(points, by_m)
    }
}

/// Straight pieces of lines, with the feature each belongs to.
#[derive(Debug, Default)]
pub struct Lines {
    /// Index of the feature, and the ends of the piece.
    pub pieces: Vec<(usize, [Coord<f64>; 2])>,
    boxes: Boxes,
}

impl Lines {
    fn new<'a>(features: impl Iterator<Item = (usize, &'a Vec<Polyline>)>) -> Lines {
        let of_line = |i: usize, line: &Polyline| {
            let ends = |w: &[Coord<f64>]| (i, [w[0], w[1]]);
            line.points.windows(2).map(ends).collect::<Vec<_>>()
        };
        let each = features.flat_map(|(i, parts)| parts.iter().flat_map(move |p| of_line(i, p)));
        let pieces: Vec<_> = each.collect();
        let boxes = Boxes::new(pieces.iter().map(|(_, [a, b])| (*a, *b)));
        Lines { pieces, boxes }
    }

    /// Pieces near `points`, in input order.
    pub fn near(
        &self,
        points: &[Coord<f64>],
        by_m: f64,
    ) -> impl Iterator<Item = &(usize, [Coord<f64>; 2])> {
        let ids = self.boxes.near(points, by_m);
        ids.into_iter().map(|i| &self.pieces[i])
    }

    /// The feature nearest to a point, of equals the first; none where there are no pieces.
    pub fn nearest(&self, at: Coord<f64>) -> Option<usize> {
        let mut within_m = 16.0;
        loop {
            let near: Vec<_> = self.near(&[at], within_m).collect();
            let apart = near.iter().map(|(i, [a, b])| (nearest_2d(at, *a, *b), *i));
            let best = apart.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
            // Nothing outside the box is nearer than its side.
            if best.is_some_and(|(m, _)| m <= within_m) || near.len() == self.pieces.len() {
                return best.map(|(_, i)| i);
            }
            within_m *= 2.0;
        }
    }
}

fn corners_of(p: &Polygon<f64>) -> (Coord<f64>, Coord<f64>) {
    let r = p
        .bounding_rect()
        .expect("polygons without points were left out");
    (r.min(), r.max())
}

/// A retained tree's structural roots.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Roots {
    /// Index into `Site::trees`.
    pub tree: usize,
    /// Trunk.
    pub centre: Coord<f64>,
    /// Radius (m).
    pub radius_m: f64,
}

/// Everything that pits and drives keep away from, and what else is asked about by place.
#[derive(Debug, Default)]
pub struct Obstacles {
    /// Services, cut into pieces.
    pub services: Services,
    /// Buildings: index into `Site::buildings`, and the prism.
    pub buildings: Vec<(usize, Prism)>,
    building_boxes: Boxes,
    building_corners: Vec<(Coord<f64>, Coord<f64>)>,
    /// Retained trees.
    pub trees: Vec<Roots>,
    tree_boxes: Boxes,
    /// Keepouts.
    pub keepouts: Areas,
    /// Lots that may not be entered.
    pub closed_lots: Areas,
    /// All lots.
    pub lots: Areas,
    /// Ground cover, first by feature order.
    pub surfaces: Areas,
    /// Fences.
    pub fences: Lines,
    /// Streets.
    pub streets: Lines,
}

impl Obstacles {
    /// Prepares a site.
    pub fn new(site: &Site, job: &Job) -> Obstacles {
        let parts = site
            .services
            .iter()
            .enumerate()
            .flat_map(|(i, s)| cut(i, s, job, &site.ground))
            .collect();
        let buildings = prisms(site, job);
        let trees = roots(site);
        let closed = |lot: &crate::site::Lot| match job.pits.on_lots {
            OnLots::Entry => !lot.entry,
            OnLots::Never => true,
            OnLots::Always => false,
        };
        let closed_lots = site
            .lots
            .iter()
            .enumerate()
            .filter(|(_, l)| closed(l))
            .map(|(i, l)| (i, &l.parts));
        Obstacles {
            keepouts: Areas::new(site.keepouts.iter().enumerate().map(|(i, k)| (i, &k.parts))),
            closed_lots: Areas::new(closed_lots),
            lots: Areas::new(site.lots.iter().enumerate().map(|(i, l)| (i, &l.parts))),
            surfaces: Areas::new(site.surfaces.iter().enumerate().map(|(i, s)| (i, &s.parts))),
            fences: Lines::new(site.fences.iter().enumerate().map(|(i, f)| (i, &f.parts))),
            streets: Lines::new(site.streets.iter().enumerate().map(|(i, s)| (i, &s.parts))),
            ..Obstacles::standing(parts, buildings, trees)
        }
    }

    /// Services, buildings and trees, with nothing else.
    pub(super) fn standing(
        services: Vec<ServicePart>,
        buildings: Vec<(usize, Prism)>,
        trees: Vec<Roots>,
    ) -> Obstacles {
        let corners = |b: &(usize, Prism)| corners_of(&b.1.outline);
        Obstacles {
            services: Services::new(services),
            building_boxes: Boxes::new(buildings.iter().map(corners)),
            building_corners: buildings.iter().map(corners).collect(),
            buildings,
            tree_boxes: Boxes::new(trees.iter().map(|t| around(t.centre, t.radius_m))),
            trees,
            ..Obstacles::default()
        }
    }

    /// Indexes of the buildings near `points`.
    pub fn building_ids_near(&self, points: &[Coord<f64>], by_m: f64) -> Vec<usize> {
        self.building_boxes.near(points, by_m)
    }

    /// Box of a building's outline: low and high corner.
    pub fn building_box(&self, building: usize) -> (Coord<f64>, Coord<f64>) {
        self.building_corners[building]
    }

    /// Buildings near `points`.
    pub fn buildings_near(
        &self,
        points: &[Coord<f64>],
        by_m: f64,
    ) -> impl Iterator<Item = &(usize, Prism)> {
        self.building_boxes
            .near(points, by_m)
            .into_iter()
            .map(|i| &self.buildings[i])
    }

    /// Indexes of the root zones near `points`.
    pub fn tree_ids_near(&self, points: &[Coord<f64>], by_m: f64) -> Vec<usize> {
        self.tree_boxes.near(points, by_m)
    }

    /// Root zones near `points`.
    pub fn trees_near(&self, points: &[Coord<f64>], by_m: f64) -> impl Iterator<Item = &Roots> {
        self.tree_boxes
            .near(points, by_m)
            .into_iter()
            .map(|i| &self.trees[i])
    }
}

fn around(c: Coord<f64>, r: f64) -> (Coord<f64>, Coord<f64>) {
    (
        Coord {
            x: c.x - r,
            y: c.y - r,
        },
        Coord {
            x: c.x + r,
            y: c.y + r,
        },
    )
}

/// Radius of the structural root zone of a trunk (m): AS 4970-2009, `(50·D)^0.42·0.64`, at least 1.5 m.
pub fn root_zone_radius_m(trunk_diameter_m: f64) -> f64 {
    (0.64 * (50.0 * trunk_diameter_m).powf(0.42)).max(1.5)
}

fn roots(site: &Site) -> Vec<Roots> {
    let kept = site.trees.iter().enumerate().filter(|(_, t)| t.retain);
    let each = |(tree, t): (usize, &crate::site::Tree)| {
        let radius_m = root_zone_radius_m(t.trunk_diameter_m);
        t.points
            .iter()
            .map(move |&centre| Roots {
                tree,
                centre,
                radius_m,
            })
            .collect::<Vec<_>>()
    };
    kept.flat_map(each).collect()
}

fn prisms(site: &Site, job: &Job) -> Vec<(usize, Prism)> {
    let mut out = vec![];
    for (i, b) in site.buildings.iter().enumerate() {
        for outline in b.parts.iter().filter(|p| p.bounding_rect().is_some()) {
            out.push((
                i,
                Prism {
                    outline: outline.clone(),
                    base_m: foundation_level(b, outline, site, job),
                },
            ));
        }
    }
    out
}

/// Lower of the lowest ground along the outline and the floor, less the foundation's depth; -inf where neither is known.
fn foundation_level(b: &Building, outline: &Polygon<f64>, site: &Site, job: &Job) -> f64 {
    let vertices = std::iter::once(outline.exterior())
        .chain(outline.interiors())
        .flat_map(|r| r.0.iter());
    let ground = vertices
        .filter_map(|v| site.ground.level(*v))
        .fold(f64::INFINITY, f64::min);
    let surface = b.floor_m.map_or(ground, |f| f.min(ground));
    if surface.is_finite() {
        surface - b.foundation_depth_m.unwrap_or(job.rules.foundation_depth_m)
    } else {
        f64::NEG_INFINITY
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::dice::Dice;

    #[test]
    fn root_zones_follow_the_table() {
        // AS 4970-2009, as tabulated from its formula (secondary): 0.30 m -> 1.996 m, 0.80 m -> 3.013 m, thin trunks 1.5 m
        assert!((root_zone_radius_m(0.30) - 1.996).abs() < 5e-4);
        assert!((root_zone_radius_m(0.80) - 3.013).abs() < 5e-4);
        assert_eq!(root_zone_radius_m(0.10), 1.5);
    }

    #[test]
    fn the_nearest_line_is_the_first_of_the_nearest_of_all() {
        let mut dice = Dice(41);
        for lines in [0, 1, 2, 7, 40] {
            let mut at = |side: f64| Coord {
                x: (side * (2.0 * dice.roll() - 1.0)).round(),
                y: (side * (2.0 * dice.roll() - 1.0)).round(),
            };
            let each: Vec<Vec<Polyline>> = (0..lines)
                .map(|_| {
                    let points = (0..3).map(|_| at(200.0)).collect();
                    vec![Polyline {
                        points,
                        ..Polyline::default()
                    }]
                })
                .collect();
            let all = Lines::new(each.iter().enumerate());
            for _ in 0..200 {
                let p = at(900.0);
                let apart = |line: &[Polyline]| {
                    let ends = line[0].points.windows(2);
                    ends.map(|w| nearest_2d(p, w[0], w[1]))
                        .fold(f64::INFINITY, f64::min)
                };
                let least = each.iter().map(|l| apart(l)).fold(f64::INFINITY, f64::min);
                let first = each.iter().position(|l| apart(l) <= least);
                assert_eq!(all.nearest(p), first, "{lines} lines, {p:?}");
            }
        }
    }
}
