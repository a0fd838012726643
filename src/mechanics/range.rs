//! Ranges: what a formula holds for, and what the trade knows of a value.

use crate::bibliography::Cited;
use std::fmt;

/// A formula was asked beyond what its source holds for.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("{quantity} is {} {unit}; {} holds from {} to {} {unit}", figure(*.value), .cited, figure(*.low), figure(*.high))]
pub struct OutOfRange {
    /// What was asked.
    pub quantity: &'static str,
    /// Its value.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
    /// Least value the source holds for.
    pub low: f64,
    /// Greatest.
    pub high: f64,
    /// The source.
    pub cited: Cited,
}

/// A quantity with its unit, as a formula takes it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Asked {
    /// What it is, in words.
    pub quantity: &'static str,
    /// Its value.
    pub value: f64,
    /// Its unit.
    pub unit: &'static str,
}

/// A quantity of which only a range is known.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Least.
    pub low: f64,
    /// Expected.
    pub expected: f64,
    /// Greatest.
    pub high: f64,
}

/// Names a quantity.
pub fn asked(quantity: &'static str, value: f64, unit: &'static str) -> Asked {
    Asked {
        quantity,
        value,
        unit,
    }
}

impl Asked {
    /// The value, where it lies within both ends.
    ///
    /// # Errors
    /// It does not, or is no number.
    pub fn within(self, low: f64, high: f64, cited: Cited) -> Result<f64, OutOfRange> {
        if self.value.is_finite() && (low..=high).contains(&self.value) {
            Ok(self.value)
        } else {
            Err(OutOfRange {
                quantity: self.quantity,
                value: self.value,
                unit: self.unit,
                low,
                high,
                cited,
            })
        }
    }

    /// The value, where it is above 0.
    ///
    /// # Errors
    /// It is not, or is no number.
    pub fn positive(self, cited: Cited) -> Result<f64, OutOfRange> {
        self.within(f64::MIN_POSITIVE, f64::MAX, cited)
    }

    /// The value, where it is not below 0.
    ///
    /// # Errors
    /// It is, or is no number.
    pub fn not_negative(self, cited: Cited) -> Result<f64, OutOfRange> {
        self.within(0.0, f64::MAX, cited)
    }
}

impl Range {
    /// The range with every value in it, low and high moved out where needed; what is expected stays.
    pub fn with(self, values: impl IntoIterator<Item = f64>) -> Range {
        values.into_iter().fold(self, |r, v| Range {
            low: r.low.min(v),
            high: r.high.max(v),
            ..r
        })
    }

    /// Every end through the same rising function.
    pub fn map(self, f: impl Fn(f64) -> f64) -> Range {
        Range {
            low: f(self.low),
            expected: f(self.expected),
            high: f(self.high),
        }
    }
}

impl fmt::Display for Range {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let [low, expected, high] = [self.low, self.expected, self.high].map(figure);
        write!(f, "{low} to {high}, expected {expected}")
    }
}

/// A number as people write it: four significant figures, no zeros at its end, all digits before the point.
pub fn figure(x: f64) -> String {
    if x == f64::MAX || x.is_infinite() {
        return if x > 0.0 { "any" } else { "-any" }.to_string();
    }
    if x == 0.0 || x.abs() == f64::MIN_POSITIVE {
        return "0".to_string();
    }
    if x.abs() < 1e-4 {
        return format!("{x:.3e}");
    }
    let before_point = x.abs().log10().floor() as i32 + 1;
    let decimals = usize::try_from(4 - before_point).unwrap_or(0);
    let text = format!("{x:.decimals$}");
    if text.contains('.') {
        text.trim_end_matches('0').trim_end_matches('.').to_string()
    } else {
        text
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::bibliography::{Source, Tag};

    #[test]
    fn beyond_a_range_the_source_and_its_ends_are_named() {
        let cited = Cited::from_memory(Source::OReillyNew1982, "clay");
        let depth = asked("depth to axis", 2.0, "m");
        let said = depth.within(3.0, 34.0, cited).unwrap_err().to_string();
        assert!(said.starts_with("depth to axis is 2 m; "), "{said}");
        assert!(said.ends_with("holds from 3 to 34 m"), "{said}");
        assert_eq!(depth.within(2.0, 34.0, cited), Ok(2.0));
    }

    #[test]
    fn what_is_no_number_is_in_no_range() {
        let cited = Cited::unsourced("geometry", Tag::Derived);
        for x in [f64::NAN, f64::INFINITY, -1.0] {
            assert!(asked("length", x, "m").not_negative(cited).is_err());
        }
        assert!(asked("length", 0.0, "m").positive(cited).is_err());
    }

    #[test]
    fn a_range_takes_in_other_values() {
        let range = Range {
            low: 2.0,
            expected: 3.0,
            high: 4.0,
        };
        let wider = range.with([1.0, 3.5]);
        assert_eq!((wider.low, wider.expected, wider.high), (1.0, 3.0, 4.0));
        assert_eq!(wider.to_string(), "1 to 4, expected 3");
    }

    #[test]
    fn figures_are_short() {
        let as_written = [
            (73.9134, "73.91"),
            (0.16, "0.16"),
            (1234567.0, "1234567"),
            (0.00013, "0.00013"),
            (1.31e-6, "1.310e-6"),
            (-2.5, "-2.5"),
            (999.96, "1000"),
            (100.0, "100"),
        ];
        for (x, text) in as_written {
            assert_eq!(figure(x), text);
        }
    }
}
