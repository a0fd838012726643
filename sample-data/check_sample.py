"""Check that the sample sites hold what README.md says they hold: `/usr/bin/python3 sample-data/check_sample.py [FOLDER]`.

Reads the files, not the scripts that drew them. Simple sums, not the planner: a level profile at the flattest grade up
from the outfall, ceilings from cover and from mains of known depth. Exit 1 if anything is not as claimed.
"""

import collections
import math
import pathlib
import sys

from osgeo import ogr

from check_demos import check_demos
from check_read import Site, point_at, unknown_depth, vertex_chainages

KINDS = {"water", "gas", "electricity", "telecom", "sewer", "stormwater", "recycled-water", "fuel", "other"}
SURFACES = {"asphalt", "concrete", "paving", "lawn", "garden", "gravel"}
failures = []


def check(holds, words):
    print(("ok    " if holds else "NOT SO ") + words)
    if not holds:
        failures.append(words)


# --- counts --------------------------------------------------------------------------------------------------------


def check_counts(site):
    services, layers = site.services, site.layers
    check(12 <= len(layers["lots"]) <= 20, f"{len(layers['lots'])} lots")
    entries = collections.Counter(lot["entry"] for lot in layers["lots"])
    check(entries["yes"] and entries["no"], f"entry: {dict(entries)}")
    kinds = collections.Counter(s["kind"] for s in services)
    check(set(kinds) == KINDS, f"{len(services)} services of every kind: {dict(sorted(kinds.items()))}")
    levels = collections.Counter(s["quality"] or "unknown" for s in services)
    check(set(levels) == {"A", "B", "C", "D", "unknown"}, f"every location quality: {dict(sorted(levels.items()))}")
    states = collections.Counter(s["status"] for s in services)
    check(states["abandoned"] == 1 and states["removed"] == 1, f"one abandoned, one removed: {dict(states)}")
    without = sum(map(unknown_depth, services))
    check(without >= 8, f"{without} services of unknown depth")
    fences = collections.Counter(f["material"] for f in layers["fences"])
    check({"timber", "metal", "masonry"} <= set(fences) and fences["asbestos-cement"] == 1, f"fences: {dict(fences)}")
    floors = [b["floor_m"] for b in layers["buildings"]]
    check(None in floors and any(floors), f"{len(floors)} buildings, {floors.count(None)} without a floor level")
    deep = [b["fid"] for b in layers["buildings"] if (b["foundation_depth_m"] or 0) > 2]
    check(len(deep) == 1, f"one deep foundation: buildings fid {deep}")
    retained = collections.Counter(t["retain"] for t in layers["trees"])
    check(retained[1] and retained[0], f"trees retained or not: {dict(retained)}")
    check(SURFACES <= {s["surface"] for s in layers["surfaces"]}, f"{len(layers['surfaces'])} surfaces of every kind")
    check(len(layers["keepouts"]) == 1, "one keepout")


def check_ground(site):
    """Ground everywhere that a service, a building or a route has a vertex; `ground` asserts it."""
    count = 0
    for rows in [*site.layers.values()]:
        for row in rows:
            ring = row["geom"].GetGeometryRef(0) if row["geom"].GetGeometryName() == "POLYGON" else row["geom"]
            for i in range(ring.GetPointCount()):
                site.ground(*ring.GetPoint_2D(i))
                count += 1
    check(count > 0, f"ground under all {count} vertices")


def check_tiling(site):
    """Every second metre of every lot, street and route lies on a mapped surface."""
    mapped = ogr.Geometry(ogr.wkbMultiPolygon)
    for s in site.layers["surfaces"]:
        mapped.AddGeometry(s["geom"])
    mapped = mapped.UnionCascaded()
    holes = [row["lot_id"] for row in site.layers["lots"] if row["geom"].Difference(mapped).Area() > 0.01]
    check(not holes, f"surfaces cover every lot ({holes or 'none left out'})")
    off = [r["route_id"] for r in site.layers["routes"] if not mapped.Buffer(0.01).Contains(r["geom"])]
    check(not off, f"surfaces lie under every route ({off or 'none off'})")


# --- levels --------------------------------------------------------------------------------------------------------


def crossings(site, line):
    """(chainage, service) wherever a service that is there crosses the route in plan, by chainage."""
    found = []
    for service in site.services:
        if service["status"] == "removed":
            continue
        meets = line.Intersection(service["geom"])
        parts = [meets.GetGeometryRef(i) for i in range(meets.GetGeometryCount())] or [meets]
        for part in parts:
            if part.GetGeometryName() == "POINT" and not part.IsEmpty():
                found.append((chainage_of(line, part.GetPoint_2D(0)), service))
    return sorted(found, key=lambda f: f[0])


