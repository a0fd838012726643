//! The conditional rule of separation: far enough apart in plan, or else in level.

use super::{
    encounter::{Clause, DriveLine, Yardstick},
    located::Located,
    pieces::{Piece, ServicePart},
    segment::{Point, Segment, along, dot, flat, nearest, sub},
    verdict::Encounter,
};
use crate::job::{Separation, Side};

/// What a clause of the rule comes to; the rule is kept where either margin is not negative.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Measured {
    /// Outside to outside in the clause's own direction (m).
    pub clearance_m: f64,
    /// What the clause asks (m).
    pub required_m: f64,
    /// For location and boring error in that direction (m).
    pub allowance_m: f64,
    /// Clearance - allowance - required.
    pub margin_m: f64,
    /// In plan or in level.
    pub clause: Clause,
    /// Where on the drive, 0 at the launch pit.
    pub s: f64,
    /// The point of the service that it was measured to.
    pub other: Point,
}

impl ServicePart {
    /// The farthest that any rule reaches out in plan, error aside (m).
    pub fn asked_m(&self) -> f64 {
        let by_class = self.required.crossing_m.max(self.required.parallel_m);
        by_class.max(self.apart_in_plan_m())
    }

    /// What a piece of unknown depth must keep in plan for its depth not to matter (m): the required distance of its class and, as
    /// it may lie at any level, what its separation rule asks in plan.
    pub fn asked_in_plan_m(&self, class: Encounter) -> f64 {
        self.required_m(class).max(self.apart_in_plan_m())
    }

    /// The required distance of a class (m).
    pub fn required_m(&self, class: Encounter) -> f64 {
        match class {
            Encounter::Crossing => self.required.crossing_m,
            Encounter::Parallel => self.required.parallel_m,
        }
    }

    fn apart_in_plan_m(&self) -> f64 {
        let rule = self.separation.as_ref();
        rule.map_or(f64::NEG_INFINITY, |s| s.horizontal_m)
    }
}

impl Yardstick {
    /// A piece of known levels beside a drive, by its separation rule: the clause that is kept best, or broken least.
    ///
    /// A piece counts whole: where any of it is too near in plan, all of it must be apart in level. So the stretch that is
    /// kept apart ends up to a piece's length farther out than the rule has it, never nearer.
    pub(super) fn separated(
        &self,
        drive: &DriveLine,
        radius_m: f64,
        located: &Located,
        z: [f64; 2],
        rule: &Separation,
    ) -> Measured {
        let in_plan = self.in_plan(drive, radius_m, located, rule);
        let in_level = self.in_level(drive, radius_m, located, z, rule);
        if in_level.margin_m > in_plan.margin_m {
            in_level
        } else {
            in_plan
        }
    }

    fn in_plan(
        &self,
        drive: &DriveLine,
        radius_m: f64,
        located: &Located,
        rule: &Separation,
    ) -> Measured {
        let line = Segment {
            a: flat(drive.centre.a),
            b: flat(drive.centre.b),
        };
        let (a, b) = located.piece.ends([0.0; 2]);
        let n = nearest(&line, &Segment { a, b });
        let clearance_m = n.distance_m - self.bore_radius_m - radius_m;
        let error = self.accuracy.at(drive.from_launch_m(n.s));
        let allowance_m = located.limits.horizontal_m.hypot(error);
        Measured {
            clearance_m,
            required_m: rule.horizontal_m,
            allowance_m,
            margin_m: clearance_m - allowance_m - rule.horizontal_m,
            clause: Clause::Plan,
            s: n.s,
            other: n.other,
        }
    }

