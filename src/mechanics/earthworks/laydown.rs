//! Room beside the launch pit: pipes, power pack, spoil.

use crate::{
    bibliography::{Cited, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::unsourced(
    "pipes in one layer, power pack and spoil beside the pit; no published area is known",
    Tag::ProjectDefault,
);

/// What lies beside a launch pit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Laydown {
    /// Length bored (m).
    pub length_m: f64,
    /// Pipe outside diameter (mm).
    pub od_mm: f64,
    /// Pipe segment (m).
    pub segment_m: f64,
    /// Area of the power pack (m2).
    pub power_pack_m2: f64,
    /// Spoil kept there (m3 once dug).
    pub spoil_m3: f64,
    /// Height of the heap (m).
    pub heap_m: f64,
}

/// Area beside the launch pit (m2): pipes of the drive in one layer, power pack, a heap of spoil as a wedge of half its height.
///
/// # Errors
/// No length, diameter, segment or heap; an area or volume below 0.
pub fn laydown_area(at: Laydown) -> Result<Working, OutOfRange> {
    let length = asked("length bored", at.length_m, "m").positive(CITED)?;
    let od = asked("outside diameter", at.od_mm / 1000.0, "m").positive(CITED)?;
    let segment = asked("pipe segment", at.segment_m, "m").positive(CITED)?;
    let pack = asked("power pack", at.power_pack_m2, "m2").not_negative(CITED)?;
    let spoil = asked("spoil kept", at.spoil_m3, "m3").not_negative(CITED)?;
    let heap = asked("height of the heap", at.heap_m, "m").positive(CITED)?;
    let mut w = Working::new("Area beside the launch pit", CITED);
    w.given("L", "length bored", length, "m");
    w.given("D", "outside diameter", od, "m");
    w.given("L_s", "pipe segment", segment, "m");
    w.given("A_p", "power pack", pack, "m2");
    w.given("V_l", "spoil kept", spoil, "m3");
    w.given("H", "height of the heap", heap, "m");
    let pieces = (length / segment - 1e-6).ceil();
    w.line(("n", "pipes"), "ceil(L/L_s)", pieces, "");
    let area = pieces * segment * od + pack + 2.0 * spoil / heap;
    w.line(("A", "area"), "n·L_s·D + A_p + 2·V_l/H", area, "m2");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    #[test]
    fn whole_pipes_are_laid_down() {
        let at = Laydown {
            length_m: 30.5,
            od_mm: 160.0,
            segment_m: 1.0,
            power_pack_m2: 4.0,
            spoil_m3: 3.0,
            heap_m: 1.5,
        };
        let w = laydown_area(at).unwrap();
        assert_eq!(w.term("n").unwrap().value, 31.0);
        assert!((w.value() - (31.0 * 0.16 + 4.0 + 4.0)).abs() < 1e-12);
        calculator::agrees(&w);
        assert!(laydown_area(Laydown { heap_m: 0.0, ..at }).is_err());
    }
}
