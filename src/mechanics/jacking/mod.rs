//! Thrust: friction by several published models, what stands at the head, and what pipe and pit bear.
//!
//! Models of friction differ by a factor of eight for the same ground, so none of them is the answer: [`estimate`] puts
//! them side by side and says low, expected and high.

mod arching;
mod capacity;
mod estimate;
#[cfg(test)]
mod example;
mod head;
mod interface;
mod silo;
mod skin;
mod stop;
mod wall;

pub use arching::{ARCHING, arching_friction};
pub use capacity::{
    CLAY_ASTM_MPA, CLAY_ASTM_SAFETY, CLAY_EN_MPA, Gap, Joint, STEEL_MPA, pipe_capacity,
};
pub use estimate::{Drive, ThrustEstimate, estimate};
pub use head::{EDGE_RESISTANCE, EdgeSoil, edge_resistance, pilot_tip};
pub use interface::interface_friction;
pub use silo::{SiloSet, silo_friction};
pub use skin::{LUBRICATED_T_M2, SKIN_T_M2, TONNE_KPA, skin_friction, skin_range_kpa};
pub use stop::{RESTART, restart_thrust};
pub use wall::{WALL_SAFETY, thrust_wall};

/// A pipe pushed through the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Jacked {
    /// Outside diameter (mm).
    pub od_mm: f64,
    /// Length pushed (m).
    pub length_m: f64,
}

/// Ground round a pipe, for the models that need more than its name.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Ground {
    /// Unit weight (kN/m3).
    pub unit_weight_kn_m3: f64,
    /// Angle of internal friction (degrees).
    pub friction_deg: f64,
    /// Cohesion (kPa).
    pub cohesion_kpa: f64,
    /// Coefficient of friction between pipe and ground.
    pub pipe_mu: f64,
}
