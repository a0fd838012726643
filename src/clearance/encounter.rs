//! One drive beside one service: pieces, verdicts, and the rows they make.

use super::{
    curtain::{Curtain, nearest_curtain},
    located::Located,
    near::{NearPart, PlanNear},
    pieces::{Depth, Piece, ServicePart},
    segment::{Nearest, Point, Segment, along, dot, flat, nearest, sub},
    separation::Measured,
    verdict::{Encounter, Verdict},
};
use crate::{job::Limits, site::Kind};
use std::collections::BTreeMap;

/// A rule on lengths is broken only by more than this (m).
pub const LENGTH_TOLERANCE_M: f64 = 1e-6;

/// How the rig's error grows along a drive; all are 95 % limits.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Accuracy {
    /// Error from setting out (m), the least there is.
    pub setting_out_m: f64,
    /// Error of line and level a metre from the launch pit.
    pub per_m: f64,
}

impl Accuracy {
    /// Error at plan distance `d_m` from the launch pit (m).
    pub fn at(&self, d_m: f64) -> f64 {
        self.setting_out_m.max(self.per_m * d_m)
    }
}

/// What an encounter is judged by, the same for every drive of a route.
#[derive(Debug, Clone, PartialEq)]
pub struct Yardstick {
    /// Radius of the bore (m).
    pub bore_radius_m: f64,
    /// The rig's error.
    pub accuracy: Accuracy,
    /// Rows are written for things nearer than this (m).
    pub watch_distance_m: f64,
    /// A margin below this earns `watch` (m).
    pub watch_margin_m: f64,
    /// Separations in plan or in level are judged too. Without them a verdict is never worse.
    pub separations: bool,
    /// By kind of service: at so many standard deviations contact is so unlikely that its price is nothing.
    pub nothing_beyond: BTreeMap<Kind, f64>,
}

/// How many standard deviations make the price of a strike less than a billionth.
pub fn nothing_beyond(strike_price: f64) -> f64 {
    let quarters = (0..60).map(|i| f64::from(i) / 4.0);
    quarters
        .into_iter()
        .find(|k| strike_price * normal_cdf(-k) <= 1e-9)
        .unwrap_or(15.0)
}

/// A drive in space.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct DriveLine {
    /// Centre line from launch pit to reception pit.
    pub centre: Segment,
    /// Plan length (m).
    pub length_m: f64,
    /// Plan distance from the launch pit to where the line starts (m): 0, but in a bore of several straights.
    pub before_m: f64,
}

impl DriveLine {
    /// Plan distance from the launch pit at share `s` of the line (m).
    pub fn from_launch_m(&self, s: f64) -> f64 {
        self.before_m + s * self.length_m
    }

    /// The centre line at share `s`.
    pub fn at(&self, s: f64) -> Point {
        along(self.centre.a, sub(self.centre.b, self.centre.a), s)
    }
}

/// Which rule a piece's required value is from, and so in which direction its clearance was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Clause {
    /// The required distance of its class: the shortest way.
    Distance,
    /// Separation in plan.
    Plan,
    /// Separation in level.
    Level,
}

/// What one piece comes to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Judged {
    /// Surface to surface (m), as its clause measures it.
    pub clearance_m: f64,
    /// What the rule asks (m).
    pub required_m: f64,
    /// For location and boring error (m).
    pub allowance_m: f64,
    /// Clearance - allowance - required.
    pub margin_m: f64,
    /// The rule that leaves the least margin.
    pub clause: Clause,
    /// What it comes to.
    pub verdict: Verdict,
    /// The piece's depth is known.
    pub known: bool,
    /// Where on the drive, 0 at the launch pit to 1 at the reception pit.
    pub s: f64,
    /// The nearest point of the service.
    pub other: Point,
    /// What the probability of contact is worked out from.
    chance: Chance,
    /// Counts for the row although `clear`.
    within_watch: bool,
}

/// A probability of contact not yet worked out: of many pieces only the worst needs it.
#[derive(Debug, Clone, Copy, PartialEq)]
struct Chance {
    /// Of the heights where the service may lie, the share that the bore touches.
    share: f64,
    clearance_m: f64,
    allowance_m: f64,
}

impl Judged {
    /// Probability of contact.
    pub fn p_contact(&self) -> f64 {
        self.chance.share * contact(self.chance.clearance_m, self.chance.allowance_m)
    }

