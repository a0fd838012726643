//! A pipe in sand for the tests of this room.

use super::{Ground, Jacked};

/// Thirty metres of 300 mm outside.
pub const PIPE: Jacked = Jacked {
    od_mm: 300.0,
    length_m: 30.0,
};

/// Dense sand.
pub const SAND: Ground = Ground {
    unit_weight_kn_m3: 19.0,
    friction_deg: 32.0,
    cohesion_kpa: 0.0,
    pipe_mu: 0.40,
};
