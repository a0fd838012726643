//! Leaves out the ways to drive runs that no plan within the bound has.
//!
//! From upstream down, the least cost so far of every (position, level) is worked out with the same rules left out as in
//! `relax`; with what `relax` says of the rest it is a lower bound of every plan that drives a run so, and what exceeds the
//! bound is of no use.

use super::{
    closed::End,
    grid::{Grid, LevelGrid},
    least_through::{BySides, NEVER},
    look::{Ways, ways},
    pit_levels::PitLevels,
    ranges::Lowered,
    relax::{Relaxed, outlets, plain_outlets},
    runs::{Run, Runs, ends},
    sweep::Scratch,
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM},
    plan::context::Context,
};
use std::collections::BTreeMap;

/// Of some runs, those that a plan for `bound` has.
pub fn squeeze(cx: &Context, grid: &Grid, runs: &Runs, relaxed: &Relaxed, bound: f64) -> Runs {
    // Fewer levels of a run are looked at one by one.
    const MANY: usize = 12;
    let below = Below {
        cx,
        grid,
        relaxed,
        bound,
        many: MANY,
    };
    below.squeeze(runs)
}

/// Least plans with a way along a run and what was paid before it, by the sides that launch.
fn wholes(relaxed: &Relaxed, run: &Run, so_far: [f64; 2], way: &Ways) -> BySides {
    let rest = [0, 1].map(|l| {
        let rest = relaxed.inlet(run.ds, l, run.classes[1]);
        rest.least(way.range.clone())
    });
    [0, 1].map(|f: usize| [0, 1].map(|l: usize| so_far[f] + way.cost[f][l] + rest[l]))
}

/// A run without the ways to drive it whose least plan exceeds the bound; none where that leaves none.
fn within(run: &Run, [single, multi]: [BySides; 2], bound: f64) -> Option<Run> {
    let within = |least: f64| least <= bound;
    let all = [single, multi].map(|of| of.into_iter().flatten().any(within));
    if !all.contains(&true) {
        return None;
    }
    let mut run = run.clone();
    if single[1][0] > bound {
        run.single[FROM_UPSTREAM] = f64::INFINITY;
    }
    if single[0][1] > bound {
        run.single[FROM_DOWNSTREAM] = f64::INFINITY;
    }
    let mut most_multi = f64::NEG_INFINITY;
    for (f, l) in [(0, 0), (0, 1), (1, 0), (1, 1)] {
        if multi[f][l] > bound {
            run.multi[f][l] = f64::INFINITY;
        } else {
            // Whatever its levels, all else costs at least what it costs in the least plan.
            most_multi = most_multi.max(run.multi[f][l] + bound - multi[f][l]);
        }
    }
    if run.through.is_none() {
        run.most_multi = most_multi;
    }
    run.least().is_finite().then_some(run)
}

/// What partial plans cost at least.
struct Down {
    /// At the downstream end by (last drive launched there), then by inlet level, one after the other.
    arrived: Vec<f64>,
    /// By position and outlet level, its pit and branches included.
    left: Vec<Vec<f64>>,
    /// By position where one branch joins, by (it is launched there), by outlet level: the same without the branch.
    left_alone: BTreeMap<usize, [Vec<f64>; 2]>,
}

/// What lies downstream, and how much all may cost.
struct Below<'r> {
    cx: &'r Context<'r>,
    grid: &'r Grid,
    relaxed: &'r Relaxed,
    bound: f64,
    /// So many levels of a run of one price are taken together.
    many: usize,
}

