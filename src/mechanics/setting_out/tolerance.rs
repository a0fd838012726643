//! How far a laid sewer may be out of line and grade.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const TAURANGA: Cited = Cited::read(Source::TaurangaIdc, "CS-9.4");

/// A tolerance of line and level, the same at every diameter.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Tolerance {
    /// In plan (mm).
    pub line_mm: f64,
    /// In level (mm).
    pub level_mm: f64,
    /// Where it is from.
    pub cited: Cited,
}

/// Tolerances of one figure. For small sewers the rule by diameter is the tighter.
pub const TOLERANCES: [Tolerance; 1] = [Tolerance {
    line_mm: 20.0,
    level_mm: 20.0,
    cited: Cited::from_memory(Source::DesignConstructionGuidance, "line and level"),
}];

/// Deviation allowed from the straight line between manholes (mm): the lesser of 5 % of DN and 20 mm.
///
/// # Errors
/// A nominal diameter outside 50 to 3000 mm.
///
/// # Source
/// [Tauranga Infrastructure Development Code](Source::TaurangaIdc), CS-9.4.
pub fn lesser_of_share_and_limit(dn_mm: f64) -> Result<Working, OutOfRange> {
    let dn = asked("nominal diameter", dn_mm, "mm").within(50.0, 3000.0, TAURANGA)?;
    let mut w = Working::new("Deviation allowed in line and level", TAURANGA);
    w.given("DN", "nominal diameter", dn, "mm");
    let mm = (0.05 * dn).min(20.0);
    w.line(("δ", "deviation allowed"), "min(0.05·DN, 20)", mm, "mm");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    #[test]
    fn small_pipes_are_held_tighter() {
        let mm = |dn| lesser_of_share_and_limit(dn).unwrap().value();
        assert_eq!(
            [mm(100.0), mm(150.0), mm(400.0), mm(600.0)],
            [5.0, 7.5, 20.0, 20.0]
        );
        calculator::agrees(&lesser_of_share_and_limit(375.0).unwrap());
        assert!(lesser_of_share_and_limit(0.0).is_err());
    }
}
