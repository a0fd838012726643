//! What planning one route needs to know, worked out once.

use super::{ReachBy, forbidden::Forbidden};
use crate::{
    alignment::Alignment,
    clearance::{
        Accuracy, LENGTH_TOLERANCE_M, Obstacles, Segment, Yardstick, nearest, nothing_beyond,
    },
    job::{Job, PipeSize},
    mechanics::{Pushed, thrust_reach_m},
    pits::Access,
    site::{FeatureRef, Kind, Manhole, Route, Site},
};
use geo::Coord;
use std::{ops::Range, sync::Arc};

/// A site made ready for planning.
pub struct World<'a> {
    /// What was read.
    pub site: &'a Site,
    /// Settings.
    pub job: &'a Job,
    /// Everything to keep away from.
    pub obstacles: Obstacles,
    /// Who gets where.
    pub access: Arc<Access>,
}

/// Greatest drive length, and what sets it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Reach {
    /// Length (m).
    pub m: f64,
    /// What sets it.
    pub by: ReachBy,
}

/// What is fixed at one end of a route.
#[derive(Debug, Clone, Default)]
pub struct RouteEnd {
    /// A manhole is there already.
    pub existing: bool,
    /// Fixed (downstream) or greatest (upstream) invert.
    pub invert_m: Option<f64>,
    /// Service parts connected here: exempt for this pit and every drive that ends in it.
    pub connected: Vec<usize>,
    /// Service parts that branches follow which join the route at this end: exempt for its drives that end there.
    pub followed: Vec<usize>,
}

/// Where branches join a route.
#[derive(Debug, Clone, Default)]
pub struct Junction {
    /// Chainage on the route (m).
    pub chainage_m: f64,
    /// Branches that join (their places in the system, in input order).
    pub branches: Vec<usize>,
    /// A branch's end has a manhole there already.
    pub existing: bool,
    /// Service parts exempt for the pit and the route's drives that end in it: what the branches connect to, and what those
    /// follow that join this route.
    pub exempt: Vec<usize>,
    /// Service parts exempt for the pit only: what branches follow that join the end of another branch there.
    pub pit_exempt: Vec<usize>,
}

/// One route with everything that its plan depends on.
pub struct Context<'a> {
    /// The site.
    pub world: &'a World<'a>,
    /// The route.
    pub route: &'a Route,
    /// Its line.
    pub alignment: Alignment,
    /// Nominal diameter (mm).
    pub dn_mm: u32,
    /// Its pipe.
    pub size: PipeSize,
    /// Bored diameter (mm).
    pub bore_mm: f64,
    /// How encounters are judged.
    pub yardstick: Yardstick,
    /// The same with the least error that the rig has anywhere.
    pub least_yardstick: Yardstick,
    /// How far from a drive anything can matter (m).
    pub concern_m: f64,
    /// Greatest drive length.
    pub reach: Reach,
    /// Flattest and steepest grade.
    pub grade: [f64; 2],
    /// Invert below ground for the least cover (m).
    pub invert_depth_m: f64,
    /// Downstream end.
    pub downstream: RouteEnd,
    /// Upstream end.
    pub upstream: RouteEnd,
    /// Parts of the old pipe that is followed.
    pub followed: Vec<usize>,
    /// The downstream pit is that of the route it joins.
    pub joined: bool,
    /// Its downstream level is free: the depth of the pit there does not bound it either.
    pub free_end: bool,
    /// Where branches join, by rising chainage.
    pub junctions: Vec<Junction>,
    /// Where no pit of the route may stand, whatever the rules allow; empty but for the search for other plans than the best.
    pub forbidden: Vec<Forbidden>,
}

