"""Checks the reference itself: distances against sampling, the search against listing every plan.

    python3 selftest.py [FIRST-LAST]      # seeds for the site checks, default 7-14 and some trees
"""

import itertools
import sys
import tempfile
from collections import Counter

import numpy as np
import shapely
from scipy.optimize import minimize

import exhaustive as ex
import geometry as geo
import make_sites
import model as pm
from junctions import Tree
from site_reader import read_site
from solver import TooBig, programme

FAULTS = []


def expect(what, ok):
    if not ok:
        FAULTS.append(what)
        print("FAULT", what)


# -- distances against sampling ---------------------------------------------------------------


def narrowed(f, dims, rounds=14, n=9):
    """Least value of f over the unit box: a grid, refined round its least point again and again."""
    lo, hi = np.zeros(dims), np.ones(dims)
    best = np.inf
    for _ in range(rounds):
        axes = [np.linspace(a, b, n) for a, b in zip(lo, hi)]
        grid = np.stack(np.meshgrid(*axes, indexing="ij"), axis=-1).reshape(-1, dims)
        values = f(grid)
        at = grid[values.argmin()]
        best = min(best, values.min())
        half = (hi - lo) / (n - 1) * 1.5
        lo, hi = np.clip(at - half, 0, 1), np.clip(at + half, 0, 1)
    return best


def descended(f, rng):
    """Least value of f over the unit cube by descent from the best of many places."""
    starts = rng.random((400, 3))
    starts = starts[np.argsort(f(starts))[:6]]
    runs = [minimize(lambda x: f(x[None])[0] ** 2, x, bounds=[(0, 1)] * 3, method="L-BFGS-B", options={"ftol": 1e-14, "gtol": 1e-10}) for x in starts]
    return np.sqrt(max(0.0, min(r.fun for r in runs)))


def segments(rng):
    for _ in range(300):
        p0, p1, q0, q1 = rng.uniform(-3, 3, (4, 3))
        if rng.random() < 0.3:
            q1 = q0 + (p1 - p0) * rng.uniform(-1, 1)
        lerp = lambda a, b, t: a + t[:, None] * (b - a)
        brute = narrowed(lambda g: np.linalg.norm(lerp(p0, p1, g[:, 0]) - lerp(q0, q1, g[:, 1]), axis=1), 2)
        s, q, d = geo.choose(geo.pair_candidates(p0, p1, q0, q1), 1)
        expect(f"segment distance {d} against {brute}", abs(d - brute) < 2e-4 and d <= brute + 1e-9)
        expect("segment points", abs(np.linalg.norm(p0 + s * (p1 - p0) - q) - d) < 1e-9)


def parallel_tie():
    p0, p1 = np.array([0.0, 0, 0]), np.array([10.0, 0, 0])
    q0, q1 = np.array([2.0, 1, 0]), np.array([5.0, 1, 0])
    for far, want in ((1, 0.5), (-1, 0.2)):
        expect("parallel tie", abs(geo.choose(geo.pair_candidates(p0, p1, q0, q1), far)[0] - want) < 1e-9)


def curtains(rng):
    for _ in range(100):
        p0, p1 = rng.uniform(-3, 3, (2, 3))
        e0, e1 = rng.uniform(-3, 3, (2, 2))
        if rng.random() < 0.3:
            e1 = e0 + (p1 - p0)[:2] * 0.7
        low0, low1 = rng.uniform(-2, 0, 2)
        high0, high1 = low0 + rng.uniform(0.2, 2), low1 + rng.uniform(0.2, 2)

        def gap(g):
            p = p0 + g[:, :1] * (p1 - p0)
            t = g[:, 1]
            low, high = low0 + t * (low1 - low0), high0 + t * (high1 - high0)
            q = np.column_stack([e0 + t[:, None] * (e1 - e0), low + g[:, 2] * (high - low)])
            return np.linalg.norm(p - q, axis=1)

        brute = descended(gap, rng)
        one = lambda v: np.array([v])
        s, q, d = geo.choose(geo.curtain_candidates(p0[None, None], p1[None, None], e0[None], e1[None], one(low0), one(high0), one(low1), one(high1)), 1)
        expect(f"curtain distance {d[0, 0]} against {brute}", abs(d[0, 0] - brute) < 1e-3 and d[0, 0] <= brute + 1e-9)


def prisms(rng):
    for _ in range(60):
        ring = np.array([[0, 0], [4, 0], [4, 3], [2, 3], [2, 1.5], [0, 1.5]]) + rng.uniform(-0.3, 0.3, (6, 2))
        shape = shapely.Polygon(ring)
        floor = rng.uniform(-1, 1)
        p0, p1 = rng.uniform(-3, 7, (2, 3)) * [1, 1, 0.4]
        s = np.linspace(0, 1, 4001)
        pts = p0 + s[:, None] * (p1 - p0)
        brute = np.hypot(shapely.distance(shape, shapely.points(pts[:, :2])), np.maximum(0, floor - pts[:, 2])).min()
        d, _ = geo.prism_distance(p0[None], p1[None], geo.triangles(shape), floor)
        expect(f"prism distance {d[0]} against {brute}", abs(d[0] - brute) < 3e-3 and d[0] <= brute + 1e-9)


