//! Small random sites, made so that every rule binds in some of them.

use super::chance::Chance;
use geo::{Coord, LineString, Polygon, coord};
use pitwright::{
    ground::{Grid, Ground, Levels},
    job::{Job, JobFile, LaunchFrom, OnLots, UnknownDepth},
    site::*,
};

/// How large a site is to be.
#[derive(Clone, Copy)]
pub struct Size {
    pub length_m: f64,
    pub step_m: f64,
    pub level_step_m: f64,
    pub deepest_m: f64,
}

impl Size {
    /// A single route of usual length, stations so far apart.
    pub const fn route(step_m: f64) -> Size {
        Size {
            length_m: 20.0,
            step_m,
            level_step_m: 0.2,
            deepest_m: 3.4,
        }
    }

    /// The routes of a tree likewise.
    pub const fn tree(step_m: f64) -> Size {
        Size {
            length_m: 16.0,
            step_m,
            level_step_m: 0.25,
            deepest_m: 4.0,
        }
    }
}

fn at(layer: &str, fid: u64) -> FeatureRef {
    FeatureRef {
        layer: layer.into(),
        fid: fid as i64,
    }
}

fn rectangle(x: f64, y: f64, w: f64, h: f64) -> Polygon<f64> {
    let ring = vec![(x, y), (x + w, y), (x + w, y + h), (x, y + h), (x, y)];
    Polygon::new(LineString::from(ring), vec![])
}

/// Ground: a plane falling towards x = 0, with bumps, on a raster of 2 m cells.
fn ground(c: &mut Chance) -> Ground {
    let (sx, sy, bump) = (
        c.between(0.005, 0.06),
        c.between(-0.02, 0.02),
        c.between(0.0, 0.2),
    );
    let phase = c.between(0.0, 6.0);
    let (width, height) = (50, 40);
    let mut levels = vec![];
    for row in 0..height {
        for col in 0..width {
            let (x, y) = (2.0 * col as f64 - 19.0, 39.0 - 2.0 * row as f64);
            levels.push(50.0 + sx * x + sy * y + bump * (x / 4.0 + phase).sin());
        }
    }
    if c.chance(0.05) {
        let hole = c.below((width * height) as u64) as usize;
        levels[hole] = f64::NAN;
    }
    Ground::Grid(Grid {
        width,
        height,
        levels: Levels::Whole(levels),
        to_cell: [10.0, 0.5, 0.0, 20.0, 0.0, -0.5],
        unit_m: 1.0,
        project: None,
    })
}

/// Upstream end first, ending near the origin.
fn route_line(c: &mut Chance, length_m: f64) -> Vec<Coord<f64>> {
    let mut points = vec![coord! {x: 0.0, y: 0.0}];
    let mut bearing: f64 = c.between(-0.2, 0.2);
    let legs = 1 + c.below(3);
    for _ in 0..legs {
        let leg = length_m / legs as f64;
        let last = points[points.len() - 1];
        points.push(last + coord! {x: bearing.cos(), y: bearing.sin()} * leg);
        bearing += c.one_of(&[0.0, 0.002, 0.4, -0.5]);
    }
    points.reverse();
    points
}

pub fn service(c: &mut Chance, fid: u64, length_m: f64) -> Service {
    let crossing = c.chance(0.85);
    let x = c.between(0.0, length_m);
    let points = if crossing {
        let lean = c.between(-3.0, 3.0);
        vec![coord! {x: x - lean, y: -8.0}, coord! {x: x + lean, y: 8.0}]
    } else {
        let y = c.one_of(&[-1.0, 1.0]) * c.between(1.2, 2.6);
        vec![
            coord! {x: -2.0, y: y},
            coord! {x: x, y: y + 0.2},
            coord! {x: length_m + 4.0, y: y + c.between(-1.0, 1.0)},
        ]
    };
    let z = c.between(48.0, 50.0);
    let levels = c
        .chance(0.4)
        .then(|| points.iter().map(|_| z + c.between(-0.1, 0.1)).collect());
    Service {
        at: at("services", fid),
        kind: c.one_of(&[
            Kind::Water,
            Kind::Gas,
            Kind::Electricity,
            Kind::Telecom,
            Kind::Sewer,
        ]),
        diameter_mm: c.chance(0.8).then(|| c.between(20.0, 120.0)),
        cover_m: c.chance(0.5).then(|| c.between(0.4, 1.8)),
        quality: c.one_of(&[Quality::A, Quality::B, Quality::C, Quality::Unknown]),
        owner: None,
        material: None,
        abandoned: false,
        z_means: c.one_of(&[ZMeans::Top, ZMeans::Centre, ZMeans::Invert]),
        parts: vec![Polyline { points, levels }],
    }
}

