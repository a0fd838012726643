//! What a piece can come to at least and at most, by its ends alone: most pieces of an encounter are not its worst and need
//! not be judged.
//!
//! Distance is a convex function along a piece. Where it does not fall from an end inwards, that end is the nearest place. A
//! verdict is taken at a place equally near within [`EQUALLY_NEAR_M`]: the gaps between a drive and a piece form a convex
//! figure, so of two gaps so nearly as short as the shortest (D) each is within √(2·D·10⁻⁶) of it, and direction and
//! allowance are known to a few millimetres. Where that does not hold, or says too little, there is no estimate.

use super::{
    encounter::{Accuracy, DriveLine, Judged, LENGTH_TOLERANCE_M, Yardstick},
    pieces::ServicePart,
    segment::{EQUALLY_NEAR_M, Point, Segment, along, dot, sub},
    verdict::{Encounter, Verdict},
};
use crate::job::Limits;

/// Nearer than this the direction of the gap is not known well enough (m).
const TOO_NEAR_M: f64 = 0.05;
/// By how much an estimated distance or margin may be off through rounding (m).
const ROUNDING_M: f64 = 2e-6;
/// Between equally near places the squared cosine of a gap of 1 m changes by no more than this: 2·(√(2·1.1·10⁻⁶) + √(2·2·10⁻⁷)),
/// the second for what rounding takes for the nearest end.
const TURN: f64 = 5e-3;
/// Between equally near places the drive's point moves no more than a piece is long, and this (m).
const BESIDE_M: f64 = 0.05;

/// A drive to which many points are measured.
#[derive(Debug, Clone, Copy)]
pub struct Ruler {
    a: Point,
    d: Point,
    per_length_sq: f64,
}

/// The nearest point of a drive to a point.
#[derive(Debug, Clone, Copy)]
pub struct Foot {
    /// From the point to the drive.
    gap: Point,
    /// Where on the drive.
    s: f64,
}

impl Ruler {
    /// Of a line; it may be a point.
    pub fn new(drive: &Segment) -> Ruler {
        let d = sub(drive.b, drive.a);
        let length_sq = dot(d, d);
        let per_length_sq = if length_sq > 0.0 {
            1.0 / length_sq
        } else {
            0.0
        };
        Ruler {
            a: drive.a,
            d,
            per_length_sq,
        }
    }

    /// The foot of a point.
    #[inline]
    pub fn foot(&self, p: Point) -> Foot {
        let w = sub(p, self.a);
        let s = (dot(w, self.d) * self.per_length_sq).clamp(0.0, 1.0);
        Foot {
            gap: sub(along([0.0; 3], self.d, s), w),
            s,
        }
    }
}

/// Between which bounds the margin of a piece lies, and what is certain of it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Estimate {
    /// The margin is not less (m).
    pub least_m: f64,
    /// The margin is not more (m).
    pub most_m: f64,
    /// Whether it belongs to a row; none where that is too close to tell.
    pub counts: Option<bool>,
    /// It is to be proved.
    pub prove: bool,
}

impl Estimate {
    /// Of a piece that was judged.
    pub fn of(judged: &Judged) -> Estimate {
        Estimate {
            least_m: judged.margin_m,
            most_m: judged.margin_m,
            counts: Some(judged.counts()),
            prove: judged.verdict == Verdict::Prove,
        }
    }
}

/// The shortest gap of a piece, at one of its ends.
struct Gap {
    distance_m: f64,
    s: f64,
    /// Cosine squared of its slope.
    across: f64,
    /// How much `across` may be off.
    turn: f64,
    /// At the piece's end, not its start.
    at_end: bool,
}

impl Gap {
    /// `e`: from the piece's start to its end.
    #[inline]
    fn of(feet: &[Foot; 2], e: Point) -> Option<Gap> {
        let at_end = if dot(feet[0].gap, e) <= 0.0 {
            false
        } else if dot(feet[1].gap, e) >= 0.0 {
            true
        } else {
            return None;
        };
        let Foot { gap, s } = feet[usize::from(at_end)];
        let flat_sq = gap[0] * gap[0] + gap[1] * gap[1];
        let sq = flat_sq + gap[2] * gap[2];
        if sq < TOO_NEAR_M * TOO_NEAR_M {
            return None;
        }
        let distance_m = sq.sqrt();
        Some(Gap {
            distance_m,
            s,
            across: flat_sq / sq,
            turn: TURN * (1.0 / distance_m).max(1.0),
            at_end,
        })
    }
}

