//! What an open trench would break along each drive, and what the pits break: surfaces, fences, trees, by lot.

use super::{
    drawn::{Drawn, DrawnDrive, DrawnPit},
    trench::{CUT_BACK_M, cuts_along, fence_rate, mean_depth_m, plan},
};
use crate::{
    clearance::{Segment, contains, crossing, nearest, polygon_edges},
    cost::surface_areas,
    mechanics::earthworks::trench_width_m,
    site::Surface,
};
use geo::Coord;

/// What is broken.
#[derive(Debug, Clone, PartialEq)]
pub enum Broken {
    /// Length of the drive's line (m), whatever lies on it.
    Line,
    /// Surface (m2), and the price of putting it back.
    Surface(Surface, f64),
    /// Fences crossed, and the price of one.
    Fence(f64),
    /// Retained trees whose structural roots the trench would cut.
    Tree,
}

/// Something broken by a drive's trench or by a pit, on one lot or on none.
#[derive(Debug, Clone, PartialEq)]
pub struct Taken {
    /// Bore beside whose trench it lies; none of a pit.
    pub bore_id: Option<String>,
    /// Pit; none of a trench.
    pub pit_id: Option<String>,
    /// Lot (place among the site's); none in streets.
    pub lot: Option<usize>,
    /// What.
    pub what: Broken,
    /// How much.
    pub quantity: f64,
}

/// All that trenches and pits of a route break.
pub fn taken(drawn: &Drawn) -> Vec<Taken> {
    let mut out = vec![];
    for d in &drawn.drives {
        let of_bore = |(lot, what, quantity)| Taken {
            bore_id: Some(d.bore_id.clone()),
            pit_id: None,
            lot,
            what,
            quantity,
        };
        out.extend(along(drawn, d).into_iter().map(of_bore));
    }
    out.extend(trees(drawn));
    out.extend(drawn.own_pits().flat_map(|p| of_pit(drawn, p)));
    out
}

type Piece = (Option<usize>, Broken, f64);

/// Lengths, surfaces and fences along a drive's line, by lot.
fn along(drawn: &Drawn, d: &DrawnDrive) -> Vec<Piece> {
    let (world, job) = (drawn.cx.world, drawn.cx.job());
    let (a, b) = (plan(d.line.centre.a), plan(d.line.centre.b));
    let surfaces: Vec<_> = world.obstacles.surfaces.near(&[a, b], 0.0).collect();
    let lots: Vec<_> = world.obstacles.lots.near(&[a, b], 0.0).collect();
    let edges = surfaces.iter().chain(&lots);
    let cuts = cuts_along(a, b, edges.flat_map(|(_, p)| polygon_edges(p)));
    let lot_at = |share: f64| {
        let at = a + (b - a) * share;
        lots.iter().find(|(_, p)| contains(p, at)).map(|(i, _)| *i)
    };
    let width_m = strip_m(drawn, d);
    let mut out = vec![];
    for w in cuts.windows(2).filter(|w| w[1] > w[0]) {
        let (middle, length_m) = ((w[0] + w[1]) / 2.0, (w[1] - w[0]) * d.length_m);
        let at = a + (b - a) * middle;
        let on = surfaces.iter().find(|(_, p)| contains(p, at));
        let surface = on.map_or(Surface::Bare, |(i, _)| world.site.surfaces[*i].surface);
        let lot = lot_at(middle);
        let price = job.costs.reinstate[&surface];
        out.push((lot, Broken::Line, length_m));
        out.push((lot, Broken::Surface(surface, price), length_m * width_m));
    }
    for (fence, [p, q]) in world.obstacles.fences.near(&[a, b], 0.0) {
        let price = fence_rate(&job.costs, &world.site.fences[*fence].material);
        if let Some((share, _)) = crossing(a, b, *p, *q) {
            // A fence on a boundary is counted once: for the lot on its one side, else for that on its other.
            let beside = 0.05 / d.length_m;
            let lot = lot_at(share - beside).or_else(|| lot_at(share + beside));
            out.push((lot, Broken::Fence(price), 1.0));
        }
    }
    out
}

/// Width that a trench breaks (m).
fn strip_m(drawn: &Drawn, d: &DrawnDrive) -> f64 {
    let width = trench_width_m(
        drawn.cx.dn_mm,
        drawn.cx.size.od_mm / 1000.0,
        mean_depth_m(d),
    );
    width + CUT_BACK_M
}

/// Retained trees whose structural roots the route's trench would cut, each beside the drive nearest to it.
fn trees(drawn: &Drawn) -> Vec<Taken> {
    let world = drawn.cx.world;
    let cut = |d: &DrawnDrive, tree: usize| {
        let roots = &world.obstacles.trees[tree];
        let at = [roots.centre.x, roots.centre.y, 0.0];
        let [p, q] = [d.line.centre.a, d.line.centre.b].map(|p| [p[0], p[1], 0.0]);
        let apart_m = nearest(&Segment { a: p, b: q }, &Segment { a: at, b: at }).distance_m;
        (apart_m < roots.radius_m + strip_m(drawn, d) / 2.0).then_some(apart_m)
    };
    let mut beside: std::collections::BTreeMap<usize, (f64, usize)> = Default::default();
    for (k, d) in drawn.drives.iter().enumerate() {
        let ends = [plan(d.line.centre.a), plan(d.line.centre.b)];
        for tree in world
            .obstacles
            .tree_ids_near(&ends, strip_m(drawn, d) / 2.0)
        {
            if let Some(apart_m) = cut(d, tree) {
                let nearest = beside.entry(tree).or_insert((apart_m, k));
                if apart_m < nearest.0 {
                    *nearest = (apart_m, k);
                }
            }
        }
    }
    let row = |(tree, (_, k)): (usize, (f64, usize))| Taken {
        bore_id: Some(drawn.drives[k].bore_id.clone()),
        pit_id: None,
        lot: lot_of(drawn, world.obstacles.trees[tree].centre),
        what: Broken::Tree,
        quantity: 1.0,
    };
    beside.into_iter().map(row).collect()
}

fn lot_of(drawn: &Drawn, at: Coord<f64>) -> Option<usize> {
    let points = [at];
    let mut near = drawn.cx.world.obstacles.lots.near(&points, 0.0);
    near.find(|(_, p)| contains(p, at)).map(|(i, _)| *i)
}

/// Surfaces of a pit's footprint, all for the lot of most of it.
fn of_pit(drawn: &Drawn, p: &DrawnPit) -> Vec<Taken> {
    let costs = &drawn.cx.job().costs;
    let areas = surface_areas(drawn.cx.world.site, &p.footprint, &p.standing);
    let row = |(surface, area): (Surface, f64)| Taken {
        bore_id: None,
        pit_id: Some(p.pit_id.clone()),
        lot: p.standing.lot,
        what: Broken::Surface(surface, costs.reinstate[&surface]),
        quantity: area,
    };
    areas.into_iter().map(row).collect()
}
