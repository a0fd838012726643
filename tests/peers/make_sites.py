"""Makes small random sites from seeds: a GeoPackage, its ground and a job file.

    python3 make_sites.py FOLDER SEED [SEED ...]        # or FIRST-LAST

Seeds from 500 to 699 have separations in plan or in level and limits that grow with depth. Seeds from 1000 on have a corridor, those from 2000 on are trees of joined routes (`make_trees.py`). Everything stands in an invented place. The job sets every value it relies on, so no
default matters. Coordinates are rounded to the millimetre so that files are the same
everywhere.
"""

import sqlite3
import struct
import sys
from pathlib import Path

import numpy as np
import pyogrio
import shapely

KINDS = ["water", "gas", "electricity", "telecom", "sewer", "stormwater", "recycled-water", "fuel", "other"]
SURFACES = ["asphalt", "concrete", "paving", "lawn", "garden", "gravel", "bare"]
QUALITY = ["A", "B", "C", "D", "unknown"]


class Maker:
    def __init__(self, seed, folder):
        self.rng = np.random.default_rng(seed)
        self.seed, self.folder = seed, Path(folder)
        self.gpkg = self.folder / f"site{seed:03}.gpkg"
        self.feet = self.chance(0.12)
        self.crs = "EPSG:2263" if self.feet else "EPSG:32633"
        self.unit = 1200 / 3937 if self.feet else 1.0
        self.base = np.array([300000.0, 60000.0]) if self.feet else np.array([412000.0, 5301000.0])
        # some rules seldom bind by chance: a share of the seeds is built round one of them
        self.about = {0: "access", 1: "end error", 2: "keepouts", 3: "unknown depth"}.get(seed % 7)

    # -- dice -----------------------------------------------------------------------------

    def chance(self, p):
        return self.rng.random() < p

    def u(self, low, high, digits=3):
        return round(float(self.rng.uniform(low, high)), digits)

    def pick(self, options):
        return options[int(self.rng.integers(len(options)))]

    def maybe(self, p, value):
        return value if self.chance(p) else None

    # -- the ground ------------------------------------------------------------------------

    def shape_ground(self):
        self.level, self.slope = self.u(20, 60), self.u(-0.005, 0.06)
        self.cover, self.deepest, self.axis = self.u(0.4, 0.8), self.u(2.0, 3.2), self.u(0.15, 0.35)
        self.cross, self.bump, self.wave = self.u(-0.04, 0.04), self.u(0, 0.15), self.u(4, 15)

    def ground(self, xy):
        """xy in metres from the base; the route starts at the origin and runs up along +x."""
        x, y = np.asarray(xy, float).T
        z = self.level + self.slope * x + self.cross * y + self.bump * np.sin(x / self.wave * 6.28 + y / 3)
        return np.round(z, 3)

    def write_ground(self):
        self.ground_kind = self.pick(["raster", "raster", "points", "route"])
        if self.seed >= 1000 and self.ground_kind == "route":
            self.ground_kind = "raster"  # beside a bend two points of the route are equally near: two levels
        if self.ground_kind == "raster":
            self.write_raster()
        elif self.ground_kind == "points":
            box = self.box(8)
            xy = np.round(self.rng.uniform(box[0], box[1], (45, 2)), 3)
            corners = np.array([[box[i][0], box[j][1]] for i in (0, 1) for j in (0, 1)])
            xy = np.vstack([xy, corners + self.rng.uniform(-0.5, 0.5, (4, 2)).round(3)])
            z = self.ground(xy)
            if self.chance(0.5):
                self.put("ground", "Point Z", [shapely.Point(*p, q) for p, q in zip(xy, z)], {})
            else:
                self.put("ground", "Point", [shapely.Point(*p) for p in xy], {"level_m": list(z)})

    def box(self, room):
        line = np.array(self.route)
        return line.min(axis=0) - room, line.max(axis=0) + room

    def write_raster(self):
        low, high = self.box(self.pick([3.0, 12.0]))
        cell = self.pick([1.0, 1.5, 2.5])
        cols, rows = (int(np.ceil(v / cell)) for v in high - low)
        x = low[0] + (np.arange(cols) + 0.5) * cell
        y = low[1] + rows * cell - (np.arange(rows) + 0.5) * cell
        grid = np.array([[self.ground([(a, b)])[0] for a in x] for b in y])
        if self.chance(0.15):
            grid[self.rng.integers(rows), self.rng.integers(cols)] = -9999.0
        corner = self.to_grid([[low[0], low[1] + rows * cell]])[0]
        self.raster = f"site{self.seed:03}.tif"
        write_tiff(self.folder / self.raster, grid, corner, cell / self.unit, int(self.crs[5:]))

    # -- writing ------------------------------------------------------------------------------

    def to_grid(self, xy):
        return np.round(np.asarray(xy, float) / self.unit + self.base, 4)

    def put(self, layer, kind, geoms, fields):
        if not geoms:
            return
        z = kind.endswith(" Z")
        move = lambda c: np.column_stack([self.to_grid(c[:, :2]), c[:, 2:]])
        moved = [shapely.transform(g, move, include_z=z) for g in geoms]
        names = list(fields)
        data, mask = zip(*(column(fields[n]) for n in names)) if names else ((), ())
        pyogrio.raw.write(str(self.gpkg), np.array(shapely.to_wkb(moved, flavor="iso", output_dimension=3 if z else 2), dtype=object),
                          list(data), np.array(names, dtype=object), field_mask=list(mask), crs=self.crs,
                          geometry_type=kind, layer=layer, driver="GPKG", append=False, layer_options={"SPATIAL_INDEX": "NO"}, dataset_options={"VERSION": "1.3"})

    # -- things -------------------------------------------------------------------------------

    def make(self):
        self.gpkg.unlink(missing_ok=True)
        self.shape_ground()
        self.make_route()
        self.write_ground()
        self.job = Job(self)
        self.write_route()
        self.make_services()
        self.make_areas()
        self.make_ends()
        self.shrink()
        self.job.write(self.folder / f"site{self.seed:03}.job.toml")
        return self.gpkg

    def shrink(self):
        """Small pages, no triggers, no time stamps: the same file every time, and little of it."""
        db = sqlite3.connect(self.gpkg)
        for (name,) in db.execute("select name from sqlite_master where type = 'trigger'").fetchall():
            db.execute(f'drop trigger "{name}"')
        for table in ("gpkg_ogr_contents", "gpkg_tile_matrix", "gpkg_tile_matrix_set"):
            db.execute(f"drop table if exists {table}")
        db.execute("update gpkg_contents set last_change = '2000-01-01T00:00:00.000Z'")
        db.commit()
        db.execute("pragma page_size = 512")
        db.execute("vacuum")
        db.close()

    def make_route(self):
        """Vertices from downstream up, in metres from the base."""
        bends = self.pick([0, 0, 1, 1, 2])
        point, heading = np.zeros(2), 0.0
        line = [point]
        for k in range(bends + 1):
            step = self.u(9, 26) if bends == 0 else self.u(4, 22 / (bends + 1))
            point = point + step * np.array([np.cos(heading), np.sin(heading)])
            line.append(np.round(point, 3))
            heading += np.radians(self.u(4, 55)) * self.pick([-1, 1])
        if bends == 0 and self.chance(0.35):
            middle = line[1] * self.u(0.3, 0.7) + [0, self.u(-0.012, 0.012)]
            line.insert(1, np.round(middle, 3))
        self.route = line
        self.length = sum(np.hypot(*(b - a)) for a, b in zip(line, line[1:]))

    def along(self, f):
        """A point at share f of the route, and the direction up along it."""
        left = f * self.length
        for a, b in zip(self.route, self.route[1:]):
            step = np.hypot(*(b - a))
            if left <= step or b is self.route[-1]:
                return a + left / step * (b - a), (b - a) / step
            left -= step

    def beside(self, f, off):
        p, d = self.along(f)
        return p + off * np.array([-d[1], d[0]]), d

    def write_route(self):
        line = np.array(self.route)[::-1]
        down, up = self.ground([line[-1]])[0], self.ground([line[0]])[0]
        self.manhole_down, self.manhole_up = self.chance(0.25), self.chance(0.1)
        fields = {"route_id": ["Brook Lane"], "dn_mm": [self.maybe(0.3, 150)],
                  "outfall_invert_m": [self.maybe(0.45, self.end_invert(down))],
                  "head_invert_max_m": [self.maybe(0.2, self.end_invert(up))],
                  "follows": [self.maybe(0.12, "services/1")]}
        z = self.ground(line)
        if self.ground_kind == "route":
            self.put("routes", "LineString Z", [shapely.LineString(np.column_stack([line, z]))], fields)
        else:
            self.put("routes", "LineString", [shapely.LineString(line)], fields)

    def end_invert(self, ground):
        """A level that depth and cover leave open, seldom one that they do not."""
        room = self.pick([0, 0, 0, 0, 0.2])
        return round(float(ground) - self.u(self.cover + 0.16 - room, self.deepest - self.axis + room), 3)

    def make_services(self):
        lines, cols = [], {"kind": [], "diameter_mm": [], "cover_m": [], "quality": [], "status": []}
        for k in range(1 if self.about == "unknown depth" else self.pick([0, 0, 1, 1, 2, 2, 3])):
            xy = self.service_line()
            way = "none" if self.about == "unknown depth" else self.pick(["z", "z", "cover", "none", "none"])
            z = self.ground(xy) - self.u(0.4, 2.3) + self.rng.uniform(-0.1, 0.1, len(xy)).round(3) if way == "z" else np.full(len(xy), np.nan)
            lines.append(shapely.LineString(np.column_stack([xy, z])))
            cols["kind"].append(self.pick(KINDS))
            cols["diameter_mm"].append(self.maybe(0.8, self.pick([32, 63, 100, 160, 225])))
            cols["cover_m"].append(self.maybe(1.0 if way == "cover" else 0.0, self.u(0.3, 1.6)))
            cols["quality"].append(self.maybe(0.85, self.pick(QUALITY[:4])))
            cols["status"].append(self.pick([None, None, None, "abandoned", "in use", "removed"]))
        if self.chance(0.35):
            end = self.route[0]
            xy = np.round([end, end + [-4, self.u(-3, 3)], end + [-9, self.u(-3, 3)]], 3)
            z = self.ground(xy) - self.u(1.2, 2.2)
            lines.append(shapely.LineString(np.column_stack([xy, z])))
            for name, value in zip(cols, ("sewer", 175, None, "B", None)):
                cols[name].append(value)
        if lines and self.chance(0.4) and len(lines) > 1:
            half = len(lines) // 2
            self.put("services", "LineString Z", lines[:half], {n: v[:half] for n, v in cols.items()})
            other = {n: v[half:] for n, v in cols.items()}
            other["cable_kind"] = other.pop("kind")
            self.put("record_lines", "LineString Z", lines[half:], other)
            self.job.services = [{"table": "services"}, {"table": "record_lines", "kind": "cable_kind", "z_means": self.pick(["top", "centre", "invert"])}]
        else:
            self.put("services", "LineString Z", lines, cols)
        self.drop_bad_follow(min(1, len(lines)))

    def drop_bad_follow(self, count):
        """A route may only follow a service that is there."""
        if count:
            return
        db = sqlite3.connect(self.gpkg)
        db.execute("update routes set follows = null")
        db.commit()
        db.close()

    def service_line(self):
        f = self.u(0, 1)
        if self.chance(0.65):  # across the route
            p, d = self.along(f)
            turn = np.radians(self.u(25, 155))
            v = np.array([d[0] * np.cos(turn) - d[1] * np.sin(turn), d[0] * np.sin(turn) + d[1] * np.cos(turn)])
            pts = [p - v * self.u(3, 9), p + v * self.u(-0.5, 1.5), p + v * self.u(3, 9)]
            pts[1] = pts[1] + self.rng.uniform(-0.15, 0.15, 2) * self.pick([0, 0.2, 3])
        else:  # along it
            off = self.u(0.8, 3.5) * self.pick([-1, 1])
            pts = [self.beside(g, off + self.u(-0.2, 0.2))[0] for g in (self.u(-0.2, 0.3), self.u(0.4, 0.6), self.u(0.7, 1.2))]
        return np.round(pts, 3)

    def block(self, f, off, length, width):
        """A rectangle beside the route, its near side `off` from it."""
        side = 1 if off > 0 else -1
        p, d = self.beside(f, off)
        n = np.array([-d[1], d[0]]) * side
        corners = [p - d * length / 2, p + d * length / 2, p + d * length / 2 + n * width, p - d * length / 2 + n * width]
        return shapely.Polygon(np.round(corners, 3))

    def some(self, most, f):
        return [f() for _ in range(int(self.rng.integers(0, most + 1)))]

    def make_areas(self):
        side = lambda lo, hi: self.u(lo, hi) * self.pick([-1, 1])
        if self.chance(0.45):
            b = self.some(2, lambda: self.house(side))
            self.put("buildings", "Polygon", b, {"floor_m": [self.maybe(0.4, round(self.level + self.u(-0.5, 1.0), 3)) for _ in b],
                                                "foundation_depth_m": [self.maybe(0.6, self.u(0.3, 1.2)) for _ in b]})
        if self.chance(0.35):
            t = [shapely.Point(np.round(self.beside(self.u(0, 1), side(1.5, 5.0))[0], 3)) for _ in range(int(self.rng.integers(1, 4)))]
            self.put("trees", "Point", t, {"trunk_diameter_m": [self.maybe(0.7, self.u(0.05, 0.7)) for _ in t],
                                           "retain": [self.maybe(0.5, self.chance(0.7)) for _ in t]})
        if self.chance(0.4):
            lots = [self.block(self.u(0, 1), side(-0.6, 3.0), self.u(4, 12), self.u(5, 10)) for _ in range(2)]
            self.put("lots", "Polygon", lots, {"lot_id": [f"Plot {k + 1}" for k in range(2)], "entry": [self.pick(["yes", "yes", "no", None]) for _ in lots]})
        if self.about == "access":
            self.put("keepouts", "Polygon", [self.wall()], {"reason": ["garden wall"]})
        elif self.about == "keepouts":
            k = [self.block(self.u(0.2, 0.9), side(0.15, 0.5), self.u(1, 4), self.u(0.3, 1)) for _ in range(2)]
            self.put("keepouts", "Polygon", k, {"reason": ["old well"] * len(k)})
        elif self.chance(0.25):
            k = self.some(2, lambda: self.block(self.u(0, 1), side(0.2, 2.6), self.u(0.4, 2), self.u(0.5, 2)))
            self.put("keepouts", "Polygon", k, {"reason": ["old well"] * len(k)})
        if self.chance(0.6):
            s = self.some(3, lambda: self.block(self.u(0, 1), side(-4, 1), self.u(4, 20), self.u(3, 8)))
            self.put("surfaces", "Polygon", s, {"surface": [self.pick(SURFACES) for _ in s]})
        if self.about == "access" or self.chance(0.4):
            off = side(7, 9) if self.about == "access" else side(2, 6)
            xy = np.round([self.beside(g, off)[0] for g in (-0.4, 0.5, 1.4)], 3)
            self.put("streets", "LineString", [shapely.LineString(xy)], {"name": ["Brook Lane"]})
        self.make_fences(side)

    def wall(self):
        """A wall round the route with one gap, so that machines may have to stay outside."""
        line = shapely.LineString(self.route)
        ring = shapely.difference(shapely.buffer(line, 4.6), shapely.buffer(line, 4.2))
        p, d = self.along(self.u(0.2, 0.8))
        n = np.array([-d[1], d[0]]) * self.pick([-1, 1])
        gap = shapely.buffer(shapely.LineString([p + 3 * n, p + 7 * n]), self.u(0.4, 1.7), cap_style="flat")
        return max(shapely.get_parts(shapely.set_precision(shapely.difference(ring, gap), 0.001)), key=lambda g: g.area)

    def house(self, side):
        shape = self.block(self.u(0, 1), side(1.5, 5.5), self.u(3, 9), self.u(3, 8))
        if self.chance(0.4):  # an L
            c = shapely.get_coordinates(shape)[:4]
            bite = shapely.Polygon([c[2], c[2] + (c[3] - c[2]) * 0.45, c[2] + (c[3] - c[2]) * 0.45 + (c[1] - c[2]) * 0.5, c[2] + (c[1] - c[2]) * 0.5])
            shape = shapely.set_precision(shapely.difference(shape, bite), 0.001)
        return shape

    def make_fences(self, side):
        if self.chance(0.3):
            p, q = self.beside(self.u(0, 1), -4)[0], self.beside(self.u(0, 1), 4)[0]
            self.put("fences", "LineString", [shapely.LineString(np.round([p, q], 3))], {"material": [self.pick(["timber", "masonry"])]})

    def make_ends(self):
        points, ids, inverts = [], [], []
        for there, at in ((self.manhole_down, self.route[0]), (self.manhole_up, self.route[-1])):
            if there:
                points.append(shapely.Point(np.round(at + self.rng.uniform(-0.2, 0.2, 2), 3)))
                ids.append(f"M{len(ids) + 1}")
                inverts.append(self.maybe(0.8, self.end_invert(self.ground([at])[0])))
        self.put("manholes", "Point", points, {"manhole_id": ids, "invert_m": inverts})