/// Bounds, least first.
type Span = [f64; 2];

impl Yardstick {
    /// Of a piece that lies between two levels at each end. `plan`: its ends in plan and their feet on the drive in plan;
    /// `low`, `high`: the levels.
    #[inline]
    pub fn estimate_between(
        &self,
        drive: &DriveLine,
        part: &ServicePart,
        limits: Limits,
        class: Encounter,
        (plan, feet): (&[Point; 2], &[Foot; 2]),
        (low, high): (Span, Span),
    ) -> Option<Estimate> {
        let gap = Gap::of(feet, sub(plan[1], plan[0]))?;
        let boring = self.boring(drive, gap.s, super::pieces::PIECE_M + BESIDE_M);
        let clearance_m = gap.distance_m - self.bore_radius_m - part.radius_m;
        let margin_m = clearance_m - part.asked_in_plan_m(class);
        let across = |boring: f64| (limits.horizontal_m.powi(2) + boring * boring).sqrt();
        let in_plan = boring.map(|b| margin_m - across(b));
        let prove = self.proves([in_plan[1] - ROUNDING_M, in_plan[0] + ROUNDING_M])?;
        let level = drive.at(gap.s)[2];
        let end = usize::from(gap.at_end);
        let off = (level - high[end]).max(low[end] - level);
        let (least, most) = if off < -ROUNDING_M {
            // The nearest place of the curtain is straight across.
            let flat = Limits {
                vertical_m: 0.0,
                ..limits
            };
            let allowance = located(&gap, flat, boring);
            (margin_m - allowance[1], margin_m - allowance[0])
        } else {
            let farther = (gap.distance_m.powi(2) + off.max(0.0).powi(2)).sqrt() - gap.distance_m;
            let far_end = self.accuracy.at(drive.from_launch_m(1.0));
            let setting_out = self.accuracy.at(drive.before_m);
            (margin_m - across(far_end), margin_m + farther - setting_out)
        };
        let margin = [least - ROUNDING_M, most + ROUNDING_M];
        let counts = match prove {
            true => Some(true),
            false => {
                let watched_to_m = self.watch_distance_m + LENGTH_TOLERANCE_M;
                counts(clearance_m, margin, (watched_to_m, self.watch_margin_m))
            }
        };
        Some(Estimate {
            least_m: margin[0],
            most_m: margin[1],
            counts,
            prove,
        })
    }

    /// The rig's error within `reach` of a place on the drive.
    #[inline]
    fn boring(&self, drive: &DriveLine, s: f64, reach: f64) -> Span {
        let at_m = drive.from_launch_m(s);
        [
            self.accuracy.at(at_m - reach),
            self.accuracy.at(at_m + reach),
        ]
    }

    #[inline]
    fn proves(&self, [least_m, most_m]: Span) -> Option<bool> {
        if most_m < -LENGTH_TOLERANCE_M {
            Some(true)
        } else {
            (least_m >= -LENGTH_TOLERANCE_M).then_some(false)
        }
    }
}

/// So many places are measured at once: the processor does several of a kind in one go.
const LANES: usize = 2;

/// Of no more pieces than this what they come to is estimated in one go.
pub const PIECES_TOGETHER: usize = 16;

/// Places that these pieces join, and what is left of the last ones measured with them.
const ROOM: usize = PIECES_TOGETHER + LANES;

/// How places of a service of known levels are measured beside a drive, and what is asked of it there.
#[derive(Debug, Clone, Copy)]
pub struct Gauge {
    ruler: Ruler,
    before_m: f64,
    length_m: f64,
    accuracy: Accuracy,
    watched_to_m: f64,
    watch_margin_m: f64,
    /// Radii of bore and service, and the required distance (m).
    radii_m: f64,
    required_m: f64,
    horizontal_sq: f64,
    vertical_sq: f64,
}

/// Memory for what places and pieces were measured to be.
#[derive(Debug)]
pub struct Measured {
    /// Of each place, the way to the drive.
    gap: [[f64; ROOM]; 3],
    /// How long that is, and the margin that a piece has at least and at most that is nearest there.
    at: [[f64; ROOM]; 3],
    /// The same of each piece; NaN where it is nearest somewhere between its ends.
    of: [[f64; ROOM]; 3],
}

