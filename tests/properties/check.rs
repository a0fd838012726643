//! A check against the functions of a plan, and what must hold whichever way things are digitised.

use crate::chance::Chance;
use crate::small_site::{Size, service, small_site};
use geo::Coord;
use pitwright::{
    check::{Bores, Checked, Found, check},
    clearance::{Accuracy, Clause, Depth, FROM_UPSTREAM, Services, Verdict, Yardstick, cut},
    job::{Job, Separation, Shares, Side},
    plan::{Obstacle, Quiet},
    site::{FeatureRef, GivenBore, Kind, Polyline, Quality, Records, Service, Site, ZMeans},
};

/// What is checked: services round (0 to 30, -4 to 4), and bores among them.
struct Case {
    site: Site,
    job: Job,
    services: Vec<Service>,
    bores: Vec<GivenBore>,
}

fn bore(
    fid: i64,
    points: Vec<Coord<f64>>,
    levels: Option<Vec<f64>>,
    launched_upstream: bool,
) -> GivenBore {
    GivenBore {
        at: FeatureRef {
            layer: "design".into(),
            fid,
        },
        bore_id: None,
        dn_mm: None,
        od_mm: None,
        id_mm: None,
        bore_mm: None,
        us_invert_m: None,
        ds_invert_m: None,
        launched_upstream,
        parts: vec![Polyline { points, levels }],
    }
}

fn case(seed: u64) -> Case {
    let size = Size {
        length_m: 24.0,
        step_m: 3.0,
        level_step_m: 0.1,
        deepest_m: 3.0,
    };
    let (mut site, mut job) = small_site(seed, &size);
    rules(&mut Chance::new(seed ^ 0x5E9A), &mut job);
    let mut c = Chance::new(seed ^ 0xC4EC);
    let mut services = std::mem::take(&mut site.services);
    for fid in 0..6 {
        services.push(service(&mut c, 100 + fid, 30.0));
    }
    bend(&mut c, &mut services);
    let mut bores = vec![];
    for fid in 0..5 {
        let n = c.one_of(&[2, 2, 3, 4]);
        let mut points = vec![];
        let mut levels = vec![];
        let (x, y) = (c.between(-4.0, 20.0), c.between(-6.0, 6.0));
        let turn = c.between(0.0, 6.0);
        for k in 0..n {
            let r = 7.0 * k as f64;
            let bend = turn + c.between(-0.4, 0.4);
            points.push(Coord {
                x: x + r * bend.cos(),
                y: y + r * bend.sin(),
            });
            levels.push(c.between(47.0, 49.5));
        }
        let levels = Some(levels).filter(|_| c.chance(0.85));
        bores.push(bore(fid, points, levels, c.chance(0.5)));
    }
    Case {
        site,
        job,
        services,
        bores,
    }
}

/// In some sites kinds of services are to be apart in plan or in level, and levels of quality are the less certain the
/// deeper a service lies; in some neither.
fn rules(c: &mut Chance, job: &mut Job) {
    for kind in Kind::ALL {
        if !c.chance(0.3) {
            continue;
        }
        let vertical_m = c.between(0.2, 0.6);
        let apart = Separation {
            horizontal_m: vertical_m + c.between(0.0, 2.5),
            vertical_m,
            service: c.one_of(&[Side::Above, Side::Either]),
        };
        job.rules.separation.insert(*kind, apart);
    }
    for level in Quality::ALL {
        if !c.chance(0.3) {
            continue;
        }
        let share = Shares {
            horizontal: c.between(0.0, 0.5),
            vertical: c.between(0.0, 0.5),
        };
        job.rules.quality_share.insert(*level, share);
    }
}

/// Vertices between and repeated ones, so that straight parts have several segments.
fn bend(c: &mut Chance, services: &mut [Service]) {
    for s in services.iter_mut() {
        s.z_means = c.one_of(&[ZMeans::Top, ZMeans::Centre, ZMeans::Invert]);
        for part in &mut s.parts {
            let n = part.points.len();
            let (a, b) = (part.points[n - 2], part.points[n - 1]);
            let off = c.one_of(&[0.0, 0.0, 0.05, 1.5]);
            let t = c.between(0.2, 0.8);
            let middle = a + (b - a) * t + Coord { x: 0.0, y: off };
            let repeats = 1 + c.below(2) as usize;
            for _ in 0..repeats {
                part.points.insert(n - 1, middle);
                if let Some(z) = &mut part.levels {
                    let between = z[n - 2] + t * (z[n - 1] - z[n - 2]);
                    z.insert(n - 1, between);
                }
            }
        }
    }
}