impl Below<'_> {
    /// Of some runs, those that a plan for the bound has.
    fn squeeze(&self, runs: &Runs) -> Runs {
        // By run: least plan that drives it as one drive, and with through pits, by the sides that launch.
        let mut least = vec![[NEVER; 2]; runs.runs.len()];
        let down = self.go_down(runs, |r, one_drive, wholes| {
            let least: &mut [BySides; 2] = &mut least[r];
            let least = least[usize::from(!one_drive)].iter_mut().flatten();
            for (least, whole) in least.zip(wholes.as_flattened()) {
                *least = least.min(*whole);
            }
        });
        let may_be =
            |least: &&[BySides; 2]| least.iter().flatten().flatten().any(|l| *l <= self.bound);
        // Room for these and no more: there are many, and they are large.
        let mut kept = Vec::with_capacity(least.iter().filter(may_be).count());
        let all = runs.runs.iter().zip(least);
        kept.extend(all.filter_map(|(run, least)| within(run, least, self.bound)));
        let mut few = runs.with(kept, self.grid);
        (few.left, few.left_alone) = (down.left, down.left_alone);
        few.arrived = down.arrived;
        few
    }

    /// Works out what partial plans cost at least that may be part of one for the bound. `hear` is told of every way along a run that
    /// may be (as one drive or not), and of the least plans with it.
    fn go_down(&self, runs: &Runs, mut hear: impl FnMut(usize, bool, BySides)) -> Down {
        let Below {
            cx,
            grid,
            relaxed,
            bound,
            ..
        } = *self;
        // By position, (last drive launched there), class of its direction and inlet level, the position's pit left out.
        let none = |p: usize| {
            let levels = grid.positions[p].levels.len();
            let [_, ups] = runs.pits[p].classes();
            // A drive that is received turns no pit that another leaves.
            [1, ups].map(|classes| (0..classes).map(|_| Lowered::new(levels)).collect())
        };
        let mut arrived: Vec<[Vec<Lowered>; 2]> = (0..grid.positions.len()).map(none).collect();
        let mut down = Down {
            arrived: vec![],
            left: vec![vec![]; grid.positions.len()],
            left_alone: BTreeMap::new(),
        };
        let mut scratch = Scratch::default();
        for p in (0..grid.positions.len()).rev() {
            if runs.is_bare(grid, p) {
                continue;
            }
            let levels = &grid.positions[p].levels;
            let here = std::mem::take(&mut arrived[p]);
            if ends(grid, p).1 {
                if cx.joined {
                    let numbers = |of: Vec<Lowered>| of.into_iter().map(Lowered::into_numbers);
                    let both = here.map(|of| least_by_level(numbers(of)));
                    down.arrived = both.concat();
                }
                down.left[p] = vec![0.0; levels.len()];
                continue;
            }
            let here = here.into_iter().enumerate().flat_map(|(l, by_class)| {
                let by_class = by_class.into_iter().enumerate();
                by_class.map(move |(up, by_level)| (l, up, by_level))
            });
            let here = here.filter(|(_, _, by_level)| !by_level.is_untouched());
            let here = here.map(|(l, up, by_level)| (l, up, by_level.into_numbers()));
            let (left, alone) = leave(cx, grid, runs, p, here.collect());
            down.left[p] = least_by_level(left.iter().flatten());
            if runs.joining.get(&p).is_some_and(|of| of.len() == 1) {
                down.left_alone.insert(p, alone);
            }
            let least_left =
                |of: &[Vec<f64>; 2]| of.iter().flatten().copied().fold(f64::INFINITY, f64::min);
            let least_left: Vec<f64> = left.iter().map(least_left).collect();
            for &r in &runs.from[p] {
                let run = &runs.runs[r];
                // Most runs cost too much whatever their levels.
                let whole = least_left[run.classes[0]] + run.least() + relaxed.least[run.ds];
                if runs.is_bare(grid, run.ds) || whole > bound {
                    continue;
                }
                let (of, to) = (&left[run.classes[0]], &mut arrived[run.ds]);
                self.go_along(run, of, to, &mut scratch, |one_drive, wholes| {
                    hear(r, one_drive, wholes);
                });
            }
        }
        down
    }

    /// Moves what partial plans cost that leave a position by outlet level (the next drive received there, or launched) along a run,
    /// to what they cost that arrive by level where it ends. `hear` is told of every way that a plan for the bound may have.
    fn go_along(
        &self,
        run: &Run,
        [received, launched]: &[Vec<f64>; 2],
        to: &mut [Vec<Lowered>; 2],
        scratch: &mut Scratch,
        mut hear: impl FnMut(bool, BySides),
    ) {
        let Below {
            cx,
            grid,
            relaxed,
            bound,
            many,
        } = *self;
        let [levels, levels_ds] = [run.us, run.ds].map(|p| &grid.positions[p].levels);
        let spare = bound - relaxed.least[run.ds];
        let least = run.least();
        let classes = [0, 1].map(|l: usize| run.classes[1].min(to[l].len() - 1));
        let swept = relaxed.sweep(cx, grid, run, [run.us, run.ds], &mut scratch.sweep);
        let mut plain = 0;
        if swept.is_some() && run.is_of_one_price() {
            plain = plain_outlets(cx, run, levels);
            scratch.closed.take(run, End::Upstream, levels, levels_ds);
        }
        scratch.together.clear();
        let all = [received, launched].map(|of| &of[..plain]);
        let many = plain > 0 && scratch.sweep.are_within(all, bound) >= many;
        for (z, so_far) in received.iter().zip(launched).enumerate() {
            let so_far = [*so_far.0, *so_far.1];
            let spare = spare - so_far[0].min(so_far[1]);
            if least > spare || spare.is_nan() {
                continue;
            }
            let least = |f: usize| so_far[f] + scratch.sweep.least[f][z];
            if swept.is_some() && least(0).min(least(1)) > bound {
                continue; // whatever else tells its levels apart
            }
            let useful = |way: &Ways| {
                let wholes = wholes(relaxed, run, so_far, way);
                wholes.iter().flatten().any(|whole| *whole <= bound)
            };
            let mut take = |way: Ways| {
                hear(way.one_drive, wholes(relaxed, run, so_far, &way));
                for l in [0, 1] {
                    let by = |f: usize| so_far[f] + way.cost[f][l];
                    to[l][classes[l]].lower(way.range.clone(), by(0).min(by(1)));
                }
            };
            match &swept {
                Some(swept) if many && z < plain && swept.is_open(&mut scratch.closed, z) => {
                    scratch.together.push(z, so_far);
                }
                Some(swept) if z < plain => swept.each_open(&mut scratch.closed, z, |range| {
                    let all = [true, false]
                        .map(|one_drive| Ways::at_any_level(run, one_drive, range.clone()));
                    (all.into_iter())
                        .filter(|way| way.is_within(spare) && useful(way))
                        .for_each(&mut take);
                }),
                _ => ways(
                    cx,
                    run,
                    levels_ds,
                    (levels.level(z), spare, &mut scratch.look),
                    useful,
                    &mut take,
                ),
            }
        }
        let moved = swept.as_ref().map(|swept| scratch.together.moved(swept));
        if let Some(moved) = moved.filter(|m| !m.is_empty()) {
            let beside = moved.least_plans();
            for one_drive in [true, false] {
                let Ways { cost, .. } = Ways::at_any_level(run, one_drive, 0..0);
                let whole = |f: usize| [0, 1].map(|l: usize| beside[f][l] + cost[f][l]);
                hear(one_drive, [0, 1].map(whole));
            }
            for l in [0, 1] {
                to[l][classes[l]].lower_each(moved.first, &moved.within(l, bound));
            }
        }
    }
}