impl Default for Measured {
    fn default() -> Self {
        let nothing = [[f64::NAN; ROOM]; 3];
        Measured {
            gap: nothing,
            at: nothing,
            of: nothing,
        }
    }
}

/// Places by their coordinates, each list as long as the others.
pub type Places<'p> = [&'p [f64]; 3];

impl Gauge {
    /// None where a margin is not one of distance alone.
    pub fn new(
        yardstick: &Yardstick,
        (drive, ruler): (&DriveLine, Ruler),
        part: &ServicePart,
        limits: Limits,
        class: Encounter,
    ) -> Option<Gauge> {
        if yardstick.separations && part.separation.is_some() {
            return None;
        }
        Some(Gauge {
            ruler,
            before_m: drive.before_m,
            length_m: drive.length_m,
            accuracy: yardstick.accuracy,
            watched_to_m: yardstick.watch_distance_m + LENGTH_TOLERANCE_M,
            watch_margin_m: yardstick.watch_margin_m,
            radii_m: yardstick.bore_radius_m + part.radius_m,
            required_m: part.required_m(class),
            horizontal_sq: limits.horizontal_m.powi(2),
            vertical_sq: limits.vertical_m.powi(2),
        })
    }

    /// Measures the first `count` pieces, no more than [`PIECES_TOGETHER`], each from a place to the next. There are
    /// [`Gauge::room`] of these or more.
    #[inline]
    pub fn measure(&self, places: Places, count: usize, out: &mut Measured) {
        let steep = |steep: f64, z: &[f64]| {
            let off = (z[1] - z[0]).abs();
            if off > steep { off } else { steep }
        };
        let steep_m = places[2][..=count].windows(2).fold(0.0, steep);
        let reach_m = super::pieces::PIECE_M + steep_m + BESIDE_M;
        let [x, y, z] = places;
        let some = |at: usize| [lanes(x, at), lanes(y, at), lanes(z, at)];
        for at in (0..=count).step_by(LANES) {
            self.places_at(&some(at), reach_m, at, out);
        }
        for at in (0..count).step_by(LANES) {
            pieces_at(&some(at), &some(at + 1), at, out);
        }
    }

    /// So many places are to be there for `count` pieces to be measured.
    pub fn room(count: usize) -> usize {
        count.next_multiple_of(LANES) + LANES
    }

    /// No branches, so that all four are done at once.
    #[inline(always)]
    fn places_at(&self, [x, y, z]: &[Lanes; 3], reach_m: f64, at: usize, out: &mut Measured) {
        let Ruler {
            a,
            d,
            per_length_sq,
        } = self.ruler;
        let (accuracy, asked_m) = (&self.accuracy, self.radii_m + self.required_m);
        let wider = self.horizontal_sq - self.vertical_sq;
        let or_more = |v: f64, least: f64| if v > least { v } else { least };
        let boring = |at_m: f64| or_more(accuracy.per_m * at_m, accuracy.setting_out_m);
        let mut gap = [[0.0; LANES]; 3];
        let mut here = [[0.0; LANES]; 3];
        for i in 0..LANES {
            let w = [x[i] - a[0], y[i] - a[1], z[i] - a[2]];
            let s = or_more(dot(w, d) * per_length_sq, 0.0);
            let s = if s < 1.0 { s } else { 1.0 };
            let to = [d[0] * s - w[0], d[1] * s - w[1], d[2] * s - w[2]];
            let flat_sq = to[0] * to[0] + to[1] * to[1];
            let sq = flat_sq + to[2] * to[2];
            let (distance_m, per_sq) = (sq.sqrt(), 1.0 / sq);
            let off = wider.abs() * (TURN * or_more(distance_m * per_sq, 1.0));
            let located = self.vertical_sq + wider * (flat_sq * per_sq);
            let at_m = self.before_m + s * self.length_m;
            let (near, far) = (boring(at_m - reach_m), boring(at_m + reach_m));
            let least = (or_more(located - off, 0.0) + near * near).sqrt();
            let most = (located + off + far * far).sqrt();
            let margin_m = distance_m - asked_m;
            (gap[0][i], gap[1][i], gap[2][i]) = (to[0], to[1], to[2]);
            here[0][i] = distance_m;
            here[1][i] = margin_m - most - ROUNDING_M;
            here[2][i] = margin_m - least + ROUNDING_M;
        }
        for i in 0..3 {
            out.gap[i][at..at + LANES].copy_from_slice(&gap[i]);
            out.at[i][at..at + LANES].copy_from_slice(&here[i]);
        }
    }