impl Case {
    fn bores(&self) -> Bores {
        Bores::new(self.bores.clone(), &self.job).expect("the job has its own size")
    }

    fn checked(&self) -> (Bores, Checked) {
        let bores = self.bores();
        let records = Records::of(&self.services);
        let checked = check(&self.site, &records, &bores, &self.job, &Quiet);
        (bores, checked)
    }

    fn yardstick(&self, bore_mm: f64) -> Yardstick {
        let rig = &self.job.rig;
        Yardstick {
            bore_radius_m: bore_mm / 2000.0,
            accuracy: Accuracy {
                setting_out_m: rig.setting_out_mm / 1000.0,
                per_m: rig.line_accuracy_mm / rig.accuracy_at_m / 1000.0,
            },
            watch_distance_m: self.job.watch_distance_m,
            watch_margin_m: self.job.rules.watch_margin_m,
            separations: true,
            nothing_beyond: pitwright::site::Kind::ALL
                .iter()
                .map(|k| (*k, 0.0))
                .collect(),
        }
    }
}

fn of_services(checked: &Checked) -> impl Iterator<Item = &Found> {
    checked
        .found
        .iter()
        .filter(|f| f.obstacle == Obstacle::Service)
}

/// Every bore of one straight with levels has, to the last digit, the rows that a plan's own functions give it.
#[test]
fn a_straight_bore_has_the_rows_of_a_plan() {
    let (mut rows, mut bands, mut apart, mut by_depth) = (0, 0, 0, 0);
    for seed in 0..400 {
        let case = case(seed);
        let (bores, checked) = case.checked();
        let parts = case.services.iter().enumerate();
        let parts: Vec<_> = parts
            .flat_map(|(i, s)| cut(i, s, &case.job, &case.site.ground))
            .collect();
        let services = Services::new(parts);
        for (number, b) in bores.all.iter().enumerate() {
            let [drive] = bores.of(b) else { continue };
            if !b.levels {
                continue;
            }
            let y = case.yardstick(b.bore_mm);
            let at = |p: [f64; 3]| Coord { x: p[0], y: p[1] };
            let ends = [at(drive.line.centre.a), at(drive.line.centre.b)];
            let by_m = y.farthest_concern(&services, b.length_m);
            let mut expected = vec![];
            for near in y.near(&services, ends[0], ends[1], by_m, |_| false) {
                let part = &services.parts[near.part];
                for row in y.rows(&drive.line, part, &near, FROM_UPSTREAM) {
                    bands += usize::from(!matches!(part.pieces[row.piece].depth, Depth::Known(_)));
                    let j = row.judged;
                    apart += usize::from(j.clause != Clause::Distance);
                    by_depth += usize::from(!part.by_piece.is_empty());
                    let angle = near
                        .pieces
                        .iter()
                        .find(|p| p.piece == row.piece)
                        .expect("near")
                        .angle_deg;
                    expected.push((
                        part.service,
                        (row.encounter, j.clause),
                        j.verdict,
                        j.clearance_m,
                        j.margin_m,
                        j.allowance_m,
                        j.p_contact(),
                        j.s * b.length_m,
                        angle,
                    ));
                }
            }
            let found = of_services(&checked).filter(|f| f.bore as usize == number);
            let found: Vec<_> = found
                .map(|f| {
                    let class = f.encounter.expect("of a service");
                    (
                        f.thing as usize,
                        (class, f.clause),
                        f.verdict,
                        f.clearance_m,
                        f.margin_m,
                        f.allowance_m,
                        f.p_contact,
                        f.chainage_m,
                        f.angle_deg,
                    )
                })
                .collect();
            assert_eq!(found, expected, "seed {seed}, bore {number}");
            rows += expected.len();
        }
    }
    println!(
        "{rows} rows: {bands} of unknown depth, {apart} by a separation, {by_depth} located by depth"
    );
    assert!(rows > 1500 && bands > 200, "{rows} {bands}");
    assert!(apart > 200 && by_depth > 200, "{apart} {by_depth}");
}