    /// Least margin in level of any point of the piece over (or under) the drive's point nearest to it in plan.
    ///
    /// Along the piece that point moves evenly, or rests at an end of the drive; so the distance in level is linear between
    /// at most four places, the rig's error convex, and the margin least at one of the four.
    fn in_level(
        &self,
        drive: &DriveLine,
        radius_m: f64,
        located: &Located,
        z: [f64; 2],
        rule: &Separation,
    ) -> Measured {
        let places = places(drive, located.piece, z);
        let located = located.limits.vertical_m;
        let side = |up: f64| {
            let measure = |&(s, other): &(f64, Point)| {
                let centre = drive.at(s)[2];
                let clearance_m = up * (other[2] - centre) - self.bore_radius_m - radius_m;
                let allowance_m = located.hypot(self.accuracy.at(drive.from_launch_m(s)));
                Measured {
                    clearance_m,
                    required_m: rule.vertical_m,
                    allowance_m,
                    margin_m: clearance_m - allowance_m - rule.vertical_m,
                    clause: Clause::Level,
                    s,
                    other,
                }
            };
            let least = places.iter().map(measure);
            least
                .min_by(|x, y| x.margin_m.total_cmp(&y.margin_m))
                .expect("a piece has ends")
        };
        let above = side(1.0);
        if rule.service == Side::Above {
            return above;
        }
        let below = side(-1.0);
        if below.margin_m > above.margin_m {
            below
        } else {
            above
        }
    }
}

/// Both ends of a piece and where the drive's plan-nearest point comes to rest at an end of the drive; with the share of the drive
/// at each.
fn places(drive: &DriveLine, piece: &Piece, z: [f64; 2]) -> [(f64, Point); 4] {
    let (a, b) = piece.ends(z);
    let d = flat(sub(drive.centre.b, drive.centre.a));
    let foot = |p: Point| dot(flat(sub(p, drive.centre.a)), d) / dot(d, d);
    let (from, to) = (foot(a), foot(b));
    let rests = |end: f64| {
        let t = (end - from) / (to - from);
        if t.is_finite() {
            t.clamp(0.0, 1.0)
        } else {
            0.0
        }
    };
    [0.0, rests(0.0), rests(1.0), 1.0].map(|t| {
        let share = (from + t * (to - from)).clamp(0.0, 1.0);
        (share, along(a, sub(b, a), t))
    })
}

#[cfg(test)]
mod tests {
    use super::super::{
        encounter::{Accuracy, Judged},
        near::{FROM_DOWNSTREAM, FROM_UPSTREAM, drive_line},
        pieces::Depth,
        verdict::Verdict,
    };
    use super::*;
    use crate::{
        job::{Clearance, Limits},
        site::Kind,
    };
    use geo::Coord;

    const RULE: Separation = Separation {
        horizontal_m: 3.0,
        vertical_m: 0.5,
        service: Side::Above,
    };

    fn yardstick(per_m: f64) -> Yardstick {
        Yardstick {
            bore_radius_m: 0.1,
            accuracy: Accuracy {
                setting_out_m: 0.01,
                per_m,
            },
            watch_distance_m: 2.0,
            watch_margin_m: 0.3,
            separations: true,
            nothing_beyond: [(Kind::Water, 6.0)].into(),
        }
    }

    /// A main of radius 0.1 m in one piece, with no other distance asked of it than this rule.
    fn main(a: [f64; 3], b: [f64; 3], rule: Separation, limits: Limits) -> ServicePart {
        let at = |p: [f64; 3]| Coord { x: p[0], y: p[1] };
        let direction = at(b) - at(a);
        ServicePart {
            service: 0,
            kind: Kind::Water,
            radius_m: 0.1,
            limits,
            by_piece: vec![],
            required: Clearance {
                crossing_m: 0.0,
                parallel_m: 0.0,
                pit_m: 0.0,
            },
            separation: Some(rule),
            pieces: vec![Piece {
                a: at(a),
                b: at(b),
                depth: Depth::Known([a[2], b[2]]),
                direction: Some(direction / direction.x.hypot(direction.y)),
                straight: 0,
            }],
            straights: vec![vec![at(a), at(b)]],
        }
    }