impl<'a> World<'a> {
    /// Prepares a site.
    pub fn new(site: &'a Site, job: &'a Job) -> World<'a> {
        World {
            site,
            job,
            obstacles: Obstacles::new(site, job),
            access: Arc::new(Access::new(site, job)),
        }
    }

    /// The same site under other settings and with other obstacles; who gets where stays as it is.
    pub fn varied<'b>(&self, job: &'b Job, obstacles: Obstacles) -> World<'b>
    where
        'a: 'b,
    {
        World {
            site: self.site,
            job,
            obstacles,
            access: self.access.clone(),
        }
    }

    /// The parts of a service.
    fn parts_of(&self, service: usize) -> Range<usize> {
        // They are cut service by service.
        let parts = &self.obstacles.services.parts;
        let from = parts.partition_point(|p| p.service < service);
        let upto = parts.partition_point(|p| p.service <= service);
        from..upto
    }

    /// Sewers within snapping distance of a point.
    fn sewers_at(&self, p: Coord<f64>) -> Vec<usize> {
        let point = [p.x, p.y, 0.0];
        let snap_m = self.job.search.snap_m + LENGTH_TOLERANCE_M;
        let near = |&(i, k): &(usize, usize)| {
            let piece = &self.obstacles.services.parts[i].pieces[k];
            let (a, b) = piece.ends([0.0; 2]);
            nearest(&Segment { a: point, b: point }, &Segment { a, b }).distance_m <= snap_m
        };
        let is_sewer = |&(i, _): &(usize, usize)| {
            self.site.services[self.obstacles.services.parts[i].service].kind == Kind::Sewer
        };
        let found = self.obstacles.services.in_box([p, p], snap_m);
        let services: std::collections::BTreeSet<usize> = found
            .iter()
            .filter(|x| is_sewer(x) && near(x))
            .map(|(i, _)| self.obstacles.services.parts[*i].service)
            .collect();
        (services.into_iter().flat_map(|s| self.parts_of(s))).collect()
    }

    /// The nearest existing manhole within snapping distance of a point.
    fn manhole_at(&self, p: Coord<f64>) -> Option<&Manhole> {
        let distance = |m: &Manhole| (m.point - p).x.hypot((m.point - p).y);
        let near = self
            .site
            .manholes
            .iter()
            .filter(|m| distance(m) <= self.job.search.snap_m + LENGTH_TOLERANCE_M);
        near.min_by(|a, b| distance(a).total_cmp(&distance(b)))
    }
}

impl<'a> Context<'a> {
    /// Works out a route on its own. None where its line has no length.
    ///
    /// # Panics
    /// If the job has no pipe size for the route's diameter: `read` refuses such a route.
    pub fn new(world: &'a World<'a>, route: &'a Route) -> Option<Context<'a>> {
        Self::ending_at(world, route, None)
    }

    /// Works out a route whose downstream end is moved to a place on the route that it joins.
    ///
    /// # Panics
    /// As [`Context::new`].
    pub fn ending_at(
        world: &'a World<'a>,
        route: &'a Route,
        junction: Option<Coord<f64>>,
    ) -> Option<Context<'a>> {
        let job = world.job;
        let mut points = route.line.points.clone();
        if let (Some(end), Some(at)) = (points.last_mut(), junction) {
            *end = at;
        }
        let alignment = Alignment::new(&points)?;
        let dn_mm = route.dn_mm.unwrap_or(job.pipe.dn_mm);
        let size = job.pipe.sizes[&dn_mm];
        let bore_mm = job.rig.bore_mm.unwrap_or(size.od_mm + job.rig.overcut_mm);
        let yardstick = Yardstick {
            separations: true,
            bore_radius_m: bore_mm / 2000.0,
            accuracy: Accuracy {
                setting_out_m: job.rig.setting_out_mm / 1000.0,
                per_m: job.rig.line_accuracy_mm / job.rig.accuracy_at_m / 1000.0,
            },
            watch_distance_m: job.watch_distance_m,
            watch_margin_m: job.rules.watch_margin_m,
            nothing_beyond: job
                .costs
                .strike
                .iter()
                .map(|(k, price)| (*k, nothing_beyond(*price)))
                .collect(),
        };
        let reach = reach(job, size, bore_mm);
        let [down, up] = alignment.ends();
        let (below, above) = (world.manhole_at(down), world.manhole_at(up));
        let outfall = route.outfall_invert_m.or(below.and_then(|m| m.invert_m));
        let end = |manhole: Option<&Manhole>,
                   invert_m: Option<f64>,
                   p: Coord<f64>,
                   connects: bool| RouteEnd {
            existing: manhole.is_some(),
            invert_m,
            connected: if connects { world.sewers_at(p) } else { vec![] },
            followed: vec![],
        };
        let head = route.head_invert_max_m.or(above.and_then(|m| m.invert_m));
        let follows = |at: &FeatureRef| -> Vec<usize> {
            let services = world.site.services.iter().enumerate();
            let named = services.filter(|(_, s)| s.at == *at);
            named.flat_map(|(i, _)| world.parts_of(i)).collect()
        };
        Some(Context {
            concern_m: yardstick.farthest_concern(&world.obstacles.services, reach.m),
            grade: [
                job.rules.min_grade(dn_mm).max(job.rig.grade_min),
                job.rules.max_grade.min(job.rig.grade_max),
            ],
            invert_depth_m: (size.id_mm + size.od_mm) / 2000.0 + job.rules.min_cover_m,
            downstream: end(below, outfall, down, below.is_some() || outfall.is_some()),
            upstream: end(above, head, up, above.is_some()),
            followed: route.follows.as_ref().map(follows).unwrap_or_default(),
            joined: junction.is_some(),
            free_end: false,
            junctions: vec![],
            forbidden: vec![],
            world,
            route,
            alignment,
            dn_mm,
            size,
            bore_mm,
            least_yardstick: Yardstick {
                separations: false,
                accuracy: Accuracy {
                    per_m: 0.0,
                    ..yardstick.accuracy
                },
                ..yardstick.clone()
            },
            yardstick,
            reach,
        })
    }

