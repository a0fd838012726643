"""Wattle Rise: an invented infill subdivision on an invented slope, drawn in street coordinates.

(s, t): metres down Quillback Street from its upper end, metres to the right of its centre line.
Nothing here is a real place, name, owner or record; the grid coordinates lie in open ocean on purpose.
"""

import math
import random

import sitekit
from sitekit import GridCells, Package, Street

EPSG = 32742
STREET = Street(east=412380.0, north=6394250.0, turn_deg=23.7, first=70.0, bend_deg=35.0, radius=90.0)
SERVICE = {**sitekit.SERVICE, "material": "text"}
WATER, GAS, POWER = "Brackwater Board", "Lanthorn Gas", "Emberline Power"
TELECOM, TOWN, FUEL = "Farspeak Cables", "Wattle Rise Township", "Tessel Fuel Lines"


# --- ground --------------------------------------------------------------------------------------------------------


def level_local(x, y):
    """Ground: 2 % down the slope, 0.6 % across it, a few gentle folds."""
    folds = 0.10 * math.sin(x / 15.1 + 0.6) * math.cos(y / 40.0) + 0.02 * math.sin(x / 3.7 + y / 4.9)
    return 48.6 - 0.021 * x + 0.006 * y + folds


def ground(e, n):
    return level_local(*STREET.from_grid(e, n))


def ground_st(s, t):
    return level_local(*STREET.local(s, t))


# --- lots and what stands on them ----------------------------------------------------------------------------------

# id, s from, s to, serve, entry. R to the right of the street (to 40 m), L to the left (to 38 m).
LOTS = [
    ("R1", 6.0, 25.8, True, "yes"),
    ("R2", 25.8, 45.6, True, "no"),
    ("R3", 45.6, 65.4, True, "yes"),
    ("R4", 65.4, 85.2, False, "no"),
    ("R5", 85.2, 105.2, True, "yes"),
    ("R6", 105.2, 125.1, True, "yes"),
    ("R7", 125.1, 145.0, True, "yes"),
    ("R8", 149.0, 165.5, True, "no"),
    ("R9", 165.5, 182.0, True, "yes"),
    ("L1", 6.0, 28.0, False, "no"),
    ("L2", 28.0, 50.0, True, "yes"),
    ("L3", 50.0, 72.0, True, "yes"),
    ("L4", 72.0, 94.0, True, "yes"),
    ("L5", 94.0, 116.0, True, "yes"),
    ("L6", 116.0, 138.0, True, "no"),
    ("L7", 138.0, 160.0, True, "yes"),
    ("L8", 160.0, 182.0, False, "no"),
]
DEEP_FOUNDATION = {"R7": 3.2}
NO_FLOOR = {"R4", "L1", "L6"}


def lots():
    for lot_id, s0, s1, serve, entry in LOTS:
        edge = (8.0, 40.0) if lot_id[0] == "R" else (-38.0, -8.0)
        low = (
            None
            if lot_id in ("R4", "L8")
            else round(min(ground_st(s, t) for s in (s0, s1) for t in (edge[0], edge[1])) - 0.05, 2)
        )
        yield {"at": STREET.box(s0, s1, *edge), "lot_id": lot_id, "serve": serve, "entry": entry, "low_level_m": low}


def houses(rng):
    """Outline in (s, t) of every house: front, a rear wing, the rest open to the yard."""
    for lot_id, s0, s1, _, _ in LOTS:
        rear, wing = 24.0 + rng.choice([0.0, 0.6, 1.2]), 26.0 + rng.choice([0.0, 0.5, 1.0])
        # Right: a drive passes beside the house. Left: house beside house, 2.2 m apart, so no digger reaches those yards.
        a, b, side = (s0 + 1.2, s1 - 3.8, 1) if lot_id[0] == "R" else (s0 + 1.1, s1 - 1.1, -1)
        split = a + (b - a) * rng.choice([0.4, 0.5, 0.6])
        yield lot_id, [
            (a, side * 14),
            (b, side * 14),
            (b, side * rear),
            (split, side * rear),
            (split, side * wing),
            (a, side * wing),
        ]


