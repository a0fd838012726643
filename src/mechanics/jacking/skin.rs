//! Skin friction by the area of the pipe's outside.

use super::Jacked;
use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::read(Source::PipeJackingAssociation, "section 6, page 23");

/// Pressure of a tonne on a square metre (kPa), exactly.
pub const TONNE_KPA: f64 = 9.80665;

/// Friction of unlubricated pipes (t/m2 of outside surface); the source gives the ends, expected is their middle.
///
/// # Source
/// [Pipe Jacking Association](Source::PipeJackingAssociation), section 6, page 23.
pub const SKIN_T_M2: Range = Range {
    low: 0.5,
    expected: 1.5,
    high: 2.5,
};

/// Least friction that lubrication brings (t/m2), by the same page.
pub const LUBRICATED_T_M2: f64 = 0.1;

/// Greatest friction in any table of this program: dry loose sand and fill (kPa).
const MOST_KPA: f64 = 45.0;

/// Friction of unlubricated pipes (kPa).
pub fn skin_range_kpa() -> Range {
    SKIN_T_M2.map(|t| t * TONNE_KPA)
}

/// Friction on the pipe (kN): `F = f·π·D·L`.
///
/// # Units
/// `friction_kpa` in kN for each m2 of the pipe's outside.
///
/// # Valid for
/// 0.98 kPa (lubricated) to 45 kPa (dry loose sand, fill).
///
/// # Errors
/// Friction outside that range, a diameter or length that is not above 0.
///
/// # Source
/// [Pipe Jacking Association](Source::PipeJackingAssociation), section 6, page 23.
pub fn skin_friction(pipe: Jacked, friction_kpa: f64) -> Result<Working, OutOfRange> {
    let least = LUBRICATED_T_M2 * TONNE_KPA;
    let f = asked("skin friction", friction_kpa, "kPa").within(least, MOST_KPA, CITED)?;
    let od = asked("outside diameter", pipe.od_mm / 1000.0, "m").positive(CITED)?;
    let length = asked("length pushed", pipe.length_m, "m").positive(CITED)?;
    let mut w = Working::new("Friction on the pipe, by its outside surface", CITED);
    w.given("f", "skin friction", f, "kPa");
    w.given("D", "outside diameter", od, "m");
    w.given("L", "length pushed", length, "m");
    w.line(("F", "friction"), "f·π·D·L", f * PI * od * length, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: D 0.160, L 30 at 4.903 and 24.517 kPa; D 0.219, L 40 at 15 kPa.
    #[test]
    fn friction_grows_with_surface() {
        let kn = |od_mm, length_m, f| skin_friction(Jacked { od_mm, length_m }, f).unwrap();
        assert!((kn(160.0, 30.0, 4.903).value() - 73.9).abs() < 0.05);
        assert!((kn(160.0, 30.0, 24.517).value() - 369.7).abs() < 0.05);
        assert!((kn(219.0, 40.0, 15.0).value() - 412.8).abs() < 0.05);
        calculator::agrees(&kn(219.0, 40.0, 15.0));
    }

    #[test]
    fn friction_that_no_table_knows_is_refused() {
        let pipe = Jacked {
            od_mm: 160.0,
            length_m: 30.0,
        };
        let refused = |f| skin_friction(pipe, f).unwrap_err().quantity;
        assert_eq!(refused(0.5), "skin friction");
        assert_eq!(refused(45.1), "skin friction");
        let none = Jacked {
            length_m: 0.0,
            ..pipe
        };
        assert_eq!(
            skin_friction(none, 10.0).unwrap_err().quantity,
            "length pushed"
        );
    }
}
