//! The numbers beside the plan: flow by the tree, sums of what a bore spares, an order of work that can be kept.

use super::{
    chance::Chance,
    small_site::{Size, small_site, small_tree},
};
use geo::{Coord, LineString, Polygon};
use pitwright::{
    job::{Job, OnLots},
    plan::{Comparison, Method, Plan, Quiet, RouteResult, Scope, TaskKind, plan},
    site::{FeatureRef, Lot, Site},
};
use std::{collections::BTreeMap, sync::LazyLock};

const SIZE: Size = Size {
    length_m: 24.4,
    step_m: 5.0,
    level_step_m: 0.15,
    deepest_m: 3.2,
};

/// A plan, and what it was planned on.
struct Planned {
    seed: u64,
    site: Site,
    job: Job,
    plan: Plan,
}

/// Plans of small single routes and of trees, with lots along them all; made once, since those without a plan take long to say why.
static PLANS: LazyLock<Vec<Planned>> = LazyLock::new(|| {
    let one = |seed: u64| {
        let (mut site, mut job) = match seed % 2 {
            0 => small_site(seed, &SIZE),
            _ => small_tree(seed, &SIZE),
        };
        site.lots.extend(lots(seed, &site));
        job.pits.on_lots = OnLots::Always;
        Planned {
            plan: plan(&site, &job, &Quiet),
            seed,
            site,
            job,
        }
    };
    let all = (0..100).map(one).filter(|p| !p.plan.bores.is_empty());
    let all: Vec<Planned> = all.collect();
    let trees = all.iter().filter(|p| p.site.routes.len() > 1).count();
    println!("{} plans, {trees} of trees", all.len());
    assert!(
        all.len() > 25 && trees > 10,
        "{} plans, {trees} of trees",
        all.len()
    );
    all
});

/// Squares of 8 m, each touching a vertex or a middle of some route.
fn lots(seed: u64, site: &Site) -> Vec<Lot> {
    let mut c = Chance::new(seed ^ 0x10f5);
    let mut out = vec![];
    for route in &site.routes {
        for w in route.line.points.windows(2) {
            let at = w[0] + (w[1] - w[0]) * c.between(0.0, 1.0);
            let (x, y) = (at.x + c.between(-4.0, 4.0), at.y + c.between(-8.0, 8.0));
            let ring = [
                (x, y),
                (x + 8.0, y),
                (x + 8.0, y + 8.0),
                (x, y + 8.0),
                (x, y),
            ];
            out.push(Lot {
                at: FeatureRef {
                    layer: "lots".into(),
                    fid: 100 + out.len() as i64,
                },
                lot_id: format!("N{}", out.len()),
                serve: c.chance(0.8),
                entry: true,
                low_level_m: None,
                parts: vec![Polygon::new(LineString::from(ring.to_vec()), vec![])],
            });
        }
    }
    out
}

/// Every bore carries at least what comes out of the bores that flow into its upstream pit, and nothing is lost on the way.
#[test]
fn flow_grows_downstream_and_takes_in_every_branch() {
    let mut junctions = 0;
    for Planned {
        seed, site, plan, ..
    } in PLANS.iter()
    {
        let wanted = site.lots.iter().filter(|l| l.serve).count() as u32;
        for bore in &plan.bores {
            let Some(own) = bore.lots_served else {
                assert_eq!(wanted, 0, "seed {seed}");
                continue;
            };
            assert!(own <= wanted);
            let above = plan.bores.iter().filter(|b| b.ds_pit == bore.us_pit);
            let above: Vec<u32> = above.filter_map(|b| b.lots_served).collect();
            junctions += usize::from(above.len() > 1);
            assert!(
                own >= above.iter().sum(),
                "seed {seed}: {}: {own} < {above:?}",
                bore.bore_id
            );
            let f = &bore.figures;
            assert_eq!(f.design_flow_l_s.is_some(), own > 0, "seed {seed}");
            if let Some((flow, capacity)) = f.design_flow_l_s.zip(f.capacity_l_s) {
                assert!((f.flow_share.expect("both known") - flow / capacity).abs() < 1e-12);
                // Part-full it runs no faster than 1.14 times full, and slower where it is less than half full.
                let v = f.flow_velocity_m_s.zip(f.velocity_m_s);
                assert!(v.is_none_or(|(v, full)| v <= 1.14 * full));
                let low = f.flow_share.is_some_and(|share| share < 0.5);
                assert!(!low || v.is_some_and(|(v, full)| v < full), "seed {seed}");
            }
        }
    }
    assert!(
        junctions > 5,
        "{junctions} junctions with flow from several sides"
    );
}

