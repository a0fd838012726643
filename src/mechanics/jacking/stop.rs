//! Getting a drive going again after a stop.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};

const CITED: Cited = Cited::restated(Source::ChuStoppage, "a stop of several hours");

/// Thrust after a stop of several hours by thrust before it: 20 to 40 % more; expected is the middle.
///
/// # Source
/// [Chu](Source::ChuStoppage), as restated.
pub const RESTART: Range = Range {
    low: 1.2,
    expected: 1.3,
    high: 1.4,
};

/// Friction to be overcome after a stop of several hours in sticky ground (kN): `F = r·F_0`.
///
/// # Errors
/// A factor outside 1.2 to 1.4, friction below 0.
///
/// # Source
/// [Chu](Source::ChuStoppage), as restated.
pub fn restart_thrust(friction_kn: f64, factor: f64) -> Result<Working, OutOfRange> {
    let friction = asked("friction before the stop", friction_kn, "kN").not_negative(CITED)?;
    let factor = asked("restart factor", factor, "").within(RESTART.low, RESTART.high, CITED)?;
    let mut w = Working::new("Friction after a stop of several hours", CITED);
    w.given("F_0", "friction before the stop", friction, "kN");
    w.given("r", "restart factor", factor, "");
    w.line(("F", "friction"), "r·F_0", factor * friction, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    #[test]
    fn a_stop_adds_to_friction() {
        let w = restart_thrust(100.0, RESTART.high).unwrap();
        assert_eq!(w.value(), 140.0);
        calculator::agrees(&w);
        assert!(restart_thrust(100.0, 1.0).is_err());
    }
}
