//! Rows of `bore_conflicts` and `test_holes`.

use super::drawn::{Drawn, DrawnDrive, DrawnPit};
use crate::{
    clearance::{
        Clause, Depth, LENGTH_TOLERANCE_M, NearPart, Row, Services, polygon_distance,
        rectangle_line_distance, segment_polygon_distance,
    },
    pits::box_of,
    plan::{
        Conflict, Encounter, Obstacle, OverBore, Point3, TestHole, Verdict,
        checks::{Above, Bored, heave_there, settlement_there},
        context::Context,
    },
    site::{FeatureRef, Kind},
};
use geo::Coord;

/// Rows of both layers: bores from downstream, then pits from downstream. Ids and priorities are given later.
pub fn conflicts(drawn: &Drawn) -> (Vec<Conflict>, Vec<TestHole>) {
    let (mut rows, mut holes) = (vec![], vec![]);
    for d in &drawn.drives {
        services_of_bore(drawn, d, &mut rows, &mut holes);
        rows.extend(buildings_of_bore(drawn, d));
        rows.extend(keepouts_of_bore(drawn, d));
        rows.extend(ground_of_bore(drawn, d));
    }
    for p in drawn.own_pits() {
        rows.extend(services_of_pit(drawn.cx, p));
        rows.extend(buildings_of_pit(drawn.cx, p));
        rows.extend(trees_of_pit(drawn.cx, p));
        rows.extend(areas_of_pit(drawn.cx, p));
    }
    (rows, holes)
}

/// Numbers test holes by falling probability of contact, then bore.
pub fn order_test_holes(holes: &mut [TestHole]) {
    // The sort is stable: equals keep the order of their bores' rows.
    holes.sort_by(|a, b| {
        b.p_contact
            .total_cmp(&a.p_contact)
            .then_with(|| a.bore_id.cmp(&b.bore_id))
    });
    for (i, h) in holes.iter_mut().enumerate() {
        h.priority = i as u32 + 1;
        h.hole_id = format!("H{:04}", h.priority);
    }
}

/// A row with everything that is the same for all obstacles but services left as it is there.
fn plain(
    obstacle: Obstacle,
    source: Option<FeatureRef>,
    clearance_m: f64,
    required_m: f64,
    cx: &Context,
) -> Conflict {
    let margin_m = clearance_m - required_m;
    Conflict {
        conflict_id: String::new(),
        bore_id: None,
        pit_id: None,
        obstacle,
        source,
        kind: None,
        owner: None,
        chainage_m: None,
        angle_deg: None,
        encounter: None,
        clearance_m,
        required_m,
        allowance_m: 0.0,
        margin_m,
        p_contact: None,
        over_bore: None,
        depth_known: true,
        verdict: verdict(margin_m, cx),
        rule: String::new(),
        point: Point3 {
            at: Coord { x: 0.0, y: 0.0 },
            level: 0.0,
        },
    }
}

fn verdict(margin_m: f64, cx: &Context) -> Verdict {
    Verdict::of_margin(margin_m, cx.job().rules.watch_margin_m)
}

/// Rows are written for what is near, and for what has little margin.
fn worth_a_row(c: &Conflict, cx: &Context) -> bool {
    c.clearance_m <= cx.job().watch_distance_m + LENGTH_TOLERANCE_M
        || c.margin_m < cx.job().rules.watch_margin_m
}

fn on_bore(d: &DrawnDrive, s: f64, c: Conflict) -> Conflict {
    let p = d.centre_at(s);
    Conflict {
        bore_id: Some(d.bore_id.clone()),
        chainage_m: Some(s * d.length_m),
        point: Point3 {
            at: Coord { x: p[0], y: p[1] },
            level: p[2],
        },
        ..c
    }
}

/// What the bore does to the nearest point of something above it.
fn over_bore(cx: &Context, d: &DrawnDrive, s: f64, other: [f64; 3]) -> Option<OverBore> {
    let p = d.centre_at(s);
    let there = Above {
        above_m: other[2] - p[2],
        beside_m: (other[0] - p[0]).hypot(other[1] - p[1]),
    };
    let bored = Bored {
        bore_mm: cx.bore_mm,
        od_mm: cx.size.od_mm,
    };
    let worked = settlement_there(cx.job(), &bored, there).ok()?;
    Some(OverBore {
        above_axis_m: there.above_m,
        beside_axis_m: there.beside_m,
        settlement_mm: worked.term("s_y")?.value,
        settlement_slope: worked.value(),
        heave_mm: heave_there(cx.job(), there).ok().map(|w| w.value()),
    })
}

