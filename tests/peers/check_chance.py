"""Chance of contact by throwing dice: a million samples of where service and bore may lie, a scene at a time.

    python3 check_chance.py            # writes tests/peers/chance/: scenes.gpkg, scenes.job.toml, table.csv, and prints the table

The errors are those of the planning model: its 95 % limits as normal errors, `h` in each direction in plan, `v` in level,
`t_b` of the bore in each direction; a depth that is not known is uniform in its band. Two chances are sampled:

along   the errors, taken along the line between the nearest points of the centre lines, use up the clearance. For unknown depth:
        the level lies within both radii of the bore's, and the errors in plan, along the plan distance, use up the plan clearance.
        This is what the formula says it is, so it must agree within the error of sampling.
touch   the two bodies touch, moved whole and with all their errors. The formula may differ; `relation` says how.

Nothing of the program has a part in this; `main.rs` holds its `p_contact` for the same scenes against the table.
"""

import csv
import math
import sys
from dataclasses import dataclass
from pathlib import Path

import geometry as geo
import numpy as np
import pyogrio
import shapely
from make_sites import toml
from scipy.special import ndtr

HERE = Path(__file__).parent / "chance"
SAMPLES, CHUNK, SEED = 1_000_000, 100_000, 20
CRS, BASE, APART = "EPSG:32633", np.array([412000.0, 5301000.0]), 60.0
GROUND, HOLE, INSIDE, OUTSIDE = 50.0, 0.2, 0.15, 0.16
LIMITS = {"A": (0.05, 0.05), "B": (0.3, 0.5), "C": (0.5, 0.5), "D": (0.8, 0.3), "unknown": (1.2, 0.75)}
BAND = (0.5, 1.5)
SETTING_OUT_MM, LINE_MM, AT_M = 20.0, 60.0, 50.0


@dataclass
class Scene:
    """A bore of 20 m along x from its launch pit at 0, centre at `z`; a service (n, 3), its levels centres, or None for unknown depth."""

    name: str
    z: tuple
    line: list
    quality: str
    diameter: float = 0.1
    known: bool = True

    @property
    def radii(self):
        return self.diameter / 2 + HOLE / 2

    @property
    def bore(self):
        return np.array([[0.0, 0.0, self.z[0]], [20.0, 0.0, self.z[1]]])


def parallel(dy, dz, length=(3.0, 17.0), z=48.0):
    return [(length[0], dy, z + dz), (length[1], dy, z + dz)]


def turned(angle, dz, at=10.0, reach=6.0, z=48.0, slope=0.0):
    c, s = math.cos(math.radians(angle)), math.sin(math.radians(angle))
    return [(at - reach * c, -reach * s, z + dz - slope * reach), (at + reach * c, reach * s, z + dz + slope * reach)]


def arc(radius, dy, dz, z=48.0):
    """Bends away from the bore on both sides of x = 10."""
    a = np.radians(np.linspace(-40, 40, 17))
    return [(10 + radius * math.sin(t), dy + radius * (1 - math.cos(t)), z + dz) for t in a]


SCENES = [
    Scene("square crossing above", (48.0, 48.0), turned(90, 0.5), "B"),
    Scene("square crossing above, well located", (48.0, 48.0), turned(90, 0.2), "A"),
    Scene("square crossing below, far from launch", (48.0, 47.8), turned(90, -0.6, at=18.0), "B"),
    Scene("crossing at 50 degrees, both falling", (48.0, 47.0), turned(50, 0.3, slope=0.08), "C"),
    Scene("crossing at 20 degrees", (48.0, 48.0), turned(20, 0.7, reach=9.0), "B"),
    Scene("crossing, centre lines 0.02 m apart", (48.0, 48.0), turned(90, 0.02), "B"),
    Scene("crossing, centre lines 0.02 m apart, well located", (48.0, 48.0), turned(90, 0.02), "A"),
    Scene("crossing a big pipe, well located", (48.0, 48.0), turned(90, 0.42), "A", 0.6),
    Scene("beside, same level", (48.0, 48.0), parallel(0.45, 0.0), "B"),
    Scene("beside, same level, well located", (48.0, 48.0), parallel(0.2, 0.0), "A"),
    Scene("beside a big pipe, well located", (48.0, 48.0), parallel(0.45, 0.0), "A", 0.6),
    Scene("beside and above", (48.0, 48.0), parallel(0.4, 0.4), "C"),
    Scene("beside, poorly located", (48.0, 48.0), parallel(1.2, 0.0), "unknown"),
    Scene("ends square to the bore", (48.0, 48.0), [(10.0, 0.4, 48.0), (10.0, 6.0, 48.0)], "B"),
    Scene("ends square to the bore, well located", (48.0, 48.0), [(10.0, 0.2, 48.0), (10.0, 6.0, 48.0)], "A"),
    Scene("bends away, radius 5 m", (48.0, 48.0), arc(5.0, 0.5, 0.1), "B"),
    Scene("bends away, radius 30 m", (48.0, 48.0), arc(30.0, 0.5, 0.1), "B"),
    Scene("unknown depth, crossing, bore in mid band", (49.0, 49.0), turned(90, 0.0), "B", known=False),
    Scene("unknown depth, crossing, well located in plan", (49.0, 49.0), turned(90, 0.0), "A", known=False),
    Scene("unknown depth, crossing, bore at the band's lower edge", (48.5, 48.5), turned(90, 0.0), "B", known=False),
    Scene("unknown depth, crossing, bore 0.10 m below the band", (48.4, 48.4), turned(90, 0.0), "B", known=False),
    Scene("unknown depth, crossing, bore 0.20 m below the band", (48.3, 48.3), turned(90, 0.0), "B", known=False),
    Scene("unknown depth, beside, bore in mid band", (49.0, 49.0), parallel(0.4, 0.0), "B", known=False),
    Scene("unknown depth, beside, bore at the band's edge", (48.5, 48.5), parallel(0.3, 0.0), "C", known=False),
    Scene("unknown depth, ends 0.3 m from the bore", (49.0, 49.0), [(10.0, 0.3, 48.0), (10.0, 6.0, 48.0)], "B", known=False),
    Scene("unknown depth, bore falling through the band", (49.2, 48.2), turned(60, 0.0), "D", known=False),
]


