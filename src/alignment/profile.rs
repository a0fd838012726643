//! The lowest ground line that a straight pipe must stay under.

use crate::clearance::whole_pieces;

/// Where cover is sampled along a drive of `length_m`, as shares of its length: both ends and about every metre between.
pub fn samples(length_m: f64) -> impl Iterator<Item = f64> {
    let n = whole_pieces(length_m);
    (0..=n).map(move |i| i as f64 / n as f64)
}

/// Highest levels allowed along a drive, reduced to those that a straight line can touch (their lower convex hull):
/// a line is under all of them exactly where it is under the hull's corners.
#[derive(Debug, Clone, PartialEq)]
pub struct Profile {
    corners: Vec<(f64, f64)>,
}

impl Profile {
    /// From (distance, level) by strictly rising distance.
    pub fn new(levels: impl Iterator<Item = (f64, f64)>) -> Profile {
        let mut hull: Vec<(f64, f64)> = vec![];
        for p in levels {
            while hull.len() > 1 {
                let (a, b) = (hull[hull.len() - 2], hull[hull.len() - 1]);
                if (b.0 - a.0) * (p.1 - a.1) - (b.1 - a.1) * (p.0 - a.0) > 0.0 {
                    break;
                }
                hull.pop();
            }
            hull.push(p);
        }
        hull.shrink_to_fit(); // they are kept by the hundred thousand
        Profile { corners: hull }
    }

    /// The places that limit a line: (distance, level).
    pub fn corners(&self) -> impl Iterator<Item = (f64, f64)> + '_ {
        self.corners.iter().copied()
    }

    /// Least of level - line, for the line with levels `z0` at distance 0 and `z1` at distance `length`.
    pub fn least_above(&self, z0: f64, z1: f64, length: f64) -> f64 {
        let over = |&(x, level): &(f64, f64)| level - (z0 + (z1 - z0) * (x / length));
        self.corners.iter().map(over).fold(f64::INFINITY, f64::min)
    }

    /// Highest level at the far end (distance `length`) of a line that starts at `z0` and stays under the profile;
    /// +inf where only the start is limited.
    pub fn highest_end(&self, z0: f64, length: f64) -> f64 {
        let end = |&(x, level): &(f64, f64)| z0 + (level - z0) * (length / x);
        self.corners
            .iter()
            .filter(|c| c.0 > 0.0)
            .map(end)
            .fold(f64::INFINITY, f64::min)
    }

    /// Highest level at the near end of a line that ends at `z1` (distance `length`) and stays under the profile; +inf where only
    /// the end is limited.
    pub fn highest_start(&self, z1: f64, length: f64) -> f64 {
        let start = |&(x, level): &(f64, f64)| z1 + (level - z1) * (length / (length - x));
        self.corners
            .iter()
            .filter(|c| c.0 < length)
            .map(start)
            .fold(f64::INFINITY, f64::min)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn samples_are_both_ends_and_every_metre_or_less() {
        assert_eq!(
            samples(2.5).collect::<Vec<_>>(),
            [0.0, 1.0 / 3.0, 2.0 / 3.0, 1.0]
        );
        assert_eq!(samples(2.0).collect::<Vec<_>>(), [0.0, 0.5, 1.0]);
        assert_eq!(samples(0.4).collect::<Vec<_>>(), [0.0, 1.0]);
    }

    #[test]
    fn only_low_ground_limits_a_line() {
        let p = Profile::new(
            [
                (0.0, 10.0),
                (1.0, 12.0),
                (2.0, 9.0),
                (3.0, 11.0),
                (4.0, 10.0),
            ]
            .into_iter(),
        );
        assert_eq!(p.corners, [(0.0, 10.0), (2.0, 9.0), (4.0, 10.0)]);
        assert_eq!(p.least_above(8.0, 8.0, 4.0), 1.0);
        assert_eq!(p.highest_end(8.0, 4.0), 10.0);
    }

    #[test]
    fn the_highest_start_touches_the_profile() {
        let levels = [(0.0, 10.0), (3.0, 9.0), (8.0, 9.4), (10.0, 8.0)];
        let p = Profile::new(levels.into_iter());
        for z1 in [6.0, 7.5, 8.0] {
            let z0 = p.highest_start(z1, 10.0);
            assert!(p.least_above(z0 - 1e-9, z1, 10.0) >= 0.0, "{z1}");
            assert!(p.least_above(z0 + 1e-6, z1, 10.0) < 0.0, "{z1}");
        }
        let end = Profile::new([(10.0, 8.0)].into_iter());
        assert_eq!(end.highest_start(7.0, 10.0), f64::INFINITY);
    }
}
