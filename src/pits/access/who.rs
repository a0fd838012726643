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
        let routes = [low, high].map(|p| ways.walls.moved(p));
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
        let p = ways.walls.moved(p);
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
            .map(|w| [walls.moved(w[0]), walls.moved(w[1])])
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

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        job::JobFile,
        site::{FeatureRef, Keepout, Polyline, Route, Street, Tree},
    };
    use geo::{Polygon, coord, polygon};

    fn at(layer: &str) -> FeatureRef {
        FeatureRef {
            layer: layer.into(),
            fid: 1,
        }
    }

    fn line(points: &[(f64, f64)]) -> Polyline {
        Polyline {
            points: points.iter().map(|&(x, y)| coord! {x: x, y: y}).collect(),
            levels: None,
        }
    }

    /// A street along y = -20, and keepouts.
    fn site(parts: Vec<Polygon<f64>>) -> Site {
        let street = Street {
            at: at("streets"),
            name: None,
            parts: vec![line(&[(-50., -20.), (50., -20.)])],
        };
        let keepout = Keepout {
            at: at("keepouts"),
            reason: None,
            parts,
        };
        Site {
            streets: vec![street],
            keepouts: vec![keepout],
            ..Site::default()
        }
    }

    /// A yard of 10 m by 10 m round the origin, its gate in the south.
    fn yard(gate_m: f64) -> Polygon<f64> {
        let (w, e) = (-gate_m / 2.0, gate_m / 2.0);
        polygon![(x: w, y: -6.), (x: w, y: -5.), (x: -5., y: -5.), (x: -5., y: 5.), (x: 5., y: 5.), (x: 5., y: -5.), (x: e, y: -5.), (x: e, y: -6.), (x: 6., y: -6.), (x: 6., y: 6.), (x: -6., y: 6.), (x: -6., y: -6.)]
    }

    fn dig_in_the_middle(site: &Site) -> Option<Dig> {
        Access::new(site, &JobFile::default().job).dig(coord! {x: 0., y: 0.})
    }

    #[test]
    fn the_gate_of_a_yard_decides() {
        // The machine needs 2.5 m, people with the rig 0.9 m; a millionth too little is enough.
        for (gate_m, dig) in [
            (2.6, Some(Dig::Machine)),
            (2.5, Some(Dig::Machine)),
            (2.499, Some(Dig::Hand)),
            (0.9, Some(Dig::Hand)),
            (0.899, None),
        ] {
            assert_eq!(
                dig_in_the_middle(&site(vec![yard(gate_m)])),
                dig,
                "{gate_m}"
            );
        }
    }

    #[test]
    fn a_retained_tree_in_the_gate_narrows_it() {
        let mut site = site(vec![yard(3.0)]);
        let tree = Tree {
            at: at("trees"),
            trunk_diameter_m: 0.5,
            retain: true,
            points: vec![coord! {x: 1.3, y: -5.5}],
        };
        site.trees = vec![tree];
        assert_eq!(dig_in_the_middle(&site), Some(Dig::Machine));
        site.trees[0].points[0].x = 0.9;
        assert_eq!(dig_in_the_middle(&site), Some(Dig::Hand));
        site.trees[0].retain = false;
        assert_eq!(dig_in_the_middle(&site), Some(Dig::Machine));
    }

    #[test]
    fn a_street_in_the_yard_opens_it_unless_it_keeps_too_near_the_wall() {
        let mut site = site(vec![yard(0.5)]);
        assert_eq!(dig_in_the_middle(&site), None);
        site.streets[0].parts = vec![line(&[(-50., 4.4), (50., 4.4)])];
        assert_eq!(dig_in_the_middle(&site), Some(Dig::Hand));
        site.streets[0].parts = vec![line(&[(-50., 3.), (50., 3.)])];
        assert_eq!(dig_in_the_middle(&site), Some(Dig::Machine));
    }

    #[test]
    fn a_street_inside_a_keepout_leads_nowhere() {
        let block =
            polygon![(x: -60., y: -30.), (x: 60., y: -30.), (x: 60., y: -10.), (x: -60., y: -10.)];
        assert_eq!(dig_in_the_middle(&site(vec![block])), None);
    }

    #[test]
    fn near_a_wall_there_is_no_room() {
        let access = Access::new(&site(vec![yard(3.0)]), &JobFile::default().job);
        let at = |x: f64| access.dig(coord! {x: x, y: 0.});
        assert_eq!(at(3.74), Some(Dig::Machine));
        assert_eq!(at(3.76), Some(Dig::Hand));
        assert_eq!(at(4.56), None);
        assert_eq!(at(5.5), None);
    }

    #[test]
    fn without_streets_a_machine_gets_everywhere() {
        let mut site = site(vec![yard(0.5)]);
        site.streets.clear();
        assert_eq!(dig_in_the_middle(&site), Some(Dig::Machine));
    }

    #[test]
    fn what_was_read_is_enough_where_a_street_is_met_on_the_way_out() {
        let job = JobFile::default().job;
        let mut site = site(vec![]);
        site.routes = vec![Route {
            at: at("routes"),
            route_id: "R1".into(),
            line: line(&[(0., 0.), (60., 0.)]),
            dn_mm: None,
            outfall_invert_m: None,
            head_invert_max_m: None,
            joins: None,
            follows: None,
            serves: vec![],
        }];
        site.obstacles_within = Some((coord! {x: -500., y: -500.}, coord! {x: 560., y: 500.}));
        assert!(Access::settled(&site, &job));
        // Far away, the same street says nothing: something may stand between.
        site.streets[0].parts = vec![line(&[(-50., -700.), (50., -700.)])];
        assert!(!Access::settled(&site, &job));
        // A ring round the route that was read whole says enough without any street, one that reaches out does not.
        let ring = |by: f64| {
            let outer =
                polygon![(x: -by, y: -by), (x: by, y: -by), (x: by, y: by), (x: -by, y: by)];
            let inner = outer.exterior().0.iter().map(|&c| c * 0.9).collect();
            Polygon::new(outer.exterior().clone(), vec![inner])
        };
        site.keepouts[0].parts = vec![ring(300.)];
        assert!(Access::settled(&site, &job));
        site.keepouts[0].parts = vec![ring(600.)];
        assert!(!Access::settled(&site, &job));
    }
}
