//! Which lots each bore serves: what drains into it, by the tree of routes.

use super::{Bore, Pit, checks::figures};
use crate::{
    alignment::Alignment,
    clearance::{LENGTH_TOLERANCE_M, Segment, contains, nearest, polygon_edges},
    job::Job,
    site::{Lot, Site},
};
use geo::{Coord, Polygon};
use std::collections::{BTreeMap, BTreeSet};

/// Route that is joined, and the chainage there (m).
type Joint = (usize, f64);

/// The lots of a site by route, and how the routes hang together.
///
/// A lot drains to the route that lists it in `serves`; one that is marked `serve` and listed nowhere, to the nearest route
/// (of equally near ones the first). It comes in where the route is nearest to the lot's middle.
pub struct Served {
    /// Chainages at which lots come in (m), by route.
    inlets: Vec<Vec<f64>>,
    /// Where each route joins another.
    joins: Vec<Option<Joint>>,
    places: BTreeMap<String, usize>,
    /// Some lot is to be served at all.
    any: bool,
    /// What an engineer must know of it.
    pub warnings: Vec<String>,
}

impl Served {
    /// Sorts the lots of a site to its routes.
    pub fn new(site: &Site, job: &Job) -> Served {
        let (lines, joins) = joined_lines(site);
        let mut served = Served {
            inlets: vec![vec![]; lines.len()],
            joins,
            places: (site.routes.iter().enumerate())
                .map(|(i, r)| (r.route_id.clone(), i))
                .collect(),
            any: false,
            warnings: vec![],
        };
        let listed = served.listed(site, &lines);
        served.marked(site, job, &lines, &listed);
        served
    }

    /// Lots that routes list.
    fn listed(&mut self, site: &Site, lines: &[Option<Alignment>]) -> BTreeSet<usize> {
        let by_id: BTreeMap<&str, usize> = (site.lots.iter().enumerate().rev())
            .map(|(i, lot)| (lot.lot_id.as_str(), i))
            .collect();
        let mut listed = BTreeSet::new();
        for (route, line) in site.routes.iter().zip(lines) {
            for id in &route.serves {
                match (by_id.get(id.as_str()), line) {
                    (Some(&lot), Some(line)) => {
                        // A lot that two routes list drains to the first.
                        if listed.insert(lot) {
                            let at = line.nearest(middle(&site.lots[lot])).0;
                            self.come_in(self.places[&route.route_id], at);
                        }
                    }
                    _ => self.warnings.push(format!(
                        "{}: route {} serves lot {id}, which is not among the lots read: it counts in no design flow",
                        route.at, route.route_id
                    )),
                }
            }
        }
        listed
    }

    /// Lots that are marked and in no list.
    fn marked(
        &mut self,
        site: &Site,
        job: &Job,
        lines: &[Option<Alignment>],
        listed: &BTreeSet<usize>,
    ) {
        let within_m = job.flow.lot_within_m;
        let mut far = vec![];
        let wanted = site.lots.iter().enumerate();
        for (_, lot) in wanted.filter(|(i, lot)| lot.serve && !listed.contains(i)) {
            let mut best: Option<(f64, usize)> = None;
            for (i, line) in lines.iter().enumerate() {
                let most = best.map_or(within_m, |b| b.0);
                let apart = line.as_ref().and_then(|l| apart_m(lot, l, most));
                if let Some(m) = apart.filter(|m| best.is_none_or(|b| *m < b.0)) {
                    best = Some((m, i));
                }
            }
            match best.and_then(|(_, i)| Some((i, lines[i].as_ref()?))) {
                Some((route, line)) => self.come_in(route, line.nearest(middle(lot)).0),
                None => far.push(lot.lot_id.as_str()),
            }
        }
        if !far.is_empty() {
            let which = super::checks::ids(far.into_iter());
            self.warnings.push(format!(
                "to be served, but farther than {within_m} m (flow.lot_within_m) from every route, so in no design flow: {which}"
            ));
        }
    }

