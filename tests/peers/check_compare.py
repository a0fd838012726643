"""Checks the bores of random sites with the program and by brute force, and holds every row of one against the other.

    python3 check_compare.py PITWRIGHT SEEDS [SEEDS ...] [--keep FOLDER] [--processes 2] [--most 12]     # SEEDS: 7 or 1-60
    python3 check_compare.py PITWRIGHT --city SITE.gpkg FILE:TABLE JOB.toml     # a small one of tests/data/make_city.py

One line a seed; exit code 1 where rows, clearances (1 mm), chances of contact (1e-6), verdicts, test holes, counts or the
exit code differ.
"""

import argparse
import json
import math
import subprocess
import sys
import tempfile
import time
from collections import Counter, defaultdict
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import check_model as cm
import make_check
import numpy as np
import shapely
from audit import read_rows, without_nulls
from make_sites import seeds
from scipy.optimize import linear_sum_assignment
from site_reader import NotCovered

MM, CHANCE, DEGREES = 1e-3, 1e-6, 1e-5


def run_check(program, gpkg, bores, job, out):
    Path(out).unlink(missing_ok=True)
    run = subprocess.run([program, "check", str(gpkg), "--bores", bores, "--job", str(job), "--out", str(out), "--json"], capture_output=True, text=True)
    if run.returncode not in (0, 1):
        raise RuntimeError(f"exit {run.returncode}: {(run.stdout + run.stderr).strip()[:400]}")
    return run.returncode, json.loads(run.stdout)