fn site(c: &mut Chance, size: &Size) -> Site {
    let line = route_line(c, size.length_m);
    let outfall = c.chance(0.4).then(|| c.between(47.9, 48.7));
    let head = c.chance(0.3).then(|| c.between(48.6, 49.8));
    let manholes = c.chance(0.3).then(|| Manhole {
        at: at("manholes", 1),
        manhole_id: None,
        cover_level_m: None,
        invert_m: c.chance(0.5).then(|| c.between(47.9, 48.7)),
        point: coord! {x: 0.1, y: 0.1},
    });
    let n = c.below(4);
    let services = (0..n).map(|i| service(c, i + 1, size.length_m)).collect();
    let place = |c: &mut Chance| {
        (
            c.between(-2.0, size.length_m),
            c.one_of(&[-5.0, -4.2, 1.2, 2.5]),
        )
    };
    let buildings = (0..c.below(2)).map(|i| {
        let (x, y) = place(c);
        Building {
            at: at("buildings", i + 1),
            floor_m: c.chance(0.5).then(|| c.between(48.5, 50.5)),
            foundation_depth_m: c.chance(0.3).then_some(1.2),
            parts: vec![rectangle(x, y, 3.0, 3.0)],
        }
    });
    let buildings = buildings.collect();
    let trees = (0..c.below(2)).map(|i| {
        let (x, y) = place(c);
        Tree {
            at: at("trees", i + 1),
            trunk_diameter_m: c.between(0.1, 0.6),
            retain: c.chance(0.7),
            points: vec![coord! {x: x, y: y}],
        }
    });
    let trees = trees.collect();
    let lots = (0..c.below(2)).map(|i| {
        let (x, y) = place(c);
        let entry = c.chance(0.6);
        let parts = vec![rectangle(x, y, 5.0, 4.0)];
        Lot {
            at: at("lots", i + 1),
            lot_id: format!("L{}", i + 1),
            serve: true,
            entry,
            low_level_m: None,
            parts,
        }
    });
    let lots = lots.collect();
    let surfaces = (0..c.below(4)).map(|i| {
        let (x, y) = place(c);
        let surface = c.one_of(&[Surface::Asphalt, Surface::Lawn, Surface::Concrete]);
        SurfaceArea {
            at: at("surfaces", i + 1),
            surface,
            parts: vec![rectangle(x - 1.0, y - 1.0, 6.0, 6.0)],
        }
    });
    let surfaces = surfaces.collect();
    let keepouts = (0..c.below(4).saturating_sub(2)).map(|i| {
        let (x, y) = place(c);
        Keepout {
            at: at("keepouts", i + 1),
            reason: None,
            parts: vec![rectangle(x, y, 1.0, 2.0)],
        }
    });
    let keepouts = keepouts.collect();
    let follows = (n > 0 && c.chance(0.1)).then(|| at("services", 1));
    let route = Route {
        at: at("routes", 1),
        route_id: "R1".into(),
        line: Polyline {
            points: line,
            levels: None,
        },
        dn_mm: None,
        outfall_invert_m: outfall,
        head_invert_max_m: head,
        joins: None,
        follows,
        serves: vec![],
    };
    Site {
        routes: vec![route],
        manholes: manholes.into_iter().collect(),
        services,
        buildings,
        trees,
        lots,
        surfaces,
        keepouts,
        ground: ground(c),
        ..Site::default()
    }
}

