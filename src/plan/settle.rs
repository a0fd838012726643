//! Which routes of a tree are planned, and what stops the others.

use super::{
    context::World,
    system::{System, Tree, parent_in},
};

/// What came of looking for plans of a tree.
pub struct Settled<P> {
    /// By route of the tree: it has a plan.
    pub planned: Vec<bool>,
    /// The plan of those that have one.
    pub found: Option<P>,
    /// By route of the tree: why it has none.
    pub stops: Vec<Option<Stop>>,
}

/// Why a route of a tree has no plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Stop {
    /// It has none even alone.
    Alone,
    /// The route that it joins (its place in the tree) has none.
    Below(usize),
    /// It has one alone, and so has every step of the tree until it is added; then none has.
    Together,
    /// The tree has none because of another route (its place in the tree).
    With(usize),
}

/// Looks for plans of a tree; `find` looks for the plan of a system.
///
/// A branch without a plan even alone is left out, and what joins it; where the rest has no plan together, the whole tree has none.
pub fn settle<'a, P>(
    world: &'a World<'a>,
    tree: &Tree,
    find: impl Fn(System<'a>) -> Option<P>,
) -> Settled<P> {
    let together = |planned: &[bool]| System::new(world, tree, planned).and_then(&find);
    let mut planned = vec![true; tree.len()];
    let mut stops = vec![None; tree.len()];
    let mut found = together(&planned);
    if found.is_none() && tree.len() > 1 {
        let alone = |i: usize| System::alone(world, tree, tree[i]).and_then(&find);
        for i in 1..tree.len() {
            let below = parent_in(world, tree, i);
            stops[i] = if !planned[below] {
                Some(Stop::Below(below))
            } else if alone(i).is_none() {
                Some(Stop::Alone)
            } else {
                None
            };
            planned[i] = stops[i].is_none();
        }
        if planned.contains(&false) {
            found = together(&planned);
        }
    }
    Settled {
        planned,
        found,
        stops,
    }
}

impl<P> Settled<P> {
    /// Where the rest of the tree has no plan together: says which route stops it, and that none of them is planned.
    pub fn name_stopper<'a>(
        &mut self,
        world: &'a World<'a>,
        tree: &Tree,
        find: impl Fn(System<'a>) -> Option<P>,
    ) {
        if self.found.is_some() {
            return;
        }
        let has_none = |last: &usize| {
            let upto = upto(&self.planned, *last);
            System::new(world, tree, &upto).and_then(&find).is_none()
        };
        let asked = (0..tree.len()).filter(|i| self.planned[*i]);
        // A single route was asked already.
        let stopper = if tree.len() > 1 {
            asked.clone().find(has_none).unwrap_or(0)
        } else {
            0
        };
        for i in asked {
            self.stops[i] = Some(match i {
                0 if stopper == 0 => Stop::Alone,
                _ if i == stopper => Stop::Together,
                _ => Stop::With(stopper),
            });
        }
        self.planned.fill(false);
    }

    /// Words on the routes that have no plan.
    pub fn words(&self, world: &World, tree: &Tree) -> Vec<String> {
        let name = |i: usize| &world.site.routes[tree[i]].route_id;
        let each = |(i, stop): (usize, &Option<Stop>)| match stop.as_ref()? {
            // A single route says so itself.
            Stop::Alone if tree.len() == 1 => None,
            Stop::Alone if i == 0 => Some(format!("route {} has no plan", name(0))),
            Stop::Alone => Some(format!(
                "route {} has no plan, not even without the routes that it joins and that join it",
                name(i)
            )),
            Stop::Below(below) => Some(format!(
                "route {} has no plan: {}, which it joins, has none",
                name(i),
                name(*below)
            )),
            Stop::Together => Some(format!(
                "route {} and the routes that join it have no plan together: each step of the tree has one until route {} is added",
                name(0),
                name(i)
            )),
            Stop::With(other) if *other == 0 => Some(format!(
                "route {} has no plan: {}, with which it hangs together, has none",
                name(i),
                name(0)
            )),
            Stop::With(_) => None,
        };
        self.stops.iter().enumerate().filter_map(each).collect()
    }
}

/// The routes that are planned, no farther than `last`.
fn upto(planned: &[bool], last: usize) -> Vec<bool> {
    let each = planned.iter().enumerate();
    each.map(|(i, p)| *p && i <= last).collect()
}