class Compare:
    def __init__(self, model, rows, out, code, said):
        self.m, self.rows, self.code, self.said = model, rows, code, said
        self.got = read_rows(out, "bore_conflicts")
        self.holes = read_rows(out, "test_holes")
        self.bores = {b.id: b for b in model.site.bores}
        self.bad = []

    def say(self, text):
        self.bad.append(text)

    def run(self):
        got, want = defaultdict(list), defaultdict(list)
        for r in self.got:
            got[r["bore_id"], r["obstacle"], r["source_layer"], r["source_fid"]].append(r)
        for r in self.rows:
            want[r.bore_id, r.obstacle, r.layer, r.fid].append(r)
        for k in sorted(set(got) | set(want), key=str):
            self.match("/".join(str(x) for x in k if x is not None), got[k], want[k])
        self.match_holes()
        self.totals()
        return self.bad

    def match(self, name, got, want):
        if len(got) != len(want):
            brief = lambda r: (r.verdict, r.encounter, round(r.clearance, 4), round(r.chainage or 0, 3))
            theirs = [(g["verdict"], g["encounter"], round(g["clearance_m"], 4), round(g["chainage_m"] or 0, 3)) for g in got]
            self.say(f"{name}: {len(got)} rows, expected {len(want)}: {theirs} against {[brief(w) for w in want]}")
            return
        left = list(got)
        for w in sorted(want, key=lambda w: (w.chainage or 0, w.clearance)):
            g = min(left, key=lambda g: self.unlike(g, w))
            left.remove(g)
            w.got = g
            self.same_row(name, g, w)

    @staticmethod
    def unlike(g, w):
        words = 10 * (g["verdict"] != w.verdict) + 5 * (g["encounter"] != w.encounter)
        return abs(g["clearance_m"] - w.clearance) + abs((g["chainage_m"] or 0) - (w.chainage or 0)) + 0.01 * abs((g["angle_deg"] or 0) - (w.angle or 0)) + words

    def same_row(self, name, g, w):
        name = f"{name} at {w.chainage:.3f}" if w.chainage is not None else name
        for column, want, tol in (("clearance_m", w.clearance, MM), ("required_m", w.required, 1e-9), ("allowance_m", w.allowance, MM), ("margin_m", w.margin, MM),
                                  ("p_contact", w.p, CHANCE), ("angle_deg", w.angle, DEGREES)):
            have = g[column]
            if (have is None) != (want is None) or (have is not None and not abs(have - want) <= tol):
                self.say(f"{name}: {column} is {have}, expected {want}")
        for column, want in (("verdict", w.verdict), ("encounter", w.encounter)):
            if g[column] != want:
                self.say(f"{name}: {column} is {g[column]}, expected {want} (margin {w.margin})")
        if w.obstacle != "service":
            return
        for column, want in (("kind", w.kind), ("owner", w.owner), ("depth_known", w.known)):
            if g[column] != want:
                self.say(f"{name}: {column} is {g[column]}, expected {want}")
        self.same_place(name, g, w)

    def same_place(self, name, g, w):
        """Where two lines run almost in parallel, the 1e-9 m to which big coordinates are kept move the nearest place along."""
        apart = math.sin(math.radians(w.angle)) ** 2
        tol = max(2e-6, min(MM, 4e-9 * (1 + abs(w.clearance)) / max(apart, 1e-9)))
        if not abs(g["chainage_m"] - w.chainage) <= tol:
            self.say(f"{name}: chainage_m is {g['chainage_m']}, expected {w.chainage}")
        c = shapely.get_coordinates(g["geom"], include_z=True)[0]
        at = np.append(self.near(c[:2]), c[2])
        gap = np.abs(at - w.at)
        if not gap[:2].max() <= 2 * tol or not (math.isnan(w.at[2]) or gap[2] <= 2 * tol):
            self.say(f"{name}: its point is at {at.tolist()}, expected {w.at.tolist()}")

    def near(self, xy):
        return np.asarray(xy) * self.m.site.factor - self.m.site.origin

    # -- test holes ---------------------------------------------------------------------------

    def match_holes(self):
        want = [r for r in self.rows if r.hole]
        if len(self.holes) != len(want):
            self.say(f"test_holes: {len(self.holes)}, expected {len(want)}")
        groups = defaultdict(lambda: ([], []))
        for h in self.holes:
            groups[h["bore_id"], h["source_layer"], h["source_fid"]][0].append(h)
        for w in want:
            groups[w.bore_id, w.layer, w.fid][1].append(w)
        for k, (holes, rows) in groups.items():
            self.match_group("test hole of " + "/".join(str(x) for x in k), holes, rows)
        self.match_priority(want)

    def match_group(self, name, holes, rows):
        """The pairs that lie nearest to each other in all, then the levels."""
        if len(holes) != len(rows):
            self.say(f"{name}: {len(holes)}, expected {len(rows)}")
            return
        depth = lambda h, w: min((abs((h["dig_to_m"] or 0) - d) for d in w.hole["dig"] if not math.isnan(d)), default=0)
        gaps = np.array([[min(math.hypot(*(self.hole_at(h) - s)) for s in w.hole["spots"]) for w in rows] for h in holes])
        levels = np.array([[depth(h, w) for w in rows] for h in holes])
        for i, j in zip(*linear_sum_assignment(gaps + 0.01 * levels)):
            h, w = holes[i], rows[j]
            if gaps[i, j] > 2e-3:
                self.say(f"{name}: stands at {self.hole_at(h).tolist()}, expected {[s.tolist() for s in w.hole['spots']]}")
            self.same_hole(name, h, w)

    def match_priority(self, want):
        """Of several holes on one service for one bore, the likeliest is taken to come first: they may stand at one place."""
        chances = defaultdict(list)
        for w in sorted(want, key=lambda w: -w.p):
            chances[w.bore_id, w.layer, w.fid].append(w.p)
        order = sorted(self.holes, key=lambda h: h["priority"])
        seen = [p.pop(0) for h in order if (p := chances[h["bore_id"], h["source_layer"], h["source_fid"]])]
        for k, (a, b) in enumerate(zip(seen, seen[1:])):
            if b > a + 1e-7:
                self.say(f"test_holes: the hole after number {k + 1} has p {b}, that one {a}")

    def hole_at(self, h):
        return self.near([h["geom"].x, h["geom"].y])

    def same_hole(self, name, h, w):
        e = w.hole
        if h["kind"] != w.kind:
            self.say(f"{name}: kind is {h['kind']}, expected {w.kind}")
        z = shapely.get_coordinates(h["geom"], include_z=True)[0, 2]
        ground = self.m.site.ground(self.hole_at(h))
        if not math.isnan(ground) and not abs(z - ground) <= MM:
            self.say(f"{name}: Z is {z}, the ground {ground}")
        if not e["unknown"] or not e["bounded"] or any(math.isnan(g) for g in e["ground"]):
            return  # the text says no middle and no limit where the band hangs from nothing, or the depth is known
        if not abs((h["expected_depth_m"] or math.nan) - e["middle"]) <= 1e-6:
            self.say(f"{name}: expected_depth_m is {h['expected_depth_m']}, expected {e['middle']}")
        if not any(abs((h["dig_to_m"] or math.nan) - d) <= MM for d in e["dig"]):
            self.say(f"{name}: dig_to_m is {h['dig_to_m']}, expected {e['dig']}")

    # -- totals -------------------------------------------------------------------------------

    def totals(self):
        counted = Counter(g["verdict"] for g in self.got)
        for word in ("clash", "prove", "watch", "clear"):
            if self.said["conflicts"][word] != counted[word]:
                self.say(f"--json counts {self.said['conflicts'][word]} {word}, the layer has {counted[word]}")
        if self.said.get("bores") not in (len(self.bores), {"checked": len(self.bores)}):
            self.say(f"--json says {self.said.get('bores')} bores, there are {len(self.bores)}")
        avoid = self.m.job("rules.unknown_depth") == "avoid"
        code = 1 if counted["clash"] or (avoid and counted["prove"]) else 0
        if self.code != code:
            self.say(f"exit code {self.code}, expected {code}")