    /// Settings.
    pub fn job(&self) -> &'a Job {
        self.world.job
    }

    /// Service parts that the route itself connects to at a chainage.
    pub fn connected_at(&self, chainage_m: f64) -> Vec<usize> {
        let near = |c: f64| (c - chainage_m).abs() < LENGTH_TOLERANCE_M;
        let mut out = vec![];
        if near(0.0) {
            out.extend(&self.downstream.connected);
        }
        if near(self.alignment.length_m()) {
            out.extend(&self.upstream.connected);
        }
        out
    }

    /// Service parts that do not count for the pit at a chainage, and those that do not for the route's drives that end in it,
    /// besides those that it follows.
    pub fn exempt_at(&self, chainage_m: f64) -> [Vec<usize>; 2] {
        let near = |c: f64| (c - chainage_m).abs() < LENGTH_TOLERANCE_M;
        let mut both = self.connected_at(chainage_m);
        let mut of_pit = vec![];
        for j in self.junctions.iter().filter(|j| near(j.chainage_m)) {
            both.extend(&j.exempt);
            of_pit.extend(&j.pit_exempt);
        }
        let of_drives = match near(0.0) {
            true => &self.downstream.followed[..],
            false => &[],
        };
        [
            [&both[..], &of_pit].concat(),
            [&both[..], of_drives].concat(),
        ]
    }

    /// A service part may be exempt somewhere along the route.
    pub fn may_be_exempt(&self, part: usize) -> bool {
        let at_junction = |j: &Junction| j.exempt.contains(&part) || j.pit_exempt.contains(&part);
        self.followed.contains(&part)
            || self.downstream.connected.contains(&part)
            || self.downstream.followed.contains(&part)
            || self.upstream.connected.contains(&part)
            || self.junctions.iter().any(at_junction)
    }

    /// A manhole stands already at a chainage.
    pub fn existing_at(&self, chainage_m: f64) -> bool {
        let near = |c: f64| (c - chainage_m).abs() < LENGTH_TOLERANCE_M;
        self.downstream.existing && near(0.0)
            || self.upstream.existing && near(self.alignment.length_m())
            || self
                .junctions
                .iter()
                .any(|j| j.existing && near(j.chainage_m))
    }

    /// Pipe centre above its invert (m).
    pub fn centre_above_invert_m(&self) -> f64 {
        self.size.id_mm / 2000.0
    }
}

/// The least of what rig, thrust and accuracy allow.
fn reach(job: &Job, size: PipeSize, bore_mm: f64) -> Reach {
    let pushed = Pushed {
        bore_mm,
        od_mm: size.od_mm,
        face_kpa: job.soil.face_kpa,
        friction_kpa: job.soil.friction_kpa,
    };
    let thrust = |limit: Option<f64>, by| {
        limit
            .and_then(|kn| thrust_reach_m(pushed, kn))
            .map(|m| Reach { m, by })
    };
    let accuracy = |mm: f64| Reach {
        m: job.rig.accuracy_at_m * mm / job.rig.line_accuracy_mm,
        by: ReachBy::Accuracy,
    };
    let all = [
        Some(Reach {
            m: job.rig.reach_m,
            by: ReachBy::Rig,
        }),
        thrust(job.rig.thrust_kn, ReachBy::Thrust),
        thrust(job.pipe.axial_limit_kn, ReachBy::Pipe),
        job.rules.max_end_error_mm.map(accuracy),
    ];
    all.into_iter()
        .flatten()
        .min_by(|a, b| a.m.total_cmp(&b.m))
        .expect("a rig always has a reach")
}
