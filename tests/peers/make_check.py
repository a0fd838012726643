"""Makes small random sites for `check` from seeds: bores that somebody else designed, and what is in the ground.

    python3 make_check.py FOLDER SEED [SEED ...]        # or FIRST-LAST

Services of every kind with levels of every meaning, by cover or of unknown depth, curved, standing, of several parts;
bores of one and of several segments, with Z, with inverts at their ends or without any level; ground as a raster, with
holes in it, as points, or none. The job sets every value it relies on, so no default matters. Coordinates are rounded
to the millimetre.
"""

import sys
from pathlib import Path

import numpy as np
import shapely
from make_sites import KINDS, QUALITY, Job, Maker, seeds, write_tiff

UNITS = {"m": 1.0, "ft": 0.3048, "us-ft": 1200 / 3937}
SIZE = 24.0  # half the site's width, m


class CheckMaker(Maker):
    def __init__(self, seed, folder):
        super().__init__(seed, folder)
        self.name = f"check{seed:03}"
        self.gpkg = self.folder / f"{self.name}.gpkg"
        self.job_path = self.folder / f"{self.name}.job.toml"
        self.about = None
        self.length = 16.0  # what the job of a plan asks for; `check` does not use it

    def make(self):
        self.gpkg.unlink(missing_ok=True)
        self.shape_ground()
        self.design()
        self.make_ground()
        self.write_bores()
        self.make_services()
        self.make_areas()
        self.shrink()
        CheckJob(self).write(self.job_path)
        return self.gpkg

    # -- ground -----------------------------------------------------------------------------

    def shape_ground(self):
        super().shape_ground()
        self.ground_kind = self.pick(["grid", "grid", "grid", "points", "points", "none"])
        self.layers = {}

    def make_ground(self):
        if self.ground_kind == "grid":
            self.make_raster()
        elif self.ground_kind == "points":
            reach = self.pick([0.7, 1.3]) * SIZE  # with the smaller one there is no ground at the rim
            xy = np.round(self.rng.uniform(-reach, reach, (60, 2)), 3)
            z = self.ground(xy)
            if self.chance(0.5):
                self.put("ground", "Point Z", [shapely.Point(*p, q) for p, q in zip(xy, z)], {})
            else:
                self.put("ground", "Point", [shapely.Point(*p) for p in xy], {"level_m": list(z)})

    def make_raster(self):
        cell, reach = self.pick([1.0, 1.5, 2.5]), self.pick([0.8, 1.3, 1.3]) * SIZE
        n = int(np.ceil(2 * reach / cell))
        at = -reach + (np.arange(n) + 0.5) * cell
        grid = self.ground(np.array([(x, y) for y in at[::-1] for x in at])).reshape(n, n)
        for _ in range(self.pick([0, 0, 1, 3])):
            grid[self.rng.integers(n), self.rng.integers(n)] = -9999.0
        corner = self.to_grid([[-reach, -reach + n * cell]])[0]
        self.layers["ground"] = {"file": f"{self.name}.tif"}
        write_tiff(self.folder / f"{self.name}.tif", grid, corner, cell / self.unit, int(self.crs[5:]))

    # -- bores ------------------------------------------------------------------------------

    def design(self):
        """The bores' lines (n, 2), from upstream, and their inverts (n,) or None."""
        self.bores = [self.bore() for _ in range(int(self.rng.integers(3, 9)))]

    def bore(self):
        point, heading = self.rng.uniform(-0.6, 0.6, 2) * SIZE, self.rng.uniform(0, 2 * np.pi)
        if self.chance(0.25):
            heading = self.pick([0.0, np.pi / 2, np.pi, -np.pi / 2])
        line = [point]
        for _ in range(self.pick([1, 1, 1, 2, 3, 5])):
            point = point + self.u(2, 16) * np.array([np.cos(heading), np.sin(heading)])
            line.append(point)
            heading += np.radians(self.u(-50, 50)) * self.pick([0.02, 1])
        line = np.round(line, self.pick([0, 3, 3, 3]))
        line = line[np.concatenate([[True], np.hypot(*np.diff(line, axis=0).T) > 0])]
        if len(line) < 2:
            return self.bore()
        at = np.concatenate([[0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
        top = self.ground(line[:1])[0] - self.u(0.6, 3.0)
        z = np.round(top - self.pick([0.0, 0.005, 0.02, 0.06]) * at, 3)
        if len(z) > 2 and self.chance(0.4):
            z = z + self.rng.uniform(-0.1, 0.1, len(z)).round(3)
        return line, np.round(z, 3)

    def write_bores(self):
        """One layer; with Z or without, each bore with the levels that it has."""
        with_z = self.chance(0.7)
        n, lines = len(self.bores), []
        cols = {k: [None] * n for k in ("us_invert_m", "ds_invert_m", "dn_mm", "od_mm", "id_mm", "bore_mm", "launch", "launch_pit", "us_pit", "ds_pit")}
        cols = {"bore_id": [f"T{k + 1}" for k in range(n)], **cols}
        for k, (xy, z) in enumerate(self.bores):
            way = self.pick(["z"] * 9 + ["inverts"] * 4 + ["none", "half"] if with_z else ["inverts"] * 12 + ["none", "half"])
            absent = self.pick([0.0, np.nan])
            lines.append(shapely.LineString(np.column_stack([xy, z if way == "z" else np.full(len(z), absent)])))
            if way == "inverts" or (way == "z" and self.chance(0.2)):
                cols["us_invert_m"][k], cols["ds_invert_m"][k] = float(z[0]), float(z[-1])
            elif way == "half":
                cols[self.pick(["us_invert_m", "ds_invert_m"])][k] = float(z[0])
            self.sizes_and_side(cols, k)
        self.bore_table = self.pick(["bores", "bores", "designer_lines"])
        self.put(self.bore_table, "LineString Z" if with_z else "LineString", lines if with_z else [shapely.force_2d(l) for l in lines], cols)

    def sizes_and_side(self, cols, k):
        cols["dn_mm"][k] = self.pick([None, 150, 225])
        if self.chance(0.4):
            cols["od_mm"][k] = self.u(120, 275, 1)
            cols["id_mm"][k] = self.maybe(1.0, round(cols["od_mm"][k] * self.u(0.85, 0.95), 1))
        cols["bore_mm"][k] = self.maybe(0.3, self.u(330, 420, 1))
        way = self.pick(["launch", "pits", "none"])
        if way == "launch":
            cols["launch"][k] = self.pick(["us", "ds"])
        elif way == "pits":
            cols["us_pit"][k], cols["ds_pit"][k] = f"P{k}a", f"P{k}b"
            cols["launch_pit"][k] = self.pick([f"P{k}a", f"P{k}b"])

    # -- services ---------------------------------------------------------------------------

    def make_services(self):
        tables = self.pick([["services"], ["services"], ["services", "cables"], ["mains", "cables", "pipes"]])
        settings = []
        for table in tables:
            settings.append(self.service_table(table))
        if settings != [{"table": "services"}]:
            self.layers["services"] = settings

    def service_table(self, table):
        setting = {"table": table}
        if self.chance(0.7):
            setting["z_means"] = self.pick(["top", "centre", "invert"])
        unit = self.pick(["m", "m", "ft", "us-ft"])
        if unit != "m" or self.chance(0.2):
            setting["z_unit"] = unit
        if table == "cables" and self.chance(0.5):
            setting["kind"] = "cable_kind"
        lines, cols = [], {k: [] for k in ("kind", "diameter_mm", "cover_m", "quality", "status", "owner")}
        for _ in range(int(self.rng.integers(4, 16))):
            way = self.pick(["z", "z", "z", "z", "cover", "cover", "cover", "none", "none", "flat", "hole"])
            lines.append(self.service_line(way, setting))
            cols["kind"].append(self.pick([*KINDS, "steam"]))
            cols["diameter_mm"].append(self.maybe(0.8, self.pick([32, 63, 100, 160, 225, 450])))
            cols["cover_m"].append(self.u(0.3, 1.8) if way == "cover" or (way == "z" and self.chance(0.2)) else None)
            cols["quality"].append(self.maybe(0.8, self.pick(QUALITY[:4])))
            cols["status"].append(self.pick([None, None, "in use", "abandoned", "removed"]))
            cols["owner"].append(self.pick([None, "Water board", "Cable company"]))
        if setting.get("kind"):
            cols["cable_kind"] = cols.pop("kind")
        several = any(l.geom_type == "MultiLineString" for l in lines)
        if several:
            lines = [l if l.geom_type == "MultiLineString" else shapely.multilinestrings([l]) for l in lines]
        self.put(table, "MultiLineString Z" if several else "LineString Z", lines, cols)
        return setting

    def service_line(self, way, setting):
        parts = [self.with_levels(self.service_plan(), way, setting) for _ in range(2 if self.chance(0.1) else 1)]
        if way == "z" and len(parts) == 1 and self.chance(0.06):
            parts = [self.standing(setting)]
        return shapely.multilinestrings(parts) if len(parts) > 1 else parts[0]

    def with_levels(self, xy, way, setting):
        """`flat`: a layer's way of saying no Z; `hole`: one vertex without."""
        unit = UNITS[setting.get("z_unit", "m")]
        if way in ("z", "hole"):
            z = self.levels(xy)
            if way == "hole":
                z[self.rng.integers(len(z))] = np.nan
            z = np.round(z / unit, 4)
        else:
            z = np.full(len(xy), 0.0 if way == "flat" else np.nan)
        return shapely.LineString(np.column_stack([xy, z]))

    def levels(self, xy):
        """Near the level of the bore it was drawn beside, else at a depth of its own; seldom exactly that level."""
        line, z = self.beside_bore
        if self.chance(0.6):
            return np.full(len(xy), z[0]) + self.pick([0.0, 0.15, 0.4, 0.8]) * self.pick([-1, 1]) + self.rng.uniform(-0.1, 0.1, len(xy)).round(3) * self.pick([0, 1])
        return self.ground(xy) - self.u(0.4, 2.3) + self.rng.uniform(-0.1, 0.1, len(xy)).round(3)

    def standing(self, setting):
        """A service with an upright piece: a riser between two level ends."""
        unit = UNITS[setting.get("z_unit", "m")]
        p = np.round(self.near_bore()[0], 3)
        low, high = self.level - 2.5, self.level - 0.4
        xyz = np.array([[*(p - [3, 0.5]), low], [*p, low], [*p, high], [*(p + [1, 2.5]), high]])
        xyz[:, 2] = np.round(xyz[:, 2] / unit, 4)
        return shapely.LineString(xyz)

    def near_bore(self):
        """A point on a bore, and the bore's direction there."""
        line, z = self.pick(self.bores)
        k = int(self.rng.integers(len(line) - 1))
        self.beside_bore = line, z
        d = (line[k + 1] - line[k]) / np.hypot(*(line[k + 1] - line[k]))
        return line[k] + self.u(-0.1, 1.1) * (line[k + 1] - line[k]), d

    def service_plan(self):
        draw = self.pick([self.across, self.across, self.along_bore, self.curve, self.curve, self.short_of, self.anywhere])
        xy = np.round(draw(), 3)
        return xy[np.concatenate([[True], np.hypot(*np.diff(xy, axis=0).T) > 0])]

    def across(self):
        p, d = self.near_bore()
        turn = np.radians(self.pick([self.u(3, 177), self.u(42, 48), 90.0]))
        v = np.array([d[0] * np.cos(turn) - d[1] * np.sin(turn), d[0] * np.sin(turn) + d[1] * np.cos(turn)])
        middle = p + v * self.u(-0.5, 1.5) + self.rng.uniform(-0.15, 0.15, 2) * self.pick([0, 0.1, 3])
        return [p - v * self.u(1, 9), middle, p + v * self.u(2, 9)]

    def along_bore(self):
        p, d = self.near_bore()
        n = np.array([-d[1], d[0]])
        off, lean = self.u(0.0, 2.5) * self.pick([-1, 1]), self.pick([0.0, 0.0, self.u(-0.15, 0.15)])
        s = np.array([self.u(-9, -3), self.u(-1, 1), self.u(3, 9)])
        return p + np.outer(s, d) + np.outer(off + lean * s, n)

    def curve(self):
        """An arc of short pieces that bend by half a degree to six degrees each."""
        p, d = self.near_bore()
        n, step, bend = int(self.rng.integers(8, 24)), self.u(0.4, 2.2), np.radians(self.u(0.5, 6)) * self.pick([-1, 1])
        heading = np.arctan2(d[1], d[0]) + np.radians(self.u(-90, 90)) + bend * np.arange(n)
        xy = np.cumsum(step * np.column_stack([np.cos(heading), np.sin(heading)]), axis=0)
        return p + xy - xy[int(self.rng.integers(n))] + self.rng.uniform(-1, 1, 2)

    def short_of(self):
        """A line that ends before the bore, or just on it."""
        p, d = self.near_bore()
        n = np.array([-d[1], d[0]]) * self.pick([-1, 1])
        return [p + n * self.pick([0.0, self.u(0.05, 1.2)]), p + n * self.u(3, 8) + d * self.u(-3, 3)]

    def anywhere(self):
        self.beside_bore = self.pick(self.bores)
        return self.rng.uniform(-1, 1, (int(self.rng.integers(2, 6)), 2)) * SIZE

    # -- areas ------------------------------------------------------------------------------

    def make_areas(self):
        if self.chance(0.6):
            b = [self.block(2.0, 7.0) for _ in range(int(self.rng.integers(1, 4)))]
            self.put("buildings", "Polygon", b, {"floor_m": [self.maybe(0.4, round(self.level + self.u(-1.0, 1.0), 3)) for _ in b],
                                                "foundation_depth_m": [self.maybe(0.6, self.u(0.3, 1.5)) for _ in b]})
        if self.chance(0.4):
            k = [self.block(0.5, 3.0) for _ in range(int(self.rng.integers(1, 3)))]
            self.put("keepouts", "Polygon", k, {"reason": ["old well"] * len(k)})
        if self.chance(0.4):
            t = [shapely.Point(np.round(self.near_bore()[0] + self.rng.uniform(-4, 4, 2), 3)) for _ in range(3)]
            self.put("trees", "Point", t, {"trunk_diameter_m": [self.maybe(0.7, self.u(0.05, 0.7)) for _ in t], "retain": [self.maybe(0.5, self.chance(0.7)) for _ in t]})

    def block(self, low, high):
        """A rectangle near a bore, turned as it comes; seldom over it."""
        p, d = self.near_bore()
        turn = self.u(0, 3)
        e = np.array([np.cos(turn), np.sin(turn)])
        n, centre = np.array([-e[1], e[0]]), p + np.array([-d[1], d[0]]) * self.u(0, 5) * self.pick([-1, 1])
        a, b = e * self.u(low, high) / 2, n * self.u(low, high) / 2
        return shapely.Polygon(np.round([centre + a + b, centre + a - b, centre - a - b, centre - a + b], 3))


class CheckJob(Job):
    def tree(self):
        tree = super().tree()
        m, rules = self.m, tree["rules"]
        tree["pipe"]["sizes"] = {"225": {"od_mm": m.u(240, 260, 1), "id_mm": m.u(220, 238, 1)}}
        if m.chance(0.3):
            tree["rig"]["bore_mm"] = m.u(280, 320, 1)
        for k in KINDS:  # a plan's job may leave one out, and takes that of `other`
            rules["clearance"].setdefault(k, {"crossing_m": 0.3, "parallel_m": 0.5, "pit_m": 0.3})
        if m.layers:
            tree["layers"] = m.layers
        else:
            tree.pop("layers", None)
        return tree


def make(seed, folder):
    Path(folder).mkdir(parents=True, exist_ok=True)
    m = CheckMaker(seed, folder)
    m.make()
    return m.gpkg, m.bore_table, m.job_path


if __name__ == "__main__":
    for s in seeds(sys.argv[2:]):
        print(make(s, sys.argv[1])[0])