type Said = (usize, Verdict, f64, f64);

/// What a row says, whichever way things are digitised: without place along the bore, and what hangs on it.
fn said(checked: &Checked) -> Vec<Said> {
    let mut all: Vec<Said> = of_services(checked)
        .map(|f| {
            (
                f.bore as usize * 1000 + f.thing as usize,
                f.verdict,
                f.clearance_m,
                f.margin_m,
            )
        })
        .collect();
    all.sort_by(|a, b| {
        (a.0, a.1)
            .cmp(&(b.0, b.1))
            .then(a.2.total_cmp(&b.2))
            .then(a.3.total_cmp(&b.3))
    });
    all
}

fn alike(a: &[Said], b: &[Said], seed: u64) {
    assert_eq!(a.len(), b.len(), "seed {seed}: {a:?} {b:?}");
    for (x, y) in a.iter().zip(b) {
        assert_eq!((x.0, x.1), (y.0, y.1), "seed {seed}");
        assert!(
            (x.2 - y.2).abs() < 2e-6 && (x.3 - y.3).abs() < 2e-5,
            "seed {seed}: {x:?} {y:?}"
        );
    }
}

/// Digitised the other way and launched from the same pit, a bore is the same bore.
#[test]
fn a_bore_digitised_the_other_way_is_the_same() {
    for seed in 0..150 {
        let mut case = case(seed);
        let before = said(&case.checked().1);
        for b in &mut case.bores {
            b.launched_upstream = !b.launched_upstream;
            b.parts[0].points.reverse();
            if let Some(z) = &mut b.parts[0].levels {
                z.reverse();
            }
        }
        assert_eq!(said(&case.checked().1), before, "seed {seed}");
    }
}

/// A service digitised the other way is the same service: its pieces are the same, in the other order.
#[test]
fn a_service_digitised_the_other_way_is_the_same() {
    for seed in 0..150 {
        let mut case = case(seed);
        let before = said(&case.checked().1);
        for part in case.services.iter_mut().flat_map(|s| &mut s.parts) {
            part.points.reverse();
            if let Some(z) = &mut part.levels {
                z.reverse();
            }
        }
        alike(&said(&case.checked().1), &before, seed);
    }
}

/// Moved square away from a bore that it runs beside, a service is never nearer.
#[test]
fn moving_a_service_away_never_lowers_the_clearance() {
    for seed in 0..150 {
        let mut c = Chance::new(seed);
        let mut case = case(seed);
        // A clearance in level does not grow with the distance in plan, nor is the piece of least margin always the nearest where
        // each is located by its own depth.
        case.job.rules.separation.clear();
        case.job.rules.quality_share.clear();
        let level = c.between(47.0, 49.0);
        let line = vec![Coord { x: 0.0, y: 0.0 }, Coord { x: 25.0, y: 0.0 }];
        case.bores = vec![bore(1, line, Some(vec![level; 2]), true)];
        let y0 = c.between(0.0, 1.0);
        let z = level + c.between(-1.0, 1.0);
        case.services.truncate(1);
        let mut least = f64::NEG_INFINITY;
        for step in 0..8 {
            let y = y0 + 0.25 * f64::from(step);
            let s = &mut case.services[0];
            s.parts = vec![Polyline {
                points: vec![
                    Coord { x: 3.0, y },
                    Coord {
                        x: 20.0,
                        y: y + 1.0,
                    },
                ],
                levels: Some(vec![z, z + 0.2]),
            }];
            let (_, checked) = case.checked();
            let now = of_services(&checked)
                .map(|f| f.clearance_m)
                .fold(f64::INFINITY, f64::min);
            assert!(
                now >= least - 1e-9,
                "seed {seed}, step {step}: {now} {least}"
            );
            least = now;
        }
    }
}
