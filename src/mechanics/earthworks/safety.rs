//! What rules ask of open pits: support, spoil kept back, ladders. No support is designed here.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const OSHA: Cited = Cited::restated(Source::OshaSubpartP, "excavations by the numbers");
const FT: f64 = 0.3048;

/// Depth from which a pit is supported or battered.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Support {
    /// Depth (m).
    pub from_m: f64,
    /// Where it is from.
    pub cited: Cited,
}

/// Depths from which walls are supported, battered or benched, by three rule books.
pub const SUPPORT_FROM: [Support; 3] = [
    Support {
        from_m: 5.0 * FT,
        cited: Cited::read(Source::OshaSubpartP, "protective system"),
    },
    Support {
        from_m: 1.5,
        cited: Cited::read(Source::NtWhsRegulations, "regulation 306"),
    },
    Support {
        from_m: 1.25,
        cited: Cited::read(Source::Din4124, "unsupported vertical walls"),
    },
];

/// Deepest pit with vertical walls to 1.25 m and a 45° batter above (m), DIN 4124.
pub const DIN_BATTERED_M: f64 = 1.75;
/// Strip to be kept clear along both sides (m), DIN 4124.
pub const DIN_STRIP_M: f64 = 0.60;
/// Deeper than this a registered engineer designs the protection (ft), OSHA.
pub const OSHA_DESIGNED_FROM_FT: f64 = 20.0;
/// A ladder stands so far above the ground (ft), OSHA.
pub const LADDER_ABOVE_FT: f64 = 3.0;
/// Ladders are asked for from this depth (ft), OSHA.
pub const EGRESS_FROM_FT: f64 = 4.0;
/// A shield stands so far above the vertical part (in), OSHA.
pub const SHIELD_ABOVE_IN: f64 = 18.0;
/// Deepest excavation below a shield (ft), OSHA.
pub const SHIELD_BELOW_FT: f64 = 2.0;
/// Farthest way to a ladder (m), OSHA: 25 ft.
const TRAVEL_M: f64 = 25.0 * FT;

/// Least distance of spoil and plant from the edge (m): 2 ft.
///
/// # Source
/// [OSHA subpart P](Source::OshaSubpartP), as restated; DIN 4124 asks for 0.60 m.
pub fn spoil_set_back_m() -> f64 {
    2.0 * FT
}

/// Ladders along a pit or trench, none more than 25 ft away: `⌈L/(2·25 ft)⌉`, none needed less than 4 ft deep.
///
/// # Errors
/// No length, a depth below 0.
///
/// # Source
/// [OSHA subpart P](Source::OshaSubpartP), as restated.
pub fn ladders(length_m: f64, depth_m: f64) -> Result<Working, OutOfRange> {
    let length = asked("length", length_m, "m").positive(OSHA)?;
    let depth = asked("depth", depth_m, "m").not_negative(OSHA)?;
    let mut w = Working::new("Ladders", OSHA);
    w.given("L", "length", length, "m");
    w.given("H", "depth", depth, "m");
    w.given("l", "farthest way to a ladder", TRAVEL_M, "m");
    let (formula, number) = if depth < EGRESS_FROM_FT * FT {
        ("0·L", 0.0)
    } else {
        ("ceil(L/(2·l))", (length / (2.0 * TRAVEL_M) - 1e-6).ceil())
    };
    w.line(("n", "ladders"), formula, number, "");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 20 m of trench takes two.
    #[test]
    fn a_ladder_every_fifty_feet() {
        let at = |length, depth| ladders(length, depth).unwrap();
        assert_eq!(at(20.0, 2.0).value(), 2.0);
        assert_eq!(at(15.24, 2.0).value(), 1.0);
        assert_eq!(at(3.0, 1.2).value(), 0.0);
        calculator::agrees(&at(20.0, 2.0));
        calculator::agrees(&at(3.0, 1.2));
        assert!(ladders(0.0, 2.0).is_err());
    }
}
