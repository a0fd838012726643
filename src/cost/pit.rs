//! Cost of a pit and of the manhole in it.

use crate::{
    job::Costs,
    pits::{Dig, Footprint, Standing},
    site::{Site, Surface},
};

/// A pit's cost by depth.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PitRates {
    /// Whatever the depth.
    pub fixed: f64,
    /// By m of depth.
    pub per_m: f64,
    /// By m of depth, where it is supported.
    pub support_per_m: f64,
}

/// Area of a pit on each kind of surface (m2), whatever is not mapped being bare.
pub fn surface_areas(site: &Site, pit: &Footprint, standing: &Standing) -> Vec<(Surface, f64)> {
    let mut areas: std::collections::BTreeMap<Surface, f64> = Default::default();
    let mut bare = pit.area_m2();
    for &(i, area) in &standing.cover {
        *areas.entry(site.surfaces[i].surface).or_default() += area;
        bare -= area;
    }
    // What rounding leaves of a footprint that is mapped all over is not ground.
    if bare > 1e-9 {
        *areas.entry(Surface::Bare).or_default() += bare;
    }
    areas.into_iter().collect()
}

/// Price a m3 of pit, by who digs: item and rate.
pub fn digging(costs: &Costs, dig: Dig) -> (&'static str, f64) {
    match dig {
        Dig::Machine => ("pit_per_m3", costs.pit_per_m3),
        Dig::Hand => ("pit_hand_per_m3", costs.pit_hand_per_m3),
    }
}

/// A pit's cost by depth, where it stands.
pub fn pit_rates(site: &Site, costs: &Costs, pit: &Footprint, standing: &Standing) -> PitRates {
    let reinstated: f64 = surface_areas(site, pit, standing)
        .iter()
        .map(|(s, a)| a * costs.reinstate[s])
        .sum();
    PitRates {
        fixed: costs.pit_base + reinstated,
        per_m: digging(costs, standing.dig).1 * pit.area_m2(),
        support_per_m: costs.pit_support_per_m2 * 2.0 * (pit.length_m + pit.width_m),
    }
}

/// A new manhole of this depth, ground to invert.
pub fn manhole_cost(costs: &Costs, depth_m: f64) -> f64 {
    costs.manhole_base + costs.manhole_per_m * depth_m
}
