//! The unit of lengths and levels in what people set out by.

/// A unit of length.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// The metre.
    Metre,
    /// The international foot.
    Foot,
    /// The US survey foot.
    SurveyFoot,
}

impl Unit {
    /// Metres in one.
    ///
    /// # Source
    /// NIST Special Publication 811 (2008), appendix B.6: 0.3048 m, and 1200/3937 m for the survey foot. From memory.
    pub fn metres(self) -> f64 {
        match self {
            Unit::Metre => 1.0,
            Unit::Foot => 0.3048,
            Unit::SurveyFoot => 1200.0 / 3937.0,
        }
    }

    /// As names of columns and labels end.
    pub fn word(self) -> &'static str {
        match self {
            Unit::Metre => "m",
            Unit::Foot => "ft",
            Unit::SurveyFoot => "usft",
        }
    }

    /// Metres in this unit.
    pub fn of(self, metres: f64) -> f64 {
        metres / self.metres()
    }

    /// Millimetres in the small unit that goes with it: the millimetre, or the inch (a twelfth of its foot).
    pub fn small(self, millimetres: f64) -> f64 {
        match self {
            Unit::Metre => millimetres,
            _ => millimetres / 1000.0 / self.metres() * 12.0,
        }
    }

    /// The small unit.
    pub fn small_word(self) -> &'static str {
        match self {
            Unit::Metre => "mm",
            _ => "in",
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn feet_and_inches() {
        assert!((Unit::Foot.of(3.048) - 10.0).abs() < 1e-12);
        assert!((Unit::Foot.small(25.4) - 1.0).abs() < 1e-12);
        assert!((Unit::SurveyFoot.of(1200.0) - 3937.0).abs() < 1e-9);
    }
}
