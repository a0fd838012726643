"""Writes what the exhaustive search finds, and the sites it belongs to, so that other tests need no Python.

    python3 expect.py FIRST-LAST        # below 500: expected.json, from 500: expected-separations.json, trees: expected-joined.json

`expected.json`: {"seed": {"status", "cost", "pits", "chainages"}}, made by the exhaustive
search alone; the program under test has no part in it. `expected-separations.json` is the same. Sites go to ./sites.
`expected-joined.json`: {"seed": {"status", "cost" of the tree, "routes": {id: status}, "pits",
"chainages": {id: [m]}, "outlets": {id: [m]}}}, pits of a junction among its parent's.
"""

import json
import sys
from pathlib import Path

import exhaustive as ex
import make_sites

HERE = Path(__file__).parent


def solved(gpkg, job):
    ((_, answer),) = ex.search(gpkg, job).items()
    if len(answer["routes"]) > 1:
        return {k: answer.get(k) for k in ("status", "cost", "routes", "pits", "chainages", "outlets")}
    out = {k: answer.get(k) for k in ("status", "cost", "pits")}
    return {**out, "chainages": next(iter(answer["chainages"].values())) if answer.get("chainages") else None}


def main():
    out = {}
    seeds = list(make_sites.seeds(sys.argv[1:]))
    for seed in seeds:
        gpkg, job = make_sites.make(seed, HERE / "sites")
        out[f"{seed:03}"] = answer = solved(gpkg, job)
        print(seed, answer["status"], answer["cost"], flush=True)
    lines = [f' "{k}": {json.dumps(v)}' for k, v in out.items()]
    name = "expected-joined.json" if min(seeds) >= 2000 else "expected-separations.json" if min(seeds) >= 500 else "expected.json"
    (HERE / name).write_text("{\n" + ",\n".join(lines) + "\n}\n")
    print(sum(v["status"] == "planned" for v in out.values()), "planned of", len(out))


if __name__ == "__main__":
    main()
