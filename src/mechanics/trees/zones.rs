//! Radii of root zones.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};
use std::f64::consts::PI;

const AS4970: Cited = Cited::restated(Source::As4970, "tree protection zone; structural root zone");
const BS5837: Cited = Cited::restated(
    Source::Bs5837,
    "root protection area; several stems from memory",
);
const NJUG: Cited = Cited::read(Source::NjugVolume4, "precautionary zone");
const US: Cited = Cited::read(Source::AvonLakeOh, "tunnelling near trees");

/// Greatest root protection area (m2), BS 5837.
pub const RPA_CAP_M2: f64 = 707.0;
/// Nobody digs nearer than this to a trunk (m), NJUG volume 4.
pub const NJUG_PROHIBITED_M: f64 = 1.0;
/// Digging within these distances needs a permit (ft): Avon Lake, Ohio, and Danbury, Connecticut.
pub const PERMIT_RADIUS_FT: [f64; 2] = [10.0, 20.0];
/// Radius of a fence by trunk diameter (ft for each inch).
pub const FEET_BY_INCH: f64 = 1.0;

/// Trunks that any table knows (m).
const TRUNK_M: [f64; 2] = [0.01, 5.0];

/// Radius of the tree protection zone (m): twelve trunks at 1.4 m up, 2 to 15 m.
///
/// # Errors
/// A trunk outside 0.01 to 5 m.
///
/// # Source
/// [AS 4970](Source::As4970), 2009, as restated; the bounds from memory. Revised in 2025: check.
pub fn protection_zone(trunk_m: f64) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Tree protection zone, AS 4970", AS4970);
    let d = trunk(&mut w, trunk_m, AS4970)?;
    let radius = (12.0 * d).clamp(2.0, 15.0);
    w.line(("r", "radius"), "min(15, max(2, 12·D))", radius, "m");
    Ok(w)
}

/// Radius of the structural root zone (m): `(50·D)^0.42·0.64`, D above the root crown, never below 1.5 m.
///
/// # Errors
/// A trunk outside 0.01 to 5 m.
///
/// # Source
/// [AS 4970](Source::As4970), 2009, as restated.
pub fn structural_zone(trunk_m: f64) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Structural root zone, AS 4970", AS4970);
    let d = trunk(&mut w, trunk_m, AS4970)?;
    let radius = (0.64 * (50.0 * d).powf(0.42)).max(1.5);
    w.line(("r", "radius"), "max(1.5, 0.64·(50·D)^0.42)", radius, "m");
    Ok(w)
}

/// Radius of the root protection area (m): twelve stems at 1.5 m up, no more than 15 m.
///
/// Two to five stems count as the root of the sum of their squares, more as the root of their number times their mean squared.
///
/// # Errors
/// No stem, or one outside 0.01 to 5 m.
///
/// # Source
/// [BS 5837](Source::Bs5837), 2012; as restated, several stems from memory.
pub fn root_protection_radius(stems_m: &[f64]) -> Result<Working, OutOfRange> {
    let n = asked("stems", stems_m.len() as f64, "").within(1.0, 100.0, BS5837)?;
    for stem in stems_m {
        asked("stem", *stem, "m").within(TRUNK_M[0], TRUNK_M[1], BS5837)?;
    }
    let mut w = Working::new("Root protection area, BS 5837", BS5837);
    let squares: f64 = stems_m.iter().map(|d| d * d).sum();
    let mean = stems_m.iter().sum::<f64>() / n;
    w.given("N", "stems", n, "");
    let d = if stems_m.len() <= 5 {
        w.given("q", "sum of squares of the stems", squares, "m2");
        w.line(("D", "stems as one"), "√q", squares.sqrt(), "m")
    } else {
        w.given("m", "mean stem", mean, "m");
        w.line(
            ("D", "stems as one"),
            "√(N·m²)",
            (n * mean * mean).sqrt(),
            "m",
        )
    };
    w.line(("r", "radius"), "min(15, 12·D)", (12.0 * d).min(15.0), "m");
    Ok(w)
}

/// Radius of the precautionary zone (m): four girths.
///
/// # Errors
/// A trunk outside 0.01 to 5 m.
///
/// # Source
/// [NJUG volume 4](Source::NjugVolume4), operatives' handout.
pub fn precautionary_zone(trunk_m: f64) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Precautionary zone, NJUG volume 4", NJUG);
    let d = trunk(&mut w, trunk_m, NJUG)?;
    w.line(("r", "radius"), "4·π·D", 4.0 * PI * d, "m");
    Ok(w)
}

/// Radius of a fence round a tree (m): a foot for each inch of trunk.
///
/// # Errors
/// A trunk outside 0.01 to 5 m.
///
/// # Source
/// [Avon Lake, Ohio](Source::AvonLakeOh), and others alike.
pub fn fence_radius(trunk_m: f64) -> Result<Working, OutOfRange> {
    let mut w = Working::new("Fence round the tree, a foot by the inch", US);
    let d = trunk(&mut w, trunk_m, US)?;
    w.line(("r", "radius"), "12·D", 12.0 * FEET_BY_INCH * d, "m");
    Ok(w)
}

fn trunk(w: &mut Working, trunk_m: f64, cited: Cited) -> Result<f64, OutOfRange> {
    let d = asked("trunk diameter", trunk_m, "m").within(TRUNK_M[0], TRUNK_M[1], cited)?;
    Ok(w.given("D", "trunk diameter", d, "m"))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: trunk, structural zone, protection zone.
    #[test]
    fn zones_grow_with_the_trunk() {
        for (d, structural, protection) in [
            (0.10, 1.500, 2.0),
            (0.20, 1.683, 2.4),
            (0.30, 1.996, 3.6),
            (0.40, 2.252, 4.8),
            (0.50, 2.474, 6.0),
            (0.60, 2.670, 7.2),
            (0.80, 3.013, 9.6),
            (1.00, 3.309, 12.0),
        ] {
            let (s, p) = (structural_zone(d).unwrap(), protection_zone(d).unwrap());
            assert!((s.value() - structural).abs() < 6e-4, "{d}: {}", s.value());
            assert!((p.value() - protection).abs() < 1e-9, "{d}");
            calculator::agrees(&s);
            calculator::agrees(&p);
        }
    }

    /// Worked by hand: three stems; a girth of π/2.
    #[test]
    fn several_stems_and_girths() {
        let three = root_protection_radius(&[0.25, 0.30, 0.20]).unwrap();
        assert!((three.term("D").unwrap().value - 0.4387).abs() < 1e-4);
        assert!((three.value() - 5.265).abs() < 6e-4, "{}", three.value());
        let many = root_protection_radius(&[0.1; 9]).unwrap();
        assert!((many.value() - 3.6).abs() < 1e-9);
        let girth = precautionary_zone(0.50).unwrap();
        assert!((girth.value() * 1000.0 - 6283.0).abs() < 0.5);
        for w in [three, many, girth, fence_radius(0.3).unwrap()] {
            calculator::agrees(&w);
        }
    }

    #[test]
    fn the_protection_zone_ends_at_fifteen_metres() {
        assert_eq!(protection_zone(1.5).unwrap().value(), 15.0);
    }

    #[test]
    fn no_tree_is_refused() {
        assert!(structural_zone(0.0).is_err() && protection_zone(-0.3).is_err());
        assert!(root_protection_radius(&[]).is_err());
        assert!(root_protection_radius(&[0.3, f64::NAN]).is_err());
    }
}