def buildings(rng):
    for lot_id, outline in houses(rng):
        floor = round(max(ground_st(s, t) for s, t in outline) + rng.choice([0.15, 0.25, 0.35]), 2)
        yield {
            "at": STREET.ring(outline),
            "floor_m": None if lot_id in NO_FLOOR else floor,
            "foundation_depth_m": DEEP_FOUNDATION.get(lot_id),
        }
    # A flat behind L2 and a workshop behind L8 close the row of left yards at both ends.
    for s0, s1, t0, t1 in [
        (40, 46, -38.2, -27.8),
        (163.5, 168.5, -33.8, -27.6),
        (9, 14, 36, 39),
        (72, 76, 35.5, 38.5),
        (159, 162, 36.5, 39),
    ]:
        floor = round(max(ground_st(s, t) for s in (s0, s1) for t in (t0, t1)) + 0.1, 2)
        yield {"at": STREET.box(s0, s1, t0, t1), "floor_m": floor, "foundation_depth_m": 0.3}


def surfaces():
    """What lies on the ground. The first by fid wins, so the hard things come first and lawn fills the rest."""

    def box(surface, *edges):
        return {"at": STREET.box(*edges), "surface": surface}

    yield box("asphalt", -12, 190, -4, 4)
    yield box("asphalt", 190, 197, -60, 60)
    for edges in [
        (-12, 184, -6.8, -5.4),
        (-12, 184, 5.6, 7.0),
        (145.9, 148.1, 7, 40),
        (184, 185.4, -60, -4),
        (184, 185.4, 4, 60),
    ]:
        yield box("concrete", *edges)
    for lot_id, s0, s1, _, _ in LOTS:
        yield (
            box("concrete", s1 - 3.4, s1 - 0.4, 4, 22)
            if lot_id[0] == "R"
            else box("concrete", s0 + 1.5, s0 + 4.7, -14, -4)
        )
    for lot_id, s0, s1, _, _ in LOTS:
        side = (26.0, 29.5) if lot_id[0] == "R" else (-30.0, -26.0)
        yield box("paving", s0 + 6, s0 + 12, *side)
    yield box("gravel", -12, 190, 41, 46)
    for number, (lot_id, s0, s1, _, _) in enumerate(LOTS):
        front = (8.0, 10.0) if lot_id[0] == "R" else (-10.0, -8.0)
        yield box("garden", s0, s1, *front)
        if number % 3 == 0:
            rear = (36.5, 40.0) if lot_id[0] == "R" else (-38.0, -36.8)
            yield box("garden", s0, s1, *rear)
    yield box("bare", -12, 190, -60, -38)
    for lot_id, s0, s1, _, _ in LOTS:
        yield box("lawn", s0, s1, 8, 40) if lot_id[0] == "R" else box("lawn", s0, s1, -38, -8)
    for edges in [
        (-12, 190, 4, 8),
        (-12, 190, -8, -4),
        (-12, 6, 8, 41),
        (-12, 6, -38, -8),
        (182, 190, 8, 41),
        (182, 190, -38, -8),
        (145, 149, 8, 40),
        (6, 182, 40, 41),
        (-12, 190, 46, 60),
        (197, 202, -60, 60),
    ]:
        yield box("lawn", *edges)


def fences():
    def line(material, *points):
        return {"at": STREET.along(points), "material": material}

    timber_or_metal = ["timber", "timber", "metal"]
    for number, (lot_id, s0, s1, _, _) in enumerate(LOTS):
        near, far = (12, 40) if lot_id[0] == "R" else (-12, -38)
        material = "asbestos-cement" if lot_id == "R7" else timber_or_metal[number % 3]
        yield line(material, (s0, near), (s0, far))
        yield line("metal" if lot_id[0] == "L" else "timber", (s0, far), (s1, far))
    for s0, s1, t in [(6, 25.8, 8.2), (75.5, 94, -8.2), (31, 50, -8.2)]:
        yield line("masonry", (s0, t), (s1, t))


