//! Bundles: all lines from one station to another, wherever aside of the two they start and end.
//!
//! What is certain of each of them is found once: a bundle costs no more than any of its lines, may be as flat and as steep as any,
//! keeps its cover where any might, and clashes only where every one of them does.

use super::{
    course::Line,
    every_line::Near,
    grid::{Grid, LevelGrid},
    pricing::Prices,
    runs::{LeastOfPair, Pair, Runs, corridor_m, longest_m},
    sketch::Sketch,
};
use crate::{alignment::Profile, clearance::LENGTH_TOLERANCE_M, plan::context::Context};
use std::{ops::Range, rc::Rc};

/// A route by bundles of its lines.
pub struct Bundles {
    /// Its grid; all positions of a station have the levels of any of them.
    pub grid: Grid,
    /// The positions of every station.
    pub at: Vec<Range<usize>>,
    /// Their stations, and which lines there are.
    pub pairs: Vec<Pair>,
    /// What is certain of each, as a run between positions of its stations.
    pub runs: Runs,
}

impl Bundles {
    /// Of the lines between some stations' positions.
    pub fn new(prices: &mut Prices, grid: &Grid, sketch: &Rc<Sketch>, pairs: &[Pair]) -> Bundles {
        let cx = prices.cx;
        let (strip, parts) = (&grid.strip, &cx.world.obstacles.services.parts);
        let (grid, at) = (grid.with_levels_of_any(), grid.by_station());
        let (mut all, mut runs) = (vec![], vec![]);
        for Pair { us, ds, .. } in pairs {
            let Some(lines) = Lines::new(cx, &grid, [&at[*us], &at[*ds]]) else {
                continue;
            };
            let positions = [&at[*us], &at[*ds]].map(|of| of.start);
            let mut run =
                LeastOfPair::new(cx, sketch, *us, *ds).run(cx, positions, lines.length_m[0]);
            run.longest_m = lines.length_m[1];
            run.profile = Some(Rc::new(Profile::new(std::iter::empty())));
            let (mut bands, mut proved) = (vec![], 0);
            let close: Vec<(usize, usize)> = strip.close([*us, *ds]).collect();
            for pieces in close.chunk_by(|a, b| a.0 == b.0) {
                let part = &parts[pieces[0].0];
                let near = Near { part, pieces };
                proved += usize::from(near.is_proved(cx, &lines.lines));
                bands.extend(near.bands(cx, &lines.lines, lines.length_m));
            }
            run.take_proved(cx, proved);
            run.bands = run.bands_met(&grid, &bands, 0.0);
            runs.push(run);
            all.push(Pair {
                us: *us,
                ds: *ds,
                lines: lines.there,
            });
        }
        let mut runs = Runs::of(sketch, runs, &grid);
        (runs.from, runs.to) = listed(&grid, &at, &all);
        runs.price_pits(prices, &grid, 0);
        Bundles {
            grid,
            at,
            pairs: all,
            runs,
        }
    }

    /// The positions of a station and their levels; none where there is none.
    pub fn places(&self, station: usize) -> Option<(Range<usize>, &LevelGrid)> {
        let places = self.at[station].clone();
        let first = self.grid.positions[places.clone()].first()?;
        Some((places, &first.levels))
    }

    /// Bundles down to a station, the cheapest first.
    pub fn ending_at(&self, station: usize) -> Vec<usize> {
        self.cheapest_first(self.at[station].clone().map(|p| &self.runs.to[p]))
    }

    /// Bundles down from a station, the cheapest first.
    pub fn starting_at(&self, station: usize) -> Vec<usize> {
        self.cheapest_first(self.at[station].clone().map(|p| &self.runs.from[p]))
    }

    fn cheapest_first<'b>(&self, of: impl Iterator<Item = &'b Vec<usize>>) -> Vec<usize> {
        let mut all: Vec<usize> = of.flatten().copied().collect();
        all.sort_unstable();
        all.dedup();
        let least = |b: &usize| self.runs.runs[*b].least();
        all.sort_by(|a, b| least(a).total_cmp(&least(b)).then(a.cmp(b)));
        all
    }
}

/// Bundles by upstream and by downstream position.
fn listed(grid: &Grid, at: &[Range<usize>], pairs: &[Pair]) -> (Vec<Vec<usize>>, Vec<Vec<usize>>) {
    let none = || vec![vec![]; grid.positions.len()];
    let (mut from, mut to): (Vec<Vec<usize>>, Vec<Vec<usize>>) = (none(), none());
    for (b, pair) in pairs.iter().enumerate() {
        for us in at[pair.us].clone() {
            if at[pair.ds].clone().any(|ds| pair.has(at, [us, ds])) {
                from[us].push(b);
            }
        }
        for ds in at[pair.ds].clone() {
            if at[pair.us].clone().any(|us| pair.has(at, [us, ds])) {
                to[ds].push(b);
            }
        }
    }
    (from, to)
}

/// The lines between positions of two stations.
struct Lines {
    /// Length of the shortest and of the longest.
    length_m: [f64; 2],
    /// Which the route allows.
    there: Vec<bool>,
    /// These.
    lines: Vec<Line>,
}