fn spared(c: &Comparison) -> [f64; 7] {
    let s = &c.spared;
    [
        s.driveway_m2,
        s.paving_m2,
        s.garden_m2,
        s.other_m2,
        s.street_m2,
        s.fences,
        s.trees,
    ]
}

fn amounts(c: &Comparison) -> Vec<f64> {
    let (b, t) = (&c.compared.bore, &c.compared.trench);
    let more = [
        c.compared.length_m,
        c.compared.fixed_cost,
        b.cost,
        t.cost,
        b.days,
        t.days,
        b.street_days,
        t.street_days,
        b.spoil_m3,
        t.spoil_m3,
    ];
    spared(c).into_iter().chain(more).collect()
}

fn near(a: f64, b: f64) -> bool {
    (a - b).abs() <= 1e-6 * (1.0 + b.abs())
}

/// Drives add up to runs and routes, and all routes to what the cost rows say.
#[test]
fn comparisons_add_up() {
    for Planned { seed, plan, .. } in PLANS.iter() {
        let mut sums: BTreeMap<(Scope, &str), Vec<f64>> = BTreeMap::new();
        let rows = |scope| plan.comparisons.iter().filter(move |c| c.scope == scope);
        for c in rows(Scope::Bore) {
            let bore = plan
                .bores
                .iter()
                .find(|b| b.bore_id == c.item_id)
                .expect("a bore");
            for key in [
                (Scope::Run, bore.run_id.as_str()),
                (Scope::Route, bore.route_id.as_str()),
            ] {
                let sum = sums
                    .entry(key)
                    .or_insert_with(|| vec![0.0; amounts(c).len()]);
                sum.iter_mut().zip(amounts(c)).for_each(|(s, a)| *s += a);
            }
        }
        let wholes = rows(Scope::Run).chain(rows(Scope::Route));
        let mut seen = 0;
        for c in wholes {
            let sum = &sums[&(c.scope, c.item_id.as_str())];
            let same = sum.iter().zip(amounts(c)).all(|(s, a)| near(*s, a));
            assert!(
                same,
                "seed {seed}: {}: {sum:?}, not {:?}",
                c.item_id,
                amounts(c)
            );
            seen += 1;
        }
        assert_eq!(seen, sums.len(), "seed {seed}");
        let manholes = |method: Method| {
            let of = plan.costs.iter().filter(|c| c.method == method);
            let of = of.filter(|c| c.item.starts_with("manhole_"));
            of.map(|c| c.amount).sum::<f64>()
        };
        let total = |of: fn(&Comparison) -> f64| rows(Scope::Route).map(of).sum::<f64>();
        let planned =
            |of: fn(&RouteResult) -> Option<f64>| plan.routes.iter().filter_map(of).sum::<f64>();
        assert!(
            near(
                total(|c| c.compared.bore.cost) + manholes(Method::Bore),
                planned(|r| r.cost)
            ),
            "seed {seed}"
        );
        assert!(
            near(
                total(|c| c.compared.trench.cost) + manholes(Method::Trench),
                planned(|r| r.trench_cost)
            ),
            "seed {seed}"
        );
    }
}

