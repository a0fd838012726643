"""Plans random sites with the program and with the exhaustive search, and audits every result.

    python3 compare.py PITWRIGHT SEEDS [SEEDS ...] [--kept] [--keep FOLDER] [--processes 2]     # SEEDS: 7 or 1-60

With --kept the answers of `expect.py` are taken and nothing is searched; without SEEDS, all of these.

One line a seed, a letter a route (P planned, - not); exit code 1 where status, cost or tie-broken plan differ, or the audit
finds a discrepancy. Sites that the reference does not cover count as failures too.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import audit
import exhaustive as ex
import expect
import make_sites
from site_reader import NotCovered

TOL = 1e-6


def plan(program, gpkg, job, out):
    Path(out).unlink(missing_ok=True)
    run = subprocess.run([program, "plan", str(gpkg), "--job", str(job), "--out", str(out), "--json"], capture_output=True, text=True)
    if run.returncode not in (0, 1):
        raise RuntimeError(f"exit {run.returncode}: {(run.stdout + run.stderr).strip()[:300]}")
    return json.loads(run.stdout)


def key_of(a, routes):
    """The tie-breaking values of the written plan of one system, as the search gives them. A junction's pit counts once."""
    chains = {rid: a.chains[rid] for rid in routes}
    own = {rid: [p for p in (line[0]["ds_pit"], *(b["us_pit"] for b in line)) if a.pits[p]["route_id"] == rid] for rid, line in chains.items()}
    rows = [a.pits[p] for pits in own.values() for p in pits]
    outlets = {rid: [line[0]["ds_invert_m"]] * (line[0]["ds_pit"] in own[rid]) + [b["us_invert_m"] for b in line if a.pits[b["us_pit"]]["manhole"]]
               for rid, line in chains.items()}
    return {"pits": len(rows), "depth": sum(r["depth_m"] for r in rows),
            "chainages": {rid: sorted(a.pits[p]["chainage_m"] for p in pits) for rid, pits in own.items()},
            "offset": sum(abs(r["offset_m"]) for r in rows if r["manhole"]),
            "from_below": sum(b["launch"] == "ds" for line in chains.values() for b in line), "outlets": outlets}


def same(x, y):
    if isinstance(x, dict):
        return x.keys() == y.keys() and all(same(x[k], y[k]) for k in x)
    if isinstance(x, (list, tuple)):
        return len(x) == len(y) and all(same(a, b) for a, b in zip(x, y))
    return abs(x - y) <= 2e-6


def one(program, seed, folder, systems):
    """(status, cost, ties, problems) of one seed, whose answers are searched unless they are given. Of several systems the costs are added."""
    gpkg, job = make_sites.make(seed, folder)
    systems = systems or ex.search(gpkg, job)
    out = Path(folder) / f"site{seed:03}.result.gpkg"
    told = ("".join("P" if s == "planned" else "-" for w in systems.values() for s in w["routes"].values()),
            sum(w["cost"] or 0.0 for w in systems.values()), [w.get("ties") for w in systems.values() if w["cost"] is not None])
    try:
        got = {r["route_id"]: r for r in plan(program, gpkg, job, out)["routes"]}
    except RuntimeError as e:
        return *told, [str(e)]
    bad = [line for want in systems.values() for line in system(want, got)]
    a = audit.audit(gpkg, job, out)
    bad += [f"audit: {f}" for f in a.faults]
    for want in systems.values():
        if not bad and want["cost"] is not None and want.get("ties"):
            mine = key_of(a, [rid for rid, s in want["routes"].items() if s == "planned"])
            bad += [f"tie: {k} {mine[k]}, expected {want[k]}" for k in mine if not same(mine[k], want[k])][:1]
    if not bad:
        bad += [f"route {rid}: cost {r['cost']}, its rows {a.route_cost(rid)}" for rid, r in got.items() if not same(r["cost"] or 0.0, a.route_cost(rid))]
    return *told, bad


def system(want, got):
    """How the statuses and the cost of one system differ; a junction's pit is among its parent's costs."""
    bad = [f"route {rid}: status {got[rid]['status']}, expected {s}" for rid, s in want["routes"].items() if got[rid]["status"] != s]
    for rid in want["routes"]:
        if (got[rid]["cost"] is None) != (got[rid]["status"] == "no-plan"):
            bad.append(f"route {rid}: {got[rid]['status']} with cost {got[rid]['cost']}")
    cost = sum(got[rid]["cost"] or 0.0 for rid in want["routes"])
    if abs(cost - (want["cost"] or 0.0)) > TOL:
        bad.append(f"cost {cost} (program less reference {cost - (want['cost'] or 0.0):+.6g})")
    return bad


def judged(job):
    """The line of one seed and whether it is planned, whether it differs."""
    program, seed, folder, answers = job
    began = time.time()
    try:
        statuses, cost, ties, bad = one(program, seed, folder, answers)
    except NotCovered as e:
        statuses, cost, ties, bad = "?", 0.0, [], [f"not covered: {e}"]
    money = f"{cost:.6f}" if cost else ""
    ties = ",".join("open" if t is None else str(t) for t in ties) or "-"
    lines = [f"{seed:5} {statuses:8} {money:>16} ties {ties:>5} {time.time() - began:5.1f}s {'ok' if not bad else 'DIFFERENT'}", *(f"         {line}" for line in bad[:12])]
    if len(bad) > 12:
        lines.append(f"         and {len(bad) - 12} more")
    return "\n".join(lines), "P" in statuses, bool(bad)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("program")
    p.add_argument("seeds", nargs="*")
    p.add_argument("--kept", action="store_true")
    p.add_argument("--processes", type=int, default=1)
    p.add_argument("--keep", help="folder for sites and results")
    args = p.parse_args()
    folder = args.keep or tempfile.mkdtemp(prefix="peers")
    failed = count = planned = 0
    known = expect.kept() if args.kept else {}
    seeds = list(make_sites.seeds(args.seeds) if args.seeds else known)
    if args.kept and (unknown := set(seeds) - set(known)):
        p.error(f"no answers are kept of {sorted(unknown)}")
    jobs = [(args.program, seed, folder, known.get(seed)) for seed in seeds]
    with ProcessPoolExecutor(args.processes) as pool:
        for line, has_plan, differs in pool.map(judged, jobs):
            count, planned, failed = count + 1, planned + has_plan, failed + differs
            print(line, flush=True)
    print(f"{count} sites, {planned} planned, {failed} differ")
    return 1 if failed or not count else 0


if __name__ == "__main__":
    sys.exit(main())
