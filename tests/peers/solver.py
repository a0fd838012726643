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


def programme(s):
    """`s`: a Search whose runs are filled; its tables and sums are not used."""
    p = Programme()
    leaves, arrives = Groups(), Groups()  # by (u, d, launched, outlet level) and (u, d, lower, inlet level)
    for (u, d), run in s.runs.items():
        for i in range(len(run.up)):
            add_run(p, s, u, d, run, i, leaves, arrives)
    manholes(p, s, leaves, arrives)
    return p


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


def manholes(p, s, leaves, arrives):
    heads, feet = [], []
    below, above = Groups(), Groups()
    pairs = [(u, d, l) for u, d in s.runs for l in (False, True)]
    for d in s.places:
        ins = [q for q in pairs if q[1] == d]
        outs = [q for q in pairs if q[0] == d]
        if d.station == s.top:
            for (_, n, l) in outs:
                for k, cost in finite(s.manhole(d, (n, l), None)[0]):
                    v = p.variable(cost)
                    heads.append((v, 1.0))
                    below.add((d, n, l, k), v)
        elif d.station == 0:
            for (u, _, l) in ins:
                for k, cost in finite(s.manhole(d, None, (u, l))[0]):
                    v = p.variable(cost)
                    feet.append((v, 1.0))
                    above.add((u, d, l, k), v)
        else:
            inner_manhole(p, s, d, ins, outs, below, above)
    for groups, ends in ((below, leaves), (above, arrives)):
        for key in sorted(set(groups) | set(ends), key=repr):
            p.constrain(groups.get(key, []) + [(v, -f) for v, f in ends.get(key, [])], 0, 0)
    for ends in (heads, feet):
        if ends:
            p.constrain(ends, 1, 1)
        else:
            p.constrain([(p.variable(0), 0.0)], 1, 1)


def inner_manhole(p, s, d, ins, outs, below, above):
    drops = s.drops(d)
    for (u, _, lower) in ins:
        falls = Groups()
        for i, j in zip(*np.nonzero(drops)):
            v = p.variable(0.0)
            above.add((u, d, lower, i), v)
            falls.add(j, v)
        for (_, n, l) in outs:
            for k, cost in finite(s.manhole(d, (n, l), (u, lower))[0]):
                v = p.variable(cost)
                below.add((d, n, l, k), v)
                falls.add(k, v, -1.0)
        for k, terms in falls.items():
            p.constrain(terms, 0, 0)


def finite(costs):
    return [(k, c) for k, c in enumerate(costs) if np.isfinite(c)]


def both(gpkg, job):
    """(least cost by search, by programme)."""
    site = read_site(gpkg, job)
    s = ex.Search(pm.Model(site), site.routes[0])
    return s.solve(), programme(s).solve()


if __name__ == "__main__":
    bad = 0
    for gpkg, job in zip(sys.argv[1::2], sys.argv[2::2]):
        try:
            a, b = both(gpkg, job)
        except TooBig as e:
            print(f"{gpkg}: left out, {e}")
            continue
        same = a == b or abs(a - b) <= 1e-6
        bad += not same
        print(f"{gpkg}: search {a:.6f} programme {b:.6f} {'equal' if same else 'DIFFERENT'}")
    sys.exit(1 if bad else 0)
