//! How long the parts of a plan take: what lies near a drive, judging it, siting a pit, nearest points.

#[path = "../properties/chance.rs"]
mod chance;
mod town;

use chance::Chance;
use criterion::{Criterion, Throughput, criterion_group, criterion_main};
use geo::coord;
use pitwright::{
    clearance::{Curtain, FROM_DOWNSTREAM, FROM_UPSTREAM, Segment, nearest, nearest_curtain},
    job::JobFile,
    pits::{Access, Dig, Meets, Siting, footprint},
    plan::{
        context::{Context, World},
        search::{Coarse, Grid, Prices},
    },
};
use std::hint::black_box;
use town::{Size, town};

/// Upstream and downstream node of the 60 m drive that is timed: a node for every metre of chainage.
const DRIVE: [u32; 2] = [100, 40];
/// Depths of its invert below the ground at which it is judged (m).
const DEPTHS: [f64; 8] = [1.2, 1.5, 1.8, 2.1, 2.4, 2.7, 3.0, 3.3];

const STREET: Size = Size {
    streets: 1,
    length_m: 300.0,
    services_each: 200,
};

fn drives(c: &mut Criterion) {
    let (site, job) = (town(STREET, 7), JobFile::default().job);
    let world = World::new(&site, &job);
    let cx = Context::new(&world, &site.routes[0]).expect("the route has a length");
    let grid = Grid::new(&cx, Coarse::FINEST);
    let [us, ds] = DRIVE.map(|n| grid.point(n));
    let services = &world.obstacles.services;
    c.bench_function("near a 60 m drive", |b| {
        b.iter(|| {
            cx.yardstick
                .near(services, black_box(us), ds, cx.concern_m, |_| false)
        });
    });

    let mut prices = Prices::new(&cx);
    let drive = prices
        .drive(&grid, DRIVE[0], DRIVE[1])
        .expect("the drive is lawful at some level");
    let ground = DRIVE.map(|n| {
        grid.nodes[n as usize]
            .ground_m
            .expect("the town has ground")
    });
    let levels = DEPTHS.map(|depth| ground.map(|g| g - depth));
    let lawful = levels
        .iter()
        .filter(|z| prices.drive_cost(&drive, **z, FROM_UPSTREAM).is_some())
        .count();
    assert!(
        lawful > 0 && lawful < DEPTHS.len(),
        "{lawful} of the depths are lawful: some should be, and some not"
    );
    let mut group = c.benchmark_group("judging");
    group.throughput(Throughput::Elements(2 * DEPTHS.len() as u64));
    group.bench_function("a 60 m drive at 8 depths from both sides", |b| {
        b.iter(|| {
            let sides = [FROM_UPSTREAM, FROM_DOWNSTREAM];
            let each = levels.iter().flat_map(|z| sides.map(|s| (z, s)));
            each.filter_map(|(z, s)| prices.drive_cost(&drive, black_box(*z), s))
                .sum::<f64>()
        });
    });
    group.finish();
}

fn pits(c: &mut Criterion) {
    let (site, job) = (town(STREET, 7), JobFile::default().job);
    let world = World::new(&site, &job);
    let siting = Siting {
        job: &job,
        obstacles: &world.obstacles,
        access: &world.access,
    };
    let downstream = Meets {
        direction: coord! {x: -1.0, y: 0.0},
        launched: true,
    };
    let places: Vec<_> = (5..295).map(|x| coord! {x: f64::from(x), y: 0.5}).collect();
    let stands = |p: &geo::Coord<f64>| {
        let pit = footprint(*p, &job.rig, &[downstream])?;
        siting.standing(&pit, site.ground.level(*p)?, &|_| false)
    };
    let standing = places.iter().filter_map(stands).count();
    assert!(
        standing > 0 && standing < places.len(),
        "a pit should stand at some places and not at others"
    );
    let mut group = c.benchmark_group("siting");
    group.throughput(Throughput::Elements(places.len() as u64));
    group.bench_function("a pit at every metre of a street", |b| {
        b.iter(|| places.iter().filter_map(|p| stands(black_box(p))).count());
    });
    group.finish();
}

