"""Plants faults at the junctions of written plans and sees that the auditor names each.

    python3 planted.py PITWRIGHT SEEDS [SEEDS ...]     # SEEDS of trees, say 2002-2016

A plan is written by the program, must audit clean, and is then spoilt in one place at a
time. Exit code 1 where a fault goes unnoticed, or one could not be planted anywhere.
"""

import re
import shutil
import sqlite3
import sys
import tempfile
from collections import Counter
from pathlib import Path

import audit
import compare
import make_sites

FAULTS = {}


def fault(pattern):
    """Registers a way to spoil a plan; it gives False where the junction does not lend itself to it."""
    def register(f):
        FAULTS[f.__doc__] = (f, pattern)
        return f
    return register


class Junction:
    """A junction of a written plan. `last`: the branch's lowest bore; `down`, `up`: its parent's, or None."""

    def __init__(self, a, rid):
        self.a, self.branch, self.last = a, rid, a.chains[rid][0]
        self.pit, self.host = self.last["ds_pit"], a.tree.joints[rid].host
        at = a.at_pit[self.pit]
        self.down, self.up, self.branches = at["down"], at["up"], at["branches"]


def put(db, layer, column, value, key, name):
    return db.execute(f"update {layer} set {column} = ? where {key} = ?", (value, name)).rowcount > 0


def copy_row(db, layer, where, **changes):
    """Adds a row like the first that fits; False where none does."""
    names = [r[1] for r in db.execute(f"pragma table_info({layer})") if r[1] != "fid"]
    row = db.execute(f"select {', '.join(names)} from {layer} where {where} limit 1").fetchone()
    if row is None:
        return False
    values = {**dict(zip(names, row)), **changes}
    db.execute(f"insert into {layer} ({', '.join(names)}) values ({', '.join('?' * len(names))})", [values[n] for n in names])
    return True


# -- levels ------------------------------------------------------------------------------------


@fault("{pit}: drop .* from {last}")
def _(db, j):
    """branch inlet too little above the outlet"""
    return j.down is not None and put(db, "proposed_bores", "us_invert_m", j.last["ds_invert_m"] + 0.02, "bore_id", j.down["bore_id"])


@fault("{pit}: drop .* from {last}")
def _(db, j):
    """branch inlet too far above the outlet"""
    return j.a.job("rules.manhole_drop_max_m") is not None and put(db, "proposed_bores", "ds_invert_m", j.last["ds_invert_m"] + 3, "bore_id", j.last["bore_id"])


@fault("{pit}: drop .* from {last}")
def _(db, j):
    """branch below the invert of the downstream end"""
    return j.down is None and put(db, "proposed_bores", "ds_invert_m", j.last["ds_invert_m"] - 2, "bore_id", j.last["bore_id"])


@fault("{pit}: invert .* not a whole multiple")
def _(db, j):
    """branch inlet off the grid of levels"""
    return put(db, "proposed_bores", "ds_invert_m", j.last["ds_invert_m"] + 0.0123, "bore_id", j.last["bore_id"])


@fault("{pit}: invert_m")
def _(db, j):
    """pit down to another level than the lowest"""
    return put(db, "proposed_pits", "invert_m", j.last["ds_invert_m"] + 0.1, "pit_id", j.pit)


# -- the pit -----------------------------------------------------------------------------------


@fault("{pit}: (length_m|width_m)")
def _(db, j):
    """pit of the size that the parent's drives alone ask for"""
    xy, m = j.a.pits[j.pit]["xy"], j.a.m
    toward = lambda b: b and (audit.geo.unit((b["b"] if b["us_pit"] == j.pit else b["a"]) - xy), b["launch_pit"] == j.pit)
    _, length, width = m.footprint(toward(j.down), toward(j.up))
    if abs(length - j.a.pits[j.pit]["length_m"]) + abs(width - j.a.pits[j.pit]["width_m"]) < 0.01:
        return False
    return put(db, "proposed_pits", "length_m", length, "pit_id", j.pit) and put(db, "proposed_pits", "width_m", width, "pit_id", j.pit)


@fault("{pit}: role")
def _(db, j):
    """pit that says it only receives though a branch is launched there"""
    return j.last["launch_pit"] == j.pit and put(db, "proposed_pits", "role", "reception", "pit_id", j.pit)


@fault("{pit}: not a position of its station")
def _(db, j):
    """pit off the parent"""
    return put(db, "proposed_pits", "easting", j.a.pits[j.pit]["easting"] + 0.5, "pit_id", j.pit)


@fault("{pit}: (not a position|offset .* is not allowed)")
def _(db, j):
    """pit moved sideways on paper"""
    return put(db, "proposed_pits", "offset_m", j.a.job("search.corridor_step_m"), "pit_id", j.pit)


@fault("no manhole at the junction|{pit}: chainage_m")
def _(db, j):
    """pit at another chainage"""
    return put(db, "proposed_pits", "chainage_m", j.a.pits[j.pit]["chainage_m"] + 0.37, "pit_id", j.pit)


@fault("no manhole at the junction|{pit}: an end without a manhole")
def _(db, j):
    """no manhole at the junction"""
    return put(db, "proposed_pits", "manhole", 0, "pit_id", j.pit)


