//! Thrust: face resistance and skin friction.

use std::f64::consts::PI;

/// Diameters and pressures that thrust depends on.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pushed {
    /// Bored diameter (mm).
    pub bore_mm: f64,
    /// Pipe outside diameter (mm).
    pub od_mm: f64,
    /// Face pressure (kPa).
    pub face_kpa: f64,
    /// Skin friction (kPa).
    pub friction_kpa: f64,
}

/// Thrust (kN) at drive length `length_m`: `p·π/4·bore² + f·π·od·L`.
///
/// # Source
/// Face and skin resistance added, as in every jacking text; the values of p and f are the user's or the soil table's.
pub fn thrust_kn(at: Pushed, length_m: f64) -> f64 {
    let (bore, od) = (at.bore_mm / 1000.0, at.od_mm / 1000.0);
    at.face_kpa * PI / 4.0 * bore * bore + at.friction_kpa * PI * od * length_m
}

/// Length (m) at which the thrust reaches `limit_kn`; none where there is no friction. Never negative.
pub fn thrust_reach_m(at: Pushed, limit_kn: f64) -> Option<f64> {
    let face = thrust_kn(at, 0.0);
    let per_m = thrust_kn(at, 1.0) - face;
    (at.friction_kpa > 0.0).then(|| ((limit_kn - face) / per_m).max(0.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Handbook W2.1, skin friction of Pipe Jacking Association's range: OD 0.160, L 30, f 4.903 kPa: 73.9 kN.
    #[test]
    fn skin_friction_of_a_thirty_metre_drive() {
        let at = Pushed {
            bore_mm: 180.0,
            od_mm: 160.0,
            face_kpa: 0.0,
            friction_kpa: 4.903,
        };
        assert!((thrust_kn(at, 30.0) - 73.9).abs() < 0.05);
        assert!((thrust_reach_m(at, 73.9).unwrap() - 30.0).abs() < 0.02);
        assert_eq!(
            thrust_reach_m(
                Pushed {
                    friction_kpa: 0.0,
                    ..at
                },
                100.0
            ),
            None
        );
    }
}
