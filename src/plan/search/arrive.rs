//! What partial plans of a route cost at least, for all its runs: each state looks up its runs, the cheapest first, and stops where no
//! other can be cheaper. (`squeeze` needs to know of every run what the least plan with it costs; this does not.)

use super::{
    closed::End,
    grid::{Grid, LevelGrid},
    look::{Look, close, covered_from, open},
    ranges::Ranges,
    runs::{Run, Runs, ends},
    squeeze::{Arrived, least_by_level, leave},
    sweep::{Costs, Scratch, Swept},
};
use crate::{
    clearance::{FROM_DOWNSTREAM, FROM_UPSTREAM},
    plan::context::Context,
};

/// What partial plans cost that leave a position: by class of the next drive's direction, by (it is launched there), by outlet
/// level; and the least of all.
struct Left {
    by_class: Vec<[Ranges; 2]>,
    least: f64,
}

/// A run to a position.
struct Inward<'r> {
    run: &'r Run,
    left: &'r [Ranges; 2],
    /// Least cost of the run and all that lies upstream: at no level is there less.
    total: f64,
}

/// What partial plans of a branch cost at least, in no plan dearer than the bound.
#[derive(Default)]
pub struct Least {
    /// At its junction by (last drive launched there), then by inlet level, one after the other, the pit there left out.
    pub arrived: Vec<f64>,
    /// By position and outlet level, its pit and branches included; empty where no plan comes by.
    pub left: Vec<Vec<f64>>,
}

/// Works out what a branch costs at least. One dearer than `bound` is of no use.
pub fn least_of_all(cx: &Context, grid: &Grid, runs: &Runs, bound: f64) -> Least {
    let mut all: Vec<Option<Left>> = (0..grid.positions.len()).map(|_| None).collect();
    let mut out = Least {
        arrived: vec![],
        left: vec![vec![]; grid.positions.len()],
    };
    for p in (0..grid.positions.len()).rev() {
        if runs.is_bare(grid, p) {
            continue;
        }
        let here = arrive(cx, grid, runs, (&all, p), bound);
        if ends(grid, p).1 {
            let levels = grid.positions[p].levels.len();
            out.left[p] = vec![0.0; levels];
            out.arrived = both_sides(here, levels);
            continue;
        }
        let (left, _) = leave(cx, grid, runs, p, here);
        out.left[p] = least_by_level(left.iter().flatten());
        let by_class: Vec<[Ranges; 2]> = left
            .into_iter()
            .map(|of| of.map(|by_level| Ranges::new(&by_level)))
            .collect();
        let least = by_class.iter().flatten().map(Ranges::least_of_all);
        let least = least.fold(f64::INFINITY, f64::min);
        all[p] = Some(Left { by_class, least });
    }
    out
}

fn both_sides(arrived: Arrived, levels: usize) -> Vec<f64> {
    let mut out = vec![f64::INFINITY; 2 * levels];
    for (l, _, by_level) in arrived {
        for (out, cost) in out[l * levels..].iter_mut().zip(by_level) {
            *out = out.min(cost);
        }
    }
    out
}

