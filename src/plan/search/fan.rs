//! Lines in plan of whose directions only the range is known, and how much room launching along two of them asks for.

use crate::{job::Rig, pits::IN_LINE_DEG};
use geo::Coord;
use std::f64::consts::{FRAC_PI_2, PI};

/// The directions in which a branch's last drive may be launched from its junction.
#[derive(Debug, Clone, Default)]
pub struct Away {
    /// They, where they are few; else empty.
    pub each: Vec<Coord<f64>>,
    /// All of them; none where there is none.
    pub fan: Option<Fan>,
}

impl Away {
    /// Of these, each another.
    pub fn new(all: Vec<Coord<f64>>) -> Away {
        const MANY: usize = 6;
        Away {
            fan: Fan::of(all.iter().copied()),
            each: if all.len() > MANY { vec![] } else { all },
        }
    }
}

/// A range of directions of lines, whatever their sense.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fan {
    /// Where it begins (radians, 0 up to π).
    from: f64,
    /// How wide it is (radians, less than π).
    width: f64,
}

impl Fan {
    /// The narrowest that holds all directions; none where there is none.
    pub fn of(directions: impl Iterator<Item = Coord<f64>>) -> Option<Fan> {
        let mut angles: Vec<f64> = directions.map(|u| u.y.atan2(u.x).rem_euclid(PI)).collect();
        angles.sort_by(f64::total_cmp);
        let (first, last) = (*angles.first()?, *angles.last()?);
        // It is all but the widest gap.
        let round = (first + PI - last, first);
        let gaps = angles.windows(2).map(|w| (w[1] - w[0], w[1]));
        let (gap, from) = gaps.fold(round, |a, b| if b.0 > a.0 { b } else { a });
        Some(Fan {
            from,
            width: PI - gap,
        })
    }

    /// Least and greatest acute angle between a line of this and one of the other (radians).
    pub fn angles(&self, other: &Fan) -> [f64; 2] {
        // A hair wider, for rounding.
        let from = other.from - self.from - self.width - 1e-9;
        let to = from + self.width + other.width + 2e-9;
        let acute = |x: f64| (x - (x / PI).round() * PI).abs();
        let holds = |x: f64| ((from - x) / PI).ceil() * PI + x <= to;
        let ends = [acute(from), acute(to)];
        let least = if holds(0.0) {
            0.0
        } else {
            ends[0].min(ends[1])
        };
        let greatest = match holds(FRAC_PI_2) {
            true => FRAC_PI_2,
            false => ends[0].max(ends[1]),
        };
        [least, greatest]
    }
}

/// Length and width that no pit undercuts from which a drive of each of these is launched, the first along its axis (m).
pub fn least_room_m(rig: &Rig, launched: &[Fan]) -> (f64, f64) {
    let own = (rig.launch_length_m, rig.launch_width_m);
    let Some((axis, others)) = launched.split_first() else {
        return own;
    };
    let rooms = others
        .iter()
        .map(|fan| least_for_two_m(rig, axis.angles(fan)));
    rooms.fold(own, |a, b| (a.0.max(b.0), a.1.max(b.1)))
}

/// The same for two drives at an acute angle between two (radians): the smallest rectangle that holds both launch rectangles.
///
/// What a turned rectangle asks for, l·cos θ + w·sin θ, is concave in θ, so it is least at one end of a range.
fn least_for_two_m(rig: &Rig, [from, to]: [f64; 2]) -> (f64, f64) {
    let (length, width) = (rig.launch_length_m, rig.launch_width_m);
    if from.to_degrees() <= IN_LINE_DEG + 1e-6 {
        return (length, width);
    }
    let least =
        |room: fn(f64, f64, f64) -> f64| room(length, width, from).min(room(length, width, to));
    let along = least(|l, w, turn| l * turn.cos() + w * turn.sin());
    let across = least(|l, w, turn| l * turn.sin() + w * turn.cos());
    (length.max(along - 1e-9), width.max(across - 1e-9))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        pits::{Meets, footprint},
        plan::bare_site,
    };
    use geo::coord;

    fn direction(deg: f64) -> Coord<f64> {
        let (y, x) = deg.to_radians().sin_cos();
        coord! {x: x, y: y}
    }

    fn fan(degs: &[f64]) -> Fan {
        Fan::of(degs.iter().map(|d| direction(*d))).expect("it has directions")
    }

    #[test]
    fn angles_between_two_fans() {
        let between = |a: &[f64], b: &[f64]| fan(a).angles(&fan(b)).map(f64::to_degrees);
        let near = |a: [f64; 2], b: [f64; 2]| {
            assert!(
                (a[0] - b[0]).abs() < 1e-6 && (a[1] - b[1]).abs() < 1e-6,
                "{a:?} {b:?}"
            );
        };
        near(between(&[10.0], &[75.0]), [65.0, 65.0]);
        near(between(&[10.0, 190.0], &[75.0, -105.0]), [65.0, 65.0]);
        near(between(&[170.0, 185.0], &[60.0, 80.0]), [55.0, 90.0]);
        near(between(&[0.0, 20.0], &[15.0, 40.0]), [0.0, 40.0]);
        near(between(&[-5.0, 5.0], &[80.0, 120.0]), [55.0, 90.0]);
        near(between(&[100.0], &[95.0, 275.0, 279.5]), [0.5, 5.0]);
        assert_eq!(Fan::of(std::iter::empty()), None);
    }

    #[test]
    fn no_pit_for_two_drives_of_the_fans_is_smaller() {
        let rig = &bare_site::job().rig;
        let mut larger = 0;
        for (a, b) in [
            ([0.0, 12.0], [20.0, 50.0]),
            ([-10.0, 5.0], [60.0, 119.0]),
            ([40.0, 41.0], [44.0, 130.0]),
        ] {
            let (length_m, width_m) = least_room_m(rig, &[fan(&a), fan(&b)]);
            larger += u32::from(width_m > rig.launch_width_m);
            for i in 0..=20 {
                for j in 0..=20 {
                    let at = |[from, to]: [f64; 2], k: i32| {
                        direction(from + (to - from) * f64::from(k) / 20.0)
                    };
                    let meets = [at(a, i), at(b, j)].map(|direction| Meets {
                        direction,
                        launched: true,
                    });
                    let pit = footprint(coord! {x: 0.0, y: 0.0}, rig, &meets).expect("drives meet");
                    assert!(
                        pit.length_m >= length_m && pit.width_m >= width_m,
                        "{a:?} {b:?} {i} {j}"
                    );
                }
            }
        }
        assert_eq!(larger, 3);
    }
}
