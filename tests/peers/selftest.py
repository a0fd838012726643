"""Checks the reference itself: distances against sampling, the search against listing every plan.

    python3 selftest.py [FIRST-LAST]      # seeds for the site checks, default 7-14
"""

import itertools
import sys
import tempfile

import numpy as np
import shapely
from scipy.optimize import minimize

import exhaustive as ex
import geometry as geo
import make_sites
import model as pm
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
    """Least cost by listing every plan: sets of pits, which are manholes, levels, launch sides."""
    best = np.inf
    inner = [i for i in range(s.top - 1, 0, -1)]
    sides = s.launch_sides()
    for kinds in itertools.product((None, "manhole", "through"), repeat=len(inner)):
        stops = [(s.top, "manhole"), *((i, k) for i, k in zip(inner, kinds) if k), (0, "manhole")]
        for launches in itertools.product(sides, repeat=len(stops) - 1):
            best = min(best, cheapest_levels(s, stops, launches))
    return best


def cheapest_levels(s, stops, launches):
    """All levels of the manholes of one layout, plainly nested."""
    manholes = [k for k, (_, kind) in enumerate(stops) if kind == "manhole"]
    place = {k: ex.Place(stops[k][0], 0) for k in manholes}
    best = np.inf
    runs = list(zip(manholes, manholes[1:]))
    options = [memo(s, stops, launches, a, b, place) for a, b in runs]
    if any(not o for o in options):
        return best
    most = s.job("rules.manhole_drop_max_m")

    def go(r, inlet, so_far, pits):
        nonlocal best
        if so_far >= best:
            return
        if r == len(runs):
            best = min(best, so_far + pit_cost(s, stops, launches, manholes[-1], place, inlet))
            return
        for out, low, cost in options[r]:
            if inlet is not None:
                drop = inlet - out
                if drop < s.job.need("rules.manhole_drop_m") - 1e-6 or (most is not None and drop > most + 1e-6):
                    continue
            here = pit_cost(s, stops, launches, manholes[r], place, out)
            if np.isfinite(here):
                go(r + 1, low, so_far + cost + here, pits)

    go(0, None, 0.0, ())
    return best


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
            v = s.m.drive(bore, [zu + x * (zd - zu)], [zu + y * (zd - zu)], launches[k], s.exempt(stops[k][0], stops[k + 1][0]))
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


def pit_cost(s, stops, launches, k, place, z):
    """A manhole pit; its drives point at the neighbouring manholes (one straight line a run)."""
    manholes = sorted(place)
    i = manholes.index(k)
    toward = lambda j: geo.unit(s.xy[place[manholes[j]]] - s.xy[place[k]])
    down = (toward(i + 1), launches[k] == "us") if k < len(stops) - 1 else None
    up = (toward(i - 1), launches[k - 1] == "ds") if k > 0 else None
    axis, length, width = s.m.footprint(down, up)
    pit = s.m.pit(s.xy[place[k]], axis, length, width, s.exempt(stops[k][0]))
    e = s.ends
    exists = (k == len(stops) - 1 and e.manhole_down is not None) or (k == 0 and e.manhole_up is not None)
    z = np.array([z])
    return pit.cost(z, True, exists)[0] if pit.lawful(z)[0] else np.inf


def site_checks(seeds):
    with tempfile.TemporaryDirectory() as folder:
        touched = planned = solved = listed_count = 0
        for seed in seeds:
            gpkg, job = make_sites.make(seed, folder)
            s = ex.Search(pm.Model(read_site(gpkg, job)), read_site(gpkg, job).routes[0])
            touched += tallies(s)
            least = s.solve()
            planned += np.isfinite(least)
            try:
                other = programme(s).solve()
                solved += 1
                expect(f"seed {seed}: search {least}, programme {other}", other == least or abs(other - least) <= 1e-6)
            except TooBig:
                pass
            listed_count += coarse(gpkg, job, seed)
        print(f"{len(seeds)} sites: {planned} planned, {touched} touches told twice, {solved} solved again, {listed_count} listed in full with a plan")
        expect("something was checked", planned and touched and solved and listed_count)


def coarse(gpkg, job, seed):
    """The same site on a coarse grid, where every plan can be listed."""
    site = read_site(gpkg, job)
    site.job.tree["search"]["level_step_m"] = 0.4
    site.job.tree["search"]["station_step_m"] = 6.0
    site.job.tree["rules"]["min_grade"] = 0.0
    site.job.tree["rig"]["grade_min"] = 0.0
    s = ex.Search(pm.Model(site), site.routes[0])
    if s.top > 3:
        return 0
    least, plain = s.solve(), listed(s)
    expect(f"seed {seed} coarse: search {least}, listed {plain}", least == plain or abs(least - plain) <= 1e-6)
    return int(np.isfinite(least))


if __name__ == "__main__":
    rng = np.random.default_rng(7)
    segments(rng)
    parallel_tie()
    curtains(rng)
    prisms(rng)
    site_checks(list(make_sites.seeds(sys.argv[1:] or ["7-14"])))
    print(f"{len(FAULTS)} faults")
    sys.exit(1 if FAULTS else 0)
