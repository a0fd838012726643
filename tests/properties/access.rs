//! Who gets where, against the plain way: every obstacle grown as a polygon, all joined, taken from the box, and each
//! part that is left asked whether it touches a street.

use super::chance::Chance;
use geo::{
    BooleanOps, Coord, Intersects, LineString, MultiPolygon, Orient, Point, Polygon, coord,
    orient::Direction, unary_union,
};
use pitwright::{
    job::JobFile,
    pits::{Access, Dig},
    site::*,
};

/// Side of a site (m).
const SIDE_M: f64 = 40.0;
/// Corners of the circles of the plain way.
const CORNERS: usize = 48;
/// The plain way's circles are too large by as much as this (m), for widths and trunks as they occur here.
const TOO_LARGE_M: f64 = 0.006;

fn at(layer: &str, fid: usize) -> FeatureRef {
    FeatureRef {
        layer: layer.into(),
        fid: fid as i64,
    }
}

fn turned(outline: &[(f64, f64)], by: f64, to: Coord<f64>) -> LineString<f64> {
    let (sin, cos) = by.sin_cos();
    let turn =
        |&(x, y): &(f64, f64)| coord! {x: to.x + x * cos - y * sin, y: to.y + x * sin + y * cos};
    outline.iter().map(turn).collect()
}

fn somewhere(c: &mut Chance) -> Coord<f64> {
    coord! {x: c.between(0.0, SIDE_M), y: c.between(0.0, SIDE_M)}
}

/// Outlines as they are met: houses, houses with an arm, three wings round a yard, a yard all closed, long walls.
fn outline(c: &mut Chance) -> Polygon<f64> {
    let (w, h) = (c.between(2.0, 12.0), c.between(2.0, 10.0));
    let by = c.one_of(&[0.0, 0.3, 1.1]) + c.one_of(&[0.0, 0.0, 0.01]);
    let to = somewhere(c);
    let mouth = c.between(0.3, 3.5);
    let deep = mouth + 3.0;
    let rectangle = vec![(0., 0.), (w, 0.), (w, h), (0., h)];
    let wide = w.max(5.0);
    let arm = vec![
        (0., 0.),
        (wide, 0.),
        (wide, 2.),
        (2., 2.),
        (2., h.max(4.)),
        (0., h.max(4.)),
    ];
    // A yard as wide as `deep`, whose mouth is narrower.
    let wings = vec![
        (0., 0.),
        (deep + 2., 0.),
        (deep + 2., 8.),
        (1. + mouth, 8.),
        (1. + mouth, 7.),
        (deep + 1., 7.),
        (deep + 1., 1.),
        (1., 1.),
        (1., 7.),
        (0.5, 7.5),
        (0., 7.),
    ];
    let ring = vec![(0., 0.), (9., 0.), (9., 9.), (0., 9.)];
    let hole = vec![(1., 1.), (1., 8.), (8., 8.), (8., 1.)];
    let wall = vec![(0., 0.), (c.between(8., 30.), 0.), (8., 0.4), (0., 0.4)];
    let round: Vec<(f64, f64)> = (0..30)
        .map(|i| (i as f64 / 30.0 * std::f64::consts::TAU).sin_cos())
        .map(|(s, k)| (s * w / 2.0, k * w / 2.0))
        .collect();
    let shapes = [rectangle.clone(), rectangle, arm, wings, wall, round];
    if c.chance(0.1) {
        return Polygon::new(turned(&ring, by, to), vec![turned(&hole, by, to)]);
    }
    let k = c.below(shapes.len() as u64) as usize;
    Polygon::new(turned(&shapes[k], by, to), vec![])
}

