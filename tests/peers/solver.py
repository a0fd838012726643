"""The same least cost by a mixed-integer linear programme (HiGHS), as a second opinion on the search.

The programme knows drives, pits and levels, not the order in which `exhaustive.py` adds
them up: one 0/1 variable for every lawful drive at a pair of levels, for every through
pit by size, for every manhole by neighbours, launches and outlet level, and for every
fall inside a manhole. Flow conservation ties them together.

    python3 solver.py SITE.gpkg JOB.toml [...]      # prints both costs, fails on a difference
"""

import itertools
import sys

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, milp
from scipy.sparse import coo_array

import exhaustive as ex
import model as pm
from junctions import Tree
from site_reader import read_site

LARGEST = 60000  # variables beyond which a case is refused as too big


class TooBig(Exception):
    """More variables than this check is meant for."""


class Programme:
    def __init__(self):
        self.cost, self.rows, self.cols, self.vals, self.low, self.high = [], [], [], [], [], []

    def variable(self, cost):
        self.cost.append(float(cost))
        return len(self.cost) - 1

    def constrain(self, terms, low, high):
        row = len(self.low)
        for var, factor in terms:
            self.rows.append(row)
            self.cols.append(var)
            self.vals.append(factor)
        self.low.append(low)
        self.high.append(high)

    def solve(self):
        n = len(self.cost)
        if n > LARGEST:
            raise TooBig(f"{n} variables")
        if n == 0:
            return np.inf
        a = coo_array((self.vals, (self.rows, self.cols)), shape=(len(self.low), n)).tocsr()
        out = milp(np.array(self.cost), constraints=LinearConstraint(a, self.low, self.high),
                   integrality=np.ones(n), bounds=Bounds(0, 1), options={"mip_rel_gap": 0.0})
        if out.status == 2:
            return np.inf
        if out.status != 0:
            raise RuntimeError(out.message)
        return float(np.array(self.cost) @ np.round(out.x))


class Groups(dict):
    """Lists of (variable, factor) by key."""

    def add(self, key, var, factor=1.0):
        self.setdefault(key, []).append((var, factor))


def programme(root):
    """`root`: a Search, with the branches it stands on, whose runs are filled; its tables and sums are not used."""
    p = Programme()
    tell_route(p, root)
    return p


def tell_route(p, s):
    """The route's runs and manholes, after those of its branches. Gives its arrivals by (last place, lower, inlet level)."""
    branches = {i: [(b, tell_route(p, b)) for b in bs] for i, bs in s.branches.items()}
    leaves, arrives = Groups(), Groups()  # by (u, d, launched, outlet level) and (u, d, lower, inlet level)
    for (u, d), run in s.runs.items():
        for i in range(len(run.up)):
            add_run(p, s, u, d, run, i, leaves, arrives)
    below, above = manholes(p, s, branches)
    for key in sorted(set(below) | set(leaves), key=repr):
        p.constrain(below.get(key, []) + [(v, -f) for v, f in leaves.get(key, [])], 0, 0)
    for key in sorted(set(above) | set(arrives), key=repr):
        if not (s.joined and key[1].station == 0):
            p.constrain(above.get(key, []) + [(v, -f) for v, f in arrives.get(key, [])], 0, 0)
    return {key: terms for key, terms in arrives.items() if s.joined and key[1].station == 0}


def add_run(p, s, u, d, run, i, leaves, arrives):
    """One run at one pair of levels: drives that leave the upper manhole, pass pits, arrive below."""
    last = len(run.nodes) - 1
    into, out, launched = Groups(), Groups(), Groups()
    for (x, y, launch), cost in run.drives.items():
        if not np.isfinite(cost[i]):
            continue
        v = p.variable(cost[i])
        if x == 0:
            leaves.add((u, d, launch == "us", run.up[i]), v)
            out.add(0, v)
        else:
            out.add(x, v)
        into.add(y, v)
        if y == last:
            arrives.add((u, d, launch == "ds", run.down[i]), v)
        launched.add(x if launch == "us" else y, v)
    if out.get(0) or into.get(last):
        p.constrain(out.get(0, []) + [(v, -f) for v, f in into.get(last, [])], 0, 0)
    for x in range(1, last):
        through_pit(p, run, i, x, into.get(x, []), out.get(x, []), launched.get(x, []))


