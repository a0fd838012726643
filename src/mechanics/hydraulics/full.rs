//! A pipe flowing full: velocity and capacity.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const MANNING: Cited = Cited::from_memory(Source::Manning1891, "in SI units");
const COLEBROOK: Cited = Cited::read(Source::ColebrookWhite1939, "as reproduced, for velocity");

/// Acceleration of gravity as the tables take it (m/s2).
pub const GRAVITY: f64 = 9.81;

/// A pipe and its grade.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Full {
    /// Inside diameter (mm).
    pub id_mm: f64,
    /// Grade (m/m), falling with the flow.
    pub grade: f64,
}

/// Capacity (l/s), with velocity `V` (m/s) on the way: `V = 1/n·(D/4)^(2/3)·√S`.
///
/// # Valid for
/// n of 0.008 to 0.030 (smooth plastic to rough masonry), grades up to 1.
///
/// # Errors
/// n or grade outside that, a grade that is not above 0, no diameter.
///
/// # Source
/// [Manning 1891](Source::Manning1891); from memory.
pub fn manning(pipe: Full, n: f64) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Full pipe by Manning", MANNING);
    let (d, s) = given(&mut w, pipe, MANNING)?;
    let n = asked("roughness n", n, "").within(0.008, 0.030, MANNING)?;
    w.given("n", "roughness", n, "s/m^(1/3)");
    let v = (d / 4.0).powf(2.0 / 3.0) * s.sqrt() / n;
    w.line(("V", "velocity"), "1/n·(D/4)^(2/3)·√S", v, "m/s");
    Ok(capacity(w, v, d))
}

/// Capacity (l/s), with velocity `V` (m/s) on the way, for pipes between smooth and rough.
///
/// # Units
/// `roughness_mm` is k_s; `viscosity_m2_s` is the kinematic one: 1.0e-6 (20 °C) to 1.31e-6 (10 °C), which moves V by up to 1 %.
///
/// # Valid for
/// Turbulent flow: Reynolds numbers of 4000 and more; k_s up to a twentieth of the diameter.
///
/// # Errors
/// Values outside that.
///
/// # Source
/// [Colebrook 1939](Source::ColebrookWhite1939), as reproduced.
pub fn colebrook_white(
    pipe: Full,
    roughness_mm: f64,
    viscosity_m2_s: f64,
) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Full pipe by Colebrook-White", COLEBROOK);
    let (d, s) = given(&mut w, pipe, COLEBROOK)?;
    let rough = asked("roughness k_s", roughness_mm / 1000.0, "m");
    let rough = rough.within(0.0, d / 20.0, COLEBROOK)?;
    let viscosity = asked("viscosity", viscosity_m2_s, "m2/s").within(0.2e-6, 2e-6, COLEBROOK)?;
    w.given("k_s", "roughness", rough, "m");
    w.given("ν", "viscosity", viscosity, "m2/s");
    w.given("g", "gravity", GRAVITY, "m/s2");
    let root = (2.0 * GRAVITY * d * s).sqrt();
    let v = -2.0 * root * (rough / (3.7 * d) + 2.51 * viscosity / (d * root)).log10();
    w.line(
        ("V", "velocity"),
        "-2·√(2·g·D·S)·log10(k_s/(3.7·D) + 2.51·ν/(D·√(2·g·D·S)))",
        v,
        "m/s",
    );
    let reynolds = asked("Reynolds number", v * d / viscosity, "").within(4e3, 1e8, COLEBROOK)?;
    w.line(("Re", "Reynolds number"), "V·D/ν", reynolds, "");
    Ok(capacity(w, v, d))
}

fn given(w: &mut Working, pipe: Full, cited: Cited) -> Result<(f64, f64), OutOfRange> {
    let d = asked("inside diameter", pipe.id_mm / 1000.0, "m").positive(cited)?;
    let s = asked("grade", pipe.grade, "m/m").within(f64::MIN_POSITIVE, 1.0, cited)?;
    w.given("D", "inside diameter", d, "m");
    w.given("S", "grade", s, "m/m");
    Ok((d, s))
}

fn capacity(mut w: Working, v: f64, d: f64) -> Working {
    let q = 1000.0 * v * PI * d * d / 4.0;
    w.line(("Q", "capacity"), "1000·V·π·D²/4", q, "l/s");
    w
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    fn pipe(id_mm: f64, one_in: f64) -> Full {
        Full {
            id_mm,
            grade: 1.0 / one_in,
        }
    }

    /// Worked by hand, n 0.013: diameter, one in, velocity, capacity (from the velocity as rounded).
    #[test]
    fn manning_of_small_sewers() {
        for (id, one_in, v, q) in [
            (100.0, 60.0, 0.849, 6.67),
            (100.0, 80.0, 0.735, 5.78),
            (150.0, 100.0, 0.862, 15.23),
            (150.0, 150.0, 0.704, 12.44),
            (300.0, 300.0, 0.790, 55.83),
        ] {
            let w = manning(pipe(id, one_in), 0.013).unwrap();
            assert!(
                (w.term("V").unwrap().value - v).abs() < 5e-4,
                "{id} {one_in}"
            );
            assert!((w.value() - q).abs() < 1e-2, "{id} {one_in}");
            calculator::agrees(&w);
        }
    }

    #[test]
    fn colder_water_is_slower() {
        let at = |nu| colebrook_white(pipe(150.0, 150.0), 0.6, nu).unwrap();
        assert!(at(1.31e-6).value() < at(1.0e-6).value());
        calculator::agrees(&at(1.0e-6));
    }

    #[test]
    fn what_the_formulas_do_not_hold_for_is_refused() {
        assert_eq!(
            manning(pipe(150.0, -100.0), 0.013).unwrap_err().quantity,
            "grade"
        );
        assert_eq!(
            manning(pipe(150.0, 100.0), 0.1).unwrap_err().quantity,
            "roughness n"
        );
        let trickle = Full {
            id_mm: 10.0,
            grade: 1e-5,
        };
        let laminar = colebrook_white(trickle, 0.01, 1e-6).unwrap_err();
        assert_eq!(laminar.quantity, "Reynolds number");
        assert!(colebrook_white(pipe(150.0, 100.0), 0.6, 0.0).is_err());
    }
}
