"""Ferny Bend: an invented street whose sewer follows a curve that was digitised with a vertex every 4 or 5 m.

Kept to its route (ferny-bend.job.toml) the sewer needs a manhole at every vertex of the curve. Where manholes may leave
the route by a metre (ferny-bend-corridor.job.toml) a few straight runs do.
On the straight part a water main and a gas main lie 1.2 m to either hand of the route for 43 m, and no pit fits between
them. Halfway the gas main swings out: a pit that steps half a metre aside from the water main fits there.
"""

import math
import random

from sitekit import SERVICE, GridCells, Package, Street

EPSG = 32742
STREET = Street(east=415600.0, north=6396400.0, turn_deg=-14.0, first=104.0, bend_deg=36.0, radius=100.0)
ROUTE_T = 0.6
OUTFALL_S, OUTFALL_DEPTH_M = 178.0, 2.8
CROSSED = [114.5, 127.5, 140.5, 153.5]  # s of what crosses the curve, midway between two vertices
WATER, GAS, POWER, TELECOM, TOWN = "Brackwater Board", "Lanthorn Gas", "Emberline Power", "Farspeak Cables", "Ferny Bend Township"


def level_local(x, y):
    return 39.5 - 0.025 * x + 0.004 * y + 0.05 * math.sin(x / 17.0) * math.cos(y / 29.0)


def ground(e, n):
    return level_local(*STREET.from_grid(e, n))


def ground_st(s, t):
    return level_local(*STREET.local(s, t))


def route_vertices():
    """s of the vertices: 5 m about whatever crosses the curve, 4 m elsewhere on it."""
    curve = sorted([104.0, 108.0, *(c + d for c in CROSSED for d in (-2.5, 2.5, 6.5)), 164.0, 168.0])
    return [4.0, 54.0, *curve, OUTFALL_S]


def routes():
    points = [(s, ROUTE_T) for s in route_vertices()]
    yield {"at": STREET.straight(points), "route_id": "BEND", "dn_mm": 150}


def streets():
    yield _street("Ferny Bend", STREET.along([(-6, 0), (180.5, 0)]))
    yield _street("Tollgate Road", STREET.straight([(180.5, -45), (180.5, 45)]))


def _street(name, at):
    return {"at": at, "name": name, "class": "residential", "width_m": 8.0, "lanes": 2, "surface": "asphalt"}


def lots():
    """(side, s from, s to): nine on either hand, of 18 m."""
    return [(side, 4.0 + 18.0 * k, 22.0 + 18.0 * k) for side in (1, -1) for k in range(9)]


def lot_rows():
    for number, (side, a, b) in enumerate(lots(), 1):
        entry = "no" if number % 4 == 0 else "yes"
        yield {"at": STREET.box(a, b, side * 8, side * 36), "lot_id": f"F{number}", "serve": True, "entry": entry}


def house_rows(rng):
    for side, a, b in lots():
        low, high, rear = a + 1.5, b - 3.4, rng.uniform(22.0, 25.0)
        ring = [(low, side * 13), (high, side * 13), (high, side * rear), (low, side * rear)]
        floor = round(max(ground_st(s, t) for s, t in ring) + 0.25, 2)
        yield {"at": STREET.ring(ring), "floor_m": floor}


def surface_rows():
    yield {"at": STREET.box(-6, 176.5, -4, 4), "surface": "asphalt"}
    yield {"at": STREET.straight([(176.5, -46), (184.5, -46), (184.5, 46), (176.5, 46), (176.5, -46)]), "surface": "asphalt"}
    yield {"at": STREET.box(-6, 176.5, 5.6, 7.0), "surface": "concrete"}
    for side, a, b in lots():
        yield {"at": STREET.box(b - 3.2, b - 0.4, side * 4, side * 18), "surface": "concrete"}
    for edges in [(-6, 176.5, 4, 8), (-6, 176.5, -8, -4), (4, 166, 8, 36), (4, 166, -36, -8)]:
        yield {"at": STREET.box(*edges), "surface": "lawn"}


def fence_rows():
    for number, (side, a, b) in enumerate(lots()):
        yield {"at": STREET.along([(a, side * 12), (a, side * 36)]), "material": ["timber", "metal"][number % 2]}
        yield {"at": STREET.along([(a, side * 36), (b, side * 36)]), "material": "timber"}


def tree_rows():
    for s, t in [(14, 7.7), (52, 7.7), (90, -7.7), (128, 7.7), (147, -7.7), (160, 7.7), (33, 29), (71, -30), (113, 30)]:
        yield {"at": STREET.at(s, t), "trunk_diameter_m": 0.3, "retain": True}


def service(points, kind, owner, diameter_mm, cover_m, quality="B", bent=True):
    at = STREET.along(points) if bent else STREET.straight(points)
    values = {"kind": kind, "owner": owner, "diameter_mm": diameter_mm, "cover_m": cover_m, "quality": quality}
    return {"at": at, "status": "in service", **values}


