"""Writes what the exhaustive search finds, and the sites it belongs to, so that other tests need no search.

    python3 expect.py [SEEDS ...] [--processes 2]        # SEEDS: 7 or 1-60; without any, those that are kept

`expected.json`: {"seed": what `exhaustive.answers` gives of its site}, made by the exhaustive search alone; the program under test has
no part in it. Sites of 500 to 999 are such as separations make a difference in, those from 2000 on are trees. Sites go to ./sites.
"""

import argparse
import json
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import exhaustive as ex
import make_sites

HERE = Path(__file__).parent
KEPT = HERE / "expected.json"


def kept():
    """The answers that are kept, by seed."""
    return {int(seed): answers for seed, answers in json.loads(KEPT.read_text()).items()}


def solved(seed):
    gpkg, job = make_sites.make(seed, HERE / "sites")
    return f"{seed:03}", ex.search(gpkg, job)


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("seeds", nargs="*")
    p.add_argument("--processes", type=int, default=1)
    args = p.parse_args()
    seeds = sorted(set(make_sites.seeds(args.seeds) if args.seeds else kept()))
    lines = []
    with ProcessPoolExecutor(args.processes) as pool:
        for seed, answers in pool.map(solved, seeds):
            lines.append(f' "{seed}": {json.dumps(answers)}')
            print(seed, *(f"{w['status']} {w['cost']}" for w in answers.values()), flush=True)
    KEPT.write_text("{\n" + ",\n".join(lines) + "\n}\n")
    print(len(lines), "sites")


if __name__ == "__main__":
    main()
