//! A bore and jobs for the tests of this room.

use super::BoreFacts;
use crate::job::{Job, JobFile};

/// Thirty metres of DN 150.
pub const BORE: BoreFacts = BoreFacts {
    dn_mm: 150,
    od_mm: 160.0,
    id_mm: 150.6,
    bore_mm: 180.0,
    length_m: 30.0,
    grade: 0.01,
    min_cover_m: 1.5,
    tolerance_mm: 12.0,
    cost: 9000.0,
    trench_cost: 15_000.0,
    lots_served: Some(1),
    roots: Some(super::RootsPassed {
        trunk_m: 0.4,
        beside_m: 2.0,
        cover_m: 1.5,
    }),
};

/// The job of a text.
pub fn job(text: &str) -> Job {
    JobFile::parse(text, "job.toml").expect("reads").job
}