fn job(c: &mut Chance, size: &Size) -> Job {
    let mut job = JobFile::default().job;
    job.search.station_step_m = size.step_m;
    job.search.level_step_m = size.level_step_m;
    job.search.snap_m = 0.5;
    job.rig.reach_m = size.length_m * c.between(0.4, 1.1);
    job.rig.grade_min = c.one_of(&[0.0, 0.002, 0.01]);
    job.rig.grade_max = 0.2;
    job.rig.launch_from = c.one_of(&[
        LaunchFrom::Either,
        LaunchFrom::Either,
        LaunchFrom::Downstream,
        LaunchFrom::Upstream,
    ]);
    (job.rig.launch_length_m, job.rig.launch_width_m) = (c.between(1.6, 3.0), c.between(1.2, 2.0));
    (job.rig.reception_length_m, job.rig.reception_width_m) =
        (c.between(1.0, 2.0), c.between(0.8, 1.5));
    job.rules.min_grade = [(100, c.one_of(&[0.002, 0.005, 0.01]))].into();
    job.rules.manhole_spacing_m = size.length_m * c.between(0.5, 1.6);
    job.rules.manhole_drop_m = c.one_of(&[0.0, 0.03, 0.1]);
    job.rules.manhole_drop_max_m = c.chance(0.3).then_some(0.4);
    job.rules.min_cover_m = c.between(0.4, 0.9);
    job.rules.unknown_depth = if c.chance(0.15) {
        UnknownDepth::Avoid
    } else {
        UnknownDepth::Prove
    };
    job.rules.foundation_depth_m = 0.6;
    job.pits.max_depth_m = size.deepest_m;
    job.pits.hand_dig_max_depth_m = size.deepest_m * c.between(0.7, 1.0);
    job.pits.on_lots = c.one_of(&[OnLots::Entry, OnLots::Always, OnLots::Always, OnLots::Never]);
    job.pits.building_setback_m = c.between(0.2, 1.0);
    for clearance in job.rules.clearance.values_mut() {
        clearance.crossing_m = c.between(0.1, 0.3);
        clearance.parallel_m = c.between(0.2, 0.5);
        clearance.pit_m = c.between(0.2, 0.6);
    }
    for level in [
        Quality::A,
        Quality::B,
        Quality::C,
        Quality::D,
        Quality::Unknown,
    ] {
        let limits = job
            .rules
            .quality
            .get_mut(&level)
            .expect("every level is there");
        limits.horizontal_m = c.between(0.05, 0.4);
        limits.vertical_m = c.between(0.05, 0.4);
    }
    if c.chance(0.2) {
        job.costs.pit_per_m3 = 0.0;
        job.costs.manhole_per_m = 0.0;
    }
    for strike in job.costs.strike.values_mut() {
        *strike = c.one_of(&[0.0, 500.0, 20_000.0]);
    }
    job
}

/// A street, and round the route a yard with one gate, divided across by a passage; any of it may be missing. Where both are
/// wide a machine gets everywhere; else part of the route, or all, is for hands, or for nobody.
fn yard(c: &mut Chance, site: &mut Site, job: &mut Job, length_m: f64) {
    job.pits.machine_width_m = c.between(1.5, 3.0);
    job.rig.access_width_m = c.between(0.6, 1.2);
    if c.chance(0.4) {
        return;
    }
    let points = vec![coord! {x: -30.0, y: -14.0}, coord! {x: 60.0, y: -14.0}];
    site.streets.push(Street {
        at: at("streets", 1),
        name: None,
        parts: vec![Polyline {
            points,
            levels: None,
        }],
    });
    let (west, east) = (-6.0, length_m + 6.0);
    let mut walls = vec![];
    if c.chance(0.6) {
        let (gate, width) = (c.between(west + 1.0, east - 5.0), c.between(0.9, 4.0));
        walls.extend([
            rectangle(west, 9.0, east - west, 0.5),
            rectangle(west, -9.0, 0.5, 18.0),
            rectangle(east - 0.5, -9.0, 0.5, 18.0),
            rectangle(west, -9.0, gate - west, 0.5),
            rectangle(gate + width, -9.0, east - gate - width, 0.5),
        ]);
    }
    if c.chance(0.6) {
        let (x, half) = (c.between(0.2, 0.8) * length_m, c.between(0.7, 1.6));
        let side = c.between(0.0, 2.0);
        walls.extend([
            rectangle(x, side + half, 0.5, 9.5 - side - half),
            rectangle(x, -9.0, 0.5, 9.0 + side - half),
        ]);
    }
    let wall = |(i, part): (usize, Polygon<f64>)| Building {
        at: at("walls", i as u64 + 1),
        floor_m: None,
        foundation_depth_m: Some(0.3),
        parts: vec![part],
    };
    site.buildings
        .extend(walls.into_iter().enumerate().map(wall));
}

/// The site and job of a seed.
pub fn small_site(seed: u64, size: &Size) -> (Site, Job) {
    let mut c = Chance::new(seed);
    let (mut site, mut job) = (site(&mut c, size), job(&mut c, size));
    // Its own chance, so that the rest of a site does not depend on it.
    let mut c = Chance::new(seed + 1_000_000);
    yard(&mut c, &mut site, &mut job, size.length_m);
    (site, job)
}