/// Pairs of a long drive and a short piece that lie about as they do in a street.
fn pairs(n: usize) -> Vec<(Segment, Curtain)> {
    let mut c = Chance::new(3);
    let mut pair = || {
        let (x, y) = (c.between(0.0, 60.0), c.between(-3.0, 3.0));
        let level = |c: &mut Chance| c.between(-2.5, -1.0);
        let drive = Segment {
            a: [0.0, 0.0, level(&mut c)],
            b: [60.0, 0.3, level(&mut c)],
        };
        let a = [x, y, level(&mut c)];
        let b = [
            x + c.between(-1.4, 1.4),
            y + c.between(-1.4, 1.4),
            a[2] + c.between(-0.1, 0.1),
        ];
        let low = [a[2] - 0.8, b[2] - 0.8];
        (
            drive,
            Curtain {
                a,
                b,
                low,
                high: low.map(|z| z + 1.0),
            },
        )
    };
    (0..n).map(|_| pair()).collect()
}

fn nearest_points(c: &mut Criterion) {
    let pairs = pairs(1000);
    let mut group = c.benchmark_group("nearest points");
    group.throughput(Throughput::Elements(pairs.len() as u64));
    group.bench_function("of a drive and a piece", |b| {
        let to_piece = |(drive, k): &(Segment, Curtain)| {
            nearest(drive, &Segment { a: k.a, b: k.b }).distance_m
        };
        b.iter(|| black_box(&pairs).iter().map(to_piece).sum::<f64>());
    });
    group.bench_function("of a drive and a curtain", |b| {
        b.iter(|| {
            black_box(&pairs)
                .iter()
                .map(|(drive, k)| nearest_curtain(drive, k, 0.0).distance_m)
                .sum::<f64>()
        });
    });
    group.finish();
}

/// A suburb of 5,000 lots; hedges and fruit trees in the back yards, a hundred and twenty thousand edges and trunks in all.
fn ways(c: &mut Criterion) {
    let size = Size {
        streets: 50,
        length_m: 1000.0,
        services_each: 10,
    };
    let (mut site, job) = (town(size, 7), JobFile::default().job);
    let lots: Vec<_> = site
        .lots
        .iter()
        .map(|l| l.parts[0].exterior().0[0])
        .collect();
    let mut chance = Chance::new(3);
    for low in lots {
        let mut tree = site.trees[0].clone();
        tree.retain = true;
        tree.points = (0..20)
            .map(|i| match i {
                0..12 => low + coord! {x: 1.5 * f64::from(i), y: 0.3},
                _ => low + coord! {x: chance.between(0.0, 20.0), y: chance.between(0.0, 28.0)},
            })
            .collect();
        site.trees.push(tree);
    }
    let places: Vec<_> = (0..1000)
        .map(|_| coord! {x: chance.between(0.0, 1000.0), y: chance.between(0.0, 4400.0)})
        .collect();
    let access = Access::new(&site, &job);
    let by = |who| places.iter().filter(|p| access.dig(**p) == who).count();
    let counts = [Some(Dig::Machine), Some(Dig::Hand), None].map(by);
    assert!(counts.iter().all(|n| *n > 0), "{counts:?}");
    let mut group = c.benchmark_group("ways");
    group.sample_size(10);
    group.bench_function("who gets where in a suburb of 5,000 lots", |b| {
        b.iter(|| Access::new(black_box(&site), &job));
    });
    group.throughput(Throughput::Elements(places.len() as u64));
    group.bench_function("who digs at a place of it", |b| {
        b.iter(|| {
            places
                .iter()
                .filter_map(|p| access.dig(black_box(*p)))
                .count()
        });
    });
    group.finish();
}

criterion_group!(benches, drives, pits, ways, nearest_points);
criterion_main!(benches);
