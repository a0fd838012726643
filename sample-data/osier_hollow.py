"""Osier Hollow: an invented tree of four routes: a street sewer, a side street, a line behind houses, and a branch of that.

(s, t): metres down Osier Street from its upper end, metres to the right of its centre line. The ground falls along s, and
from both hands towards the street.
"""

import math
import random

from sitekit import SERVICE, GridCells, Package, Street

EPSG = 32742
STREET = Street(east=417300.0, north=6397800.0, turn_deg=31.0, first=1000.0, bend_deg=0.0, radius=1.0)
END_S, OUTFALL_DEPTH_M = 164.0, 3.2
SIDE_S = 112.0  # centre line of Withy Close, to the right
WALK_S = 93.0  # the walkway from the yards on the left down to the street
YARD_T = -36.0  # the line behind the houses on the left
RANK_S = 55.0  # the branch of it, between two lots of the second row
ROUTES = {
    "STREET": ([(6, 0.8), (60, 0.4), (END_S, 0.8)], None),
    "CLOSE": ([(SIDE_S + 0.5, 96), (SIDE_S + 0.5, 0.59)], "STREET"),
    "YARDS": ([(16, YARD_T), (WALK_S, YARD_T), (WALK_S, 0.53)], "STREET"),
    "RANK": ([(RANK_S, -86), (RANK_S, YARD_T)], "YARDS"),
}
WATER, GAS, POWER, TELECOM, TOWN = "Brackwater Board", "Lanthorn Gas", "Emberline Power", "Farspeak Cables", "Osier Hollow Township"


def level_local(x, y):
    """y is to the left: the ground rises both ways from the street."""
    return 52.0 - 0.02 * x + 0.028 * (math.hypot(y, 12.0) - 12.0) + 0.04 * math.sin(x / 19.0) * math.cos(y / 23.0)


def ground(e, n):
    return level_local(*STREET.from_grid(e, n))


def ground_st(s, t):
    return level_local(*STREET.local(s, t))


# --- lots and what stands on them ----------------------------------------------------------------------------------

# id, s from, s to, t of the front, t of the rear, entry; fronts face Osier Street but for C1 to C6, on Withy Close.
LOTS = [
    *[(f"L{k + 1}", 4 + 17.4 * k, 4 + 17.4 * (k + 1), -8, -38, "no" if k == 1 else "yes") for k in range(5)],
    *[(f"L{k + 6}", 95 + 18 * k, 95 + 18 * (k + 1), -8, -38, "yes") for k in range(3)],
    *[(f"R{k + 1}", 4 + 20 * k, 4 + 20 * (k + 1), 8, 38, "no" if k == 3 else "yes") for k in range(5)],
    *[(f"R{k + 6}", 120 + 15.5 * k, 120 + 15.5 * (k + 1), 8, 38, "yes") for k in range(2)],
    ("B1", 4, 28, -72, -38, "no"),
    ("B2", 28, 53.2, -72, -38, "yes"),
    ("B3", 53.2, 78, -72, -38, "yes"),
    ("B4", 78, 103, -72, -38, "no"),
]
CLOSE_LOTS = [
    (f"C{3 * row + k + 1}", SIDE_S + hand * 8, SIDE_S + hand * 38, 42 + 19 * k, 61 + 19 * k)
    for row, hand in enumerate((-1, 1))
    for k in range(3)
]


def lot_rows():
    for lot_id, a, b, front, rear, entry in LOTS:
        yield {"at": STREET.box(a, b, front, rear), "lot_id": lot_id, "serve": True, "entry": entry}
    for lot_id, a, b, low, high in CLOSE_LOTS:
        yield {"at": STREET.box(a, b, low, high), "lot_id": lot_id, "serve": True, "entry": "yes"}


def houses():
    """(s from, s to, t from, t to) of every house."""
    for lot_id, a, b, front, rear, _ in LOTS:
        hand = 1 if front > 0 else -1
        if lot_id[0] == "B":
            yield a + 5, b - 5, -66, -50
        else:
            yield a + 1.3, b - 3.3, hand * 14, hand * 26
    for _, a, b, low, high in CLOSE_LOTS:
        hand = 1 if b > a else -1
        yield a + hand * 6, a + hand * 18, low + 1.5, high - 3.5


