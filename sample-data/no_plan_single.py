"""Three tiny sites without a lawful plan, one route and one plain reason each, for `no-plan/`.

house-across      a house with a cellar stands on the line; the sewer would have to pass under it deeper than its outfall
lots-without-entry 70 m of lots that may not be entered, on a rig that reaches 60 m
high-outfall      the pipe that it must flow into lies too high for the cover asked
"""

from sitekit import GridCells, Package, Street

EPSG = 32742
STREET = Street(east=419000.0, north=6399100.0, turn_deg=5.0, first=1000.0, bend_deg=0.0, radius=1.0)


def level_local(x, y):
    return 24.0 - 0.016 * x + 0.003 * y


def ground(e, n):
    return level_local(*STREET.from_grid(e, n))


def ground_st(s, t):
    return level_local(*STREET.local(s, t))


def house(a, b, t0, t1, foundation_depth_m=None):
    floor = round(max(ground_st(s, t) for s in (a, b) for t in (t0, t1)) + 0.3, 2)
    return {"at": STREET.box(a, b, t0, t1), "floor_m": floor, "foundation_depth_m": foundation_depth_m}


def lot(name, a, b, entry="yes"):
    return {"at": STREET.box(a, b, 7, 36), "lot_id": name, "serve": True, "entry": entry}


def invert_below(point, depth_m):
    return round(ground_st(*point) - depth_m, 2)


def sites(od_m, id_m):
    """Name to (route points, outfall invert, lots, houses)."""
    yards = [(8, 30), (58, 30)]
    three = [lot("P1", 0, 22), lot("P2", 22, 44), lot("P3", 44, 66)]
    across = [house(2, 17, 11, 22), house(24, 38, 14, 32, foundation_depth_m=3.0), house(46, 61, 11, 22)]
    yield "house-across", yards, invert_below(yards[-1], 2.4), three, across
    refused = [lot("P1", 0, 22), lot("P2", 22, 46, "no"), lot("P3", 46, 70, "no"), lot("P4", 70, 92, "no"), lot("P5", 92, 114)]
    homes = [house(a + 2, a + 17, 11, 22) for a in (0, 22, 46, 70, 92)]
    yield "lots-without-entry", [(10, 30), (104, 30)], invert_below((104, 30), 2.4), refused, homes
    # invert = ground - cover - half the outside and half the inside diameter: 0.50 m of cover where 0.90 is asked
    street = [(8, 1), (58, 1)]
    yield "high-outfall", street, invert_below(street[-1], 0.50 + od_m / 2 + id_m / 2), three, [house(2, 17, 11, 22)]


def write(folder, od_m, id_m, job):
    """Every site with its job file; `job` is the text of one but for the name."""
    folder.mkdir(exist_ok=True)
    for name, points, invert, lots, houses in sites(od_m, id_m):
        _write(str(folder / f"{name}.gpkg"), points, invert, lots, houses)
        (folder / f"{name}.job.toml").write_text(job.format(name=name))


def _write(path, points, invert, lots, houses):
    end = max(s for s, _ in points) + 14
    site = Package(path, EPSG)
    route = {"at": STREET.straight(points), "route_id": "ONLY", "outfall_invert_m": invert}
    site.layer("routes", "line", {"route_id": "text", "outfall_invert_m": "real"}, [route])
    street = {"at": STREET.straight([(-4, 0), (end, 0)]), "name": "Pallet Row", "width_m": 7.0}
    site.layer("streets", "line", {"name": "text", "width_m": "real"}, [street])
    site.layer("lots", "polygon", {"lot_id": "text", "serve": "bool", "entry": "text"}, lots)
    site.layer("buildings", "polygon", {"floor_m": "real", "foundation_depth_m": "real"}, houses)
    hard = [("asphalt", -4, end, -3.5, 3.5), ("lawn", -4, end, -10, 38)]
    site.layer("surfaces", "polygon", {"surface": "text"}, [{"at": STREET.box(*b), "surface": k} for k, *b in hard])
    columns = {"kind": "text", "diameter_mm": "real", "cover_m": "real", "quality": "text", "owner": "text"}
    water = {"kind": "water", "diameter_mm": 125, "cover_m": 0.9, "quality": "B", "owner": "Brackwater Board"}
    site.layer("services", "line", columns, [{"at": STREET.straight([(-4, -2.6), (end, -2.6)]), **water}])
    es, ns = zip(*[STREET.at(s, t) for s in (-7, end + 3) for t in (-13, 41)])
    site.raster("ground", GridCells((min(es), min(ns), max(es), max(ns)), 2.0, ground))
