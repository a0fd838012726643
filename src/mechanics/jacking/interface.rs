//! Friction between pipe and granular ground that stands round the overcut.

use super::{Ground, Jacked};
use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::from_memory(Source::Staheli2006, "unlubricated force, granular ground");

/// Friction on an unlubricated pipe (kN) in granular ground with a stable overcut.
///
/// Cohesion is not looked at. The least of the models by far: the ground carries itself and rests on the pipe lightly.
///
/// # Valid for
/// Granular ground (25° to 45°), overcut that stays open. Based on laboratory tests and 14 case histories.
///
/// # Errors
/// A friction angle outside that, a unit weight outside 8 to 24 kN/m3, friction on the pipe outside 0 to 1.
///
/// # Source
/// [Staheli 2006](Source::Staheli2006); the formula from memory.
pub fn interface_friction(pipe: Jacked, ground: Ground) -> Result<Working, OutOfRange> {
    let od = asked("outside diameter", pipe.od_mm / 1000.0, "m").positive(CITED)?;
    let length = asked("length pushed", pipe.length_m, "m").positive(CITED)?;
    let phi = asked("friction angle", ground.friction_deg, "deg").within(25.0, 45.0, CITED)?;
    let weight =
        asked("unit weight", ground.unit_weight_kn_m3, "kN/m3").within(8.0, 24.0, CITED)?;
    let mu = asked("friction of pipe on ground", ground.pipe_mu, "").within(0.0, 1.0, CITED)?;
    let mut w = Working::new("Friction on the pipe at the interface", CITED);
    w.given("D", "outside diameter", od, "m");
    w.given("L", "length pushed", length, "m");
    w.given("γ", "unit weight", weight, "kN/m3");
    w.given("φ", "friction angle", phi, "deg");
    w.given("μ", "friction of pipe on ground", mu, "");
    let normal = weight * od / 2.0 * (45.0 + phi / 2.0).to_radians().cos() / phi.to_radians().tan();
    w.line(
        ("σ_n", "pressure on the pipe"),
        "γ·D/2·cos(45 + φ/2)/tan(φ)",
        normal,
        "kPa",
    );
    let kn = mu * normal * PI * od * length;
    w.line(("F", "friction"), "μ·σ_n·π·D·L", kn, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::{
        calculator,
        jacking::example::{PIPE, SAND},
    };

    /// Worked by hand: γ 19, D 0.30, φ 32, μ 0.40, L 30.
    #[test]
    fn sand_round_a_stable_overcut() {
        let w = interface_friction(PIPE, SAND).unwrap();
        assert!((w.term("σ_n").unwrap().value - 2.211).abs() < 5e-4);
        assert!((w.value() - 25.0).abs() < 0.05);
        calculator::agrees(&w);
    }

    #[test]
    fn clay_is_refused() {
        let clay = Ground {
            friction_deg: 20.0,
            ..SAND
        };
        let refused = interface_friction(PIPE, clay).unwrap_err();
        assert_eq!((refused.quantity, refused.low), ("friction angle", 25.0));
    }
}
