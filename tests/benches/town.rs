//! An invented town for the benchmarks: straight streets side by side, each with a route, the mains, and the
//! connections of its lots. The same seed gives the same town.

use super::chance::Chance;
use geo::{Coord, LineString, Polygon, coord};
use pitwright::{
    ground::{Grid, Ground, Levels},
    site::*,
};
use std::f64::consts::TAU;

/// How large a town is.
#[derive(Debug, Clone, Copy)]
pub struct Size {
    pub streets: usize,
    pub length_m: f64,
    pub services_each: usize,
}

/// From street to street (m).
const APART_M: f64 = 90.0;
/// Along the street (m).
const LOT_M: f64 = 20.0;
/// From the street's middle to the lots (m).
const VERGE_M: f64 = 8.0;
/// Raster cell (m), and ground beyond the streets' ends (m).
const CELL_M: f64 = 2.0;
const AROUND_M: f64 = 60.0;
/// This share of the services has no depth on record.
const UNKNOWN_DEPTH: f64 = 0.2;

/// A main along the street and the connections from it: kind, place across the street (left negative), outside
/// diameters, cover.
struct Main {
    kind: Kind,
    y: f64,
    diameter_mm: f64,
    connection_mm: f64,
    cover_m: f64,
}

const fn main(kind: Kind, y: f64, diameter_mm: f64, connection_mm: f64, cover_m: f64) -> Main {
    Main {
        kind,
        y,
        diameter_mm,
        connection_mm,
        cover_m,
    }
}

const MAINS: [Main; 7] = [
    main(Kind::Electricity, -7.0, 110.0, 50.0, 0.6),
    main(Kind::Gas, -5.6, 63.0, 25.0, 0.75),
    main(Kind::Stormwater, -3.4, 375.0, 110.0, 1.0),
    main(Kind::Water, 4.2, 125.0, 32.0, 0.9),
    main(Kind::RecycledWater, 5.2, 110.0, 32.0, 0.8),
    main(Kind::Telecom, 6.2, 100.0, 50.0, 0.5),
    main(Kind::Telecom, 7.2, 100.0, 50.0, 0.45),
];

/// A lot to be connected: counted along its street, -1 left or 1 right, and the street's length.
struct Served {
    number: usize,
    side: f64,
    length_m: f64,
}

/// The town of a seed.
pub fn town(size: Size, seed: u64) -> Site {
    let mut c = Chance::new(seed);
    let mut site = Site {
        ground: Ground::Grid(ground(size)),
        ..Site::default()
    };
    for i in 0..size.streets {
        build_street(&mut site, &mut c, size, i as f64 * APART_M);
    }
    let (low, high) = (
        coord! {x: 0.0, y: -40.0},
        coord! {x: size.length_m, y: size.streets as f64 * APART_M - 50.0},
    );
    site.extent = Some((low, high));
    site
}

/// Ground level: falling towards x = 0, gently rolling.
fn level(x: f64, y: f64) -> f64 {
    80.0 + 0.016 * x + 0.003 * y + 0.15 * (TAU * x / 70.0).sin() * (TAU * y / 110.0 + 1.0).cos()
}

fn ground(size: Size) -> Grid {
    let (left, top) = (-AROUND_M, (size.streets as f64 - 1.0) * APART_M + AROUND_M);
    let width = ((size.length_m + 2.0 * AROUND_M) / CELL_M) as usize;
    let height = ((top + AROUND_M) / CELL_M) as usize;
    let cell = |i: usize| {
        let (col, row) = ((i % width) as f64 + 0.5, (i / width) as f64 + 0.5);
        level(left + col * CELL_M, top - row * CELL_M)
    };
    Grid {
        width,
        height,
        levels: Levels::Whole((0..width * height).map(cell).collect()),
        to_cell: [
            -left / CELL_M,
            1.0 / CELL_M,
            0.0,
            top / CELL_M,
            0.0,
            -1.0 / CELL_M,
        ],
        unit_m: 1.0,
        project: None,
    }
}

fn at(layer: &str, others: usize) -> FeatureRef {
    FeatureRef {
        layer: layer.into(),
        fid: others as i64 + 1,
    }
}

fn line(points: &[(f64, f64)]) -> Polyline {
    Polyline {
        points: points.iter().map(|&(x, y)| coord! {x: x, y: y}).collect(),
        levels: None,
    }
}

fn rectangle([x, x1]: [f64; 2], [y, y1]: [f64; 2]) -> Polygon<f64> {
    let ring: Vec<Coord<f64>> = [(x, y), (x1, y), (x1, y1), (x, y1), (x, y)]
        .map(|(x, y)| coord! {x: x, y: y})
        .into();
    Polygon::new(LineString::new(ring), vec![])
}

