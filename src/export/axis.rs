//! Where a bore's axis meets the walls of its pits.

/// A pit in plan: its size along and across the bearing of its own axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Box {
    /// Along the axis (m).
    pub length_m: f64,
    /// Across it (m).
    pub width_m: f64,
    /// Bearing of the axis (degrees from grid north).
    pub bearing_deg: f64,
}

/// From the centre of a pit to its wall, along a bearing (m).
///
/// Infinite for a pit without size.
pub(super) fn to_wall_m(pit: &Box, bearing_deg: f64) -> f64 {
    let turn = (bearing_deg - pit.bearing_deg).to_radians();
    let half = |size: f64, share: f64| match share.abs() {
        share if share > 1e-12 => size / 2.0 / share,
        _ => f64::INFINITY,
    };
    half(pit.length_m, turn.cos()).min(half(pit.width_m, turn.sin()))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_wall_is_half_the_length_ahead_and_half_the_width_aside() {
        let pit = Box {
            length_m: 3.0,
            width_m: 1.6,
            bearing_deg: 350.0,
        };
        assert!((to_wall_m(&pit, 350.0) - 1.5).abs() < 1e-12);
        assert!((to_wall_m(&pit, 170.0) - 1.5).abs() < 1e-12);
        assert!((to_wall_m(&pit, 80.0) - 0.8).abs() < 1e-12);
        // 3-4-5: leaves through the long side.
        let bearing = 350.0 + (0.8_f64).atan2(0.6).to_degrees();
        assert!((to_wall_m(&pit, bearing) - 1.0).abs() < 1e-12);
    }
}
