//! What stands in the way, taken apart into edges and trunks.

use super::{
    pair::{distance, share},
    piece::Piece,
};
use crate::{
    clearance::{Boxes, contains},
    site::Site,
};
use geo::{BoundingRect, Coord, LineString, Polygon};

/// Free ground ends this far outside everything that was drawn (m).
pub(super) const AROUND_M: f64 = 50.0;

/// What a piece is part of.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Owner {
    /// The edge of the free ground.
    Frame,
    /// A polygon (index), and whether it has yards of its own.
    Area { polygon: u32, yards: bool },
    /// A retained trunk.
    Trunk,
}

/// All obstacles of a site. Coordinates count from the low corner of the frame.
#[derive(Debug)]
pub(super) struct Walls {
    pub pieces: Vec<Piece>,
    pub owners: Vec<Owner>,
    boxes: Boxes,
    polygons: Vec<Polygon<f64>>,
    polygon_boxes: Boxes,
    origin: Coord<f64>,
    /// High corner of the frame.
    high: Coord<f64>,
}

impl Walls {
    /// The obstacles of a site. The frame is `frame` (low, high corner) where one is given, else what was drawn, grown.
    pub fn new(site: &Site, frame: Option<(Coord<f64>, Coord<f64>)>) -> Walls {
        let by = Coord {
            x: AROUND_M,
            y: AROUND_M,
        };
        let (low, high) = frame.unwrap_or_else(|| {
            let (low, high) = site.extent.unwrap_or_else(|| extent(site));
            (low - by, high + by)
        });
        let mut walls = Walls {
            pieces: vec![],
            owners: vec![],
            boxes: Boxes::default(),
            polygons: vec![],
            polygon_boxes: Boxes::default(),
            origin: low,
            high: high - low,
        };
        walls.add_frame();
        areas(site).for_each(|p| walls.add_area(p));
        trunks(site).for_each(|(at, radius_m)| walls.add_trunk(at, radius_m));
        walls.boxes = Boxes::new(walls.pieces.iter().map(Piece::corners));
        let corners = |p: &Polygon<f64>| {
            p.bounding_rect()
                .map_or_else(Default::default, |r| (r.min(), r.max()))
        };
        walls.polygon_boxes = Boxes::new(walls.polygons.iter().map(corners));
        walls
    }

    fn add_frame(&mut self) {
        let (x, y) = (self.high.x, self.high.y);
        let ring = [(0.0, 0.0), (x, 0.0), (x, y), (0.0, y), (0.0, 0.0)];
        self.owners.push(Owner::Frame);
        self.add_ring(&LineString::from(ring.to_vec()));
    }

    fn add_area(&mut self, area: &Polygon<f64>) {
        let ring = |r: &LineString<f64>| -> LineString<f64> {
            r.0.iter().map(|&c| self.moved(c)).collect()
        };
        let rings: Vec<_> = area.interiors().iter().map(ring).collect();
        let area = Polygon::new(ring(area.exterior()), rings);
        self.owners.push(Owner::Area {
            polygon: self.polygons.len() as u32,
            yards: !area.interiors().is_empty(),
        });
        self.add_ring(area.exterior());
        area.interiors().iter().for_each(|r| self.add_ring(r));
        self.polygons.push(area);
    }

    /// Adds a closed ring to the last owner.
    fn add_ring(&mut self, ring: &LineString<f64>) {
        let first = self.pieces.len() as u32;
        let edges: Vec<_> = ring.0.windows(2).filter(|w| w[0] != w[1]).collect();
        let n = edges.len() as u32;
        for (i, w) in (0..).zip(edges) {
            self.pieces.push(Piece {
                a: w[0],
                b: w[1],
                radius_m: 0.0,
                owner: self.owners.len() as u32 - 1,
                neighbours: Some([first + (i + n - 1) % n, first + (i + 1) % n]),
            });
        }
    }

    fn add_trunk(&mut self, at: Coord<f64>, radius_m: f64) {
        let at = self.moved(at);
        self.owners.push(Owner::Trunk);
        self.pieces.push(Piece {
            a: at,
            b: at,
            radius_m,
            owner: self.owners.len() as u32 - 1,
            neighbours: None,
        });
    }