def column(values):
    """A pyogrio column and its mask of nulls."""
    mask = np.array([v is None for v in values])
    if any(isinstance(v, str) for v in values) or mask.all():
        return np.array(["" if v is None else v for v in values], dtype=object), mask
    if any(isinstance(v, (bool, np.bool_)) for v in values):
        return np.array([bool(v) for v in values]), mask
    if all(v is None or isinstance(v, int) for v in values):
        return np.array([v or 0 for v in values], dtype=np.int64), mask
    return np.array([0.0 if v is None else float(v) for v in values]), mask


class Job:
    """The job file: every key set, and random within what a small site can bear."""

    def __init__(self, m):
        self.m, self.services = m, None

    def tree(self):
        m = self.m
        launch_l, launch_w = m.u(1.5, 2.6), m.u(1.0, 1.8)
        rates = lambda lo, hi: 0.0 if m.chance(0.12) else m.u(lo, hi, 2)
        step = m.pick([2.0, 2.5, 3.0, 4.0, 5.0])
        corridor = m.seed >= 1000
        while m.length / step > (5 if corridor else 8):
            step = round(step + 0.5, 1)
        tree = {
            "job": {"name": f"Seed {m.seed}", "watch_distance_m": m.u(0.4, 2.5)},
            "pipe": {"dn_mm": 150, "od_mm": m.u(155, 200, 1), "id_mm": m.u(140, 150, 1), "axial_limit_kn": m.u(80, 400, 1)},
            "rig": {"reach_m": m.u(7, 20), "thrust_kn": m.u(80, 400, 1), "line_accuracy_mm": m.u(5, 30, 1), "accuracy_at_m": m.u(20, 60, 1),
                    "setting_out_mm": m.u(2, 12, 1), "dn_max_mm": 250, "overcut_mm": m.u(10, 40, 1), "grade_min": m.u(0.002, 0.01, 4), "grade_max": m.u(0.08, 0.25, 3),
                    "launch_length_m": launch_l, "launch_width_m": launch_w, "reception_length_m": m.u(0.8, launch_l), "reception_width_m": m.u(0.8, launch_w),
                    "axis_height_m": m.axis, "access_width_m": m.u(0.6, 1.2), "launch_from": m.pick(["either", "either", "either", "downstream", "upstream"]),
                    "setup_days": m.u(0.2, 1.0), "metres_per_day": m.u(8, 25, 1)},
            "soil": {"friction_kpa": m.u(4, 15, 1), "face_kpa": m.u(50, 400, 0)},
            "rules": {"base": "metric", "min_cover_m": m.cover, "min_grade": m.u(0.004, 0.02, 4), "max_grade": m.u(0.09, 0.25, 3), "manhole_spacing_m": m.u(8, 45),
                      "manhole_drop_m": m.pick([0.0, 0.0, 0.0, 0.02, 0.1]), "watch_margin_m": m.u(0.1, 0.6), "unknown_depth": m.pick(["prove", "prove", "prove", "avoid"]), "foundation_depth_m": m.u(0.3, 1.0),
                      "clearance": {"building": m.u(0.2, 1.2)}, "quality": {}, "depth_band": {}, "default_diameter_mm": {}},
            "pits": {"on_lots": m.pick(["entry", "entry", "entry", "always", "always", "never"]), "max_depth_m": m.deepest, "hand_dig_max_depth_m": m.u(1.6, 2.8), "machine_width_m": m.u(1.6, 3.0),
                     "support_from_depth_m": m.u(1.0, 2.0), "building_setback_m": m.u(0.2, 1.2), "building_spread_deg": m.u(30, 60, 1)},
            "search": {"station_step_m": step, "level_step_m": m.pick([0.05, 0.1, 0.1, 0.15, 0.2]), "corridor_m": m.pick([0.25, 0.4, 0.5, 0.6]) if corridor else 0.0, "corridor_step_m": m.pick([0.25, 0.3, 0.5]) if corridor else 0.5, "snap_m": 0.5},
            "costs": {"currency": "EUR", "pit_base": rates(300, 2500), "pit_per_m3": rates(20, 300), "pit_hand_per_m3": rates(100, 600), "pit_support_per_m2": rates(10, 80),
                      "manhole_base": rates(200, 2000), "manhole_per_m": rates(50, 500), "bore_setup": rates(100, 1500), "bore_per_m": rates(20, 300), "crew_day": rates(300, 2500),
                      "test_hole": rates(50, 900), "trench_per_m3": rates(20, 200), "trench_support_per_m2": rates(5, 50),
                      "reinstate": {s: rates(5, 200) for s in SURFACES},
                      "fence": {f: rates(20, 300) for f in ("timber", "metal", "masonry", "asbestos-cement")},
                      "strike": {k: 0.0 if m.chance(0.2) else m.u(1000, 60000, 0) for k in KINDS}},
        }
        rules = tree["rules"]
        for k in KINDS:
            rules["clearance"][k] = {"crossing_m": m.u(0.05, 0.4), "parallel_m": m.u(0.1, 0.6), "pit_m": m.u(0.05, 0.45)}
            low = m.u(0.3, 1.0)
            rules["depth_band"][k] = {"min_m": low, "max_m": round(low + m.u(0.2, 1.2), 3)}
            rules["default_diameter_mm"][k] = m.pick([32, 63, 110, 160])
        if m.chance(0.25):
            rules["clearance"].pop(m.pick(KINDS[:8]))
        for q, (h, v) in zip(QUALITY, ((0.05, 0.05), (0.15, 0.2), (0.3, 0.4), (0.5, 0.5), (0.6, 0.6))):
            rules["quality"][q] = {"horizontal_m": round(h * m.u(0.5, 1.2), 3), "vertical_m": round(v * m.u(0.5, 1.2), 3)}
        if 500 <= m.seed < 700:
            self.separations(rules)
        if m.chance(0.3):
            rules["manhole_drop_max_m"] = round(rules["manhole_drop_m"] + m.u(0.0, 0.5), 3)
        if m.about == "end error":
            rules["max_end_error_mm"] = round(m.u(5, 12) * tree["rig"]["line_accuracy_mm"] / tree["rig"]["accuracy_at_m"], 2)
        elif m.chance(0.2):
            rules["max_end_error_mm"] = m.u(4, 12, 1)
        if m.about == "unknown depth":
            rules["unknown_depth"] = "avoid"
        if m.about == "access":
            tree["pits"]["hand_dig_max_depth_m"] = round(m.deepest - m.u(0.1, 0.7), 3)
        layers = {}
        if m.ground_kind == "raster":
            layers["ground"] = {"file": m.raster}
        if self.services:
            layers["services"] = self.services
        if layers:
            tree["layers"] = layers
        return tree

    def separations(self, rules):
        m = self.m
        rules["separation"] = {}
        for k in KINDS[:8]:
            if m.chance(0.7):
                far = m.u(0.6, 2.5)
                rules["separation"][k] = {"horizontal_m": far, "vertical_m": m.u(0.05, min(0.5, far)), "service": m.pick(["above", "either", "either"])}
        for q in QUALITY[:4]:
            if m.chance(0.6):
                rules["quality"][q] |= {"horizontal_share": m.u(0.05, 0.4), "vertical_share": m.u(0.05, 0.4)}

    def write(self, path):
        path.write_text(toml(self.tree()))