fn services_of_bore(
    drawn: &Drawn,
    d: &DrawnDrive,
    rows: &mut Vec<Conflict>,
    holes: &mut Vec<TestHole>,
) {
    let cx = drawn.cx;
    let services = &cx.world.obstacles.services;
    let [us, ds] = d.solved.pits.map(|i| drawn.pits[i].solved.point);
    let near = cx.yardstick.near(services, us, ds, cx.concern_m, |p| {
        d.solved.exempt.contains(&p)
    });
    for part in &near {
        for row in cx
            .yardstick
            .rows(&d.line, &services.parts[part.part], part, d.solved.side)
        {
            rows.push(service_row(cx, d, services, part, &row));
            if row.judged.verdict == Verdict::Prove {
                holes.push(test_hole(drawn, d, part, &row));
            }
        }
    }
}

fn service_row(
    cx: &Context,
    d: &DrawnDrive,
    services: &Services,
    near: &NearPart,
    row: &Row,
) -> Conflict {
    let part = &services.parts[near.part];
    let service = &cx.world.site.services[part.service];
    let piece = near
        .pieces
        .iter()
        .find(|p| p.piece == row.piece)
        .expect("a row's piece is one of the near ones");
    let j = &row.judged;
    let of = match (j.clause, row.encounter) {
        (Clause::Plan, _) => "separation.KIND.horizontal_m",
        (Clause::Level, _) => "separation.KIND.vertical_m",
        (Clause::Distance, Encounter::Crossing) => "clearance.KIND.crossing_m",
        (Clause::Distance, Encounter::Parallel) => "clearance.KIND.parallel_m",
    };
    let base = plain(
        Obstacle::Service,
        Some(service.at.clone()),
        j.clearance_m,
        j.required_m,
        cx,
    );
    let c = Conflict {
        kind: Some(service.kind),
        owner: service.owner.clone(),
        angle_deg: Some(piece.angle_deg),
        encounter: Some(row.encounter),
        allowance_m: j.allowance_m,
        margin_m: j.margin_m,
        p_contact: Some(j.p_contact()),
        over_bore: over_bore(cx, d, j.s, j.other).filter(|_| j.known),
        depth_known: j.known,
        verdict: j.verdict,
        rule: format!("rules.{}", of.replace("KIND", service.kind.word())),
        ..base
    };
    on_bore(d, j.s, c)
}

fn test_hole(drawn: &Drawn, d: &DrawnDrive, near: &NearPart, row: &Row) -> TestHole {
    let cx = drawn.cx;
    let part = &cx.world.obstacles.services.parts[near.part];
    let service = &cx.world.site.services[part.service];
    let at = Coord {
        x: row.judged.other[0],
        y: row.judged.other[1],
    };
    let [us, ds] = d.solved.pits.map(|i| drawn.pits[i].ground_m);
    // Where the ground is not known, that of the nearer pit stands in.
    let from_launch = if row.judged.s < 0.5 {
        d.launch_and_reception()[0]
    } else {
        d.launch_and_reception()[1]
    };
    let fallback = if from_launch == d.solved.pits[0] {
        us
    } else {
        ds
    };
    let ground_m = cx.world.site.ground.level(at).unwrap_or(fallback);
    let underside_m = d.centre_at(row.judged.s)[2] - cx.bore_mm / 2000.0;
    let past_bore_m = ground_m - underside_m + part.required_m(row.encounter);
    let band = match part.pieces[row.piece].depth {
        Depth::Band { .. } => Some(cx.job().rules.depth_band[&service.kind]),
        _ => None,
    };
    TestHole {
        hole_id: String::new(),
        bore_id: d.bore_id.clone(),
        source: service.at.clone(),
        kind: service.kind,
        expected_depth_m: band.map(|b| (b.min_m + b.max_m) / 2.0),
        dig_to_m: Some(band.map_or(past_bore_m, |b| b.max_m.min(past_bore_m))),
        priority: 0,
        p_contact: row.judged.p_contact(),
        reason: reason(service.kind, band.is_some()),
        point: Point3 {
            at,
            level: ground_m,
        },
    }
}

fn reason(kind: Kind, bounded: bool) -> String {
    if bounded {
        format!("depth of this {kind} is not recorded: expose it before boring")
    } else {
        format!(
            "no ground level here, so nothing is known of the depth of this {kind}: expose it before boring"
        )
    }
}

