//! What striking the services of known depth that a line passes costs at least, by level.
//!
//! The row that a piece belongs to has the likelihood of contact of its piece of least margin. Let i be any of its pieces, c its
//! clearance and a its allowance, j the piece of least margin. All pieces of a row are asked for the same distance, so
//! c_j - a_j ≤ c_i - a_i, and c_j / a_j ≤ 1 + (c_i - a_i) / a_j: with more clearance than there is and less allowance than there
//! may be, contact is likelier than it comes out here. No lawful drive has c_i < a_i.

use super::{
    course::{GRADES, Line, between, grades, lean, least_allowance_m, slope},
    grid::Grid,
    strip::NEIGHBOURS_M,
};
use crate::{
    clearance::{Depth, Encounter, ServicePart, crossing, normal_cdf},
    cost::bore_cost,
    plan::context::Context,
};
use geo::Coord;
use std::sync::LazyLock;

/// A service that a line passes, at one place.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Strike {
    /// Distance along the line (m).
    pub along_m: f64,
    /// Service part.
    part: u32,
    /// Invert with which the bore is level with it there (m).
    invert_m: f64,
    /// How far aside of the line it lies there (m).
    aside_m: f64,
    /// Both radii (m).
    radii_m: f64,
    /// Clearance beyond which it may have no row (m).
    watch_m: f64,
    /// What a strike costs.
    rate: f64,
    /// By class of grade.
    by_grade: [ByGrade; CLASSES],
}

/// What the likelihood of a strike is worked out from.
#[derive(Debug, Clone, Copy, PartialEq)]
struct ByGrade {
    /// With the bore farther above or below than this it costs nothing (m).
    reach_m: f64,
    /// Least allowance for the place itself (m).
    here_m: f64,
    /// Standard deviations for every metre of clearance beyond that: by the least allowance for any place of the row.
    per_m: f64,
}

impl ByGrade {
    /// From the least allowance for the place itself, and for any place of the row; it reaches anywhere.
    fn new(here_m: f64, least_m: f64) -> ByGrade {
        ByGrade {
            reach_m: f64::INFINITY,
            here_m,
            per_m: LIMIT / least_m,
        }
    }
}

/// Classes of grade: up to each of [`GRADES`], and any.
const CLASSES: usize = GRADES.len() + 1;

/// The least distance from level 0 to what lies between two levels.
fn nearest(a: f64, b: f64) -> f64 {
    if a * b < 0.0 {
        0.0
    } else {
        a.abs().min(b.abs())
    }
}

/// Class of a grade.
pub fn class(grade: f64) -> usize {
    GRADES.iter().filter(|g| grade > **g + 1e-9).count()
}

impl Strike {
    /// Least cost with the bore so far above or below (m).
    fn at(&self, dz_m: f64, class: usize) -> f64 {
        let of = &self.by_grade[class];
        if dz_m > of.reach_m {
            return 0.0;
        }
        let apart_m = (self.aside_m * self.aside_m + dz_m * dz_m).sqrt();
        let clearance_m = apart_m - self.radii_m;
        if clearance_m > self.watch_m {
            return 0.0;
        }
        let beyond_m = (clearance_m - of.here_m).max(0.0);
        self.rate * contact_at_least(LIMIT + beyond_m * of.per_m)
    }

    /// Least cost with an invert there between two levels, on a line of this class of grade.
    pub fn between(&self, z: [f64; 2], class: usize) -> f64 {
        let [a, b] = z.map(|z| (z - self.invert_m).abs());
        self.at(a.max(b), class)
    }

    /// How much it differs between two levels.
    pub fn spread(&self, z: [f64; 2]) -> f64 {
        let [a, b] = z.map(|z| z - self.invert_m);
        self.at(nearest(a, b), 0) - self.at(a.abs().max(b.abs()), CLASSES - 1)
    }

    /// It costs something at some invert between two levels.
    pub fn matters(&self, z: [f64; 2]) -> bool {
        let [a, b] = z.map(|z| z - self.invert_m);
        let most = self.by_grade.iter().map(|g| g.reach_m).fold(0.0, f64::max);
        nearest(a, b) <= most
    }

    /// With what reaches it is told where it costs nothing, by its allowances.
    fn with_reach(mut self) -> Strike {
        // A hair more, so that nothing is left out that costs something.
        const HAIR_M: f64 = 1e-9;
        for of in &mut self.by_grade {
            let clearance_m = (of.here_m + (NEVER_FROM - LIMIT) / of.per_m).min(self.watch_m);
            let apart_m = (clearance_m + self.radii_m + HAIR_M).max(0.0);
            let level = (apart_m * apart_m - self.aside_m * self.aside_m).max(0.0);
            of.reach_m = level.sqrt() + HAIR_M;
        }
        self
    }

