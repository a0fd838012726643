//! Who digs where.

use super::{
    free::FreeGround,
    walls::{AROUND_M, Walls, box_round},
};
use crate::{job::Job, pits::Dig, site::Site};
use geo::Coord;

/// Who gets where on a site.
pub struct Access {
    /// None where no street is known: then a machine gets everywhere.
    ways: Option<Ways>,
}

struct Ways {
    walls: Walls,
    machine: FreeGround,
    hand: FreeGround,
}

impl Access {
    /// Works out a site. Of one that was read near its routes only, the part where all is known; whether that says
    /// enough, [`Access::settled`] tells.
    pub fn new(site: &Site, job: &Job) -> Access {
        let known = site.obstacles_within.map(|near| inner(near, job));
        Access {
            ways: (!site.streets.is_empty()).then(|| Ways::new(site, job, known)),
        }
    }

    /// Whether what was read says for every place on the routes who gets there.
    ///
    /// It does where every part of the free ground that leads from the routes out of what was read is touched by a
    /// street on the way. A part that does not lead out is known whole.
    pub fn settled(site: &Site, job: &Job) -> bool {
        let Some(near) = site.obstacles_within.filter(|_| !site.streets.is_empty()) else {
            return true;
        };
        let ways = Ways::new(site, job, Some(inner(near, job)));
        let (low, high) = along_routes(site, job);
        let routes = [low, high].map(|p| ways.walls.from_grid(p));
        let within = |p| !ways.walls.outside(p);
        routes.into_iter().all(within)
            && [&ways.machine, &ways.hand]
                .iter()
                .all(|ground| ground.settled(&ways.walls, routes))
    }

    /// Who digs a pit with its centre here; none where nobody gets there with what it takes.
    pub fn dig(&self, p: Coord<f64>) -> Option<Dig> {
        let Some(ways) = &self.ways else {
            return Some(Dig::Machine);
        };
        let p = ways.walls.from_grid(p);
        if ways.machine.reached(&ways.walls, p) {
            Some(Dig::Machine)
        } else {
            ways.hand.reached(&ways.walls, p).then_some(Dig::Hand)
        }
    }
}

/// The part of what was read in which all is known: obstacles outside of it stand off its edge by half the width and their
/// own trunk (a trunk of more than 100 m across is not reckoned with).
fn inner((low, high): (Coord<f64>, Coord<f64>), job: &Job) -> (Coord<f64>, Coord<f64>) {
    let by_m = AROUND_M + job.pits.machine_width_m.max(job.rig.access_width_m);
    let by = Coord { x: by_m, y: by_m };
    (low + by, high - by)
}

/// Box of every place where a pit can stand.
fn along_routes(site: &Site, job: &Job) -> (Coord<f64>, Coord<f64>) {
    let by_m = job.search.corridor_m + job.search.snap_m + 1.0;
    let by = Coord { x: by_m, y: by_m };
    let points = site
        .routes
        .iter()
        .flat_map(|r| r.line.points.iter().copied());
    let (low, high) = box_round(points).unwrap_or_default();
    (low - by, high + by)
}

impl Ways {
    fn new(site: &Site, job: &Job, frame: Option<(Coord<f64>, Coord<f64>)>) -> Ways {
        let walls = Walls::new(site, frame);
        let parts = site.streets.iter().flat_map(|s| &s.parts);
        let streets: Vec<[Coord<f64>; 2]> = parts
            .flat_map(|l| l.points.windows(2))
            .map(|w| [walls.from_grid(w[0]), walls.from_grid(w[1])])
            .collect();
        let (machine, hand) = rayon::join(
            || FreeGround::new(&walls, &streets, job.pits.machine_width_m),
            || FreeGround::new(&walls, &streets, job.rig.access_width_m),
        );
        Ways {
            walls,
            machine,
            hand,
        }
    }
}
