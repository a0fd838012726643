//! Friction by an arching factor on the soil above the bore.

use super::{Ground, Jacked};
use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::from_memory(Source::Bennett1998, "jacking load with arching factor");

/// Arching factor: least, best and greatest of the case histories; from memory.
pub const ARCHING: Range = Range {
    low: 0.66,
    expected: 1.0,
    high: 1.5,
};

/// Share of the ground's friction angle that acts on the pipe.
const ON_PIPE: f64 = 0.67;

/// Friction on the pipe (kN): `F = C_a·γ·d·tan(C_f·φ)·π·D·L`.
///
/// # Units
/// `bore_mm` is the bored diameter; kN/m3 (below water: of the submerged ground), degrees.
///
/// # Errors
/// An arching factor outside 0.66 to 1.5, a friction angle outside 15° to 45°, a unit weight outside 8 to 24 kN/m3, a
/// bore narrower than the pipe.
///
/// # Source
/// [Bennett 1998](Source::Bennett1998); from memory.
pub fn arching_friction(
    pipe: Jacked,
    bore_mm: f64,
    ground: Ground,
    arching: f64,
) -> Result<Working, OutOfRange> {
    let od = asked("outside diameter", pipe.od_mm / 1000.0, "m").positive(CITED)?;
    let bore = asked("bored diameter", bore_mm / 1000.0, "m").within(od, f64::MAX, CITED)?;
    let length = asked("length pushed", pipe.length_m, "m").positive(CITED)?;
    let phi = asked("friction angle", ground.friction_deg, "deg").within(15.0, 45.0, CITED)?;
    let weight =
        asked("unit weight", ground.unit_weight_kn_m3, "kN/m3").within(8.0, 24.0, CITED)?;
    let factor = asked("arching factor", arching, "").within(ARCHING.low, ARCHING.high, CITED)?;
    let mut w = Working::new("Friction on the pipe with arching", CITED);
    w.given("D", "outside diameter", od, "m");
    w.given("d", "bored diameter", bore, "m");
    w.given("L", "length pushed", length, "m");
    w.given("γ", "unit weight", weight, "kN/m3");
    w.given("φ", "friction angle", phi, "deg");
    w.given("C_a", "arching factor", factor, "");
    w.given("C_f", "share of the friction angle", ON_PIPE, "");
    let normal = w.line(
        ("σ_n", "pressure on the pipe"),
        "C_a·γ·d",
        factor * weight * bore,
        "kPa",
    );
    let kn = normal * (ON_PIPE * phi).to_radians().tan() * PI * od * length;
    w.line(("F", "friction"), "σ_n·tan(C_f·φ)·π·D·L", kn, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand from a university exercise: 48 in bore, 90 lb/ft3, φ 33, 500 ft: 17.24 kPa, 919 kip.
    #[test]
    fn a_long_drive_with_arching() {
        let pipe = Jacked {
            od_mm: 1219.2,
            length_m: 152.4,
        };
        let ground = Ground {
            unit_weight_kn_m3: 14.137_7,
            friction_deg: 33.0,
            cohesion_kpa: 0.0,
            pipe_mu: 0.4,
        };
        let w = arching_friction(pipe, 1219.2, ground, 1.0).unwrap();
        assert!((w.term("σ_n").unwrap().value - 17.24).abs() < 0.005);
        let kip = w.value() / 4.448_222;
        assert!((kip - 919.0).abs() < 0.5, "{kip}");
        calculator::agrees(&w);
        assert!(arching_friction(pipe, 1219.2, ground, 2.0).is_err());
        assert!(arching_friction(pipe, 1200.0, ground, 1.0).is_err());
    }
}
