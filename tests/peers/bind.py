"""How often each rule binds on the random sites: seeds where leaving it out changes the answer.

    python3 bind.py FIRST-LAST [RULE,RULE ...]     # all rules unless named; exit 1 where one never binds

For trees (seeds from 2000 on) also how often each rule of junctions does, and each reading of them
that the model page leaves open.
"""

import sys
import tempfile
from collections import Counter
from unittest import mock

import numpy as np

import exhaustive as ex
import junctions
import make_sites
import model as pm
import ties
from site_reader import read_site


def setting(path, value):
    def change(site):
        node = site.job.tree
        *head, last = path.split(".")
        for key in head:
            node = node[key]
        node[last] = value
    return change


def without(role):
    return lambda site: setattr(site, role, [])


def both(*changes):
    return lambda site: [c(site) for c in changes]


def unset(table, key):
    return lambda site: site.job.tree[table].pop(key, None)


def free_ends(site):
    site.manholes = []
    for r in site.routes:
        r.outfall = r.head = None


def no_strikes(site):
    site.job.tree["costs"]["strike"] = {}


CHANGES = {
    "services": without("services"), "buildings": without("buildings"), "trees": without("trees"), "lots": without("lots"),
    "keepouts": without("keepouts"), "surfaces": without("surfaces"), "streets (access)": without("streets"), "fixed ends": free_ends,
    "rig reach": setting("rig.reach_m", 99.0), "end error": unset("rules", "max_end_error_mm"),
    "thrust": both(setting("rig.thrust_kn", 1e6), setting("pipe.axial_limit_kn", 1e6)),
    "spacing": setting("rules.manhole_spacing_m", 99.0), "max depth": setting("pits.max_depth_m", 3.6),
    "hand depth": setting("pits.hand_dig_max_depth_m", 9.0), "min cover": setting("rules.min_cover_m", 0.3),
    "min grade": both(setting("rules.min_grade", 0.0), setting("rig.grade_min", 0.0)),
    "max grade": both(setting("rules.max_grade", 0.5), setting("rig.grade_max", 0.5)),
    "drop": setting("rules.manhole_drop_m", 0.0), "drop max": unset("rules", "manhole_drop_max_m"),
    "launch_from": setting("rig.launch_from", "either"), "unknown depth": setting("rules.unknown_depth", "prove"), "strike": no_strikes,
}


# -- junctions: the rule or reading, and what stands in its place ---------------------------------

TREE, SEARCH = junctions.Tree, ex.Search
NONE = frozenset()


def only_own_end(tree, rid, chainage):
    ends, last = tree.ends[rid], tree.lines[rid].length
    return (ends.exempt_down if chainage < pm.TOL else NONE) | (ends.exempt_up if chainage > last - pm.TOL else NONE)


def own_drive(tree, rid, *chainages):
    return tree.ends[rid].follows.union(*(tree.connected(tree.meeting(rid, c)) for c in chainages))


def own_ends_of_drive(tree, rid, *chainages):
    return tree.ends[rid].follows.union(*(only_own_end(tree, rid, c) for c in chainages))


def without_branches(f):
    return lambda self, down, up, branches=(): f(self, down, up, () if down or up else branches)


def backwards(f):
    return lambda self, down, up, branches=(): f(self, down, up, branches[::-1])


def branch_falls(least, most):
    """`least`, `most`: whether the rule holds for a branch's drop."""
    def drops(self, d, branch):
        fall = branch.levels[branch.foot][:, None] - self.levels[d][None, :]
        foot = d.station == 0 and not self.joined
        low = 0.0 if foot else self.job.need("rules.manhole_drop_m") if least else -np.inf
        high = self.job("rules.manhole_drop_max_m") if most or not foot and most is None else None
        return (fall >= low - pm.TOL) & (fall <= (np.inf if high is None else high) + pm.TOL)
    return drops


def needs_a_drop_at_the_foot(self, d, branch):
    return self.falls(branch.levels[branch.foot], self.levels[d], self.job.need("rules.manhole_drop_m"))


