//! Friction under the load of a silo of soil above the pipe.

use super::{Ground, Jacked};
use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

/// Share of the vertical pressure that presses on the pipe's sides.
const SIDE: f64 = 0.3;

/// Width of the silo and friction on its walls, as different authors set them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SiloSet {
    /// Width D·(1 + 2·tan(45° - φ/2)), K = 1, full friction on the walls.
    Terzaghi,
    /// Width √3·D, K = 0.5, half the friction angle on the walls.
    AtvA161,
}

impl SiloSet {
    /// Both.
    pub const ALL: [SiloSet; 2] = [SiloSet::Terzaghi, SiloSet::AtvA161];

    fn cited(self) -> Cited {
        match self {
            SiloSet::Terzaghi => Cited::from_memory(
                Source::Terzaghi1943,
                "arching; as used by Pellet-Beaucour and Kastner 2002",
            ),
            SiloSet::AtvA161 => Cited::from_memory(
                Source::AtvA161,
                "silo theory; as used by Pellet-Beaucour and Kastner 2002",
            ),
        }
    }

    /// Width of the silo (m), as formula and value.
    fn width(self, od_m: f64, friction_deg: f64) -> (&'static str, f64) {
        let tan = (45.0 - friction_deg / 2.0).to_radians().tan();
        match self {
            SiloSet::Terzaghi => ("D·(1 + 2·tan(45 - φ/2))", od_m * (1.0 + 2.0 * tan)),
            SiloSet::AtvA161 => ("√3·D", 3f64.sqrt() * od_m),
        }
    }

    /// Horizontal by vertical pressure on the silo's walls.
    pub fn pressure_ratio(self) -> f64 {
        match self {
            SiloSet::Terzaghi => 1.0,
            SiloSet::AtvA161 => 0.5,
        }
    }

    fn wall_friction(self, friction_deg: f64) -> (&'static str, f64) {
        match self {
            SiloSet::Terzaghi => ("φ", friction_deg),
            SiloSet::AtvA161 => ("φ/2", friction_deg / 2.0),
        }
    }
}

