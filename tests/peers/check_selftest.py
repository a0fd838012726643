"""The brute force of `check` against what must hold of any answer, on random sites: whether the reference can be relied on.

    python3 check_selftest.py SEEDS [SEEDS ...]

- A bore drawn the other way and launched from the same place has the same rows, chainages and all.
- A service drawn the other way has the same rows, but for the angle: of pieces that come equally near, the first speaks.
- A service taken straight down never comes nearer to a bore that lies above all of it.

Distances themselves are held against sampling by `selftest.py`.
"""

import sys
import tempfile
from dataclasses import replace

import check_model as cm
import make_check
import numpy as np
from make_sites import seeds

FAULTS = []
FLIP = {"us": "ds", "ds": "us"}


def expect(what, ok):
    if not ok:
        FAULTS.append(what)
        print("FAULT", what)


def key(r, place):
    number = lambda v: 0.0 if v is None else round(float(v), 5)
    words = (r.bore_id, r.obstacle, str(r.layer), r.fid or 0, r.verdict, str(r.encounter))
    return (*words, number(r.clearance), number(r.margin), number(r.allowance), number(r.p), number(r.chainage) if place else 0.0)


def differing(a, b, place):
    """Rows of either that have no partner in the other."""
    near = lambda x, y: all(abs(p - q) < 3e-5 if isinstance(p, float) else p == q for p, q in zip(x, y))
    left, out = [key(r, place) for r in b], []
    for x in (key(r, place) for r in a):
        partner = next((y for y in left if near(x, y)), None)
        if partner is None:
            out.append(x)
        else:
            left.remove(partner)
    return out + left


def reversed_bores(m):
    """Drawn from downstream, launched from the other end of the drawing: the same place."""
    old = m.site.bores
    m.site.bores = [replace(b, xy=b.xy[::-1], invert=None if b.invert is None else b.invert[::-1], launch=FLIP[b.launch]) for b in old]
    rows = m.rows()
    m.site.bores = old
    return rows


def changed(site, how):
    old = [s.parts for s in site.services]
    for s in site.services:
        s.parts = [how(p) for p in s.parts]
    rows = cm.CheckModel(site).rows()
    for s, parts in zip(site.services, old):
        s.parts = parts
    return rows


def least_below(m, rows):
    """Least clearance of each service that lies under the whole of a bore with levels."""
    low = {b.id: b.invert.min() for b in m.site.bores if b.invert is not None}
    top = {}
    for l in m.lines:
        k = l.service.layer, l.service.fid
        top[k] = max(top.get(k, -np.inf), l.z0.max() if l.known.all() else np.inf, l.z1.max() if l.known.all() else np.inf)
    out = {}
    for r in rows:
        if r.obstacle == "service" and r.known and r.bore_id in low and top[r.layer, r.fid] < low[r.bore_id]:
            k = r.bore_id, r.layer, r.fid
            out[k] = min(out.get(k, np.inf), r.clearance)
    return out


def lowered(seed, m, rows):
    """Those whose level is their own; how many there were."""
    before, after = least_below(m, rows), {}
    for r in changed(m.site, lambda p: p - [0, 0, 0.1]):
        if r.obstacle == "service":
            k = r.bore_id, r.layer, r.fid
            after[k] = min(after.get(k, np.inf), r.clearance)
    own = {(s.layer, s.fid) for s in m.site.services if s.has_z}
    mine = [k for k in before if k[1:] in own]
    for k in mine:
        expect(f"seed {seed}: {k} comes nearer when it is taken down", after.get(k, np.inf) > before[k] - 1e-9)
    return len(mine)


def main():
    rows_seen = below = 0
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds(sys.argv[1:]):
            m, rows = cm.check(*make_check.make(seed, folder))
            rows_seen += len(rows)
            expect(f"seed {seed}, bores reversed: {(d := differing(rows, reversed_bores(m), True))[:4]}", not d)
            expect(f"seed {seed}, services reversed: {(d := differing(rows, changed(m.site, lambda p: p[::-1]), False))[:4]}", not d)
            below += lowered(seed, m, rows)
    print(f"{rows_seen} rows, {below} services below a bore, {len(FAULTS)} faults")
    return 1 if FAULTS or not rows_seen or not below else 0


if __name__ == "__main__":
    sys.exit(main())
