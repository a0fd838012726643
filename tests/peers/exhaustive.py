"""The least-cost plan of joined routes by looking at everything.

Every pair of manhole positions, every pair of levels on the grid, every set of through
pits and every launch side is judged by `model.py`. Nothing is bounded or discarded
before it is judged; the sums are shared (dynamic programming over runs, from upstream
down) because a pit's footprint depends only on the drives that end in it. A branch comes
to its junction as a cost by (last manhole position, launched there or not, inlet level),
that pit left out; the manhole there is paid for once for every such way of every branch
with every way of the route it stands on. Small sites only.

    python3 exhaustive.py SITE.gpkg JOB.toml

How the model page is read where it is open (and see `junctions.py`):

- A branch alone: without its parent, its own branches and their junctions; its downstream
  pit left out with its depth rule, every level there tried, a fixed one kept.
- What is planned without a branch is planned as if the branch were not in the layer: no
  junction station, no manhole held there.
- At the downstream end of the tree no drop is needed, but a branch may not come in below the
  invert there, nor above it by more than `manhole_drop_max_m`.
- Ties compare chainages route by route; a branch's inlet at its junction is no outlet.
"""

import itertools
import json
import sys
from dataclasses import dataclass

import numpy as np

import geometry as geo
import model as pm
import ties
from junctions import Tree
from site_reader import read_site

TOL = pm.TOL
INF = np.inf


@dataclass(frozen=True)
class Place:
    """A manhole position: station number counted from downstream, sideways step."""

    station: int
    side: int


@dataclass
class Run:
    """All ways to build one run: pairs of levels, and the least cost by launch sides."""

    up: np.ndarray  # index into the upper place's levels
    down: np.ndarray
    nodes: list  # parameter along the chord, upstream first
    stations: list
    drives: dict  # (x, y, launch) -> cost (pairs,)
    pits: dict  # (node, launches) -> (cost, depth) (pairs,)
    table: dict  # (node, launched below, launched at the run's lower end) -> cost to go