def through_pit(p, run, i, x, into, out, launched):
    if not into and not out:
        return
    p.constrain(into + [(v, -f) for v, f in out], 0, 0)
    sizes = []
    for launches in (False, True):
        cost = run.pits[x, launches][0][i]
        if np.isfinite(cost):
            v = p.variable(cost)
            sizes.append((v, 1.0))
            if launches and launched:
                p.constrain(launched + [(v, -2.0)], -2, 0)
        elif launches and launched:
            p.constrain(launched, 0, 0)
    if not np.isfinite(run.pits[x, False][0][i]):  # only a launching pit is lawful here
        p.constrain(launched + [(v, -1.0) for v, _ in into], 0, np.inf)
    p.constrain(into + [(v, -1.0) for v, _ in sizes], 0, 0)


def manholes(p, s, branches):
    """Every manhole but a joined end, by what comes in, what goes out and the outlet level; exactly one at each end."""
    tops, feet = [], []
    below, above = Groups(), Groups()
    for d in s.places:
        if d.station == 0 and s.joined:
            continue
        ins = [None] if d.station == s.top else [(u, q, l) for u, q in s.runs if q == d for l in (False, True)]
        outs = [None] if d.station == 0 else [(d, n, l) for q, n in s.runs if q == d for l in (False, True)]
        falls = Groups()
        if d.station > 0:
            for up in filter(None, ins):
                fall(p, s.drops(d), lambda i, up=up: above.setdefault((*up, i), []), (up,), falls)
        came = [come(p, s, d, b, arrivals, n, falls) for n, (b, arrivals) in enumerate(branches.get(d.station, []))]
        made = []
        for up, out, *ways in itertools.product(ins, outs, *came):
            made += stand(p, s, d, up, out, ways, below, above, falls)
        for terms in falls.values():
            p.constrain(terms, 0, 0)
        (tops if d.station == s.top else feet if d.station == 0 else []).extend((v, 1.0) for v in made)
    for ends in (tops,) if s.joined else (tops, feet):
        p.constrain(ends or [(p.variable(0), 0.0)], 1, 1)
    return below, above


def fall(p, allowed, arriving, source, falls):
    """One variable for every lawful fall from an inlet level to an outlet level."""
    for i, j in zip(*np.nonzero(allowed)):
        v = p.variable(0.0)
        arriving(i).append((v, 1.0))
        falls.add((*source, j), v)


def come(p, s, d, branch, arrivals, n, falls):
    """A branch's ways to come to the manhole: (number among the branches, arrival, drive)."""
    allowed, ways = s.branch_drops(d, branch), []
    used = Groups()
    for u, q, lower in sorted({key[:3] for key in arrivals}, key=repr):
        fall(p, allowed, lambda i: used.setdefault((u, q, lower, i), []), (n, (u, q, lower)), falls)
        ways.append((n, (u, q, lower), (ex.geo.unit(branch.xy[u] - branch.xy[q]), lower)))
    for key in sorted(set(used) | set(arrivals), key=repr):
        p.constrain(used.get(key, []) + [(v, -f) for v, f in arrivals.get(key, [])], 0, 0)
    return ways


def stand(p, s, d, up, out, ways, below, above, falls):
    """The manhole's variables for one choice of drives; the level is the outlet's, at the downstream end the inlet's."""
    made = []
    pit = s.manhole(d, out and (out[1], out[2]), up and (up[0], up[2]), tuple(w[2] for w in ways))
    for k, cost in finite(pit[0]):
        v = p.variable(cost)
        made.append(v)
        if out is not None:
            below.add((*out, k), v)
            if up is not None:
                falls.add((up, k), v, -1.0)
        else:
            above.add((*up, k), v)
        for n, key, _ in ways:
            falls.add((n, key, k), v, -1.0)
    return made


def finite(costs):
    return [(k, c) for k, c in enumerate(costs) if np.isfinite(c)]


def both(gpkg, job):
    """[(least cost by search, by programme)] of every tree of the site, without the branches that have no plan alone."""
    site = read_site(gpkg, job)
    m = pm.Model(site)
    tree = Tree(m, site.routes, {r.id for r in site.routes} - ex.without_plan(m, site.routes))
    for root in tree.roots():
        s = ex.solve_tree(m, tree, root.id)
        yield s.least, programme(s).solve()


if __name__ == "__main__":
    bad = 0
    for gpkg, job in zip(sys.argv[1::2], sys.argv[2::2]):
        try:
            for a, b in both(gpkg, job):
                same = a == b or abs(a - b) <= 1e-6
                bad += not same
                print(f"{gpkg}: search {a:.6f} programme {b:.6f} {'equal' if same else 'DIFFERENT'}")
        except TooBig as e:
            print(f"{gpkg}: left out, {e}")
    sys.exit(1 if bad else 0)
