//! The search held against the plain ones, on made sites. The plain ones are given a site and a job without two of the rules, and keep
//! these by themselves: which side launches, and what an old pipe that is followed does not count for.

use super::{plain_search::PlainSearch, plain_tree::PlainTree};
use pitwright::{
    job::{Job, LaunchFrom},
    plan::{
        Quiet,
        context::World,
        plan,
        search::solve,
        system::{System, Tree, trees},
    },
    site::{FeatureRef, Site},
};
use std::ops::Range;

/// What a seed's site comes to by the search.
pub fn least_cost(site: &Site, job: &Job) -> f64 {
    let world = World::new(site, job);
    let tree = &trees(site)[0];
    solve(&whole(&world, tree)).map_or(f64::INFINITY, |s| s.cost)
}

fn whole<'a>(world: &'a World<'a>, tree: &Tree) -> System<'a> {
    System::new(world, tree, &vec![true; tree.len()]).expect("routes have length")
}

pub fn same(a: f64, b: f64) -> bool {
    a == b || (a - b).abs() <= 1e-6
}

/// A site with two of the rules left out.
struct Lax {
    /// The old pipe stands, and nobody follows it.
    standing: Site,
    /// The old pipe is gone; none where no route follows one.
    bare: Option<Site>,
    /// Any side launches.
    job: Job,
    /// Which may by the job.
    launch_from: LaunchFrom,
    /// Which routes follow the old pipe.
    follows: Vec<bool>,
}

impl Lax {
    fn new(made: &impl Fn() -> (Site, Job)) -> Lax {
        let (mut standing, mut job) = made();
        let launch_from = std::mem::replace(&mut job.rig.launch_from, LaunchFrom::Either);
        let routes = standing.routes.iter_mut();
        let followed: Vec<Option<FeatureRef>> = routes.map(|r| r.follows.take()).collect();
        let old = followed.iter().flatten().next();
        assert!(followed.iter().flatten().all(|f| Some(f) == old));
        let bare = old.map(|old| {
            let (mut bare, _) = made();
            bare.routes.iter_mut().for_each(|r| r.follows = None);
            bare.services.retain(|s| s.at != *old);
            bare
        });
        Lax {
            follows: followed.iter().map(Option::is_some).collect(),
            standing,
            bare,
            job,
            launch_from,
        }
    }
}

/// Compares the search with the plain one on a range of seeds of single routes; says how many sites had a plan and the largest
/// count of plans built in full.
pub fn compare(
    seeds: Range<u64>,
    remember: bool,
    made: impl Fn(u64) -> (Site, Job),
) -> (usize, u64) {
    let (mut planned, mut most) = (0, 0);
    for seed in seeds {
        let (site, job) = made(seed);
        let found = least_cost(&site, &job);
        let lax = Lax::new(&|| made(seed));
        // What a lone route follows counts nowhere.
        let world = World::new(lax.bare.as_ref().unwrap_or(&lax.standing), &lax.job);
        let system = whole(&world, &vec![0]);
        let plain = PlainSearch::new(&system.members[0].cx, remember);
        let mut plain = plain.launching_from(lax.launch_from);
        let least = plain.least_cost();
        assert!(
            same(found, least),
            "seed {seed}: the search found {found}, the plain search {least}"
        );
        planned += usize::from(found.is_finite());
        most = most.max(plain.plans);
    }
    (planned, most)
}

/// What was seen in a range of trees.
#[derive(Debug, Default)]
pub struct Seen {
    /// Trees with a plan, and of these those with:
    pub planned: usize,
    /// A manhole beside the route.
    pub beside: usize,
    /// A branch of a branch.
    pub branch_of_branch: usize,
    /// Several branches at one manhole.
    pub several: usize,
    /// A test hole.
    pub test_hole: usize,
    /// Both a manhole beside the route and a test hole.
    pub beside_and_hole: usize,
}

/// Compares the search with the plain one for trees on a range of seeds.
pub fn compare_trees(seeds: Range<u64>, made: impl Fn(u64) -> (Site, Job)) -> Seen {
    let mut seen = Seen::default();
    for seed in seeds {
        let (site, job) = made(seed);
        let world = World::new(&site, &job);
        let tree = &trees(&site)[0];
        let system = whole(&world, tree);
        let found = solve(&system);
        let cost = found.as_ref().map_or(f64::INFINITY, |s| s.cost);
        let least = plain_tree_cost(&Lax::new(&|| made(seed)), tree);
        assert!(
            same(cost, least),
            "seed {seed}: {cost} by the search, {least} by trying everything"
        );
        let Some(found) = found else { continue };
        let mut pits = found.routes.iter().flat_map(|r| &r.pits);
        let mut members = system.members.iter();
        let beside = pits.any(|p| p.manhole && p.offset_m != 0.0);
        let hole = !plan(&site, &job, &Quiet).test_holes.is_empty();
        let several = |m: &pitwright::plan::system::Member| {
            m.cx.junctions.iter().any(|j| j.branches.len() > 1)
        };
        seen.planned += 1;
        seen.beside += usize::from(beside);
        seen.several += usize::from(system.members.iter().any(several));
        seen.branch_of_branch += usize::from(members.any(|m| m.parent.is_some_and(|p| p > 0)));
        seen.test_hole += usize::from(hole);
        seen.beside_and_hole += usize::from(beside && hole);
    }
    seen
}

fn plain_tree_cost(lax: &Lax, tree: &Tree) -> f64 {
    let world = World::new(&lax.standing, &lax.job);
    let system = whole(&world, tree);
    let plain = PlainTree::new(&system).launching_from(lax.launch_from);
    let Some(bare) = &lax.bare else {
        return { plain }.least_cost();
    };
    let world = World::new(bare, &lax.job);
    let bare = whole(&world, tree);
    let follows: Vec<bool> = system
        .members
        .iter()
        .map(|m| lax.follows[m.route])
        .collect();
    plain.following(&bare, &follows).least_cost()
}
