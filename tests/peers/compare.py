"""Plans random sites with the program and with the exhaustive search, and audits every result.

    python3 compare.py PITWRIGHT SEEDS [SEEDS ...] [--keep FOLDER]     # SEEDS: 7 or 1-60

One line a seed; exit code 1 where status, cost or tie-broken plan differ, or the audit
finds a discrepancy. Sites that the reference does not cover count as failures too.
"""

import argparse
import json
import subprocess
import sys
import tempfile
import time
from pathlib import Path

import audit
import exhaustive as ex
import make_sites
from site_reader import NotCovered

TOL = 1e-6


def plan(program, gpkg, job, out):
    Path(out).unlink(missing_ok=True)
    run = subprocess.run([program, "plan", str(gpkg), "--job", str(job), "--out", str(out), "--json"], capture_output=True, text=True)
    if run.returncode not in (0, 1):
        raise RuntimeError(f"exit {run.returncode}: {(run.stdout + run.stderr).strip()[:300]}")
    return json.loads(run.stdout)


def key_of(a, route_id):
    """The tie-breaking values of the written plan, as the search gives them."""
    line = a.chains[route_id]
    pits = [line[0]["ds_pit"], *(b["us_pit"] for b in line)]
    rows = [a.pits[p] for p in pits]
    outlets = [line[0]["ds_invert_m"]] + [b["us_invert_m"] for b in line if a.pits[b["us_pit"]]["manhole"]]
    return {"pits": len(rows), "depth": sum(r["depth_m"] for r in rows), "chainages": sorted(r["chainage_m"] for r in rows),
            "offset": sum(abs(r["offset_m"]) for r in rows if r["manhole"]),
            "from_below": sum(b["launch"] == "ds" for b in line), "outlets": outlets}


def same(x, y):
    if isinstance(x, (list, tuple)):
        return len(x) == len(y) and all(same(a, b) for a, b in zip(x, y))
    return abs(x - y) <= 2e-6


def one(program, seed, folder):
    """(status, cost, ties, problems) of one seed."""
    gpkg, job = make_sites.make(seed, folder)
    route, want = next(iter(ex.search(gpkg, job).items()))
    out = Path(folder) / f"site{seed:03}.result.gpkg"
    try:
        got = plan(program, gpkg, job, out)["routes"][0]
    except RuntimeError as e:
        return want["status"], want["cost"], want.get("ties"), [str(e)]
    bad = []
    if got["status"] != want["status"]:
        return want["status"], want["cost"], want.get("ties"), [f"status {got['status']} cost {got['cost']}"] + audited(gpkg, job, out, None, route)
    if want["cost"] is None:
        return want["status"], None, None, bad
    if abs(got["cost"] - want["cost"]) > TOL:
        bad.append(f"cost {got['cost']} (program less reference {got['cost'] - want['cost']:+.6g})")
    return want["status"], want["cost"], want.get("ties"), bad + audited(gpkg, job, out, want if not bad else None, route)


def audited(gpkg, job, out, want, route):
    a = audit.audit(gpkg, job, out)
    bad = [f"audit: {f}" for f in a.faults]
    if want and want.get("ties"):
        got = key_of(a, route)
        bad += [f"tie: {k} {got[k]}, expected {want[k]}" for k in got if not same(got[k], want[k])][:1]
    return bad


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("program")
    p.add_argument("seeds", nargs="+")
    p.add_argument("--keep", help="folder for sites and results")
    args = p.parse_args()
    folder = args.keep or tempfile.mkdtemp(prefix="peers")
    failed = count = planned = 0
    for seed in make_sites.seeds(args.seeds):
        began = time.time()
        try:
            status, cost, ties, bad = one(args.program, seed, folder)
        except NotCovered as e:
            status, cost, ties, bad = "?", None, None, [f"not covered: {e}"]
        count, planned, failed = count + 1, planned + (status == "planned"), failed + bool(bad)
        money = "" if cost is None else f"{cost:.6f}"
        print(f"{seed:5} {status:8} {money:>16} ties {'-' if ties is None else ties:>5} {time.time() - began:5.1f}s {'ok' if not bad else 'DIFFERENT'}", flush=True)
        for line in bad[:12]:
            print("        ", line)
        if len(bad) > 12:
            print(f"         and {len(bad) - 12} more")
    print(f"{count} sites, {planned} planned, {failed} differ")
    return 1 if failed or not count else 0


if __name__ == "__main__":
    sys.exit(main())
