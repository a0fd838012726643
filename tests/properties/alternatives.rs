//! Each alternative is the cheapest plan that differs from all before it, and none is left out.

use super::{
    plain_search::PlainSearch,
    plain_tree::PlainTree,
    small_site::{Size, small_site, small_tree},
};
use geo::Coord;
use pitwright::{
    job::{Job, LaunchFrom, OnLots, UnknownDepth},
    plan::{
        alternatives::alternatives,
        context::{Context, World},
        forbidden::Forbidden,
        search::{Coarse, Grid, Solved, solve},
        system::{System, Tree, trees},
    },
    site::Site,
};
use std::collections::{BTreeSet, HashMap};

/// Pits of a plan that belong to a route: a branch's first is that of the route it joins.
fn own_pits(system: &System, plan: &Solved, member: usize) -> Vec<Coord<f64>> {
    let skip = usize::from(system.members[member].parent.is_some());
    let pits = plan.routes[member].pits.iter().skip(skip);
    pits.map(|p| p.point).collect()
}

fn apart(a: Coord<f64>, b: Coord<f64>) -> f64 {
    (a - b).x.hypot((a - b).y)
}

/// At least one pit of the cheaper plan has no pit of the other, on the same route, within `launch_m`.
fn is_another(launch_m: f64, cheaper: &[Vec<Coord<f64>>], plan: &[Vec<Coord<f64>>]) -> bool {
    let deserted = |p: &Coord<f64>, others: &[Coord<f64>]| {
        others.iter().all(|o| apart(*p, *o) > launch_m + 1e-6)
    };
    let routes = cheaper.iter().zip(plan);
    routes
        .into_iter()
        .any(|(a, b)| a.iter().any(|p| deserted(p, b)))
}

/// Holds a list of alternatives against what is true of every one of them: the first is the best plan, none is cheaper than
/// the one before it, each is another than all before it, and there is no more than asked for.
fn hold_to_definition(seed: u64, system: &System, job: &Job, plans: &[Solved], number: usize) {
    let best = solve(system).expect("it has a plan");
    assert_eq!(plans[0].routes, best.routes, "seed {seed}");
    assert!(plans.len() <= number);
    let pits = |p: &Solved| -> Vec<Vec<Coord<f64>>> {
        let members = 0..system.members.len();
        members.map(|m| own_pits(system, p, m)).collect()
    };
    for k in 1..plans.len() {
        assert!(
            plans[k].cost >= plans[k - 1].cost - 1e-6,
            "seed {seed}: {k}"
        );
        for before in &plans[..k] {
            let other = is_another(job.rig.launch_length_m, &pits(before), &pits(&plans[k]));
            assert!(
                other,
                "seed {seed}: plan {k} is not another than one before it"
            );
        }
    }
}

/// Every set of stations that a plan may have its pits at, with the least cost of such a plan, by trying them all.
fn every_set(cx: &Context, stations: usize) -> Vec<(BTreeSet<usize>, f64)> {
    let mut plain = PlainSearch::new(cx, true);
    let between = stations - 2;
    let set = |bits: u32| {
        let inner = (0..between)
            .filter(move |i| bits & (1 << i) != 0)
            .map(|i| i + 1);
        inner.chain([0, stations - 1]).collect::<BTreeSet<usize>>()
    };
    let sets = (0..1u32 << between).map(set);
    sets.map(|s| (s.clone(), plain.least_cost_at(s)))
        .filter(|s| s.1.is_finite())
        .collect()
}

/// A launch pit's length that no two stations are nearly apart: a through pit may stand up to 10 mm beside its station.
fn clear_length(mut launch_m: f64, stations: &[Coord<f64>]) -> f64 {
    let near = |m: f64| {
        let pairs = || {
            stations
                .iter()
                .flat_map(|a| stations.iter().map(|b| apart(*a, *b)))
        };
        pairs().any(|d| (d - m).abs() < 0.03)
    };
    while near(launch_m) {
        launch_m += 0.01;
    }
    launch_m
}

