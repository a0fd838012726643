//! How wide a trench must be for people to work in it.

/// How a trench's sides stand.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Sides {
    /// Supported.
    Supported,
    /// Sloped, no steeper than 60° from the horizontal.
    Sloped,
    /// Unsupported and steeper.
    Steep,
}

/// Room beside the pipe, both sides together (m): table 1, by nominal diameter.
///
/// # Source
/// [EN 1610](crate::bibliography::Source::En1610), table 1, as reproduced by BG BAU's leaflet H 906.
pub fn working_space_m(dn_mm: u32, sides: Sides) -> f64 {
    if sides == Sides::Sloped {
        return 0.40;
    }
    match dn_mm {
        ..=225 => 0.40,
        226..=350 => 0.50,
        351..=700 => 0.70,
        701..=1200 => 0.85,
        _ => 1.00,
    }
}

/// Least width by depth (m): table 2; none prescribed less than a metre deep.
///
/// # Source
/// [EN 1610](crate::bibliography::Source::En1610), table 2, as reproduced by BG BAU's leaflet H 906.
pub fn least_width_m(depth_m: f64) -> Option<f64> {
    if depth_m < 1.0 {
        None
    } else if depth_m <= 1.75 {
        Some(0.80)
    } else if depth_m <= 4.0 {
        Some(0.90)
    } else {
        Some(1.00)
    }
}

/// Least width of a supported trench (m): the greater of the two tables.
///
/// # Source
/// [EN 1610](crate::bibliography::Source::En1610), tables 1 and 2.
pub fn trench_width_m(dn_mm: u32, od_m: f64, depth_m: f64) -> f64 {
    let by_diameter = od_m + working_space_m(dn_mm, Sides::Supported);
    by_diameter.max(least_width_m(depth_m).unwrap_or(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// EN 1610 (leaflet H 906): both tables, on both sides of their steps.
    #[test]
    fn trench_widths_of_both_tables() {
        assert_eq!(trench_width_m(150, 0.160, 2.0), 0.90);
        assert_eq!(trench_width_m(150, 0.160, 1.75), 0.80);
        assert!((trench_width_m(150, 0.160, 0.99) - 0.56).abs() < 1e-12);
        assert!((trench_width_m(225, 0.60, 1.5) - 1.00).abs() < 1e-12);
        assert!((trench_width_m(250, 0.60, 1.5) - 1.10).abs() < 1e-12);
        assert_eq!(trench_width_m(150, 0.160, 4.01), 1.00);
    }
}
