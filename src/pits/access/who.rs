//! Who digs where.

use super::{free::FreeGround, walls::Walls};
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
    /// Works out a site.
    pub fn new(site: &Site, job: &Job) -> Access {
        Access {
            ways: site.has_streets.then(|| Ways::new(site, job, None)),
        }
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
