//! What grade is left after the errors at both ends.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::unsourced("two ends, each within its error", Tag::Derived);

/// How the errors of the two ends go together.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Ends {
    /// Both at their worst, against each other: certain.
    Worst,
    /// Independent: squares add.
    Independent,
}

/// Grade a bore must be designed at (m/m) so that it keeps the least grade after its errors.
///
/// # Units
/// `level_mm` the error of level of each end, `length_m` between them.
///
/// # Errors
/// A least grade outside 0 to 1, an error below 0, no length.
pub fn grade_needed(
    least_grade: f64,
    level_mm: f64,
    length_m: f64,
    ends: Ends,
) -> Result<Working, OutOfRange> {
    let least = asked("least grade", least_grade, "m/m").within(0.0, 1.0, CITED)?;
    let each = asked("error of level at an end", level_mm / 1000.0, "m").not_negative(CITED)?;
    let length = asked("length", length_m, "m").positive(CITED)?;
    let mut w = Working::new("Grade needed for the errors of both ends", CITED);
    w.given("S_min", "least grade", least, "m/m");
    w.given("δ", "error of level at an end", each, "m");
    w.given("L", "length", length, "m");
    let (formula, lost) = match ends {
        Ends::Worst => ("2·δ/L", 2.0 * each / length),
        Ends::Independent => ("√2·δ/L", 2f64.sqrt() * each / length),
    };
    w.line(("e_S", "grade lost to errors"), formula, lost, "m/m");
    w.line(("S", "grade needed"), "S_min + e_S", least + lost, "m/m");
    Ok(w)
}

/// Whether inverts, from upstream down, never rise by more than `slack_m`.
pub fn no_backfall(inverts_m: &[f64], slack_m: f64) -> bool {
    inverts_m.windows(2).all(|w| w[1] <= w[0] + slack_m)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: δ 20 mm over 20 and 40 m, 10 mm over 30 m; percent.
    #[test]
    fn short_bores_lose_most() {
        for (mm, length, ends, percent) in [
            (20.0, 20.0, Ends::Worst, 0.200),
            (20.0, 20.0, Ends::Independent, 0.141),
            (20.0, 40.0, Ends::Worst, 0.100),
            (10.0, 30.0, Ends::Worst, 0.067),
        ] {
            let w = grade_needed(0.01, mm, length, ends).unwrap();
            let lost = w.term("e_S").unwrap().value * 100.0;
            assert!((lost - percent).abs() < 5e-4, "{lost}");
            assert!((w.value() - 0.01 - lost / 100.0).abs() < 1e-12);
            calculator::agrees(&w);
        }
        assert!(grade_needed(0.01, 20.0, 0.0, Ends::Worst).is_err());
    }

    #[test]
    fn water_stands_where_an_invert_rises() {
        assert!(no_backfall(&[10.0, 9.9, 9.9, 9.8], 0.0));
        assert!(!no_backfall(&[10.0, 9.8, 9.81], 0.0));
        assert!(no_backfall(&[10.0, 9.8, 9.81], 0.02));
    }
}
