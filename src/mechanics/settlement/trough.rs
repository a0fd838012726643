//! The settlement trough above a bore: a bell curve.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};
use std::f64::consts::PI;

const PECK: Cited = Cited::read(Source::Peck1969, "as reproduced, equations 1 and 2");
const FIT: Cited = Cited::from_memory(Source::OReillyNew1982, "linear fits of the trough's width");

/// Kinds of ground that troughs are told apart by.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ground {
    /// Stiff clay.
    StiffClay,
    /// Soft to firm clay.
    SoftToFirmClay,
    /// Sand and gravel.
    Granular,
}

/// Width of the trough by depth, `i/z`, by ground; from memory, after O'Reilly and New 1982.
pub const TROUGH_K: [(Ground, Range); 3] = [
    (
        Ground::StiffClay,
        Range {
            low: 0.4,
            expected: 0.4,
            high: 0.5,
        },
    ),
    (
        Ground::SoftToFirmClay,
        Range {
            low: 0.4,
            expected: 0.5,
            high: 0.7,
        },
    ),
    (
        Ground::Granular,
        Range {
            low: 0.25,
            expected: 0.30,
            high: 0.35,
        },
    ),
];

impl Ground {
    /// Width of the trough by depth.
    pub fn k(self) -> Range {
        let row = TROUGH_K.iter().find(|(ground, _)| *ground == self);
        row.expect("every ground has its row").1
    }
}

/// Grounds with a straight-line fit of the trough's width.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum LinearFit {
    /// Clay, 3 to 34 m to the axis.
    Clay,
    /// Sand, 6 to 10 m to the axis.
    Sand,
}

/// What a trough follows from.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Trough {
    /// Ground lost (m3 for each m of bore).
    pub lost_m3_m: f64,
    /// Depth from the surface (or the service looked at) to the bore's axis (m).
    pub depth_m: f64,
    /// Width by depth.
    pub k: f64,
}

/// Greatest settlement (mm), over the axis: `s = V/(√(2π)·i)`, `i = K·z`.
///
/// # Valid for
/// K of 0.2 to 0.7, depths to 34 m. Fitted to tunnels; for small bores a comparison.
///
/// # Errors
/// K or depth outside that, a loss below 0.
///
/// # Source
/// [Peck 1969](Source::Peck1969), [O'Reilly and New 1982](Source::OReillyNew1982), as reproduced.
pub fn greatest_settlement(at: Trough) -> Result<Working, OutOfRange> {
    begin("Greatest settlement over the bore", at)
}

/// Steepest slope of the trough (m/m), at a distance i from the axis: `s/i·e^(-1/2)`.
///
/// # Errors
/// As [`greatest_settlement`].
///
/// # Source
/// [Peck 1969](Source::Peck1969); follows from the curve.
pub fn steepest_slope(at: Trough) -> Result<Working, OutOfRange> {
    let mut w = begin("Steepest slope of the trough", at)?;
    let (i, s) = (value(&w, "i"), value(&w, "s_max"));
    let slope = s / 1000.0 / i * (-0.5f64).exp();
    w.line(
        ("slope", "steepest slope"),
        "s_max/1000/i·exp(-0.5)",
        slope,
        "m/m",
    );
    Ok(w)
}

/// Settlement (mm) at a distance `beside_m` from the axis: `s·e^(-y²/(2·i²))`.
///
/// # Errors
/// As [`greatest_settlement`].
///
/// # Source
/// [Peck 1969](Source::Peck1969), as reproduced, equation 1.
pub fn settlement_at(at: Trough, beside_m: f64) -> Result<Working, OutOfRange> {
    let mut w = begin("Settlement beside the bore", at)?;
    let y = asked("distance from the axis", beside_m, "m");
    let y = y.within(f64::MIN, f64::MAX, PECK)?;
    w.given("y", "distance from the axis", y, "m");
    let (i, s) = (value(&w, "i"), value(&w, "s_max"));
    let there = s * (-y * y / (2.0 * i * i)).exp();
    w.line(
        ("s_y", "settlement there"),
        "s_max·exp(-(y²)/(2·i²))",
        there,
        "mm",
    );
    Ok(w)
}

/// Settlement (`s_y`, mm) of the nearest point of something, and the steepest slope (m/m) of the trough anywhere from there
/// outward: `|y|/i²·s·e^(-y²/(2·i²))` at the farther of the point itself and the steepest place.
///
/// # Errors
/// As [`greatest_settlement`].
///
/// # Source
/// [Peck 1969](Source::Peck1969), as reproduced, equation 1; the slope follows from the curve.
pub fn slope_from(at: Trough, beside_m: f64) -> Result<Working, OutOfRange> {
    let mut w = settlement_at(at, beside_m.abs())?;
    w.title = "Settlement and slope from the nearest point outward".to_string();
    let (i, s, y) = (value(&w, "i"), value(&w, "s_max"), value(&w, "y"));
    let x = w.line(
        ("x", "where it is steepest from there outward"),
        "max(y, i)",
        y.max(i),
        "m",
    );
    let slope = s / 1000.0 * x / (i * i) * (-x * x / (2.0 * i * i)).exp();
    w.line(
        ("slope", "steepest slope"),
        "s_max/1000·x/i²·exp(-(x²)/(2·i²))",
        slope,
        "m/m",
    );
    Ok(w)
}

