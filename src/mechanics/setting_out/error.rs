//! Error at the reception pit: the terms together.

use super::terms::{base_line_error, pointing_error, refraction_error};
use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::unsourced("independent errors add as squares", Tag::Derived);

/// How line and grade are set out. Limits of one kind throughout (all 95 %, or all one standard deviation).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Setup {
    /// Error of setting up over the mark, and of the target (mm).
    pub centring_mm: f64,
    /// Error of pointing (seconds of arc).
    pub pointing_s: f64,
    /// Distance of the two marks that give the line (m).
    pub base_m: f64,
    /// Error of each mark (mm).
    pub marks_mm: f64,
    /// Change of the air's temperature square to the sight (°C/m).
    pub gradient: f64,
    /// Error of the rig and its steering at the reception pit (mm).
    pub rig_mm: f64,
}

/// Error predicted at the reception pit (mm): root of the sum of squares of centring, pointing, base line, refraction, rig.
///
/// # Errors
/// As the terms have them; a negative error.
pub fn predicted_error(setup: Setup, length_m: f64) -> Result<Working, OutOfRange> {
    let not_negative = |quantity, mm| asked(quantity, mm, "mm").not_negative(CITED);
    let centring = not_negative("error of centring", setup.centring_mm)?;
    let rig = not_negative("error of the rig", setup.rig_mm)?;
    let terms = [
        pointing_error(length_m, setup.pointing_s)?,
        base_line_error(length_m, setup.base_m, setup.marks_mm)?,
        refraction_error(length_m, setup.gradient)?,
    ];
    let mut w = Working::new("Error predicted at the reception pit", CITED);
    w.given("e_c", "error of centring", centring, "mm");
    w.given("e_g", "error of the rig", rig, "mm");
    for term in &terms {
        for input in term
            .inputs
            .iter()
            .filter(|i| w.term(i.symbol).is_none())
            .copied()
            .collect::<Vec<_>>()
        {
            w.given(input.symbol, input.what, input.value, input.unit);
        }
        w.steps.extend(term.steps.iter().copied());
    }
    let of_terms = terms.iter().map(|t| t.value().powf(2.0));
    let squares = centring.powf(2.0) + rig.powf(2.0) + of_terms.sum::<f64>();
    w.line(
        ("e", "error at the reception pit"),
        "√(e_c^2 + e_a^2 + e_b^2 + e_r^2 + e_g^2)",
        squares.sqrt(),
        "mm",
    );
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    const SETUP: Setup = Setup {
        centring_mm: 2.0,
        pointing_s: 5.0,
        base_m: 60.0,
        marks_mm: 0.0,
        gradient: 1.0,
        rig_mm: 3.0,
    };

    /// Worked by hand: 2, 1.45, 3 and 1.8 mm come to 4.28 mm.
    #[test]
    fn without_the_base_line_little_is_left() {
        let w = predicted_error(SETUP, 60.0).unwrap();
        assert!((w.value() - 4.28).abs() < 0.005, "{}", w.value());
        calculator::agrees(&w);
    }

    #[test]
    fn marks_in_a_short_pit_outweigh_all_else() {
        let pit = Setup {
            base_m: 3.0,
            marks_mm: 1.0,
            ..SETUP
        };
        let w = predicted_error(pit, 60.0).unwrap();
        let base = w.term("e_b").unwrap().value;
        assert!(base * base > 0.9 * w.value() * w.value());
        calculator::agrees(&w);
        let negative = Setup {
            rig_mm: -1.0,
            ..SETUP
        };
        assert!(predicted_error(negative, 60.0).is_err());
    }
}
