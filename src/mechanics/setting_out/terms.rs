//! The terms of the error of setting out, one by one.

use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const ANGLE: Cited = Cited::unsourced("arc by angle", Tag::Derived);
const AIR: Cited = Cited::unsourced(
    "air's index of refraction falls by about 1e-6 for each °C",
    Tag::FromMemory,
);
const MARKS: Cited = Cited::unsourced("a line through two marks, drawn on", Tag::Derived);
const LEVELLING: Cited = Cited::read(
    Source::SaLevelling,
    "misclosure of levelling, third and fourth order",
);

/// Misclosure allowed in levelling (mm for the root of each km): third order, fourth order.
///
/// # Source
/// [South Australian convention](Source::SaLevelling).
pub const LEVELLING_MM_SQRT_KM: [f64; 2] = [12.0, 18.0];

/// Seconds of arc in a radian, as surveyors write it.
const SECONDS: f64 = 206_265.0;

/// Error of pointing (mm) at a distance: `e = L·ε/206265`.
///
/// # Units
/// `seconds` of arc, `length_m` in m.
///
/// # Errors
/// A length that is not above 0, seconds outside 0 to 300.
pub fn pointing_error(length_m: f64, seconds: f64) -> Result<Working, OutOfRange> {
    let length = asked("length", length_m, "m").positive(ANGLE)?;
    let angle = asked("error of pointing", seconds, "\"").within(0.0, 300.0, ANGLE)?;
    let mut w = Working::new("Error of pointing", ANGLE);
    w.given("L", "length", length, "m");
    w.given("ε", "error of pointing", angle, "\"");
    let mm = 1000.0 * length * angle / SECONDS;
    w.line(("e_a", "error of pointing"), "1000·L·ε/206265", mm, "mm");
    Ok(w)
}

/// Error by refraction (mm) where the air's temperature changes square to the sight: `e = 1e-6·G·L²/2`.
///
/// # Units
/// `gradient` in °C a metre, square to the line of sight.
///
/// # Errors
/// A gradient outside 0 to 20 °C/m, no length.
pub fn refraction_error(length_m: f64, gradient: f64) -> Result<Working, OutOfRange> {
    let length = asked("length", length_m, "m").positive(AIR)?;
    let gradient = asked("temperature gradient", gradient, "°C/m").within(0.0, 20.0, AIR)?;
    let mut w = Working::new("Refraction along the sight", AIR);
    w.given("L", "length", length, "m");
    w.given(
        "G",
        "temperature gradient square to the sight",
        gradient,
        "°C/m",
    );
    let mm = 1000.0 * 1e-6 * gradient * length * length / 2.0;
    w.line(("e_r", "refraction"), "1000·0.000001·G·L²/2", mm, "mm");
    Ok(w)
}

/// Error of a line set from two marks in the pit, drawn on to the other end (mm): `√((e(1 + L/b))² + (e·L/b)²)`.
///
/// Marks in a short pit are no base for a long drive: a line from the surface with its back sight as long as the drive is.
///
/// # Units
/// `marks_mm` each mark's error, `base_m` their distance, `length_m` from the nearer mark to the reception pit.
///
/// # Errors
/// Lengths not above 0, an error below 0.
pub fn base_line_error(length_m: f64, base_m: f64, marks_mm: f64) -> Result<Working, OutOfRange> {
    let length = asked("length", length_m, "m").positive(MARKS)?;
    let base = asked("base line", base_m, "m").positive(MARKS)?;
    let each = asked("error of a mark", marks_mm, "mm").not_negative(MARKS)?;
    let mut w = Working::new("Line drawn on from two marks", MARKS);
    w.given("L", "length", length, "m");
    w.given("b", "base line", base, "m");
    w.given("e", "error of a mark", each, "mm");
    let (near, far) = (each * (1.0 + length / base), each * length / base);
    w.line(
        ("e_b", "error by the base line"),
        "√((e·(1 + L/b))^2 + (e·L/b)^2)",
        near.hypot(far),
        "mm",
    );
    Ok(w)
}

/// Misclosure allowed in levelling (mm): `c·√K`.
///
/// # Units
/// `coefficient` in mm for the root of a km (12 third order, 18 fourth), `length_km` levelled.
///
/// # Errors
/// A coefficient outside 0 to 50, no length.
///
/// # Source
/// [South Australian convention](Source::SaLevelling).
pub fn levelling_misclosure(length_km: f64, coefficient: f64) -> Result<Working, OutOfRange> {
    let length = asked("length levelled", length_km, "km").positive(LEVELLING)?;
    let c = asked("coefficient", coefficient, "mm/√km").within(0.0, 50.0, LEVELLING)?;
    let mut w = Working::new("Misclosure of levelling", LEVELLING);
    w.given("k", "length levelled", length, "km");
    w.given("c", "coefficient", c, "mm/√km");
    w.line(("m", "misclosure"), "c·√k", c * length.sqrt(), "mm");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand.
    #[test]
    fn each_term() {
        let worked = [
            (pointing_error(60.0, 5.0), 1.45, 0.005),
            (pointing_error(60.0, 20.0), 5.82, 0.005),
            (refraction_error(60.0, 1.0), 1.8, 0.05),
            (refraction_error(60.0, 5.0), 9.0, 0.05),
            (base_line_error(30.0, 3.0, 1.0), 14.9, 0.05),
            (base_line_error(30.0, 6.0, 1.0), 7.8, 0.05),
            (levelling_misclosure(0.25, 12.0), 6.0, 0.05),
            (levelling_misclosure(0.25, 18.0), 9.0, 0.05),
        ];
        for (w, mm, tolerance) in worked {
            let w = w.unwrap();
            assert!(
                (w.value() - mm).abs() < tolerance,
                "{}: {}",
                w.title,
                w.value()
            );
            calculator::agrees(&w);
        }
    }

    #[test]
    fn what_cannot_be_is_refused() {
        assert!(pointing_error(60.0, 400.0).is_err());
        assert!(refraction_error(60.0, -1.0).is_err());
        assert!(base_line_error(30.0, 0.0, 1.0).is_err());
        assert!(levelling_misclosure(0.0, 12.0).is_err());
    }
}
