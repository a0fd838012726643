//! A plan of any size that no planner made: every column filled, numbers from a seed.

use geo::{Coord, LineString, Polygon, polygon};
use pitwright::check::{Bores, Checked, Report};
use pitwright::plan::*;
use pitwright::site::{FeatureRef, Kind, Records, Site, Surface};
use pitwright::write::{Table, check_tables};
use std::sync::LazyLock;

/// Metres from the origin of the grid to where the plan lies.
pub const ORIGIN: Coord<f64> = Coord {
    x: 500_000.125,
    y: 5_900_000.75,
};

/// Small, seeded and good enough to spread numbers (a linear congruential generator, Knuth's constants).
pub struct Seeded(pub u64);

impl Seeded {
    /// In 0..1.
    pub fn next(&mut self) -> f64 {
        self.0 = self
            .0
            .wrapping_mul(6364136223846793005)
            .wrapping_add(1442695040888963407);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }
}

/// A plan of `n` bores in a row, with all that goes with them: about 13 rows a bore.
pub fn plan(n: usize, seed: u64) -> Plan {
    let mut s = Seeded(seed);
    let pits: Vec<Pit> = (0..=n).map(|i| pit(i, &mut s)).collect();
    let bores: Vec<Bore> = pits
        .windows(2)
        .enumerate()
        .map(|(i, p)| bore(i, p))
        .collect();
    Plan {
        conflicts: (0..2 * n)
            .map(|i| conflict(i, &bores[i / 2], &mut s))
            .collect(),
        test_holes: (0..n / 2).map(|i| hole(i, &bores[2 * i])).collect(),
        sections: (0..3 * n)
            .map(|i| section(i, &bores[i / 3], &mut s))
            .collect(),
        lots: (0..n / 4).map(|i| lot(i, &pits[4 * i])).collect(),
        alternatives: [1, 2].map(alternative).into(),
        alternative_pits: [1, 2]
            .iter()
            .flat_map(|k| pits.iter().take(2).map(|p| (*k, p.clone())))
            .collect(),
        alternative_bores: [1, 2]
            .iter()
            .flat_map(|k| bores.iter().take(1).map(|b| (*k, b.clone())))
            .collect(),
        comparisons: bores.iter().map(comparison).collect(),
        programme: bores.iter().map(task).collect(),
        costs: (0..6 * n).map(|i| cost(i, &bores[i / 6], &mut s)).collect(),
        blockers: (0..n / 4).map(|i| blocker(i, &bores[4 * i])).collect(),
        pits,
        bores,
        ..Plan::default()
    }
}

fn along(i: usize, s: &mut Seeded) -> Coord<f64> {
    Coord {
        x: ORIGIN.x + 40.0 * (i % 200) as f64 + s.next(),
        y: ORIGIN.y + 40.0 * (i / 200) as f64 + s.next(),
    }
}

fn pit(i: usize, s: &mut Seeded) -> Pit {
    let centre = along(i, s);
    let ground_m = 12.0 + s.next();
    Pit {
        pit_id: format!("P{i}"),
        route_id: "R1".into(),
        chainage_m: 40.0 * i as f64,
        offset_m: s.next() - 0.5,
        role: [PitRole::Launch, PitRole::Reception, PitRole::Both][i % 3],
        manhole: i.is_multiple_of(2),
        centre,
        ground_m,
        invert_m: ground_m - 2.0,
        floor_m: ground_m - 2.4,
        depth_m: 2.4,
        length_m: 2.0,
        width_m: 1.5,
        bearing_deg: 90.0,
        dig: [Dig::Machine, Dig::Hand][i % 2],
        support: true,
        surface: Surface::ALL[i % Surface::ALL.len()],
        street: i.is_multiple_of(2).then(|| "Lindenstieg".into()),
        lot_id: (i % 2 == 1).then(|| format!("L{i}")),
        volume_m3: 7.2,
        tree: None,
        figures: PitFigures::default(),
        cost: 1000.0 + i as f64,
        notes: (i == 0).then(|| "narrow access, 'by the wall'".into()),
        footprint: footprint(centre),
    }
}

/// Clockwise, as no standard wants it.
fn footprint(c: Coord<f64>) -> Polygon<f64> {
    let (x0, x1, y0, y1) = (c.x - 1.0, c.x + 1.0, c.y - 0.75, c.y + 0.75);
    polygon![(x: x0, y: y0), (x: x0, y: y1), (x: x1, y: y1), (x: x1, y: y0)]
}

