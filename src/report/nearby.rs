//! What lies around, found by place: a sheet shows little of a whole town.

use super::view::Frame;
use crate::site::{Polyline, Site};
use geo::{Coord, Polygon};
use rstar::{AABB, RTree, primitives::GeomWithData, primitives::Rectangle};

/// What lies around the routes.
#[derive(Debug, Default)]
pub struct Surroundings {
    /// The site, as read for a plan.
    pub site: Site,
    surfaces: Boxes,
    lots: Boxes,
    keepouts: Boxes,
    buildings: Boxes,
    trees: Boxes,
    streets: Boxes,
    fences: Boxes,
    services: Boxes,
    manholes: Boxes,
}

/// Places of things in a list, by where they lie.
#[derive(Debug, Default)]
struct Boxes(RTree<GeomWithData<Rectangle<[f64; 2]>, usize>>);

impl Boxes {
    /// Of things by their points; what has none lies nowhere.
    fn of<P: Iterator<Item = Coord<f64>>>(things: impl Iterator<Item = P>) -> Boxes {
        let boxed = |(i, points): (usize, P)| {
            let f = Frame::around(points)?;
            let corners = Rectangle::from_corners([f.min.x, f.min.y], [f.max.x, f.max.y]);
            Some(GeomWithData::new(corners, i))
        };
        Boxes(RTree::bulk_load(
            things.enumerate().filter_map(boxed).collect(),
        ))
    }

    /// Those that meet a frame, in the order of the list.
    fn within(&self, frame: &Frame) -> Vec<usize> {
        let frame = AABB::from_corners([frame.min.x, frame.min.y], [frame.max.x, frame.max.y]);
        let found = self.0.locate_in_envelope_intersecting(frame);
        let mut found: Vec<usize> = found.map(|g| g.data).collect();
        found.sort_unstable();
        found
    }
}

fn rings(parts: &[Polygon<f64>]) -> impl Iterator<Item = Coord<f64>> + '_ {
    parts.iter().flat_map(|p| p.exterior().0.iter().copied())
}

fn lines(parts: &[Polyline]) -> impl Iterator<Item = Coord<f64>> + '_ {
    parts.iter().flat_map(|p| p.points.iter().copied())
}

macro_rules! within {
    ($($name:ident: $thing:ident),*) => {
        impl Surroundings {
            $(
                /// Those that a frame may show, in the order of the site.
                pub fn $name(&self, frame: &Frame) -> impl Iterator<Item = &crate::site::$thing> {
                    self.$name.within(frame).into_iter().map(|i| &self.site.$name[i])
                }
            )*
        }
    };
}

within!(
    surfaces: SurfaceArea,
    lots: Lot,
    keepouts: Keepout,
    buildings: Building,
    trees: Tree,
    streets: Street,
    fences: Fence,
    services: Service,
    manholes: Manhole
);

impl Surroundings {
    /// Makes a site ready to be drawn.
    pub fn new(site: Site) -> Surroundings {
        Surroundings {
            surfaces: Boxes::of(site.surfaces.iter().map(|a| rings(&a.parts))),
            lots: Boxes::of(site.lots.iter().map(|a| rings(&a.parts))),
            keepouts: Boxes::of(site.keepouts.iter().map(|a| rings(&a.parts))),
            buildings: Boxes::of(site.buildings.iter().map(|a| rings(&a.parts))),
            trees: Boxes::of(site.trees.iter().map(|t| t.points.iter().copied())),
            streets: Boxes::of(site.streets.iter().map(|l| lines(&l.parts))),
            fences: Boxes::of(site.fences.iter().map(|l| lines(&l.parts))),
            services: Boxes::of(
                (site.services.iter())
                    .map(|s| s.parts.iter().flat_map(|p| p.points.iter().copied())),
            ),
            manholes: Boxes::of(site.manholes.iter().map(|m| [m.point].into_iter())),
            site,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_meets_a_frame_is_found_in_order() {
        let at = |x: f64| [Coord { x, y: 0.0 }, Coord { x: x + 2.0, y: 0.0 }].into_iter();
        let none = || [Coord { x: 0.0, y: 0.0 }; 2][..0].iter().copied();
        let boxes = Boxes::of([5.0, 0.0, 3.0].map(at).into_iter());
        let frame = Frame {
            min: Coord { x: 1.0, y: -1.0 },
            max: Coord { x: 4.0, y: 1.0 },
        };
        assert_eq!(boxes.within(&frame), [1, 2]);
        assert!(Boxes::of([none()].into_iter()).within(&frame).is_empty());
    }
}
