//! How deep a bore passes under trees.

use crate::bibliography::{Cited, Source};

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

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn large_trees_reach_farther() {
        assert!((cover_under_trees(0.15).within_m - 3.048).abs() < 1e-12);
        assert!((cover_under_trees(0.16).within_m - 4.572).abs() < 1e-12);
        assert_eq!(cover_under_trees(0.16).depth_m, 4.5 * FT);
    }
}
