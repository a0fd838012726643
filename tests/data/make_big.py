"""Write the big invented sites of the speed tests.

    /usr/bin/python3 tests/data/make_big.py FOLDER             long-route.gpkg   one route of 300 m, 200 services
                                                               suburb.gpkg       40 routes of 100 m, 20,000 services
    /usr/bin/python3 tests/data/make_big.py FOLDER --lots N    suburb-N.gpkg     N lots: whole trees of routes, N / 50 of
                                                               them, with 50 services a lot (see `suburb`)

Each has its job file beside it; suburb-N also suburb-N-corridor.job.toml, where manholes may leave the routes by 1 m.
Seeded: run again, it writes the same layers. Needs the Python bindings of GDAL 3.6 with numpy.
"""

import argparse
import math
import pathlib
import random
import sys

sys.dont_write_bytecode = True
sys.path.insert(0, str(pathlib.Path(__file__).resolve().parents[2] / "sample-data"))

import jobs  # noqa: E402
import suburb.write  # noqa: E402
from sitekit import SERVICE, GridCells, Package, Street  # noqa: E402

EPSG = 32742
PLANE = Street(east=420000.0, north=6401000.0, turn_deg=11.0, first=1e9, bend_deg=0.0, radius=1.0)
OUTFALL_DEPTH_M = 2.6
CLUSTER_M = 20.0  # crossings lie in clusters this far apart, and leave room for pits between
# kind, t of the main in the street, outside diameter, cover
MAINS = [
    ("electricity", -7.4, 110, 0.6),
    ("telecom", -6.4, 100, None),
    ("gas", -4.8, 63, 0.75),
    ("stormwater", -2.8, 450, 1.0),
    ("water", 5.0, 177, 0.95),
    ("recycled-water", 5.9, 63, 0.7),
    ("telecom", 6.8, 100, 0.5),
    ("fuel", 10.5, 219, 1.1),
]
STUBS = [
    ("water", 32, 0.6),
    ("gas", 25, 0.6),
    ("electricity", 110, 0.6),
    ("telecom", 50, 0.45),
    ("stormwater", 100, 0.5),
    ("sewer", 110, 0.7),
]


def ground(e, n):
    s, t = PLANE.from_grid(e, n)
    return 60.0 - 0.017 * s - 0.004 * t + 0.06 * math.sin(s / 19.0) * math.cos(t / 23.0)


def ground_st(s, t):
    return ground(*PLANE.grid(*PLANE.local(s, t)))