    const EXACT: Limits = Limits {
        horizontal_m: 0.0,
        vertical_m: 0.0,
    };

    /// A bore of 20 m along x at level 10, launched downstream (at x = 20) or upstream.
    fn judged(y: &Yardstick, part: &ServicePart, side: usize) -> Option<Judged> {
        let (us, ds) = (Coord { x: 0.0, y: 0.0 }, Coord { x: 20.0, y: 0.0 });
        let services = super::super::near::Services::new(vec![part.clone()]);
        let by_m = y.farthest_concern(&services, 20.0);
        let near = y.near(&services, us, ds, by_m, |_| false);
        let drive = drive_line(us, ds, [10.0, 10.0], side);
        let rows = near.first().map(|n| y.rows(&drive, part, n, side));
        rows.and_then(|r| r.first().map(|row| row.judged))
    }

    #[test]
    fn near_in_plan_it_must_be_above() {
        let y = yardstick(0.0);
        let at = |across: f64, level: f64, rule| {
            let part = main([8.0, across, level], [10.0, across, level], rule, EXACT);
            judged(&y, &part, FROM_UPSTREAM)
        };
        let level = at(1.0, 10.0, RULE).expect("a row");
        assert_eq!(
            (level.verdict, level.clause),
            (Verdict::Clash, Clause::Level)
        );
        assert!((level.clearance_m + 0.2).abs() < 1e-12 && level.required_m == 0.5);
        let under = at(1.0, 9.0, RULE).expect("a row");
        assert_eq!(under.verdict, Verdict::Clash);
        let either = Separation {
            service: Side::Either,
            ..RULE
        };
        // 1 m below centre to centre: 0.8 m outside to outside, 0.29 m more than asked
        let below = at(1.0, 9.0, either).expect("a row");
        assert_eq!(
            (below.verdict, below.clause),
            (Verdict::Watch, Clause::Level)
        );
        assert!((below.margin_m - 0.29).abs() < 1e-12);
        let above = at(1.0, 11.5, RULE).expect("a row");
        assert_eq!(
            (above.verdict, above.clause),
            (Verdict::Clear, Clause::Level)
        );
        // 3.1 m in plan outside to outside: its level does not matter
        let beside = at(3.3, 10.0, RULE).expect("a row");
        assert_eq!(
            (beside.verdict, beside.clause),
            (Verdict::Watch, Clause::Plan)
        );
        assert!((beside.margin_m - 0.09).abs() < 1e-12);
        let broken_least = at(3.1, 10.0, RULE).expect("a row");
        assert_eq!(broken_least.clause, Clause::Plan);
        assert!((broken_least.margin_m + 0.11).abs() < 1e-12);
    }

    #[test]
    fn without_the_rule_everything_is_as_before() {
        let y = yardstick(0.0005);
        let mut part = main([8.0, 1.0, 10.4], [10.0, 1.2, 10.2], RULE, EXACT);
        let with = judged(&y, &part, FROM_UPSTREAM).expect("a row");
        part.separation = None;
        let without = judged(&y, &part, FROM_UPSTREAM).expect("a row");
        assert_eq!(without.clause, Clause::Distance);
        assert_eq!(with.p_contact(), without.p_contact());
        assert!(with.margin_m < without.margin_m);
    }

    #[test]
    fn what_may_lie_at_any_level_must_be_apart_in_plan() {
        let y = yardstick(0.0);
        let at = |across: f64| {
            let mut part = main([8.0, across, 0.0], [10.0, across, 0.0], RULE, EXACT);
            part.pieces[0].depth = Depth::Band {
                low: [11.5; 2],
                high: [12.0; 2],
            };
            judged(&y, &part, FROM_UPSTREAM).map(|j| (j.verdict, j.clause))
        };
        assert_eq!(at(3.1), Some((Verdict::Prove, Clause::Plan)));
        assert_eq!(at(3.3).map(|j| j.0), None); // clear, and farther than what is watched
    }