fn buildings_of_bore(drawn: &Drawn, d: &DrawnDrive) -> Vec<Conflict> {
    let cx = drawn.cx;
    let rules = &cx.job().rules;
    let ends = [d.line.centre.a, d.line.centre.b].map(super::trench::plan);
    let by_m = cx
        .job()
        .watch_distance_m
        .max(rules.clearance_building_m + rules.watch_margin_m)
        + cx.bore_mm / 2000.0;
    let near = cx.world.obstacles.buildings_near(&ends, by_m);
    let row = |(i, prism): &(usize, crate::clearance::Prism)| {
        let n = prism.nearest(&d.line.centre);
        let source = Some(cx.world.site.buildings[*i].at.clone());
        let clearance = n.distance_m - cx.bore_mm / 2000.0;
        let c = plain(
            Obstacle::Building,
            source,
            clearance,
            rules.clearance_building_m,
            cx,
        );
        let c = Conflict {
            over_bore: over_bore(cx, d, n.s, n.other),
            depth_known: prism.base_m.is_finite(),
            rule: "rules.clearance.building".into(),
            ..c
        };
        worth_a_row(&c, cx).then(|| on_bore(d, n.s, c))
    };
    near.filter_map(row).collect()
}

fn keepouts_of_bore(drawn: &Drawn, d: &DrawnDrive) -> Vec<Conflict> {
    let cx = drawn.cx;
    let [a, b] = [d.line.centre.a, d.line.centre.b].map(super::trench::plan);
    let by_m = cx.job().watch_distance_m.max(cx.job().rules.watch_margin_m) + cx.bore_mm / 2000.0;
    let ends = [a, b];
    let near = cx.world.obstacles.keepouts.near(&ends, by_m);
    let row = |(i, area): &(usize, geo::Polygon<f64>)| {
        let n = segment_polygon_distance(a, b, area);
        let source = Some(cx.world.site.keepouts[*i].at.clone());
        let c = plain(
            Obstacle::Keepout,
            source,
            n.distance_m - cx.bore_mm / 2000.0,
            0.0,
            cx,
        );
        let c = Conflict {
            rule: "keepouts".into(),
            ..c
        };
        worth_a_row(&c, cx).then(|| on_bore(d, n.s, c))
    };
    near.filter_map(row).collect()
}

fn ground_of_bore(drawn: &Drawn, d: &DrawnDrive) -> Option<Conflict> {
    let cx = drawn.cx;
    let cover = |s: &&super::drawn::Sample| d.cover_m(cx, s);
    let least = d
        .samples
        .iter()
        .min_by(|a, b| cover(a).total_cmp(&cover(b)))?;
    let c = plain(
        Obstacle::Ground,
        None,
        cover(&least),
        cx.job().rules.min_cover_m,
        cx,
    );
    let s = if d.solved.side == crate::clearance::FROM_UPSTREAM {
        least.share
    } else {
        1.0 - least.share
    };
    let little = c.margin_m < cx.job().rules.watch_margin_m;
    little.then(|| {
        on_bore(
            d,
            s,
            Conflict {
                rule: "rules.min_cover_m".into(),
                ..c
            },
        )
    })
}

fn on_pit(p: &DrawnPit, at: Coord<f64>, c: Conflict) -> Conflict {
    Conflict {
        pit_id: Some(p.pit_id.clone()),
        point: Point3 {
            at,
            level: p.ground_m,
        },
        ..c
    }
}

/// One row a service part near the pit.
fn services_of_pit(cx: &Context, p: &DrawnPit) -> Vec<Conflict> {
    let services = &cx.world.obstacles.services;
    let watch = cx
        .job()
        .watch_distance_m
        .max(services.widest_pit_distance_m() + cx.job().rules.watch_margin_m);
    let found = services.in_box(box_of(&p.footprint), watch + services.widest_radius_m());
    let groups = found
        .chunk_by(|a, b| a.0 == b.0)
        .filter(|g| !p.solved.exempt.contains(&g[0].0));
    groups
        .filter_map(|g| service_of_pit(cx, p, g[0].0, g))
        .collect()
}

