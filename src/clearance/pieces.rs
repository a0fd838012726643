//! Services cut into pieces, with what is known of their depth.

use super::segment::{Point, Segment};
use crate::{
    ground::Ground,
    job::{Clearance, DepthBand, Job, Limits, Separation},
    site::{Kind, Polyline, Quality, Service, ZMeans},
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

    /// The piece at level 0, for distances in plan.
    pub fn in_plan(&self) -> Segment {
        let (a, b) = self.ends([0.0; 2]);
        Segment { a, b }
    }
}

impl ServicePart {
    /// What is known and asked of a part, without its pieces.
    pub fn bare(
        service: usize,
        (kind, quality): (Kind, Quality),
        diameter_mm: Option<f64>,
        job: &Job,
    ) -> ServicePart {
        let rules = &job.rules;
        ServicePart {
            service,
            kind,
            radius_m: diameter_mm.unwrap_or(rules.default_diameter_mm[&kind]) / 2000.0,
            limits: rules.quality[&quality],
            by_piece: vec![],
            required: rules.clearance[&kind],
            separation: rules.separation.get(&kind).copied(),
            pieces: vec![],
            straights: vec![],
        }
    }

    /// Gives back what was taken for more pieces than there are: a city has a million.
    fn give_back_room(&mut self) {
        self.pieces.shrink_to_fit();
        self.straights.iter_mut().for_each(Vec::shrink_to_fit);
        self.straights.shrink_to_fit();
    }
}

/// Every usable part of a service, cut into pieces. Parts without length are left out.
pub fn cut(index: usize, service: &Service, job: &Job, ground: &Ground) -> Vec<ServicePart> {
    let part = |line: &Polyline| {
        let of = (service.kind, service.quality);
        let mut part = ServicePart::bare(index, of, service.diameter_mm, job);
        let source = match &line.levels {
            Some(_) => DepthSource::levels(service.z_means, part.radius_m),
            None => DepthSource::below_ground(
                service.cover_m,
                job.rules.depth_band[&service.kind],
                part.radius_m,
            ),
        };
        cut_line(line, &source, ground, &mut part);
        part.give_back_room();
        part.locate(service.quality, &job.rules, ground);
        (!part.pieces.is_empty()).then_some(part)
    };
    service.parts.iter().filter_map(part).collect()
}

/// Where the levels of a part come from, in the order of the interface: Z, then cover, then nothing.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum DepthSource {
    /// The line's own levels.
    Levels {
        /// From such a level to the centre line (m).
        to_centre: f64,
    },
    /// The ground above.
    BelowGround {
        /// Least depth of the centre line (m).
        least: f64,
        /// Greatest (m).
        most: f64,
        /// The two are one, from a record.
        known: bool,
    },
}

impl DepthSource {
    /// Of a line that has levels.
    pub fn levels(z_means: ZMeans, radius_m: f64) -> DepthSource {
        let to_centre = match z_means {
            ZMeans::Top => -radius_m,
            ZMeans::Centre => 0.0,
            ZMeans::Invert => radius_m,
        };
        DepthSource::Levels { to_centre }
    }

    /// Of a line that has none.
    pub fn below_ground(cover_m: Option<f64>, band: DepthBand, radius_m: f64) -> DepthSource {
        match cover_m {
            Some(cover) => DepthSource::BelowGround {
                least: cover + radius_m,
                most: cover + radius_m,
                known: true,
            },
            None => DepthSource::BelowGround {
                least: band.min_m,
                most: band.max_m,
                known: false,
            },
        }
    }

    /// Lowest and highest level of the centre line at share `f` of a segment with levels `z` (of no account below ground), where the
    /// ground is at `g`; none where it is measured from ground that there is not.
    #[inline]
    pub fn levels_at(
        &self,
        z: [f64; 2],
        f: f64,
        g: impl FnOnce() -> Option<f64>,
    ) -> Option<[f64; 2]> {
        match *self {
            DepthSource::Levels { to_centre } => Some([z[0] + f * (z[1] - z[0]) + to_centre; 2]),
            DepthSource::BelowGround { least, most, .. } => g().map(|g| [g - most, g - least]),
        }
    }

