"""Writes `expected.json` and the sites it belongs to, so that other tests need no Python.

    python3 expect.py FIRST-LAST        # sites go to ./sites

`expected.json`: {"seed": {"status", "cost", "pits", "chainages"}}, made by the exhaustive
search alone; the program under test has no part in it.
"""

import json
import sys
from pathlib import Path

import exhaustive as ex
import make_sites

HERE = Path(__file__).parent


def solved(gpkg, job):
    answer = next(iter(ex.search(gpkg, job).values()))
    return {k: answer.get(k) for k in ("status", "cost", "pits", "chainages")}


def main():
    out = {}
    for seed in make_sites.seeds(sys.argv[1:]):
        gpkg, job = make_sites.make(seed, HERE / "sites")
        out[f"{seed:03}"] = answer = solved(gpkg, job)
        print(seed, answer["status"], answer["cost"], flush=True)
    lines = [f' "{k}": {json.dumps(v)}' for k, v in out.items()]
    (HERE / "expected.json").write_text("{\n" + ",\n".join(lines) + "\n}\n")
    print(sum(v["status"] == "planned" for v in out.values()), "planned of", len(out))


if __name__ == "__main__":
    main()
