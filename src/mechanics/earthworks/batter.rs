//! A pit with sloped sides instead of support: how wide, how much.

use crate::{
    bibliography::{Cited, Source, Tag},
    mechanics::{OutOfRange, Working, asked},
};

const CITED: Cited = Cited::unsourced("a pit with even slopes, by the prismoid", Tag::Derived);

/// Steepest slope without a design, by soil.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Slope {
    /// Soil, as the rule names it.
    pub soil: &'static str,
    /// Horizontal by vertical.
    pub across_by_down: f64,
    /// Deepest it holds for (m).
    pub to_depth_m: f64,
    /// Where it is from.
    pub cited: Cited,
}

const OSHA: Cited = Cited::read(Source::OshaSubpartP, "slopes by soil type");
const DIN: Cited = Cited::read(Source::Din4124, "slopes without proof");
const FT: f64 = 0.3048;

/// Slopes of two rule books. DIN prints angles (45°, 60°, 80°), OSHA ratios.
pub const SLOPES: [Slope; 7] = [
    slope("type A", 0.75, 20.0 * FT, OSHA),
    slope("type A, up to 24 hours", 0.5, 12.0 * FT, OSHA),
    slope("type B", 1.0, 20.0 * FT, OSHA),
    slope("type C", 1.5, 20.0 * FT, OSHA),
    slope("non-cohesive or soft cohesive", 1.0, 5.0, DIN),
    slope("stiff cohesive", 0.577_350_269_189_625_8, 5.0, DIN),
    slope("rock", 0.176_326_980_708_464_98, 5.0, DIN),
];

const fn slope(soil: &'static str, across_by_down: f64, to_depth_m: f64, cited: Cited) -> Slope {
    Slope {
        soil,
        across_by_down,
        to_depth_m,
        cited,
    }
}

impl Slope {
    /// Angle from the horizontal (degrees).
    pub fn angle_deg(&self) -> f64 {
        1f64.atan2(self.across_by_down).to_degrees()
    }
}

/// Width at the ground (m) of a pit with sloped sides: `W = w + 2·m·H`.
///
/// # Errors
/// A depth that is not above 0 or that the slope does not hold for, a width below 0.
///
/// # Source
/// [OSHA subpart P](Source::OshaSubpartP), [DIN 4124](Source::Din4124) for slope and depth.
pub fn top_width(base_m: f64, depth_m: f64, slope: &Slope) -> Result<Working, OutOfRange> {
    let base = asked("width at the floor", base_m, "m").not_negative(slope.cited)?;
    let depth = depth(depth_m, slope)?;
    let mut w = Working::new("Width of a battered pit at the ground", slope.cited);
    w.given("w", "width at the floor", base, "m");
    w.given("m", "slope, across by down", slope.across_by_down, "");
    w.given("H", "depth", depth, "m");
    let top = base + 2.0 * slope.across_by_down * depth;
    w.line(("W", "width at the ground"), "w + 2·m·H", top, "m");
    Ok(w)
}

/// Volume of a battered pit (m3), all four sides sloped: `H/6·(A_0 + 4·A_m + A_1)`.
///
/// # Errors
/// As [`top_width`].
pub fn battered_volume(
    (length_m, width_m): (f64, f64),
    depth_m: f64,
    slope: &Slope,
) -> Result<Working, OutOfRange> {
    let length = asked("length at the floor", length_m, "m").not_negative(CITED)?;
    let width = asked("width at the floor", width_m, "m").not_negative(CITED)?;
    let depth = depth(depth_m, slope)?;
    let mut w = Working::new("Volume of a battered pit", CITED);
    w.given("l", "length at the floor", length, "m");
    w.given("w", "width at the floor", width, "m");
    let m = w.given("m", "slope, across by down", slope.across_by_down, "");
    w.given("H", "depth", depth, "m");
    let area = |more: f64| (length + more * m * depth) * (width + more * m * depth);
    let floor = w.line(("A_0", "area of the floor"), "l·w", area(0.0), "m2");
    let middle = w.line(
        ("A_m", "area half-way up"),
        "(l + m·H)·(w + m·H)",
        area(1.0),
        "m2",
    );
    let top = w.line(
        ("A_1", "area at the ground"),
        "(l + 2·m·H)·(w + 2·m·H)",
        area(2.0),
        "m2",
    );
    let volume = depth / 6.0 * (floor + 4.0 * middle + top);
    w.line(("V", "volume"), "H/6·(A_0 + 4·A_m + A_1)", volume, "m3");
    Ok(w)
}

fn depth(depth_m: f64, slope: &Slope) -> Result<f64, OutOfRange> {
    asked("depth", depth_m, "m").within(f64::MIN_POSITIVE, slope.to_depth_m, slope.cited)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::mechanics::calculator;

    /// Worked by hand: 2.5 m deep at 1:1, floor 1.2 wide; floor 3.0 x 2.0.
    #[test]
    fn a_batter_takes_more_than_four_times_the_ground() {
        let one_to_one = &SLOPES[2];
        let top = top_width(1.2, 2.5, one_to_one).unwrap();
        assert!((top.value() - 6.2).abs() < 1e-12);
        let volume = battered_volume((3.0, 2.0), 2.5, one_to_one).unwrap();
        assert_eq!(volume.term("A_1").unwrap().value, 56.0);
        assert!((volume.value() - 67.08).abs() < 0.005);
        calculator::agrees(&top);
        calculator::agrees(&volume);
    }

    #[test]
    fn too_deep_for_a_slope_without_design_is_refused() {
        let din = &SLOPES[4];
        assert!(top_width(1.2, 5.0, din).is_ok() && top_width(1.2, 5.01, din).is_err());
        assert!(battered_volume((3.0, 2.0), 7.0, &SLOPES[2]).is_err());
    }
}