    /// Belongs to a row.
    pub fn counts(&self) -> bool {
        self.verdict != Verdict::Clear || self.within_watch
    }

    /// The same where the bore's own level is not known: whatever is near is to be proved.
    pub fn of_bore_without_level(self) -> Judged {
        match self.counts() {
            true => Judged {
                verdict: Verdict::Prove,
                ..self
            },
            false => self,
        }
    }
}

/// An encounter: consecutive pieces of one service part, one class, all of known or all of unknown depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Row {
    /// The piece whose values the row has, as it was numbered when added.
    pub piece: usize,
    /// Class.
    pub encounter: Encounter,
    /// The values.
    pub judged: Judged,
}

/// The standard normal distribution function.
pub fn normal_cdf(x: f64) -> f64 {
    0.5 * libm::erfc(-x / std::f64::consts::SQRT_2)
}

/// Probability that surfaces nearer than `clearance_m` touch, the allowance being a 95 % limit.
fn contact(clearance_m: f64, allowance_m: f64) -> f64 {
    if allowance_m > 0.0 {
        normal_cdf(-clearance_m / (allowance_m / 1.96))
    } else if clearance_m > 0.0 {
        0.0
    } else {
        1.0
    }
}

/// Rows in the making, from pieces in the order of their part.
#[derive(Debug, Default)]
pub struct Encounters {
    rows: Vec<Row>,
    /// Class and knowledge of depth of the piece before, where it belongs to a row.
    open: Option<(Encounter, bool)>,
}

impl Encounters {
    /// The next piece that was looked at. `next` where it follows the one before without a piece between.
    pub fn add(&mut self, piece: usize, next: bool, encounter: Encounter, judged: Judged) {
        if !judged.counts() {
            self.open = None;
            return;
        }
        let goes_on = next && self.open == Some((encounter, judged.known));
        self.open = Some((encounter, judged.known));
        let row = Row {
            piece,
            encounter,
            judged,
        };
        match self.rows.last_mut() {
            Some(last) if goes_on => {
                // Margins that differ by rounding only are equal: the first along the service counts.
                let less = judged.margin_m < last.judged.margin_m - LENGTH_TOLERANCE_M;
                if judged.verdict < last.judged.verdict
                    || judged.verdict == last.judged.verdict && less
                {
                    *last = row;
                }
            }
            _ => self.rows.push(row),
        }
    }

    /// The rows; what follows is of another part.
    pub fn take(&mut self) -> Vec<Row> {
        self.open = None;
        std::mem::take(&mut self.rows)
    }

    /// The rows so far.
    pub fn rows(&self) -> &[Row] {
        &self.rows
    }

    /// Forgets them; what follows is of another part.
    pub fn clear(&mut self) {
        self.open = None;
        self.rows.clear();
    }
}

impl Yardstick {
    /// The rows of one service part beside one drive, in the order of the part's pieces.
    pub fn rows(
        &self,
        drive: &DriveLine,
        part: &ServicePart,
        near: &NearPart,
        launch: usize,
    ) -> Vec<Row> {
        let mut rows = Encounters::default();
        let mut last: Option<usize> = None;
        for n in &near.pieces {
            let plan = n.plan(launch);
            let judged = self.judge(drive, part, part.located(n.piece), n.class, plan);
            let next = last.is_some_and(|p| p + 1 == n.piece);
            rows.add(n.piece, next, n.class, judged);
            last = Some(n.piece);
        }
        rows.take()
    }

    /// What one piece comes to beside a drive at its levels. `part` is asked for nothing that has to do with its pieces.
    ///
    /// # Panics
    /// If the piece is of unknown depth and `plan` is not given.
    pub fn judge(
        &self,
        drive: &DriveLine,
        part: &ServicePart,
        located: Located,
        class: Encounter,
        plan: Option<&PlanNear>,
    ) -> Judged {
        match located.piece.depth {
            Depth::Known(z) => {
                let (a, b) = located.piece.ends(z);
                let n = nearest(&drive.centre, &Segment { a, b });
                let required_m = part.required_m(class);
                let judged = self.known(drive, part, located.limits, n, required_m);
                match &part.separation {
                    Some(rule) if self.separations => {
                        let measured = self.separated(drive, part.radius_m, &located, z, rule);
                        self.with(judged, measured)
                    }
                    _ => judged,
                }
            }
            Depth::Band { .. } | Depth::Unbounded => {
                let plan =
                    plan.expect("the plan distance of every piece of unknown depth was taken");
                self.unknown(drive, part, &located, class, plan)
            }
        }
    }

