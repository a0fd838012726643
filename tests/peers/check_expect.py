"""Writes every row that the brute force finds on random sites, and the sites, so that other tests need no Python.

    python3 check_expect.py FIRST-LAST        # expected-check.json; sites go to ./check-sites

{"seed": {"table", "bores", "holes": count, "avoid", "rows": [..]}}: `rows` as ROW names them. Made by `check_model.py` alone; the program
under test has no part in it.
"""

import json
import sys
from pathlib import Path

import check_model
import make_check
from make_sites import seeds

HERE = Path(__file__).parent
ROW = ["bore_id", "obstacle", "source_layer", "source_fid", "encounter", "verdict", "depth_known", "chainage_m", "angle_deg", "clearance_m",
       "required_m", "allowance_m", "margin_m", "p_contact"]


def row(r):
    digits = lambda v, n: None if v is None else round(float(v), n)
    return [r.bore_id, r.obstacle, r.layer, r.fid, r.encounter, r.verdict, r.known, digits(r.chainage, 6), digits(r.angle, 6), digits(r.clearance, 6),
            digits(r.required, 6), digits(r.allowance, 6), digits(r.margin, 6), digits(r.p, 9)]


def solved(gpkg, table, job):
    m, rows = check_model.check(gpkg, table, job)
    return {"table": table, "bores": len(m.site.bores), "holes": sum(r.hole is not None for r in rows), "avoid": m.job("rules.unknown_depth") == "avoid",
            "rows": [row(r) for r in rows]}


def main():
    out = {}
    for seed in seeds(sys.argv[1:]):
        out[f"{seed:03}"] = answer = solved(*make_check.make(seed, HERE / "check-sites"))
        print(seed, len(answer["rows"]), "rows", flush=True)
    lines = [f' "{k}": {{\n  ' + ",\n  ".join(f'"{n}": {listed(v)}' for n, v in a.items()) + "}" for k, a in out.items()]
    (HERE / "expected-check.json").write_text("{\n" + ",\n".join(lines) + "\n}\n")
    print(sum(len(a["rows"]) for a in out.values()), "rows of", len(out), "sites")


def listed(v):
    if not isinstance(v, list) or not v:
        return json.dumps(v)
    return "[\n   " + ",\n   ".join(json.dumps(x) for x in v) + "]"


if __name__ == "__main__":
    main()