# -- the formula, written from the model ----------------------------------------------------------


def t_b(d):
    return max(SETTING_OUT_MM, LINE_MM * d / AT_M) / 1000


def pieces(scene):
    """Ends of the service's pieces (n, 3): each segment cut into equal pieces of at most 2 m."""
    line, out = np.array(scene.line), []
    for a, b in zip(line, line[1:]):
        n = max(1, math.ceil(math.hypot(*(b - a)[:2]) / 2 - 1e-6))
        out += [(a + k / n * (b - a), a + (k + 1) / n * (b - a)) for k in range(n)]
    return np.array([a for a, _ in out]), np.array([b for _, b in out])


def places(scene):
    """(distance, u, t_b, share) of the piece that gives the row: the one of least margin."""
    a, b = pieces(scene)
    p0, p1 = scene.bore
    flat = np.array([1.0, 1.0, 1.0 if scene.known else 0.0])
    s, q, d = geo.nearest((p0 * flat)[None, None], (p1 * flat)[None, None], (a * flat, b * flat), geo.pair_candidates, geo.foot_on_piece, 1)
    h, v = LIMITS[scene.quality]
    best = None
    for k in range(len(a)):
        at = p0 + s[0, k] * (p1 - p0)
        gap = q[0, k] - at * flat
        u = gap / d[0, k] if d[0, k] > 1e-9 else np.array([0.0, 1.0, 0.0])
        located = math.hypot(h * math.hypot(*u[:2]), v * u[2]) if scene.known else h
        allowance = math.hypot(located, t_b(20 * s[0, k]))
        margin = d[0, k] - allowance
        if best is None or margin < best[0] - 1e-6:
            best = margin, d[0, k], u, t_b(20 * s[0, k]), at[2], allowance
    return best[1:]


def formula(scene):
    d, _, _, z, allowance = places(scene)
    p = float(ndtr(-(d - scene.radii) / (allowance / 1.96)))
    return p if scene.known else p * share(scene, z)


def share(scene, z):
    low, high = GROUND - BAND[1], GROUND - BAND[0]
    return max(0.0, min(high, z + scene.radii) - max(low, z - scene.radii)) / (high - low)


# -- samples ----------------------------------------------------------------------------------------


def errors(rng, scene, tb, n):
    """What the service moves against the bore (n, 3), and the service's level where that is not known (n,)."""
    h, v = LIMITS[scene.quality]
    sd = np.array([h, h, v if scene.known else 0.0]) / 1.96
    moved = rng.normal(size=(n, 3)) * sd + rng.normal(size=(n, 3)) * (tb / 1.96)
    return moved, GROUND - rng.uniform(*BAND, n)


def along(scene, moved, level, place):
    d, u, _, z, _ = place
    near = moved @ u <= scene.radii - d
    return near if scene.known else near & (np.abs(level - z) <= scene.radii)


def touch(scene, moved, level):
    line = np.array(scene.line)
    found = np.zeros(len(moved), bool)
    p0, p1 = scene.bore
    for a, b in zip(line, line[1:]):
        q0, q1 = (np.tile(v, (len(moved), 1)) for v in (a, b))
        if not scene.known:
            q0[:, 2] = q1[:, 2] = level
        _, _, d = geo.pair_candidates(p0, p1, q0 + moved, q1 + moved)
        found |= d.min(axis=0) <= scene.radii
    return found


