//! Routes of 2 km: the cost against a dynamic programme at the finest levels, against the plain search among services, and cut in
//! two at a bend; and every rule, asked of the rows.

use super::{
    chance::Chance,
    compare::{least_cost, same},
    plain_levels::Straight,
    plain_search::PlainSearch,
};
use geo::{Coord, coord};
use pitwright::{
    ground::{Grid, Ground, Levels},
    job::{Job, JobFile},
    plan::{Bore, Plan, Quiet, Verdict, context::World, plan, system::System},
    site::{FeatureRef, Kind, Polyline, Quality, Route, Service, Site, ZMeans},
};

const LENGTH_M: usize = 2000;
/// Ground is known this far beyond either end.
const BEYOND_M: usize = 20;

/// Ground at every whole metre from `-BEYOND_M`: falling to the outfall, in long waves.
fn ground(c: &mut Chance, fall: f64, waves_m: f64) -> Vec<f64> {
    let (long, short) = (c.between(300.0, 700.0), c.between(90.0, 200.0));
    let (p, q) = (c.between(0.0, 6.0), c.between(0.0, 6.0));
    let at = |i: usize| {
        let x = i as f64 - BEYOND_M as f64;
        let wave = (std::f64::consts::TAU * x / long + p).sin()
            + 0.4 * (std::f64::consts::TAU * x / short + q).sin();
        100.0 + fall * x + waves_m * wave
    };
    (0..=LENGTH_M + 2 * BEYOND_M).map(at).collect()
}

/// A raster of strips a metre wide across the x axis.
fn across(levels: &[f64]) -> Ground {
    Ground::Grid(Grid {
        width: levels.len(),
        height: 3,
        levels: Levels::Whole(levels.repeat(3)),
        to_cell: [BEYOND_M as f64 + 0.5, 1.0, 0.0, 1.5, 0.0, -0.001],
        unit_m: 1.0,
        project: None,
    })
}

fn route(number: i64, points: Vec<Coord<f64>>, joins: Option<&str>) -> Route {
    Route {
        at: FeatureRef {
            layer: "routes".into(),
            fid: number,
        },
        route_id: format!("R{number}"),
        line: Polyline {
            points,
            levels: None,
        },
        dn_mm: None,
        outfall_invert_m: None,
        head_invert_max_m: None,
        joins: joins.map(str::to_string),
        follows: None,
        serves: vec![],
    }
}

fn job() -> Job {
    let mut job = JobFile::default().job;
    job.rules.manhole_spacing_m = 60.0;
    job.rig.reach_m = 60.0;
    job.rules.min_grade = [(job.pipe.dn_mm, 0.005)].into();
    job.pits.max_depth_m = 3.0;
    job
}