def chainage_of(line, point):
    points = [line.GetPoint_2D(i) for i in range(line.GetPointCount())][::-1]
    best, walked = (math.inf, 0.0), 0.0
    for a, b in zip(points, points[1:]):
        part = math.dist(a, b)
        t = sum((p - q) * (r - q) for p, q, r in zip(point, a, b)) / part**2
        t = min(max(t, 0.0), 1.0)
        foot = tuple(q + t * (r - q) for q, r in zip(a, b))
        best = min(best, (math.dist(foot, point), walked + t * part))
        walked += part
    return best[1]


def top_and_bottom(site, service, point):
    """Levels of the service's outside where it passes a plan point; None for unknown depth."""
    d = (service["diameter_mm"] or 100) / 1000
    if service["cover_m"] is not None and not service["geom"].Is3D():
        top = site.ground(*point) - service["cover_m"]
        return top, top - d
    if not service["geom"].Is3D():
        return None
    line, best = service["geom"], (math.inf, 0.0)
    for i in range(line.GetPointCount() - 1):
        a, b = line.GetPoint(i), line.GetPoint(i + 1)
        part = math.dist(a[:2], b[:2])
        t = min(max(sum((p - q) * (r - q) for p, q, r in zip(point, a, b)) / part**2, 0.0), 1.0)
        foot = [q + t * (r - q) for q, r in zip(a, b)]
        best = min(best, (math.dist(foot[:2], point), foot[2]))
    bottom = best[1] if service["z_means"] == "invert" else best[1] - d
    return bottom + d, bottom


def invert_ceilings(site, line):
    """Highest invert by cover every metre, and by each known crossing that cannot be passed over: lists of (chainage, invert, words)."""
    job, over = site.job, site.crown_over_invert()
    by_cover = []
    for k in range(math.floor(line.Length()) + 1):
        point = point_at(line, k)
        by_cover.append((k, site.ground(*point) - job["rules"]["min_cover_m"] - over, "cover"))
    by_main = []
    half_cut = (site.od() + job["rig"]["overcut_mm"] / 1000) / 2
    for chainage, service in crossings(site, line):
        point = point_at(line, chainage)
        levels = top_and_bottom(site, service, point)
        if levels is None or chainage < job["search"]["snap_m"]:
            continue
        vertical = job["rules"]["quality"][service["quality"] or "unknown"]["vertical_m"]
        room = job["rules"]["clearance"][service["kind"]]["crossing_m"] + math.hypot(vertical, 0.03)
        centre_over_invert = job["pipe"]["id_mm"] / 2000
        highest_under = levels[1] - room - half_cut - centre_over_invert
        lowest_over = levels[0] + room + half_cut - centre_over_invert
        passes_over = lowest_over <= site.ground(*point) - job["rules"]["min_cover_m"] - over
        by_main.append(
            (chainage, highest_under, f"{service['layer']} fid {service['fid']} ({service['kind']})", passes_over)
        )
    return by_cover, by_main


def lowest_profile(site, line, outfall):
    """Invert at a chainage of the flattest pipe up from the outfall, with the least drop at every bend."""
    grade = site.job["rules"]["min_grade"]["150"]
    drop = site.job["rules"]["manhole_drop_m"]
    bends = vertex_chainages(line)[1:-1]
    return lambda chainage: outfall + grade * chainage + drop * sum(chainage > b for b in bends)


def check_levels(site, route):
    line, name, outfall = route["geom"], route["route_id"], site.outfall(route)
    check(outfall is not None, f"{name}: outfall invert {outfall}")
    by_cover, by_main = invert_ceilings(site, line)
    lowest = lowest_profile(site, line, outfall)
    room = min(c - lowest(k) for k, c, _ in by_cover)
    check(room > 0.3, f"{name}: {line.Length():.1f} m, room for grade under the cover everywhere, least {room:.2f} m")
    deepest = max(site.ground(*point_at(line, k)) - lowest(k) for k, _, _ in by_cover)
    check(
        deepest + site.job["rig"]["axis_height_m"] < site.job["pits"]["max_depth_m"],
        f"{name}: flattest pipe at most {deepest:.2f} m deep",
    )
    under = [m for m in by_main if not m[3]]
    tight = min((c - lowest(k) for k, c, _, _ in under), default=math.inf)
    check(tight > 0.1, f"{name}: room under every known service that cannot be passed over, least {tight:.2f} m")
    return by_cover, by_main


