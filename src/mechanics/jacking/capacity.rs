//! What a pipe bears along its axis.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::from_memory(
    Source::AstmC1208,
    "strength of the joint's least section with its safety; triangular stress where the gap closes on one side",
);

/// Compressive strength of vitrified clay jacking pipe, American (MPa): 7000 psi; from memory.
pub const CLAY_ASTM_MPA: f64 = 48.3;
/// Safety that goes with it; from memory.
pub const CLAY_ASTM_SAFETY: f64 = 2.5;
/// Compressive strength of vitrified clay jacking pipe, European (MPa): EN 295-7; from memory.
pub const CLAY_EN_MPA: f64 = 75.0;
/// Yield stress of steel casing (MPa); from memory.
pub const STEEL_MPA: Range = Range {
    low: 235.0,
    expected: 240.0,
    high: 250.0,
};

/// How a joint takes the load.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gap {
    /// All round: even stress.
    Concentric,
    /// The gap is just closed on one side: triangular stress, twice the mean at the edge.
    ClosedOnOneSide,
}

impl Gap {
    /// Greatest by mean stress.
    pub fn stress_factor(self) -> f64 {
        match self {
            Gap::Concentric => 1.0,
            Gap::ClosedOnOneSide => 2.0,
        }
    }
}

/// The least section of a pipe, mostly at its joint.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Joint {
    /// Outside diameter of the section (mm).
    pub od_mm: f64,
    /// Inside diameter (mm).
    pub id_mm: f64,
    /// Compressive strength or yield stress (MPa).
    pub strength_mpa: f64,
    /// Safety on it.
    pub safety: f64,
}

/// Thrust a pipe bears (kN): `F = σ·A/(FS·k)`, `A = π/4·(D² - d²)`.
///
/// # Errors
/// An inside diameter not below the outside one, a strength outside 1 to 400 MPa, safety outside 1 to 5.
///
/// # Source
/// [ASTM C1208](Source::AstmC1208) for the safety of clay; from memory.
pub fn pipe_capacity(joint: Joint, gap: Gap) -> Result<Working, OutOfRange> {
    let od = asked("outside diameter at the joint", joint.od_mm / 1000.0, "m").positive(CITED)?;
    let id = asked("inside diameter at the joint", joint.id_mm / 1000.0, "m");
    let id = id.within(0.0, od * (1.0 - 1e-6), CITED)?;
    let strength = asked("strength", joint.strength_mpa, "MPa").within(1.0, 400.0, CITED)?;
    let safety = asked("safety", joint.safety, "").within(1.0, 5.0, CITED)?;
    let mut w = Working::new("Thrust that the pipe bears", CITED);
    w.given("D", "outside diameter at the joint", od, "m");
    w.given("d", "inside diameter at the joint", id, "m");
    w.given("σ", "strength", strength, "MPa");
    w.given("FS", "safety", safety, "");
    let k = w.given("k", "greatest by mean stress", gap.stress_factor(), "");
    let area = w.line(
        ("A", "section"),
        "π/4·(D² - d²)",
        PI / 4.0 * (od * od - id * id),
        "m2",
    );
    let kn = 1000.0 * strength * area / (safety * k);
    w.line(("F", "thrust borne"), "1000·σ·A/(FS·k)", kn, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: steel 273.1 x 6.35, 240 MPa, safety 2; clay joint 244/199, 48.3 MPa, safety 2.5.
    #[test]
    fn steel_and_clay() {
        let steel = Joint {
            od_mm: 273.1,
            id_mm: 273.1 - 12.7,
            strength_mpa: 240.0,
            safety: 2.0,
        };
        let w = pipe_capacity(steel, Gap::Concentric).unwrap();
        assert!((w.term("A").unwrap().value - 0.005321).abs() < 5e-7);
        assert!((w.value() - 638.6).abs() < 0.05, "{}", w.value());
        calculator::agrees(&w);
        let clay = Joint {
            od_mm: 244.0,
            id_mm: 199.0,
            strength_mpa: CLAY_ASTM_MPA,
            safety: CLAY_ASTM_SAFETY,
        };
        let even = pipe_capacity(clay, Gap::Concentric).unwrap().value();
        assert!((even - 302.5).abs() < 0.05, "{even}");
        let tilted = pipe_capacity(clay, Gap::ClosedOnOneSide).unwrap();
        assert_eq!(tilted.value(), even / 2.0);
        calculator::agrees(&tilted);
    }

    #[test]
    fn a_pipe_without_wall_is_refused() {
        let joint = Joint {
            od_mm: 200.0,
            id_mm: 200.0,
            strength_mpa: 48.3,
            safety: 2.5,
        };
        assert!(pipe_capacity(joint, Gap::Concentric).is_err());
    }
}