def toml(tree, head=""):
    """Tables of plain values, as TOML; a table of plain values inside a table on one line."""
    flat = lambda v: isinstance(v, dict) and v and not any(isinstance(x, (dict, list)) for x in v.values())
    if head.count(".") == 1 and not flat(tree):
        inline = {k: v for k, v in tree.items() if flat(v)}
        out = f"[{head}]\n" + "".join(f"{k} = {value(v)}\n" for k, v in tree.items() if not isinstance(v, dict))
        return out + "".join(f"{k} = {{ " + ", ".join(f"{a} = {value(b)}" for a, b in v.items()) + " }\n" for k, v in inline.items()) + "\n"
    plain = {k: v for k, v in tree.items() if not isinstance(v, (dict, list))}
    out = "".join(f"{k} = {value(v)}\n" for k, v in plain.items())
    if head and (plain or not tree):
        out = f"[{head}]\n{out}\n"
    for k, v in tree.items():
        name = f"{head}.{k}" if head else k
        if isinstance(v, dict):
            out += toml(v, name)
        elif isinstance(v, list):
            for item in v:
                out += f"[[{name}]]\n" + "".join(f"{a} = {value(b)}\n" for a, b in item.items()) + "\n"
    return out


def value(v):
    if isinstance(v, bool):
        return "true" if v else "false"
    return f'"{v}"' if isinstance(v, str) else repr(v)


