//! Spoil: how much, how much more once dug, how many loads.

use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const CITED: Cited = Cited::read(Source::SwellFactors, "swell by soil");
const LOADS: Cited = Cited::unsourced("volume of the hole; whole loads", Tag::Derived);

/// Soils of the table of swell.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Swell {
    /// Clay, dry or wet.
    Clay,
    /// Clay and gravel.
    ClayAndGravel,
    /// Loam, earth.
    Loam,
    /// Gravel.
    Gravel,
    /// Sand.
    Sand,
    /// Hardpan.
    Hardpan,
    /// Sandstone.
    Sandstone,
}

/// Swell by soil (%). Sources disagree (clay 20 to 40, earth 20 to 30): where it matters, it is measured.
///
/// # Source
/// [Swell factors](Source::SwellFactors).
pub const SWELL: [(Swell, f64); 7] = [
    (Swell::Clay, 40.0),
    (Swell::ClayAndGravel, 40.0),
    (Swell::Loam, 25.0),
    (Swell::Gravel, 12.0),
    (Swell::Sand, 12.0),
    (Swell::Hardpan, 50.0),
    (Swell::Sandstone, 54.0),
];

impl Swell {
    /// Swell (%).
    pub fn percent(self) -> f64 {
        let row = SWELL.iter().find(|(soil, _)| *soil == self);
        row.expect("every soil has its row").1
    }
}

/// Volume of a pit with upright sides (m3 in the ground).
///
/// # Errors
/// A side or depth that is not above 0.
pub fn pit_volume((length_m, width_m): (f64, f64), depth_m: f64) -> Result<Working, OutOfRange> {
    let length = asked("length", length_m, "m").positive(LOADS)?;
    let width = asked("width", width_m, "m").positive(LOADS)?;
    let depth = asked("depth", depth_m, "m").positive(LOADS)?;
    let mut w = Working::new("Volume of the pit", LOADS);
    w.given("L", "length", length, "m");
    w.given("W", "width", width, "m");
    w.given("H", "depth", depth, "m");
    w.line(
        ("V", "volume in the ground"),
        "L·W·H",
        length * width * depth,
        "m3",
    );
    Ok(w)
}

/// Volume once dug (m3): `loose = bank·(1 + swell/100)`.
///
/// # Errors
/// A volume below 0, swell outside 0 to 100 %.
///
/// # Source
/// [Swell factors](Source::SwellFactors) for the values.
pub fn loose_volume(bank_m3: f64, swell_percent: f64) -> Result<Working, OutOfRange> {
    let bank = asked("volume in the ground", bank_m3, "m3").not_negative(CITED)?;
    let swell = asked("swell", swell_percent, "%").within(0.0, 100.0, CITED)?;
    let mut w = Working::new("Spoil once dug", CITED);
    w.given("V", "volume in the ground", bank, "m3");
    w.given("b", "swell", swell, "%");
    let loose = bank * (1.0 + swell / 100.0);
    w.line(("V_l", "volume once dug"), "V·(1 + b/100)", loose, "m3");
    Ok(w)
}

/// Truck loads: `⌈loose/truck⌉`.
///
/// # Errors
/// A volume below 0, a truck outside 0.5 to 30 m3.
pub fn truck_loads(loose_m3: f64, truck_m3: f64) -> Result<Working, OutOfRange> {
    let loose = asked("volume once dug", loose_m3, "m3").not_negative(LOADS)?;
    let truck = asked("volume of a truck", truck_m3, "m3").within(0.5, 30.0, LOADS)?;
    let mut w = Working::new("Truck loads", LOADS);
    w.given("V_l", "volume once dug", loose, "m3");
    w.given("T", "volume of a truck", truck, "m3");
    let loads = (loose / truck - 1e-6).ceil().max(0.0);
    w.line(("n", "loads"), "max(0, ceil(V_l/T))", loads, "");
    Ok(w)
}

/// Spoil of a bore (m3 in the ground): the whole bore; what the pilot displaced is not taken off.
///
/// # Errors
/// No diameter or length.
pub fn bore_spoil(bore_mm: f64, length_m: f64) -> Result<Working, OutOfRange> {
    let bore = asked("bored diameter", bore_mm / 1000.0, "m").positive(LOADS)?;
    let length = asked("length", length_m, "m").positive(LOADS)?;
    let mut w = Working::new("Spoil of the bore", LOADS);
    w.given("D_c", "bored diameter", bore, "m");
    w.given("L", "length", length, "m");
    let volume = PI * bore * bore / 4.0 * length;
    w.line(("V", "volume in the ground"), "π·D_c²/4·L", volume, "m3");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 72 m3 of clay; a 324 mm bore of 40 m at 25 %.
    #[test]
    fn spoil_swells() {
        let clay = loose_volume(72.0, Swell::Clay.percent()).unwrap();
        assert!((clay.value() - 100.8).abs() < 1e-9);
        let bore = bore_spoil(324.0, 40.0).unwrap();
        assert!((bore.value() - 3.298).abs() < 5e-4);
        let loose = loose_volume(bore.value(), 25.0).unwrap();
        assert!((loose.value() - 4.122).abs() < 5e-4);
        let loads = truck_loads(clay.value(), 8.0).unwrap();
        assert_eq!(loads.value(), 13.0);
        for w in [clay, bore, loose, loads] {
            calculator::agrees(&w);
        }
    }

    #[test]
    fn a_full_truck_is_one_load() {
        assert_eq!(truck_loads(8.0, 8.0).unwrap().value(), 1.0);
        assert_eq!(truck_loads(8.1, 8.0).unwrap().value(), 2.0);
        assert_eq!(truck_loads(0.0, 8.0).unwrap().value(), 0.0);
        assert!(truck_loads(8.0, 0.0).is_err());
        assert!(loose_volume(8.0, 140.0).is_err());
    }
}
