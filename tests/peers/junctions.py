"""How joined routes meet: branch ends moved to their parents, and what the routes that meet share.

Written from `planning-model.md` alone (rules 9 to 11, sections 1 and 2). Where that page is
open, this is how it is read:

- Parents first: a branch is moved to the nearest point of its parent as that stands after its
  own end was moved. Its last vertex is replaced by that point; its line begins there.
- What lies near an end (manhole points, sewers) is looked for at the moved end.
- A manhole point or an `outfall_invert_m` at a branch's joined end fixes the branch's inlet
  there, not the parent's outlet.
- An existing manhole at any end that meets in a junction makes its manhole an existing one.
- The junction's pit is exempt from what any of the routes that meet there is exempt from at
  that end; the services connected there (rule 10) are exempt for every drive that ends there.
- A branch whose parent joins its own parent at that very point meets in the grandparent's
  manhole; its drop is that to the one outlet of the manhole.
"""

from dataclasses import dataclass, replace

import numpy as np

import model as pm
from site_reader import NotCovered

TOL = pm.TOL


def parents_first(routes):
    """The routes, each after the one it joins."""
    by_id, done = {r.id: r for r in routes}, []
    left = list(routes)
    while left:
        ready = [r for r in left if not r.joins or r.joins in {d.id for d in done}]
        if not ready:
            raise NotCovered(f"joins of {[r.id for r in left]}: unknown, circular or its own")
        done += ready
        left = [r for r in left if r not in ready]
    return done, by_id


def nearest(line, point):
    """(chainage, point) of an alignment nearest to a point; of equally near ones the lowest."""
    best = None
    for k in range(len(line.up) - 1):
        a, b = line.up[k], line.up[k + 1]
        t = float(np.clip((point - a) @ (b - a) / ((b - a) @ (b - a)), 0, 1))
        at = b if t == 1 else a + t * (b - a)
        d = float(np.hypot(*(point - at)))
        if best is None or d < best[0] - 1e-12:
            best = (d, float(line.at[k] + t * (line.at[k + 1] - line.at[k])), at)
    return best


@dataclass
class Joint:
    """Where a branch meets: the route whose manhole it is, and the chainage on that one."""

    parent: str
    host: str
    chainage: float


@dataclass
class Meeting:
    """The routes of one manhole: those whose downstream or upstream end is there, and whose line passes."""

    down: list
    up: list
    host: str


class Tree:
    """Joined routes and where they meet. `taking_part`: ids, or all."""

    def __init__(self, model, routes, taking_part=None):
        self.model = model
        ordered, _ = parents_first(routes)
        moved, self.lines, found = {}, {}, {}
        for r in ordered:
            if r.joins:
                r, found[r.id] = self.moved(r, self.lines[r.joins])
            moved[r.id], self.lines[r.id] = r, pm.Alignment(r)
        self.all = [moved[r.id] for r in routes]
        self.routes = [r for r in self.all if taking_part is None or r.id in taking_part]
        self.ends = {r.id: pm.route_ends(model, r) for r in self.all}
        self.joints = {}
        for r in ordered:
            if r.joins and r.id in self.ids() and r.joins in self.ids():
                up = self.joints.get(r.joins)
                ends_there = up is not None and found[r.id] < TOL
                self.joints[r.id] = Joint(r.joins, up.host, up.chainage) if ends_there else Joint(r.joins, r.joins, found[r.id])

    def ids(self):
        return [r.id for r in self.routes]

    def moved(self, route, parent):
        d, chainage, at = nearest(parent, route.xy[-1])
        if d > self.model.job.need("search.snap_m") + TOL:
            raise NotCovered(f"route {route.id}: its end is farther than snap_m from {route.joins}")
        xy, z = np.vstack([route.xy[:-1], at]), route.z
        if np.array_equal(xy[-1], xy[-2]):
            xy, z = xy[:-1], z[:-1]
        return replace(route, xy=xy, z=z), chainage

    def roots(self):
        return [r for r in self.routes if r.id not in self.joints]

    def system(self, root):
        """The routes that flow to the root, it among them, in input order."""
        def top(rid):
            return top(self.joints[rid].parent) if rid in self.joints else rid
        return [r for r in self.routes if top(r.id) == root]

    def hosted(self, rid):
        """(route, chainage) of those that end in a manhole of this route, in input order."""
        return [(r, self.joints[r.id].chainage) for r in self.routes if r.id in self.joints and self.joints[r.id].host == rid]

    def meeting(self, rid, chainage):
        """Which routes meet at a place of a route; the chainage is on that route."""
        if chainage < TOL and rid in self.joints:
            rid, chainage = self.joints[rid].host, self.joints[rid].chainage
        down = [r.id for r, c in self.hosted(rid) if abs(c - chainage) < TOL]
        if chainage < TOL:
            down.append(rid)
        up = [rid] if chainage > self.lines[rid].length - TOL else []
        return Meeting(down, up, rid)

    def connected(self, meeting):
        """Rule 10: what is exempt for the pit there and every drive that ends in it."""
        out = frozenset()
        for rid in meeting.down:
            out |= self.ends[rid].exempt_down
        for rid in meeting.up:
            out |= self.ends[rid].exempt_up
        return out

    def exempt_pit(self, rid, chainage):
        met = self.meeting(rid, chainage)
        out = self.connected(met) | self.ends[rid].follows | self.ends[met.host].follows
        for r in met.down:
            out |= self.ends[r].follows
        return out

    def exempt_drive(self, rid, *chainages):
        """A drive of the route between two places of it."""
        out = self.ends[rid].follows
        for c in chainages:
            met = self.meeting(rid, c)
            out |= self.connected(met)
            for r in met.down:
                if r in self.joints and self.joints[r].parent == rid:
                    out |= self.ends[r].follows
        return out

    def exists(self, rid, chainage):
        """Whether the manhole at the place is there already."""
        met = self.meeting(rid, chainage)
        return (any(self.ends[r].manhole_down is not None for r in met.down)
                or any(self.ends[r].manhole_up is not None for r in met.up))


def moved_routes(model, routes):
    """The routes with joined ends moved, in input order."""
    return Tree(model, routes).all
