"""The least-cost plan of one route by looking at everything.

Every pair of manhole positions, every pair of levels on the grid, every set of through
pits and every launch side is judged by `model.py`. Nothing is bounded or discarded
before it is judged; the sums are shared (dynamic programming over runs) because a pit's
footprint depends only on its two neighbours. Small sites only.

    python3 exhaustive.py SITE.gpkg JOB.toml
"""

import itertools
import json
import sys
from dataclasses import dataclass

import numpy as np

import geometry as geo
import model as pm
from site_reader import NotCovered, read_site

TOL = pm.TOL
INF = np.inf
TIES = 20000  # plans of equal cost that are looked at before giving up on the tie rules


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
    def __init__(self, m, route):
        self.m, self.job, self.route = m, m.job, route
        self.line = pm.Alignment(route)
        self.ends = pm.route_ends(m, route)
        self.stations = self.line.stations(self.job.need("search.station_step_m"))
        self.top = len(self.stations) - 1
        self.places = [Place(i, k) for i in range(self.top + 1) for k in self.sides(i)]
        self.xy = {p: self.position(p) for p in self.places}
        self.pit_cache, self.cost_cache = {}, {}
        self.levels = {p: self.level_grid(p) for p in self.places}
        self.runs, self.best, self.tails = {}, {}, {}

    # -- positions and levels ---------------------------------------------------------------

    def sides(self, i):
        job, e = self.job, self.ends
        fixed = (i == 0 and (e.manhole_down is not None or e.outfall is not None)) or (i == self.top and e.manhole_up is not None)
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

    # -- pits -------------------------------------------------------------------------------

    def pit(self, xy, axis, length, width, exempt):
        key = (*np.round(xy, 9), *np.round(axis * np.sign(axis[np.argmax(np.abs(axis))]), 9), round(length, 9), round(width, 9), exempt)
        if key not in self.pit_cache:
            self.pit_cache[key] = self.m.pit(xy, axis, length, width, exempt)
        return self.pit_cache[key], key

    def exempt(self, *stations):
        out = self.ends.follows
        if 0 in stations:
            out = out | self.ends.exempt_down
        if self.top in stations:
            out = out | self.ends.exempt_up
        return out

    def manhole(self, p, down, up):
        """(cost, depth) at the place's levels; down, up: (neighbour, launched) or None."""
        toward = lambda n: None if n is None else (geo.unit(self.xy[n[0]] - self.xy[p]), n[1])
        axis, length, width = self.m.footprint(toward(down), toward(up))
        pit, key = self.pit(self.xy[p], axis, length, width, self.exempt(p.station))
        if key not in self.cost_cache:
            e = self.ends
            exists = (p.station == 0 and e.manhole_down is not None) or (p.station == self.top and e.manhole_up is not None)
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
            exempt = self.exempt(run.stations[x], run.stations[y])
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

    # -- the whole route ----------------------------------------------------------------------

    def solve(self):
        """Least cost, or infinity where there is no plan."""
        for u, d in itertools.product(self.places, self.places):
            if u.station > d.station:
                run = self.run(u, d)
                if run is not None:
                    self.runs[u, d] = run
        for u, d in sorted(self.runs, key=lambda k: (k[0].station, k[0].side, k[1].station, k[1].side)):
            run = self.runs[u, d]
            for launched in (False, True):
                cost = np.full(len(self.levels[u]), INF)
                for lower in (False, True):
                    through = run.table[0, launched, lower] + self.tail(u, d, lower)[run.down]
                    np.minimum.at(cost, run.up, through)
                self.best[u, d, launched] = cost
        self.least = min((c for *_, c in self.heads()), default=INF)
        return self.least

    def below(self, d):
        """Runs on from place d: (next place, launched there)."""
        return [(n, l) for (p, n, l) in self.best if p == d]

    def tail(self, u, d, lower):
        """Cost from the inlet of d downward, its pit counted, at each inlet level of d."""
        key = (u, d, lower)
        if key not in self.tails:
            if d.station == 0:
                self.tails[key] = self.manhole(d, None, (u, lower))[0]
            else:
                out = np.full(len(self.levels[d]), INF)
                for n, launched in self.below(d):
                    here = self.best[d, n, launched] + self.manhole(d, (n, launched), (u, lower))[0]
                    reach = np.where(self.drops(d), here[None, :], INF)
                    out = np.minimum(out, reach.min(axis=1))
                self.tails[key] = out
        return self.tails[key]

    def drops(self, d):
        """Whether inlet level i may fall to outlet level j."""
        z = self.levels[d]
        fall = z[:, None] - z[None, :]
        most = self.job("rules.manhole_drop_max_m")
        ok = fall >= self.job.need("rules.manhole_drop_m") - TOL
        return ok if most is None else ok & (fall <= most + TOL)

    def heads(self):
        """Whole plans by their upper end: (place, next, launched, level, cost)."""
        for (u, d, launched), cost in self.best.items():
            if u.station == self.top:
                total = cost + self.manhole(u, (d, launched), None)[0]
                for k in np.flatnonzero(np.isfinite(total)):
                    yield u, d, launched, k, total[k]

    # -- the plans that cost the least ------------------------------------------------------------

    def ties(self):
        """Every plan within 1e-6 of the least; None where there are more than TIES."""
        out = []
        for u, d, launched, k, cost in list(self.heads()):
            if cost <= self.least + TOL:
                pit = self.manhole(u, (d, launched), None)
                room = self.least + TOL - pit[0][k]
                for rest_cost, rest in self.down_from(u, d, launched, k, room):
                    out.append(((u, self.levels[u][k], None, pit[1][k]), *rest))
                    if len(out) > TIES:
                        return None
        return out

    def down_from(self, u, d, launched, k, room):
        run = self.runs[u, d]
        for lower in (False, True):
            tail = self.tail(u, d, lower)
            for i in np.flatnonzero(run.up == k):
                after = tail[run.down[i]]
                if run.table[0, launched, lower][i] + after > room:
                    continue
                for c, inside in self.inside(run, i, 0, launched, lower, room - after):
                    for c2, rest in self.onward(u, d, lower, run.down[i], room - c):
                        yield c + c2, (*inside, *rest)

    def inside(self, run, i, x, below, lower, room):
        for total, y, launch, next_below in self.steps(run, x, below, lower):
            if total[i] > room:
                continue
            drive = run.drives[x, y, launch][i]
            if next_below is None:
                yield drive, (("drive", launch),)
                continue
            cost, depth = (v[i] for v in run.pits[y, next_below or launch == "ds"])
            for c, rest in self.inside(run, i, y, next_below, lower, room - drive - cost):
                yield c + drive + cost, (("drive", launch), ("through", run.stations[y], depth), *rest)

    def onward(self, u, d, lower, k_in, room):
        inlet = self.levels[d][k_in]
        if d.station == 0:
            cost, depth = self.manhole(d, None, (u, lower))
            if cost[k_in] <= room:
                yield cost[k_in], ((d, inlet, inlet, depth[k_in]),)
            return
        allowed = self.drops(d)[k_in]
        for n, launched in self.below(d):
            cost, depth = self.manhole(d, (n, launched), (u, lower))
            for k in np.flatnonzero(allowed & (self.best[d, n, launched] + cost <= room)):
                for c, rest in self.down_from(d, n, launched, k, room - cost[k]):
                    yield c + cost[k], ((d, self.levels[d][k], inlet, depth[k]), *rest)

    def key(self, plan):
        """What ties are broken by, least first (section 5)."""
        holes = [x for x in plan if isinstance(x[0], Place)]
        through = [x for x in plan if x[0] == "through"]
        depth = sum(x[3] for x in holes) + sum(x[2] for x in through)
        chain = sorted([self.stations[x[0].station].chainage for x in holes] + [self.stations[x[1]].chainage for x in through])
        side = sum(abs(x[0].side) for x in holes) * (self.job("search.corridor_step_m") or 0)
        from_below = sum(1 for x in plan if x[0] == "drive" and x[1] == "ds")
        outlets = [x[1] for x in reversed(holes)]
        r = lambda v: round(float(v), 6)
        return (len(holes) + len(through), r(depth), tuple(map(r, chain)), r(side), -from_below, tuple(r(-z) for z in outlets))

    def answer(self):
        """{"status", "cost", "key", "pits"}: JSON-ready."""
        if not np.isfinite(self.solve()):
            return {"status": "no-plan", "cost": None}
        out = {"status": "planned", "cost": float(self.least)}
        ties = self.ties()
        if ties:
            best = min(ties, key=self.key)
            n, depth, chain, side, from_below, outlets = self.key(best)
            out.update(ties=len(ties), pits=n, depth=depth, chainages=chain, offset=side,
                       from_below=-from_below, outlets=[-z for z in outlets])
        return out


def search(gpkg, job_path):
    site = read_site(gpkg, job_path)
    m = pm.Model(site)
    if any(r.joins for r in site.routes):
        raise NotCovered("joined routes")
    return {r.id: Search(m, r).answer() for r in site.routes}


if __name__ == "__main__":
    print(json.dumps(search(sys.argv[1], sys.argv[2]), indent=1))
