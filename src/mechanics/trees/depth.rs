//! How deep a bore passes under trees.

use crate::{
    bibliography::{Cited, Source},
    mechanics::{OutOfRange, Working, asked},
};

const FT: f64 = 0.3048;

/// Most roots lie within this depth (m), NJUG volume 4.
pub const ROOTS_WITHIN_M: f64 = 0.6;

/// A rule for bores near trees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct UnderTree {
    /// Greatest trunk it is for (m); none: any.
    pub trunk_to_m: Option<f64>,
    /// Nearer to the trunk than this (m) ...
    pub within_m: f64,
    /// ... the bore keeps this depth (m).
    pub depth_m: f64,
    /// Where it is from.
    pub cited: Cited,
}

const ARLINGTON: Cited = Cited::read(Source::ArlingtonTrees, "boring near trees");

/// Depth of bores near trees: trunks to 6 in within 10 ft, larger ones within 15 ft, 4.5 ft deep.
///
/// # Source
/// [Arlington County, Virginia](Source::ArlingtonTrees).
const RULES: [UnderTree; 2] = [
    UnderTree {
        trunk_to_m: Some(0.1524),
        within_m: 10.0 * FT,
        depth_m: 4.5 * FT,
        cited: ARLINGTON,
    },
    UnderTree {
        trunk_to_m: None,
        within_m: 15.0 * FT,
        depth_m: 4.5 * FT,
        cited: ARLINGTON,
    },
];

/// The rule for a trunk: within which distance which depth.
///
/// # Source
/// [Arlington County, Virginia](Source::ArlingtonTrees).
pub fn cover_under_trees(trunk_m: f64) -> UnderTree {
    let fits = |r: &&UnderTree| r.trunk_to_m.is_none_or(|most| trunk_m <= most + 1e-9);
    *RULES
        .iter()
        .find(fits)
        .expect("the last row is for any trunk")
}

/// What a bore passes under a tree with beyond what the rule for its trunk asks (m); nothing is asked beyond the rule's distance.
///
/// # Errors
/// A trunk outside 0.01 to 5 m, a distance below 0, a cover that is no number.
///
/// # Source
/// [Arlington County, Virginia](Source::ArlingtonTrees).
pub fn under_tree(trunk_m: f64, beside_m: f64, cover_m: f64) -> Result<Working, OutOfRange> {
    let trunk = asked("trunk diameter", trunk_m, "m").within(0.01, 5.0, ARLINGTON)?;
    let beside = asked("distance from the trunk", beside_m, "m").not_negative(ARLINGTON)?;
    let cover = asked("cover", cover_m, "m").within(-100.0, 100.0, ARLINGTON)?;
    let rule = cover_under_trees(trunk);
    let mut w = Working::new("Depth under the roots of a tree", ARLINGTON);
    w.given("D", "trunk diameter", trunk, "m");
    w.given("y", "distance of the bore from the trunk", beside, "m");
    w.given(
        "r",
        "distance within which the rule asks",
        rule.within_m,
        "m",
    );
    w.given("H", "cover of the bore there", cover, "m");
    let asks = beside < rule.within_m;
    let least = if asks { rule.depth_m } else { 0.0 };
    let least = w.given("H_min", "depth that the rule asks there", least, "m");
    w.line(("m", "depth beyond it"), "H - H_min", cover - least, "m");
    Ok(w)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_bore_near_a_trunk_needs_depth_and_one_beyond_needs_none() {
        let near = under_tree(0.5, 4.0, 1.5).unwrap();
        assert!((near.value() - (1.5 - 4.5 * FT)).abs() < 1e-12);
        crate::mechanics::calculator::agrees(&near);
        assert_eq!(under_tree(0.5, 5.0, 1.5).unwrap().value(), 1.5);
        assert!(under_tree(0.0, 4.0, 1.5).is_err());
    }

    #[test]
    fn large_trees_reach_farther() {
        assert!((cover_under_trees(0.15).within_m - 3.048).abs() < 1e-12);
        assert!((cover_under_trees(0.16).within_m - 4.572).abs() < 1e-12);
        assert_eq!(cover_under_trees(0.16).depth_m, 4.5 * FT);
    }
}
