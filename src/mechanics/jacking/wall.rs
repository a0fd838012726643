//! What the ground behind the thrust wall bears.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};

const CITED: Cited = Cited::from_memory(Source::Rankine1857, "passive pressure on a smooth wall");

/// Passive resistance by thrust that is asked for (1.5 to 2); from memory. Who designs the pit chooses.
pub const WALL_SAFETY: Range = Range {
    low: 1.5,
    expected: 2.0,
    high: 2.0,
};

/// Passive resistance behind a thrust wall (kN): `P = K_p·γ·H²·B/2`, level ground, no water.
///
/// # Units
/// `height_m` from the ground to the wall's foot, `width_m` of the wall.
///
/// # Valid for
/// Drained ground without cohesion, 20° to 45°; the whole height acting. No support design.
///
/// # Errors
/// A friction angle outside that, a unit weight outside 8 to 24 kN/m3, no height or width.
///
/// # Source
/// [Rankine 1857](Source::Rankine1857); from memory.
pub fn thrust_wall(
    unit_weight_kn_m3: f64,
    friction_deg: f64,
    (height_m, width_m): (f64, f64),
) -> Result<Working, OutOfRange> {
    let weight = asked("unit weight", unit_weight_kn_m3, "kN/m3").within(8.0, 24.0, CITED)?;
    let phi = asked("friction angle", friction_deg, "deg").within(20.0, 45.0, CITED)?;
    let height = asked("height of the wall", height_m, "m").positive(CITED)?;
    let width = asked("width of the wall", width_m, "m").positive(CITED)?;
    let mut w = Working::new("Resistance behind the thrust wall", CITED);
    w.given("γ", "unit weight", weight, "kN/m3");
    w.given("φ", "friction angle", phi, "deg");
    w.given("H", "ground to the wall's foot", height, "m");
    w.given("B", "width of the wall", width, "m");
    let tan = (45.0 + phi / 2.0).to_radians().tan();
    let k = w.line(
        ("K_p", "passive pressure"),
        "tan(45 + φ/2)^2",
        tan.powf(2.0),
        "",
    );
    let kn = k * weight * height * height * width / 2.0;
    w.line(("P", "passive resistance"), "K_p·γ·H²·B/2", kn, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: φ 30, γ 18, H 2.5, B 1.5.
    #[test]
    fn a_wall_in_a_small_pit() {
        let w = thrust_wall(18.0, 30.0, (2.5, 1.5)).unwrap();
        assert!((w.value() - 253.1).abs() < 0.05);
        calculator::agrees(&w);
        assert!(thrust_wall(18.0, 10.0, (2.5, 1.5)).is_err());
        assert!(thrust_wall(18.0, 30.0, (0.0, 1.5)).is_err());
    }
}
