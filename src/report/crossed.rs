//! At which level a service lies where a bore passes it, by the records, and how far that may be trusted.

use super::model::Conflict;
use crate::{
    clearance::{Depth, ServicePart, cut},
    job::Job,
    site::Site,
};
use geo::Coord;
use std::collections::BTreeMap;

/// A service where a bore passes it. Levels in metres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Crossed {
    /// Level of the centre line, where it is recorded.
    pub centre_m: Option<f64>,
    /// Lowest and highest level that any part of it may have: the band of its kind, or its place and the 95 % limit.
    /// None where there is no ground to count from.
    pub band_m: Option<(f64, f64)>,
    /// Outside radius (m).
    pub radius_m: f64,
    /// 95 % limit in plan (m).
    pub beside_m: f64,
}

/// The services that rows name, cut into pieces once.
#[derive(Debug, Default)]
pub struct Crossings {
    parts: BTreeMap<(String, i64), Vec<ServicePart>>,
}

impl Crossings {
    /// Of the services that these rows name.
    pub fn new<'a>(
        site: &Site,
        job: &Job,
        rows: impl IntoIterator<Item = &'a Conflict>,
    ) -> Crossings {
        let all = site.services.iter().enumerate();
        let by_name: BTreeMap<(&str, i64), usize> =
            all.map(|(i, s)| ((&*s.at.layer, s.at.fid), i)).collect();
        let mut parts = BTreeMap::new();
        for row in rows.into_iter().filter(|r| r.of_service()) {
            let Some((layer, fid)) = name(row) else {
                continue;
            };
            let Some(index) = by_name.get(&(layer, fid)) else {
                continue;
            };
            parts
                .entry((layer.to_string(), fid))
                .or_insert_with(|| cut(*index, &site.services[*index], job, &site.ground));
        }
        Crossings { parts }
    }

    /// The service of a row where it is nearest the row's point; none where it was not read.
    pub fn at(&self, row: &Conflict) -> Option<Crossed> {
        let (layer, fid) = name(row)?;
        let parts = self.parts.get(&(layer.to_string(), fid))?;
        let pieces = parts.iter().flat_map(|part| {
            let pieces = part.pieces.iter().enumerate();
            pieces.map(move |(i, piece)| (part, i, share(row.at, piece.a, piece.b)))
        });
        let (part, i, (_, t)) = pieces.min_by(|a, b| a.2.0.total_cmp(&b.2.0))?;
        let limits = part.limits_of(i);
        let between = |z: [f64; 2]| z[0] + (z[1] - z[0]) * t;
        let (centre_m, low, high) = match part.pieces[i].depth {
            Depth::Known(z) => {
                let (z, v) = (between(z), limits.vertical_m);
                (Some(z), z - v, z + v)
            }
            Depth::Band { low, high } => (None, between(low), between(high)),
            Depth::Unbounded => (None, f64::NAN, f64::NAN),
        };
        let band = (low - part.radius_m, high + part.radius_m);
        Some(Crossed {
            centre_m,
            band_m: low.is_finite().then_some(band),
            radius_m: part.radius_m,
            beside_m: limits.horizontal_m,
        })
    }
}

fn name(row: &Conflict) -> Option<(&str, i64)> {
    Some((row.source_layer.as_deref()?, row.source_fid?))
}

/// Distance of a point from a straight line, and where along it (0 to 1) it is nearest.
fn share(p: Coord<f64>, a: Coord<f64>, b: Coord<f64>) -> (f64, f64) {
    let d = b - a;
    let length_2 = d.x * d.x + d.y * d.y;
    let to = p - a;
    let t = if length_2 > 0.0 {
        ((to.x * d.x + to.y * d.y) / length_2).clamp(0.0, 1.0)
    } else {
        0.0
    };
    let near = a + d * t - p;
    (near.x.hypot(near.y), t)
}