def trees(rng):
    """Street trees and yard trees. The last is the old tree of the keepout's neck."""
    places = [
        (20, -7.6, True),
        (58, -7.6, True),
        (101, -7.6, True),
        (150, -7.6, True),
        (33, 7.6, True),
        (66, 7.6, False),
        (111, 7.6, True),
        (171, 7.6, True),
        (18, 30, True),
        (38, 33, False),
        (57, 31, True),
        (99, 29.6, True),
        (119, 38, True),
        (135, 30.2, True),
        (156, 29.5, False),
        (173, 36.8, True),
        (14, -31, True),
        (62, -31.2, True),
        (88, -30.5, True),
        (104, -37.2, True),
        (126, -32.6, True),
        (149, -30.4, True),
        (177, -31, False),
        (24, 50, True),
        (54, 39.2, True),
    ]
    for s, t, retain in places:
        yield {
            "at": STREET.at(s, t),
            "trunk_diameter_m": rng.choice([0.15, 0.2, 0.25, 0.3, 0.4, 0.55]),
            "retain": retain,
        }
    yield {"at": STREET.at(166, -41.5), "trunk_diameter_m": 0.95, "retain": True}
    yield {"at": STREET.at(90, -43), "retain": True}  # trunk not measured


def keepouts():
    ring = [(30, -39.5), (163, -39.5), (163, -36.2), (169, -36.2), (169, -39.5), (172, -39.5), (172, -56), (30, -56)]
    yield {"at": STREET.ring(ring), "reason": "remnant woodland, listed; no digging and no bore beneath it"}


# --- streets, routes, manholes -------------------------------------------------------------------------------------


def streets():
    yield {
        "at": STREET.along([(-12, 0), (193.5, 0)]),
        "name": "Quillback Street",
        "class": "residential",
        "width_m": 8.0,
        "lanes": 2,
        "surface": "asphalt",
    }
    yield {
        "at": STREET.straight([(193.5, -60), (193.5, 60)]),
        "name": "Sedgewren Road",
        "class": "collector",
        "width_m": 7.0,
        "lanes": 2,
        "surface": "asphalt",
    }
    yield {
        "at": STREET.along([(-12, 43.5), (190, 43.5)]),
        "name": "Mudlark Lane",
        "class": "service",
        "width_m": 5.0,
        "lanes": 1,
        "surface": "gravel",
    }


# manhole, t on Sedgewren Road (s = 191), depth to invert
EXISTING = [
    ("EX-10", -56.0, 2.50),
    ("EX-11", -35.0, 2.60),
    ("EX-12", 0.5, 2.75),
    ("EX-13", 34.0, 2.80),
    ("EX-14", 55.0, 2.85),
]
ROUTES = {
    "STREET": [(20, 0.5), (79, 0.5), (116, 0.5), (191, 0.5)],
    "YARDS": [(56, -35.0), (80, -35.0), (112, -35.0), (191, -35.0)],
    "PATH": [(92, 34.0), (113, 34.0), (191, 34.0)],
    "LANE": [(4, 43.2), (36, 44.0), (66, 44.0)],
}
# Where LANE ends a pipe is to be laid that is not there yet: a fixed invert, no manhole.
LANE_OUTFALL_DEPTH_M = 2.90


def existing_inverts():
    return {name: round(ground_st(191, t) - depth, 2) for name, t, depth in EXISTING}


def manholes():
    inverts = existing_inverts()
    for name, t, _ in EXISTING:
        yield {
            "at": STREET.at(191, t),
            "manhole_id": name,
            "cover_level_m": round(ground_st(191, t), 2),
            "invert_m": inverts[name],
        }


def routes():
    for route_id, points in ROUTES.items():
        outfall = round(ground_st(*points[-1]) - LANE_OUTFALL_DEPTH_M, 2) if route_id == "LANE" else None
        yield {"at": STREET.straight(points), "route_id": route_id, "dn_mm": 150, "outfall_invert_m": outfall}