    /// Depth between two places of these levels.
    #[inline]
    pub fn between(&self, from: Option<[f64; 2]>, to: Option<[f64; 2]>) -> Depth {
        match (from, to) {
            (Some([_, a]), Some([_, b])) if self.known() => Depth::Known([a, b]),
            (Some(a), Some(b)) => Depth::Band {
                low: [a[0], b[0]],
                high: [a[1], b[1]],
            },
            _ => Depth::Unbounded,
        }
    }

    /// It is recorded.
    pub fn known(&self) -> bool {
        !matches!(self, DepthSource::BelowGround { known: false, .. })
    }
}

/// A digitised segment of a service and how it is cut.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cutting {
    a: Coord<f64>,
    b: Coord<f64>,
    d: Coord<f64>,
    /// Unit vector in plan; none for a vertical segment.
    pub direction: Option<Coord<f64>>,
    /// Pieces.
    pub n: usize,
}

impl Cutting {
    /// None for a repeated vertex. `z`: the levels at both ends, where the line has any.
    pub fn of(a: Coord<f64>, b: Coord<f64>, z: Option<[f64; 2]>) -> Option<Cutting> {
        let d = b - a;
        let length = d.x.hypot(d.y);
        let direction = (length > 0.0).then(|| d / length);
        if direction.is_none() && z.is_none_or(|z| z[0] == z[1]) {
            return None;
        }
        let n = whole_pieces(length / PIECE_M);
        Some(Cutting {
            a,
            b,
            d,
            direction,
            n,
        })
    }

    /// Where piece `k` begins and the one before it ends: the share of the segment, and the place in plan.
    #[inline]
    pub fn at(&self, k: usize) -> (f64, Coord<f64>) {
        let share = k as f64 / self.n as f64;
        let place = match k == self.n {
            true => self.b,
            false => self.a + self.d * share,
        };
        (share, place)
    }
}

fn cut_line(line: &Polyline, source: &DepthSource, ground: &Ground, part: &mut ServicePart) {
    let mut last: Option<Coord<f64>> = None;
    for (i, ab) in line.points.windows(2).enumerate() {
        let z = line.levels.as_ref().map(|z| [z[i], z[i + 1]]);
        let Some(cutting) = Cutting::of(ab[0], ab[1], z) else {
            continue;
        };
        if !goes_straight_on(last, cutting.direction) {
            part.straights.push(vec![ab[0]]);
        }
        let straight = part.straights.len() - 1;
        part.straights[straight].push(ab[1]);
        last = cutting.direction;
        for k in 0..cutting.n {
            let ((from, a), (to, b)) = (cutting.at(k), cutting.at(k + 1));
            let z = z.unwrap_or_default();
            let levels = |f: f64, p| source.levels_at(z, f, || ground.level(p));
            part.pieces.push(Piece {
                a,
                b,
                depth: source.between(levels(from, a), levels(to, b)),
                direction: cutting.direction,
                straight,
            });
        }
    }
}

/// Least whole number not below `x` (within 1e-6), at least 1.
pub fn whole_pieces(x: f64) -> usize {
    let x = x - 1e-6;
    let below = x as usize;
    (below + usize::from(x > below as f64)).max(1)
}

/// A segment belongs to the same straight part as the one before it.
pub fn goes_straight_on(last: Option<Coord<f64>>, next: Option<Coord<f64>>) -> bool {
    match (last, next) {
        (Some(u), Some(v)) => {
            let (across, along) = (u.x * v.y - u.y * v.x, u.x * v.x + u.y * v.y);
            // The angle itself, in degrees, is asked only where it is close: its sine or cosine tells.
            if across.abs() > 0.0175 || along < 0.5 {
                return false;
            }
            across.abs() < 0.0174
                || across.atan2(along).abs().to_degrees() <= STRAIGHT_WITHIN_DEG + 1e-9
        }
        _ => false,
    }
}
