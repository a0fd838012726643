//! Error of the rig along a drive.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Range, Working, asked},
};

const CITED: Cited = Cited::unsourced(
    "set-up and a share of the length, independent; the share is claimed by contractors",
    Tag::Secondary,
);

/// Error of a steered pilot by distance: 0.03 to 0.05 % with good control (from memory), 0.1 % as contractors claim.
pub const RIG_SHARE: Range = Range {
    low: 0.0003,
    expected: 0.0005,
    high: 0.001,
};

/// Error of the bore (mm) at a distance from the launch pit: `U = √(a² + (b·x)²)`.
///
/// # Errors
/// A share outside 0 to 0.01, a set-up error or distance below 0.
pub fn rig_error(set_up_mm: f64, share: f64, distance_m: f64) -> Result<Working, OutOfRange> {
    let a = asked("error of set-up", set_up_mm, "mm").not_negative(CITED)?;
    let b = asked("error by distance", share, "m/m").within(0.0, 0.01, CITED)?;
    let x = asked("distance from the launch pit", distance_m, "m").not_negative(CITED)?;
    let mut w = Working::new("Error of the bore along the drive", CITED);
    w.given("a", "error of set-up", a, "mm");
    w.given("b", "error by distance", b, "m/m");
    w.given("x", "distance from the launch pit", x, "m");
    let mm = a.hypot(1000.0 * b * x);
    w.line(("U", "error"), "√(a² + (1000·b·x)^2)", mm, "mm");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 10 mm, 0.1 %, 30 m.
    #[test]
    fn errors_add_as_squares() {
        let w = rig_error(10.0, RIG_SHARE.high, 30.0).unwrap();
        assert!((w.value() - 31.6).abs() < 0.05);
        calculator::agrees(&w);
        assert!(rig_error(10.0, 0.02, 30.0).is_err());
    }
}