def house_rows(rng):
    for a, b, t0, t1 in houses():
        floor = max(ground_st(s, t) for s in (a, b) for t in (t0, t1)) + rng.choice([0.15, 0.25, 0.35])
        yield {"at": STREET.box(a, b, t0, t1), "floor_m": round(floor, 2)}


def surface_rows():
    def box(surface, *edges):
        return {"at": STREET.box(*edges), "surface": surface}

    yield box("asphalt", -6, 163, -4, 4)
    yield box("asphalt", 163, 171, -50, 50)
    yield box("asphalt", SIDE_S - 3.5, SIDE_S + 3.5, 4, 102)
    yield box("asphalt", -6, 110, -90, -84)
    yield box("gravel", WALK_S - 1.2, WALK_S + 1.2, -38, -4)
    yield box("concrete", -6, 163, 5.6, 7.0)
    for _, a, b, front, _, _ in LOTS:
        hand = 1 if front > 0 else -1
        if front > -38:
            yield box("concrete", b - 3.1, b - 0.3, hand * 4, hand * 20)
    yield box("lawn", -6, 163, -84, 102)


def fence_rows():
    for number, (_, a, b, front, rear, _) in enumerate(LOTS):
        near = front + (4 if front > 0 else -4)
        yield {"at": STREET.straight([(a, near), (a, rear)]), "material": ["timber", "metal", "timber"][number % 3]}
        yield {"at": STREET.straight([(a, rear), (b, rear)]), "material": "timber"}


def tree_rows():
    for s, t in [(24, -7.8), (75, -7.8), (48, 7.8), (88, 7.8), (30, -30), (48, -30), (80, -30), (70, -44), (36, -44), (30, 32), (90, 30)]:
        yield {"at": STREET.at(s, t), "trunk_diameter_m": 0.3, "retain": True}


def streets():
    lines = [
        ("Osier Street", [(-6, 0), (167, 0)]),
        ("Withy Close", [(SIDE_S, 0), (SIDE_S, 102)]),
        ("Basket Lane", [(-6, -87), (110, -87)]),
        ("Weir Road", [(167, -50), (167, 50)]),
    ]
    for name, points in lines:
        yield {"at": STREET.straight(points), "name": name, "class": "residential", "width_m": 8.0, "surface": "asphalt"}


# --- services ------------------------------------------------------------------------------------------------------


def service(points, kind, owner, diameter_mm, cover_m, quality="B"):
    values = {"kind": kind, "owner": owner, "diameter_mm": diameter_mm, "cover_m": cover_m, "quality": quality}
    return {"at": STREET.straight(points), "status": "in service", **values}


def main_rows():
    yield service([(-6, 5.0), (163, 5.0)], "water", WATER, 125, 0.85)
    yield service([(-6, -5.0), (163, -5.0)], "gas", GAS, 63, 0.75)
    yield service([(-6, -7.3), (163, -7.3)], "electricity", POWER, 110, 0.65)
    yield service([(-6, 6.6), (163, 6.6)], "telecom", TELECOM, 100, None, "D")
    yield service([(-6, -3.0), (163, -3.0)], "stormwater", TOWN, 300, 0.80, "A")
    for off, kind, owner, diameter, cover, start in [
        (5.0, "water", WATER, 125, 0.8, 5.0),
        (-5.0, "gas", GAS, 63, 0.75, -5.0),
        (-7.0, "electricity", POWER, 110, 0.65, -7.3),
        (6.6, "telecom", TELECOM, 100, None, 6.6),
    ]:
        yield service([(SIDE_S + off, start), (SIDE_S + off, 100)], kind, owner, diameter, cover, "D" if cover is None else "B")
    yield service([(-6, -82.0), (110, -82.0)], "water", WATER, 125, 0.8)
    yield service([(-6, -33.0), (88, -33.0)], "telecom", TELECOM, 50, 0.45, "C")
    yield service([(173.0, -50), (173.0, 50)], "gas", GAS, 110, 0.8)