def one(program, seed, folder):
    """(rows, differences) of one seed."""
    gpkg, bores, job = make_check.make(seed, folder)
    model, rows = cm.check(gpkg, bores, job)
    out = Path(folder) / f"check{seed:03}.result.gpkg"
    try:
        code, said = run_check(program, gpkg, bores, job, out)
    except RuntimeError as e:
        return len(rows), [str(e)]
    return len(rows), Compare(model, rows, out, code, said).run()


def city(program, gpkg, bores, job, most):
    """The job of a city says little: the defaults are those that the run says it used."""
    with tempfile.TemporaryDirectory() as folder:
        out = Path(folder) / "out.gpkg"
        code, said = run_check(program, gpkg, bores, job, out)
        filled = without_nulls(json.loads(read_rows(out, "pitwright_runs")[-1]["job_json"]))
        model, rows = cm.check(gpkg, bores, job, filled)
        bad = Compare(model, rows, out, code, said).run()
    for line in bad[:most]:
        print(line)
    print(f"{len(rows)} rows, {len(bad)} differences")
    return 1 if bad or not rows else 0


def judged(work):
    program, seed, folder, most = work
    began = time.time()
    try:
        rows, bad = one(program, seed, folder)
    except NotCovered as e:
        rows, bad = 0, [f"not covered: {e}"]
    lines = [f"{seed:5} {rows:5} rows {time.time() - began:5.1f}s {'ok' if not bad else 'DIFFERENT'}", *(f"         {b}" for b in bad[:most])]
    if len(bad) > most:
        lines.append(f"         and {len(bad) - most} more")
    return "\n".join(lines), rows, bool(bad)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("program")
    p.add_argument("seeds", nargs="*")
    p.add_argument("--city", nargs=3)
    p.add_argument("--processes", type=int, default=1)
    p.add_argument("--most", type=int, default=12, help="differences told of one seed")
    p.add_argument("--keep", help="folder for sites and results")
    args = p.parse_args()
    if args.city:
        return city(args.program, *args.city, args.most)
    folder = args.keep or tempfile.mkdtemp(prefix="check")
    count = rows = failed = 0
    with ProcessPoolExecutor(args.processes) as pool:
        for line, n, differs in pool.map(judged, [(args.program, s, folder, args.most) for s in seeds(args.seeds)]):
            count, rows, failed = count + 1, rows + n, failed + differs
            print(line, flush=True)
    print(f"{count} sites, {rows} rows, {failed} sites differ")
    return 1 if failed or not count else 0


if __name__ == "__main__":
    sys.exit(main())
