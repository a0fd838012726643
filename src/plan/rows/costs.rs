//! Rows of `cost_items`.

use super::{
    drawn::{Drawn, DrawnDrive, DrawnPit},
    trench,
};
use crate::{
    cost::{bore_days, digging, surface_areas},
    plan::{Conflict, CostItem, Method, Verdict},
    site::Kind,
};

/// Item, unit, quantity and rate of a row to be.
pub type Line = (String, &'static str, f64, f64);

/// Rows of `cost_items`: pits from downstream, bores from downstream, then the same in open trench.
pub fn costs(drawn: &Drawn, conflicts: &[Conflict]) -> Vec<CostItem> {
    let mut out = vec![];
    for p in drawn.own_pits() {
        out.extend(of_pit(drawn, p, Method::Bore, pit_lines(drawn, p)));
    }
    for d in &drawn.drives {
        out.extend(of_bore(
            drawn,
            d,
            Method::Bore,
            bore_lines(drawn, d, conflicts),
        ));
    }
    for p in drawn.own_pits() {
        out.extend(of_pit(drawn, p, Method::Trench, manhole_lines(drawn, p)));
    }
    for d in &drawn.drives {
        out.extend(of_bore(drawn, d, Method::Trench, trench::lines(drawn, d)));
    }
    out
}

fn item(drawn: &Drawn, method: Method, line: Line) -> Option<CostItem> {
    let (item, unit, quantity, rate) = line;
    (quantity != 0.0).then(|| CostItem {
        route_id: drawn.cx.route.route_id.clone(),
        bore_id: None,
        pit_id: None,
        method,
        item,
        unit,
        quantity,
        rate,
        amount: quantity * rate,
    })
}

fn of_pit(drawn: &Drawn, p: &DrawnPit, method: Method, lines: Vec<Line>) -> Vec<CostItem> {
    let mut items = items(drawn, method, lines);
    items
        .iter_mut()
        .for_each(|i| i.pit_id = Some(p.pit_id.clone()));
    items
}

fn of_bore(drawn: &Drawn, d: &DrawnDrive, method: Method, lines: Vec<Line>) -> Vec<CostItem> {
    let mut items = items(drawn, method, lines);
    items
        .iter_mut()
        .for_each(|i| i.bore_id = Some(d.bore_id.clone()));
    items
}

fn items(drawn: &Drawn, method: Method, lines: Vec<Line>) -> Vec<CostItem> {
    lines
        .into_iter()
        .filter_map(|l| item(drawn, method, l))
        .collect()
}

fn pit_lines(drawn: &Drawn, p: &DrawnPit) -> Vec<Line> {
    let costs = &drawn.cx.job().costs;
    let (dig, dig_rate) = digging(costs, p.standing.dig);
    let depth = p.depth_m();
    let mut lines = vec![
        ("pit_base".to_string(), "each", 1.0, costs.pit_base),
        (
            dig.to_string(),
            "m3",
            p.footprint.area_m2() * depth,
            dig_rate,
        ),
    ];
    if p.supported(drawn.cx) {
        let walls = 2.0 * (p.footprint.length_m + p.footprint.width_m) * depth;
        lines.push((
            "pit_support_per_m2".to_string(),
            "m2",
            walls,
            costs.pit_support_per_m2,
        ));
    }
    for (surface, area) in surface_areas(drawn.cx.world.site, &p.footprint, &p.standing) {
        lines.push((
            format!("reinstate.{surface}"),
            "m2",
            area,
            costs.reinstate[&surface],
        ));
    }
    lines.extend(manhole_lines(drawn, p));
    lines
}

/// A manhole that does not exist yet; bored or trenched, it is the same.
fn manhole_lines(drawn: &Drawn, p: &DrawnPit) -> Vec<Line> {
    if !p.solved.manhole || p.existing {
        return vec![];
    }
    let costs = &drawn.cx.job().costs;
    vec![
        ("manhole_base".to_string(), "each", 1.0, costs.manhole_base),
        (
            "manhole_per_m".to_string(),
            "m",
            p.ground_m - p.solved.invert_m,
            costs.manhole_per_m,
        ),
    ]
}

fn bore_lines(drawn: &Drawn, d: &DrawnDrive, conflicts: &[Conflict]) -> Vec<Line> {
    let job = drawn.cx.job();
    let costs = &job.costs;
    let rows = || {
        conflicts
            .iter()
            .filter(|c| c.bore_id.as_deref() == Some(&d.bore_id))
    };
    let holes = rows().filter(|c| c.verdict == Verdict::Prove).count();
    let mut lines = vec![
        ("bore_setup".to_string(), "each", 1.0, costs.bore_setup),
        ("bore_per_m".to_string(), "m", d.length_m, costs.bore_per_m),
        (
            "crew_day".to_string(),
            "day",
            bore_days(&job.rig, d.length_m),
            costs.crew_day,
        ),
        (
            "test_hole".to_string(),
            "each",
            holes as f64,
            costs.test_hole,
        ),
    ];
    for kind in Kind::ALL {
        let struck = rows().filter(|c| c.kind == Some(*kind) && c.verdict != Verdict::Prove);
        let p: f64 = struck.filter_map(|c| c.p_contact).sum();
        lines.push((
            format!("strike.{kind}"),
            "probability",
            p,
            costs.strike[kind],
        ));
    }
    lines
}
