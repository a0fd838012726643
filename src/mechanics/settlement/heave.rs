//! A pilot displaces the ground: heave, and the cover it needs.

use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const HEAVE: Cited = Cited::from_memory(
    Source::Peck1969,
    "the trough's shape turned up, all displaced soil coming to the surface",
);
const COVER: Cited = Cited::unsourced(
    "rule of thumb of moling, 10 mm for each mm of diameter",
    Tag::FromMemory,
);

/// Greatest heave over a pilot (mm), undrained, nothing compressed: the most there can be. `h = π·d²/4/(√(2π)·K·z)`.
///
/// # Valid for
/// K of 0.2 to 0.7, depths to 34 m.
///
/// # Errors
/// Values outside that, no diameter.
///
/// # Source
/// [Peck 1969](Source::Peck1969), the curve turned up; from memory.
pub fn pilot_heave(pilot_mm: f64, depth_m: f64, k: f64) -> Result<Working, OutOfRange> {
    let d = asked("pilot diameter", pilot_mm / 1000.0, "m").positive(HEAVE)?;
    let z = asked("depth to the axis", depth_m, "m").within(1e-3, 34.0, HEAVE)?;
    let k = asked("width of the heave by depth", k, "").within(0.2, 0.7, HEAVE)?;
    let mut w = Working::new("Heave over the pilot", HEAVE);
    w.given("d", "pilot diameter", d, "m");
    w.given("K", "width of the heave by depth", k, "");
    w.given("z", "depth to the axis", z, "m");
    let mm = 1000.0 * PI * d * d / 4.0 / ((2.0 * PI).sqrt() * k * z);
    w.line(
        ("h", "greatest heave"),
        "1000·π·d²/4/(√(2·π)·K·z)",
        mm,
        "mm",
    );
    Ok(w)
}

/// Least cover over something that displaces the ground (m): ten times its diameter.
///
/// # Errors
/// No diameter.
pub fn least_cover(pilot_mm: f64) -> Result<Working, OutOfRange> {
    let d = asked("pilot diameter", pilot_mm / 1000.0, "m").positive(COVER)?;
    let mut w = Working::new("Least cover over the pilot", COVER);
    w.given("d", "pilot diameter", d, "m");
    w.line(("H", "least cover"), "10·d", 10.0 * d, "m");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: d 0.100, z 1.0, K 0.5.
    #[test]
    fn a_pilot_a_metre_down() {
        let w = pilot_heave(100.0, 1.0, 0.5).unwrap();
        assert!((w.value() - 6.27).abs() < 0.005);
        calculator::agrees(&w);
        let cover = least_cover(100.0).unwrap();
        assert!((cover.value() - 1.0).abs() < 1e-12);
        calculator::agrees(&cover);
        assert!(pilot_heave(100.0, 0.0, 0.5).is_err());
        assert!(pilot_heave(100.0, 1.0, 0.8).is_err());
    }
}