def main_rows():
    """The water main cuts in from 26 to 69 m, the gas main likewise but for a swing at 44 to 57 m."""
    near_left, near_right = ROUTE_T - 1.2, ROUTE_T + 1.2
    yield service([(-6, -3.7), (25, -3.7), (26.5, near_left), (69, near_left), (70.5, -3.7), (175, -3.7)], "water", WATER, 125, 0.95)
    swing = [(42, near_right), (43.5, 4.8), (57, 4.8), (58.5, near_right)]
    yield service(
        [(-6, 4.8), (25, 4.8), (26.5, near_right), *swing, (69, near_right), (70.5, 4.8), (175, 4.8)], "gas", GAS, 63, 0.8
    )
    yield service([(-6, -7.2), (175, -7.2)], "electricity", POWER, 110, 0.65)
    yield service([(-6, 6.6), (175, 6.6)], "telecom", TELECOM, 100, None, "D")
    yield service([(-6, -5.6), (104, -5.6)], "stormwater", TOWN, 300, 0.8)
    yield service([(104, -5.6), (175, -5.6)], "stormwater", TOWN, 375, 0.85, "A")
    yield service([(185.0, -45), (185.0, 45)], "water", WATER, 177, 0.9, bent=False)


def stub_rows(rng):
    """What crosses the street to the lots on its far side, and what serves the near side."""
    known = {"water": (32, 0.60, WATER), "gas": (25, 0.60, GAS), "electricity": (63, 0.65, POWER), "telecom": (50, 0.50, TELECOM)}
    for k, s in enumerate([11.0, 34.0, 40.0, 62.0, 66.0, 88.0, 99.0, *CROSSED]):
        kind = ["telecom", "water", "gas", "electricity"][k % 4]
        diameter, cover, owner = known[kind]
        ends = {"water": (-3.7, 9), "gas": (4.8, -9), "electricity": (-7.2, 9), "telecom": (6.6, -9)}[kind]
        unknown = k % 4 == 0
        yield service([(s, ends[0]), (s, ends[1])], kind, owner, diameter, None if unknown else cover, "D" if unknown else "B", False)
    for side, a, b in lots():
        kind = rng.choice(["water", "electricity"] if side < 0 else ["gas", "telecom"])
        diameter, cover, owner = known[kind]
        start = {"water": -3.7, "gas": 4.8, "electricity": -7.2, "telecom": 6.6}[kind]
        s = rng.uniform(a + 3, b - 5)
        # Where its main has left the verge the connection starts there all the same: an old one, left as it was.
        yield service([(s, start), (s, side * 13)], kind, owner, diameter, cover, "C", False)


def manholes():
    """The old sewer in Tollgate Road: the manhole that the route ends in and one on either hand."""
    invert = round(ground_st(OUTFALL_S, ROUTE_T) - OUTFALL_DEPTH_M, 2)
    return [("FB-1", -40.0, round(invert + 0.35, 2)), ("FB-2", ROUTE_T, invert), ("FB-3", 40.0, round(invert - 0.35, 2))]


def manhole_rows():
    for name, t, invert in manholes():
        cover = round(ground_st(OUTFALL_S, t), 2)
        yield {"at": STREET.at(OUTFALL_S, t), "manhole_id": name, "cover_level_m": cover, "invert_m": invert}


def sewer_rows():
    old = manholes()
    for (_, a, za), (_, b, zb) in zip(old, old[1:]):
        at = [(*STREET.at(OUTFALL_S, a), za), (*STREET.at(OUTFALL_S, b), zb)]
        yield {"at": at, "kind": "sewer", "owner": TOWN, "diameter_mm": 250, "quality": "B", "status": "in service"}


def write(path):
    rng = random.Random(20260202)
    site = Package(path, EPSG)
    site.layer("routes", "line", {"route_id": "text", "dn_mm": "int"}, routes())
    columns = {"name": "text", "class": "text", "width_m": "real", "lanes": "int", "surface": "text"}
    site.layer("streets", "line", columns, streets())
    site.layer("lots", "polygon", {"lot_id": "text", "serve": "bool", "entry": "text"}, lot_rows())
    site.layer("buildings", "polygon", {"floor_m": "real"}, house_rows(rng))
    site.layer("surfaces", "polygon", {"surface": "text"}, surface_rows())
    site.layer("fences", "line", {"material": "text"}, fence_rows())
    site.layer("trees", "point", {"trunk_diameter_m": "real", "retain": "bool"}, tree_rows())
    site.layer("services", "line", SERVICE, [*main_rows(), *stub_rows(rng)])
    site.layer("sewers", "line-z", SERVICE, sewer_rows())
    site.layer("manholes", "point", {"manhole_id": "text", "cover_level_m": "real", "invert_m": "real"}, manhole_rows())
    corners = [STREET.at(s, t) for s in (-8, 104, 140, 188) for t in (-48, 48)]
    es, ns = zip(*corners)
    site.raster("ground", GridCells((min(es), min(ns), max(es), max(ns)), 2.0, ground))