    /// The values of whichever leaves less margin: the required distance, or the separation in plan or in level. How likely
    /// contact is, and whether the piece is near enough for a row, is a matter of the shortest way.
    fn with(&self, distance: Judged, m: Measured) -> Judged {
        if m.margin_m >= distance.margin_m {
            return distance;
        }
        Judged {
            clearance_m: m.clearance_m,
            required_m: m.required_m,
            allowance_m: m.allowance_m,
            margin_m: m.margin_m,
            clause: m.clause,
            verdict: self.known_verdict(m.margin_m),
            s: m.s,
            other: m.other,
            ..distance
        }
    }

    fn known_verdict(&self, margin_m: f64) -> Verdict {
        if margin_m < -LENGTH_TOLERANCE_M {
            Verdict::Clash
        } else {
            self.by_margin(margin_m)
        }
    }

    fn known(
        &self,
        drive: &DriveLine,
        part: &ServicePart,
        limits: Limits,
        n: Nearest,
        required_m: f64,
    ) -> Judged {
        let clearance_m = n.distance_m - self.bore_radius_m - part.radius_m;
        let allowance_m = self.allowance(drive, limits, &n);
        let margin_m = clearance_m - allowance_m - required_m;
        Judged {
            clearance_m,
            required_m,
            allowance_m,
            margin_m,
            clause: Clause::Distance,
            verdict: self.known_verdict(margin_m),
            known: true,
            s: n.s,
            other: n.other,
            chance: Chance {
                share: 1.0,
                clearance_m,
                allowance_m,
            },
            within_watch: clearance_m <= self.watch_distance_m + LENGTH_TOLERANCE_M,
        }
    }

    fn unknown(
        &self,
        drive: &DriveLine,
        part: &ServicePart,
        located: &Located,
        class: Encounter,
        plan: &PlanNear,
    ) -> Judged {
        let (piece, limits) = (located.piece, located.limits);
        let required_m = part.asked_in_plan_m(class);
        let n = match curtain(piece) {
            Some(c) => nearest_curtain(&drive.centre, &c, plan.distance_m),
            None => Nearest {
                distance_m: plan.distance_m,
                s: plan.s,
                other: plan.other,
            },
        };
        let clearance_m = n.distance_m - self.bore_radius_m - part.radius_m;
        let bounded = curtain(piece).is_some();
        let allowance_m = if bounded {
            let limits = Limits {
                vertical_m: 0.0,
                ..limits
            };
            self.allowance(drive, limits, &n)
        } else {
            limits
                .horizontal_m
                .hypot(self.accuracy.at(drive.from_launch_m(n.s)))
        };
        let margin_m = clearance_m - allowance_m - required_m;
        let (verdict, chance) = if plan.prove {
            (
                Verdict::Prove,
                self.contact_somewhere(drive, part, located, plan),
            )
        } else {
            let chance = Chance {
                share: 1.0,
                clearance_m,
                allowance_m,
            };
            (self.by_margin(margin_m), chance)
        };
        Judged {
            clearance_m,
            required_m,
            allowance_m,
            margin_m,
            clause: if required_m > part.required_m(class) {
                Clause::Plan
            } else {
                Clause::Distance
            },
            verdict,
            known: false,
            s: n.s,
            other: n.other,
            chance,
            within_watch: plan.clearance_m <= self.watch_distance_m + LENGTH_TOLERANCE_M,
        }
    }

    /// Depth uniform in the band: the share of the curtain's height that the bore would touch, times contact in plan.
    fn contact_somewhere(
        &self,
        drive: &DriveLine,
        part: &ServicePart,
        located: &Located,
        plan: &PlanNear,
    ) -> Chance {
        let reach = self.bore_radius_m + part.radius_m;
        let centre = drive.at(plan.s)[2];
        let share = match located.piece.depth {
            Depth::Band { low, high } => {
                let at = |z: [f64; 2]| z[0] + plan.share * (z[1] - z[0]);
                touched_share([at(low), at(high)], [centre - reach, centre + reach])
            }
            _ => 1.0,
        };
        let allowance_m = located
            .limits
            .horizontal_m
            .hypot(self.accuracy.at(drive.from_launch_m(plan.s)));
        Chance {
            share,
            clearance_m: plan.clearance_m,
            allowance_m,
        }
    }