# -- rows told twice ----------------------------------------------------------------------------


def tallies(s):
    """The encounters added up for many levels at once equal those told one level at a time."""
    bore = pm.Bore(s.xy[s.places[-1]], s.xy[s.places[0]], s.route.dn)
    g = s.m.ground(bore.a), s.m.ground(bore.b)
    if np.isnan(g).any():
        return 0
    down = np.linspace(0.3, 3.0, 15)
    touches = s.m.touches(bore, g[0] - down, g[1] - down, "us", frozenset())
    for t in touches:
        p, h = pm.tally(t)
        for k in range(len(down)):
            picks = pm.rows(t, k)
            expect("strike sum", abs(p[k] - sum(t.p[k, i] for i in picks if t.verdict[k, i] != pm.PROVE)) < 1e-12)
            expect("hole count", h[k] == sum(t.verdict[k, i] == pm.PROVE for i in picks))
    return len(touches)


# -- every plan listed ----------------------------------------------------------------------------


def listed(s):
    """Least cost by listing every plan: sets of pits, which are manholes, levels, launch sides.

    Of a branch, one cost for each way that its junction can see: {(direction, launched there, inlet level): cost}.
    """
    kids = {i: [listed(b) for b in bs] for i, bs in s.branches.items()}
    best, ways = np.inf, {}
    inner = [i for i in range(s.top - 1, 0, -1)]
    sides = s.launch_sides()
    kinds_of = lambda i: ("manhole",) if i in kids else (None, "manhole", "through")
    for kinds in itertools.product(*(kinds_of(i) for i in inner)):
        stops = [(s.top, "manhole"), *((i, k) for i, k in zip(inner, kinds) if k), (0, "manhole")]
        for launches in itertools.product(sides, repeat=len(stops) - 1):
            for way, cost in level_ways(s, stops, launches, kids):
                best = min(best, cost)
                ways[way] = min(cost, ways.get(way, np.inf))
    return ways if s.joined else best


def level_ways(s, stops, launches, kids):
    """All levels of the manholes of one layout, plainly nested: (way, cost); a joined end without its pit."""
    manholes = [k for k, (_, kind) in enumerate(stops) if kind == "manhole"]
    place = {k: ex.Place(stops[k][0], 0) for k in manholes}
    runs = list(zip(manholes, manholes[1:]))
    options = [memo(s, stops, launches, a, b, place) for a, b in runs]
    last = geo.unit(s.xy[place[manholes[-2]]] - s.xy[place[manholes[-1]]])
    most = s.job("rules.manhole_drop_max_m")

    def lawful_drop(inlet, out, least):
        return inlet - out >= least - 1e-6 and (most is None or inlet - out <= most + 1e-6)

    def stand(k, out, foot=False):
        """The pit and every way its branches can come to it."""
        least = 0.0 if foot else s.job.need("rules.manhole_drop_m")
        comes = [[(d, l, c) for (d, l, z), c in kid.items() if lawful_drop(z, out, least)] for kid in kids.get(stops[k][0], [])]
        return min((pit_cost(s, stops, launches, k, place, out, tuple((np.array(d), l) for d, l, _ in way)) + sum(c for *_, c in way)
                    for way in itertools.product(*comes)), default=np.inf)

    def go(r, inlet, so_far):
        if r == len(runs):
            end = 0.0 if s.joined else stand(manholes[-1], inlet, True)
            if np.isfinite(end):
                yield (tuple(last), launches[-1] == "ds", inlet), so_far + end
            return
        for out, low, cost in options[r]:
            if inlet is not None and not lawful_drop(inlet, out, s.job.need("rules.manhole_drop_m")):
                continue
            here = stand(manholes[r], out)
            if np.isfinite(here):
                yield from go(r + 1, low, so_far + cost + here)

    yield from go(0, None, 0.0)


def memo(s, stops, launches, a, b, place):
    """One run's options, kept between the layouts that share it."""
    kept = s.__dict__.setdefault("kept", {})
    key = (tuple(stops[a:b + 1]), launches[a:b])
    if key not in kept:
        kept[key] = run_options(s, stops, launches, a, b, place)
    return kept[key]