def sampled(scene, number):
    """(chance along, chance of touch)."""
    rng = np.random.default_rng([SEED, number])
    place = places(scene)
    counts = np.zeros(2)
    for _ in range(SAMPLES // CHUNK):
        moved, level = errors(rng, scene, place[2], CHUNK)
        counts += along(scene, moved, level, place).sum(), touch(scene, moved, level).sum()
    return counts / SAMPLES


def standard_error(p):
    return math.sqrt(max(p, 1 / SAMPLES) * (1 - p) / SAMPLES)


def relation(p, touched):
    room = 4 * standard_error(touched)
    return "equal" if abs(p - touched) <= room else "above" if p > touched else "below"


# -- the scenes as a site -----------------------------------------------------------------------------


def put(path, layer, kind, shapes, fields, append):
    data, names = [np.array(v, dtype=object if isinstance(v[0], str) else None) for v in fields.values()], list(fields)
    pyogrio.raw.write(str(path), np.array(shapely.to_wkb(shapes, flavor="iso", output_dimension=3), dtype=object), data, np.array(names, dtype=object),
                      field_mask=[np.array([x == "" for x in v]) if isinstance(v[0], str) else None for v in fields.values()], crs=CRS, geometry_type=kind, layer=layer,
                      driver="GPKG", append=False, layer_options={"SPATIAL_INDEX": "NO"}, dataset_options={"VERSION": "1.3"})


def write_site():
    HERE.mkdir(exist_ok=True)
    path = HERE / "scenes.gpkg"
    path.unlink(missing_ok=True)
    place = lambda xyz, k: np.asarray(xyz) + [BASE[0], BASE[1] + APART * k, 0.0]
    ids = [f"S{k + 1:02}" for k in range(len(SCENES))]
    bores = [shapely.LineString(place(s.bore - [0, 0, INSIDE / 2], k)) for k, s in enumerate(SCENES)]
    lines = [shapely.LineString(place(np.array(s.line) * [1, 1, 1 if s.known else 0], k)) for k, s in enumerate(SCENES)]
    corners = [shapely.Point(BASE[0] + x, BASE[1] + y, GROUND) for x in (-40, 60) for y in (-40, APART * len(SCENES) + 40)]
    put(path, "bores", "LineString Z", bores, {"bore_id": ids, "launch": ["us"] * len(ids)}, False)
    put(path, "services", "LineString Z", lines, {"kind": ["water"] * len(ids), "diameter_mm": [s.diameter * 1000 for s in SCENES], "quality": ["" if s.quality == "unknown" else s.quality for s in SCENES]}, True)
    put(path, "ground", "Point Z", corners, {"name": ["corner"] * 4}, True)
    (HERE / "scenes.job.toml").write_text(toml(job()))
    Shrinker(path).shrink()


def job():
    asked = {"crossing_m": 0.3, "parallel_m": 0.3, "pit_m": 0.3}
    return {"job": {"name": "Scenes", "watch_distance_m": 3.0}, "pipe": {"dn_mm": 150, "od_mm": OUTSIDE * 1000, "id_mm": INSIDE * 1000},
            "rig": {"bore_mm": HOLE * 1000, "setting_out_mm": SETTING_OUT_MM, "line_accuracy_mm": LINE_MM, "accuracy_at_m": AT_M},
            "rules": {"clearance": {"water": asked}, "quality": {k: {"horizontal_m": h, "vertical_m": v} for k, (h, v) in LIMITS.items()},
                      "depth_band": {"water": {"min_m": BAND[0], "max_m": BAND[1]}}},
            "layers": {"services": [{"table": "services", "z_means": "centre"}]}}


class Shrinker:
    """The way of `make_sites.py` to write the same small file every time."""

    def __init__(self, path):
        self.gpkg = path

    def shrink(self):
        from make_sites import Maker

        Maker.shrink(self)


def main():
    write_site()
    rows = []
    for k, scene in enumerate(SCENES):
        p = formula(scene)
        by_line, by_body = sampled(scene, k)
        if abs(p - by_line) > 4 * standard_error(by_line):
            print(f"{scene.name}: the formula says {p}, samples along the line {by_line}", file=sys.stderr)
        rows.append([f"S{k + 1:02}", scene.name, f"{by_line:.6f}", f"{standard_error(by_line):.6f}", f"{by_body:.6f}", f"{standard_error(by_body):.6f}", relation(p, by_body)])
        print(f"| {scene.name} | {p:.4f} | {by_line:.4f} | {by_body:.4f} | {relation(p, by_body)} |", flush=True)
    with open(HERE / "table.csv", "w", newline="") as f:
        w = csv.writer(f, lineterminator="\n")
        w.writerow(["bore_id", "scene", "along", "along_se", "touch", "touch_se", "relation"])
        w.writerows(rows)


if __name__ == "__main__":
    main()
