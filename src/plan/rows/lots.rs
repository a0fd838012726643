//! Rows of `affected_lots`.

use super::trench::cuts_along;
use crate::{
    clearance::{contains, overlap_m2, polygon_edges},
    pits::SHARED_AREA_M2,
    plan::{AffectedLot, Bore, Pit, context::World},
    site::Lot,
};
use geo::Coord;
use std::collections::{BTreeMap, BTreeSet};

/// Rows of `affected_lots`, in the order of the lots.
pub fn affected_lots(world: &World, pits: &[Pit], bores: &[Bore]) -> Vec<AffectedLot> {
    let lots = &world.obstacles.lots;
    let mut near: BTreeMap<usize, Near> = BTreeMap::new();
    for (i, pit) in pits.iter().enumerate() {
        for (lot, _) in lots.near(&pit.footprint.exterior().0, 0.0) {
            near.entry(*lot).or_default().pits.insert(i);
        }
    }
    for (i, bore) in bores.iter().enumerate() {
        for (lot, _) in lots.near(&[bore.us.at, bore.ds.at], 0.0) {
            near.entry(*lot).or_default().bores.insert(i);
        }
    }
    let of_lot = |(lot, near): (usize, Near)| {
        let pits = near.pits.into_iter().map(|i| &pits[i]);
        let bores = near.bores.into_iter().map(|i| &bores[i]);
        affected(world, &world.site.lots[lot], pits, bores)
    };
    near.into_iter().filter_map(of_lot).collect()
}

/// Places of the pits and bores near a lot; one of several parts meets some more than once.
#[derive(Default)]
struct Near {
    pits: BTreeSet<usize>,
    bores: BTreeSet<usize>,
}

fn affected<'a>(
    world: &World,
    lot: &Lot,
    pits: impl Iterator<Item = &'a Pit>,
    bores: impl Iterator<Item = &'a Bore>,
) -> Option<AffectedLot> {
    let stands = |p: &&Pit| {
        let ring = &p.footprint.exterior().0;
        let corners = [ring[0], ring[1], ring[2], ring[3]];
        lot.parts
            .iter()
            .any(|part| overlap_m2(&corners, part) > SHARED_AREA_M2)
    };
    let pit_ids: Vec<String> = pits.filter(stands).map(|p| p.pit_id.clone()).collect();
    let mut out = AffectedLot {
        lot_id: lot.lot_id.clone(),
        pit: !pit_ids.is_empty(),
        bore_ids: vec![],
        pit_ids,
        bore_length_m: 0.0,
        shallowest_cover_m: None,
        parts: lot.parts.clone(),
    };
    for bore in bores {
        let (length, cover) = under(world, lot, bore);
        if length > 1e-6 {
            out.bore_ids.push(bore.bore_id.clone());
            out.bore_length_m += length;
            out.shallowest_cover_m = Some(out.shallowest_cover_m.map_or(cover, |c| c.min(cover)));
        }
    }
    out.bore_ids.sort();
    out.pit_ids.sort();
    (out.pit || !out.bore_ids.is_empty()).then_some(out)
}

/// Length of a bore under a lot, and its least cover there, sampled every metre or less.
fn under(world: &World, lot: &Lot, bore: &Bore) -> (f64, f64) {
    let (a, b) = (bore.us.at, bore.ds.at);
    let (mut length, mut cover) = (0.0, f64::INFINITY);
    for part in &lot.parts {
        for w in cuts_along(a, b, polygon_edges(part)).windows(2) {
            let inside = w[1] > w[0] && contains(part, a + (b - a) * ((w[0] + w[1]) / 2.0));
            if inside {
                length += (w[1] - w[0]) * bore.length_m;
                cover = cover.min(least_cover(world, bore, w[0], w[1]));
            }
        }
    }
    (length, cover)
}

fn least_cover(world: &World, bore: &Bore, from: f64, to: f64) -> f64 {
    let crown_above_invert = (bore.id_mm + bore.od_mm) / 2000.0;
    let cover = |share: f64| {
        let at: Coord<f64> = bore.us.at + (bore.ds.at - bore.us.at) * share;
        let invert = bore.us_invert_m + share * (bore.ds_invert_m - bore.us_invert_m);
        world
            .site
            .ground
            .level(at)
            .map(|g| g - invert - crown_above_invert)
    };
    let samples =
        crate::alignment::samples((to - from) * bore.length_m).map(|t| from + t * (to - from));
    samples.filter_map(cover).fold(f64::INFINITY, f64::min)
}
