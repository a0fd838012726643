"""Runs `check_script.py` and `pitwright check` in turn on the same city, and prints what one took of the other.

    python3 check_beside.py PITWRIGHT FOLDER [--runs 5] [--services 400000] [--bores 100000] [--ten 1]

Makes in FOLDER what is not there yet: the city, its first thousand bores, and (unless --ten 0) ten times the services with
the same bores. One run of each first, that does not count. Figures are the least of the runs and, behind it, the middle one.
The stages of `pitwright` are those of its JSON document, else as seen from outside; what is neither reading nor
writing counts as search. Load of the machine is told before and after: a ratio under load says little, that of `cpu` (user and
system time of all threads and processes) most.
"""

import argparse
import os
import pathlib
import re
import statistics
import subprocess
import sys
import time

import pyogrio

HERE = pathlib.Path(__file__).resolve().parent
sys.path.insert(0, str(HERE))

import stages  # noqa: E402

MAKE = HERE.parent / "data" / "make_city.py"


def make(folder, services, bores, name, around):
    if not (folder / f"{name}-bores.gpkg").exists():
        subprocess.run([sys.executable, MAKE, folder, "--services", str(services), "--bores", str(bores), "--name", name, "--around", str(around)], check=True)


def first_bores(folder, count):
    out = folder / f"city-bores-{count}.gpkg"
    if not out.exists():
        meta, _, lines, data = pyogrio.raw.read(folder / "city-bores.gpkg", layer="bores", max_features=count)
        pyogrio.raw.write(str(out), lines, data, meta["fields"], crs=meta["crs"], geometry_type="LineString Z", layer="bores", driver="GPKG")
    return out


def script(folder, name, bores):
    out = folder / "script.out.gpkg"
    run = subprocess.run([sys.executable, HERE / "check_script.py", folder / f"{name}.gpkg", folder / f"{name}.tif", bores, out], capture_output=True, text=True, check=True)
    found = dict(re.findall(r"(\w+) ([0-9.]+) (?:s|MB)", run.stdout))
    return {k: float(v) for k, v in found.items()} | {"rows": int(re.search(r"(\d+) rows", run.stdout)[1])}


def program(pitwright, folder, name, bores):
    """Peak and processor time are those of the process, as it ends."""
    out = folder / "pitwright.out.gpkg"
    out.unlink(missing_ok=True)
    command = [pitwright, "check", str(folder / f"{name}.gpkg"), "--bores", f"{bores}:bores", "--job", str(folder / f"{name}.job.toml"), "--out", str(out)]
    used = folder / "used"
    code, said, seen = stages.run(["/usr/bin/time", "-o", str(used), "-f", "%M %U %S", *command])
    if code not in (0, 1):
        sys.exit(f"pitwright: exit {code}: {said}")
    peak, user, system = (float(v) for v in used.read_text().splitlines()[-1].split())
    found = {"whole": seen[-1][0], "cpu": user + system, "peak": peak / 1024, "rows": said["layers"]["bore_conflicts"]}
    inside = said.get("stages") or dict(stages.from_outside(seen))
    for stage, seconds in inside.items():
        word = next((w for w, part in (("start", "start"), ("read", "read"), ("write", "writ")) if part in stage), "read" if stage in ("services", "bores", "ground", "buildings") else "search")
        found[word] = found.get(word, 0.0) + seconds
    found["stages"] = inside
    return found


def spread(runs, column):
    values = sorted(r.get(column, 0.0) for r in runs)
    return values[0], statistics.median(values)


def table(title, theirs, ours):
    print(f"\n{title}: {theirs[0]['rows']} rows of the script, {ours[0]['rows']} of pitwright")
    print(f"  {'':8} {'script':>16} {'pitwright':>16}   script / pitwright")
    for column in ("whole", "cpu", "read", "search", "write", "peak"):
        (a, a_mid), (b, b_mid) = spread(theirs, column), spread(ours, column)
        unit = "MB" if column == "peak" else "s"
        print(f"  {column:8} {a:7.2f} ({a_mid:6.2f}) {b:7.2f} ({b_mid:6.2f}) {unit:2} {a / b if b else float('nan'):6.1f}")
    best = min(ours, key=lambda r: r["whole"])
    print("  pitwright's stages: " + "  ".join(f"{k} {v:.3f} s" for k, v in best["stages"].items()))


def in_turn(pitwright, folder, name, bores, runs):
    theirs, ours = [], []
    for k in range(runs + 1):
        a, b = script(folder, name, bores), program(pitwright, folder, name, bores)
        if k:
            theirs.append(a)
            ours.append(b)
    return theirs, ours


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("pitwright")
    ask.add_argument("folder", type=pathlib.Path)
    ask.add_argument("--runs", type=int, default=5)
    ask.add_argument("--services", type=int, default=400_000)
    ask.add_argument("--bores", type=int, default=100_000)
    ask.add_argument("--ten", type=int, default=1)
    a = ask.parse_args()
    a.folder.mkdir(parents=True, exist_ok=True)
    make(a.folder, a.services, a.bores, "city", a.services)
    few = first_bores(a.folder, max(1, a.bores // 100))
    print("load", *(f"{v:.1f}" for v in os.getloadavg()), time.strftime("%H:%M"))
    whole = in_turn(a.pitwright, a.folder, "city", a.folder / "city-bores.gpkg", a.runs)
    table(f"{a.bores} bores, {a.services} services", *whole)
    table(f"{a.bores // 100} bores, {a.services} services", *in_turn(a.pitwright, a.folder, "city", few, a.runs))
    if a.ten:
        make(a.folder, 10 * a.services, a.bores, "city-ten", a.services)
        ten = [program(a.pitwright, a.folder, "city-ten", a.folder / "city-bores.gpkg") for _ in range(2)][1:]
        once = spread(whole[1], "peak")[0]
        print(f"\nten times the services, same bores: {ten[0]['whole']:.2f} s, {ten[0]['rows']} rows, peak {ten[0]['peak']:.0f} MB, {ten[0]['peak'] / once:.2f} times that of the city")
    print("load", *(f"{v:.1f}" for v in os.getloadavg()), time.strftime("%H:%M"))


if __name__ == "__main__":
    main()
