//! Chainage, stations, and how far a chord strays from the route.

use crate::clearance::{Segment, dot, sub};
use geo::Coord;

/// Stations nearer than this are one (m).
const SAME_STATION_M: f64 = 1e-6;

/// A route in plan. Point 0 is its downstream end, chainage rises upstream.
#[derive(Debug, Clone)]
pub struct Alignment {
    points: Vec<Coord<f64>>,
    chainages: Vec<f64>,
}

/// A place along the route where a pit may stand.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Station {
    /// From the downstream end (m).
    pub chainage_m: f64,
    /// On the route.
    pub point: Coord<f64>,
    /// Square to the route (at a vertex: along the bisector), unit length, to the right looking downstream.
    pub right: Coord<f64>,
    /// Index of the route's last point at or below this chainage, for finding the points between stations.
    pub after_point: usize,
}

impl Alignment {
    /// A route as digitised, from upstream to downstream; repeated points are dropped. None where nothing is left.
    pub fn new(digitised: &[Coord<f64>]) -> Option<Alignment> {
        let mut points: Vec<Coord<f64>> = digitised.iter().rev().copied().collect();
        points.dedup();
        let mut chainages = vec![0.0];
        for w in points.windows(2) {
            let d = w[1] - w[0];
            chainages.push(chainages[chainages.len() - 1] + d.x.hypot(d.y));
        }
        (points.len() > 1).then_some(Alignment { points, chainages })
    }

    /// Length in plan (m).
    pub fn length_m(&self) -> f64 {
        self.chainages[self.chainages.len() - 1]
    }

    /// Points from the downstream end.
    pub fn points(&self) -> &[Coord<f64>] {
        &self.points
    }

    /// The downstream and the upstream end.
    pub fn ends(&self) -> [Coord<f64>; 2] {
        [self.points[0], self.points[self.points.len() - 1]]
    }

    /// Unit vector of segment `i`, pointing up chainage.
    fn direction(&self, i: usize) -> Coord<f64> {
        (self.points[i + 1] - self.points[i]) / (self.chainages[i + 1] - self.chainages[i])
    }

    /// Chainage of the point of the route nearest to `p`, and that point.
    pub fn nearest(&self, p: Coord<f64>) -> (f64, Coord<f64>) {
        let mut best = (f64::INFINITY, 0.0, self.points[0]);
        for (i, w) in self.points.windows(2).enumerate() {
            let length = self.chainages[i + 1] - self.chainages[i];
            let u = self.direction(i);
            let along = ((p - w[0]).x * u.x + (p - w[0]).y * u.y).clamp(0.0, length);
            let q = w[0] + u * along;
            let distance = (p - q).x.hypot((p - q).y);
            if distance < best.0 {
                best = (distance, self.chainages[i] + along, q);
            }
        }
        (best.1, best.2)
    }

    /// The station at a chainage; a vertex nearer than stations are told apart is that vertex.
    pub fn station_at(&self, chainage_m: f64) -> Station {
        let near = |c: &f64| (c - chainage_m).abs() < SAME_STATION_M;
        match self.chainages.iter().position(near) {
            Some(v) => self.station(self.chainages[v], Some(v)),
            None => self.station(chainage_m, None),
        }
    }

    /// All stations, by rising chainage: both ends, every vertex, whole multiples of `step_m`, and `also` (junctions).
    pub fn stations(&self, step_m: f64, also: &[f64]) -> Vec<Station> {
        let mut at: Vec<(f64, Option<usize>)> = self
            .chainages
            .iter()
            .enumerate()
            .map(|(i, c)| (*c, Some(i)))
            .collect();
        let multiples = ((self.length_m() + SAME_STATION_M) / step_m).floor() as usize;
        at.extend((1..=multiples).map(|k| (k as f64 * step_m, None)));
        at.extend(also.iter().map(|c| (*c, None)));
        // A vertex goes before other stations at its place, so that it is the one kept.
        at.sort_by(|x, y| x.0.total_cmp(&y.0));
        let mut kept: Vec<(f64, Option<usize>)> = vec![];
        for s in at {
            match kept.last_mut() {
                Some(last) if s.0 - last.0 < SAME_STATION_M => {
                    if last.1.is_none() && s.1.is_some() {
                        *last = s;
                    }
                }
                _ => kept.push(s),
            }
        }
        kept.into_iter()
            .map(|(c, vertex)| self.station(c, vertex))
            .collect()
    }