# --- services ------------------------------------------------------------------------------------------------------


def main(points, kind, owner, diameter_mm, material, quality=None, cover_m=None, status="in service", bent=True):
    at = STREET.along(points) if bent else STREET.straight(points)
    return {
        "at": at,
        "kind": kind,
        "owner": owner,
        "diameter_mm": diameter_mm,
        "material": material,
        "quality": quality,
        "cover_m": cover_m,
        "status": status,
    }


def water_mains():
    yield main([(-12, 5.0), (60, 5.0)], "water", WATER, 177, "ductile iron", "B", 0.95)
    yield main([(60, 5.0), (195.8, 5.0)], "water", WATER, 177, "ductile iron", "C", 0.95)
    yield main([(195.8, -60), (195.8, 60)], "water", WATER, 122, "PVC-U", "C", 0.85)
    yield main([(-12, 3.3), (185, 3.3)], "water", WATER, 121, "asbestos cement", "D", None, "abandoned")
    yield main([(100, -3.4), (100, 5.0)], "water", WATER, 121, "cast iron", "D", 0.8, "removed")
    yield main([(-12, 5.9), (184, 5.9)], "recycled-water", WATER, 63, "PE", "C", 0.7)
    yield main([(147.6, 8), (147.6, 52)], "recycled-water", WATER, 63, "PE", None, None)
    yield main([(20, 36), (20, 60)], "recycled-water", WATER, 40, "PE", "D", None)


def gas_mains():
    yield main([(-12, -4.8), (188, -4.8)], "gas", GAS, 63, "PE", "B", 0.75)
    yield main([(146.3, 8), (146.3, 60)], "gas", GAS, 110, "PE", "B", 0.8)
    yield main([(188, -60), (188, -4.8)], "gas", GAS, 110, "steel", "C", 0.8)


def power():
    yield main([(-12, -7.4), (187, -7.4)], "electricity", POWER, 110, "PVC-U duct", "B", 0.6)
    for s, quality, cover in [(45.6, "B", 0.75), (85.2, "B", 0.75), (125.1, "C", 0.75), (165.5, None, None)]:
        yield main([(s, -7.4), (s, 8)], "electricity", POWER, 110, "PVC-U duct", quality, cover, bent=False)
    yield main([(146.9, 8), (146.9, 60)], "electricity", POWER, 160, "PVC-U duct", "C", None)


def telecom():
    yield main([(-12, 6.8), (184, 6.8)], "telecom", TELECOM, 100, "PVC-U duct", "D", None)
    yield main([(-12, -6.4), (184, -6.4)], "telecom", TELECOM, 100, "PVC-U duct", "C", None)
    for s, quality, cover in [(34, "B", 0.5), (92, "D", None), (134, "B", 0.5), (172, "D", None)]:
        yield main([(s, -6.4), (s, 6.8)], "telecom", TELECOM, 50, "PVC-U duct", quality, cover, bent=False)
    yield main([(145.7, 8), (145.7, 60)], "telecom", TELECOM, 100, "PVC-U duct", None, None)


def connections():
    """House connections that cross the street or a yard."""
    unknown_water, unknown_gas = {"L3", "L5"}, {"R6"}
    for lot_id, s0, s1, _, _ in LOTS:
        if lot_id[0] == "L":
            s = 150.0 if lot_id == "L7" else s0 + 3.0
            known = lot_id not in unknown_water
            yield main(
                [(s, 5.0), (s, -9)], "water", WATER, 32, "PE", "B" if known else "D", 0.6 if known else None, bent=False
            )
        else:
            s, known = s1 - 2.0, lot_id not in unknown_gas
            yield main(
                [(s, -4.8), (s, 9)], "gas", GAS, 25, "PE", "B" if known else "D", 0.6 if known else None, bent=False
            )
    yield main([(97, -30), (97, -39)], "stormwater", None, 100, "PVC-U", "C", 0.45, bent=False)
    yield main([(145, -26), (145, -38)], "water", None, 25, "PE", None, None, bent=False)
    yield main([(120, 27), (120, 40)], "other", None, None, None, None, None, bent=False)


