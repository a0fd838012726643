//! The ground plan of a pit.

use crate::{clearance::Corners, job::Rig};
use geo::Coord;

/// Drives launched from one pit are in line if their lines differ by no more than this (degrees).
pub const IN_LINE_DEG: f64 = 1.0;

/// A drive that meets a pit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Meets {
    /// Unit vector from the pit along the drive.
    pub direction: Coord<f64>,
    /// The pit launches it (else receives it).
    pub launched: bool,
}

/// The rectangle of a pit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Footprint {
    /// Along the axis (m).
    pub length_m: f64,
    /// Square to the axis (m).
    pub width_m: f64,
    /// Unit vector from the pit along its axis drive.
    pub axis: Coord<f64>,
    /// Corners, counter-clockwise.
    pub corners: Corners,
}

impl Footprint {
    /// A square round a centre, with one side along an axis: no real pit, but the part of one that is certain.
    pub fn square(centre: Coord<f64>, half_m: f64, axis: Coord<f64>) -> Footprint {
        rectangle(centre, axis, 2.0 * half_m, 2.0 * half_m)
    }

    /// Middle of the rectangle.
    pub fn centre(&self) -> Coord<f64> {
        (self.corners[0] + self.corners[2]) / 2.0
    }

    /// Area (m2).
    pub fn area_m2(&self) -> f64 {
        self.length_m * self.width_m
    }
}

/// Footprint of a pit for the drives that meet it, in order of precedence: its route's downstream drive,
/// its route's upstream drive, then the branches'. None where no drive meets it.
pub fn footprint(centre: Coord<f64>, rig: &Rig, drives: &[Meets]) -> Option<Footprint> {
    let launched = || drives.iter().filter(|d| d.launched).map(|d| d.direction);
    let Some(axis) = launched().next() else {
        let axis = drives.first()?.direction;
        return Some(rectangle(
            centre,
            axis,
            rig.reception_length_m,
            rig.reception_width_m,
        ));
    };
    let (mut length, mut width) = (rig.launch_length_m, rig.launch_width_m);
    // Sine and cosine of the angle between each launched drive's line and the axis.
    let turns = launched().map(|u| {
        (
            (axis.x * u.y - axis.y * u.x).abs(),
            (axis.x * u.x + axis.y * u.y).abs(),
        )
    });
    let turns: Vec<(f64, f64)> = turns.collect();
    if !launched().all(|u| in_line(axis, u)) {
        for (sin, cos) in turns {
            length = length.max(rig.launch_length_m * cos + rig.launch_width_m * sin);
            width = width.max(rig.launch_length_m * sin + rig.launch_width_m * cos);
        }
    }
    Some(rectangle(centre, axis, length, width))
}

/// The lines of two drives, of whatever sense, differ by so little that one launch rectangle serves both.
pub fn in_line(axis: Coord<f64>, u: Coord<f64>) -> bool {
    let sin = (axis.x * u.y - axis.y * u.x).abs();
    let cos = (axis.x * u.x + axis.y * u.y).abs();
    sin.atan2(cos).to_degrees() <= IN_LINE_DEG + 1e-9
}

fn rectangle(centre: Coord<f64>, axis: Coord<f64>, length_m: f64, width_m: f64) -> Footprint {
    let (u, v) = (
        axis * (length_m / 2.0),
        Coord {
            x: -axis.y,
            y: axis.x,
        } * (width_m / 2.0),
    );
    let corners = [
        centre - u - v,
        centre + u - v,
        centre + u + v,
        centre - u + v,
    ];
    Footprint {
        length_m,
        width_m,
        axis,
        corners,
    }
}

/// Grid bearing of a direction (degrees from grid north, clockwise, 0 ≤ bearing < 360).
pub fn bearing_deg(u: Coord<f64>) -> f64 {
    let b = u.x.atan2(u.y).to_degrees();
    let b = if b < 0.0 { b + 360.0 } else { b };
    if b >= 360.0 { 0.0 } else { b + 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;
    use geo::coord;

    fn rig() -> Rig {
        Rig {
            reach_m: 60.0,
            thrust_kn: None,
            line_accuracy_mm: 20.0,
            accuracy_at_m: 50.0,
            setting_out_mm: 10.0,
            dn_max_mm: 250,
            bore_mm: None,
            overcut_mm: 20.0,
            grade_min: 0.005,
            grade_max: 0.2,
            launch_length_m: 3.0,
            launch_width_m: 2.0,
            reception_length_m: 2.0,
            reception_width_m: 1.5,
            axis_height_m: 0.4,
            access_width_m: 0.9,
            launch_from: crate::job::LaunchFrom::Either,
            setup_days: 0.5,
            metres_per_day: 15.0,
            pilot_mm: 100.0,
            lubrication: false,
            casing_segment_m: 1.0,
            pilot_segment_m: 1.0,
        }
    }

    fn meets(deg: f64, launched: bool) -> Meets {
        let (sin, cos) = deg.to_radians().sin_cos();
        Meets {
            direction: coord! {x: cos, y: sin},
            launched,
        }
    }

    #[test]
    fn a_pit_that_only_receives_has_reception_size_along_its_first_drive() {
        let f = footprint(
            coord! {x: 0., y: 0.},
            &rig(),
            &[meets(90., false), meets(0., false)],
        )
        .unwrap();
        assert_eq!((f.length_m, f.width_m), (2.0, 1.5));
        assert!(f.axis.x.abs() < 1e-12);
    }

    #[test]
    fn the_axis_is_the_first_drive_that_is_launched() {
        let f = footprint(
            coord! {x: 0., y: 0.},
            &rig(),
            &[meets(90., false), meets(0., true)],
        )
        .unwrap();
        assert_eq!((f.length_m, f.width_m, f.axis.y), (3.0, 2.0, 0.0));
    }

    #[test]
    fn drives_launched_out_of_line_need_room_for_each() {
        let straight = footprint(
            coord! {x: 0., y: 0.},
            &rig(),
            &[meets(0., true), meets(180.9, true)],
        )
        .unwrap();
        assert_eq!((straight.length_m, straight.width_m), (3.0, 2.0));
        let turned = footprint(
            coord! {x: 0., y: 0.},
            &rig(),
            &[meets(0., true), meets(90., true)],
        )
        .unwrap();
        assert!((turned.length_m - 3.0).abs() < 1e-12 && (turned.width_m - 3.0).abs() < 1e-12);
    }

    #[test]
    fn bearings_run_clockwise_from_north() {
        assert_eq!(bearing_deg(coord! {x: 0., y: 1.}), 0.0);
        assert_eq!(bearing_deg(coord! {x: 1., y: 0.}), 90.0);
        assert_eq!(bearing_deg(coord! {x: -1., y: 0.}), 270.0);
    }
}