def dives(site, by_cover, by_main):
    """How far below the ceiling from cover a main of 150 mm or more forces the invert: (m, words), deepest first."""
    out = []
    for chainage, invert, words, passes_over in by_main:
        cover = by_cover[min(round(chainage), len(by_cover) - 1)][1]
        if not passes_over and cover > invert and any(w in words for w in ("storm_drains", "pipelines")):
            out.append((cover - invert, f"at {chainage:.1f} under {words}"))
    return sorted(out, reverse=True)


def check_routes(site):
    routes = site.layers["routes"]
    check(len(routes) >= 3, f"{len(routes)} routes")
    deepest, most_unknown = [], 0
    for route in routes:
        check(60 <= route["geom"].Length() <= 180, f"{route['route_id']}: {route['geom'].Length():.1f} m long")
        by_cover, by_main = check_levels(site, route)
        for depth, words in dives(site, by_cover, by_main):
            print(f"        {route['route_id']}: must lie {depth:.2f} m deeper than cover alone asks, {words}")
            deepest.append(depth)
        unknown = [f"{s['layer']} fid {s['fid']}" for _, s in crossings(site, route["geom"]) if unknown_depth(s)]
        print(f"        {route['route_id']}: crosses {len(unknown)} services of unknown depth: {', '.join(unknown)}")
        most_unknown = max(most_unknown, len(unknown))
    check(max(deepest, default=0) > 0.5, "a route must dive more than 0.5 m under a main of known depth")
    check(most_unknown >= 4, f"a route crosses at least 4 services of unknown depth ({most_unknown})")


# --- pits ----------------------------------------------------------------------------------------------------------


def why_no_pit(site, point):
    """What is too near for a launch pit turned any way about a point; rough, on the strict side."""
    rig, job = site.job["rig"], site.job
    radius = math.hypot(rig["launch_length_m"], rig["launch_width_m"]) / 2
    here = ogr.Geometry(ogr.wkbPoint)
    here.AddPoint_2D(*point)
    ends = [m["geom"] for m in site.layers.get("manholes", []) if m["geom"].Distance(here) < 0.5]
    for s in site.services:
        if s["status"] == "removed" or (s["kind"] == "sewer" and ends):
            continue
        if (
            s["geom"].Distance(here) - (s["diameter_mm"] or 100) / 2000
            < radius + job["rules"]["clearance"][s["kind"]]["pit_m"]
        ):
            yield f"{s['layer']} fid {s['fid']}"
    for b in site.layers["buildings"]:
        if b["geom"].Distance(here) < radius + 2.0:
            yield f"buildings fid {b['fid']}"
    for t in site.layers.get("trees", []):
        root = max(1.5, 0.64 * (50 * (t["trunk_diameter_m"] or 0.5)) ** 0.42)
        if t["retain"] != 0 and t["geom"].Distance(here) < radius + root:
            yield f"trees fid {t['fid']}"
    for lot in site.layers["lots"]:
        if lot["entry"] != "yes" and lot["geom"].Distance(here) < radius:
            yield f"lot {lot['lot_id']}, no entry"
    for k in site.layers["keepouts"]:
        if k["geom"].Distance(here) < radius:
            yield "keepout"


def check_bends(site):
    """A bend is always a manhole: a pit must fit there, and at both ends."""
    for route in site.layers["routes"]:
        for chainage in vertex_chainages(route["geom"]):
            near = list(why_no_pit(site, point_at(route["geom"], chainage)))
            check(not near, f"{route['route_id']}: a pit fits at {chainage:.1f} ({', '.join(near) or 'nothing near'})")


def longest_gap(site, route):
    """Longest stretch between neighbouring places for a pit, every metre, ends and bends."""
    line = route["geom"]
    places = sorted({*range(math.floor(line.Length()) + 1), *vertex_chainages(line)})
    fits = [c for c in places if not list(why_no_pit(site, point_at(line, c)))]
    return max((b - a for a, b in zip(fits, fits[1:])), default=math.inf), fits


def check_reach(site):
    for route in site.layers["routes"]:
        gap, fits = longest_gap(site, route)
        check(
            gap < site.job["rig"]["reach_m"],
            f"{route['route_id']}: {len(fits)} places for a pit, longest gap {gap:.1f} m",
        )


