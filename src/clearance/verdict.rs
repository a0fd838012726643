//! What an encounter is called.

/// How a bore meets a service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Encounter {
    /// It crosses.
    Crossing,
    /// It runs beside.
    Parallel,
}

/// What a conflict row comes to, worst first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Too near, depth known.
    Clash,
    /// Depth unknown: expose it first.
    Prove,
    /// Near.
    Watch,
    /// Far enough by the records. Records are not proof.
    Clear,
}

impl Verdict {
    /// Of a margin where nothing is left to prove.
    pub fn of_margin(margin_m: f64, watch_margin_m: f64) -> Verdict {
        if margin_m < -super::LENGTH_TOLERANCE_M {
            Verdict::Clash
        } else if margin_m < watch_margin_m {
            Verdict::Watch
        } else {
            Verdict::Clear
        }
    }
}
