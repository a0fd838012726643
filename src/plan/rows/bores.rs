//! Rows of `proposed_bores`, and what they come to.

use super::drawn::{Drawn, DrawnDrive};
use crate::{
    clearance::{Segment, nearest},
    cost::bore_days,
    mechanics::{Pushed, thrust_kn, trees::cover_under_trees},
    pits::bearing_deg,
    plan::{
        Bore, BoreFigures, Conflict, CostItem, Method, Obstacle, Plan, Point3, RootsPassed,
        RouteResult,
        checks::{BoreFacts, figures},
    },
};

/// Rows of `proposed_bores`, from downstream.
pub fn bores(drawn: &Drawn, conflicts: &[Conflict], costs: &[CostItem]) -> Vec<Bore> {
    drawn
        .drives
        .iter()
        .map(|d| bore(drawn, d, conflicts, costs))
        .collect()
}

fn bore(drawn: &Drawn, d: &DrawnDrive, conflicts: &[Conflict], costs: &[CostItem]) -> Bore {
    let (cx, job) = (drawn.cx, drawn.cx.job());
    let [us, ds] = d.solved.pits.map(|i| &drawn.pits[i]);
    let [launch, reception] = d.launch_and_reception().map(|i| &drawn.pits[i]);
    let services = || {
        let of_bore = conflicts
            .iter()
            .filter(|c| c.bore_id.as_deref() == Some(&d.bore_id));
        of_bore.filter(|c| c.obstacle == Obstacle::Service)
    };
    let least = |v: &mut dyn Iterator<Item = f64>| v.reduce(f64::min);
    let sum = |method| {
        let of_bore = costs
            .iter()
            .filter(|c| c.bore_id.as_deref() == Some(&d.bore_id));
        of_bore
            .filter(|c| c.method == method)
            .map(|c| c.amount)
            .sum()
    };
    let toward = reception.solved.point - launch.solved.point;
    let end = |p: &super::drawn::DrawnPit, invert_m: f64| Point3 {
        at: p.solved.point,
        level: invert_m,
    };
    let pushed = Pushed {
        bore_mm: cx.bore_mm,
        od_mm: cx.size.od_mm,
        face_kpa: job.soil.face_kpa,
        friction_kpa: job.soil.friction_kpa,
    };
    let [us_invert_m, ds_invert_m] = d.solved.inverts;
    let row = Bore {
        bore_id: d.bore_id.clone(),
        route_id: cx.route.route_id.clone(),
        run_id: d.run_id.clone(),
        us_pit: us.pit_id.clone(),
        ds_pit: ds.pit_id.clone(),
        launch_pit: launch.pit_id.clone(),
        reception_pit: reception.pit_id.clone(),
        dn_mm: cx.dn_mm,
        od_mm: cx.size.od_mm,
        id_mm: cx.size.id_mm,
        bore_mm: cx.bore_mm,
        length_m: d.length_m,
        us_invert_m,
        ds_invert_m,
        grade: (us_invert_m - ds_invert_m) / d.length_m,
        bearing_deg: bearing_deg(toward / d.length_m),
        reach_m: cx.reach.m,
        reach_governed_by: cx.reach.by,
        min_cover_m: d
            .samples
            .iter()
            .map(|s| d.cover_m(cx, s))
            .fold(f64::INFINITY, f64::min),
        min_clearance_m: least(&mut services().map(|c| c.clearance_m)),
        worst_margin_m: least(&mut services().filter(|c| c.depth_known).map(|c| c.margin_m)),
        thrust_kn: (job.soil.friction_kpa > 0.0 || job.soil.face_kpa > 0.0)
            .then(|| thrust_kn(pushed, d.length_m)),
        thrust_limit_kn: least(
            &mut [job.rig.thrust_kn, job.pipe.axial_limit_kn]
                .into_iter()
                .flatten(),
        ),
        tolerance_mm: cx.yardstick.accuracy.at(d.length_m) * 1000.0,
        lots_served: None,
        roots: roots_passed(drawn, d),
        figures: BoreFigures::default(),
        days: bore_days(&job.rig, d.length_m),
        cost: sum(Method::Bore),
        trench_cost: sum(Method::Trench),
        notes: None,
        us: end(us, us_invert_m),
        ds: end(ds, ds_invert_m),
    };
    Bore {
        figures: figures(job, &row.facts()),
        ..row
    }
}

