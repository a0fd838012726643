"""Of the plans that cost the least, the one that the tie rules choose (planning model, section 5).

Walks the filled tables of `exhaustive.py` once more and gathers, for every state that a
least-cost plan can pass, all different outcomes within 1e-6 of that state's least cost.
A plan's excess over the least is the sum of the excesses of its parts, so no part of a
tied plan exceeds its own least by more.

Shortcut: an outcome is left out where another of the same state costs no more and has
fewer pits, or as many and less depth; these two come first and add up, so whatever is
added to both, the other stays ahead.
"""

import itertools
from dataclasses import dataclass, replace

import numpy as np

import model as pm

TOL = pm.TOL
LIMIT = 20000  # outcomes of one state beyond which the tie is left open
SAME_DEPTH = 3e-6


class TooMany(Exception):
    """More outcomes of equal cost than are looked at."""


@dataclass(frozen=True)
class Part:
    """What the tie rules ask of a part of a plan. `chain` and `outlets` of the route at hand, from downstream up;
    `others`: (route, chain, outlets) of whole branches above it."""

    pits: int = 0
    depth: float = 0.0
    side: float = 0.0
    from_below: int = 0
    chain: tuple = ()
    outlets: tuple = ()
    others: tuple = ()


def joined(below, above):
    """`below` and what stands above it on the same route."""
    return Part(below.pits + above.pits, round(below.depth + above.depth, 9), round(below.side + above.side, 9),
                below.from_below + above.from_below, below.chain + above.chain, below.outlets + above.outlets,
                tuple(sorted(below.others + above.others)))


def closed(part, route):
    """A branch's part as it is seen from its junction: its chain and outlets among the others."""
    return replace(part, chain=(), outlets=(), others=tuple(sorted((*part.others, (route, part.chain, part.outlets)))))


class Outcomes(dict):
    """{Part: least excess}."""

    def put(self, part, excess):
        if excess <= TOL and excess < self.get(part, np.inf):
            self[part] = excess

    def kept(self):
        if len(self) > LIMIT:
            raise TooMany
        out, ahead = Outcomes(), None
        for part, excess in sorted(self.items(), key=lambda i: (i[1], i[0].pits, i[0].depth)):
            if ahead and (ahead.pits, ahead.depth) < (part.pits, part.depth - SAME_DEPTH):
                continue
            if ahead is None or (part.pits, part.depth) < (ahead.pits, ahead.depth):
                ahead = part
            out[part] = excess
        return out


def added(choices):
    """Sums of one outcome from each: [(Part above, excess)]; all on one route or closed."""
    for picked in itertools.product(*(c.items() for c in choices)):
        excess = sum(e for _, e in picked)
        if excess <= TOL:
            part = Part()
            for p, _ in picked:
                part = joined(part, p)
            yield part, excess