    /// No more than this: what a lawful drive may come to, but for a little.
    fn most(&self, required_m: f64) -> f64 {
        let of = &self.by_grade[0];
        let beyond_m = (self.aside_m - self.radii_m - of.here_m).max(required_m);
        self.rate * normal_cdf(-LIMIT - beyond_m * of.per_m)
    }
}

/// Standard deviations that 95 % limits stand for.
const LIMIT: f64 = 1.96;

/// Φ(-x) is at least this (Birnbaum 1942), and two percent greater at most for x ≥ 1.96. From memory; a test compares the two.
fn birnbaum(x: f64) -> f64 {
    const ROOT_2_PI: f64 = 2.506_628_274_631_000_7;
    (-0.5 * x * x).exp() / ROOT_2_PI * 0.5 * ((4.0 + x * x).sqrt() - x)
}

/// From here on contact is not counted.
const NEVER_FROM: f64 = 6.0;

/// The same by tabled values, for it is asked for by the million; 0 from [`NEVER_FROM`] on.
///
/// It falls with x, so the value at the next place of the table is none too great. In half the digits, so that the table stays at
/// hand; a hair less, so that it is no more by that.
fn contact_at_least(x: f64) -> f64 {
    const PLACES: usize = 8192;
    const BY_ONE: f64 = PLACES as f64 / NEVER_FROM;
    static TABLE: LazyLock<Vec<f32>> = LazyLock::new(|| {
        let at = |i: usize| birnbaum((i + 1) as f64 / BY_ONE) * (1.0 - f64::from(f32::EPSILON));
        (0..PLACES).map(|i| at(i) as f32).collect()
    });
    let at = TABLE.get((x * BY_ONE) as usize);
    at.map_or(0.0, |least| f64::from(*least))
}

/// The services of known depth beside a line between positions of two stations, by part: each at several places.
pub fn strikes(
    cx: &Context,
    grid: &Grid,
    stations: [usize; 2],
    [p, q]: [Coord<f64>; 2],
) -> Vec<Strike> {
    let line = Line::new(p, q);
    let pieces: Vec<(usize, usize)> = grid.strip.pieces(stations).collect();
    let mut out = vec![];
    for of_part in pieces.chunk_by(|a, b| a.0 == b.0) {
        let part = &cx.world.obstacles.services.parts[of_part[0].0];
        // A rule on separation may choose another piece.
        if part.separation.is_none() {
            for (id, k) in of_part {
                add(cx, &line, (*id, *k), of_part, &mut out);
            }
        }
    }
    out
}

fn add(
    cx: &Context,
    line: &Line,
    (id, k): (usize, usize),
    all: &[(usize, usize)],
    out: &mut Vec<Strike>,
) {
    let part = &cx.world.obstacles.services.parts[id];
    let piece = &part.pieces[k];
    let Depth::Known(z) = piece.depth else {
        return;
    };
    let crossed = line
        .may_cross(piece)
        .then(|| crossing(line.p, line.q, piece.a, piece.b))
        .flatten();
    if let Some((t, share)) = crossed {
        let level = z[0] + share * (z[1] - z[0]);
        let slope = steepest(line, part, k, all);
        let place = [t * line.length_m, level, 0.0];
        out.extend(strike(cx, line, (id, k), place, slope));
        return;
    }
    let (a, b) = (line.place(piece.a), line.place(piece.b));
    let shares = between(b.0 - a.0, a.0, [0.0, line.length_m]);
    let Some((from, to)) = shares.map(|s| (s.0.max(0.0), s.1.min(1.0))) else {
        return;
    };
    if from <= to {
        for share in [from, to] {
            let at = |ends: [f64; 2]| ends[0] + share * (ends[1] - ends[0]);
            let place = [at([a.0, b.0]), at(z), at([a.1, b.1]).abs()];
            out.extend(strike(cx, line, (id, k), place, f64::INFINITY));
        }
    }
}

/// Steepest slope of the pieces near a crossed one; +inf where the service bends near the line.
///
/// On one straight, what is said of the crossed piece in `course::band` is true of its neighbours that are no farther from the
/// bore than it: the shortest way to them leans no more.
fn steepest(line: &Line, part: &ServicePart, crossed: usize, all: &[(usize, usize)]) -> f64 {
    let near = all.iter().map(|(_, k)| &part.pieces[*k]).filter(|p| {
        let (a, b) = (line.place(p.a).1, line.place(p.b).1);
        a * b <= 0.0 || a.abs().min(b.abs()) <= NEIGHBOURS_M
    });
    let slopes = near.map(|p| match p.depth {
        Depth::Known(z) if p.straight == part.pieces[crossed].straight => slope(p, z),
        Depth::Known(_) => f64::INFINITY,
        _ => 0.0, // has no row with it
    });
    slopes.fold(0.0, f64::max)
}

