"""Small random trees of joined routes, for `make_sites.py`: seeds from 2000 on.

A street with one to three branches, now and then a branch of a branch. Two thirds have a
corridor and services of unknown depth. The grids are coarse, so that everything can be
looked at in seconds. Every fourth seed or so is built round one thing that seldom happens
by chance (`theme`).
"""

import numpy as np
import shapely

from make_sites import KINDS, QUALITY, SURFACES, Job, Maker

NAMES = ["Brook Lane", "Mill Close", "Well Court", "Fern Row", "Ash Walk"]
THEMES = {0: "ties", 16: "ties", 1: "blocked", 3: "same manhole", 5: "follows", 7: "manhole", 9: "levels apart", 11: "top", 13: "bottom", 15: "branch of a branch",
          17: "dn", 19: "sewer", 21: "same manhole", 22: "manhole", 23: "blocked"}


def unit(v):
    return v / np.hypot(*v)


def turned(v, degrees):
    c, s = np.cos(np.radians(degrees)), np.sin(np.radians(degrees))
    return np.array([v[0] * c - v[1] * s, v[0] * s + v[1] * c])


class TreeMaker(Maker):
    def __init__(self, seed, folder):
        super().__init__(seed, folder)
        self.about = None
        self.theme = THEMES.get(seed % 24)
        self.wide = seed % 3 != 0  # a corridor and unknown depths

    def make(self):
        self.gpkg.unlink(missing_ok=True)
        self.shape_ground()
        self.make_route()
        self.make_branches()
        self.write_ground()
        self.job = TreeJob(self)
        self.write_routes()
        self.make_services()
        self.make_areas()
        self.make_ends()
        self.shrink()
        self.job.write(self.folder / f"site{self.seed:03}.job.toml")
        return self.gpkg

    def shape_ground(self):
        super().shape_ground()
        self.cover, self.slope = self.u(0.4, 0.6), self.u(0.0, 0.06)
        self.deepest = self.u(2.6, 3.6)
        self.cross = self.u(-0.02, 0.02)

    def write_ground(self):
        self.ground_kind = self.pick(["raster", "raster", "points"])
        if self.ground_kind == "raster":
            self.write_raster()
        else:
            low, high = self.box(8)
            xy = self.rng.uniform(low, high, (30, 2)).round(3)
            corners = np.array([[(low, high)[i][0], (low, high)[j][1]] for i in (0, 1) for j in (0, 1)])
            xy = np.vstack([xy, corners + self.rng.uniform(-0.5, 0.5, (4, 2)).round(3)])
            self.put("ground", "Point", [shapely.Point(*p) for p in xy], {"level_m": list(self.ground(xy))})

    def box(self, room):
        points = np.vstack([b["line"] for b in self.routes])
        return points.min(axis=0) - room, points.max(axis=0) + room

    # -- lines ----------------------------------------------------------------------------------

    def make_route(self):
        """Vertices from downstream up; the parent of the tree."""
        bends = self.pick([0, 0, 1, 1])
        line, heading = [np.zeros(2)], 0.0
        for _ in range(bends + 1):
            step = self.u(8, 15) if bends == 0 else self.u(4, 9)
            line.append(np.round(line[-1] + step * np.array([np.cos(heading), np.sin(heading)]), 3))
            heading += np.radians(self.u(3, 35)) * self.pick([-1, 1])
        self.routes = [{"id": NAMES[0], "line": line, "joins": None}]
        self.use(self.routes[0])

    def use(self, route):
        """What `along`, `beside` and `block` stand on."""
        self.route = route["line"]
        self.length = sum(np.hypot(*(b - a)) for a, b in zip(self.route, self.route[1:]))

    def any_route(self):
        self.use(self.pick(self.routes))

    def make_branches(self):
        count = 2 if self.theme == "same manhole" else self.pick([1, 1, 1, 2, 2, 3])
        for k in range(count):
            same = self.theme == "same manhole" and k == 1 or k > 0 and self.chance(0.15)
            self.branch(self.routes[0], same and self.routes[1])
        if self.theme == "branch of a branch" or self.chance(0.15):
            self.branch(self.routes[1], None)
        if self.chance(0.4):
            order = self.rng.permutation(len(self.routes))
            self.routes = [self.routes[i] for i in order]
        self.use(next(r for r in self.routes if not r["joins"]))

    def branch(self, parent, beside):
        """A branch of one or two legs; its end a little off the parent."""
        self.use(parent)
        place = beside and beside["at"] or self.place(parent)
        at, toward = self.along(place)
        if beside:
            at = at + toward * self.pick([0, 0, 0.2, 0.3]) * self.pick([-1, 1])
        side = -np.sign(beside["turn"]) if beside else self.pick([-1, 1])
        turn = side * self.u(45, 125)
        if place == 1.0 and self.chance(0.6):
            turn = self.u(-60, 60)
        heading = turned(toward, turn)
        end = at + heading * self.u(-0.05, 0.28) * self.pick([0, 1, 1]) + toward * self.u(-0.1, 0.1) * self.pick([0, 1])
        line = [np.round(end, 3)]
        for _ in range(self.pick([1, 1, 2])):
            line.append(np.round(line[-1] + self.u(4.5, 8) * heading, 3))
            heading = turned(heading, self.u(-30, 30))
        self.routes.append({"id": NAMES[len(self.routes)], "line": line, "joins": parent["id"], "at": place, "turn": turn, "foot": np.round(at, 3)})

    def place(self, parent):
        """Share of the parent's length: a vertex, the upstream end, seldom the downstream end, else between."""
        roll = self.rng.random()
        if self.theme == "top" or roll < 0.12:
            return 1.0
        if (self.theme == "bottom" or roll < 0.15) and not parent["joins"]:
            return 0.0
        if len(parent["line"]) > 2 and roll < 0.55:
            return np.hypot(*(parent["line"][1] - parent["line"][0])) / self.length
        return self.u(0.2, 0.85)

    def end_invert(self, ground, low=0.5, high=1.0):
        """A level by share of the depth that is left open at the end, 1 the deepest; seldom one beyond."""
        room = self.deepest - self.axis - self.cover - 0.17
        return round(float(ground) - self.cover - 0.17 - room * self.u(low, high + self.pick([0, 0, 0, 0, 0, 0.1])), 3)

    # -- layers ---------------------------------------------------------------------------------

    def write_routes(self):
        rows = {"route_id": [], "dn_mm": [], "outfall_invert_m": [], "head_invert_max_m": [], "joins": [], "follows": []}
        self.big = False
        deep = self.theme == "levels apart"
        for r in self.routes:
            down, up = self.ground([r["line"][0]])[0], self.ground([r["line"][-1]])[0]
            fixed = self.chance(0.12 if r["joins"] else 0.3)
            level = self.end_invert(down, *((0.2, 0.7) if r["joins"] else (0.6, 1.0)))
            if deep:
                fixed = True
                level = round(float(down) - (self.deepest - self.axis - 0.05 if r["joins"] else self.cover + 0.3), 3)
            big = self.chance(0.6 if self.theme == "dn" else 0.12)
            self.big |= big
            rows["route_id"].append(r["id"])
            rows["dn_mm"].append(225 if big else self.maybe(0.3, 150))
            rows["outfall_invert_m"].append(level if fixed else None)
            rows["head_invert_max_m"].append(self.maybe(0.12, self.end_invert(up, 0.2, 0.8)))
            rows["joins"].append(r["joins"])
            rows["follows"].append(self.maybe(0.9 if self.theme == "follows" and r["joins"] else 0.08, "services/1"))
        self.put("routes", "LineString", [shapely.LineString(np.array(r["line"])[::-1]) for r in self.routes], rows)

    def make_services(self):
        lines, cols = [], {"kind": [], "diameter_mm": [], "cover_m": [], "quality": [], "status": []}
        for k in range(self.pick([1, 2, 2, 3]) if self.wide else self.pick([0, 1, 2])):
            self.any_route()
            xy = self.service_line()
            way = "none" if self.wide and k == 0 else self.pick(["z", "cover", "none"])
            self.add_service(lines, cols, xy, way, self.pick(KINDS))
        if self.theme == "follows":
            branch = next(r for r in self.routes if r["joins"])
            xy = np.array(branch["line"]) + self.rng.uniform(-0.15, 0.15, (len(branch["line"]), 2))
            self.add_service(lines, cols, np.round(np.vstack([branch["foot"] - 0.8 * unit(xy[1] - xy[0]), xy]), 3), "z", self.pick(KINDS), first=True)
        for r in self.routes:
            r["sewer"] = self.chance(0.9 if self.theme == "sewer" and r["joins"] else 0.05)
            if r["sewer"]:
                end = r.get("foot", r["line"][0])
                away = turned(unit(r["line"][0] - r["line"][1]), self.u(-40, 40))
                self.add_service(lines, cols, np.round([end, end + 5 * away], 3), "z", "sewer")
        self.put("services", "LineString Z", lines, cols)
        self.drop_bad_follow(len(lines))
        self.use(next(r for r in self.routes if not r["joins"]))

    def service_line(self):
        """A line that keeps off the ends and junctions where it can: a pit stands there in any plan."""
        ends = shapely.MultiPoint([p for r in self.routes for p in (r["line"][0], r["line"][-1])])
        for _ in range(8):
            line = self.loose_line()
            if shapely.distance(shapely.LineString(line), ends) > 1.4:
                break
            self.any_route()
        return line

    def loose_line(self):
        """Across a route, seldom along it."""
        if self.chance(0.25):
            off = self.u(1.3, 3.5) * self.pick([-1, 1])
            return np.round([self.beside(g, off + self.u(-0.2, 0.2))[0] for g in (self.u(-0.2, 0.3), self.u(0.4, 0.6), self.u(0.7, 1.2))], 3)
        p, d = self.along(self.pick([self.u(0.15, 0.4), self.u(0.6, 0.85)]))
        v = turned(d, self.u(35, 145))
        return np.round([p - self.u(2, 6) * v, p + self.u(2, 6) * v], 3)

    def add_service(self, lines, cols, xy, way, kind, first=False):
        z = self.ground(xy) - self.u(0.6, 2.2) if way == "z" else np.full(len(xy), np.nan)
        at = 0 if first else len(lines)
        lines.insert(at, shapely.LineString(np.column_stack([xy, np.round(z, 3)])))
        row = (kind, self.maybe(0.8, self.pick([32, 63, 100, 160])), self.u(0.3, 1.2) if way == "cover" else None,
               self.maybe(0.9, self.pick(QUALITY[:3])), self.pick([None, None, "abandoned", "in use"]))
        for name, value in zip(cols, row):
            cols[name].insert(at, value)

    def make_areas(self):
        side = lambda lo, hi: self.u(lo, hi) * self.pick([-1, 1])
        spot = lambda *size: (self.any_route(), self.block(self.u(0, 1), side(*size[:2]), self.u(*size[2:4]), self.u(*size[4:6])))[1]
        if self.chance(0.18):
            self.put("buildings", "Polygon", [spot(2.5, 5.5, 3, 7, 3, 6)], {"floor_m": [None], "foundation_depth_m": [self.maybe(0.5, self.u(0.3, 1.0))]})
        if self.chance(0.18):
            self.any_route()
            t = [shapely.Point(np.round(self.beside(self.u(0, 1), side(2.0, 4.5))[0], 3))]
            self.put("trees", "Point", t, {"trunk_diameter_m": [self.u(0.05, 0.5)], "retain": [self.maybe(0.5, self.chance(0.7))]})
        if self.chance(0.35):
            lots = [spot(-0.6, 3.0, 4, 10, 4, 8) for _ in range(2)]
            self.put("lots", "Polygon", lots, {"lot_id": ["Plot 1", "Plot 2"], "entry": [self.pick(["yes", "yes", "yes", "no"]) for _ in lots]})
        keepouts = [spot(1.0, 2.6, 0.4, 1.5, 0.4, 1.5)] if self.chance(0.1) else []
        if self.theme == "blocked" or self.chance(0.04):
            keepouts.append(self.barrier())
        self.put("keepouts", "Polygon", keepouts, {"reason": ["old well"] * len(keepouts)})
        if self.chance(0.5):
            s = [spot(-4, 1, 4, 15, 3, 8) for _ in range(2)]
            self.put("surfaces", "Polygon", s, {"surface": [self.pick(["asphalt", "lawn", "garden", "paving"]) for _ in s]})
        if self.chance(0.3):
            self.any_route()
            xy = np.round([self.beside(g, 3.0)[0] for g in (-0.4, 1.4)], 3)
            self.put("streets", "LineString", [shapely.LineString(xy)], {"name": [NAMES[0]]})

    def barrier(self):
        """A wall across a branch, which no plan of it can pass."""
        self.use(self.pick([r for r in self.routes if r["joins"]]))
        p, d = self.along(0.65)
        n = np.array([-d[1], d[0]])
        return shapely.Polygon(np.round([p - 2 * n, p + 2 * n, p + 2 * n + 0.2 * d, p - 2 * n + 0.2 * d], 3))

    def make_ends(self):
        points, inverts = [], []
        for r in self.routes:
            foot, room = r.get("foot", r["line"][0]), (0.2, 0.7) if r["joins"] else (0.6, 1.0)
            for p, chance, depth in ((foot, 0.85 if r["sewer"] or self.theme == "manhole" and r["joins"] else 0.1, room), (r["line"][-1], 0.06, (0.2, 0.8))):
                if self.chance(chance):
                    points.append(shapely.Point(np.round(p + self.rng.uniform(-0.15, 0.15, 2), 3)))
                    inverts.append(self.maybe(0.4, self.end_invert(self.ground([p])[0], *depth)))
        self.put("manholes", "Point", points, {"manhole_id": [f"M{k + 1}" for k in range(len(points))], "invert_m": inverts})


