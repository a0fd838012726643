//! How well each piece of a service is located, where that depends on its depth.

use super::pieces::{Depth, Piece, ServicePart};
use crate::{
    ground::Ground,
    job::{DepthBand, Limits, Rules},
    site::Quality,
};
use geo::Coord;

impl ServicePart {
    /// Location limits of a piece, by its index.
    #[inline]
    pub fn limits_of(&self, piece: usize) -> Limits {
        if self.by_piece.is_empty() {
            self.limits
        } else {
            self.by_piece[piece]
        }
    }

    /// Gives each piece the limits at its own depth, and the part the widest of them. Nothing changes where the level has
    /// no share of depth.
    pub(super) fn locate(&mut self, level: Quality, rules: &Rules, ground: &Ground) {
        if !rules.quality_share.contains_key(&level) {
            return;
        }
        let band = rules.depth_band[&self.kind];
        let limits = |piece: &Piece| rules.limits(level, depth_m(piece, ground, band));
        self.by_piece = self.pieces.iter().map(limits).collect();
        let widest = self.by_piece.iter().copied().reduce(Limits::widest);
        self.limits = widest.unwrap_or(self.limits);
    }
}

/// Depth of a piece's centre line below ground at its deeper end (m); the band's greatest where it is not recorded, none
/// where there is no ground.
fn depth_m(piece: &Piece, ground: &Ground, band: DepthBand) -> Option<f64> {
    match piece.depth {
        Depth::Known(z) => {
            let at = |p: Coord<f64>, z: f64| Some(ground.level(p)? - z);
            Some(at(piece.a, z[0])?.max(at(piece.b, z[1])?))
        }
        Depth::Band { .. } => Some(band.max_m),
        Depth::Unbounded => None,
    }
}

#[cfg(test)]
mod tests {
    use super::super::pieces::cut;
    use super::*;
    use crate::{
        job::{Job, Shares},
        site::{FeatureRef, Kind, Polyline, Service, ZMeans},
    };

    /// Ground 10 m, and a service 6 m long of level B2: 40 % of depth, 0.25 m in plan at least.
    fn part(levels: Option<Vec<f64>>, cover_m: Option<f64>) -> ServicePart {
        let mut job = Job::default();
        let share = Shares {
            horizontal: 0.4,
            vertical: 0.4,
        };
        let fixed = Limits {
            horizontal_m: 0.25,
            vertical_m: 0.0,
        };
        job.rules.quality.insert(Quality::B2, fixed);
        job.rules.quality_share.insert(Quality::B2, share);
        let line = |points: Vec<(f64, f64)>, levels| Polyline {
            points: points.into_iter().map(Coord::from).collect(),
            levels,
        };
        let ground = Ground::Lines(vec![line(
            vec![(-5.0, 0.0), (20.0, 0.0)],
            Some(vec![10.0, 10.0]),
        )]);
        let service = Service {
            at: FeatureRef {
                layer: "mains".into(),
                fid: 1,
            },
            parts: vec![line(vec![(0.0, 0.0), (6.0, 0.0)], levels)],
            kind: Kind::Water,
            diameter_mm: Some(200.0),
            cover_m,
            quality: Quality::B2,
            owner: None,
            material: None,
            abandoned: false,
            z_means: ZMeans::Centre,
        };
        cut(0, &service, &job, &ground).remove(0)
    }

    fn close(limits: Limits, h: f64, v: f64) -> bool {
        (limits.horizontal_m - h).abs() < 1e-12 && (limits.vertical_m - v).abs() < 1e-12
    }

    #[test]
    fn a_deeper_piece_is_less_certain() {
        // 0.3 m deep at the start, 1.5 m at the end: pieces down to 0.7, 1.1 and 1.5 m
        let sloping = part(Some(vec![9.7, 8.5]), None);
        assert!(close(sloping.limits_of(0), 0.28, 0.28));
        assert!(close(sloping.limits_of(1), 0.44, 0.44));
        assert!(close(sloping.limits_of(2), 0.6, 0.6));
        assert!(close(sloping.limits, 0.6, 0.6));
    }

    #[test]
    fn a_depth_below_ground_counts_to_the_centre() {
        let covered = part(None, Some(0.9));
        assert!(close(covered.limits_of(1), 0.4, 0.4));
    }

    #[test]
    fn what_has_no_recorded_depth_takes_the_deepest_it_may_have() {
        let unknown = part(None, None);
        let deepest = Job::default().rules.depth_band[&Kind::Water].max_m;
        assert!(close(unknown.limits_of(0), 0.4 * deepest, 0.4 * deepest));
    }
}