def reached_by(site, width, points):
    """Whether each point lies in ground, of that width, that touches a street."""
    shapes = [f["geom"] for rows in site.layers.values() for f in rows]
    box = [
        min(g.GetEnvelope()[0] for g in shapes) - 50,
        max(g.GetEnvelope()[1] for g in shapes) + 50,
        min(g.GetEnvelope()[2] for g in shapes) - 50,
        max(g.GetEnvelope()[3] for g in shapes) + 50,
    ]
    free = ogr.CreateGeometryFromWkt("POLYGON(({0} {2},{1} {2},{1} {3},{0} {3},{0} {2}))".format(*box))
    stops = [b["geom"].Buffer(width / 2) for name in ("buildings", "keepouts") for b in site.layers[name]]
    stops += [
        t["geom"].Buffer(((t["trunk_diameter_m"] or 0.5) + width) / 2) for t in site.layers["trees"] if t["retain"] != 0
    ]
    for stop in stops:
        free = free.Difference(stop)
    parts = (
        [free.GetGeometryRef(i) for i in range(free.GetGeometryCount())]
        if free.GetGeometryName() == "MULTIPOLYGON"
        else [free]
    )
    open_parts = [p for p in parts if any(p.Intersects(s["geom"]) for s in site.layers["streets"])]
    return [any(p.Contains(ogr.CreateGeometryFromWkt(f"POINT({x} {y})")) for p in open_parts) for x, y in points]


def check_hand_dug(site):
    """Between the last bend of YARDS and its outfall a pit is needed (reach), and every place for it is a yard no digger reaches."""
    route = next(r for r in site.layers["routes"] if r["route_id"] == "YARDS")
    leg, reach = vertex_chainages(route["geom"])[1], site.job["rig"]["reach_m"]
    check(leg > reach, f"YARDS: its last leg of {leg:.1f} m is longer than the reach")
    places = [
        c
        for c in range(1, math.floor(leg))
        if leg - reach <= c <= reach and not list(why_no_pit(site, point_at(route["geom"], c)))
    ]
    points = [point_at(route["geom"], c) for c in places]
    lots = {
        lot["lot_id"]
        for lot in site.layers["lots"]
        for x, y in points
        if lot["geom"].Contains(ogr.CreateGeometryFromWkt(f"POINT({x} {y})"))
    }
    check(places and len(lots) >= 1, f"YARDS: {len(places)} places for the pit between, on lots {sorted(lots)}")
    machine, hand = reached_by(site, site.job["pits"]["machine_width_m"], points), reached_by(
        site, site.job["rig"]["access_width_m"], points
    )
    check(not any(machine) and all(hand), "YARDS: no digger reaches any of them, people do")


# --- the site without a plan ---------------------------------------------------------------------------------------


def check_no_plan(site):
    routes = {r["route_id"]: r for r in site.layers["routes"]}
    gap, _ = longest_gap(site, routes["N-YARDS"])
    check(
        gap > site.job["rig"]["reach_m"],
        f"N-YARDS: {gap:.1f} m without a place for a pit, reach {site.job['rig']['reach_m']} m",
    )
    high = routes["N-OUTFALL"]
    end = point_at(high["geom"], 0)
    cover = site.ground(*end) - high["outfall_invert_m"] - site.crown_over_invert()
    check(
        cover < site.job["rules"]["min_cover_m"],
        f"N-OUTFALL: cover at the outfall {cover:.2f} m, asked {site.job['rules']['min_cover_m']} m",
    )
    cut = site.layers["keepouts"][0]["geom"]
    check(
        cut.Intersection(routes["N-CUTTING"]["geom"]).Length() > 1, "N-CUTTING: the keepout lies right across the route"
    )


def run(folder):
    site = Site(folder, "wattle-rise")
    for part in (check_counts, check_ground, check_tiling, check_routes, check_bends, check_reach, check_hand_dug):
        part(site)
    no_plan = Site(folder, "wattle-rise-no-plan")
    check_ground(no_plan)
    check_no_plan(dict_defaults(no_plan))
    check_demos(folder, check)
    size = sum(f.stat().st_size for f in folder.glob("wattle-rise*"))
    check(size < 3e6, f"{size / 1e6:.2f} MB together")
    return 1 if failures else 0


def dict_defaults(site):
    """The small site leaves out columns and layers; absent means empty."""
    for rows in site.layers.values():
        for row in rows:
            for column in ("status", "z_means", "outfall_invert_m", "trunk_diameter_m"):
                row.setdefault(column, None)
    site.services = [{"status": None, **s} for s in site.services]
    return site


if __name__ == "__main__":
    sys.exit(run(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parent))