@fault("{pit}: route_id")
def _(db, j):
    """pit that belongs to the branch"""
    return put(db, "proposed_pits", "route_id", j.branch, "pit_id", j.pit)


@fault("route {branch}: does not begin at its downstream end|{last}: its end is not at")
def _(db, j):
    """branch that ends in another of the parent's pits"""
    other = next((p for p, row in j.a.pits.items() if row["route_id"] == j.host and p != j.pit), None)
    return other is not None and put(db, "proposed_bores", "ds_pit", other, "bore_id", j.last["bore_id"])


# -- rows that follow ------------------------------------------------------------------------------


@fault("{pit}: .* of route {branch}")
def _(db, j):
    """pit's costs under the branch"""
    return put(db, "cost_items", "route_id", j.branch, "pit_id", j.pit)


@fault("{pit}: pit_base twice")
def _(db, j):
    """pit paid for twice"""
    return copy_row(db, "cost_items", f"pit_id = '{j.pit}' and item = 'pit_base' and method = 'bore'")


@fault("{pit}: no cost row manhole_base")
def _(db, j):
    """new manhole not paid for"""
    return db.execute("delete from cost_items where pit_id = ? and item = 'manhole_base' and method = 'bore'", (j.pit,)).rowcount > 0


@fault("{pit}: manhole_base")
def _(db, j):
    """existing manhole paid for"""
    return j.pit in j.a.exists and copy_row(db, "cost_items", f"pit_id = '{j.pit}' and item = 'pit_base' and method = 'bore'", item="manhole_base")


@fault("{pit}.*conflict rows, expected 0")
def _(db, j):
    """conflict row of a service that is exempt at the pit"""
    return any(copy_row(db, "bore_conflicts", "1", bore_id=None, pit_id=j.pit, obstacle="service", source_layer=layer, source_fid=fid)
               for layer, fid in sorted(j.a.exempt_pit[j.pit])[:1])


@fault("long_sections {branch}: no row at chainage 0.0")
def _(db, j):
    """long section of the branch without its inlet"""
    return db.execute("delete from long_sections where route_id = ? and chainage_m < 1e-6", (j.branch,)).rowcount > 0


@fault("long_sections {branch} .*pit_id")
def _(db, j):
    """long section of the branch that does not name the pit"""
    return db.execute("update long_sections set pit_id = null where route_id = ? and chainage_m < 1e-6", (j.branch,)).rowcount > 0


@fault("test_holes: none for|test_holes: . rows, expected")
def _(db, j):
    """test hole of a drive at the junction left out"""
    bores = [b["bore_id"] for b in (j.down, j.up, *j.branches) if b]
    return db.execute(f"delete from test_holes where bore_id in ({', '.join('?' * len(bores))})", bores).rowcount > 0


@fault("route {branch}: planned, .* which it joins is not")
def _(db, j):
    """branch without its parent"""
    return db.execute("delete from proposed_bores where route_id = ?", (j.a.routes[j.branch].joins,)).rowcount > 0


@fault(".*: rows of {branch}, which has no bores")
def _(db, j):
    """branch without bores that still has rows"""
    return db.execute("delete from proposed_bores where route_id = ?", (j.branch,)).rowcount > 0


# -- all of them -----------------------------------------------------------------------------------


def spoilt(result, spoil, j, to):
    shutil.copy(result, to)
    db = sqlite3.connect(to)
    for (name,) in db.execute("select name from sqlite_master where type = 'trigger'").fetchall():
        db.execute(f'drop trigger "{name}"')
    db.execute("delete from gpkg_ogr_contents")  # row counts, which the triggers would have kept
    done = spoil(db, j)
    db.commit()
    db.close()
    return done


def named(site, result, pattern, j):
    """The auditor's lines that fit."""
    want = pattern.format(pit=re.escape(j.pit), last=re.escape(j.last["bore_id"]), branch=re.escape(j.branch))
    return [f for f in audit.audit(*site, result).faults if re.search(want, f)]


def main():
    program, missed, planted = sys.argv[1], [], Counter()
    with tempfile.TemporaryDirectory() as folder:
        for seed in make_sites.seeds(sys.argv[2:]):
            site = make_sites.make(seed, folder)
            result, copy = Path(folder) / "result.gpkg", Path(folder) / "spoilt.gpkg"
            compare.plan(program, *site, result)
            a = audit.audit(*site, result)
            if a.faults:
                missed.append(f"seed {seed}: does not audit clean: {a.faults[0]}")
            for rid in a.tree.joints if not a.faults else ():
                j = Junction(a, rid)
                for name, (spoil, pattern) in FAULTS.items():
                    if spoilt(result, spoil, j, copy):
                        planted[name] += 1
                        if not named(site, copy, pattern, j):
                            missed.append(f"seed {seed}, {rid}: {name}: not noticed")
            print(seed, len(a.tree.joints), "junctions", flush=True)
    for name in FAULTS:
        print(f"{planted[name]:4} {name}")
        if not planted[name]:
            missed.append(f"never planted: {name}")
    print("\n".join(missed) or "all noticed")
    return 1 if missed else 0


if __name__ == "__main__":
    sys.exit(main())
