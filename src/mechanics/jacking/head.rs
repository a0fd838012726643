//! What stands against the head: a cutting edge, a pilot's tip.

use super::Jacked;
use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const EDGE: Cited = Cited::from_memory(Source::Herzog1985, "edge resistance by soil");
const TIP: Cited = Cited::unsourced("cone resistance on the pilot's area", Tag::FromMemory);

/// Soils of the table of edge resistances.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum EdgeSoil {
    /// Rock-like ground.
    Rock,
    /// Dense gravel.
    DenseGravel,
    /// Dense sand.
    DenseSand,
    /// Medium dense sand.
    MediumSand,
    /// Loose sand.
    LooseSand,
    /// Marl.
    Marl,
    /// Stiff clay.
    StiffClay,
    /// Silt and soft clay.
    SiltOrSoftClay,
}

/// Edge resistance by soil (kPa).
///
/// # Source
/// [Herzog 1985](Source::Herzog1985), as quoted by Stein; from memory.
pub const EDGE_RESISTANCE: [(EdgeSoil, f64); 8] = [
    (EdgeSoil::Rock, 12_000.0),
    (EdgeSoil::DenseGravel, 7_000.0),
    (EdgeSoil::DenseSand, 6_000.0),
    (EdgeSoil::MediumSand, 4_000.0),
    (EdgeSoil::LooseSand, 2_000.0),
    (EdgeSoil::Marl, 3_000.0),
    (EdgeSoil::StiffClay, 1_000.0),
    (EdgeSoil::SiltOrSoftClay, 400.0),
];

impl EdgeSoil {
    /// Edge resistance (kPa).
    pub fn resistance_kpa(self) -> f64 {
        let row = EDGE_RESISTANCE.iter().find(|(soil, _)| *soil == self);
        row.expect("every soil has its row").1
    }
}

/// Resistance at an open cutting edge with an auger inside (kN): `F = π·D·t·p`.
///
/// # Errors
/// An edge that is not thinner than half the diameter, or no diameter.
///
/// # Source
/// [Herzog 1985](Source::Herzog1985), as quoted by Stein; from memory.
pub fn edge_resistance(pipe: Jacked, edge_mm: f64, soil: EdgeSoil) -> Result<Working, OutOfRange> {
    let od = asked("outside diameter", pipe.od_mm / 1000.0, "m").positive(EDGE)?;
    let edge = asked("thickness of the cutting edge", edge_mm / 1000.0, "m");
    let edge = edge.within(0.0, od / 2.0, EDGE)?;
    let mut w = Working::new("Resistance at the cutting edge", EDGE);
    w.given("D", "outside diameter", od, "m");
    w.given("t", "thickness of the edge", edge, "m");
    let p = w.given(
        "p",
        "edge resistance of the soil",
        soil.resistance_kpa(),
        "kPa",
    );
    w.line(
        ("F", "edge resistance"),
        "π·D·t·p",
        PI * od * edge * p,
        "kN",
    );
    Ok(w)
}

/// Resistance at the tip of a pilot that displaces the soil (kN): `F = q·π·d²/4`.
///
/// # Valid for
/// Ground that is displaced: cone resistances up to 20 MPa.
///
/// # Errors
/// A cone resistance outside 0 to 20 MPa, no diameter.
pub fn pilot_tip(pilot_mm: f64, cone_mpa: f64) -> Result<Working, OutOfRange> {
    let d = asked("pilot diameter", pilot_mm / 1000.0, "m").positive(TIP)?;
    let q = asked("cone resistance", cone_mpa, "MPa").within(0.0, 20.0, TIP)?;
    let mut w = Working::new("Resistance at the pilot's tip", TIP);
    w.given("d", "pilot diameter", d, "m");
    w.given("q", "cone resistance", q, "MPa");
    let kn = 1000.0 * q * PI * d * d / 4.0;
    w.line(("F", "tip resistance"), "1000·q·π·d²/4", kn, "kN");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: d 0.090, 5 MPa.
    #[test]
    fn a_pilot_in_medium_ground() {
        let w = pilot_tip(90.0, 5.0).unwrap();
        assert!((w.value() - 31.8).abs() < 0.05);
        calculator::agrees(&w);
        assert!(pilot_tip(90.0, 25.0).is_err());
    }

    #[test]
    fn an_edge_is_a_ring() {
        let pipe = Jacked {
            od_mm: 160.0,
            length_m: 30.0,
        };
        let w = edge_resistance(pipe, 10.0, EdgeSoil::MediumSand).unwrap();
        calculator::agrees(&w);
        assert!(edge_resistance(pipe, 90.0, EdgeSoil::Marl).is_err());
    }

    #[test]
    fn every_soil_has_one_row() {
        let soils: Vec<_> = EDGE_RESISTANCE.iter().map(|r| r.0).collect();
        for (i, soil) in soils.iter().enumerate() {
            assert!(!soils[..i].contains(soil));
            assert_eq!(soil.resistance_kpa(), EDGE_RESISTANCE[i].1);
        }
    }
}