    fn come_in(&mut self, route: usize, chainage_m: f64) {
        self.any = true;
        self.inlets[route].push(chainage_m);
    }

    /// Lots whose flow passes a route just above a chainage (m): those that come in there or higher, and all of the routes
    /// that join higher.
    pub fn above(&self, route: usize, chainage_m: f64) -> usize {
        let own = self.inlets[route].iter();
        let own = own
            .filter(|c| **c >= chainage_m - LENGTH_TOLERANCE_M)
            .count();
        let higher = |(i, at): (usize, &Option<Joint>)| {
            let (parent, joint_m) = (*at)?;
            (parent == route && joint_m > chainage_m + LENGTH_TOLERANCE_M).then_some(i)
        };
        let branches = self.joins.iter().enumerate().filter_map(higher);
        own + branches
            .map(|b| self.above(b, f64::NEG_INFINITY))
            .sum::<usize>()
    }

    /// Lots that a bore serves; none where no lot of the site is to be served.
    fn of(&self, bore: &Bore, pits: &[Pit]) -> Option<u32> {
        let route = *self.places.get(&bore.route_id)?;
        let below = |p: &&Pit| p.pit_id == bore.ds_pit && p.route_id == bore.route_id;
        // A pit of another route is the junction at this one's end.
        let from_m = pits.iter().find(below).map_or(0.0, |p| p.chainage_m);
        self.any
            .then(|| u32::try_from(self.above(route, from_m)).unwrap_or(u32::MAX))
    }

    /// Gives bores the lots that they serve, and the figures that follow.
    pub fn fill(&self, job: &Job, pits: &[Pit], bores: &mut [Bore]) {
        for bore in bores {
            bore.lots_served = self.of(bore, pits);
            bore.figures = figures(job, &bore.facts());
        }
    }
}

/// Every route's line, and where it joins another; a branch that joins another at that one's end joins the route below.
fn joined_lines(site: &Site) -> (Vec<Option<Alignment>>, Vec<Option<Joint>>) {
    let mut lines: Vec<Option<Alignment>> = vec![None; site.routes.len()];
    let mut joins = vec![None; site.routes.len()];
    for tree in super::system::trees(site) {
        for &i in &tree {
            let route = &site.routes[i];
            let parent = route.joins.as_ref().filter(|_| i != tree[0]);
            let parent =
                parent.and_then(|id| tree.iter().find(|t| site.routes[**t].route_id == *id));
            let mut points = route.line.points.clone();
            let above = parent.and_then(|p| Some((*p, lines[*p].as_ref()?)));
            if let (Some((parent, line)), Some(end)) = (above, points.last_mut()) {
                let (chainage_m, at) = line.nearest(*end);
                *end = at;
                joins[i] = Some((parent, chainage_m));
            }
            lines[i] = Alignment::new(&points);
        }
    }
    (lines, joins)
}

/// Middle of a lot's corners.
fn middle(lot: &Lot) -> Coord<f64> {
    let corners = || lot.parts.iter().flat_map(|p| p.exterior().0.iter().skip(1));
    let n = corners().count().max(1) as f64;
    corners().fold(Coord { x: 0.0, y: 0.0 }, |sum, c| sum + *c / n)
}

/// Plan distance of a lot from a line (m), 0 where it crosses; none where that is more than `most_m`.
fn apart_m(lot: &Lot, line: &Alignment, most_m: f64) -> Option<f64> {
    let parts = lot.parts.iter().filter(|p| boxes_within(p, line, most_m));
    let apart = parts.map(|part| {
        let inside = line.points().iter().any(|p| contains(part, *p));
        if inside {
            return 0.0;
        }
        let edges = polygon_edges(part).map(|(a, b)| flat(a, b));
        let to_line = |edge: Segment| {
            let pieces = line.points().windows(2).map(|w| flat(w[0], w[1]));
            pieces
                .map(|s| nearest(&edge, &s).distance_m)
                .fold(f64::INFINITY, f64::min)
        };
        edges.map(to_line).fold(f64::INFINITY, f64::min)
    });
    let least = apart.fold(f64::INFINITY, f64::min);
    (least <= most_m).then_some(least)
}

