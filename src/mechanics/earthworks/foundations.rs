//! How far a pit keeps from a foundation that it goes below.

use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Range, Working, asked},
};

/// Spread of a foundation's load from the horizontal, by soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Spread {
    /// Soil.
    pub soil: &'static str,
    /// From the horizontal (degrees).
    pub deg: Range,
    /// Where it is from.
    pub cited: Cited,
}

const MEMORY: Cited = Cited::unsourced("spread of load by soil", Tag::FromMemory);

/// Spread by soil: flatter keeps farther away.
pub const SPREAD_DEG: [Spread; 4] = [
    Spread {
        soil: "clay or unknown",
        deg: Range {
            low: 45.0,
            expected: 45.0,
            high: 45.0,
        },
        cited: Cited::restated(Source::WatercareNearSewers, "45° line from a sewer"),
    },
    Spread {
        soil: "loose sand",
        deg: Range {
            low: 30.0,
            expected: 30.0,
            high: 35.0,
        },
        cited: MEMORY,
    },
    Spread {
        soil: "stiff clay",
        deg: Range {
            low: 60.0,
            expected: 60.0,
            high: 60.0,
        },
        cited: MEMORY,
    },
    Spread {
        soil: "rock",
        deg: Range {
            low: 75.0,
            expected: 75.0,
            high: 80.0,
        },
        cited: MEMORY,
    },
];

/// Least plan distance of an excavation from a foundation (m): `x = (z_e - z_f)/tan θ`, never below 0.
///
/// # Units
/// Depths below ground, angle from the horizontal (degrees).
///
/// # Errors
/// Depths below 0, an angle outside 20° to 85°.
pub fn distance_from_foundation(
    dig_m: f64,
    foundation_m: f64,
    spread_deg: f64,
) -> Result<Working, OutOfRange> {
    let cited = Cited::unsourced("line from the foundation's edge", Tag::Derived);
    let dig = asked("depth of the excavation", dig_m, "m").not_negative(cited)?;
    let footing = asked("depth of the foundation", foundation_m, "m").not_negative(cited)?;
    let angle = asked("spread from the horizontal", spread_deg, "deg").within(20.0, 85.0, cited)?;
    let mut w = Working::new("Distance from the foundation", cited);
    w.given("z_e", "depth of the excavation", dig, "m");
    w.given("z_f", "depth of the foundation", footing, "m");
    w.given("θ", "spread from the horizontal", angle, "deg");
    let x = ((dig - footing) / angle.to_radians().tan()).max(0.0);
    w.line(
        ("x", "least distance"),
        "max(0, (z_e - z_f)/tan(θ))",
        x,
        "m",
    );
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: dug 2.2, founded 0.6.
    #[test]
    fn flatter_spread_keeps_farther_away() {
        for (deg, x) in [(45.0, 1.60), (30.0, 2.77), (60.0, 0.92)] {
            let w = distance_from_foundation(2.2, 0.6, deg).unwrap();
            assert!((w.value() - x).abs() < 0.005);
            calculator::agrees(&w);
        }
        let shallow = distance_from_foundation(0.5, 0.6, 45.0).unwrap();
        assert_eq!(shallow.value(), 0.0);
        calculator::agrees(&shallow);
        assert!(distance_from_foundation(2.2, 0.6, 0.0).is_err());
    }
}