/// The reach asks for pits between the ends, and there is room for them: so there are choices.
fn room_between_the_ends(site: &mut Site, job: &mut Job) {
    site.keepouts.clear();
    site.services.truncate(1);
    for route in &mut site.routes {
        (route.outfall_invert_m, route.head_invert_max_m) = (None, None);
    }
    job.rig.reach_m = job.rig.reach_m.clamp(6.0, 9.0);
    job.rig.launch_from = LaunchFrom::Either;
    job.rules.manhole_spacing_m = job.rules.manhole_spacing_m.max(8.0);
    job.rules.manhole_drop_m = 0.0;
    job.pits.on_lots = OnLots::Always;
    job.rules.unknown_depth = UnknownDepth::Prove;
}

/// The alternatives of one route against all sets of stations: says how many there were, how often a cheaper set of pits was
/// passed over because it is not another, and whether the list ended for want of plans.
fn against_every_set(seed: u64, size: &Size, launch_m: f64, number: usize) -> Option<[usize; 3]> {
    let (mut site, mut job) = small_site(seed, size);
    room_between_the_ends(&mut site, &mut job);
    let stations: Vec<Coord<f64>> = {
        let world = World::new(&site, &job);
        let system = System::new(&world, &vec![0], &[true]).expect("the route has length");
        let grid = Grid::new(&system.members[0].cx, Coarse::FINEST);
        grid.stations.iter().map(|s| s.point).collect()
    };
    job.rig.launch_length_m = clear_length(launch_m, &stations);
    let world = World::new(&site, &job);
    let tree: Tree = vec![0];
    let system = System::new(&world, &tree, &[true]).expect("the route has length");
    let best = solve(&system)?;
    let plans = alternatives(&world, &tree, &[true], &best, number);
    hold_to_definition(seed, &system, &job, &plans, number);

    let all = every_set(&system.members[0].cx, stations.len());
    let points = |set: &BTreeSet<usize>| vec![set.iter().map(|s| stations[*s]).collect()];
    let other = |a: &BTreeSet<usize>, b: &BTreeSet<usize>| {
        is_another(job.rig.launch_length_m, &points(a), &points(b))
    };
    let mut taken: Vec<BTreeSet<usize>> = vec![];
    let mut passed_over = 0;
    for k in 0..number {
        let left = all.iter().filter(|s| taken.iter().all(|t| other(t, &s.0)));
        let least = left.map(|s| s.1).reduce(f64::min);
        let Some(plan) = plans.get(k) else {
            assert_eq!(least, None, "seed {seed}: a plan {k} was left out");
            return Some([k, passed_over, 1]);
        };
        let least = least.unwrap_or_else(|| panic!("seed {seed}: there is no plan {k}"));
        assert!(
            (plan.cost - least).abs() < 1e-6,
            "seed {seed}: plan {k} costs {}, not {least}",
            plan.cost
        );
        let chainages = plan.routes[0].pits.iter().map(|p| p.chainage_m);
        let grid = Grid::new(&system.members[0].cx, Coarse::FINEST);
        let station = |c: f64| {
            grid.stations
                .iter()
                .position(|s| (s.chainage_m - c).abs() < 1e-6)
        };
        let set: BTreeSet<usize> = chainages
            .map(|c| station(c).expect("pits stand at stations"))
            .collect();
        let cheaper = |s: &&(BTreeSet<usize>, f64)| s.1 < plan.cost - 1e-6 && !taken.contains(&s.0);
        passed_over += all.iter().filter(cheaper).count();
        taken.push(set);
    }
    Some([number, passed_over, 0])
}

#[test]
fn no_cheaper_other_plan_is_left_out() {
    let size = Size {
        length_m: 17.0,
        step_m: 2.5,
        level_step_m: 0.35,
        deepest_m: 3.6,
    };
    let [mut sites, mut plans, mut passed_over, mut ended] = [0; 4];
    for seed in 10_000..10_100 {
        let launch_m = [1.6, 2.0, 2.7, 3.4][seed as usize % 4];
        if let Some([n, p, e]) = against_every_set(seed, &size, launch_m, 5) {
            sites += 1;
            plans += n;
            passed_over += p;
            ended += e;
        }
    }
    println!(
        "{sites} of 100 sites have a plan, {plans} alternatives in all; {passed_over} cheaper sets of pits were not another; {ended} lists ended early"
    );
    assert!(sites >= 30 && 2 * plans > 3 * sites, "{sites} {plans}");
    assert!(
        passed_over >= 30 && (10..sites).contains(&ended),
        "{passed_over} {ended}"
    );
}

