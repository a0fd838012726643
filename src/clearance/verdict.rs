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