class Search:
    """One route of a tree. `branches`: the searches of the routes that end in its manholes, solved."""

    def __init__(self, m, route, tree=None, branches=(), alone=False):
        self.m, self.job, self.route = m, m.job, route
        self.tree = tree or Tree(m, [route])
        self.joined, self.alone = route.id in self.tree.joints or alone, alone
        self.line, self.ends = self.tree.lines[route.id], self.tree.ends[route.id]
        hosted = self.tree.hosted(route.id)
        self.stations = self.line.stations(self.job.need("search.station_step_m"), [c for _, c in hosted])
        self.top = len(self.stations) - 1
        self.branches = {}
        for r, c in hosted:
            i = min(range(self.top + 1), key=lambda i: abs(self.stations[i].chainage - c))
            self.branches.setdefault(i, []).append(next(s for s in branches if s.route.id == r.id))
        self.places = [Place(i, k) for i in range(self.top + 1) for k in self.sides(i)]
        self.foot = Place(0, 0)
        self.xy = {p: self.position(p) for p in self.places}
        self.pit_cache, self.cost_cache, self.exempt_kept = {}, {}, {}
        self.levels = {p: self.level_grid(p) for p in self.places}
        if alone:
            self.levels[self.foot] = self.free_levels()
        self.runs, self.heads, self.arrived, self.ways_kept = {}, {}, {}, {}

    # -- positions and levels ---------------------------------------------------------------

    def sides(self, i):
        job, e = self.job, self.ends
        fixed = i in self.branches or (i == self.top and e.manhole_up is not None)
        fixed |= i == 0 and (self.joined or e.manhole_down is not None or e.outfall is not None)
        if fixed or job.need("search.corridor_m") == 0:
            return [0]
        n = int((job.need("search.corridor_m") + TOL) / job.need("search.corridor_step_m"))
        return list(range(-n, n + 1))

    def position(self, p):
        s = self.stations[p.station]
        if p.side == 0:
            return s.xy
        flow = self.line.flow(s.chainage)
        return s.xy + p.side * self.job.need("search.corridor_step_m") * np.array([flow[1], -flow[0]])

    def level_grid(self, p):
        """Every whole multiple that depth and cover leave open at the place, or the fixed one."""
        if p.station == 0 and self.ends.outfall is not None:
            return np.array([self.ends.outfall])
        ground = self.m.ground(self.xy[p])
        if np.isnan(ground) or np.isnan(self.m.ground(self.stations[p.station].xy)):
            return np.array([])
        od, inside, _ = self.m.size(self.route.dn)
        low = ground + self.job.need("rig.axis_height_m") - self.job.need("pits.max_depth_m")
        high = ground - self.job.need("rules.min_cover_m") - (od + inside) / 2
        if p.station == self.top and self.ends.head is not None:
            high = min(high, self.ends.head)
        step = self.job.need("search.level_step_m")
        k = np.arange(np.ceil((low - TOL) / step), np.floor((high + TOL) / step) + 1)
        return k * step

    def free_levels(self):
        """Every level at the downstream end that any run could come down to; a fixed one alone."""
        if self.ends.outfall is not None:
            return np.array([self.ends.outfall])
        above = [z for p, z in self.levels.items() if p.station > 0 and len(z)]
        if not above:
            return np.array([])
        _, steepest = self.m.grades(self.route.dn)
        longest = self.line.length + 2 * self.job.need("search.corridor_m")
        step = self.job.need("search.level_step_m")
        low, high = min(z.min() for z in above) - steepest * longest, max(z.max() for z in above)
        return np.arange(np.floor(low / step), np.ceil(high / step) + 1) * step

    # -- pits -------------------------------------------------------------------------------

    def pit(self, xy, axis, length, width, exempt):
        key = (*np.round(xy, 9), *np.round(axis * np.sign(axis[np.argmax(np.abs(axis))]), 9), round(length, 9), round(width, 9), exempt)
        if key not in self.pit_cache:
            self.pit_cache[key] = self.m.pit(xy, axis, length, width, exempt)
        return self.pit_cache[key], key

    def exempt(self, station):
        if station not in self.exempt_kept:
            self.exempt_kept[station] = self.tree.exempt_pit(self.route.id, self.stations[station].chainage)
        return self.exempt_kept[station]

    def exempt_drive(self, *stations):
        return self.tree.exempt_drive(self.route.id, *(self.stations[i].chainage for i in stations))

    def manhole(self, p, down, up, branches=()):
        """(cost, depth) at the place's levels; down, up: (neighbour, launched) or None; branches: (direction, launched)."""
        toward = lambda n: None if n is None else (geo.unit(self.xy[n[0]] - self.xy[p]), n[1])
        axis, length, width = self.m.footprint(toward(down), toward(up), branches)
        pit, key = self.pit(self.xy[p], axis, length, width, self.exempt(p.station))
        if key not in self.cost_cache:
            exists = self.tree.exists(self.route.id, self.stations[p.station].chainage)
            z = self.levels[p]
            cost = np.where(pit.lawful(z), pit.cost(z, True, exists), INF)
            self.cost_cache[key] = (cost, pit.depth(z))
        return self.cost_cache[key]

    # -- one run ----------------------------------------------------------------------------

    def run(self, u, d):
        """The run from place u down to place d, or None where no pair of levels is lawful."""
        a, b = self.xy[u], self.xy[d]
        length = float(np.hypot(*(b - a)))
        if length <= TOL or length > self.job.need("rules.manhole_spacing_m") + TOL:
            return None
        if any(d.station < i < u.station for i in self.branches):
            return None  # a junction has a manhole
        c_d, c_u = (self.stations[p.station].chainage for p in (d, u))
        if self.line.strays(c_d, c_u, a, b) > max(self.job.need("search.corridor_m"), 0.01) + TOL:
            return None
        low, high = self.m.grades(self.route.dn)
        zu, zd = self.levels[u], self.levels[d]
        grade = (zu[:, None] - zd[None, :]) / length
        up, down = np.nonzero((grade >= low - pm.GRADE_TOL) & (grade <= high + pm.GRADE_TOL))
        if len(up) == 0:
            return None
        nodes, stations = [0.0], [u.station]
        for i in range(u.station - 1, d.station, -1):
            t = self.line.foot(self.stations[i], a, b)
            if TOL < t * length < length - TOL and not np.isnan(self.m.ground(self.stations[i].xy)):
                nodes.append(t)
                stations.append(i)
        nodes.append(1.0)
        stations.append(d.station)
        run = Run(up, down, nodes, stations, {}, {}, {})
        self.fill_run(run, a, b, zu[up], zd[down])
        return run

    def fill_run(self, run, a, b, zu, zd):
        at = lambda t: a + t * (b - a)
        invert = lambda t: zu + t * (zd - zu)
        last = len(run.nodes) - 1
        axis, span = geo.unit(b - a), np.hypot(*(b - a))
        for x, y in itertools.combinations(range(last + 1), 2):
            tx, ty = run.nodes[x], run.nodes[y]
            if (ty - tx) * span <= TOL or (ty - tx) * span > self.m.reach(self.route.dn) + TOL:
                continue
            bore = pm.Bore(at(tx), at(ty), self.route.dn)
            exempt = self.exempt_drive(run.stations[x], run.stations[y])
            for launch in self.launch_sides():
                v = self.m.drive(bore, invert(tx), invert(ty), launch, exempt)
                run.drives[x, y, launch] = np.where(v.lawful, self.m.drive_cost(bore, v), INF)
        for x in range(1, last):
            for launches in (False, True):
                pit, _ = self.pit(at(run.nodes[x]), axis, *self.m.footprint_size(launches), self.exempt(run.stations[x]))
                z = invert(run.nodes[x])
                run.pits[x, launches] = (np.where(pit.lawful(z), pit.cost(z, False, False), INF), pit.depth(z))
        none = np.full(len(zu), INF)
        for x in range(last - 1, -1, -1):
            for below, lower in itertools.product((False, True), repeat=2):
                ways = [c for c, *_ in self.steps(run, x, below, lower)]
                run.table[x, below, lower] = np.minimum.reduce([none, *ways])

    def launch_sides(self):
        return {"either": ("us", "ds"), "downstream": ("ds",), "upstream": ("us",)}[self.job.need("rig.launch_from")]

    def steps(self, run, x, below, lower):
        """Ways on from node x: (cost to go, y, launch, launched below y)."""
        last = len(run.nodes) - 1
        launch = "us" if below else "ds"
        for y in range(x + 1, last + 1):
            drive = run.drives.get((x, y, launch))
            if drive is None:
                continue
            if y == last:
                if lower == (launch == "ds"):
                    yield drive, y, launch, None
                continue
            for next_below in (False, True):
                pit = run.pits[y, next_below or launch == "ds"][0]
                yield drive + pit + run.table[y, next_below, lower], y, launch, next_below

    # -- the whole route, from upstream down ---------------------------------------------------

    def solve(self):
        """Fills the costs; the least of the tree where this is its root, infinity where there is no plan."""
        for u, d in itertools.product(self.places, self.places):
            if u.station > d.station:
                run = self.run(u, d)
                if run is not None:
                    self.runs[u, d] = run
        for u, d in sorted(self.runs, key=lambda k: (-k[0].station, k[0].side, k[1].station, k[1].side)):
            for launched in (False, True):
                self.heads[u, d, launched] = self.head(u, d, launched)
            for lower in (False, True):
                self.arrived[u, d, lower] = self.arrive(u, d, lower)
        self.least = INF
        if self.joined:
            return self.least
        for u, d, lower in self.arrivals(0):
            for cost, *_ in self.outfalls(u, d, lower):
                self.least = min(self.least, cost.min(initial=INF))
        return self.least

    def arrivals(self, station):
        return [(u, d, lower) for u, d, lower in self.arrived if d.station == station]

    def arrive(self, u, d, lower):
        """Least cost of all above the manhole d, the run from u included, by the inlet level."""
        run, out = self.runs[u, d], np.full(len(self.levels[d]), INF)
        for launched in (False, True):
            np.minimum.at(out, run.down, run.table[0, launched, lower] + self.heads[u, d, launched][run.up])
        return out

    def head(self, u, d, launched):
        """Least cost of the manhole u and all above it, by the outlet level."""
        out = np.full(len(self.levels[u]), INF)
        for cost, *_ in self.ways_above(u, d, launched):
            out = np.minimum(out, cost)
        return out

    def ways_above(self, u, d, launched):
        """Ways to come to the manhole u: (cost of it and all above by outlet level, own run above or None, branches, pit)."""
        above = [None] if u.station == self.top else [a for a in self.arrivals(u.station) if a[1] == u]
        for up in above:
            own = np.zeros(len(self.levels[u])) if up is None else self.least_fall(up)
            for ways, extra in self.branch_ways(u):
                pit = self.manhole(u, (d, launched), up and (up[0], up[2]), tuple(w.drive for w in ways))
                yield own + extra + pit[0], up, ways, pit

    def outfalls(self, u, d, lower):
        """Ways to end at the downstream end: (cost by level there, branches, pit)."""
        for ways, extra in self.branch_ways(d):
            pit = self.manhole(d, None, (u, lower), tuple(w.drive for w in ways))
            yield self.arrived[u, d, lower] + extra + pit[0], ways, pit

    def least_fall(self, up):
        """What lies above the inlet from `up`, by the outlet level: the best inlet that may fall to it."""
        _, d, _ = up
        reach = np.where(self.drops(d), self.arrived[up][:, None], INF)
        return reach.min(axis=0, initial=INF)

    def drops(self, d):
        """Whether inlet level i may fall to outlet level j."""
        return self.falls(self.levels[d], self.levels[d], self.job.need("rules.manhole_drop_m"))

    def falls(self, inlets, outlets, least):
        fall = inlets[:, None] - outlets[None, :]
        most = self.job("rules.manhole_drop_max_m")
        ok = fall >= least - TOL
        return ok if most is None else ok & (fall <= most + TOL)

    # -- branches at a manhole ---------------------------------------------------------------------

    def branch_drops(self, d, branch):
        """Whether the branch's inlet level i may fall to this manhole's outlet level j."""
        least = 0.0 if d.station == 0 and not self.joined else self.job.need("rules.manhole_drop_m")
        return self.falls(branch.levels[branch.foot], self.levels[d], least)

    def branch_ways(self, d):
        """Every choice of one way a branch: (ways, their cost by this manhole's outlet level)."""
        if d not in self.ways_kept:
            branches = self.branches.get(d.station, [])
            self.ways_kept[d] = [(c, sum((w.cost for w in c), np.zeros(len(self.levels[d]))))
                                 for c in itertools.product(*(self.ways_of(d, b) for b in branches))]
        return self.ways_kept[d]

    def ways_of(self, d, branch):
        out, allowed = [], self.branch_drops(d, branch)
        for key in branch.arrivals(0):
            cost = np.where(allowed, branch.arrived[key][:, None], INF).min(axis=0, initial=INF)
            if np.isfinite(cost).any():
                toward = geo.unit(branch.xy[key[0]] - branch.xy[branch.foot])
                out.append(Way(branch, key, (toward, key[2]), cost))
        return out