def pipelines():
    yield main([(190, 40.5), (53, 40.5), (44, 47.6), (-12, 47.6)], "fuel", FUEL, 219, "steel", "A", 1.10)


def with_levels(points, inverts, **values):
    """A straight line of (s, t) vertices with an invert at each."""
    at = [(*STREET.at(s, t), z) for (s, t), z in zip(points, inverts)]
    return {"at": at, **values}


def stormwater():
    """The drain of the street, the culvert under it and down the path: surveyed inverts, Z = invert."""
    pipe = {"kind": "stormwater", "owner": TOWN, "status": "in service", "material": "concrete"}
    upper = [(16, -2.6), (45, -2.6), (70, -2.6), (88, -2.6), (106, -2.6), (125, -2.6), (138, -2.6)]
    depths = [1.45, 1.50, 1.52, 1.55, 1.60, 1.66, 1.72]
    yield with_levels(upper, _inverts(upper, depths), diameter_mm=450, quality="B", **pipe)
    lower = [(138, -2.6), (147.0, 7.2), (147.0, 40), (147.0, 60)]
    yield with_levels(lower, _inverts(lower, [1.72, 1.76, 1.80, 1.82]), diameter_mm=534, quality="A", **pipe)


def _inverts(points, depths):
    return [round(ground_st(s, t) - depth, 2) for (s, t), depth in zip(points, depths)]


def sewers():
    """The sewer in Sedgewren Road, from manhole to manhole, Z = invert."""
    inverts = existing_inverts()
    for (a, ta, _), (b, tb, _) in zip(EXISTING, EXISTING[1:]):
        yield with_levels(
            [(191, ta), (191, tb)],
            [inverts[a], inverts[b]],
            kind="sewer",
            owner=TOWN,
            diameter_mm=250,
            quality="B",
            status="in service",
            material="PVC-U",
        )


# --- the file ------------------------------------------------------------------------------------------------------


def write(path):
    rng = random.Random(20260101)
    site = Package(path, EPSG)
    site.layer("routes", "line", {"route_id": "text", "dn_mm": "int", "outfall_invert_m": "real"}, routes())
    site.layer(
        "streets",
        "line",
        {"name": "text", "class": "text", "width_m": "real", "lanes": "int", "surface": "text"},
        streets(),
    )
    site.layer("lots", "polygon", {"lot_id": "text", "serve": "bool", "entry": "text", "low_level_m": "real"}, lots())
    site.layer("buildings", "polygon", {"floor_m": "real", "foundation_depth_m": "real"}, buildings(rng))
    site.layer("surfaces", "polygon", {"surface": "text"}, surfaces())
    site.layer("fences", "line", {"material": "text"}, fences())
    site.layer("trees", "point", {"trunk_diameter_m": "real", "retain": "bool"}, trees(rng))
    for name, form, rows in [
        ("water_mains", "line", water_mains),
        ("gas_mains", "line", gas_mains),
        ("power_cables", "line", power),
        ("telecom_ducts", "line", telecom),
        ("house_connections", "line", connections),
        ("pipelines", "line", pipelines),
        ("storm_drains", "line-z", stormwater),
        ("sewers", "line-z", sewers),
    ]:
        site.layer(name, form, SERVICE, rows())
    site.layer("manholes", "point", {"manhole_id": "text", "cover_level_m": "real", "invert_m": "real"}, manholes())
    site.layer("keepouts", "polygon", {"reason": "text"}, keepouts())
    site.raster("ground", GridCells(grid_box(), 1.0, ground))


def grid_box():
    """All that is drawn, and a little more."""
    corners = [STREET.at(s, t) for s in (-14, 70, 98, 125, 204) for t in (-62, 62)]
    es, ns = zip(*corners)
    return min(es) - 2, min(ns) - 2, max(es) + 2, max(ns) + 2