/// Distance of the trough's steepest place from the axis (m) by a straight-line fit.
///
/// # Valid for
/// Clay 3 to 34 m, sand 6 to 10 m to the axis. Not for bores at 1 to 3 m: those take `i = K·z`.
///
/// # Errors
/// A depth outside that.
///
/// # Source
/// [O'Reilly and New 1982](Source::OReillyNew1982); from memory.
pub fn linear_width(depth_m: f64, fit: LinearFit) -> Result<Working, OutOfRange> {
    let (low, high, slope, at_zero, formula) = match fit {
        LinearFit::Clay => (3.0, 34.0, 0.43, 1.1, "0.43·z + 1.1"),
        LinearFit::Sand => (6.0, 10.0, 0.28, -0.1, "0.28·z - 0.1"),
    };
    let z = asked("depth to the axis", depth_m, "m").within(low, high, FIT)?;
    let mut w = Working::new("Width of the trough, straight-line fit", FIT);
    w.given("z", "depth to the axis", z, "m");
    let width = slope * z + at_zero;
    w.line(("i", "axis to the steepest place"), formula, width, "m");
    Ok(w)
}

fn begin(title: &str, at: Trough) -> Result<Working, OutOfRange> {
    let lost = asked("ground lost", at.lost_m3_m, "m3/m").not_negative(PECK)?;
    let k = asked("width of the trough by depth", at.k, "").within(0.2, 0.7, PECK)?;
    let z = asked("depth to the axis", at.depth_m, "m").within(1e-3, 34.0, PECK)?;
    let mut w = Working::new(title, PECK);
    w.given("V", "ground lost", lost, "m3/m");
    w.given("K", "width of the trough by depth", k, "");
    w.given("z", "depth to the axis", z, "m");
    let i = w.line(("i", "axis to the steepest place"), "K·z", k * z, "m");
    let mm = 1000.0 * lost / ((2.0 * PI).sqrt() * i);
    w.line(
        ("s_max", "greatest settlement"),
        "1000·V/(√(2·π)·i)",
        mm,
        "mm",
    );
    Ok(w)
}

fn value(w: &Working, symbol: &str) -> f64 {
    w.term(symbol).expect("worked out above").value
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: cut 0.324, pipe 0.298, z 2.0, K 0.35.
    const SMALL: Trough = Trough {
        lost_m3_m: 0.012_701,
        depth_m: 2.0,
        k: 0.35,
    };

    #[test]
    fn a_small_bore_settles_little_but_steeply() {
        let s = greatest_settlement(SMALL).unwrap();
        assert!((s.value() - 7.24).abs() < 0.005);
        let beside = settlement_at(SMALL, 1.0).unwrap();
        assert!((beside.value() - 2.61).abs() < 0.005);
        let slope = steepest_slope(SMALL).unwrap();
        assert_eq!((1.0 / slope.value()).round(), 159.0);
        for w in [s, beside, slope] {
            calculator::agrees(&w);
        }
    }

    #[test]
    fn a_thing_over_the_axis_bears_the_steepest_slope_and_one_beyond_bears_less() {
        let steepest = steepest_slope(SMALL).unwrap().value();
        let slope = |y| slope_from(SMALL, y).unwrap();
        assert!((slope(0.0).value() - steepest).abs() < 1e-12);
        assert!((slope(0.7).value() - steepest).abs() < 1e-12);
        // The curve's own difference quotient, 1 m beside.
        let s = |y| settlement_at(SMALL, y).unwrap().value() / 1000.0;
        let quotient = (s(0.9999) - s(1.0001)) / 0.0002;
        assert!((slope(1.0).value() - quotient).abs() < 1e-8);
        assert_eq!(slope(-1.0).value(), slope(1.0).value());
        calculator::agrees(&slope(1.0));
    }

    #[test]
    fn fits_are_refused_outside_their_depths() {
        for (fit, inside, outside) in [
            (LinearFit::Clay, [3.0, 34.0], [2.99, 34.1]),
            (LinearFit::Sand, [6.0, 10.0], [5.9, 10.1]),
        ] {
            assert!(inside.iter().all(|z| linear_width(*z, fit).is_ok()));
            assert!(outside.iter().all(|z| linear_width(*z, fit).is_err()));
        }
        calculator::agrees(&linear_width(8.0, LinearFit::Sand).unwrap());
        assert!(greatest_settlement(Trough { k: 0.1, ..SMALL }).is_err());
    }
}
