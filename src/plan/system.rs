//! Routes that join: a tree, planned as one.

use super::context::{Context, Junction, World};
use crate::{
    alignment::Alignment,
    clearance::LENGTH_TOLERANCE_M,
    site::{Route, Site},
};

/// Routes that hang together through `joins`, by their place in the input: every route after the one that it joins.
pub type Tree = Vec<usize>;

/// A route of a system.
pub struct Member<'a> {
    /// Its place in the input.
    pub route: usize,
    /// The route made ready.
    pub cx: Context<'a>,
    /// The route that it joins (its place in the system).
    pub parent: Option<usize>,
}

/// A tree of routes made ready for planning; the first is the one that joins none.
pub struct System<'a> {
    /// The routes, each after the one that it joins.
    pub members: Vec<Member<'a>>,
}

/// All trees of a site, by the place of the route that joins none; within a tree branches in input order.
///
/// A route whose `joins` names no route of the site, or goes round in a circle, is taken as joining none: `read` refuses such sites.
pub fn trees(site: &Site) -> Vec<Tree> {
    let parent: Vec<Option<usize>> = site.routes.iter().map(|r| parent_of(site, r)).collect();
    let root = |mut i: usize| {
        for _ in 0..site.routes.len() {
            match parent[i] {
                Some(p) => i = p,
                None => return Some(i),
            }
        }
        None
    };
    let roots = (0..site.routes.len()).filter(|i| parent[*i].is_none() || root(*i).is_none());
    roots
        .map(|r| {
            let mut tree = vec![r];
            let mut next = 0;
            while next < tree.len() {
                let of = |i: &usize| parent[*i] == Some(tree[next]) && root(*i).is_some();
                let branches: Vec<usize> = (0..site.routes.len()).filter(of).collect();
                tree.extend(branches);
                next += 1;
            }
            tree
        })
        .collect()
}

fn parent_of(site: &Site, route: &Route) -> Option<usize> {
    let name = route.joins.as_ref()?;
    site.routes.iter().position(|r| r.route_id == *name)
}

/// Branches whose downstream end lies farther than `snap_m` from the route that they join, by their place in the input, and
/// how far (m); the first of every tree come first.
pub fn branches_apart(site: &Site, snap_m: f64) -> Vec<(usize, f64)> {
    let mut out = vec![];
    for tree in trees(site) {
        let mut lines: Vec<Option<Alignment>> = vec![];
        for &i in &tree {
            let route = &site.routes[i];
            let mut points = route.line.points.clone();
            let above = parent_of(site, route).and_then(|p| tree.iter().position(|t| *t == p));
            let joined = above.and_then(|p| lines.get(p)).and_then(Option::as_ref);
            if let (Some(line), Some(end)) = (joined, points.last_mut()) {
                let at = line.nearest(*end).1;
                let apart_m = (at - *end).x.hypot((at - *end).y);
                if apart_m > snap_m + LENGTH_TOLERANCE_M {
                    out.push((i, apart_m));
                }
                *end = at;
            }
            lines.push(Alignment::new(&points));
        }
    }
    out
}

/// The place in a tree of the route that its route `i` joins; its own for the first.
pub fn parent_in(world: &World, tree: &Tree, i: usize) -> usize {
    let above = parent_of(world.site, &world.site.routes[tree[i]]);
    above
        .and_then(|p| tree.iter().position(|t| *t == p))
        .unwrap_or(i)
}