/// Asks every rule of the rows of a planned site of routes without corridor.
fn audit(site: &Site, job: &Job, plan: &Plan) {
    let pit = |id: &str| plan.pits.iter().find(|p| p.pit_id == id).expect("a pit");
    let step = job.search.level_step_m;
    let on_grid = |z: f64| (z / step - (z / step).round()).abs() * step < 1e-6;
    let mut runs: Vec<Vec<&Bore>> = vec![];
    for bore in &plan.bores {
        match runs.last_mut() {
            Some(run) if run[0].run_id == bore.run_id => run.push(bore),
            _ => runs.push(vec![bore]),
        }
        let id = &bore.bore_id;
        let (us, ds) = (pit(&bore.us_pit), pit(&bore.ds_pit));
        let d = us.centre - ds.centre;
        assert!((d.x.hypot(d.y) - bore.length_m).abs() < 1e-6, "{id}");
        assert!(bore.length_m <= job.rig.reach_m + 1e-6, "{id}");
        assert!(us.chainage_m > ds.chainage_m || us.route_id != ds.route_id);
        let size = job.pipe.sizes[&bore.dn_mm];
        let crown = (size.id_mm + size.od_mm) / 2000.0;
        let samples = bore.length_m.ceil();
        for k in 0..=samples as usize {
            let t = k as f64 / samples;
            let at = us.centre - d * t;
            let invert = bore.us_invert_m + (bore.ds_invert_m - bore.us_invert_m) * t;
            let cover = site.ground.level(at).expect("ground") - invert - crown;
            assert!(
                cover >= job.rules.min_cover_m - 1e-6,
                "{id}: {cover} at {t}"
            );
        }
    }
    let flattest = job.rules.min_grade[&job.pipe.dn_mm].max(job.rig.grade_min);
    let steepest = job.rules.max_grade.min(job.rig.grade_max);
    for run in &runs {
        // Rows go from downstream up.
        let (down, up) = (run[0], run[run.len() - 1]);
        let length: f64 = run.iter().map(|b| b.length_m).sum();
        let grade = (up.us_invert_m - down.ds_invert_m) / length;
        let id = &down.run_id;
        assert!(
            length <= job.rules.manhole_spacing_m + 1e-6,
            "{id}: {length}"
        );
        assert!(
            grade >= flattest - 1e-9 && grade <= steepest + 1e-9,
            "{id}: {grade}"
        );
        let fixed = site.routes[0].outfall_invert_m;
        assert!(on_grid(up.us_invert_m), "{id}: {}", up.us_invert_m);
        let low = down.ds_invert_m;
        assert!(on_grid(low) || fixed == Some(low), "{id}: {low}");
        for b in run {
            assert!((b.grade - grade).abs() < 1e-9, "{id}");
        }
        for w in run.windows(2) {
            assert_eq!(w[0].us_pit, w[1].ds_pit);
            assert!(!pit(&w[0].us_pit).manhole, "{id}");
        }
        assert!(pit(&up.us_pit).manhole && pit(&down.ds_pit).manhole);
    }
    for p in &plan.pits {
        assert!(p.depth_m <= job.pits.max_depth_m + 1e-6, "{}", p.pit_id);
        let ins = runs.iter().filter(|r| r[0].ds_pit == p.pit_id);
        let out = runs.iter().find(|r| r[r.len() - 1].us_pit == p.pit_id);
        for inlet in ins.map(|r| r[0].ds_invert_m) {
            let Some(out) = out else { continue };
            let drop = inlet - out[out.len() - 1].us_invert_m;
            assert!(
                drop >= job.rules.manhole_drop_m - 1e-6,
                "{}: {drop}",
                p.pit_id
            );
        }
    }
    assert!(plan.conflicts.iter().all(|c| c.verdict != Verdict::Clash));
    let length: f64 = plan.bores.iter().map(|b| b.length_m).sum();
    assert!((length - LENGTH_M as f64).abs() < 1e-6, "{length}");
    let rows = plan
        .costs
        .iter()
        .filter(|c| c.method == pitwright::plan::Method::Bore);
    let paid: f64 = rows.map(|c| c.amount).sum();
    assert!(same(paid, cost(plan)), "{paid}");
}

/// Of all routes together; +inf where any has no plan.
fn cost(plan: &Plan) -> f64 {
    let costs = plan.routes.iter().map(|r| r.cost.unwrap_or(f64::INFINITY));
    costs.sum()
}

/// A straight route of 2 km with nothing near it.
fn straight(seed: u64) -> (Site, Job, Vec<f64>) {
    let mut c = Chance::new(seed);
    let (fall, waves_m) = (c.between(0.006, 0.012), c.between(0.1, 0.5));
    let levels = ground(&mut c, fall, waves_m);
    let mut job = job();
    job.rules.manhole_drop_m = c.one_of(&[0.0, 0.02, 0.05]);
    job.rules.manhole_drop_max_m = c.chance(0.3).then_some(0.5);
    job.rules.manhole_spacing_m = c.between(40.0, 60.0);
    let mut line = route(
        1,
        vec![coord! {x: LENGTH_M as f64, y: 0.0}, coord! {x: 0.0, y: 0.0}],
        None,
    );
    line.outfall_invert_m = c
        .chance(0.5)
        .then(|| levels[BEYOND_M] - c.between(1.2, 2.2));
    let site = Site {
        ground: across(&levels),
        routes: vec![line],
        ..Site::default()
    };
    (site, job, levels)
}

#[test]
fn two_kilometres_at_the_finest_levels_cost_the_least_there_is() {
    let mut planned = 0;
    for seed in 40_000..40_004 {
        let (site, job, levels) = straight(seed);
        let least = Straight {
            job: &job,
            ground: &levels[BEYOND_M..=BEYOND_M + LENGTH_M],
            outfall_m: site.routes[0].outfall_invert_m,
        };
        let least = least.least_cost();
        let found = least_cost(&site, &job);
        assert!(
            same(found, least),
            "seed {seed}: the search found {found}, the dynamic programme {least}"
        );
        planned += usize::from(found.is_finite());
    }
    println!("{planned} of 4 have a plan");
    assert!(planned >= 3);
}

/// A line of 2 km with a bend half way, by chainage.
fn bent(chainage: f64) -> Coord<f64> {
    let half = LENGTH_M as f64 / 2.0;
    let beyond = (chainage - half).max(0.0);
    let turned: f64 = 0.35;
    coord! {x: chainage.min(half) + beyond * turned.cos(), y: beyond * turned.sin()}
}

