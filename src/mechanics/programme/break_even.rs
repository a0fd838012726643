//! Length from which a bore is cheaper than a trench.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::unsourced("two straight lines of cost by length", Tag::Derived);

/// What bore and trench cost.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Against {
    /// Cost of the bore whatever its length: pits, setting up.
    pub fixed: f64,
    /// Cost of a metre of bore.
    pub bore_per_m: f64,
    /// Cost of a metre of trench.
    pub trench_per_m: f64,
}

/// Length (m) from which the bore is cheaper: `L = F/(c_t - c_b)`. None where a metre of bore costs no less: never.
///
/// # Errors
/// A cost below 0.
pub fn break_even(at: Against) -> Result<Option<Working>, OutOfRange> {
    let fixed = asked("fixed cost of the bore", at.fixed, "").not_negative(CITED)?;
    let bore = asked("cost of a metre of bore", at.bore_per_m, "/m").not_negative(CITED)?;
    let trench = asked("cost of a metre of trench", at.trench_per_m, "/m").not_negative(CITED)?;
    if bore >= trench {
        return Ok(None);
    }
    let mut w = Working::new("Length from which the bore is cheaper", CITED);
    w.given("F", "fixed cost of the bore", fixed, "");
    w.given("c_b", "cost of a metre of bore", bore, "/m");
    w.given("c_t", "cost of a metre of trench", trench, "/m");
    let length = fixed / (trench - bore);
    w.line(("L", "break-even length"), "F/(c_t - c_b)", length, "m");
    Ok(Some(w))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 14000, 260, 620.
    #[test]
    fn beyond_it_the_bore_is_cheaper() {
        let at = Against {
            fixed: 14_000.0,
            bore_per_m: 260.0,
            trench_per_m: 620.0,
        };
        let w = break_even(at).unwrap().unwrap();
        assert!((w.value() - 38.9).abs() < 0.05);
        calculator::agrees(&w);
        let never = Against {
            trench_per_m: 260.0,
            ..at
        };
        assert_eq!(break_even(never).unwrap(), None);
        assert!(break_even(Against { fixed: -1.0, ..at }).is_err());
    }
}