def stub_rows(rng):
    """Crossings of the street to its far side in pairs; pipes across the yards; connections on the near side."""
    for k, s in enumerate([14, 32, 50, 69, 84, 130, 147]):
        unknown = k % 3 == 2
        yield service([(s, 5.0), (s, -9)], "water", WATER, 32, 0.6, "B")
        yield service([(s + 0.6, -5.0), (s + 0.6, 9)], "gas", GAS, 25, None if unknown else 0.6, "D" if unknown else "B")
    for k, t in enumerate([52, 71, 89]):
        yield service([(SIDE_S + 5.0, t), (SIDE_S - 9, t)], "water", WATER, 32, 0.6, "B")
        yield service([(SIDE_S - 7.0, t + 0.6), (SIDE_S + 9, t + 0.6)], "electricity", POWER, 63, None if k == 1 else 0.6, "C")
    yield service([(27, -30), (27, -40)], "stormwater", None, 100, 0.45, "C")
    yield service([(73, -29), (73, -41)], "water", None, 25, None, None)
    yield service([(47, -45), (62, -45)], "electricity", None, 40, 0.5, "C")
    for lot_id, a, b, front, _, _ in LOTS:
        if lot_id[0] == "B":
            continue
        kind, owner, start = ("water", WATER, 5.0) if front > 0 else ("electricity", POWER, -7.3)
        s = rng.uniform(a + 4, b - 5)
        yield service([(s, start), (s, 14 if front > 0 else -14)], kind, owner, 32, 0.6, "C")


# --- routes and the old sewer --------------------------------------------------------------------------------------


def routes():
    for route_id, (points, joins) in ROUTES.items():
        yield {"at": STREET.straight(points), "route_id": route_id, "dn_mm": 150, "joins": joins}


def manholes():
    invert = round(ground_st(END_S, 0.8) - OUTFALL_DEPTH_M, 2)
    return [("OH-1", -44.0, round(invert + 0.4, 2)), ("OH-2", 0.8, invert), ("OH-3", 44.0, round(invert - 0.4, 2))]


def manhole_rows():
    for name, t, invert in manholes():
        cover = round(ground_st(END_S, t), 2)
        yield {"at": STREET.at(END_S, t), "manhole_id": name, "cover_level_m": cover, "invert_m": invert}


def sewer_rows():
    old = manholes()
    for (_, a, za), (_, b, zb) in zip(old, old[1:]):
        at = [(*STREET.at(END_S, a), za), (*STREET.at(END_S, b), zb)]
        yield {"at": at, "kind": "sewer", "owner": TOWN, "diameter_mm": 250, "quality": "B", "status": "in service"}


def write(path):
    rng = random.Random(20260303)
    site = Package(path, EPSG)
    site.layer("routes", "line", {"route_id": "text", "dn_mm": "int", "joins": "text"}, routes())
    columns = {"name": "text", "class": "text", "width_m": "real", "surface": "text"}
    site.layer("streets", "line", columns, streets())
    site.layer("lots", "polygon", {"lot_id": "text", "serve": "bool", "entry": "text"}, lot_rows())
    site.layer("buildings", "polygon", {"floor_m": "real"}, house_rows(rng))
    site.layer("surfaces", "polygon", {"surface": "text"}, surface_rows())
    site.layer("fences", "line", {"material": "text"}, fence_rows())
    site.layer("trees", "point", {"trunk_diameter_m": "real", "retain": "bool"}, tree_rows())
    site.layer("services", "line", SERVICE, [*main_rows(), *stub_rows(rng)])
    site.layer("sewers", "line-z", SERVICE, sewer_rows())
    site.layer("manholes", "point", {"manhole_id": "text", "cover_level_m": "real", "invert_m": "real"}, manhole_rows())
    corners = [STREET.at(s, t) for s in (-10, 178) for t in (-94, 106)]
    es, ns = zip(*corners)
    site.raster("ground", GridCells((min(es), min(ns), max(es), max(ns)), 2.0, ground))