    /// By sampling the piece and the drive: the least margin in level, above.
    fn sampled(y: &Yardstick, drive: &DriveLine, part: &ServicePart, rule: &Separation) -> f64 {
        const N: usize = 300;
        let (a, b) = part.pieces[0].ends(match part.pieces[0].depth {
            Depth::Known(z) => z,
            _ => panic!("known"),
        });
        let at = |p: Point, q: Point, i: usize| along(p, sub(q, p), i as f64 / N as f64);
        let mut least = f64::INFINITY;
        for i in 0..=N {
            let p = at(a, b, i);
            let nearest = (0..=10 * N).map(|j| {
                let s = j as f64 / (10 * N) as f64;
                let q = along(drive.centre.a, sub(drive.centre.b, drive.centre.a), s);
                let gap = flat(sub(p, q));
                (dot(gap, gap), s, q[2])
            });
            let (_, s, level) = nearest
                .min_by(|x, y| x.0.total_cmp(&y.0))
                .expect("a drive has points");
            let error = part
                .limits
                .vertical_m
                .hypot(y.accuracy.at(s * drive.length_m));
            let apart = p[2] - level - y.bore_radius_m - part.radius_m;
            least = least.min(apart - error - rule.vertical_m);
        }
        least
    }

    #[test]
    fn the_rigs_error_runs_on_along_a_bore_of_several_straights() {
        let y = yardstick(0.001);
        let part = main([8.0, 1.0, 11.0], [10.0, 1.0, 11.0], RULE, EXACT);
        let (us, ds) = (Coord { x: 0.0, y: 0.0 }, Coord { x: 20.0, y: 0.0 });
        let allowance = |before_m: f64| {
            let drive = DriveLine {
                before_m,
                ..drive_line(us, ds, [10.0, 10.0], FROM_UPSTREAM)
            };
            let m = y.separated(&drive, part.radius_m, &part.located(0), [11.0; 2], &RULE);
            assert_eq!(m.clause, Clause::Level);
            m.allowance_m
        };
        // Worst at the far end of the main, 10 m along; 50 m were bored before.
        assert!((allowance(0.0) - 0.010).abs() < 1e-12);
        assert!((allowance(50.0) - 0.060).abs() < 1e-12);
    }

    #[test]
    fn the_margin_in_level_is_the_least_of_any_point_of_the_piece() {
        let y = yardstick(0.004);
        let mut dice = crate::dice::Dice(0x2545_F491_4F6C_DD1D);
        let mut next = || dice.roll();
        for case in 0..60 {
            // Near the ends of the drive, so that the nearest point often rests there.
            let a = [22.0 * next() - 1.0, 2.0 * next() - 1.0, 9.5 + 2.0 * next()];
            let b = [
                a[0] + 4.0 * next() - 2.0,
                a[1] + 4.0 * next() - 2.0,
                9.5 + 2.0 * next(),
            ];
            let limits = Limits {
                horizontal_m: 0.3,
                vertical_m: 0.2 * next(),
            };
            let part = main(a, b, RULE, limits);
            let (us, ds) = (Coord { x: 0.0, y: 0.0 }, Coord { x: 20.0, y: 0.0 });
            let z = [10.0 + 4.0 * next(), 10.0 + 2.0 * next()];
            for side in [FROM_UPSTREAM, FROM_DOWNSTREAM] {
                let drive = drive_line(us, ds, z, side);
                let m = y.in_level(&drive, part.radius_m, &part.located(0), [a[2], b[2]], &RULE);
                let by_sampling = sampled(&y, &drive, &part, &RULE);
                assert!(
                    m.margin_m <= by_sampling + 2e-3,
                    "case {case}: {m:?} {by_sampling}"
                );
                assert!(
                    m.margin_m >= by_sampling - 0.03,
                    "case {case}: {m:?} {by_sampling}"
                );
            }
        }
    }
}