@dataclass
class Way:
    """One way a branch comes to its junction: its last run and launch side, and the cost by the manhole's outlet level."""

    branch: Search
    key: tuple
    drive: tuple
    cost: np.ndarray


# -- a tree, and all trees of a site --------------------------------------------------------------


def has_plan_alone(m, routes, rid):
    tree = Tree(m, routes, {rid})
    s = Search(m, tree.routes[0], tree, alone=True)
    s.solve()
    return any(np.isfinite(s.arrived[k]).any() for k in s.arrivals(0))


def without_plan(m, routes):
    """Branches that have no plan even alone, and those that join them."""
    out = {r.id for r in routes if r.joins and not has_plan_alone(m, routes, r.id)}
    while True:
        more = {r.id for r in routes if r.joins in out} - out
        if not more:
            return out
        out |= more


def solve_tree(m, tree, root):
    """The search of the root, its branches solved before it."""
    solved = []

    def solve(rid):
        for r, _ in tree.hosted(rid):
            solve(r.id)
        s = Search(m, next(r for r in tree.routes if r.id == rid), tree, solved)
        s.solve()
        solved.append(s)
        return s

    return solve(root)


def answers(m, routes):
    """{root id: {"status", "cost", "routes": {id: status}, and the tie-breaking values}}: JSON-ready."""
    lost = without_plan(m, routes)
    tree = Tree(m, routes, {r.id for r in routes} - lost)
    out = {}
    for root in tree.roots():
        s = solve_tree(m, tree, root.id)
        planned = bool(np.isfinite(s.least))
        members = Tree(m, routes).system(root.id)
        status = {r.id: "planned" if planned and r.id not in lost else "no-plan" for r in members}
        out[root.id] = {"status": "planned" if planned else "no-plan", "cost": float(s.least) if planned else None, "routes": status}
        if planned:
            out[root.id].update(ties.best(s, [r.id for r in tree.system(root.id)]) or {})
    return out


def search(gpkg, job_path):
    site = read_site(gpkg, job_path)
    return answers(pm.Model(site), site.routes)


if __name__ == "__main__":
    print(json.dumps(search(sys.argv[1], sys.argv[2]), indent=1))