fn flat(a: Coord<f64>, b: Coord<f64>) -> Segment {
    Segment {
        a: [a.x, a.y, 0.0],
        b: [b.x, b.y, 0.0],
    }
}

/// Whether the boxes of a part and a line come within a distance: a quick no for what is far.
fn boxes_within(part: &Polygon<f64>, line: &Alignment, by_m: f64) -> bool {
    let span = |points: &[Coord<f64>], of: fn(&Coord<f64>) -> f64| {
        let values = points.iter().map(of);
        values.fold((f64::INFINITY, f64::NEG_INFINITY), |s, v| {
            (s.0.min(v), s.1.max(v))
        })
    };
    let within = |of: fn(&Coord<f64>) -> f64| {
        let (a, b) = (span(&part.exterior().0, of), span(line.points(), of));
        a.0 <= b.1 + by_m && b.0 <= a.1 + by_m
    };
    within(|c| c.x) && within(|c| c.y)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{plan::bare_site, site::FeatureRef};
    use geo::LineString;

    fn lot(id: &str, x: f64, y: f64) -> Lot {
        let ring = [
            (x, y),
            (x + 10.0, y),
            (x + 10.0, y + 10.0),
            (x, y + 10.0),
            (x, y),
        ];
        Lot {
            at: FeatureRef {
                layer: "lots".into(),
                fid: 1,
            },
            lot_id: id.to_string(),
            serve: true,
            entry: false,
            low_level_m: None,
            parts: vec![Polygon::new(LineString::from(ring.to_vec()), vec![])],
        }
    }

    /// R1 from (0, 0) to (100, 0) downstream; R2 joins it at (60, 0), chainage 40.
    fn site() -> Site {
        let mut site = bare_site::site(&[(0.0, 0.0), (100.0, 0.0)]);
        let mut branch = site.routes[0].clone();
        branch.route_id = "R2".into();
        branch.joins = Some("R1".into());
        branch.line.points = vec![(60.0, -50.0).into(), (60.0, -0.2).into()];
        site.routes.push(branch);
        site.lots = vec![
            lot("A", 0.0, 2.0),
            lot("B", 70.0, 2.0),
            lot("C", 62.0, -40.0),
        ];
        site
    }

    #[test]
    fn flow_grows_downstream_and_a_junction_takes_in_its_branch() {
        let served = Served::new(&site(), &bare_site::job());
        let at = |route, chainage| served.above(route, chainage);
        assert_eq!(
            [at(0, 90.0), at(0, 41.0), at(0, 30.0), at(0, 0.0)],
            [1, 1, 2, 3]
        );
        // A bore that begins at the junction does not carry the branch.
        assert_eq!((at(0, 40.0), at(1, 0.0), at(1, 45.0)), (1, 1, 0));
        assert!(served.warnings.is_empty());
    }

    #[test]
    fn a_list_outranks_the_nearest_and_what_is_unknown_or_far_is_said() {
        let mut site = site();
        site.routes[0].serves = vec!["C".into(), "Z".into()];
        site.lots.push(lot("D", 0.0, 300.0));
        let served = Served::new(&site, &bare_site::job());
        assert_eq!((served.above(0, 0.0), served.above(1, 0.0)), (3, 0));
        assert_eq!(served.warnings.len(), 2, "{:?}", served.warnings);
        assert!(served.warnings[0].contains("lot Z") && served.warnings[1].ends_with(": D"));
    }

    #[test]
    fn a_branch_at_the_end_of_its_parent_is_no_load_of_the_parent() {
        let mut site = site();
        site.routes[1].line.points = vec![(100.0, -50.0).into(), (100.0, 0.0).into()];
        let served = Served::new(&site, &bare_site::job());
        assert_eq!(served.above(0, 0.0), 2);
    }
}