    /// What the `k`-th piece measured comes to.
    #[inline(always)]
    pub fn estimate(&self, of: &Measured, k: usize) -> Option<Estimate> {
        let (distance_m, least_m, most_m) = (of.of[0][k], of.of[1][k], of.of[2][k]);
        let clearance_m = distance_m - self.radii_m;
        let of_row = (self.watched_to_m, self.watch_margin_m);
        // Nor is anything that is no number.
        let certain = distance_m >= TOO_NEAR_M && least_m <= most_m;
        certain.then(|| Estimate {
            least_m,
            most_m,
            counts: counts(clearance_m, [least_m, most_m], of_row),
            prove: false,
        })
    }
}

type Lanes = [f64; LANES];

/// Some numbers from one on.
#[inline(always)]
fn lanes(list: &[f64], at: usize) -> Lanes {
    let mut out = [0.0; LANES];
    out.copy_from_slice(&list[at..at + LANES]);
    out
}

/// Of the pieces from some places, each to the next (`ends`), what their nearer ends were measured to be. No branches.
#[inline(always)]
fn pieces_at(starts: &[Lanes; 3], ends: &[Lanes; 3], at: usize, out: &mut Measured) {
    let gap = |from: usize| {
        let [x, y, z] = &out.gap;
        [lanes(x, from), lanes(y, from), lanes(z, from)]
    };
    let end = |from: usize| {
        let [distance, least, most] = &out.at;
        [lanes(distance, from), lanes(least, from), lanes(most, from)]
    };
    let (from, to) = (gap(at), gap(at + 1));
    let (start, end) = (end(at), end(at + 1));
    let mut of = [[0.0; LANES]; 3];
    for i in 0..LANES {
        let along = |gap: &[Lanes; 3]| {
            let axis = |axis: usize| gap[axis][i] * (ends[axis][i] - starts[axis][i]);
            axis(0) + axis(1) + axis(2)
        };
        let (at_start, at_end) = (along(&from) <= 0.0, along(&to) >= 0.0);
        for k in 0..3 {
            let farther = if at_end { end[k][i] } else { f64::NAN };
            of[k][i] = if at_start { start[k][i] } else { farther };
        }
    }
    for (list, of) in out.of.iter_mut().zip(&of) {
        list[at..at + LANES].copy_from_slice(of);
    }
}

/// Whether a piece belongs to a row, as [`super::Judged::counts`] says it.
#[inline]
fn counts(
    clearance_m: f64,
    [least_m, most_m]: Span,
    (watched_to_m, watch_margin_m): (f64, f64),
) -> Option<bool> {
    if clearance_m + ROUNDING_M <= watched_to_m || most_m < watch_margin_m {
        Some(true)
    } else if clearance_m - ROUNDING_M > watched_to_m && least_m >= watch_margin_m {
        // What is judged by a margin that is not negative never clashes.
        (least_m >= 0.0).then_some(false)
    } else {
        None
    }
}

/// The allowance along a gap that may be turned a little.
#[inline]
fn located(gap: &Gap, limits: Limits, boring: Span) -> Span {
    let (h_sq, v_sq) = (limits.horizontal_m.powi(2), limits.vertical_m.powi(2));
    let at = v_sq + (h_sq - v_sq) * gap.across;
    let off = (h_sq - v_sq).abs() * gap.turn;
    [
        ((at - off).max(0.0) + boring[0].powi(2)).sqrt(),
        (at + off + boring[1].powi(2)).sqrt(),
    ]
}

const _: () = assert!(EQUALLY_NEAR_M <= 1e-6 && ROUNDING_M >= EQUALLY_NEAR_M);

#[cfg(test)]
mod tests {
    use super::super::{
        encounter::Accuracy,
        located::Located,
        near::drive_line,
        pieces::{Depth, Piece},
    };
    use super::*;
    use crate::{
        dice::Dice,
        job::Job,
        site::{Kind, Quality},
    };
    use geo::Coord;
    use std::collections::BTreeMap;

