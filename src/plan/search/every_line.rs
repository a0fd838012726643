//! What every one of several lines is certain to pass.

use super::course::{
    Band, Line, apart_m, grades, lean_by_sine, least_allowance_m, proved_within_m, sine, slope,
};
use crate::{
    clearance::{Depth, ServicePart, crossing},
    plan::context::Context,
};

/// Pieces of a service part that the lines may be near.
pub struct Near<'a> {
    /// The part.
    pub part: &'a ServicePart,
    /// Its pieces.
    pub pieces: &'a [(usize, usize)],
}

/// Where lines cross a service: from the least to the greatest.
struct Met {
    /// Share of the way.
    share: [f64; 2],
    /// Level of the service there.
    z: [f64; 2],
    /// Sine of the angle between them in plan, the least.
    sine: f64,
    /// Slope of the service, the greatest.
    slope: f64,
    /// Its pieces that they cross.
    pieces: Vec<usize>,
}

impl Near<'_> {
    /// Every line comes too near to pieces of unknown depth not to need a test hole.
    pub fn is_proved(&self, cx: &Context, lines: &[Line]) -> bool {
        let unknown = |k: &usize| !matches!(self.part.pieces[*k].depth, Depth::Known(_));
        let pieces = || self.pieces.iter().map(|p| p.1).filter(unknown);
        let too_near = |line: &Line| {
            let within =
                |k: usize| line.within(&self.part.pieces[k], proved_within_m(cx, self.part, k));
            pieces().any(|k| within(k).is_some())
        };
        lines.iter().all(too_near)
    }

    /// At which levels every line clashes with pieces of known depth, by distance along the shortest.
    ///
    /// They cross them at shares of their ways and at levels that differ a little: a line that is inside the band of all in the middle
    /// of these shares by as much as it may fall from there to either end of them is inside it where it crosses.
    pub fn bands(
        &self,
        cx: &Context,
        lines: &[Line],
        [shortest_m, longest_m]: [f64; 2],
    ) -> Vec<Band> {
        let Some(met) = self.met(lines) else {
            return vec![];
        };
        let band = |grade: f64| {
            let lean = lean_by_sine(met.sine, met.slope + grade);
            let least = |k: &usize| least_allowance_m(cx, (self.part, *k), lean);
            let allowance_m = met.pieces.iter().map(least).fold(f64::INFINITY, f64::min);
            let apart = apart_m(cx, self.part, allowance_m);
            // Lines of the band fall no more than this, and rise no more than the least grade lets them.
            let steepest = (grade * shortest_m).max(-cx.grade[0] * longest_m);
            let differs = steepest * (met.share[1] - met.share[0]) / 2.0;
            let invert = met.z.map(|z| z - cx.centre_above_invert_m());
            Band {
                along_m: (met.share[0] + met.share[1]) / 2.0 * shortest_m,
                low: invert[1] - apart + differs,
                high: invert[0] + apart - differs,
                grade,
                beside: None,
            }
        };
        grades(cx).map(band).filter(|b| b.low < b.high).collect()
    }

    /// Where the lines cross it; none where one does not.
    fn met(&self, lines: &[Line]) -> Option<Met> {
        let mut met = Met {
            share: [1.0, 0.0],
            z: [f64::INFINITY, f64::NEG_INFINITY],
            sine: 1.0,
            slope: 0.0,
            pieces: vec![],
        };
        let take = |of: &mut [f64; 2], x: f64| *of = [of[0].min(x), of[1].max(x)];
        for line in lines {
            let on = |(_, k): &(usize, usize)| {
                let piece = &self.part.pieces[*k];
                let Depth::Known(z) = piece.depth else {
                    return None;
                };
                let crosses = line
                    .may_cross(piece)
                    .then(|| crossing(line.p, line.q, piece.a, piece.b));
                let (share, of_piece) = crosses.flatten()?;
                Some((*k, z, share, of_piece))
            };
            let (k, z, share, of_piece) = self.pieces.iter().find_map(on)?;
            let piece = &self.part.pieces[k];
            take(&mut met.share, share);
            take(&mut met.z, z[0] + of_piece * (z[1] - z[0]));
            met.sine = met.sine.min(sine(line.q - line.p, piece.b - piece.a));
            met.slope = met.slope.max(slope(piece, z));
            if met.pieces.last() != Some(&k) {
                met.pieces.push(k);
            }
        }
        Some(met)
    }
}