impl Lines {
    /// All that are not too long; none where the route allows none.
    fn new(cx: &Context, grid: &Grid, [us, ds]: [&Range<usize>; 2]) -> Option<Lines> {
        let mut lines = Lines {
            length_m: [f64::INFINITY, 0.0],
            there: vec![],
            lines: vec![],
        };
        for p in us.clone() {
            for q in ds.clone() {
                let [p, q] = [p, q].map(|p| &grid.positions[p]);
                let length_m = grid.distance_m(p.node, q.node);
                let [s, t] = [p, q].map(|p| &grid.stations[p.station]);
                let ends = [p, q].map(|p| grid.point(p.node));
                let is_there = (LENGTH_TOLERANCE_M..=longest_m(cx)).contains(&length_m)
                    && cx.alignment.strays_from(s, t, ends[0], ends[1]) <= corridor_m(cx);
                if is_there {
                    let [shortest, longest] = lines.length_m;
                    lines.length_m = [shortest.min(length_m), longest.max(length_m)];
                    lines.lines.push(Line::new(ends[0], ends[1]));
                }
                lines.there.push(is_there);
            }
        }
        lines.there.contains(&true).then_some(lines)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{
        bare_site,
        context::World,
        search::{
            Coarse,
            relax::passes,
            runs::{all_pairs, gone_m},
        },
        system::System,
    };

    /// A bent route with room aside, among pipes of known and unknown depth: across it, aslant, past its held end.
    fn site() -> (crate::site::Site, crate::job::Job) {
        let mut site = bare_site::site(&[(0.0, 0.0), (14.0, 0.8), (30.0, 0.5), (45.0, 3.0)]);
        let across: [(f64, f64, Option<f64>); 5] = [
            (8.0, 0.0, Some(47.9)),
            (21.0, 6.0, Some(47.6)),
            (33.0, -3.0, None),
            (26.0, 2.0, None),
            (1.2, 0.4, None),
        ];
        for (fid, (x, aslant, level)) in (1..).zip(across) {
            let (from, to) = ((x, -9.0), (x + aslant, 9.0));
            site.services.push(bare_site::main(fid, [from, to], level));
        }
        let stub = bare_site::main(9, [(44.2, 3.4), (44.0, 12.0)], None);
        site.services.push(stub);
        let mut job = bare_site::job();
        (job.search.corridor_m, job.search.corridor_step_m) = (1.0, 0.5);
        job.search.station_step_m = 3.0;
        (site, job)
    }

    #[test]
    fn of_a_bundle_nothing_is_certain_that_is_not_of_each_of_its_lines() {
        let (site, job) = site();
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("it has length");
        let cx = &system.members[0].cx;
        let mut grid = Grid::new(cx, Coarse::FINEST);
        grid.keep_where_pits_stand(cx);
        let sketch = Rc::new(Sketch::new(cx, &grid, gone_m(cx)));
        let pairs = all_pairs(cx, &grid);
        let mut prices = Prices::new(cx);
        let bundles = Bundles::new(&mut prices, &grid, &sketch, &pairs);
        let mut runs = Runs::new(&mut prices, &grid, &sketch, &pairs);
        runs.take_lines(&mut prices, &grid);
        runs.take_profiles(cx, &grid);
        runs.take_courses(cx, &grid);
        let (mut clashes, mut dearer, mut wide) = (0, 0, 0);
        for run in &runs.runs {
            let station = |p: usize| grid.positions[p].station;
            let of = |p: &Pair| (p.us, p.ds) == (station(run.us), station(run.ds));
            let b = bundles
                .pairs
                .iter()
                .position(of)
                .expect("it is of a bundle");
            let (pair, bundle) = (&bundles.pairs[b], &bundles.runs.runs[b]);
            assert!(pair.has(&bundles.at, [run.us, run.ds]));
            wide += usize::from(pair.lines.len() > 5);
            assert!((bundle.length_m..=bundle.longest_m).contains(&run.length_m));
            let (of_bundle, of_run) = (bundle.by_sides(), run.by_sides());
            for (least, of_run) in of_bundle.iter().flatten().zip(of_run.iter().flatten()) {
                assert!(*least <= of_run + 1e-9, "{least} {of_run}");
            }
            dearer += usize::from(bundle.least() > bundle.length_m * job.costs.bore_per_m + 1000.0);
            let levels = |p: usize| {
                let levels = &bundles.grid.positions[p].levels;
                (0..levels.len())
                    .step_by(7)
                    .map(|z| levels.level(z))
                    .collect::<Vec<_>>()
            };
            for z0 in levels(run.us) {
                for z1 in levels(run.ds) {
                    let fall = z0 - z1;
                    let grades = cx.grade.map(|g| g * run.length_m);
                    if (grades[0]..=grades[1]).contains(&fall) && !passes(bundle, [z0, z1], false) {
                        assert!(!passes(run, [z0, z1], false), "{pair:?} {z0} {z1}");
                        clashes += 1;
                    }
                }
            }
        }
        assert!(
            clashes > 1000 && dearer > 0 && wide > 100,
            "{clashes} {dearer} {wide}"
        );
    }

    #[test]
    fn a_service_that_ends_beside_a_held_end_is_proved_by_every_line_to_it() {
        let (site, job) = site();
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("it has length");
        let cx = &system.members[0].cx;
        let part = cx
            .world
            .obstacles
            .services
            .parts
            .last()
            .expect("there are services");
        let pieces: Vec<(usize, usize)> = (0..part.pieces.len()).map(|k| (0, k)).collect();
        let near = Near {
            part,
            pieces: &pieces,
        };
        let to =
            |x: f64, y: f64| Line::new(geo::coord! {x: 45.0, y: 3.0}, geo::coord! {x: x, y: y});
        assert!(near.is_proved(cx, &[to(20.0, 0.0), to(20.0, 2.0)]));
        let aside = Line::new(geo::coord! {x: 45.0, y: 1.5}, geo::coord! {x: 20.0, y: 0.0});
        assert!(!near.is_proved(cx, &[to(20.0, 0.0), aside]));
    }
}