    /// A point of the site in the coordinates used here.
    pub fn moved(&self, p: Coord<f64>) -> Coord<f64> {
        p - self.origin
    }

    /// What a piece is part of.
    pub fn owner(&self, piece: u32) -> Owner {
        self.owners[self.pieces[piece as usize].owner as usize]
    }

    /// Radius of what a piece keeps people off who need `by_m` on either side (m). Outside the frame nothing needs growing.
    pub fn kept_off_m(&self, piece: u32, by_m: f64) -> f64 {
        match self.owner(piece) {
            Owner::Frame => 0.0,
            _ => self.pieces[piece as usize].radius_m + by_m,
        }
    }

    /// Pieces that may keep people off the box of `points`, ascending.
    pub fn near(&self, points: &[Coord<f64>], by_m: f64) -> Vec<usize> {
        self.boxes.near(points, by_m)
    }

    /// Whether two pieces are neighbours in one ring.
    pub fn joined(&self, i: u32, j: u32) -> bool {
        self.pieces[i as usize]
            .neighbours
            .is_some_and(|n| n.contains(&j))
    }

    /// Inside the obstacle that a piece is part of.
    pub fn inside(&self, owner: u32, p: Coord<f64>) -> bool {
        match self.owners[owner as usize] {
            Owner::Area { polygon, .. } => contains(&self.polygons[polygon as usize], p),
            _ => false,
        }
    }

    /// Not free ground for people who need `by_m` on either side.
    pub fn closed(&self, p: Coord<f64>, by_m: f64) -> bool {
        let keeps_off = |i: usize| {
            let piece = &self.pieces[i];
            distance(p, piece.at(share(piece.ends(), p))) < self.kept_off_m(i as u32, by_m)
        };
        self.outside(p) || self.near(&[p], by_m).into_iter().any(keeps_off) || self.in_area(p)
    }

    /// Outside the frame.
    pub fn outside(&self, p: Coord<f64>) -> bool {
        let beyond = |v: f64, high: f64| v < 0.0 || v > high;
        beyond(p.x, self.high.x) || beyond(p.y, self.high.y)
    }

    /// Inside a building or keepout.
    pub fn in_area(&self, p: Coord<f64>) -> bool {
        let mut around = self.polygon_boxes.near(&[p], 0.0).into_iter();
        around.any(|i| contains(&self.polygons[i], p))
    }

    /// Low and high corner of the frame.
    pub fn frame(&self) -> [Coord<f64>; 2] {
        [Coord::zero(), self.high]
    }
}

fn areas(site: &Site) -> impl Iterator<Item = &Polygon<f64>> {
    let buildings = site.buildings.iter().flat_map(|b| &b.parts);
    buildings.chain(site.keepouts.iter().flat_map(|k| &k.parts))
}

/// Retained trunks: place and radius (m).
fn trunks(site: &Site) -> impl Iterator<Item = (Coord<f64>, f64)> {
    let kept = site.trees.iter().filter(|t| t.retain);
    kept.flat_map(|t| t.points.iter().map(|&p| (p, t.trunk_diameter_m / 2.0)))
}

/// Box of what matters here, for a site that does not say how far its layers reach.
fn extent(site: &Site) -> (Coord<f64>, Coord<f64>) {
    let rings = areas(site).flat_map(|p| p.exterior().0.iter().copied());
    let streets = site.streets.iter().flat_map(|s| &s.parts);
    let lines = site.routes.iter().map(|r| &r.line).chain(streets);
    let points = lines.flat_map(|l| l.points.iter().copied());
    let all = rings.chain(points).chain(trunks(site).map(|t| t.0));
    box_round(all).unwrap_or_default()
}

/// Low and high corner of the box round points.
pub(super) fn box_round(
    points: impl Iterator<Item = Coord<f64>>,
) -> Option<(Coord<f64>, Coord<f64>)> {
    let of = |f: fn(f64, f64) -> f64, p: Coord<f64>, q: Coord<f64>| Coord {
        x: f(p.x, q.x),
        y: f(p.y, q.y),
    };
    points
        .map(|p| (p, p))
        .reduce(|(low, high), (p, _)| (of(f64::min, low, p), of(f64::max, high, p)))
}
