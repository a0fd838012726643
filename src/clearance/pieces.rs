//! Services cut into pieces, with what is known of their depth.

use super::segment::Point;
use crate::{
    ground::Ground,
    job::{Clearance, Job, Limits, Separation},
    site::{Kind, Polyline, Service, ZMeans},
};
use geo::Coord;

/// Longest piece of a service (m).
pub const PIECE_M: f64 = 2.0;
/// A line turning by more than this starts a new straight part (degrees).
const STRAIGHT_WITHIN_DEG: f64 = 1.0;

/// What is known of a piece's depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Depth {
    /// Levels of the centre line at both ends.
    Known([f64; 2]),
    /// The centre line lies between these levels at both ends.
    Band {
        /// Lowest.
        low: [f64; 2],
        /// Highest.
        high: [f64; 2],
    },
    /// No ground there, so nothing at all is known.
    Unbounded,
}

/// A stretch of a service no longer than 2 m.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Piece {
    /// Plan start.
    pub a: Coord<f64>,
    /// Plan end.
    pub b: Coord<f64>,
    /// Depth.
    pub depth: Depth,
    /// Unit vector in plan; none for a vertical piece.
    pub direction: Option<Coord<f64>>,
    /// Which of the part's straight parts it belongs to.
    pub straight: usize,
}

/// One part of a service: an obstacle of its own.
#[derive(Debug, Clone)]
pub struct ServicePart {
    /// Index into `Site::services`.
    pub service: usize,
    /// What it carries.
    pub kind: Kind,
    /// Outside radius (m).
    pub radius_m: f64,
    /// Location limits; where they grow with depth, the widest of any piece (see [`Self::limits_of`]).
    pub limits: Limits,
    /// Location limits of each piece, where they grow with depth; else empty.
    pub by_piece: Vec<Limits>,
    /// What the rules ask.
    pub required: Clearance,
    /// What they ask besides, where they have a separation in plan or in level for its kind.
    pub separation: Option<Separation>,
    /// The pieces, along the line.
    pub pieces: Vec<Piece>,
    /// Plan lines of the straight parts.
    pub straights: Vec<Vec<Coord<f64>>>,
}

impl Piece {
    /// Ends in space at known levels.
    pub fn ends(&self, z: [f64; 2]) -> (Point, Point) {
        ([self.a.x, self.a.y, z[0]], [self.b.x, self.b.y, z[1]])
    }
}

/// Every usable part of a service, cut into pieces. Parts without length are left out.
pub fn cut(index: usize, service: &Service, job: &Job, ground: &Ground) -> Vec<ServicePart> {
    let rules = &job.rules;
    let diameter_mm = service
        .diameter_mm
        .unwrap_or(rules.default_diameter_mm[&service.kind]);
    let part = |line: &Polyline| {
        let mut part = ServicePart {
            service: index,
            kind: service.kind,
            radius_m: diameter_mm / 2000.0,
            limits: rules.quality[&service.quality],
            by_piece: vec![],
            required: rules.clearance[&service.kind],
            separation: rules.separation.get(&service.kind).copied(),
            pieces: vec![],
            straights: vec![],
        };
        let source = DepthSource::of(service, line, job, ground, part.radius_m);
        cut_line(line, &source, &mut part);
        part.locate(service.quality, rules, ground);
        (!part.pieces.is_empty()).then_some(part)
    };
    service.parts.iter().filter_map(part).collect()
}

/// Where the levels of a part come from, in the order of the interface: Z, then cover, then nothing.
enum DepthSource<'a> {
    Levels {
        z: &'a [f64],
        to_centre: f64,
    },
    BelowGround {
        ground: &'a Ground,
        least: f64,
        most: f64,
        known: bool,
    },
}

impl<'a> DepthSource<'a> {
    fn of(
        service: &Service,
        line: &'a Polyline,
        job: &Job,
        ground: &'a Ground,
        radius_m: f64,
    ) -> Self {
        if let Some(z) = &line.levels {
            let to_centre = match service.z_means {
                ZMeans::Top => -radius_m,
                ZMeans::Centre => 0.0,
                ZMeans::Invert => radius_m,
            };
            return DepthSource::Levels { z, to_centre };
        }
        match service.cover_m {
            Some(cover) => {
                let depth = cover + radius_m;
                DepthSource::BelowGround {
                    ground,
                    least: depth,
                    most: depth,
                    known: true,
                }
            }
            None => {
                let band = job.rules.depth_band[&service.kind];
                DepthSource::BelowGround {
                    ground,
                    least: band.min_m,
                    most: band.max_m,
                    known: false,
                }
            }
        }
    }

    /// Depth of the piece from share `f0` to `f1` of segment `i`.
    fn depth(&self, i: usize, f: [f64; 2], a: Coord<f64>, b: Coord<f64>) -> Depth {
        match self {
            DepthSource::Levels { z, to_centre } => {
                Depth::Known(f.map(|f| z[i] + f * (z[i + 1] - z[i]) + to_centre))
            }
            DepthSource::BelowGround {
                ground,
                least,
                most,
                known,
            } => match (ground.level(a), ground.level(b)) {
                (Some(g0), Some(g1)) if *known => Depth::Known([g0 - least, g1 - least]),
                (Some(g0), Some(g1)) => Depth::Band {
                    low: [g0 - most, g1 - most],
                    high: [g0 - least, g1 - least],
                },
                _ => Depth::Unbounded,
            },
        }
    }
}

fn cut_line(line: &Polyline, source: &DepthSource, part: &mut ServicePart) {
    let mut last: Option<Coord<f64>> = None;
    for (i, ab) in line.points.windows(2).enumerate() {
        let (a, d) = (ab[0], ab[1] - ab[0]);
        let length = d.x.hypot(d.y);
        let direction = (length > 0.0).then(|| d / length);
        if direction.is_none() && line.levels.as_ref().is_none_or(|z| z[i] == z[i + 1]) {
            continue; // a repeated vertex
        }
        if !goes_straight_on(last, direction) {
            part.straights.push(vec![a]);
        }
        let straight = part.straights.len() - 1;
        part.straights[straight].push(ab[1]);
        last = direction;
        let n = whole_pieces(length / PIECE_M);
        for k in 0..n {
            let f = [k as f64 / n as f64, (k + 1) as f64 / n as f64];
            let (p, q) = (a + d * f[0], if k + 1 == n { ab[1] } else { a + d * f[1] });
            part.pieces.push(Piece {
                a: p,
                b: q,
                depth: source.depth(i, f, p, q),
                direction,
                straight,
            });
        }
    }
}

/// Least whole number not below `x` (within 1e-6), at least 1.
pub fn whole_pieces(x: f64) -> usize {
    ((x - 1e-6).ceil() as usize).max(1)
}

fn goes_straight_on(last: Option<Coord<f64>>, next: Option<Coord<f64>>) -> bool {
    match (last, next) {
        (Some(u), Some(v)) => {
            (u.x * v.y - u.y * v.x)
                .atan2(u.x * v.x + u.y * v.y)
                .abs()
                .to_degrees()
                <= STRAIGHT_WITHIN_DEG + 1e-9
        }
        _ => false,
    }
}