class Walk:
    def __init__(self):
        self.known = {}

    def once(self, key, gather):
        if key not in self.known:
            self.known[key] = gather().kept()
        return self.known[key]

    # -- along a route -----------------------------------------------------------------------

    def above(self, s, key, k):
        """Outcomes above the inlet level k of the arrival `key`, the run included."""
        return self.once((s.route.id, "above", key, k), lambda: self.gather_above(s, key, k))

    def gather_above(self, s, key, k):
        (u, d, lower), out = key, Outcomes()
        run, least = s.runs[u, d], s.arrived[key][k]
        for i, launched in itertools.product(np.flatnonzero(run.down == k), (False, True)):
            rest = s.heads[u, d, launched][run.up[i]]
            if not run.table[0, launched, lower][i] + rest <= least + TOL:
                continue
            heads = self.head(s, u, d, launched, run.up[i])
            for cost, part in self.inside(s, run, i, 0, launched, lower, least + TOL - rest):
                for more, excess in heads.items():
                    out.put(joined(part, more), cost + rest + excess - least)
        return out

    def inside(self, s, run, i, x, below, lower, room):
        """(cost, Part) of every way through the run from node x down."""
        for total, y, launch, next_below in s.steps(run, x, below, lower):
            if total[i] > room:
                continue
            cost, part = run.drives[x, y, launch][i], Part(from_below=int(launch == "ds"))
            if next_below is None:
                yield cost, part
                continue
            pit, depth = (v[i] for v in run.pits[y, next_below or launch == "ds"])
            here = replace(part, pits=1, depth=float(depth), chain=(s.stations[run.stations[y]].chainage,))
            for rest, lower_part in self.inside(s, run, i, y, next_below, lower, room - cost - pit):
                yield cost + pit + rest, joined(lower_part, here)

    # -- at a manhole --------------------------------------------------------------------------

    def head(self, s, u, d, launched, k):
        """Outcomes of the manhole u with outlet level k and all above it."""
        return self.once((s.route.id, "head", u, d, launched, k), lambda: self.gather_head(s, u, d, launched, k))

    def gather_head(self, s, u, d, launched, k):
        out, least = Outcomes(), s.heads[u, d, launched][k]
        for cost, up, ways, pit in s.ways_above(u, d, launched):
            if cost[k] <= least + TOL:
                choices = [] if up is None else [self.falls(s, up, s.drops(u)[:, k], s.least_fall(up)[k])]
                self.stand(s, u, k, pit, choices + self.branches(s, u, ways, k), cost[k] - least, out)
        return out

    def branches(self, s, p, ways, k):
        out = []
        for w in ways:
            parts = self.falls(w.branch, w.key, s.branch_drops(p, w.branch)[:, k], w.cost[k])
            out.append(Outcomes({closed(part, w.branch.route.id): e for part, e in parts.items()}))
        return out

    def falls(self, s, key, allowed, least):
        """Outcomes above the inlets of an arrival that may fall to an outlet."""
        out = Outcomes()
        for i in np.flatnonzero(allowed & (s.arrived[key] <= least + TOL)):
            for part, excess in self.above(s, key, i).items():
                out.put(part, s.arrived[key][i] + excess - least)
        return out

    def stand(self, s, p, k, pit, choices, excess, out):
        side = abs(p.side) * (s.job("search.corridor_step_m") or 0)
        here = Part(1, float(pit[1][k]), side, 0, (s.stations[p.station].chainage,), (float(s.levels[p][k]),))
        for part, more in added(choices):
            out.put(joined(here, part), excess + more)

    def whole(self, s):
        """Outcomes of the tree with root `s`."""
        out = Outcomes()
        for key in s.arrivals(0):
            for cost, ways, pit in s.outfalls(*key):
                for k in np.flatnonzero(cost <= s.least + TOL):
                    foot, own = key[1], self.above(s, key, k)
                    self.stand(s, foot, k, pit, [own, *self.branches(s, foot, ways, k)], cost[k] - s.least, out)
        return out.kept()


def sort_key(part, order):
    """What ties are broken by, least first; chains and outlets route by route."""
    r = lambda v: round(float(v), 6)
    chains = {rid: (chain, outlets) for rid, chain, outlets in part.others}
    return (part.pits, r(part.depth), tuple(tuple(map(r, chains[rid][0])) for rid in order), r(part.side), -part.from_below,
            tuple(tuple(r(-z) for z in chains[rid][1]) for rid in order))


def rank(part, order):
    """What outcomes are sorted by."""
    return sort_key(part, order)


def best(s, order):
    """The tie-breaking values of the chosen plan, JSON-ready; None where too many cost the same."""
    try:
        outcomes = [closed(p, s.route.id) for p in Walk().whole(s)]
    except TooMany:
        return None
    n, depth, chains, side, below, outlets = sort_key(min(outcomes, key=lambda p: rank(p, order)), order)
    return {"ties": len(outcomes), "pits": n, "depth": depth, "chainages": dict(zip(order, map(list, chains))), "offset": side,
            "from_below": -below, "outlets": {rid: [-z for z in zs] for rid, zs in zip(order, outlets)}}