/// A disc in which no pit of a route may stand: the route's place in its system, the middle.
type Disc = (usize, Coord<f64>);

/// Least cost of the plans of a tree without pits in chosen discs, by the plain search.
struct PlainWithout<'w> {
    world: &'w World<'w>,
    tree: &'w Tree,
    known: HashMap<Vec<(usize, u64, u64)>, f64>,
}

impl PlainWithout<'_> {
    /// Least cost over every choice of one pit of each of these plans, no pit near the chosen ones.
    fn least(&mut self, system: &System, plans: &[Solved], chosen: &[Disc]) -> f64 {
        let cost = self.cost(chosen);
        let Some((first, rest)) = plans.split_first() else {
            return cost;
        };
        // Where there is no plan, there is none without still more places.
        if cost.is_infinite() {
            return cost;
        }
        let members = 0..system.members.len();
        let pits =
            members.flat_map(|m| own_pits(system, first, m).into_iter().map(move |p| (m, p)));
        let with = |pit: Disc| chosen.iter().copied().chain([pit]).collect::<Vec<Disc>>();
        let sets: Vec<Vec<Disc>> = pits.map(with).collect();
        let costs = sets.iter().map(|set| self.least(system, rest, set));
        costs.fold(f64::INFINITY, f64::min)
    }

    fn cost(&mut self, discs: &[Disc]) -> f64 {
        let mut key: Vec<_> = discs
            .iter()
            .map(|(m, c)| (*m, c.x.to_bits(), c.y.to_bits()))
            .collect();
        key.sort_unstable();
        key.dedup();
        if let Some(cost) = self.known.get(&key) {
            return *cost;
        }
        let all = vec![true; self.tree.len()];
        let mut system = System::new(self.world, self.tree, &all).expect("routes have length");
        let radius_m = self.world.job.rig.launch_length_m;
        for &(member, centre) in discs {
            let forbidden = &mut system.members[member].cx.forbidden;
            forbidden.push(Forbidden { centre, radius_m });
        }
        let cost = PlainTree::new(&system).least_cost();
        self.known.insert(key, cost);
        cost
    }
}

#[test]
fn no_cheaper_other_plan_of_a_tree_is_left_out() {
    let size = Size {
        length_m: 15.0,
        step_m: 3.0,
        level_step_m: 0.4,
        deepest_m: 4.0,
    };
    const NUMBER: usize = 3;
    let [mut planned, mut several, mut ended] = [0; 3];
    for seed in 6000..6090 {
        let (mut site, mut job) = small_tree(seed, &size);
        room_between_the_ends(&mut site, &mut job);
        job.rig.launch_length_m = job.rig.launch_length_m.min(2.0);
        let world = World::new(&site, &job);
        let tree = &trees(&site)[0];
        let all = vec![true; tree.len()];
        let system = System::new(&world, tree, &all).expect("routes have length");
        let Some(best) = solve(&system) else { continue };
        let plans = alternatives(&world, tree, &all, &best, NUMBER);
        hold_to_definition(seed, &system, &job, &plans, NUMBER);
        planned += 1;
        several += usize::from(plans.len() > 1);
        ended += usize::from(plans.len() < NUMBER);
        let mut plain = PlainWithout {
            world: &world,
            tree,
            known: HashMap::new(),
        };
        for k in 0..NUMBER.min(plans.len() + 1) {
            let least = plain.least(&system, &plans[..k], &[]);
            let cost = plans.get(k).map_or(f64::INFINITY, |p| p.cost);
            assert!(
                cost == least || (cost - least).abs() < 1e-6,
                "seed {seed}: plan {k} costs {cost}, by trying everything {least}"
            );
        }
    }
    println!(
        "{planned} of 90 trees have a plan, {several} of these several; {ended} lists ended early"
    );
    assert!(planned >= 20 && several >= 10, "{planned} {several}");
}