/// A piece at a distance along the line, its level there and how far aside it lies; none where a strike costs nothing much.
fn strike(
    cx: &Context,
    line: &Line,
    (id, k): (usize, usize),
    [along_m, level, aside_m]: [f64; 3],
    slope: f64,
) -> Option<Strike> {
    let part = &cx.world.obstacles.services.parts[id];
    let (y, job) = (&cx.yardstick, cx.job());
    let mut by_grade = [ByGrade::new(0.0, 1.0); CLASSES];
    let mut grades = grades(cx);
    let mut grade = 0.0;
    for of_class in &mut by_grade {
        grade = grades.next().unwrap_or(grade);
        let lean = lean([line.p, line.q], &part.pieces[k], slope + grade);
        let here = least_allowance_m(cx, (part, k), lean);
        *of_class = ByGrade::new(here, least_of_part(cx, part, lean).min(here));
    }
    let strike = Strike {
        along_m,
        part: id as u32,
        invert_m: level - cx.centre_above_invert_m(),
        aside_m,
        radii_m: y.bore_radius_m + part.radius_m,
        watch_m: y.watch_distance_m,
        rate: job.costs.strike[&part.kind],
        by_grade,
    }
    .with_reach();
    let required = [Encounter::Crossing, Encounter::Parallel].map(|c| part.required_m(c));
    let much = 1e-4 * bore_cost(job, 0.0);
    (strike.most(required[0].min(required[1])) > much).then_some(strike)
}

/// Least allowance of any piece that leans no more than so far from the vertical.
fn least_of_part(cx: &Context, part: &ServicePart, lean: f64) -> f64 {
    let pieces = if part.by_piece.is_empty() {
        1
    } else {
        part.pieces.len()
    };
    let all = (0..pieces).map(|k| least_allowance_m(cx, (part, k), lean));
    all.fold(f64::INFINITY, f64::min)
}

/// Of what a line passes, what a run along it does from one distance to another: each service where it is nearest.
pub fn passed(of: &[Strike], from_m: f64, to_m: f64) -> Vec<Strike> {
    let mut out: Vec<Strike> = vec![];
    let within = |s: &&Strike| s.along_m >= from_m && s.along_m <= to_m;
    for of_one in of.chunk_by(|a, b| a.part == b.part) {
        let nearest = of_one.iter().filter(within);
        let nearest = nearest.min_by(|a, b| a.aside_m.total_cmp(&b.aside_m));
        out.extend(nearest.map(|s| Strike {
            along_m: s.along_m - from_m,
            ..*s
        }));
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn beyond_its_reach_a_strike_costs_nothing_and_within_it_something() {
        let of = |aside_m: f64, watch_m: f64| Strike {
            along_m: 0.0,
            part: 0,
            invert_m: 8.0,
            aside_m,
            radii_m: 0.2,
            watch_m,
            rate: 1e6,
            by_grade: [(0.3, 0.25), (0.28, 0.25), (0.25, 0.2)].map(|(a, b)| ByGrade::new(a, b)),
        };
        let mut some = 0;
        for (aside_m, watch_m) in [(0.0, 5.0), (0.4, 5.0), (0.4, 0.5), (2.0, 5.0)] {
            let (anywhere, within) = (of(aside_m, watch_m), of(aside_m, watch_m).with_reach());
            for class in 0..CLASSES {
                for mm in 0..3000 {
                    let dz_m = f64::from(mm) / 1000.0;
                    assert_eq!(within.at(dz_m, class), anywhere.at(dz_m, class));
                    let costs = anywhere.at(dz_m, class) > 0.0;
                    some += usize::from(costs);
                    assert!(!costs || within.matters([8.0 + dz_m, 9.0 + dz_m]));
                    assert!(!costs || within.matters([7.0 - dz_m, 8.0 - dz_m]));
                }
            }
            assert!(!within.matters([11.0, 12.0]) && !within.matters([2.0, 5.0]));
        }
        assert!(some > 3000, "{some}");
    }

    #[test]
    fn contact_is_never_likelier_than_it_is() {
        for i in 0..=400 {
            let x = f64::from(i) / 100.0 + 1.96;
            let (least, is) = (contact_at_least(x), normal_cdf(-x));
            assert!(least <= is, "{x}");
            assert!(x > 5.99 || least > 0.97 * is, "{x} {least} {is}");
        }
    }
}
