"""How often each rule binds on the random sites: seeds where leaving it out changes the answer.

    python3 bind.py FIRST-LAST [RULE,RULE ...]     # all rules unless named; exit 1 where one never binds
"""

import sys
import tempfile
from collections import Counter

import exhaustive as ex
import make_sites
import model as pm
from site_reader import read_site


def setting(path, value):
    def change(site):
        node = site.job.tree
        *head, last = path.split(".")
        for key in head:
            node = node[key]
        node[last] = value
    return change


def without(role):
    return lambda site: setattr(site, role, [])


def both(*changes):
    return lambda site: [c(site) for c in changes]


def unset(table, key):
    return lambda site: site.job.tree[table].pop(key, None)


def free_ends(site):
    site.manholes = []
    for r in site.routes:
        r.outfall = r.head = None


def no_strikes(site):
    site.job.tree["costs"]["strike"] = {}


CHANGES = {
    "services": without("services"), "buildings": without("buildings"), "trees": without("trees"), "lots": without("lots"),
    "keepouts": without("keepouts"), "surfaces": without("surfaces"), "streets (access)": without("streets"), "fixed ends": free_ends,
    "rig reach": setting("rig.reach_m", 99.0), "end error": unset("rules", "max_end_error_mm"),
    "thrust": both(setting("rig.thrust_kn", 1e6), setting("pipe.axial_limit_kn", 1e6)),
    "spacing": setting("rules.manhole_spacing_m", 99.0), "max depth": setting("pits.max_depth_m", 3.6),
    "hand depth": setting("pits.hand_dig_max_depth_m", 9.0), "min cover": setting("rules.min_cover_m", 0.3),
    "min grade": both(setting("rules.min_grade", 0.0), setting("rig.grade_min", 0.0)),
    "max grade": both(setting("rules.max_grade", 0.5), setting("rig.grade_max", 0.5)),
    "drop": setting("rules.manhole_drop_m", 0.0), "drop max": unset("rules", "manhole_drop_max_m"),
    "launch_from": setting("rig.launch_from", "either"), "unknown depth": setting("rules.unknown_depth", "prove"), "strike": no_strikes,
}


def main():
    count, planned = Counter(), 0
    seeds = list(make_sites.seeds(sys.argv[1:2]))
    changes = {n: c for n, c in CHANGES.items() if not sys.argv[2:] or n in sys.argv[2].split(",")}
    with tempfile.TemporaryDirectory() as folder:
        for seed in seeds:
            gpkg, job = make_sites.make(seed, folder)

            def least(change=lambda site: None):
                site = read_site(gpkg, job)
                change(site)
                return ex.Search(pm.Model(site), site.routes[0]).solve()

            base = least()
            print(seed, base, file=sys.stderr, flush=True)
            planned += base < 1e99
            for name, change in changes.items():
                other = least(change)
                if other != base and abs(other - base) > 1e-6:
                    count[name, "planned" if base < 1e99 else "no-plan"] += 1
    print(f"{len(seeds)} seeds, {planned} planned; seeds whose answer changes when a rule is left out:")
    for name in changes:
        print(f"  {name:18} planned {count[name, 'planned']:4}   no-plan {count[name, 'no-plan']:4}")
    idle = [n for n in changes if not count[n, "planned"] + count[n, "no-plan"]]
    if idle:
        print("never binding:", ", ".join(idle))
    return 1 if idle else 0


if __name__ == "__main__":
    sys.exit(main())