/// Friction on the pipe (kN) under a silo of soil `cover_m` high above its crown.
///
/// Where cohesion holds the silo up, it does not load the pipe: the pressure is 0, never less.
///
/// # Units
/// kN/m3, kPa, degrees, m; `cover_m` from ground to crown.
///
/// # Valid for
/// Friction angles of 15° to 45°: below, soil is no silo; a comparison of measured drives (Atalah 1994) found the set of ATV
/// to give five to seven times, others about twice the friction that there was.
///
/// # Errors
/// A friction angle outside 15° to 45°, a unit weight outside 8 to 24 kN/m3, friction on the pipe outside 0 to 1,
/// negative cover or cohesion.
///
/// # Source
/// [Terzaghi 1943](Source::Terzaghi1943), [ATV-A 161](Source::AtvA161), as used by
/// [Pellet-Beaucour and Kastner 2002](Source::PelletKastner2002); from memory.
pub fn silo_friction(
    pipe: Jacked,
    ground: Ground,
    cover_m: f64,
    set: SiloSet,
) -> Result<Working, OutOfRange> {
    let cited = set.cited();
    let od = asked("outside diameter", pipe.od_mm / 1000.0, "m").positive(cited)?;
    let length = asked("length pushed", pipe.length_m, "m").positive(cited)?;
    let phi = asked("friction angle", ground.friction_deg, "deg").within(15.0, 45.0, cited)?;
    let weight =
        asked("unit weight", ground.unit_weight_kn_m3, "kN/m3").within(8.0, 24.0, cited)?;
    let cohesion = asked("cohesion", ground.cohesion_kpa, "kPa").not_negative(cited)?;
    let mu = asked("friction of pipe on ground", ground.pipe_mu, "").within(0.0, 1.0, cited)?;
    let cover = asked("cover", cover_m, "m").not_negative(cited)?;
    let title = match set {
        SiloSet::Terzaghi => "Friction on the pipe under a silo, Terzaghi's parameters",
        SiloSet::AtvA161 => "Friction on the pipe under a silo, ATV-A 161 parameters",
    };
    let mut w = Working::new(title, cited);
    w.given("D", "outside diameter", od, "m");
    w.given("L", "length pushed", length, "m");
    w.given("h", "cover to the crown", cover, "m");
    w.given("γ", "unit weight", weight, "kN/m3");
    w.given("c", "cohesion", cohesion, "kPa");
    w.given("φ", "friction angle", phi, "deg");
    w.given("μ", "friction of pipe on ground", mu, "");
    let k = w.given(
        "K",
        "horizontal by vertical pressure at the silo's walls",
        set.pressure_ratio(),
        "",
    );
    w.given("K2", "the same at the pipe's sides", SIDE, "");
    let (formula, value) = set.width(od, phi);
    let b = w.line(("b", "width of the silo"), formula, value, "m");
    let (formula, value) = set.wall_friction(phi);
    let tan = w
        .line(
            ("δ", "friction angle at the silo's walls"),
            formula,
            value,
            "deg",
        )
        .to_radians()
        .tan();
    let arch = b * (weight - 2.0 * cohesion / b) / (2.0 * k * tan)
        * (1.0 - (-2.0 * k * tan * cover / b).exp());
    let pressure = w.line(
        ("σ_v", "vertical pressure on the crown"),
        "max(0, b·(γ - 2·c/b)/(2·K·tan(δ))·(1 - exp(-2·K·tan(δ)·h/b)))",
        arch.max(0.0),
        "kPa",
    );
    let at_axis = pressure + weight * od / 2.0;
    w.line(
        ("F", "friction"),
        "μ·L·D·π/2·(σ_v + γ·D/2)·(1 + K2)",
        mu * length * od * PI / 2.0 * at_axis * (1.0 + SIDE),
        "kN",
    );
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::{
        calculator,
        jacking::example::{PIPE, SAND},
    };

    /// Worked by hand: γ 19, φ 32, D 0.300, cover 2.0, μ 0.40, L 30.
    #[test]
    fn both_sets_of_parameters() {
        let by_hand = [
            (SiloSet::Terzaghi, 0.6326, 9.43, 90.29),
            (SiloSet::AtvA161, 0.5196, 23.01, 190.1),
        ];
        for (set, width, pressure, kn) in by_hand {
            let w = silo_friction(PIPE, SAND, 2.0, set).unwrap();
            assert!((w.term("b").unwrap().value - width).abs() < 5e-5);
            assert!((w.term("σ_v").unwrap().value - pressure).abs() < 5e-3);
            assert!((w.value() - kn).abs() < 0.05, "{}", w.value());
            calculator::agrees(&w);
        }
    }

    #[test]
    fn cohesion_that_holds_the_silo_up_leaves_the_pipe_its_own_height_of_soil() {
        let stiff = Ground {
            cohesion_kpa: 30.0,
            ..SAND
        };
        let w = silo_friction(PIPE, stiff, 2.0, SiloSet::Terzaghi).unwrap();
        assert_eq!(w.term("σ_v").unwrap().value, 0.0);
        assert!(w.value() > 0.0);
        calculator::agrees(&w);
    }

    #[test]
    fn ground_that_is_no_silo_is_refused() {
        let refused = |ground| {
            silo_friction(PIPE, ground, 2.0, SiloSet::AtvA161)
                .unwrap_err()
                .quantity
        };
        assert_eq!(
            refused(Ground {
                friction_deg: 5.0,
                ..SAND
            }),
            "friction angle"
        );
        assert_eq!(
            refused(Ground {
                unit_weight_kn_m3: 1900.0,
                ..SAND
            }),
            "unit weight"
        );
        assert_eq!(
            refused(Ground {
                pipe_mu: -0.1,
                ..SAND
            }),
            "friction of pipe on ground"
        );
        assert!(silo_friction(PIPE, SAND, -0.1, SiloSet::AtvA161).is_err());
    }
}