fn bore(i: usize, pits: &[Pit]) -> Bore {
    let (ds, us) = (&pits[0], &pits[1]);
    Bore {
        bore_id: format!("B{i}"),
        route_id: "R1".into(),
        run_id: format!("R1-{}", i / 2),
        us_pit: us.pit_id.clone(),
        ds_pit: ds.pit_id.clone(),
        launch_pit: ds.pit_id.clone(),
        reception_pit: us.pit_id.clone(),
        dn_mm: 150,
        od_mm: 186.0,
        id_mm: 150.0,
        bore_mm: 206.0,
        length_m: 40.0,
        us_invert_m: us.invert_m,
        ds_invert_m: ds.invert_m,
        grade: if i == 0 { 0.0 } else { 0.005 },
        bearing_deg: 270.0,
        reach_m: 60.0,
        reach_governed_by: [
            ReachBy::Rig,
            ReachBy::Thrust,
            ReachBy::Pipe,
            ReachBy::Accuracy,
        ][i % 4],
        min_cover_m: 1.7,
        min_clearance_m: i.is_multiple_of(2).then_some(0.4),
        worst_margin_m: i.is_multiple_of(2).then_some(0.1),
        thrust_kn: Some(80.0),
        thrust_limit_kn: None,
        tolerance_mm: 20.0,
        lots_served: Some(i as u32),
        roots: None,
        figures: BoreFigures {
            thrust_low_kn: Some(60.0),
            thrust_high_kn: Some(120.0),
            ..BoreFigures::default()
        },
        days: 3.2,
        cost: 9000.0,
        trench_cost: 12000.0,
        notes: None,
        us: centre_and_invert(us),
        ds: centre_and_invert(ds),
    }
}

fn centre_and_invert(pit: &Pit) -> Point3 {
    Point3 {
        at: pit.centre,
        level: pit.invert_m,
    }
}

fn feature(layer: &str, i: usize) -> FeatureRef {
    FeatureRef {
        layer: layer.into(),
        fid: i as i64 + 1,
    }
}

fn conflict(i: usize, bore: &Bore, s: &mut Seeded) -> Conflict {
    let clearance_m = s.next();
    let of_bore = !i.is_multiple_of(5);
    Conflict {
        conflict_id: format!("C{i}"),
        bore_id: of_bore.then(|| bore.bore_id.clone()),
        pit_id: (!of_bore).then(|| bore.launch_pit.clone()),
        obstacle: [Obstacle::Service, Obstacle::Building, Obstacle::Ground][i % 3],
        source: (i % 3 != 2).then(|| feature("services", i)),
        kind: i
            .is_multiple_of(3)
            .then_some(Kind::ALL[i % Kind::ALL.len()]),
        owner: None,
        chainage_m: of_bore.then_some(11.5),
        angle_deg: Some(87.0),
        encounter: [Some(Encounter::Crossing), Some(Encounter::Parallel), None][i % 3],
        clearance_m,
        required_m: 0.3,
        allowance_m: 0.25,
        margin_m: clearance_m - 0.55,
        p_contact: Some(1e-4),
        over_bore: None,
        depth_known: i.is_multiple_of(2),
        verdict: [
            Verdict::Clash,
            Verdict::Prove,
            Verdict::Watch,
            Verdict::Clear,
        ][i % 4],
        rule: "rules.clearance.gas.crossing_m".into(),
        point: bore.us,
    }
}

fn hole(i: usize, bore: &Bore) -> TestHole {
    TestHole {
        hole_id: format!("H{i}"),
        bore_id: bore.bore_id.clone(),
        source: feature("services", i),
        kind: Kind::Telecom,
        expected_depth_m: i.is_multiple_of(2).then_some(0.6),
        dig_to_m: Some(1.2),
        priority: i as u32 + 1,
        p_contact: 0.2,
        reason: "depth unknown".into(),
        point: bore.ds,
    }
}

fn section(i: usize, bore: &Bore, s: &mut Seeded) -> SectionRow {
    let ground_m = 12.0 + s.next();
    SectionRow {
        route_id: "R1".into(),
        chainage_m: i as f64,
        ground_m,
        invert_m: 10.0,
        crown_m: 10.17,
        cover_m: ground_m - 10.17,
        bore_id: Some(bore.bore_id.clone()),
        pit_id: i.is_multiple_of(3).then(|| bore.ds_pit.clone()),
        feature: [
            Feature::Manhole,
            Feature::Pit,
            Feature::Crossing,
            Feature::Ground,
        ][i % 4],
    }
}