fn service_of_pit(
    cx: &Context,
    p: &DrawnPit,
    part_index: usize,
    pieces: &[(usize, usize)],
) -> Option<Conflict> {
    let part = &cx.world.obstacles.services.parts[part_index];
    let service = &cx.world.site.services[part.service];
    let near: Vec<_> = pieces
        .iter()
        .map(|&(_, k)| {
            let piece = &part.pieces[k];
            let (distance, at) = rectangle_line_distance(&p.footprint.corners, piece.a, piece.b);
            (distance - part.radius_m, at, piece.depth)
        })
        .collect();
    let nearest = near.iter().min_by(|a, b| a.0.total_cmp(&b.0))?;
    let too_near = near
        .iter()
        .filter(|n| n.0 < part.required.pit_m - LENGTH_TOLERANCE_M);
    let tops = too_near.filter_map(|n| match n.2 {
        Depth::Known(z) => Some(z[0].max(z[1]) + part.radius_m),
        _ => None,
    });
    let highest_top = tops.reduce(f64::max);
    let (clearance, required, of) = match highest_top {
        Some(top) => (p.floor_m - top, part.required.crossing_m, "crossing_m"),
        None => (nearest.0, part.required.pit_m, "pit_m"),
    };
    let c = plain(
        Obstacle::Service,
        Some(service.at.clone()),
        clearance,
        required,
        cx,
    );
    let c = Conflict {
        kind: Some(service.kind),
        owner: service.owner.clone(),
        depth_known: matches!(nearest.2, Depth::Known(_)),
        rule: format!("rules.clearance.{}.{of}", service.kind),
        ..c
    };
    worth_a_row(&c, cx).then(|| on_pit(p, nearest.1, c))
}

fn buildings_of_pit(cx: &Context, p: &DrawnPit) -> Vec<Conflict> {
    let pits = &cx.job().pits;
    let spread = pits.building_spread_deg.to_radians().tan();
    let by_m = cx
        .job()
        .watch_distance_m
        .max(pits.building_setback_m.max(pits.max_depth_m / spread) + 20.0);
    let near = cx
        .world
        .obstacles
        .buildings_near(&p.footprint.corners, by_m);
    let row = |(i, prism): &(usize, crate::clearance::Prism)| {
        let (distance, at) = polygon_distance(&p.footprint.corners, &prism.outline);
        let by_load = (prism.base_m - p.floor_m) / spread;
        let required = pits.building_setback_m.max(by_load);
        let rule = if by_load > pits.building_setback_m {
            "pits.building_spread_deg"
        } else {
            "pits.building_setback_m"
        };
        let source = Some(cx.world.site.buildings[*i].at.clone());
        let c = plain(Obstacle::Building, source, distance, required, cx);
        let c = Conflict {
            depth_known: prism.base_m.is_finite(),
            rule: rule.into(),
            ..c
        };
        worth_a_row(&c, cx).then(|| on_pit(p, at, c))
    };
    near.filter_map(row).collect()
}

fn trees_of_pit(cx: &Context, p: &DrawnPit) -> Vec<Conflict> {
    let near = cx.world.obstacles.trees_near(
        &p.footprint.corners,
        cx.job().watch_distance_m.max(cx.job().rules.watch_margin_m),
    );
    let row = |t: &crate::clearance::Roots| {
        let (distance, at) = rectangle_line_distance(&p.footprint.corners, t.centre, t.centre);
        let source = Some(cx.world.site.trees[t.tree].at.clone());
        let c = plain(Obstacle::Tree, source, distance - t.radius_m, 0.0, cx);
        let c = Conflict {
            rule: "structural root zone (AS 4970-2009)".into(),
            ..c
        };
        worth_a_row(&c, cx).then(|| on_pit(p, at, c))
    };
    near.filter_map(row).collect()
}

/// Keepouts and lots that may not be entered.
fn areas_of_pit(cx: &Context, p: &DrawnPit) -> Vec<Conflict> {
    let o = &cx.world.obstacles;
    let by_m = cx.job().watch_distance_m.max(cx.job().rules.watch_margin_m);
    let row = |obstacle: Obstacle, at: &FeatureRef, area: &geo::Polygon<f64>, rule: &str| {
        let (distance, edge) = polygon_distance(&p.footprint.corners, area);
        let c = Conflict {
            rule: rule.into(),
            ..plain(obstacle, Some(at.clone()), distance, 0.0, cx)
        };
        worth_a_row(&c, cx).then(|| on_pit(p, edge, c))
    };
    let keepouts = o.keepouts.near(&p.footprint.corners, by_m);
    let lots = o.closed_lots.near(&p.footprint.corners, by_m);
    let site = cx.world.site;
    let keepouts =
        keepouts.filter_map(|(i, a)| row(Obstacle::Keepout, &site.keepouts[*i].at, a, "keepouts"));
    keepouts
        .chain(lots.filter_map(|(i, a)| row(Obstacle::Lot, &site.lots[*i].at, a, "pits.on_lots")))
        .collect()
}