/// Least costs up to the inlet of a position.
fn arrive(
    cx: &Context,
    grid: &Grid,
    runs: &Runs,
    (all, p): (&[Option<Left>], usize),
    bound: f64,
) -> Arrived {
    let levels = &grid.positions[p].levels;
    let [_, ups] = runs.pits[p].classes();
    let to_come = runs.to_come(p);
    let inward = |r: &usize| {
        let run = &runs.runs[*r];
        let of = all[run.us].as_ref()?;
        let left = &of.by_class[run.classes[0]];
        let total = of.least + run.least();
        (total + to_come[0].min(to_come[1]) <= bound).then_some(Inward { run, left, total })
    };
    let mut to: Vec<Inward> = runs.to[p].iter().filter_map(inward).collect();
    to.sort_by(|a, b| a.total.total_cmp(&b.total));
    let mut received = vec![f64::INFINITY; levels.len()];
    let mut out: Arrived = vec![];
    let mut scratch = Scratch::default();
    for class in 0..ups {
        let mut least = Costs::new(to_come.map(|to_come| vec![bound - to_come; levels.len()]));
        for i in to.iter().filter(|i| i.run.classes[1] == class) {
            if i.total >= least.greatest() {
                break; // nor does any run after it lower anything
            }
            lower(cx, grid, i, levels, (&mut least, &mut scratch));
        }
        let [of_received, launched] = least.into_least();
        for (received, least) in received.iter_mut().zip(of_received) {
            *received = received.min(least);
        }
        out.push((1, class, launched));
    }
    // A drive that is received turns no pit that another leaves.
    out.push((0, 0, received));
    out.retain(|(_, _, by_level)| by_level.iter().any(|c| c.is_finite()));
    out
}

/// Lowers the least costs up to all inlet levels of a position, by (last drive launched there), to those through one run.
fn lower(
    cx: &Context,
    grid: &Grid,
    &Inward { run, left, .. }: &Inward,
    levels: &LevelGrid,
    (out, scratch): (&mut Costs, &mut Scratch),
) {
    let above = &grid.positions[run.us].levels;
    let window = levels.window(above, run.falls_m(cx));
    let mut plain = 0;
    if let Some(window) = window {
        let cost = run.by_sides();
        let swept = Swept {
            cost: [0, 1].map(|l| [0, 1].map(|f: usize| cost[f][l])),
            beyond: [&left[0], &left[1]],
            window,
        };
        scratch.sweep.fill(levels, &swept);
        if run.is_of_one_price() {
            let highest = run.highest_inlet_in_cover(above.level(above.len() - 1));
            plain = levels.range(f64::NEG_INFINITY, highest).end;
            let Scratch { sweep, closed, .. } = scratch;
            closed.take(run, End::Downstream, levels, above);
            out.lower(plain, sweep, &swept, closed);
        }
    }
    for z in plain..levels.len() {
        if window.is_none() || out.is_lowered_by(&scratch.sweep, z) {
            let mut both = out.at(z);
            let at = (above, levels.level(z), &mut scratch.look);
            through(cx, run, left, at, &mut both);
            out.set(z, both);
        }
    }
}