    fn by_margin(&self, margin_m: f64) -> Verdict {
        if margin_m < self.watch_margin_m {
            Verdict::Watch
        } else {
            Verdict::Clear
        }
    }

    /// Location error in the direction of closest approach, and the rig's error there.
    fn allowance(&self, drive: &DriveLine, limits: Limits, n: &Nearest) -> f64 {
        let (horizontal_m, vertical_m) = (limits.horizontal_m, limits.vertical_m);
        let v = sub(drive.at(n.s), n.other);
        let length_sq = dot(v, v);
        // Where they meet, the equally near point farthest along is a little off; what lies between has no meaning.
        let located_sq = if n.distance_m <= LENGTH_TOLERANCE_M || length_sq == 0.0 {
            horizontal_m.max(vertical_m).powi(2)
        } else {
            let across_sq = dot(flat(v), flat(v)) / length_sq;
            horizontal_m.powi(2) * across_sq + vertical_m.powi(2) * (1.0 - across_sq)
        };
        (located_sq + self.accuracy.at(drive.from_launch_m(n.s)).powi(2)).sqrt()
    }
}

fn curtain(piece: &Piece) -> Option<Curtain> {
    match piece.depth {
        Depth::Band { low, high } => {
            let (a, b) = piece.ends([0.0; 2]);
            Some(Curtain { a, b, low, high })
        }
        _ => None,
    }
}

/// How much of `band` lies within `touch`, 0 to 1; a band of no height counts whole or not at all.
fn touched_share(band: [f64; 2], touch: [f64; 2]) -> f64 {
    let height = band[1] - band[0];
    if height > 0.0 {
        ((band[1].min(touch[1]) - band[0].max(touch[0])).max(0.0) / height).min(1.0)
    } else {
        f64::from(band[0] >= touch[0] && band[0] <= touch[1])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::job::Limits;

    #[test]
    fn the_normal_distribution_has_its_known_values() {
        // Abramowitz & Stegun 1964, table 26.1: P(1.96) = 0.97500 21049
        assert!((normal_cdf(1.96) - 0.975_002_104_9).abs() < 1e-10);
        assert_eq!(normal_cdf(0.0), 0.5);
    }

    #[test]
    fn where_centre_lines_meet_the_greater_limit_counts() {
        let limits = Limits {
            horizontal_m: 0.1,
            vertical_m: 0.4,
        };
        let job = crate::job::Job::default();
        let part = ServicePart {
            limits,
            ..ServicePart::bare(0, (Kind::Gas, crate::site::Quality::A), Some(100.0), &job)
        };
        let yardstick = Yardstick {
            bore_radius_m: 0.1,
            accuracy: Accuracy {
                setting_out_m: 0.0,
                per_m: 0.0,
            },
            watch_distance_m: 2.0,
            watch_margin_m: 0.3,
            separations: true,
            nothing_beyond: BTreeMap::new(),
        };
        let at = |x: f64, y: f64| geo::Coord { x, y };
        let drive = crate::clearance::drive_line(at(0.0, 0.0), at(20.0, 0.0), [5.0, 5.0], 0);
        let allowance = |z: f64| {
            let piece = Piece {
                a: at(10.0, -1.0),
                b: at(10.0, 1.0),
                depth: Depth::Known([z, z]),
                direction: None,
                straight: 0,
            };
            let located = Located {
                piece: &piece,
                limits,
            };
            let judged = yardstick.judge(&drive, &part, located, Encounter::Crossing, None);
            judged.allowance_m
        };
        assert_eq!(allowance(5.0), 0.4);
        assert!((allowance(6.0) - 0.4).abs() < 1e-3);
    }

    #[test]
    fn the_touched_share_of_a_band_is_its_overlap() {
        assert!((touched_share([0.0, 2.0], [1.5, 3.0]) - 0.25).abs() < 1e-12);
        assert_eq!(touched_share([0.0, 2.0], [2.5, 3.0]), 0.0);
        assert_eq!(touched_share([1.0, 1.0], [0.5, 1.5]), 1.0);
    }

    #[test]
    fn the_rigs_error_is_never_less_than_that_of_setting_out() {
        let a = Accuracy {
            setting_out_m: 0.010,
            per_m: 0.0004,
        };
        assert_eq!(a.at(10.0), 0.010);
        assert!((a.at(50.0) - 0.020).abs() < 1e-12);
    }
}