    impl Dice {
        /// One of the few, so that things lie along, above and at each other.
        fn step(&mut self, least: f64, step: f64, n: f64) -> f64 {
            least + step * (self.roll() * n).floor()
        }
    }

    struct Case {
        yardstick: Yardstick,
        drive: DriveLine,
        part: ServicePart,
        piece: Piece,
        class: Encounter,
    }

    fn case(dice: &mut Dice, any: &ServicePart) -> Case {
        let mut part = any.clone();
        part.limits = Limits {
            horizontal_m: dice.step(0.0, 0.4, 4.0),
            vertical_m: dice.step(0.0, 0.4, 4.0),
        };
        let far = |dice: &mut Dice| Coord {
            x: 4e5 + dice.step(0.0, 0.5, 60.0),
            y: 6.4e6 + dice.step(0.0, 0.5, 60.0),
        };
        let (us, ds, a) = (far(dice), far(dice), far(dice));
        let along = ds - us;
        let turn = match dice.roll() < 0.3 && us != ds {
            true => along * (2.0 / along.x.hypot(along.y)),
            false => Coord {
                x: dice.step(-1.0, 0.25, 9.0),
                y: dice.step(-1.0, 0.25, 9.0),
            },
        };
        let z = [dice.step(48.0, 0.25, 12.0), dice.step(48.0, 0.25, 12.0)];
        let low = [dice.step(48.0, 0.25, 12.0), dice.step(48.0, 0.25, 12.0)];
        let depth = match dice.roll() < 0.5 {
            true => Depth::Known(low),
            false => Depth::Band {
                low,
                high: low.map(|l| l + dice.step(0.0, 0.5, 4.0)),
            },
        };
        let crossing = dice.roll() < 0.5;
        Case {
            yardstick: Yardstick {
                bore_radius_m: 0.1,
                accuracy: Accuracy {
                    setting_out_m: 0.01,
                    per_m: dice.step(0.0, 0.002, 3.0),
                },
                watch_distance_m: dice.step(0.5, 1.0, 5.0),
                watch_margin_m: 0.3,
                separations: true,
                nothing_beyond: BTreeMap::new(),
            },
            drive: drive_line(us, ds, z, dice.roll() as usize),
            part,
            piece: Piece {
                a,
                b: a + turn,
                depth,
                direction: None,
                straight: 0,
            },
            class: if crossing {
                Encounter::Crossing
            } else {
                Encounter::Parallel
            },
        }
    }

    impl Case {
        fn flat(&self) -> Segment {
            let centre = &self.drive.centre;
            Segment {
                a: super::super::flat(centre.a),
                b: super::super::flat(centre.b),
            }
        }

        fn estimate(&self) -> Option<Estimate> {
            let (y, part, limits) = (&self.yardstick, &self.part, self.part.limits);
            let feet = |ruler: Ruler, ends: [Point; 2]| (ends, ends.map(|p| ruler.foot(p)));
            match self.piece.depth {
                Depth::Known(z) => {
                    // The places behind those asked about are of no account.
                    let [a, b]: [Point; 2] = self.piece.ends(z).into();
                    let rest = |k: usize| if k == 0 { f64::NAN } else { 0.0 };
                    let places = [0, 1, 2].map(|axis| {
                        let mut list = [a[axis], b[axis]].to_vec();
                        list.extend((0..Gauge::room(1)).map(rest));
                        list
                    });
                    let places = places.each_ref().map(|p| &p[..]);
                    let drive = (&self.drive, Ruler::new(&self.drive.centre));
                    let gauge = Gauge::new(y, drive, part, limits, self.class)?;
                    let mut measured = Measured::default();
                    gauge.measure(places, 1, &mut measured);
                    gauge.estimate(&measured, 0)
                }
                Depth::Band { low, high } => {
                    let ends = self.piece.ends([0.0; 2]).into();
                    let (ends, feet) = feet(Ruler::new(&self.flat()), ends);
                    let of = (&ends, &feet);
                    y.estimate_between(&self.drive, part, limits, self.class, of, (low, high))
                }
                Depth::Unbounded => None,
            }
        }

