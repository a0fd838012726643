//! Whether a pipe keeps itself clean: by velocity, by shear, by the 1-in-DN rule.

use super::full::GRAVITY;
use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Range, Working, asked},
};

const FOOT_M: f64 = 0.3048;
const SHEAR: Cited = Cited::unsourced("mean shear on the wetted wall", Tag::Derived);

/// A rule for the least velocity.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Cleansing {
    /// Least velocity (m/s).
    pub velocity_m_s: f64,
    /// Roughness that it is asked with, where the rule names it.
    pub n: Option<f64>,
    /// When the velocity must be reached.
    pub when: &'static str,
    /// Where it is from.
    pub cited: Cited,
}

/// Least velocities by several rules.
pub const CLEANSING: [Cleansing; 5] = [
    Cleansing {
        velocity_m_s: 2.0 * FOOT_M,
        n: Some(0.013),
        when: "flowing full",
        cited: Cited::read(Source::WisconsinNr110, "NR 110.13(2)(c)"),
    },
    Cleansing {
        velocity_m_s: 2.0 * FOOT_M,
        n: Some(0.014),
        when: "flowing full",
        cited: Cited::read(Source::VirginiaSewers, "9VAC25-790-320 B 1"),
    },
    Cleansing {
        velocity_m_s: 2.0 * FOOT_M,
        n: Some(0.013),
        when: "flowing full",
        cited: Cited::read(Source::PurcellOk, "minimum slopes"),
    },
    Cleansing {
        velocity_m_s: 0.7,
        n: None,
        when: "once a day",
        cited: Cited::restated(Source::En752, "self-cleansing"),
    },
    Cleansing {
        velocity_m_s: 0.75,
        n: None,
        when: "at a third of the design flow",
        cited: Cited::from_memory(Source::DesignConstructionGuidance, "self-cleansing"),
    },
];

/// Least velocity of settled sewage in Virginia (ft/s).
pub const VIRGINIA_SETTLED_FT_S: f64 = 1.3;

/// Shear that keeps small sewers clean (Pa): 1 to 2; from memory.
pub const SHEAR_PA: Range = Range {
    low: 1.0,
    expected: 1.6,
    high: 2.0,
};

/// Flattest grade (m/m) at which the full pipe reaches a velocity: `S = (V·n/(D/4)^(2/3))²`.
///
/// # Errors
/// n outside 0.008 to 0.030, a velocity outside 0.1 to 10 m/s, no diameter.
///
/// # Source
/// [Manning 1891](Source::Manning1891), turned round.
pub fn grade_for_velocity(id_mm: f64, velocity_m_s: f64, n: f64) -> Result<Working, OutOfRange> {
    let cited = Cited::from_memory(Source::Manning1891, "turned round for the grade");
    let d = asked("inside diameter", id_mm / 1000.0, "m").positive(cited)?;
    let v = asked("velocity", velocity_m_s, "m/s").within(0.1, 10.0, cited)?;
    let n = asked("roughness n", n, "").within(0.008, 0.030, cited)?;
    let mut w = Working::new("Flattest grade that keeps the pipe clean", cited);
    w.given("V", "least velocity", v, "m/s");
    w.given("n", "roughness", n, "s/m^(1/3)");
    w.given("D", "inside diameter", d, "m");
    let root = v * n / (d / 4.0).powf(2.0 / 3.0);
    w.line(
        ("S_min", "flattest grade"),
        "(V·n/(D/4)^(2/3))^2",
        root.powf(2.0),
        "m/m",
    );
    Ok(w)
}

/// Mean shear on the wetted wall (Pa): `τ = ρ·g·R·S`, R that of the depth given (`radius_by_full` 1: full or half full).
///
/// # Errors
/// A grade outside 0 to 1, a radius outside 0 to 1.22 times that of the full pipe, no diameter.
pub fn shear(id_mm: f64, radius_by_full: f64, grade: f64) -> Result<Working, OutOfRange> {
    let d = asked("inside diameter", id_mm / 1000.0, "m").positive(SHEAR)?;
    let r = asked("hydraulic radius by full", radius_by_full, "").within(0.0, 1.22, SHEAR)?;
    let s = asked("grade", grade, "m/m").within(0.0, 1.0, SHEAR)?;
    let mut w = Working::new("Shear on the wetted wall", SHEAR);
    w.given("ρ", "density of water", 1000.0, "kg/m3");
    w.given("g", "gravity", GRAVITY, "m/s2");
    w.given("D", "inside diameter", d, "m");
    w.given("R_r", "hydraulic radius by that of the full pipe", r, "");
    w.given("S", "grade", s, "m/m");
    let pa = 1000.0 * GRAVITY * d / 4.0 * r * s;
    w.line(("τ", "shear"), "ρ·g·D/4·R_r·S", pa, "Pa");
    Ok(w)
}

/// The 1-in-DN rule: flattest grade of pipes below DN 300.
///
/// # Errors
/// DN 300 and above, or none.
///
/// # Source
/// [EN 752](Source::En752) with EN 16933-2; from memory.
pub fn one_in_dn(dn_mm: f64) -> Result<Working, OutOfRange> {
    let cited = Cited::from_memory(Source::En752, "1 in DN below DN 300");
    let dn = asked("nominal diameter", dn_mm, "mm").within(1.0, 299.0, cited)?;
    let mut w = Working::new("Flattest grade by the 1-in-DN rule", cited);
    w.given("DN", "nominal diameter", dn, "mm");
    w.line(("S_min", "flattest grade"), "1/DN", 1.0 / dn, "m/m");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 2 ft/s; inches, n, percent.
    #[test]
    fn grades_for_two_feet_a_second() {
        for (inches, n, percent) in [
            (6.0, 0.013, 0.490),
            (8.0, 0.013, 0.334),
            (10.0, 0.013, 0.248),
            (12.0, 0.013, 0.194),
            (15.0, 0.013, 0.144),
            (8.0, 0.014, 0.387),
        ] {
            let w = grade_for_velocity(inches * 25.4, 0.6096, n).unwrap();
            assert!((w.value() * 100.0 - percent).abs() < 5e-4, "{inches} {n}");
            calculator::agrees(&w);
        }
    }

    /// Worked by hand: DN150 at 1 %, full and a fifth full.
    #[test]
    fn shear_of_a_small_sewer() {
        let full = shear(150.0, 1.0, 0.01).unwrap();
        assert!((full.value() - 3.68).abs() < 5e-3);
        let radius = crate::mechanics::hydraulics::proportions(0.2).unwrap();
        let fifth = shear(150.0, radius.term("R_r").unwrap().value, 0.01).unwrap();
        assert!((fifth.value() - 1.77).abs() < 5e-3, "{}", fifth.value());
        calculator::agrees(&fifth);
        assert!(shear(150.0, 1.0, -0.01).is_err());
    }

    #[test]
    fn the_one_in_dn_rule_ends_below_dn_300() {
        calculator::agrees(&one_in_dn(150.0).unwrap());
        assert!(one_in_dn(299.0).is_ok() && one_in_dn(300.0).is_err());
    }
}