/// Houses side by side, some gaps of a round width, some none.
fn row(c: &mut Chance) -> Vec<Polygon<f64>> {
    let (by, mut to) = (c.one_of(&[0.0, 0.4]), somewhere(c));
    let n = 2 + c.below(4);
    let mut house = |c: &mut Chance| {
        let w = c.one_of(&[4.0, 5.5]);
        let p = turned(&[(0., 0.), (w, 0.), (w, 6.), (0., 6.)], by, to);
        let (sin, cos) = by.sin_cos();
        to = to + coord! {x: cos, y: sin} * (w + c.one_of(&[0.0, 0.4, 0.9, 1.4, 2.5, 3.0]));
        Polygon::new(p, vec![])
    };
    (0..n).map(|_| house(c)).collect::<Vec<_>>()
}

fn site(seed: u64) -> Site {
    let mut c = Chance::new(seed);
    let mut areas: Vec<Polygon<f64>> = (0..c.below(14)).map(|_| outline(&mut c)).collect();
    for _ in 0..c.below(3) {
        areas.extend(row(&mut c));
    }
    let keepout = |i: usize| i % 5 == 4;
    let trees: Vec<Tree> = (0..c.below(30) as usize)
        .map(|i| Tree {
            at: at("trees", i + 1),
            trunk_diameter_m: c.between(0.1, 1.2),
            retain: c.chance(0.8),
            points: vec![somewhere(&mut c)],
        })
        .collect();
    let mut trees = trees;
    if c.chance(0.5) {
        let middle = somewhere(&mut c);
        let side_m = c.between(5.0, 20.0);
        trees.extend((0..20 + c.below(30) as usize).map(|i| {
            let off = coord! {x: c.between(0.0, side_m), y: c.between(0.0, side_m)};
            Tree {
                at: at("grove", i + 1),
                trunk_diameter_m: c.between(0.1, 1.2),
                retain: true,
                points: vec![middle + off],
            }
        }));
    }
    let streets = (0..1 + c.below(2) as usize).map(|i| Street {
        at: at("streets", i + 1),
        name: None,
        parts: vec![Polyline {
            points: (0..2 + c.below(2)).map(|_| somewhere(&mut c)).collect(),
            levels: None,
        }],
    });
    let streets = streets.collect();
    let split = |wanted: bool| {
        areas
            .iter()
            .enumerate()
            .filter(move |(i, _)| keepout(*i) == wanted)
    };
    Site {
        buildings: split(false)
            .map(|(i, p)| Building {
                at: at("buildings", i + 1),
                floor_m: None,
                foundation_depth_m: None,
                parts: vec![p.clone()],
            })
            .collect(),
        keepouts: split(true)
            .map(|(i, p)| Keepout {
                at: at("keepouts", i + 1),
                reason: None,
                parts: vec![p.clone()],
            })
            .collect(),
        trees,
        streets,
        extent: Some((coord! {x: 0., y: 0.}, coord! {x: SIDE_M, y: SIDE_M})),
        ..Site::default()
    }
}

/// A circle's polygon from outside.
fn circle(centre: Coord<f64>, radius: f64) -> Polygon<f64> {
    let half = std::f64::consts::PI / CORNERS as f64;
    let outer = radius / half.cos();
    let corner = |i: usize| {
        let (sin, cos) = (2.0 * half * i as f64).sin_cos();
        centre + coord! {x: cos, y: sin} * outer
    };
    Polygon::new((0..CORNERS).map(corner).collect(), vec![])
}

fn grown(p: &Polygon<f64>, by: f64) -> Vec<Polygon<f64>> {
    let mut all = vec![p.clone()];
    for ring in std::iter::once(p.exterior()).chain(p.interiors()) {
        for e in ring.0.windows(2).filter(|e| e[0] != e[1]) {
            let d = e[1] - e[0];
            let off = coord! {x: -d.y, y: d.x} * (by / d.x.hypot(d.y));
            let strip = vec![e[0] - off, e[1] - off, e[1] + off, e[0] + off];
            all.push(Polygon::new(LineString::new(strip), vec![]));
            all.push(circle(e[0], by));
        }
    }
    all
}