        fn judged(&self) -> Judged {
            let located = Located {
                piece: &self.piece,
                limits: self.part.limits,
            };
            let run = [0.0, self.drive.length_m];
            let y = &self.yardstick;
            let plan = y.plan_near_from(&self.part, &located, self.class, &self.flat(), run);
            y.judge(&self.drive, &self.part, located, self.class, Some(&plan))
        }
    }

    /// A part of which a case takes what it does not roll.
    fn any() -> ServicePart {
        ServicePart::bare(0, (Kind::Gas, Quality::A), Some(120.0), &Job::default())
    }

    #[test]
    fn what_is_judged_is_as_was_estimated() {
        let mut dice = Dice(0x5851_F42D_4C95_7F2D);
        let any = any();
        let (mut estimated, mut narrow) = (0, 0);
        for k in 0..40_000 {
            let case = case(&mut dice, &any);
            let Some(e) = case.estimate() else { continue };
            let judged = case.judged();
            let within = e.least_m <= judged.margin_m && judged.margin_m <= e.most_m;
            assert!(within, "case {k}: {e:?} {judged:?}");
            assert!(
                e.counts.is_none_or(|c| c == judged.counts()),
                "case {k}: {e:?} {judged:?}"
            );
            assert_eq!(
                e.prove,
                judged.verdict == Verdict::Prove,
                "case {k}: {e:?} {judged:?}"
            );
            estimated += 1;
            narrow += usize::from(e.most_m - e.least_m < 0.02);
        }
        assert!(
            estimated > 20_000 && narrow > 10_000,
            "{estimated} {narrow}"
        );
    }

    /// A way of pieces, from the first of a case on, some of them straight on; with what each is estimated to come to.
    fn way(dice: &mut Dice, case: &Case) -> (Vec<Piece>, Vec<Option<Estimate>>) {
        let count = 1 + (dice.roll() * PIECES_TOGETHER as f64) as usize;
        let (mut at, mut z) = (case.piece.a, 48.0 + 3.0 * dice.roll());
        let mut step = case.piece.b - case.piece.a;
        let mut places = [vec![at.x], vec![at.y], vec![z]];
        let mut pieces = vec![];
        for _ in 0..count {
            if dice.roll() < 0.3 {
                step = Coord {
                    x: dice.step(-1.0, 0.25, 9.0),
                    y: dice.step(-1.0, 0.25, 9.0),
                };
            }
            let to = (at + step, z + dice.step(-0.5, 0.25, 5.0));
            pieces.push(Piece {
                a: at,
                b: to.0,
                depth: Depth::Known([z, to.1]),
                ..case.piece
            });
            (at, z) = to;
            let [x, y, level] = &mut places;
            x.push(at.x);
            y.push(at.y);
            level.push(z);
        }
        // What lies behind is of no account.
        places
            .iter_mut()
            .for_each(|list| list.resize(Gauge::room(count), f64::NAN));
        let drive = (&case.drive, Ruler::new(&case.drive.centre));
        let (y, limits) = (&case.yardstick, case.part.limits);
        let gauge = Gauge::new(y, drive, &case.part, limits, case.class);
        let gauge = gauge.expect("no separation is asked");
        let mut measured = Measured::default();
        let [x, y, z] = &places;
        gauge.measure([x, y, z], count, &mut measured);
        let estimates = (0..count).map(|k| gauge.estimate(&measured, k));
        (pieces, estimates.collect())
    }

    #[test]
    fn pieces_estimated_at_once_are_each_as_was_estimated() {
        let mut dice = Dice(0x2545_F491_4F6C_DD1D);
        let any = any();
        let (mut estimated, mut narrow) = (0, 0);
        for k in 0..6000 {
            let mut case = case(&mut dice, &any);
            let (pieces, estimates) = way(&mut dice, &case);
            for (piece, estimate) in pieces.into_iter().zip(estimates) {
                case.piece = piece;
                let (judged, Some(e)) = (case.judged(), estimate) else {
                    continue;
                };
                let within = e.least_m <= judged.margin_m && judged.margin_m <= e.most_m;
                let counts = e.counts.is_none_or(|c| c == judged.counts());
                assert!(within && counts, "case {k}: {e:?} {judged:?}");
                estimated += 1;
                narrow += usize::from(e.most_m - e.least_m < 0.02);
            }
        }
        assert!(estimated > 20_000 && narrow > 8000, "{estimated} {narrow}");
    }
}
