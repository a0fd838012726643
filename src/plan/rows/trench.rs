//! The same pipe in open trench, for comparison.

use super::{
    costs::Line,
    drawn::{Drawn, DrawnDrive},
};
use crate::{
    clearance::{LENGTH_TOLERANCE_M, contains, crossing, polygon_edges},
    job::Costs,
    mechanics::earthworks::trench_width_m,
    site::Surface,
};
use geo::Coord;
use std::collections::BTreeMap;

/// Bedding below the invert (m), as the planning model sets it.
const BEDDING_M: f64 = 0.15;
/// Surface put back beyond the trench, both sides together (m), as the planning model sets it.
pub const CUT_BACK_M: f64 = 0.30;

/// What the trench of one drive costs.
pub fn lines(drawn: &Drawn, d: &DrawnDrive) -> Vec<Line> {
    let job = drawn.cx.job();
    let costs = &job.costs;
    let depth = mean_depth_m(d);
    let width = trench_width_m(drawn.cx.dn_mm, drawn.cx.size.od_mm / 1000.0, depth);
    let mut out = vec![(
        "trench_per_m3".to_string(),
        "m3",
        width * depth * d.length_m,
        costs.trench_per_m3,
    )];
    if depth > job.pits.support_from_depth_m + LENGTH_TOLERANCE_M {
        let walls = 2.0 * depth * d.length_m;
        out.push((
            "trench_support_per_m2".to_string(),
            "m2",
            walls,
            costs.trench_support_per_m2,
        ));
    }
    for (surface, length) in surface_lengths(drawn, d) {
        let area = length * (width + CUT_BACK_M);
        out.push((
            format!("reinstate.{surface}"),
            "m2",
            area,
            costs.reinstate[&surface],
        ));
    }
    for (material, times) in fences_crossed(drawn, d) {
        let rate = fence_rate(costs, &material);
        out.push((format!("fence.{material}"), "each", times, rate));
    }
    out.push((
        "crew_day".to_string(),
        "day",
        d.length_m / costs.trench_metres_per_day,
        costs.crew_day,
    ));
    out
}

/// Price of a fence crossed; a material without one takes that of `other`.
pub fn fence_rate(costs: &Costs, material: &str) -> f64 {
    let listed = costs.fence.get(material);
    let rate = listed.or_else(|| costs.fence.get("other"));
    rate.copied().unwrap_or(0.0)
}

/// Mean over the intervals between cover samples of ground - invert + bedding (m).
pub fn mean_depth_m(d: &DrawnDrive) -> f64 {
    let depths: Vec<f64> = d
        .samples
        .iter()
        .map(|s| s.ground_m - s.invert_m + BEDDING_M)
        .collect();
    let intervals = depths.windows(2).map(|w| (w[0] + w[1]) / 2.0);
    intervals.sum::<f64>() / (depths.len() - 1) as f64
}

/// Shares of a line at which it crosses any of these edges, with both ends, ascending.
pub fn cuts_along(
    a: Coord<f64>,
    b: Coord<f64>,
    edges: impl Iterator<Item = (Coord<f64>, Coord<f64>)>,
) -> Vec<f64> {
    let mut shares: Vec<f64> = edges
        .filter_map(|(p, q)| crossing(a, b, p, q).map(|shares| shares.0))
        .chain([0.0, 1.0])
        .collect();
    shares.sort_by(f64::total_cmp);
    shares
}

/// Length of the drive's line on each surface; where surfaces lie over each other the first counts.
fn surface_lengths(drawn: &Drawn, d: &DrawnDrive) -> Vec<(Surface, f64)> {
    let world = drawn.cx.world;
    let (a, b) = (plan(d.line.centre.a), plan(d.line.centre.b));
    let near: Vec<_> = world.obstacles.surfaces.near(&[a, b], 0.0).collect();
    let cuts = cuts_along(a, b, near.iter().flat_map(|(_, p)| polygon_edges(p)));
    let mut lengths: BTreeMap<Surface, f64> = BTreeMap::new();
    for w in cuts.windows(2) {
        let middle = a + (b - a) * ((w[0] + w[1]) / 2.0);
        let on = near.iter().find(|(_, p)| contains(p, middle));
        let surface = on.map_or(Surface::Bare, |(i, _)| world.site.surfaces[*i].surface);
        *lengths.entry(surface).or_default() += (w[1] - w[0]) * d.length_m;
    }
    lengths.into_iter().filter(|(_, l)| *l > 0.0).collect()
}

/// How often the drive's line crosses fences, by material.
fn fences_crossed(drawn: &Drawn, d: &DrawnDrive) -> BTreeMap<String, f64> {
    let (a, b) = (plan(d.line.centre.a), plan(d.line.centre.b));
    let mut times: BTreeMap<String, f64> = BTreeMap::new();
    let (world, ends) = (drawn.cx.world, [a, b]);
    let near = world.obstacles.fences.near(&ends, 0.0);
    for (fence, _) in near.filter(|(_, [p, q])| crossing(a, b, *p, *q).is_some()) {
        let material = match world.site.fences[*fence].material.as_str() {
            "" => "other",
            named => named,
        };
        *times.entry(material.to_string()).or_default() += 1.0;
    }
    times
}

/// Plan position of a point in space.
pub fn plan(p: [f64; 3]) -> Coord<f64> {
    Coord { x: p[0], y: p[1] }
}
