//! Rows and test holes of one service part beside one drive.

use super::{Found, Hole, Reason, beside::Catch, piece::Looking};
use crate::{
    clearance::{Depth, Piece, Row, Verdict, plan_angle_deg},
    plan::Obstacle,
};
use geo::Coord;

impl Looking<'_, '_> {
    /// The row of a stretch, and its test hole where it is to be proved.
    pub fn say(&self, row: &Row, piece: &Piece, out: &mut Catch) {
        let (j, driven) = (&row.judged, self.driven);
        let line = &driven.line;
        if j.verdict == Verdict::Prove {
            let found = out.found.len() as u32;
            out.holes.push(self.hole(found, row, piece));
        }
        let depth = piece.depth;
        let [from, to] = driven.ends_in_plan();
        out.piles.push(driven.number + driven.bore);
        out.found.push(Found {
            bore: driven.bore,
            thing: self.part.service as u32,
            obstacle: Obstacle::Service,
            encounter: Some(row.encounter),
            clause: j.clause,
            verdict: j.verdict,
            depth_known: j.known,
            depth_missing: !matches!(depth, Depth::Known(_)),
            no_ground: matches!(depth, Depth::Unbounded),
            chainage_m: line.from_launch_m(j.s),
            angle_deg: plan_angle_deg(piece.direction, from, to),
            clearance_m: j.clearance_m,
            required_m: j.required_m,
            allowance_m: j.allowance_m,
            margin_m: j.margin_m,
            p_contact: j.p_contact(),
            point: line.at(j.s),
        });
    }

    /// The test hole of a `prove` row.
    fn hole(&self, found: u32, row: &Row, piece: &Piece) -> Hole {
        let (j, driven, part) = (&row.judged, self.driven, self.part);
        let line = &driven.line;
        let at = Coord {
            x: j.other[0],
            y: j.other[1],
        };
        let ground = self
            .against
            .ground
            .level(at)
            .or_else(|| self.ground_of_end(j.s));
        let band = self.against.job.rules.depth_band[&self.record.kind];
        let past_bore = ground.filter(|_| driven.levels).map(|g| {
            let underside = line.at(j.s)[2] - self.yardstick.bore_radius_m;
            g - underside + part.required_m(row.encounter)
        });
        let (reason, expected_depth_m, dig_to_m) = match piece.depth {
            Depth::Known(z) => {
                let recorded = ground.map(|g| g - (z[0] + z[1]) / 2.0);
                let whole = recorded.map(|d| d + part.radius_m + self.limits(piece).vertical_m);
                (Reason::BoreWithoutLevel, recorded, whole)
            }
            Depth::Band { .. } => {
                let dig = past_bore.map_or(band.max_m, |d| band.max_m.min(d));
                (
                    Reason::DepthNotRecorded,
                    Some((band.min_m + band.max_m) / 2.0),
                    Some(dig),
                )
            }
            Depth::Unbounded => (Reason::NoGround, None, past_bore),
        };
        // Where there is no ground at all, the bore's level stands in for that of the point.
        let level = ground.unwrap_or(line.at(j.s)[2]);
        Hole {
            found,
            reason,
            expected_depth_m,
            dig_to_m,
            point: [at.x, at.y, level],
        }
    }

    /// Ground at that end of the bore which is nearer along it, else at the other.
    fn ground_of_end(&self, s: f64) -> Option<f64> {
        let driven = self.driven;
        let ends = self.against.bores.all[driven.bore as usize].ends;
        let first_half = driven.line.from_launch_m(s) < 0.5 * driven.length_m;
        let [near, far] = if first_half { ends } else { [ends[1], ends[0]] };
        let level = |p: [f64; 2]| self.against.ground.level(Coord { x: p[0], y: p[1] });
        level(near).or_else(|| level(far))
    }
}