class Block:
    """One street from s0 to s0 + length about t = t0, with lots on both sides."""

    def __init__(self, s0, t0, length):
        self.s0, self.t0, self.length = s0, t0, length

    def line(self, *points):
        return PLANE.straight([(self.s0 + s, self.t0 + t) for s, t in points])

    def box(self, s, s1, t, t1):
        return PLANE.box(self.s0 + s, self.s0 + s1, self.t0 + t, self.t0 + t1)

    def route(self, number):
        """Straight but for two bends of a degree or two, each halfway between two clusters of crossings."""
        first, second = (round(k * self.length / 3 / CLUSTER_M) * CLUSTER_M for k in (1, 2))
        points = [(0, 0.5), (first, 0.2), (second, 0.9), (self.length, 0.5)]
        end = ground_st(self.s0 + self.length, self.t0 + 0.5)
        return {
            "at": self.line(*points),
            "route_id": f"B{number:02}",
            "outfall_invert_m": round(end - OUTFALL_DEPTH_M, 2),
        }

    def services(self, rng, count):
        """Mains along the street, clusters of crossings, and for the rest stubs that end before the route."""
        made = [self._service(rng, kind, d, cover, [(-10, t), (self.length + 10, t)]) for kind, t, d, cover in MAINS]
        clusters = [k * CLUSTER_M + 10 for k in range(int(self.length // CLUSTER_M))]
        for centre in clusters:
            for k in range(3):
                kind, d, cover = rng.choice(STUBS)
                s = centre + (k - 1) * 1.2 + rng.uniform(-0.2, 0.2)
                made.append(self._service(rng, kind, d, rng.choice([cover, cover, None]), [(s, -8.5), (s, 8.5)]))
        while len(made) < count:
            kind, d, cover = rng.choice(STUBS)
            s, side = rng.uniform(-5, self.length + 5), rng.choice([-1, 1])
            ends = [(s, side * rng.uniform(5.5, 8.0)), (s + rng.uniform(-2, 2), side * rng.uniform(12, 32))]
            made.append(self._service(rng, kind, d, rng.choice([cover, None]), ends))
        return made[:count]

    def _service(self, rng, kind, diameter, cover, points):
        quality = rng.choice(["A", "B", "B", "C"] if cover else ["C", "D", "D", None])
        return {
            "at": self.line(*points),
            "kind": kind,
            "diameter_mm": diameter,
            "cover_m": cover,
            "quality": quality,
            "owner": f"{kind} board",
            "status": "in service",
        }

    def lots(self, prefix, rng):
        for k in range(int(self.length // CLUSTER_M)):
            for side, near, far in (("L", -34, -8), ("R", 8, 34)):
                yield {
                    "at": self.box(k * 20, k * 20 + 20, near, far),
                    "lot_id": f"{prefix}{side}{k:02}",
                    "serve": True,
                    "entry": rng.choice(["yes", "no"]),
                }

    def houses(self):
        for k in range(int(self.length // CLUSTER_M)):
            for near, far in ((-26, -14), (14, 26)):
                floor = ground_st(self.s0 + k * 20 + 2, self.t0 + near) + 0.3
                yield {"at": self.box(k * 20 + 2, k * 20 + 15, near, far), "floor_m": round(floor, 2)}

    def surfaces(self):
        for surface, t, t1 in (("asphalt", -4, 4), ("concrete", 5.6, 7), ("lawn", -34, -4), ("lawn", 4, 34)):
            yield {"at": self.box(-10, self.length + 10, t, t1), "surface": surface}

    def trees(self, rng):
        for k in range(int(self.length // CLUSTER_M)):
            at = (self.s0 + k * 20 + 17, self.t0 + rng.choice([-30, -7.6, 7.6, 30]))
            yield {"at": PLANE.at(*at), "trunk_diameter_m": rng.choice([0.2, 0.3, 0.5]), "retain": True}


def write(path, blocks, services_each, seed):
    rng = random.Random(seed)
    site = Package(str(path), EPSG)
    numbered = list(enumerate(blocks, 1))
    site.layer("routes", "line", {"route_id": "text", "outfall_invert_m": "real"}, [b.route(n) for n, b in numbered])
    streets = [
        {
            "at": b.line((-10, 0), (b.length + 10, 0)),
            "name": f"Block {n} Street",
            "class": "residential",
            "width_m": 8.0,
        }
        for n, b in numbered
    ]
    site.layer("streets", "line", {"name": "text", "class": "text", "width_m": "real"}, streets)
    site.layer(
        "lots",
        "polygon",
        {"lot_id": "text", "serve": "bool", "entry": "text"},
        [lot for n, b in numbered for lot in b.lots(f"{n:02}", rng)],
    )
    site.layer("buildings", "polygon", {"floor_m": "real"}, [h for b in blocks for h in b.houses()])
    site.layer("surfaces", "polygon", {"surface": "text"}, [s for b in blocks for s in b.surfaces()])
    site.layer(
        "trees", "point", {"trunk_diameter_m": "real", "retain": "bool"}, [t for b in blocks for t in b.trees(rng)]
    )
    site.layer("services", "line", SERVICE, [s for b in blocks for s in b.services(rng, services_each)])
    corners = [PLANE.at(b.s0 + s, b.t0 + t) for b in blocks for s in (-20, b.length + 20) for t in (-45, 45)]
    es, ns = zip(*corners)
    site.raster("ground", GridCells((min(es), min(ns), max(es), max(ns)), 2.0, ground))
    path.with_suffix(".job.toml").write_text(f'[job]\nname = "{path.stem}, invented"\n\n' + jobs.COMMON)


def make(folder):
    folder.mkdir(parents=True, exist_ok=True)
    write(folder / "long-route.gpkg", [Block(0.0, 0.0, 300.0)], 200, seed=7)
    blocks = [Block(col * 160.0, row * 80.0, 100.0) for row in range(8) for col in range(5)]
    write(folder / "suburb.gpkg", blocks, 500, seed=11)


def run():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("folder", type=pathlib.Path)
    ask.add_argument("--lots", type=int)
    asked = ask.parse_args()
    if asked.lots is None:
        return make(asked.folder)
    asked.folder.mkdir(parents=True, exist_ok=True)
    counts = suburb.write.write(asked.folder / f"suburb-{asked.lots}.gpkg", asked.lots)
    print(", ".join(f"{count} {name}" for name, count in counts.items()))


if __name__ == "__main__":
    run()
