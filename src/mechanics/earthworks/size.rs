//! Size of a launch pit, by pipe and segment.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Range, Working, asked},
};

const CITED: Cited = Cited::read(Source::Thomson1993, "drive and reception pits");

/// Pit length beyond the pipe segment (m): compact equipment, and both ends of the usual.
///
/// # Source
/// [Thomson 1993](Source::Thomson1993): 1.0 m the most compact, 1.5 to 2.0 m usual; some equipment takes up to 5.0 m.
pub const LENGTH_MORE_M: Range = Range {
    low: 1.0,
    expected: 1.5,
    high: 2.0,
};

/// Pit width beyond the pipe (m).
///
/// # Source
/// [Thomson 1993](Source::Thomson1993).
pub const WIDTH_MORE_M: f64 = 2.0;

/// Length of a launch pit (m), inside its support.
///
/// # Errors
/// A segment outside 0.3 to 6 m, room beyond it outside 1 to 5 m.
///
/// # Source
/// [Thomson 1993](Source::Thomson1993).
pub fn pit_length(segment_m: f64, more_m: f64) -> Result<Working, OutOfRange> {
    let segment = asked("pipe segment", segment_m, "m").within(0.3, 6.0, CITED)?;
    let more = asked("room beyond the segment", more_m, "m").within(1.0, 5.0, CITED)?;
    let mut w = Working::new("Length of the launch pit", CITED);
    w.given("L_s", "pipe segment", segment, "m");
    w.given("a", "room beyond it", more, "m");
    w.line(("L", "length"), "L_s + a", segment + more, "m");
    Ok(w)
}

/// Width of a launch pit (m), inside its support.
///
/// # Errors
/// No diameter.
///
/// # Source
/// [Thomson 1993](Source::Thomson1993).
pub fn pit_width(od_mm: f64) -> Result<Working, OutOfRange> {
    let od = asked("outside diameter", od_mm / 1000.0, "m").positive(CITED)?;
    let mut w = Working::new("Width of the launch pit", CITED);
    w.given("D", "outside diameter", od, "m");
    w.line(("W", "width"), "D + 2", od + WIDTH_MORE_M, "m");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: pipe 0.160, segment 1.0.
    #[test]
    fn a_compact_pit() {
        let width = pit_width(160.0).unwrap();
        assert!((width.value() - 2.16).abs() < 1e-12);
        let length = pit_length(1.0, LENGTH_MORE_M.low).unwrap();
        assert_eq!(length.value(), 2.0);
        calculator::agrees(&width);
        calculator::agrees(&length);
        assert!(pit_length(1.0, 0.5).is_err());
    }
}