fn build_street(site: &mut Site, c: &mut Chance, size: Size, y0: f64) {
    let length = size.length_m;
    site.routes.push(route(site.routes.len(), length, y0));
    site.streets.push(Street {
        at: at("streets", site.streets.len()),
        name: None,
        parts: vec![line(&[(-10.0, y0), (length + 10.0, y0)])],
    });
    for (surface, [low, high]) in [
        (Surface::Asphalt, [-4.0, 4.0]),
        (Surface::Concrete, [5.0, 6.5]),
        (Surface::Lawn, [-VERGE_M, -4.0]),
        (Surface::Lawn, [4.0, VERGE_M]),
    ] {
        let parts = vec![rectangle([-10.0, length + 10.0], [y0 + low, y0 + high])];
        site.surfaces.push(SurfaceArea {
            at: at("surfaces", site.surfaces.len()),
            surface,
            parts,
        });
    }
    let lots = (length / LOT_M) as usize;
    for k in 0..lots {
        for side in [-1.0, 1.0] {
            build_lot(site, c, (k as f64 * LOT_M, y0), side);
        }
    }
    let last = site.services.len() + size.services_each;
    for m in &MAINS {
        let points = [
            (-12.0, y0 + m.y),
            (length / 2.0, y0 + m.y + c.between(-0.1, 0.1)),
            (length + 12.0, y0 + m.y),
        ];
        push_service(site, c, m, m.diameter_mm, line(&points));
    }
    for i in 0.. {
        if site.services.len() >= last {
            break;
        }
        let m = &MAINS[(i / (2 * lots)) % MAINS.len()];
        let served = Served {
            number: (i / 2) % lots,
            side: [-1.0, 1.0][i % 2],
            length_m: length,
        };
        let points = connection(c, m, served, y0);
        push_service(site, c, m, m.connection_mm, line(&points));
    }
}

/// Digitised downstream, with two bends of about a degree.
fn route(others: usize, length: f64, y0: f64) -> Route {
    let points = [
        (length, y0 + 0.5),
        (0.68 * length, y0 + 0.9),
        (0.35 * length, y0 + 0.3),
        (0.0, y0 + 0.5),
    ];
    Route {
        at: at("routes", others),
        route_id: format!("T{:02}", others + 1),
        line: line(&points),
        dn_mm: None,
        outfall_invert_m: Some(((level(0.0, y0 + 0.5) - 2.6) * 100.0).round() / 100.0),
        head_invert_max_m: None,
        joins: None,
        follows: None,
        serves: vec![],
    }
}

fn build_lot(site: &mut Site, c: &mut Chance, (x, y0): (f64, f64), side: f64) {
    let across = |near: f64, far: f64| {
        let (a, b) = (y0 + side * near, y0 + side * far);
        [a.min(b), a.max(b)]
    };
    site.lots.push(Lot {
        at: at("lots", site.lots.len()),
        lot_id: format!("L{}", site.lots.len() + 1),
        serve: true,
        entry: c.chance(0.5),
        low_level_m: None,
        parts: vec![rectangle([x, x + LOT_M], across(VERGE_M, 36.0))],
    });
    site.buildings.push(Building {
        at: at("buildings", site.buildings.len()),
        floor_m: Some(level(x, y0 + side * 15.0) + 0.3),
        foundation_depth_m: None,
        parts: vec![rectangle([x + 3.0, x + 15.0], across(14.0, 26.0))],
    });
    site.trees.push(Tree {
        at: at("trees", site.trees.len()),
        trunk_diameter_m: c.one_of(&[0.2, 0.3, 0.5]),
        retain: c.chance(0.8),
        points: vec![coord! {x: x + 8.0 + c.below(5) as f64, y: y0 + side * 7.6}],
    });
}

/// From a main square into a lot, near the boundary that the lot shares with its neighbour (in the middle of the last
/// lot, which may have none): half of them cross the route, and leave it room for pits between.
fn connection(
    c: &mut Chance,
    m: &Main,
    Served {
        number,
        side,
        length_m,
    }: Served,
    y0: f64,
) -> [(f64, f64); 2] {
    let boundary = (number / 2 * 2 + 1) as f64 * LOT_M;
    let x = boundary.min(length_m - LOT_M / 2.0) + c.between(-2.5, 2.5);
    [
        (x, y0 + m.y),
        (x + c.between(-0.5, 0.5), y0 + side * c.between(10.0, 14.0)),
    ]
}

fn push_service(site: &mut Site, c: &mut Chance, m: &Main, diameter_mm: f64, line: Polyline) {
    let known = !c.chance(UNKNOWN_DEPTH);
    let quality = if known {
        c.one_of(&[Quality::A, Quality::B, Quality::B, Quality::C])
    } else {
        c.one_of(&[Quality::C, Quality::D, Quality::D, Quality::Unknown])
    };
    site.services.push(Service {
        at: at("services", site.services.len()),
        kind: m.kind,
        diameter_mm: Some(diameter_mm),
        cover_m: known.then(|| m.cover_m + c.between(-0.1, 0.1)),
        quality,
        owner: None,
        material: None,
        abandoned: false,
        z_means: ZMeans::default(),
        parts: vec![line],
    });
}