def write_tiff(path, grid, corner, cell, epsg):
    """A plain float32 GeoTIFF, one strip. `corner`: upper left, grid units."""
    rows, cols = grid.shape
    data = grid.astype("<f4").tobytes()
    keys = struct.pack("<16H", 1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, epsg)
    scale = struct.pack("<3d", cell, cell, 0)
    tie = struct.pack("<6d", 0, 0, 0, corner[0], corner[1], 0)
    nodata = b"-9999\0"
    start = 8 + len(data)
    blobs, at = [], start
    for b in (keys, scale, tie, nodata):
        blobs.append(at)
        at += len(b) + len(b) % 2
    entries = [(256, 4, 1, cols), (257, 4, 1, rows), (258, 3, 1, 32), (259, 3, 1, 1), (262, 3, 1, 1), (273, 4, 1, 8), (277, 3, 1, 1),
               (278, 4, 1, rows), (279, 4, 1, len(data)), (339, 3, 1, 3), (33550, 12, 3, blobs[1]), (33922, 12, 6, blobs[2]),
               (34735, 3, 16, blobs[0]), (42113, 2, 6, blobs[3])]
    with open(path, "wb") as f:
        f.write(struct.pack("<2sHI", b"II", 42, at))
        f.write(data)
        for b in (keys, scale, tie, nodata):
            f.write(b + b"\0" * (len(b) % 2))
        f.write(struct.pack("<H", len(entries)))
        for tag, kind, n, v in entries:
            f.write(struct.pack("<HHI", tag, kind, n) + (struct.pack("<HH", v, 0) if kind == 3 and n == 1 else struct.pack("<I", v)))
        f.write(struct.pack("<I", 0))


def seeds(words):
    for w in words:
        a, _, b = w.partition("-")
        yield from range(int(a), int(b or a) + 1)


def maker(seed, folder):
    if seed < 2000:
        return Maker(seed, folder)
    from make_trees import TreeMaker  # which itself needs Maker

    return TreeMaker(seed, folder)


def make(seed, folder):
    Path(folder).mkdir(parents=True, exist_ok=True)
    m = maker(seed, folder)
    m.make()
    return m.gpkg, m.folder / f"site{seed:03}.job.toml"


if __name__ == "__main__":
    for s in seeds(sys.argv[2:]):
        print(make(s, sys.argv[1])[0])
