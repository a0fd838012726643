//! What a closed lane costs those who wait.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::restated(Source::WorkZoneDelay, "travel delay cost");

/// Vehicles of one class.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Vehicles {
    /// A day.
    pub a_day: f64,
    /// Delay of each (hours).
    pub delay_h: f64,
    /// Cost of an hour of one.
    pub rate: f64,
}

/// Cost of delay: days times the sum over classes of vehicles, delay and rate.
///
/// # Errors
/// Anything below 0, a delay of more than a day.
///
/// # Source
/// [Work zone travel delay](Source::WorkZoneDelay), as restated.
pub fn traffic_delay(days: f64, classes: &[Vehicles]) -> Result<Working, OutOfRange> {
    let days = asked("days", days, "day").not_negative(CITED)?;
    let mut a_day = 0.0;
    for class in classes {
        let number = asked("vehicles a day", class.a_day, "").not_negative(CITED)?;
        let delay = asked("delay", class.delay_h, "h").within(0.0, 24.0, CITED)?;
        let rate = asked("cost of an hour", class.rate, "/h").not_negative(CITED)?;
        a_day += number * delay * rate;
    }
    let mut w = Working::new("Cost of traffic delay", CITED);
    w.given("d", "days", days, "day");
    w.given("c", "cost of delay a day, all classes", a_day, "/day");
    w.line(("C", "cost of delay"), "d·c", days * a_day, "");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 3 days, 200 vehicles, 0.05 h, 25 an hour.
    #[test]
    fn delay_adds_up() {
        let cars = Vehicles {
            a_day: 200.0,
            delay_h: 0.05,
            rate: 25.0,
        };
        let w = traffic_delay(3.0, &[cars]).unwrap();
        assert!((w.value() - 750.0).abs() < 1e-9);
        calculator::agrees(&w);
        assert_eq!(traffic_delay(3.0, &[]).unwrap().value(), 0.0);
        let back = Vehicles {
            delay_h: -0.1,
            ..cars
        };
        assert!(traffic_delay(3.0, &[back]).is_err());
    }
}
