//! How long the parts of a plan take: what lies near a drive, judging it, siting a pit, nearest points.

#[path = "../properties/chance.rs"]
mod chance;
mod town;

use chance::Chance;
use divan::{Bencher, counter::ItemsCount};
use geo::{Coord, coord};
use pitwright::{
    clearance::{Curtain, FROM_DOWNSTREAM, FROM_UPSTREAM, Segment, nearest, nearest_curtain},
    job::{Job, JobFile},
    pits::{Access, Dig, Meets, Siting, footprint},
    plan::{
        context::{Context, World},
        search::{Coarse, Grid, Prices},
    },
    site::Site,
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

fn main() {
    divan::main();
}

/// What there is to plan the street with.
fn on_the_street(hear: impl FnOnce(&Context, &Grid)) {
    let (site, job) = (town(STREET, 7), JobFile::default().job);
    let world = World::new(&site, &job);
    let cx = Context::new(&world, &site.routes[0]).expect("the route has a length");
    let grid = Grid::new(&cx, Coarse::FINEST);
    hear(&cx, &grid);
}

#[divan::bench]
fn what_is_near_a_60_m_drive(b: Bencher) {
    on_the_street(|cx, grid| {
        let [us, ds] = DRIVE.map(|n| grid.point(n));
        let services = &cx.world.obstacles.services;
        b.bench_local(|| {
            cx.yardstick
                .near(services, black_box(us), ds, cx.concern_m, |_| false)
        });
    });
}

#[divan::bench]
fn judging_a_60_m_drive_at_8_depths_from_both_sides(b: Bencher) {
    on_the_street(|cx, grid| {
        let mut prices = Prices::new(cx);
        let drive = prices
            .drive(grid, DRIVE[0], DRIVE[1])
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
        b.counter(ItemsCount::new(2 * DEPTHS.len()))
            .bench_local(|| {
                let sides = [FROM_UPSTREAM, FROM_DOWNSTREAM];
                let each = levels.iter().flat_map(|z| sides.map(|s| (z, s)));
                each.filter_map(|(z, s)| prices.drive_cost(&drive, black_box(*z), s))
                    .sum::<f64>()
            });
    });
}

#[divan::bench]
fn a_pit_at_every_metre_of_a_street(b: Bencher) {
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
    b.counter(ItemsCount::new(places.len()))
        .bench_local(|| places.iter().filter_map(|p| stands(black_box(p))).count());
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

#[divan::bench]
fn nearest_points_of_a_drive_and_a_piece(b: Bencher) {
    let pairs = pairs(1000);
    let to_piece =
        |(drive, k): &(Segment, Curtain)| nearest(drive, &Segment { a: k.a, b: k.b }).distance_m;
    b.counter(ItemsCount::new(pairs.len()))
        .bench_local(|| black_box(&pairs).iter().map(to_piece).sum::<f64>());
}

#[divan::bench]
fn nearest_points_of_a_drive_and_a_curtain(b: Bencher) {
    let pairs = pairs(1000);
    let to_curtain = |(drive, k): &(Segment, Curtain)| nearest_curtain(drive, k, 0.0).distance_m;
    b.counter(ItemsCount::new(pairs.len()))
        .bench_local(|| black_box(&pairs).iter().map(to_curtain).sum::<f64>());
}

/// A suburb of 5,000 lots; hedges and fruit trees in the back yards, a hundred and twenty thousand edges and trunks in all; and places in it.
fn suburb() -> (Site, Job, Vec<Coord<f64>>) {
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
    (site, job, places)
}

#[divan::bench(sample_count = 10, sample_size = 1)]
fn who_gets_where_in_a_suburb_of_5000_lots(b: Bencher) {
    let (site, job, _) = suburb();
    b.bench_local(|| Access::new(black_box(&site), &job));
}

#[divan::bench]
fn who_digs_at_a_place_of_it(b: Bencher) {
    let (site, job, places) = suburb();
    let access = Access::new(&site, &job);
    let by = |who| places.iter().filter(|p| access.dig(**p) == who).count();
    let counts = [Some(Dig::Machine), Some(Dig::Hand), None].map(by);
    assert!(counts.iter().all(|n| *n > 0), "{counts:?}");
    b.counter(ItemsCount::new(places.len())).bench_local(|| {
        let digs = places.iter().filter_map(|p| access.dig(black_box(*p)));
        digs.count()
    });
}
