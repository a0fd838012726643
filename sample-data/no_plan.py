"""A site where no lawful plan exists: three short routes, each stopped by one plain thing.

N-YARDS: 74 m of lots where no pit may be dug, on a rig that reaches 60 m.
N-OUTFALL: the pipe that it must flow into lies too high for the cover asked.
N-CUTTING: a keepout right across the line.
"""

from sitekit import GridCells, Package, Street

EPSG = 32742
STREET = Street(east=413900.0, north=6395120.0, turn_deg=-8.0, first=1000.0, bend_deg=0.0, radius=1.0)
LOTS = [("N1", 0, 24, "yes"), ("N2", 24, 48, "no"), ("N3", 48, 72, "no"), ("N4", 72, 98, "no"), ("N5", 98, 122, "yes")]
OUTFALL_COVER_M = 0.55  # ground to crown at the end of N-OUTFALL; the job asks 0.90


def level_local(x, y):
    return 31.4 - 0.015 * x + 0.004 * y


def ground(e, n):
    return level_local(*STREET.from_grid(e, n))


def ground_st(s, t):
    return level_local(*STREET.local(s, t))


def routes(od_m, id_m):
    yield {
        "at": STREET.straight([(12, 30), (110, 30)]),
        "route_id": "N-YARDS",
        "outfall_invert_m": round(ground_st(110, 30) - 2.4, 2),
    }
    # invert = ground - cover - half the outside and half the inside diameter
    high = round(ground_st(60, 1) - OUTFALL_COVER_M - od_m / 2 - id_m / 2, 2)
    yield {"at": STREET.straight([(20, 1), (60, 1)]), "route_id": "N-OUTFALL", "outfall_invert_m": high}
    yield {
        "at": STREET.straight([(80, 1), (125, 1)]),
        "route_id": "N-CUTTING",
        "outfall_invert_m": round(ground_st(125, 1) - 2.2, 2),
    }


def write(path, od_m, id_m):
    site = Package(path, EPSG)
    site.layer("routes", "line", {"route_id": "text", "outfall_invert_m": "real"}, routes(od_m, id_m))
    street = {"at": STREET.straight([(-5, 0), (135, 0)]), "name": "Pallet Row", "class": "residential", "width_m": 7.0}
    site.layer("streets", "line", {"name": "text", "class": "text", "width_m": "real"}, [street])
    lots = [
        {"at": STREET.box(s0, s1, 7, 36), "lot_id": name, "serve": True, "entry": entry} for name, s0, s1, entry in LOTS
    ]
    site.layer("lots", "polygon", {"lot_id": "text", "serve": "bool", "entry": "text"}, lots)
    houses = [
        {"at": STREET.box(s0 + 2, s1 - 5, 12, 22), "floor_m": round(ground_st(s0 + 2, 12) + 0.3, 2)}
        for _, s0, s1, _ in LOTS
    ]
    site.layer("buildings", "polygon", {"floor_m": "real"}, houses)
    cutting = {"at": STREET.box(98, 106, -20, 6.5), "reason": "tramway cutting with ground anchors"}
    site.layer("keepouts", "polygon", {"reason": "text"}, [cutting])
    hard = [("asphalt", -5, 135, -3.5, 3.5), ("lawn", -5, 135, -20, 40)]
    site.layer("surfaces", "polygon", {"surface": "text"}, [{"at": STREET.box(*b), "surface": k} for k, *b in hard])
    columns = {"kind": "text", "diameter_mm": "real", "cover_m": "real", "quality": "text", "owner": "text"}
    water = {
        "at": STREET.straight([(-5, -2.6), (135, -2.6)]),
        "kind": "water",
        "diameter_mm": 177,
        "cover_m": 0.9,
        "quality": "B",
        "owner": "Brackwater Board",
    }
    site.layer("services", "line", columns, [water])
    corners = [STREET.at(s, t) for s in (-8, 138) for t in (-24, 44)]
    es, ns = zip(*corners)
    site.raster("ground", GridCells((min(es), min(ns), max(es), max(ns)), 2.0, ground))
