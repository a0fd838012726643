//! Rows of `proposed_pits`.

use super::drawn::{Drawn, DrawnPit};
use crate::{
    clearance::overlap_with_circle_m2,
    cost::surface_areas,
    job::Job,
    mechanics::trees::{precautionary_zone, protection_zone},
    pits::{SHARED_AREA_M2, bearing_deg},
    plan::{
        Bore, CostItem, Method, Pit, PitFigures, PitRole, TreeTaken,
        checks::{Launched, PitFacts, pit_figures},
        context::World,
    },
    site::{Site, Surface},
};
use geo::{Coord, LineString, Polygon};
use std::collections::BTreeMap;

/// No protection zone is wider than this (m), AS 4970; a precautionary one of a wide trunk may be, and is not looked for beyond.
const WIDEST_ZONE_M: f64 = 15.0;

/// Rows of `proposed_pits`, from downstream.
pub fn pits(drawn: &Drawn, costs: &[CostItem]) -> Vec<Pit> {
    drawn.own_pits().map(|p| pit(drawn, p, costs)).collect()
}

fn pit(drawn: &Drawn, p: &DrawnPit, costs: &[CostItem]) -> Pit {
    let cx = drawn.cx;
    let site = cx.world.site;
    let of_pit = costs
        .iter()
        .filter(|c| c.method == Method::Bore && c.pit_id.as_deref() == Some(&p.pit_id));
    let mut ring: Vec<Coord<f64>> = p.footprint.corners.to_vec();
    ring.push(ring[0]);
    Pit {
        pit_id: p.pit_id.clone(),
        route_id: cx.route.route_id.clone(),
        chainage_m: p.solved.chainage_m,
        offset_m: p.solved.offset_m,
        role: role(p),
        manhole: p.solved.manhole,
        centre: p.solved.point,
        ground_m: p.ground_m,
        invert_m: p.solved.invert_m,
        floor_m: p.floor_m,
        depth_m: p.depth_m(),
        length_m: p.footprint.length_m,
        width_m: p.footprint.width_m,
        bearing_deg: bearing_deg(p.footprint.axis),
        dig: p.standing.dig,
        support: p.supported(cx),
        surface: main_surface(site, p),
        street: nearest_street(cx.world, p.solved.point),
        lot_id: p.standing.lot.map(|l| site.lots[l].lot_id.clone()),
        volume_m3: p.footprint.area_m2() * p.depth_m(),
        tree: tree_taken(drawn, p),
        figures: PitFigures::default(),
        cost: of_pit.map(|c| c.amount).sum(),
        notes: p.existing.then(|| "at an existing manhole".to_string()),
        footprint: Polygon::new(LineString(ring), vec![]),
    }
}

fn role(p: &DrawnPit) -> PitRole {
    match (p.launches, p.receives) {
        (true, true) => PitRole::Both,
        (true, false) => PitRole::Launch,
        _ => PitRole::Reception,
    }
}

/// Of the retained trees near, the one whose protection zone the footprint takes most of.
fn tree_taken(drawn: &Drawn, p: &DrawnPit) -> Option<TreeTaken> {
    let (site, corners) = (drawn.cx.world.site, &p.footprint.corners);
    let near = drawn.cx.world.obstacles.trees_near(corners, WIDEST_ZONE_M);
    let taken = near.filter_map(|roots| {
        let trunk_m = site.trees[roots.tree].trunk_diameter_m;
        let inside = |radius| overlap_with_circle_m2(corners, roots.centre, radius);
        Some(TreeTaken {
            trunk_m,
            zone_m2: inside(protection_zone(trunk_m).ok()?.value()),
            girth_m2: inside(precautionary_zone(trunk_m).ok()?.value()),
        })
    });
    let taken = taken.filter(|t| t.zone_m2 > SHARED_AREA_M2);
    // Of equals the first.
    taken.reduce(|a, b| if b.share() > a.share() { b } else { a })
}

impl Pit {
    /// What its figures follow from, with the bores launched from it; thrust in kN.
    pub fn facts(&self, launched: &[&Bore]) -> PitFacts {
        let most = |of: &dyn Fn(&Bore) -> f64| launched.iter().map(|b| of(b)).reduce(f64::max);
        let launched_most = || {
            Some(Launched {
                length_m: most(&|b| b.length_m)?,
                od_mm: most(&|b| b.od_mm)?,
                bore_mm: most(&|b| b.bore_mm)?,
            })
        };
        PitFacts {
            length_m: self.length_m,
            width_m: self.width_m,
            depth_m: self.depth_m,
            support: self.support,
            launched: launched_most(),
            thrust_kn: (launched.iter())
                .filter_map(|b| b.figures.thrust_high_kn)
                .reduce(f64::max),
            tree: self.tree,
        }
    }
}

/// Gives pits the figures that follow from them and their bores.
pub fn fill_pits(job: &Job, pits: &mut [Pit], bores: &[Bore]) {
    let mut launched: BTreeMap<&str, Vec<&Bore>> = BTreeMap::new();
    for bore in bores {
        launched.entry(&bore.launch_pit).or_default().push(bore);
    }
    for pit in pits {
        let of_pit = launched.get(pit.pit_id.as_str());
        pit.figures = pit_figures(job, &pit.facts(of_pit.map_or(&[], |b| b)));
    }
}

/// Surface of most of the footprint; of equals the first in the interface's order.
fn main_surface(site: &Site, p: &DrawnPit) -> Surface {
    let areas = surface_areas(site, &p.footprint, &p.standing);
    let most = areas.iter().map(|a| a.1).fold(0.0, f64::max);
    areas
        .iter()
        .find(|a| a.1 >= most)
        .map_or(Surface::Bare, |a| a.0)
}

/// Name of the nearest street, if that one has a name.
fn nearest_street(world: &World, at: Coord<f64>) -> Option<String> {
    let nearest = world.obstacles.streets.nearest(at)?;
    world.site.streets[nearest].name.clone()
}