/// Lowers the least cost up to inlet level `z` to that through one run.
pub fn through(
    cx: &Context,
    run: &Run,
    left: &[Ranges; 2],
    (levels, z, look): (&LevelGrid, f64, &mut Look),
    out: &mut [f64; 2],
) {
    let [least, most] = run.falls_m(cx);
    let by_grade = levels.range(z + least, z + most);
    let mut looked = false;
    for one_drive in [true, false] {
        let range = match (one_drive, &run.profile) {
            (true, None) => continue,
            (true, Some(profile)) => covered_from(profile, run.length_m, levels, z, &by_grade),
            (false, _) => by_grade.clone(),
        };
        // By (last drive launched downstream), from what was paid by (first drive launched upstream).
        let with = |so_far: [f64; 2]| match one_drive {
            true => [
                so_far[1] + run.single[FROM_UPSTREAM],
                so_far[0] + run.single[FROM_DOWNSTREAM],
            ],
            false => [0, 1]
                .map(|l: usize| (so_far[0] + run.multi[0][l]).min(so_far[1] + run.multi[1][l])),
        };
        let lower = |out: &[f64; 2], range: &std::ops::Range<usize>| {
            let so_far = [0, 1].map(|f: usize| left[f].least(range.clone()));
            let whole = with(so_far);
            [out[0].min(whole[0]), out[1].min(whole[1])]
        };
        if range.is_empty() || lower(out, &range) == *out {
            continue;
        }
        if !looked {
            looked = true;
            let end = (End::Downstream, z);
            close(run, end, levels, &by_grade, &mut look.closed);
        }
        for range in open(range, &look.closed) {
            *out = lower(out, &range);
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        plan::{
            bare_site,
            context::World,
            search::{
                grid::Coarse,
                relax::{hopeful, relax},
                squeeze::squeeze,
                tree::Routes,
            },
            system::System,
        },
        site::Site,
    };

    /// A branch down to a main, two pipes across it.
    fn site() -> Site {
        let mut site = bare_site::site(&[(0.0, 0.0), (30.0, 0.5), (60.0, 0.0)]);
        let branch = [(5.0, 30.0), (12.0, 18.0), (30.0, 0.5)];
        let mut branch = bare_site::site(&branch).routes.remove(0);
        (branch.route_id, branch.joins) = ("R2".into(), Some("R1".into()));
        site.routes.push(branch);
        for (fid, x, level) in [(1, 10.0, 47.5), (2, 20.0, 47.2)] {
            site.services
                .push(bare_site::main(fid, [(x, 0.0), (x, 40.0)], Some(level)));
        }
        site
    }

    /// Its routes, with all that is certain of their runs.
    fn looked_at<'s, 'a>(system: &'s System<'a>) -> Routes<'s, 'a> {
        let mut routes = Routes::new(system, Coarse::FINEST, f64::INFINITY).expect("it has a plan");
        routes.each(|r| {
            r.runs.take_lines(&mut r.prices, &r.grid);
            r.runs.take_profiles(r.prices.cx, &r.grid);
            r.runs.take_courses(r.prices.cx, &r.grid);
        });
        routes.settle(f64::INFINITY).expect("it has a plan");
        routes
    }

    #[test]
    fn looked_at_from_either_end_the_least_is_the_same() {
        let (site, job) = (site(), bare_site::job());
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0, 1], &[true, true]).expect("it has length");
        let routes = looked_at(&system);
        let r = &routes.searched[1];
        assert!(
            r.runs
                .runs
                .iter()
                .any(|run| run.bands.iter().next().is_some())
        );
        let all = least_of_all(r.prices.cx, &r.grid, &r.runs, f64::INFINITY).arrived;
        let nothing = vec![0.0; all.len()];
        let relaxed = relax(r.prices.cx, &r.grid, &r.runs, f64::INFINITY, &nothing);
        let pushed = squeeze(r.prices.cx, &r.grid, &r.runs, &relaxed, f64::INFINITY).arrived;
        assert_eq!(all.len(), pushed.len());
        assert!(all.iter().filter(|c| c.is_finite()).count() > 10);
        for (a, b) in all.iter().zip(&pushed) {
            assert!(a == b || (a - b).abs() < 1e-6, "{a} {b}");
        }
    }

    #[test]
    fn runs_without_hope_are_in_no_plan_within_the_bound() {
        let (site, job) = (site(), bare_site::job());
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0, 1], &[true, true]).expect("it has length");
        let mut routes = looked_at(&system);
        routes.bound_branches();
        let r = &mut routes.searched[1];
        let nothing = vec![0.0; r.by_inlet.len()];
        let least = r.by_inlet.iter().copied().fold(f64::INFINITY, f64::min);
        let ends = |runs: &Runs| -> Vec<_> { runs.runs.iter().map(|r| (r.us, r.ds)).collect() };
        let all = ends(&r.runs);
        for bound in [1.0001, 1.05, 1.3].map(|share| share * least) {
            let relaxed = r.relaxed(&r.runs, &nothing, bound);
            let (cx, grid) = (r.prices.cx, &r.grid);
            let kept = ends(&squeeze(cx, grid, &r.runs, &relaxed, bound));
            let hopeful = ends(&hopeful(cx, grid, r.runs.clone(), &relaxed, bound));
            assert!(kept.iter().all(|run| hopeful.contains(run)), "{bound}");
            assert!(!kept.is_empty() && hopeful.len() < all.len(), "{bound}");
        }
    }
}
