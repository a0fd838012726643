"""Mains and cables along every street, digitised in pieces, and the crossings that feed the other side of it."""

from .ground import grid
from .tree import EDGE_M

# kind, t from the centre line, outside diameter in mm, cover, share of unknown depth, whether it feeds houses
MAINS = [
    ("electricity", -7.5, 110, 0.65, 0.20, True),
    ("telecom", -6.7, 100, 0.55, 0.45, True),
    ("gas", -5.2, 63, 0.75, 0.10, True),
    ("electricity", -4.5, 50, 0.50, 0.40, False),  # to the street lights
    ("stormwater", -3.0, 300, 0.80, 0.10, False),
    ("electricity", 4.4, 50, 0.50, 0.40, False),
    ("water", 5.1, 125, 0.85, 0.10, True),
    ("recycled-water", 5.9, 63, 0.70, 0.15, True),
    ("telecom", 6.7, 110, 0.60, 0.35, True),
    ("electricity", 7.5, 160, 0.85, 0.20, False),  # high voltage
]
STUB_MM = {"electricity": 63, "telecom": 50, "gas": 32, "water": 32, "recycled-water": 25, "stormwater": 100, "sewer": 110}
STUB_COVER_M = {
    "electricity": 0.60,
    "telecom": 0.45,
    "gas": 0.60,
    "water": 0.60,
    "recycled-water": 0.55,
    "stormwater": 0.45,
    "sewer": 0.70,
}
OWNERS = {
    "water": "Pellow Water",
    "recycled-water": "Pellow Water",
    "gas": "Marl Gas",
    "electricity": "Cresset Power",
    "telecom": "Windle Cables",
    "stormwater": "Tarn Township",
    "sewer": "Tarn Township",
}
CROSSINGS_MOST = 4  # in one cluster
CROSSING_STEP_M = 0.4


def service(rng, points, kind, diameter_mm, cover_m, unknown):
    """One feature; `unknown` is the chance that no depth is on record. What has a depth is better located."""
    known = rng.random() >= unknown
    quality = rng.choice("ABBBC") if known else rng.choice(["B", "C", "D", "D", None])
    return {
        "at": [grid(x, y) for x, y in points],
        "kind": kind,
        "diameter_mm": diameter_mm,
        "cover_m": round(cover_m + rng.uniform(-0.05, 0.05), 2) if known else None,
        "quality": quality,
        "owner": OWNERS[kind],
        "status": "abandoned" if rng.random() < 0.02 else "in service",
    }


def main_t(way, main):
    return main[1] * way.flip


def mains_of(rng, way, a, starts, b):
    """Every main from a (or from its own start in `starts`, by place in MAINS) to b, in pieces of 8 to 13 m."""
    for place, main in enumerate(MAINS):
        kind, _, diameter, cover, unknown, _ = main
        at, t = starts.get(place, a), main_t(way, main)
        while at < b - 0.5:
            to = min(b, at + rng.uniform(8.0, 13.0))
            yield service(rng, way.curve.along(at, to, t), kind, diameter, cover, unknown)
            at = to


def side_starts(parent, side):
    """Where the mains of a side street begin: what feeds houses at the parent's like main, the rest at its edge."""
    starts = {}
    for place, main in enumerate(MAINS):
        if main[5] or main[0] == "stormwater":
            starts[place] = side.side * main_t(parent, main)
    return starts


def crossings_of(rng, way):
    """[(s, kind, to side)] of what crosses the street: clusters of a few, each from a main to the other side."""
    out = []
    for middle in way.clusters:
        feeding = [main for main in MAINS if main[5] and rng.random() < 0.62]
        chosen = sorted(rng.sample(feeding, min(CROSSINGS_MOST, len(feeding))), key=MAINS.index)
        for k, main in enumerate(chosen):
            s = middle + (k - (len(chosen) - 1) / 2) * CROSSING_STEP_M + rng.uniform(-0.04, 0.04)
            out.append((s, main, -1 if main_t(way, main) > 0 else 1))
    return out


def crossing_rows(rng, way, crossings):
    for s, main, to in crossings:
        kind = main[0]
        points = way.curve.straight([(s, main_t(way, main)), (s, to * (EDGE_M + 0.6))])
        yield service(rng, points, kind, STUB_MM[kind], STUB_COVER_M[kind] + 0.05, 0.25)


def crossroad_rows(rng, tree):
    """The street at the bottom: water, gas, power and cables, 100 m of each, left straight."""
    s, curve = tree.length + 1.5, tree.parent.curve
    for kind, off, diameter, cover in [
        ("water", 5.0, 177, 0.9),
        ("gas", -5.0, 90, 0.75),
        ("electricity", -6.5, 110, 0.65),
        ("telecom", 6.4, 100, 0.5),
    ]:
        for k in range(10):
            points = curve.straight([(s + off, -50.0 + 10 * k), (s + off, -40.0 + 10 * k)])
            yield service(rng, points, kind, diameter, cover, 0.2)


def drain_rows(pipes):
    """Old sewers with a surveyed invert: Z = invert."""
    for points, inverts in pipes:
        yield {
            "at": [(*grid(x, y), round(z, 2)) for (x, y), z in zip(points, inverts)],
            "kind": "sewer",
            "diameter_mm": 250,
            "quality": "B",
            "owner": OWNERS["sewer"],
            "status": "in service",
        }