class TreeJob(Job):
    def tree(self):
        m, tree = self.m, super().tree()
        longest = max(self.m.length, 8)
        tree["search"].update(station_step_m=m.pick([4.0, 5.0, 6.0, round(float(longest) / 2, 1)]), level_step_m=m.pick([0.08, 0.1, 0.1, 0.15]), snap_m=0.5,
                              corridor_m=m.pick([0.3, 0.4, 0.5]) if m.wide else 0.0, corridor_step_m=m.pick([0.3, 0.4]) if m.wide else 0.5)
        rules = tree["rules"]
        rules.update(unknown_depth="avoid" if m.chance(0.1) else "prove", manhole_drop_m=m.pick([0.0, 0.02, 0.05, 0.1, 0.15]),
                     max_grade=m.u(0.15, 0.3), manhole_spacing_m=m.u(12, 40), min_grade=m.u(0.004, 0.012, 4))
        rules.pop("manhole_drop_max_m", None)
        if m.chance(0.3):
            rules["manhole_drop_max_m"] = round(rules["manhole_drop_m"] + tree["search"]["level_step_m"] + m.u(0.0, 0.5), 3)
        if m.chance(0.7):
            rules.pop("max_end_error_mm", None)
        launch = m.u(1.2, 1.9), m.u(0.9, 1.4)
        tree["rig"].update(reach_m=m.u(10, 20), grade_max=m.u(0.15, 0.3), launch_from=m.pick(["either", "either", "either", "downstream", "upstream"]),
                           launch_length_m=launch[0], launch_width_m=launch[1], reception_length_m=m.u(0.8, launch[0]), reception_width_m=m.u(0.7, launch[1]),
                           thrust_kn=m.u(200, 400, 1))
        tree["pipe"]["axial_limit_kn"] = m.u(200, 400, 1)
        tree["soil"] = {"friction_kpa": m.u(4, 10, 1), "face_kpa": m.u(50, 300, 0)}
        tree["pits"].update(on_lots=m.pick(["entry", "entry", "always"]), hand_dig_max_depth_m=round(m.deepest - m.u(0.0, 0.8), 3))
        for k in KINDS:
            rules["clearance"][k] = {"crossing_m": m.u(0.05, 0.2), "parallel_m": m.u(0.05, 0.3), "pit_m": m.u(0.05, 0.2)}
            low = m.u(0.3, 0.8)
            rules["depth_band"][k] = {"min_m": low, "max_m": round(low + m.u(0.2, 0.9), 3)}
        if m.theme == "ties":
            rig = tree["rig"]
            rig["reception_length_m"], rig["reception_width_m"] = rig["launch_length_m"], rig["launch_width_m"]
            tree["costs"].update({k: 0.0 for k in ("pit_per_m3", "pit_hand_per_m3", "pit_support_per_m2", "manhole_per_m")},
                                 strike={k: 0.0 for k in KINDS}, reinstate={k: 0.0 for k in SURFACES})
        if m.big:
            od = m.u(232, 250, 1)
            tree["pipe"]["sizes"] = {"225": {"od_mm": od, "id_mm": round(od - 16, 1)}}
        return tree