/// Services across that line, some 50 m apart: at the depth of a sewer, by their cover, or at an unknown depth.
fn services(c: &mut Chance, ground: &Ground) -> Vec<Service> {
    let one = |fid: i64| {
        // Not where a pit stands in any plan.
        let half = c.one_of(&[0.0, LENGTH_M as f64 / 2.0]);
        let s = half + c.between(12.0, LENGTH_M as f64 / 2.0 - 12.0);
        let (at, on) = (bent(s), bent(s + 1.0));
        let square = coord! {x: at.y - on.y, y: on.x - at.x} * 8.0;
        let lean = (on - at) * c.between(-4.0, 4.0);
        let points = vec![at - square - lean, at + square + lean];
        let level = ground.level(at).expect("ground") - c.between(0.4, 1.1);
        let levels = c.chance(0.5).then(|| vec![level; 2]);
        Service {
            at: FeatureRef {
                layer: "services".into(),
                fid,
            },
            kind: c.one_of(&[Kind::Water, Kind::Gas, Kind::Electricity, Kind::Telecom]),
            diameter_mm: Some(c.between(40.0, 200.0)),
            cover_m: c.chance(0.5).then(|| c.between(0.4, 0.9)),
            quality: c.one_of(&[Quality::A, Quality::B]),
            owner: None,
            material: None,
            abandoned: false,
            z_means: ZMeans::Centre,
            parts: vec![Polyline { points, levels }],
        }
    };
    (1..=40).map(one).collect()
}

/// A route of 2 km among services, with a bend half way, where a manhole stands in any plan.
fn among_services(seed: u64, waves_m: f64) -> (Site, Job) {
    let mut c = Chance::new(seed);
    let levels = ground(&mut c, 0.01, waves_m);
    let mut job = job();
    job.pits.max_depth_m = 3.4;
    job.rig.reach_m = c.between(45.0, 60.0);
    job.rules.manhole_spacing_m = c.between(60.0, 90.0);
    job.rules.manhole_drop_m = c.one_of(&[0.0, 0.02]);
    let ground = across(&levels);
    let points = [LENGTH_M as f64, LENGTH_M as f64 / 2.0, 0.0].map(bent);
    let site = Site {
        services: services(&mut c, &ground),
        ground,
        routes: vec![route(1, points.to_vec(), None)],
        ..Site::default()
    };
    (site, job)
}

/// The same in two: the upper half joins the lower at its head.
fn cut(mut site: Site) -> Site {
    let [head, bend, end] = site.routes[0].line.points[..] else {
        panic!("three points")
    };
    site.routes = vec![
        route(1, vec![bend, end], None),
        route(2, vec![head, bend], Some("R1")),
    ];
    site
}

#[test]
fn two_kilometres_among_services_keep_every_rule_and_cost_the_sum_of_their_halves() {
    let (mut through, mut holes) = (0, 0);
    for seed in 41_000..41_002 {
        let (site, mut job) = among_services(seed, 0.2);
        job.search.station_step_m = 2.0;
        job.search.level_step_m = 0.04;
        let whole = plan(&site, &job, &Quiet);
        let blockers = &whole.routes[0].blockers;
        assert!(whole.routes[0].planned, "seed {seed}: {blockers:?}");
        audit(&site, &job, &whole);
        through += whole.pits.iter().filter(|p| !p.manhole).count();
        holes += whole.test_holes.len();
        let site = cut(site);
        let halves = plan(&site, &job, &Quiet);
        audit(&site, &job, &halves);
        assert!(
            same(cost(&whole), cost(&halves)),
            "seed {seed}: {} in one, {} in two",
            cost(&whole),
            cost(&halves)
        );
    }
    println!("two routes of 2 km: {through} through pits, {holes} test holes");
    assert!(through >= 1 && holes >= 10);
}

/// On a coarser grid, so that the plain search can try everything.
#[test]
fn no_plan_of_two_kilometres_is_cheaper() {
    let mut planned = 0;
    for seed in 42_000..42_003 {
        let (site, mut job) = among_services(seed, 0.02);
        job.search.station_step_m = 12.5;
        job.search.level_step_m = 0.125;
        job.rules.manhole_spacing_m = 50.0;
        job.pits.max_depth_m = 3.0;
        job.rig.reach_m = 41.0;
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("the route has length");
        let least = PlainSearch::new(&system.members[0].cx, true).least_cost();
        let found = least_cost(&site, &job);
        assert!(
            same(found, least),
            "seed {seed}: the search found {found}, the plain search {least}"
        );
        if found.is_finite() {
            audit(&site, &job, &plan(&site, &job, &Quiet));
            planned += 1;
        }
    }
    println!("{planned} of 3 have a plan");
    assert!(planned >= 2);
}