/// The parts of the free ground that a street touches.
fn plain(site: &Site, width: f64) -> Vec<Polygon<f64>> {
    let by = width / 2.0;
    let buildings = site.buildings.iter().flat_map(|b| &b.parts);
    let areas = buildings.chain(site.keepouts.iter().flat_map(|k| &k.parts));
    let mut closed: Vec<Polygon<f64>> = areas.flat_map(|p| grown(p, by)).collect();
    for t in site.trees.iter().filter(|t| t.retain) {
        closed.push(circle(t.points[0], t.trunk_diameter_m / 2.0 + by));
    }
    let (low, high) = (-50.0, SIDE_M + 50.0);
    let ring = [(low, low), (high, low), (high, high), (low, high)];
    let box_ = MultiPolygon::new(vec![Polygon::new(LineString::from(ring.to_vec()), vec![])]);
    let free = box_.difference(&unary_union(&turned_alike(closed)));
    let streets: Vec<LineString<f64>> = site
        .streets
        .iter()
        .flat_map(|s| &s.parts)
        .map(|l| LineString::new(l.points.clone()))
        .collect();
    let touched = |p: &Polygon<f64>| streets.iter().any(|s| p.intersects(s));
    free.into_iter().filter(touched).collect()
}

/// The joining wants all rings turned alike.
fn turned_alike(areas: Vec<Polygon<f64>>) -> Vec<Polygon<f64>> {
    areas.iter().map(|p| p.orient(Direction::Default)).collect()
}

fn within(parts: &[Polygon<f64>], p: Coord<f64>) -> bool {
    parts.iter().any(|part| part.intersects(&Point::from(p)))
}

#[test]
fn free_ground_and_streets_decide_who_digs() {
    let (mut asked, mut unsure, mut cut_off) = (0, 0, 0);
    let mut counts = [0; 3];
    for seed in 0..150 {
        let site = site(seed);
        let mut c = Chance::new(seed + 70_000);
        let mut job = JobFile::default().job;
        job.pits.machine_width_m = c.one_of(&[2.0, 2.5, 3.0]);
        job.rig.access_width_m = c.one_of(&[0.6, 0.9, 1.2]);
        let access = Access::new(&site, &job);
        let widths = [job.pits.machine_width_m, job.rig.access_width_m];
        // Where a little less than the width, or a little more, gives another answer, the plain way is not asked.
        let ways = widths.map(|w| [-2.0 * TOO_LARGE_M, 0.002].map(|by| plain(&site, w + by)));
        for _ in 0..300 {
            let p = somewhere(&mut c);
            let by = ways
                .each_ref()
                .map(|w| w.each_ref().map(|parts| within(parts, p)));
            asked += 1;
            if by.iter().any(|[less, more]| less != more) {
                unsure += 1;
                continue;
            }
            let expected = match (by[0][0], by[1][0]) {
                (true, _) => Some(Dig::Machine),
                (false, true) => Some(Dig::Hand),
                (false, false) => None,
            };
            assert_eq!(
                access.dig(p),
                expected,
                "seed {seed}: {p:?}, widths {widths:?}"
            );
            counts[expected.map_or(2, |d| d as usize)] += 1;
            cut_off += usize::from(expected.is_none() && !inside_any(&site, p));
        }
    }
    println!(
        "{asked} places, {unsure} too near the edge; machine, hand, none: {counts:?}; {cut_off} of the last outdoors"
    );
    assert!(unsure < asked / 20 && counts.iter().all(|n| *n > 2_000) && cut_off > 2_000);
}

fn inside_any(site: &Site, p: Coord<f64>) -> bool {
    let buildings = site.buildings.iter().flat_map(|b| &b.parts);
    let mut areas = buildings.chain(site.keepouts.iter().flat_map(|k| &k.parts));
    areas.any(|a| a.intersects(&Point::from(p)))
}