/// The least of several by level; those that are empty say nothing.
pub fn least_by_level(of: impl Iterator<Item = impl AsRef<[f64]>>) -> Vec<f64> {
    let mut of = of.filter(|o| !o.as_ref().is_empty());
    let mut least = of.next().map_or(vec![], |o| o.as_ref().to_vec());
    for other in of {
        for (least, other) in least.iter_mut().zip(other.as_ref()) {
            *least = least.min(*other);
        }
    }
    least
}

/// Costs so far by (last drive launched there), class of its direction, and inlet level.
pub type Arrived = Vec<(usize, usize, Vec<f64>)>;

/// Least cost so far by class of the next drive's direction, by (it is launched there), by outlet level, the position's pit
/// and branches included; and the least of all without the branches, by (the only one is launched there).
pub fn leave(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    p: usize,
    arrived: Arrived,
) -> (Vec<[Vec<f64>; 2]>, [Vec<f64>; 2]) {
    let levels = &grid.positions[p].levels;
    let above: Arrived = if ends(grid, p).0 {
        vec![(0, 0, vec![0.0; levels.len()])]
    } else {
        let all = arrived.into_iter();
        all.map(|(l, up, by_level)| (l, up, lowered(cx, levels, &by_level)))
            .collect()
    };
    PitLevels::new(cx, grid, runs, p).leave(&above)
}