def ends_as_digitised(model, route):
    digitised = next(r for r in model.site.routes if r.id == route.id)
    return ENDS(model, digitised)


def flat(part, order):
    n, depth, chains, side, below, outlets = ties.sort_key(part, order)
    return n, depth, sum(chains, ()), side, below, outlets


ENDS = pm.route_ends
READINGS = {
    "junction: connected services exempt for the others": [(TREE, "connected", lambda t, m: NONE), (TREE, "exempt_drive", own_ends_of_drive)],
    "junction: follows exempt for the parent's drives": [(TREE, "exempt_drive", own_drive)],
    "junction: follows exempt for the pit": [(TREE, "exempt_pit", lambda t, r, c: t.ends[r].follows | t.connected(t.meeting(r, c)))],
    "junction: any existing manhole counts": [(TREE, "exists", lambda t, r, c: c < pm.TOL and t.ends[r].manhole_down is not None or c > t.lines[r].length - pm.TOL and t.ends[r].manhole_up is not None)],
    "junction: drop of the branch": [(SEARCH, "branch_drops", branch_falls(False, None))],
    "junction: greatest drop of the branch": [(SEARCH, "branch_drops", branch_falls(True, False))],
    "downstream end: greatest drop of the branch": [(SEARCH, "branch_drops", branch_falls(True, None))],
    "downstream end: no drop": [(SEARCH, "branch_drops", needs_a_drop_at_the_foot)],
    "junction: branches in the pit's size": [(pm.Model, "footprint", without_branches(pm.Model.footprint))],
    "junction: branches in input order": [(pm.Model, "footprint", backwards(pm.Model.footprint))],
    "moved end: what lies near it": [(pm, "route_ends", ends_as_digitised)],
    "no plan alone: every level tried": [(SEARCH, "free_levels", lambda s: s.levels[s.foot])],
    "ties: chainages route by route": [(ties, "rank", flat)],
}


def answer(site):
    """{root: (statuses, cost, tie-broken plan)}."""
    out = ex.answers(pm.Model(site), site.routes)
    return {r: (a["routes"], a["cost"], [a.get(k) for k in ("pits", "chainages", "offset", "from_below", "outlets")]) for r, a in out.items()}


def same(x, y):
    return all(x[r][0] == y[r][0] and (x[r][1] == y[r][1] or abs(x[r][1] - y[r][1]) <= 1e-6 and x[r][2] == y[r][2]) for r in x)


def with_patches(site, patches):
    held = [mock.patch.object(*p) for p in patches]
    for h in held:
        h.start()
    try:
        return answer(site)
    finally:
        for h in held:
            h.stop()


def main():
    count, planned = Counter(), 0
    seeds = list(make_sites.seeds(sys.argv[1:2]))
    named = lambda table: {n: c for n, c in table.items() if not sys.argv[2:] or any(n.startswith(w) for w in sys.argv[2].split(","))}
    changes, readings = named(CHANGES), named(READINGS) if seeds[-1] >= 2000 else {}
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            gpkg, job = make_sites.make(seed, folder)
            base = answer(read_site(gpkg, job))
            word = "planned" if any(a[1] is not None for a in base.values()) else "no-plan"
            planned += word == "planned"
            others = {}
            for name, change in changes.items():
                site = read_site(gpkg, job)
                change(site)
                others[name] = answer(site)
            for name, patches in readings.items():
                others[name] = with_patches(read_site(gpkg, job), patches)
            for name, other in others.items():
                count[name, word] += not same(base, other)
            print(seed, word, [n for n, o in others.items() if not same(base, o)], file=sys.stderr, flush=True)
    print(f"{len(seeds)} seeds, {planned} planned; seeds whose answer changes when a rule is left out:")
    for name in [*changes, *readings]:
        print(f"  {name:52} planned {count[name, 'planned']:4}   no-plan {count[name, 'no-plan']:4}")
    idle = [n for n in [*changes, *readings] if not count[n, "planned"] + count[n, "no-plan"]]
    if idle:
        print("never binding:", ", ".join(idle))
    return 1 if idle else 0


if __name__ == "__main__":
    sys.exit(main())