/// Of the retained trees that the bore passes nearer than the rule for their trunk reaches, that with the least depth to spare.
fn roots_passed(drawn: &Drawn, d: &DrawnDrive) -> Option<RootsPassed> {
    let site = drawn.cx.world.site;
    let ends = [d.line.centre.a, d.line.centre.b].map(super::trench::plan);
    let to_spare = |r: &RootsPassed| r.cover_m - cover_under_trees(r.trunk_m).depth_m;
    // No rule reaches farther than that for the widest trunk.
    let by_m = cover_under_trees(f64::MAX).within_m;
    let passed = drawn.cx.world.obstacles.trees_near(&ends, by_m);
    let passed = passed.filter_map(|roots| {
        let trunk_m = site.trees[roots.tree].trunk_diameter_m;
        let at = [roots.centre.x, roots.centre.y, 0.0];
        let line = Segment {
            a: [ends[0].x, ends[0].y, 0.0],
            b: [ends[1].x, ends[1].y, 0.0],
        };
        let n = nearest(&line, &Segment { a: at, b: at });
        let here = ends[0] + (ends[1] - ends[0]) * n.s;
        let crown_m = d.centre_at(n.s)[2] + drawn.cx.size.od_mm / 2000.0;
        Some(RootsPassed {
            trunk_m,
            beside_m: n.distance_m,
            cover_m: site.ground.level(here)? - crown_m,
        })
    });
    passed
        .filter(|r| r.beside_m < cover_under_trees(r.trunk_m).within_m)
        .min_by(|a, b| to_spare(a).total_cmp(&to_spare(b)))
}

impl Bore {
    /// What the engineering numbers are worked out of.
    pub fn facts(&self) -> BoreFacts {
        BoreFacts {
            dn_mm: self.dn_mm,
            od_mm: self.od_mm,
            id_mm: self.id_mm,
            bore_mm: self.bore_mm,
            length_m: self.length_m,
            grade: self.grade,
            min_cover_m: self.min_cover_m,
            tolerance_mm: self.tolerance_mm,
            cost: self.cost,
            trench_cost: self.trench_cost,
            lots_served: self.lots_served,
            roots: self.roots,
        }
    }
}

/// What came of the route.
pub fn route_result(drawn: &Drawn, costs: &[CostItem]) -> RouteResult {
    let lengths = || drawn.drives.iter().map(|d| d.length_m);
    let sum = |method| {
        costs
            .iter()
            .filter(|c| c.method == method)
            .map(|c| c.amount)
            .sum()
    };
    RouteResult {
        route_id: drawn.cx.route.route_id.clone(),
        planned: true,
        pits: drawn.own_pits().count(),
        manholes: drawn.own_pits().filter(|p| p.solved.manhole).count(),
        bores: drawn.drives.len(),
        length_m: lengths().sum(),
        longest_bore_m: lengths().reduce(f64::max),
        cost: Some(sum(Method::Bore)),
        trench_cost: Some(sum(Method::Trench)),
        blockers: vec![],
        remedies: vec![],
    }
}

/// Warnings for bores of different systems nearer to each other than sewers may cross. `system` numbers a route's.
pub fn bores_near_each_other(
    plan: &Plan,
    required_m: f64,
    system: &dyn Fn(&str) -> usize,
) -> Vec<String> {
    let centre = |b: &Bore| {
        let up = b.id_mm / 2000.0;
        Segment {
            a: [b.us.at.x, b.us.at.y, b.us.level + up],
            b: [b.ds.at.x, b.ds.at.y, b.ds.level + up],
        }
    };
    let low = |b: &Bore, r: f64| [b.us.at.x.min(b.ds.at.x) - r, b.us.at.y.min(b.ds.at.y) - r];
    let high = |b: &Bore, r: f64| [b.us.at.x.max(b.ds.at.x) + r, b.us.at.y.max(b.ds.at.y) + r];
    let widest = plan.bores.iter().map(|b| b.bore_mm).fold(0.0, f64::max) / 1000.0;
    let index = crate::clearance::Boxes::new(plan.bores.iter().map(|b| {
        (
            geo::Coord::from(low(b, 0.0)),
            geo::Coord::from(high(b, 0.0)),
        )
    }));
    let mut out = vec![];
    for (i, b) in plan.bores.iter().enumerate() {
        for j in index
            .near(&[b.us.at, b.ds.at], required_m + widest)
            .into_iter()
            .filter(|j| *j > i)
        {
            let c = &plan.bores[j];
            let clearance_m =
                nearest(&centre(b), &centre(c)).distance_m - (b.bore_mm + c.bore_mm) / 2000.0;
            if clearance_m < required_m && system(&b.route_id) != system(&c.route_id) {
                out.push(format!(
                    "bores {} and {} of routes that do not join come within {clearance_m:.2} m of each other (sewers may cross at {required_m:.2} m)",
                    b.bore_id, c.bore_id
                ));
            }
        }
    }
    out
}