def run_options(s, stops, launches, ka, kb, place):
    a, b = s.xy[place[ka]], s.xy[place[kb]]
    length = np.hypot(*(b - a))
    if length > s.job.need("rules.manhole_spacing_m") + 1e-6:
        return []
    if s.line.strays(s.stations[stops[kb][0]].chainage, s.stations[stops[ka][0]].chainage, a, b) > 0.01 + 1e-6:
        return []
    ts = [0.0, *(s.line.foot(s.stations[stops[k][0]], a, b) for k in range(ka + 1, kb)), 1.0]
    if any((y - x) * length <= 1e-6 for x, y in zip(ts, ts[1:])):
        return []
    low, high = s.m.grades(s.route.dn)
    out = []
    for zu, zd in itertools.product(s.levels[place[ka]], s.levels[place[kb]]):
        if not low - 1e-9 <= (zu - zd) / length <= high + 1e-9:
            continue
        cost = 0.0
        for k in range(ka, kb):
            x, y = ts[k - ka], ts[k - ka + 1]
            bore = pm.Bore(a + x * (b - a), a + y * (b - a), s.route.dn)
            v = s.m.drive(bore, [zu + x * (zd - zu)], [zu + y * (zd - zu)], launches[k], s.exempt_drive(stops[k][0], stops[k + 1][0]))
            cost += s.m.drive_cost(bore, v)[0] if v.lawful[0] else np.inf
            if not np.isfinite(cost):
                break
        for k in range(ka + 1, kb):
            if not np.isfinite(cost):
                break
            big = launches[k] == "us" or launches[k - 1] == "ds"
            pit = s.m.pit(a + ts[k - ka] * (b - a), geo.unit(b - a), *s.m.footprint_size(big), s.exempt(stops[k][0]))
            z = np.array([zu + ts[k - ka] * (zd - zu)])
            cost += pit.cost(z, False, False)[0] if pit.lawful(z)[0] else np.inf
        if np.isfinite(cost):
            out.append((zu, zd, cost))
    return out


def pit_cost(s, stops, launches, k, place, z, branches=()):
    """A manhole pit; its drives point at the neighbouring manholes (one straight line a run)."""
    manholes = sorted(place)
    i = manholes.index(k)
    toward = lambda j: geo.unit(s.xy[place[manholes[j]]] - s.xy[place[k]])
    down = (toward(i + 1), launches[k] == "us") if k < len(stops) - 1 else None
    up = (toward(i - 1), launches[k - 1] == "ds") if k > 0 else None
    kept = s.__dict__.setdefault("kept_pits", {})
    key = (stops[k][0], z, repr((down, up, branches)))
    if key not in kept:
        axis, length, width = s.m.footprint(down, up, branches)
        pit = s.m.pit(s.xy[place[k]], axis, length, width, s.exempt(stops[k][0]))
        exists = s.tree.exists(s.route.id, s.stations[stops[k][0]].chainage)
        level = np.array([z])
        kept[key] = pit.cost(level, True, exists)[0] if pit.lawful(level)[0] else np.inf
    return kept[key]


def solved(site):
    """The searches of all trees of the site, without the branches that have no plan alone."""
    m = pm.Model(site)
    tree = Tree(m, site.routes, {r.id for r in site.routes} - ex.without_plan(m, site.routes))
    return [ex.solve_tree(m, tree, r.id) for r in tree.roots()]


def site_checks(seeds):
    count = Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            gpkg, job = make_sites.make(seed, folder)
            for s in solved(read_site(gpkg, job)):
                count["touches told twice"] += tallies(s)
                count["planned"] += np.isfinite(s.least)
                count["joined and planned"] += np.isfinite(s.least) and bool(s.branches)
                second_opinion(s, seed, count)
            coarse(gpkg, job, seed, count)
    print(f"{len(seeds)} sites: " + ", ".join(f"{int(v)} {k}" for k, v in count.items()))
    for k in ("planned", "touches told twice", "solved again", "listed in full"):
        expect(f"some {k}", count[k])
    if any(seed >= 2000 for seed in seeds):
        expect("joined ones among them", count["joined and planned"] and count["joined, solved again"] and count["joined, listed in full"])


def second_opinion(s, seed, count):
    try:
        other = programme(s).solve()
    except TooBig:
        return
    count["solved again"] += 1
    count["joined, solved again"] += bool(s.branches) and np.isfinite(other)
    expect(f"seed {seed}: search {s.least}, programme {other}", other == s.least or abs(other - s.least) <= 1e-6)


def coarse(gpkg, job, seed, count):
    """The same site on a coarse grid, where every plan can be listed."""
    site = read_site(gpkg, job)
    site.job.tree["search"].update(level_step_m=0.4, station_step_m=6.0 if seed < 1000 else 30.0, corridor_m=0.0)
    site.job.tree["rules"]["min_grade"] = 0.0
    site.job.tree["rig"]["grade_min"] = 0.0
    for s in solved(site):
        if size(s) > (3 if not s.branches else 7):
            continue
        plain = listed(s)
        expect(f"seed {seed} coarse: search {s.least}, listed {plain}", s.least == plain or abs(s.least - plain) <= 1e-6)
        count["listed in full"] += np.isfinite(plain)
        count["joined, listed in full"] += np.isfinite(plain) and bool(s.branches)


def size(s):
    """Runs from station to station in a tree."""
    return s.top + sum(size(b) for bs in s.branches.values() for b in bs)


if __name__ == "__main__":
    rng = np.random.default_rng(7)
    segments(rng)
    parallel_tie()
    curtains(rng)
    prisms(rng)
    site_checks(list(make_sites.seeds(sys.argv[1:] or ["7-14", "2034-2042"])))
    print(f"{len(FAULTS)} faults")
    sys.exit(1 if FAULTS else 0)