/// Two parts, the first with a hole.
fn lot(i: usize, pit: &Pit) -> AffectedLot {
    let ring = |x: f64, y: f64, side: f64| {
        LineString::from(vec![
            (x, y),
            (x + side, y),
            (x + side, y + side),
            (x, y + side),
            (x, y),
        ])
    };
    let Coord { x, y } = pit.centre;
    AffectedLot {
        lot_id: format!("L{i}"),
        pit: i.is_multiple_of(2),
        bore_ids: vec![format!("B{}", i + 1), format!("B{i}")],
        pit_ids: vec![],
        bore_length_m: 12.5,
        shallowest_cover_m: (i % 2 == 1).then_some(1.4),
        parts: vec![
            Polygon::new(ring(x, y, 10.0), vec![ring(x + 3.0, y + 3.0, 2.0)]),
            Polygon::new(ring(x + 20.0, y, 5.0), vec![]),
        ],
    }
}

fn blocker(i: usize, bore: &Bore) -> BlockerRow {
    let remedy = |kind, value| Remedy {
        kind,
        value,
        source: None,
    };
    BlockerRow {
        route_id: bore.route_id.clone(),
        blocker: Blocker {
            from_chainage_m: 40.0 * i as f64,
            to_chainage_m: 40.0 * i as f64 + 25.5,
            why: [Why::Gap, Why::Levels][i % 2],
            source: i.is_multiple_of(2).then(|| feature("lots", i)),
        },
        remedies: vec![
            remedy(RemedyKind::Reach, RemedyValue::Metres(61.5)),
            remedy(RemedyKind::Entry, RemedyValue::Name("L1".into())),
            remedy(RemedyKind::Entry, RemedyValue::Name("L2".into())),
        ],
        line: vec![bore.us.at, bore.ds.at],
    }
}

fn cost(i: usize, bore: &Bore, s: &mut Seeded) -> CostItem {
    let (quantity, rate) = (1.0 + s.next(), 250.0);
    let of_pit = i.is_multiple_of(6);
    CostItem {
        route_id: "R1".into(),
        bore_id: (!of_pit).then(|| bore.bore_id.clone()),
        pit_id: of_pit.then(|| bore.launch_pit.clone()),
        method: [Method::Bore, Method::Trench][i % 2],
        item: "bore_per_m".into(),
        unit: "m",
        quantity,
        rate,
        amount: quantity * rate,
    }
}

fn comparison(bore: &Bore) -> Comparison {
    Comparison {
        scope: Scope::Bore,
        item_id: bore.bore_id.clone(),
        route_id: Some(bore.route_id.clone()),
        compared: Compared {
            length_m: bore.length_m,
            ..Compared::default()
        },
        spared: Spared::default(),
        figures: CompareFigures {
            yard_days: [Some(4.0), Some(13.5)],
            ..CompareFigures::default()
        },
    }
}

fn task(bore: &Bore) -> Task {
    Task {
        step: 1,
        task: TaskKind::Bore,
        route_id: bore.route_id.clone(),
        pit_id: None,
        bore_id: Some(bore.bore_id.clone()),
        from_day: 0.5,
        to_day: 2.0,
    }
}

fn alternative(number: u32) -> Alternative {
    Alternative {
        system: vec!["R2".into(), "R1".into()],
        alternative: number,
        cost: 9000.0,
        more_than_best: 0.0,
        pits: 2,
        manholes: 2,
        bores: 1,
        test_holes: 0,
        watch: 1,
        least_margin_m: (number == 1).then_some(0.2),
        strike_cost: 1.5,
        longest_bore_m: 40.0,
        deepest_pit_m: 2.4,
        differs: ["the best plan", "elsewhere"][number as usize - 1].into(),
    }
}

/// The layers of a check of nothing.
pub fn nothing_checked() -> Vec<Table<'static>> {
    static NOTHING: LazyLock<(Checked, Bores, Site, Records)> = LazyLock::new(Default::default);
    static REPORT: LazyLock<Report<'static>> = LazyLock::new(|| Report {
        checked: &NOTHING.0,
        bores: &NOTHING.1,
        site: &NOTHING.2,
        records: &NOTHING.3,
    });
    check_tables(&REPORT, &[])
}
