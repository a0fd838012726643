//! Days on site, and days until a yard is as it was.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Range, Working, asked},
};

const CITED: Cited = Cited::unsourced(
    "setting up, then each pass at its rate; rates are the user's",
    Tag::Derived,
);

/// Days of work in a yard, bored or dug: three or four; common practice.
pub const YARD_DAYS: Range = Range {
    low: 3.0,
    expected: 3.5,
    high: 4.0,
};

/// Days to put a yard back after it was dug: about two weeks of working days; common practice. A bored yard has only its pits.
pub const RESTORING_DAYS: f64 = 10.0;

const YARDS: Cited = Cited::unsourced(
    "boring a yard takes about as long as digging it, three or four days; a dug one then takes about two weeks to be put back",
    Tag::CommonPractice,
);

/// Days until so many yards are as they were, one after the other: `T = n·(w + r)`.
///
/// # Units
/// `work` in one yard, bored or dug ([`YARD_DAYS`]); `back` to put back one that was dug ([`RESTORING_DAYS`]).
///
/// # Errors
/// Days below 0, more than a year of them.
pub fn yard_days(yards: u32, work: f64, back: f64) -> Result<Working, OutOfRange> {
    let days = |quantity, value| asked(quantity, value, "day").within(0.0, 366.0, YARDS);
    let mut w = Working::new("Days until the yards are as they were", YARDS);
    let n = w.given("n", "yards", f64::from(yards), "");
    let work = w.given("w", "work in one", days("work in a yard", work)?, "day");
    let back = w.given(
        "r",
        "putting one back",
        days("putting a yard back", back)?,
        "day",
    );
    w.line(("T", "days"), "n·(w + r)", n * (work + back), "day");
    Ok(w)
}

/// How fast a crew is. No published rates of small guided bores were found: all are the user's.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct CrewRates {
    /// Days to set up in a launch pit.
    pub setup_days: f64,
    /// Days to turn the rig in its pit.
    pub turn_days: f64,
    /// Pilot (m/day).
    pub pilot_m_day: f64,
    /// Auger and casing (m/day).
    pub auger_m_day: f64,
    /// Product pipe (m/day).
    pub pipe_m_day: f64,
}

/// Crew days: `T = s·n + t·m + L/p + L/a + L/q` for so many launch pits, turns and metres.
///
/// # Errors
/// A rate that is not above 0, days or a length below 0.
pub fn crew_days(
    rates: CrewRates,
    launches: u32,
    turns: u32,
    length_m: f64,
) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Crew days", CITED);
    let days = |quantity, value| asked(quantity, value, "day").not_negative(CITED);
    let rate = |quantity, value| asked(quantity, value, "m/day").positive(CITED);
    let s = w.given(
        "s",
        "setting up",
        days("setting up", rates.setup_days)?,
        "day",
    );
    let t = w.given("t", "a turn", days("a turn", rates.turn_days)?, "day");
    let n = w.given("n", "launch pits", f64::from(launches), "");
    let m = w.given("m", "turns", f64::from(turns), "");
    let length = asked("length bored", length_m, "m").not_negative(CITED)?;
    w.given("L", "length bored", length, "m");
    let p = w.given("p", "pilot", rate("pilot", rates.pilot_m_day)?, "m/day");
    let a = w.given("a", "auger", rate("auger", rates.auger_m_day)?, "m/day");
    let q = w.given("q", "pipe", rate("pipe", rates.pipe_m_day)?, "m/day");
    let total = s * n + t * m + length / p + length / a + length / q;
    w.line(
        ("T", "crew days"),
        "s·n + t·m + L/p + L/a + L/q",
        total,
        "day",
    );
    Ok(w)
}

/// Crew days of one drive at one rate for all passes: `T = s + L/r`.
///
/// # Errors
/// A rate or length that is not above 0, days below 0.
pub fn drive_days(setup_days: f64, length_m: f64, m_day: f64) -> Result<Working, OutOfRange> {
    let s = asked("setting up", setup_days, "day").not_negative(CITED)?;
    let length = asked("length bored", length_m, "m").positive(CITED)?;
    let rate = asked("metres a day", m_day, "m/day").positive(CITED)?;
    let mut w = Working::new("Crew days of the drive", CITED);
    w.given("s", "setting up", s, "day");
    w.given("L", "length bored", length, "m");
    w.given("r", "bored a day", rate, "m/day");
    w.line(("T", "crew days"), "s + L/r", s + length / rate, "day");
    Ok(w)
}

/// Length that is bored and piped within one working day (m), so that no stop overnight falls into the drive.
///
/// # Errors
/// A rate or day that is not above 0.
pub fn restart_free_length(rates: CrewRates, day_share: f64) -> Result<Working, OutOfRange> {
    let share = asked("share of the day", day_share, "").within(f64::MIN_POSITIVE, 1.0, CITED)?;
    let a = asked("auger", rates.auger_m_day, "m/day").positive(CITED)?;
    let q = asked("pipe", rates.pipe_m_day, "m/day").positive(CITED)?;
    let mut w = Working::new("Length bored and piped without a stop overnight", CITED);
    w.given("k", "share of the day", share, "");
    w.given("a", "auger", a, "m/day");
    w.given("q", "pipe", q, "m/day");
    let length = share / (1.0 / a + 1.0 / q);
    w.line(("L", "length"), "k/(1/a + 1/q)", length, "m");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    const RATES: CrewRates = CrewRates {
        setup_days: 0.5,
        turn_days: 0.25,
        pilot_m_day: 60.0,
        auger_m_day: 30.0,
        pipe_m_day: 20.0,
    };

    #[test]
    fn a_dug_yard_takes_weeks_longer() {
        let days = |work, back| yard_days(2, work, back).unwrap();
        assert_eq!(YARD_DAYS.map(|w| days(w, 0.0).value()).low, 6.0);
        assert_eq!(days(YARD_DAYS.high, RESTORING_DAYS).value(), 28.0);
        calculator::agrees(&days(3.5, 10.0));
        assert!(yard_days(1, -1.0, 0.0).is_err());
    }

    #[test]
    fn days_add_up() {
        let w = crew_days(RATES, 2, 1, 60.0).unwrap();
        assert!((w.value() - (1.0 + 0.25 + 1.0 + 2.0 + 3.0)).abs() < 1e-12);
        calculator::agrees(&w);
        let drive = drive_days(0.5, 30.0, 15.0).unwrap();
        assert_eq!(drive.value(), 2.5);
        calculator::agrees(&drive);
        let through = restart_free_length(RATES, 1.0).unwrap();
        assert!((through.value() - 12.0).abs() < 1e-9);
        calculator::agrees(&through);
        let idle = CrewRates {
            pilot_m_day: 0.0,
            ..RATES
        };
        assert!(crew_days(idle, 1, 0, 10.0).is_err());
    }
}
