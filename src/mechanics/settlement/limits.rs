//! What settlement and slope do to buildings.

use crate::bibliography::{Cited, Source};

/// How a building fares, by Rankin's names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Damage {
    /// Superficial damage unlikely.
    Negligible,
    /// Superficial damage possible, of no structural significance.
    Slight,
    /// More than that is to be expected.
    Expected,
}

/// Below these settlements (mm) and slopes (1 in) damage stays in its class; **both** must hold.
///
/// # Source
/// [Rankin 1988](Source::Rankin1988); from memory.
pub const RANKIN: [(Damage, f64, f64); 2] = [
    (Damage::Negligible, 10.0, 500.0),
    (Damage::Slight, 50.0, 200.0),
];

/// Where the classes are from.
pub const RANKIN_CITED: Cited = Cited::from_memory(Source::Rankin1988, "risk categories of damage");

/// Class of damage by settlement and slope (m/m), both looked at: a shallow small bore can keep to the one and not the other.
///
/// # Source
/// [Rankin 1988](Source::Rankin1988); from memory.
pub fn damage(settlement_mm: f64, slope: f64) -> Damage {
    let within =
        |(_, mm, one_in): &&(Damage, f64, f64)| settlement_mm < *mm && slope * one_in < 1.0;
    RANKIN
        .iter()
        .find(within)
        .map_or(Damage::Expected, |row| row.0)
}

impl Damage {
    /// In words.
    pub fn word(self) -> &'static str {
        match self {
            Damage::Negligible => "negligible",
            Damage::Slight => "slight",
            Damage::Expected => "to be expected",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_limits_count() {
        assert_eq!(damage(7.24, 1.0 / 600.0), Damage::Negligible);
        assert_eq!(damage(7.24, 1.0 / 300.0), Damage::Slight);
        assert_eq!(damage(12.0, 1.0 / 600.0), Damage::Slight);
        assert_eq!(damage(7.24, 1.0 / 159.0), Damage::Expected);
        assert_eq!(damage(60.0, 0.0), Damage::Expected);
        assert_eq!(damage(f64::NAN, 0.0), Damage::Expected);
    }
}