    fn station(&self, chainage_m: f64, vertex: Option<usize>) -> Station {
        let segments = self.points.len() - 1;
        let below = self
            .chainages
            .partition_point(|c| *c <= chainage_m)
            .saturating_sub(1);
        let i = vertex.unwrap_or(below.min(segments));
        let (down, up) = match vertex {
            Some(v) => (v.max(1) - 1, v.min(segments - 1)),
            None => (i.min(segments - 1), i.min(segments - 1)),
        };
        let point = match vertex {
            Some(v) => self.points[v],
            None => self.points[down] + self.direction(down) * (chainage_m - self.chainages[down]),
        };
        // Looking downstream is looking down chainage: right of it is left of the direction up chainage.
        let left = |u: Coord<f64>| Coord { x: -u.y, y: u.x };
        let sum = left(self.direction(down)) + left(self.direction(up));
        let length = sum.x.hypot(sum.y);
        let right = if length > 1e-9 {
            sum / length
        } else {
            left(self.direction(down))
        };
        Station {
            chainage_m,
            point,
            right,
            after_point: i,
        }
    }

    /// How far the route between two stations strays from the straight line `p` to `q`, in plan (m).
    ///
    /// Between vertices the distance is convex, so it is greatest at a vertex or at a station.
    pub fn strays_from(&self, from: &Station, to: &Station, p: Coord<f64>, q: Coord<f64>) -> f64 {
        let chord = Segment {
            a: [p.x, p.y, 0.0],
            b: [q.x, q.y, 0.0],
        };
        let off_squared = |c: &Coord<f64>| {
            let at = [c.x, c.y, 0.0];
            let apart = sub(at, chord.nearest_to(at));
            dot(apart, apart)
        };
        let (low, high) = if from.chainage_m <= to.chainage_m {
            (from, to)
        } else {
            (to, from)
        };
        let between = &self.points[(low.after_point + 1).min(self.points.len())
            ..=high.after_point.min(self.points.len() - 1)];
        let all = between.iter().chain([&from.point, &to.point]);
        all.map(off_squared).fold(0.0, f64::max).sqrt()
    }

    /// Signed plan distance of `p` from a station, right looking downstream positive (m).
    pub fn offset_m(station: &Station, p: Coord<f64>) -> f64 {
        let d = p - station.point;
        let side = d.x * station.right.x + d.y * station.right.y;
        d.x.hypot(d.y).copysign(side)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    /// 10 m east, then 5 m north, digitised downstream: the downstream end is (10, 5).
    fn bend() -> Alignment {
        Alignment::new(&[
            coord! {x: 0., y: 0.},
            coord! {x: 10., y: 0.},
            coord! {x: 10., y: 0.},
            coord! {x: 10., y: 5.},
        ])
        .unwrap()
    }

    #[test]
    fn stations_are_ends_vertices_multiples_and_junctions() {
        let s = bend().stations(4.0, &[6.5]);
        let c: Vec<f64> = s.iter().map(|s| s.chainage_m).collect();
        assert_eq!(c, [0.0, 4.0, 5.0, 6.5, 8.0, 12.0, 15.0]);
        assert_eq!(s[0].point, coord! {x: 10., y: 5.});
        assert_eq!(s[2].point, coord! {x: 10., y: 0.});
        assert_eq!(s[5].point, coord! {x: 3., y: 0.});
    }

    #[test]
    fn right_is_right_looking_downstream() {
        let s = bend().stations(4.0, &[]);
        // downstream leg runs north, so right is east; upstream leg runs east, so right is south
        assert!((s[0].right.x - 1.0).abs() < 1e-12);
        assert!((s[4].right.y + 1.0).abs() < 1e-12);
        let d = s[2].right;
        assert!((d.x - 0.5f64.sqrt()).abs() < 1e-12 && (d.y + 0.5f64.sqrt()).abs() < 1e-12);
    }

    #[test]
    fn a_chord_across_the_bend_strays_by_the_height_of_its_triangle() {
        let a = bend();
        let s = a.stations(1.0, &[]);
        let (from, to) = (&s[0], &s[s.len() - 1]);
        let strays = a.strays_from(from, to, from.point, to.point);
        assert!((strays - 50.0 / 125f64.sqrt()).abs() < 1e-9);
        assert_eq!(a.strays_from(&s[0], &s[4], s[0].point, s[4].point), 0.0);
    }

    #[test]
    fn point_to_chainage_and_back() {
        let (c, q) = bend().nearest(coord! {x: 7., y: 1.});
        assert_eq!((c, q), (8.0, coord! {x: 7., y: 0.}));
    }
}