/// A branch that leaves `parent` somewhere, digitised to end there or up to snapping distance beside it.
fn branch(c: &mut Chance, number: u64, parent: &Route, length_m: f64) -> Route {
    let points = &parent.line.points;
    let i = c.below(points.len() as u64 - 1) as usize;
    let (up, down) = (points[i], points[i + 1]);
    let share = c.one_of(&[
        0.0,
        0.5,
        0.37,
        0.37,
        0.37,
        0.62,
        0.62,
        0.62,
        0.9,
        0.999_999_99,
    ]);
    let along = (down - up) / (down - up).x.hypot((down - up).y);
    let side = coord! {x: -along.y, y: along.x} * c.one_of(&[-1.0, 1.0]);
    let end = up + (down - up) * share + side * c.one_of(&[0.0, 0.0, 0.3]);
    let leg = (side * c.between(0.7, 1.0) - along * c.between(-0.2, 0.7)) * length_m;
    let bend = coord! {x: c.between(-1.5, 1.5), y: 0.0};
    let mut line = vec![end + leg, end + leg * 0.5, end];
    if c.chance(0.5) {
        line[0] = line[0] + bend;
    }
    Route {
        at: at("routes", number),
        route_id: format!("R{number}"),
        line: Polyline {
            points: line,
            levels: None,
        },
        outfall_invert_m: c.chance(0.08).then(|| c.between(48.0, 49.0)),
        head_invert_max_m: c.chance(0.1).then(|| c.between(48.8, 50.0)),
        joins: Some(parent.route_id.clone()),
        follows: None,
        ..parent.clone()
    }
}

/// A tree of two to four routes with a corridor and services of unknown depth.
pub fn small_tree(seed: u64, size: &Size) -> (Site, Job) {
    let mut c = Chance::new(seed);
    let mut site = site(&mut c, size);
    let mut job = job(&mut c, size);
    job.rig.reach_m = size.length_m * c.between(0.5, 1.1);
    job.rules.manhole_spacing_m = size.length_m * c.between(0.6, 1.6);
    job.search.corridor_step_m = c.one_of(&[0.4, 0.6]);
    job.search.corridor_m = c.one_of(&[0.4, 0.6, 0.7]);
    if c.chance(0.8) {
        site.routes[0].outfall_invert_m = None;
        job.pits.on_lots = OnLots::Always;
        job.rules.unknown_depth = UnknownDepth::Prove;
        job.rules.manhole_spacing_m = size.length_m;
        job.rig.launch_from = LaunchFrom::Either;
        site.services.truncate(1);
        site.keepouts.clear();
    }
    // A service of unknown depth that the route cannot pass round.
    let x = c.between(0.2, 0.8) * size.length_m;
    let mut unknown = service(&mut c, 9, size.length_m);
    (unknown.cover_m, unknown.parts) = (
        None,
        vec![Polyline {
            points: vec![coord! {x: x, y: -9.0}, coord! {x: x + 1.0, y: 9.0}],
            levels: None,
        }],
    );
    site.services.push(unknown);
    let branches = 1 + c.below(3);
    for i in 0..branches {
        let parent = site.routes[c.below(site.routes.len() as u64) as usize].clone();
        let new = branch(&mut c, i + 2, &parent, size.length_m * 0.5);
        // Now and then a second one at the same manhole.
        let same = site
            .routes
            .last()
            .filter(|last| last.joins.is_some() && c.chance(0.3));
        let end = same.and_then(|r| Some((*r.line.points.last()?, r.joins.clone())));
        let mut new = new;
        if let Some((end, joins)) = end {
            let turned = c.between(0.6, 1.2);
            let reach = new.line.points[0] - *new.line.points.last().expect("three points");
            new.line.points = vec![end + coord! {x: reach.x * turned, y: -reach.y}, end];
            new.joins = joins;
        }
        site.routes.push(new);
    }
    if c.chance(0.15) {
        let last = site
            .routes
            .last()
            .expect("there are routes")
            .line
            .points
            .clone();
        site.manholes.push(Manhole {
            at: at("manholes", 2),
            manhole_id: None,
            cover_level_m: None,
            invert_m: c.chance(0.3).then(|| c.between(48.0, 48.8)),
            point: *last.last().expect("a route has points"),
        });
    }
    if !site.services.is_empty() && c.chance(0.15) {
        site.routes[1].follows = Some(site.services[0].at.clone());
    }
    (site, job)
}
