"""Checks of the smaller sites, run by check_sample.py: what README.md says of Ferny Bend, Osier Hollow and no-plan/."""

import math

from check_read import Site, unknown_depth


def points(row):
    return [row["geom"].GetPoint_2D(i) for i in range(row["geom"].GetPointCount())]


def counts(site):
    refused = sum(lot["entry"] == "no" for lot in site.layers["lots"])
    services = site.layers["services"]
    return len(services), sum(map(unknown_depth, services)), len(site.layers["lots"]), refused


def off_chord(a, p, b):
    """Distance of p from the straight line a to b."""
    return abs((b[0] - a[0]) * (p[1] - a[1]) - (b[1] - a[1]) * (p[0] - a[0])) / math.dist(a, b)


def check_ferny_bend(site, check):
    check(counts(site) == (36, 4, 18, 4), f"Ferny Bend: services, unknown, lots, refused {counts(site)}")
    route = points(site.layers["routes"][0])
    bent = [k for k in range(1, len(route) - 1) if off_chord(route[k - 1], route[k], route[k + 1]) > 0.01]
    check(len(bent) == 16, f"Ferny Bend: {len(bent)} vertices that no straight run may pass on the route")
    sides = sorted({round(math.dist(a, b), 1) for a, b in zip(route[2:], route[3:])})
    check(3.5 < sides[0] and sides[-2] < 5.2, f"Ferny Bend: vertices of the bend {sides} m apart, the last to the outfall")
    head, unit = route[0], [(b - a) / math.dist(route[0], route[1]) for a, b in zip(route[0], route[1])]
    main = {s["kind"]: s for s in reversed(site.layers["services"]) if s["kind"] in ("water", "gas")}
    near = {kind: distances_along(s, head, unit, range(24, 64)) for kind, s in main.items()}
    check(all(abs(d - 1.2) < 0.01 for d in near["water"]), "Ferny Bend: the water main 1.2 m from the route for 39 m")
    swing = [d for d in near["gas"] if d > 3.0]
    check(10 <= len(swing) <= 13, f"Ferny Bend: the gas main swings out for {len(swing)} m")
    half = site.job["rig"]["reception_width_m"] / 2 + site.job["rules"]["clearance"]["water"]["pit_m"] + 0.0625
    check(1.2 < half <= 1.7, f"Ferny Bend: a pit needs {half:.2f} m to the water main, has 1.2, and 1.7 half a metre aside")


def distances_along(service, head, unit, chainages):
    """Distance of a service from points of the straight first part of the route, at metres from its head."""
    out = []
    for s in chainages:
        at = type(service["geom"])(1)
        at.AddPoint_2D(head[0] + unit[0] * s, head[1] + unit[1] * s)
        out.append(service["geom"].Distance(at))
    return out


def check_osier_hollow(site, check):
    check(counts(site) == (50, 6, 25, 4), f"Osier Hollow: services, unknown, lots, refused {counts(site)}")
    routes = {r["route_id"]: r for r in site.layers["routes"]}
    joins = {name: r["joins"] for name, r in routes.items()}
    check(joins == {"STREET": None, "CLOSE": "STREET", "YARDS": "STREET", "RANK": "YARDS"}, f"Osier Hollow: {joins}")
    for name, parent in joins.items():
        if parent:
            end = type(routes[name]["geom"])(1)
            end.AddPoint_2D(*points(routes[name])[-1])
            gap = end.Distance(routes[parent]["geom"])
            check(gap <= site.job["search"]["snap_m"], f"Osier Hollow: {name} ends {gap:.3f} m from {parent}")


def check_no_plan(folder, check):
    house = Site(folder, "house-across")
    route = house.layers["routes"][0]
    cellars = [b for b in house.layers["buildings"] if b["geom"].Intersects(route["geom"])]
    fall = cellars[0]["foundation_depth_m"] if cellars else 0.0
    lowest = min(house.ground(*p) for p in _ring(cellars[0])) - fall if cellars else math.inf
    under = lowest - house.job["rules"]["clearance"]["building"] - house.od()
    check(under < route["outfall_invert_m"], f"house-across: under the cellar {under:.2f}, outfall {route['outfall_invert_m']}")
    lots = Site(folder, "lots-without-entry")
    line = lots.layers["routes"][0]["geom"]
    barred = sum(line.Intersection(p["geom"]).Length() for p in lots.layers["lots"] if p["entry"] == "no")
    check(barred > lots.job["rig"]["reach_m"], f"lots-without-entry: {barred:.1f} m without entry")
    high = Site(folder, "high-outfall")
    route = high.layers["routes"][0]
    cover = high.ground(*points(route)[-1]) - route["outfall_invert_m"] - high.crown_over_invert()
    check(cover < high.job["rules"]["min_cover_m"], f"high-outfall: {cover:.2f} m of cover")


def _ring(row):
    ring = row["geom"].GetGeometryRef(0)
    return [ring.GetPoint_2D(i) for i in range(ring.GetPointCount())]


def check_demos(folder, check):
    check_ferny_bend(Site(folder, "ferny-bend"), check)
    check_osier_hollow(Site(folder, "osier-hollow"), check)
    check_no_plan(folder / "no-plan", check)