impl<'a> System<'a> {
    /// Makes a tree ready. `planned` says of each of its routes whether it is to be planned; the others are as if they were
    /// not there. A route without length counts as one not to be planned, and so do the routes that join one. None where that
    /// leaves nothing.
    pub fn new(world: &'a World<'a>, tree: &Tree, planned: &[bool]) -> Option<System<'a>> {
        let mut system = System { members: vec![] };
        let mut place: Vec<Option<usize>> = vec![None; tree.len()];
        for (i, &route) in tree.iter().enumerate() {
            let r = &world.site.routes[route];
            let above =
                parent_of(world.site, r).and_then(|p| tree[..i].iter().position(|t| *t == p));
            let Some(parent) = above else {
                if let Some(cx) = Context::new(world, r).filter(|_| i == 0 && planned[0]) {
                    place[0] = Some(0);
                    system.members.push(Member {
                        route,
                        cx,
                        parent: None,
                    });
                }
                continue;
            };
            let Some(parent) = place[parent] else {
                continue;
            };
            place[i] = system.join(world, route, parent, planned[i]);
        }
        system.share_exemptions();
        (!system.members.is_empty()).then_some(system)
    }

    /// One route of a tree without the one that it joins and without those that join it, its downstream level free (unless
    /// the route itself fixes it) and the pit there left out.
    pub fn alone(world: &'a World<'a>, tree: &Tree, route: usize) -> Option<System<'a>> {
        let all = System::new(world, tree, &vec![true; tree.len()])?;
        let mut member = all.members.into_iter().find(|m| m.route == route)?;
        member.cx.junctions.clear();
        member.cx.free_end = member.parent.take().is_some();
        Some(System {
            members: vec![member],
        })
    }

    /// Adds a branch, and its junction to the route that it joins; says its place.
    ///
    /// Where it joins another branch at that one's downstream end, the pit is that of the route below, which it then joins.
    fn join(
        &mut self,
        world: &'a World<'a>,
        route: usize,
        mut parent: usize,
        planned: bool,
    ) -> Option<usize> {
        let r = &world.site.routes[route];
        let end = r.line.points.last().copied()?;
        let joined = parent;
        let line = &self.members[parent].cx.alignment;
        let mut at = line.station_at(line.nearest(end).0);
        while let Some(below) = self.members[parent]
            .parent
            .filter(|_| at.chainage_m < LENGTH_TOLERANCE_M)
        {
            let line = &self.members[below].cx.alignment;
            (parent, at) = (below, line.station_at(line.nearest(at.point).0));
        }
        let cx = Context::ending_at(world, r, Some(at.point)).filter(|_| planned)?;
        let place = self.members.len();
        let junction = self.members[parent].cx.junction(at.chainage_m);
        junction.branches.push(place);
        junction.existing |= cx.downstream.existing;
        junction.exempt.extend(&cx.downstream.connected);
        if joined == parent {
            junction.exempt.extend(&cx.followed);
        } else {
            // The drives that it counts for are those of the branch that it joins, not those of the route below.
            junction.pit_exempt.extend(&cx.followed);
            let end = &mut self.members[joined].cx.downstream;
            end.followed.extend(&cx.followed);
        }
        self.members.push(Member {
            route,
            cx,
            parent: Some(parent),
        });
        Some(place)
    }

    /// A service that one route connects to at a junction is exempt there for the drives of all routes that meet.
    fn share_exemptions(&mut self) {
        for i in 0..self.members.len() {
            let cx = &self.members[i].cx;
            let mut shared = vec![];
            for j in &cx.junctions {
                let own_end = cx.connected_at(j.chainage_m);
                let of_branches = j
                    .branches
                    .iter()
                    .map(|b| &self.members[*b].cx.downstream.connected);
                let mut all: Vec<usize> = of_branches.flatten().copied().chain(own_end).collect();
                all.sort_unstable();
                all.dedup();
                shared.extend(j.branches.iter().map(|b| (*b, all.clone())));
            }
            for (branch, all) in shared {
                self.members[branch].cx.downstream.connected = all;
            }
        }
    }

    /// The routes that join a member at one of its junctions.
    pub fn branches(&self, member: usize) -> impl Iterator<Item = usize> + '_ {
        self.members[member]
            .cx
            .junctions
            .iter()
            .flat_map(|j| j.branches.iter().copied())
    }

    /// A member and all routes upstream of it, each after the one that it joins.
    pub fn with_upstream(&self, member: usize) -> Vec<usize> {
        let mut out = vec![member];
        let mut next = 0;
        while next < out.len() {
            out.extend(self.branches(out[next]).collect::<Vec<_>>());
            next += 1;
        }
        out
    }

    /// Places of the members in input order.
    pub fn input_order(&self) -> Vec<usize> {
        let mut order: Vec<usize> = (0..self.members.len()).collect();
        order.sort_by_key(|m| self.members[*m].route);
        order
    }

    /// Chainage on `parent` where a member joins it (m).
    pub fn junction_of(&self, member: usize, parent: usize) -> f64 {
        let mut junctions = self.members[parent].cx.junctions.iter();
        let at = junctions.find(|j| j.branches.contains(&member));
        at.expect("a route joins at a junction of the other")
            .chainage_m
    }

    /// Places of the members in an order in which every route comes after those that join it.
    pub fn upstream_first(&self) -> impl Iterator<Item = usize> {
        (0..self.members.len()).rev()
    }
}

impl Context<'_> {
    /// The junction at a chainage, made if there is none yet.
    fn junction(&mut self, chainage_m: f64) -> &mut Junction {
        let near = |j: &Junction| (j.chainage_m - chainage_m).abs() < LENGTH_TOLERANCE_M;
        let i = self.junctions.iter().position(near).unwrap_or_else(|| {
            let i = self
                .junctions
                .partition_point(|j| j.chainage_m < chainage_m);
            self.junctions.insert(
                i,
                Junction {
                    chainage_m,
                    ..Junction::default()
                },
            );
            i
        });
        &mut self.junctions[i]
    }
}