/// From costs by inlet level to the same by outlet level.
fn lowered(cx: &Context, levels: &LevelGrid, by_inlet: &[f64]) -> Vec<f64> {
    let mut out = Lowered::new(levels.len());
    // From the highest inlet down: where nothing bounds a drop, an outlet has the least of all that came in above it.
    let mut least = vec![f64::INFINITY; levels.len()];
    let mut all = f64::INFINITY;
    let mut done = levels.len();
    for (inlet, cost) in by_inlet.iter().enumerate().rev() {
        let range = match cost.is_finite() {
            true => outlets(cx, levels, levels.level(inlet)),
            false => continue,
        };
        if range.start > 0 {
            out.lower(range, *cost);
            continue;
        }
        least[range.end.min(done)..done].fill(all);
        done = range.end.min(done);
        all = all.min(*cost);
    }
    least[..done].fill(all);
    if out.is_untouched() {
        return least;
    }
    let bounded = out.into_numbers().into_iter();
    bounded.zip(least).map(|(a, b)| a.min(b)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::plan::{
        bare_site,
        context::World,
        search::{grid::Coarse, solve::solve, tree::Routes},
        system::System,
    };

    #[test]
    fn levels_that_are_taken_together_leave_what_each_by_itself_does() {
        let mut site = bare_site::site(&[(0.0, 0.0), (60.0, 0.0), (75.0, 6.0)]);
        let across = |fid, x, level| bare_site::main(fid, [(x, -9.0), (x + 1.0, 9.0)], level);
        site.services = vec![across(1, 14.0, Some(47.6)), across(2, 41.0, Some(47.3))];
        let mut job = bare_site::job();
        (job.search.station_step_m, job.search.level_step_m) = (5.0, 0.02);
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("it has length");
        let best = solve(&system).expect("it has a plan").cost;
        let mut routes = Routes::new(&system, Coarse::FINEST, f64::INFINITY).expect("some runs");
        routes.settle(f64::INFINITY).expect("it has a plan");
        routes.each(|r| {
            r.runs.take_lines(&mut r.prices, &r.grid);
            r.runs.take_profiles(r.prices.cx, &r.grid);
            r.runs.take_courses(r.prices.cx, &r.grid);
        });
        let (r, cx) = (&routes.searched[0], &system.members[0].cx);
        for more in [1.001, 1.01, 1.05, 1.2] {
            let bound = best * more;
            let relaxed = r.relaxed(&r.runs, &[], bound);
            let with = |many: usize| {
                let below = Below {
                    cx,
                    grid: &r.grid,
                    relaxed: &relaxed,
                    bound,
                    many,
                };
                // Every way that is told of, and what is kept.
                let mut told = vec![[NEVER; 2]; r.runs.runs.len()];
                let down = below.go_down(&r.runs, |run, one_drive, wholes| {
                    let all = &mut told[run][usize::from(!one_drive)];
                    let all = all.as_flattened_mut().iter_mut();
                    all.zip(wholes.as_flattened())
                        .for_each(|(a, b)| *a = a.min(*b));
                });
                (told, down.left, below.squeeze(&r.runs))
            };
            let ((told, left, kept), (each_told, each_left, each_kept)) =
                (with(1), with(usize::MAX));
            // What no plan for the bound has is left out in one way, and not in the other.
            let same =
                |a: f64, b: f64, rest: f64| (a - b).abs() < 1e-6 || a.min(b) + rest > bound - 1e-6;
            for (told, each) in told.iter().zip(&each_told) {
                let both = told.as_flattened().iter().zip(each.as_flattened());
                let mut both = both.flat_map(|(a, b)| a.iter().zip(b));
                assert!(both.all(|(a, b)| same(*a, *b, 0.0)), "{told:?} {each:?}");
            }
            for p in 0..left.len() {
                let rest = relaxed.least_outlets(p);
                for (z, (a, b)) in left[p].iter().zip(&each_left[p]).enumerate() {
                    let rest = rest.get(z).copied().unwrap_or(0.0);
                    assert!(same(*a, *b, rest), "{more} {p} {z}: {a} {b}");
                }
            }
            let ways = |runs: &Runs| -> Vec<_> {
                let all = runs.runs.iter();
                all.map(|r| (r.us, r.ds, r.single, r.multi)).collect()
            };
            assert_eq!(ways(&kept), ways(&each_kept), "{more}");
            assert!(
                kept.runs.len() < r.runs.runs.len() && kept.runs.len() >= 2,
                "{more}: {}",
                kept.runs.len()
            );
        }
    }
}