/// What lies on lots, with what lies in streets, is what lies along the routes; a lot's length is what `affected_lots` says.
#[test]
fn lots_and_streets_make_the_whole() {
    let mut lots_seen = 0;
    for Planned {
        seed,
        site,
        job,
        plan,
    } in PLANS.iter()
    {
        // Where lots overlap, each has its length in affected_lots, but only the first of them here.
        let mut lots = site.lots.iter().enumerate();
        let apart = lots.all(|(i, a)| site.lots[..i].iter().all(|b| !overlap(a, b)));
        let rows = |scope| plan.comparisons.iter().filter(move |c| c.scope == scope);
        let sum = |scope, of: &dyn Fn(&Comparison) -> f64| rows(scope).map(of).sum::<f64>();
        for k in [0, 1, 2, 3] {
            let (lots, routes) = (
                sum(Scope::Lot, &|c| spared(c)[k]),
                sum(Scope::Route, &|c| spared(c)[k]),
            );
            assert!(near(lots, routes), "seed {seed}: {k}: {lots}, not {routes}");
        }
        let on_lots = sum(Scope::Lot, &|c| c.compared.length_m);
        let in_streets =
            sum(Scope::Route, &|c| c.compared.trench.street_days) * job.costs.trench_metres_per_day;
        let all = sum(Scope::Route, &|c| c.compared.length_m);
        assert!(
            near(on_lots + in_streets, all),
            "seed {seed}: {on_lots} + {in_streets}, not {all}"
        );
        for c in rows(Scope::Lot).filter(|_| apart) {
            let named = plan.lots.iter().filter(|l| l.lot_id == c.item_id);
            let named: f64 = named.map(|l| l.bore_length_m).sum();
            assert!(
                (named - c.compared.length_m).abs() < 1e-6,
                "seed {seed}: {}",
                c.item_id
            );
            lots_seen += 1;
        }
    }
    assert!(lots_seen > 10, "{lots_seen} lots");
}

fn overlap(a: &Lot, b: &Lot) -> bool {
    let span = |lot: &Lot, of: fn(&Coord<f64>) -> f64| {
        let all = lot.parts.iter().flat_map(|p| &p.exterior().0).map(of);
        all.fold((f64::INFINITY, f64::NEG_INFINITY), |s, v| {
            (s.0.min(v), s.1.max(v))
        })
    };
    let meet = |of: fn(&Coord<f64>) -> f64| {
        let (p, q) = (span(a, of), span(b, of));
        p.0 <= q.1 && q.0 <= p.1
    };
    meet(|c| c.x) && meet(|c| c.y)
}

/// Each crew does one thing at a time; a drive begins when both pits are dug; a pit is dug once, closed once, and after its drives.
#[test]
fn the_programme_can_be_kept() {
    for Planned { seed, plan, .. } in PLANS.iter() {
        let tasks = &plan.programme;
        let rig = |k| matches!(k, TaskKind::Move | TaskKind::Bore);
        for crew in [true, false] {
            let of_crew: Vec<_> = tasks.iter().filter(|t| rig(t.task) == crew).collect();
            let one_by_one = of_crew
                .windows(2)
                .all(|w| w[1].from_day >= w[0].to_day - 1e-9);
            assert!(one_by_one, "seed {seed}: {of_crew:?}");
        }
        let of = |kind, pit: &str| {
            let found: Vec<_> = tasks
                .iter()
                .filter(|t| t.task == kind && t.pit_id.as_deref() == Some(pit))
                .collect();
            assert_eq!(found.len(), 1, "seed {seed}: {kind:?} {pit}");
            found[0]
        };
        for bore in &plan.bores {
            let drives: Vec<_> = tasks
                .iter()
                .filter(|t| t.bore_id.as_ref() == Some(&bore.bore_id))
                .collect();
            assert_eq!(drives.len(), 1, "seed {seed}: {}", bore.bore_id);
            assert!((drives[0].to_day - drives[0].from_day - bore.days).abs() < 1e-9);
            for pit in [&bore.us_pit, &bore.ds_pit] {
                assert!(
                    of(TaskKind::Dig, pit).to_day <= drives[0].from_day + 1e-9,
                    "seed {seed}"
                );
                assert!(
                    of(TaskKind::Close, pit).from_day >= drives[0].to_day - 1e-9,
                    "seed {seed}"
                );
            }
        }
        let moves = tasks.iter().filter(|t| t.task == TaskKind::Move).count();
        let launches = plan
            .pits
            .iter()
            .filter(|p| plan.bores.iter().any(|b| b.launch_pit == p.pit_id))
            .count();
        assert_eq!(moves + 1, launches, "seed {seed}");
        assert_eq!(
            tasks.iter().map(|t| t.step).collect::<Vec<_>>(),
            (1..=tasks.len() as u32).collect::<Vec<_>>()
        );
    }
}
