//! A route without a plan, and the same route with one thing changed.

use super::{
    budget::{Budget, Spent},
    islands::Islands,
};
use crate::{
    clearance::{Obstacles, Thing},
    job::Job,
    plan::{
        context::{Context, World},
        search::has_plan,
        settle::settle,
        system::{System, Tree},
    },
};
use geo::Coord;
use std::cell::{Cell, RefCell};

/// One thing that is otherwise than the site and the job say.
#[derive(Debug, Clone, Copy)]
pub enum Change<'s> {
    /// Nothing.
    Nothing,
    /// No drive's reach is less than this (m).
    Reach(f64),
    /// The fixed downstream invert of a route (its place in the site), or none at all.
    Outfall(usize, Option<f64>),
    /// The highest upstream invert of a route (its place in the site).
    Head(usize, f64),
    /// How far manholes may stand beside the route (m).
    Corridor(f64),
    /// Pits may stand on these lots.
    Entered(&'s [usize]),
    /// Drives may pass what of these services lies at unknown depth.
    Proved(&'s [usize]),
    /// These things are not there.
    Without(&'s [Thing]),
}

/// Which other routes of the tree a route is looked at with.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Company {
    /// None of them.
    None,
    /// All: there are more stations, and what they connect to is exempt. Their manholes are asked for nowhere.
    Tree,
}

/// Widest corridor that is looked at (m).
pub const WIDEST_CORRIDOR_M: f64 = 1.5;

/// A route without a plan, and all that its plan depends on.
pub struct Case<'w, 'a> {
    /// The site, with the obstacles round the tree.
    pub world: &'w World<'a>,
    /// The tree of the route.
    pub tree: &'w Tree,
    /// Its place there.
    pub place: usize,
    /// Nothing farther from a pit or drive of the tree can matter (m).
    pub near_m: f64,
    /// What may still be spent.
    pub budget: RefCell<Budget>,
}

/// The obstacles that a tree's plans depend on: within `near_m` of its routes.
pub fn obstacles_round(world: &World, tree: &Tree, near_m: f64) -> Obstacles {
    let lines = tree.iter().map(|r| &world.site.routes[*r].line.points);
    let points: Vec<Coord<f64>> = lines.flatten().copied().collect();
    world.obstacles.around(&points, near_m)
}

/// How far from the routes of a tree anything can matter to a pit or drive (m), in the widest corridor that is looked at.
pub fn near_m(world: &World, tree: &Tree) -> f64 {
    let job = world.job;
    let all = System::new(world, tree, &vec![true; tree.len()]);
    let concerns = all.iter().flat_map(|s| &s.members).map(|m| m.cx.concern_m);
    let rig = &job.rig;
    let spread = job.pits.building_spread_deg.to_radians().tan();
    // As far as siting looks for buildings round a pit (pits/siting.rs), from a pit that stands as far out as may be.
    let building_m = job
        .pits
        .building_setback_m
        .max(job.pits.max_depth_m / spread)
        + 20.0;
    let services = &world.obstacles.services;
    let service_m = services.widest_pit_distance_m() + services.widest_radius_m();
    let by_m = [building_m, service_m, job.search.snap_m]
        .into_iter()
        .chain(concerns)
        .fold(0.0, f64::max);
    let pit_m =
        rig.launch_length_m + rig.launch_width_m + rig.reception_length_m + rig.reception_width_m;
    let corridor_m = job.search.corridor_m.max(WIDEST_CORRIDOR_M);
    by_m + pit_m + corridor_m
}

/// Looks at a route of a tree (its place in the site), made ready; none where it has no length.
pub fn made_ready<R>(
    world: &World,
    tree: &Tree,
    route: usize,
    look: impl FnOnce(&Context) -> R,
) -> Option<R> {
    let system = System::new(world, tree, &vec![true; tree.len()])?;
    let member = system.members.iter().find(|m| m.route == route)?;
    Some(look(&member.cx))
}

impl Case<'_, '_> {
    /// The route's place in the site.
    pub fn route(&self) -> usize {
        self.tree[self.place]
    }

    /// Whether the route would have a plan.
    pub fn has_plan(&self, change: Change) -> Result<bool, Spent> {
        if !self.leads_through(change)? {
            return Ok(false);
        }
        let spent = Cell::new(false);
        let planned = self.under(change, |world, adjust| {
            let settled = settle(world, self.tree, |mut system| {
                adjust(&mut system);
                let mut budget = self.budget.borrow_mut();
                if spent.get() || budget.search(&system).is_err() {
                    spent.set(true);
                    return None;
                }
                let mut judged = 0;
                let found = has_plan(&system, &mut judged);
                budget.judged(judged);
                found.then_some(())
            });
            settled.found.is_some() && settled.planned[self.place]
        });
        if spent.get() { Err(Spent) } else { Ok(planned) }
    }

    /// Whether it would have one at all if levels were free, alone or with its tree: a quick no.
    pub fn leads_through(&self, change: Change) -> Result<bool, Spent> {
        let through = |company| {
            let look = |islands: &mut Islands, budget: &mut Budget| islands.lead_through(budget);
            Ok(self.levels_free(change, company, look)?.unwrap_or(false))
        };
        Ok(through(Company::None)? || self.tree.len() > 1 && through(Company::Tree)?)
    }

    /// Looks at the route with levels left free; none where it has no length.
    pub fn levels_free<R>(
        &self,
        change: Change,
        company: Company,
        look: impl FnOnce(&mut Islands, &mut Budget) -> Result<R, Spent>,
    ) -> Result<Option<R>, Spent> {
        self.under(change, |world, adjust| {
            let system = match company {
                Company::None => System::alone(world, self.tree, self.route()),
                Company::Tree => System::new(world, self.tree, &vec![true; self.tree.len()]),
            };
            let Some(mut system) = system else {
                return Ok(None);
            };
            adjust(&mut system);
            let mut members = system.members.iter_mut();
            let Some(member) = members.find(|m| m.route == self.route()) else {
                return Ok(None);
            };
            leave_free(&mut member.cx);
            let mut budget = self.budget.borrow_mut();
            look(&mut Islands::new(&member.cx)?, &mut budget).map(Some)
        })
    }

    /// The site with one thing changed: in its settings, in its obstacles, or in the routes made ready.
    fn under<R>(
        &self,
        change: Change,
        look: impl for<'b> FnOnce(&'b World<'b>, &dyn Fn(&mut System)) -> R,
    ) -> R {
        let mut job: Job = self.world.job.clone();
        if let Change::Corridor(m) = change {
            job.search.corridor_m = m;
        }
        let all = &self.world.obstacles;
        let obstacles = match change {
            Change::Entered(lots) => all.keeping(|t| !lots.iter().any(|l| t == Thing::Lot(*l))),
            Change::Without(things) => all.keeping(|t| !things.contains(&t)),
            Change::Proved(services) => all.proving(services),
            _ => all.keeping(|_| true),
        };
        let world = self.world.varied(&job, obstacles);
        look(&world, &|system| adjust(system, change))
    }
}

fn adjust(system: &mut System, change: Change) {
    for m in &mut system.members {
        let cx = &mut m.cx;
        match change {
            Change::Reach(reach_m) => {
                cx.reach.m = cx.reach.m.max(reach_m);
                let services = &cx.world.obstacles.services;
                cx.concern_m = cx.yardstick.farthest_concern(services, cx.reach.m);
            }
            // A branch looked at alone has a free downstream level already.
            Change::Outfall(route, level) if route == m.route => {
                cx.downstream.invert_m = cx.downstream.invert_m.and(level);
            }
            Change::Head(route, level) if route == m.route => {
                cx.upstream.invert_m = Some(level);
            }
            _ => {}
        }
    }
}

/// Leaves out what depends on levels and on branches: the head's highest invert, for which no position might be left, and
/// manholes at junctions. What is exempt there stays so.
fn leave_free(cx: &mut Context) {
    cx.upstream.invert_m = None;
    for j in &mut cx.junctions {
        j.branches.clear();
    }
}
