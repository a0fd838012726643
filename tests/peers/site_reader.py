"""Reads a site GeoPackage and its job file into plain values, metres throughout.

Written from `planning-model.md` and `interface.md` alone. What this reader does not
cover stops it with `NotCovered`, so that nothing is passed over unseen: layers in
another CRS than the routes, and levels in feet.
"""

import json
import math
import re
import subprocess
import tempfile
import tomllib
from dataclasses import dataclass, field
from pathlib import Path

import numpy as np
import pyogrio
import shapely
from scipy.spatial import Delaunay

ROLES = ["routes", "streets", "lots", "buildings", "surfaces", "fences", "trees", "services",
         "manholes", "keepouts", "ground"]


class NotCovered(Exception):
    """The input uses something that this reader does not cover."""


class Job:
    """The job file; `job("rules.min_cover_m")` gives the value or the fallback."""

    def __init__(self, tree):
        self.tree = tree

    def __call__(self, path, fallback=None):
        node = self.tree
        for key in path.split("."):
            if not isinstance(node, dict) or key not in node:
                return fallback
            node = node[key]
        return node

    def need(self, path):
        value = self(path)
        if value is None:
            raise NotCovered(f"job: {path} is not set")
        return value


def read_job(path, filled=None):
    """`filled`: the job as the run wrote it, with defaults; the job file's own keys win."""
    with open(path, "rb") as f:
        own = tomllib.load(f)
    return Job(overlay(filled or {}, own))


def overlay(base, top):
    if not (isinstance(base, dict) and isinstance(top, dict)):
        return top
    out = dict(base)
    for key, value in top.items():
        out[key] = overlay(base[key], value) if key in base else value
    return out


@dataclass
class Route:
    id: str
    fid: int
    xy: np.ndarray  # (n, 2), downstream
    z: np.ndarray
    dn: int
    outfall: float | None
    head: float | None
    joins: str | None
    follows: str | None


@dataclass
class Service:
    layer: str
    fid: int
    kind: str
    diameter: float  # m, outside
    quality: str
    cover: float | None
    parts: list = field(default_factory=list)  # (n, 3) with centre levels, NaN where none
    has_z: bool = False


@dataclass
class Area:
    layer: str
    fid: int
    shape: object
    attrs: dict


class Site:
    def __init__(self, gpkg, job, job_path):
        self.gpkg, self.job = Path(gpkg), job
        self.folder = Path(job_path).parent
        self.warnings = []
        self.tables = [name for name, _ in pyogrio.list_layers(gpkg)]
        self.origin = np.zeros(2)
        self.factor = 1.0
        self.bounds = []
        self.read_routes()
        self.read_obstacles()
        self.read_services()
        self.ground = Ground(self)

    # -- layers ---------------------------------------------------------------------------

    def role_settings(self, role):
        node = self.job(f"layers.{role}")
        if node is None:
            return [{}]
        return node if isinstance(node, list) else [node]

    def rows(self, role):
        """Rows of every layer that fills the role: (table, fid, shapely geometry, attributes)."""
        for setting in self.role_settings(role):
            table = setting.get("table") or role
            file = self.folder / setting["file"] if setting.get("file") else self.gpkg
            if file == self.gpkg and table not in self.tables:
                continue
            yield from self.layer_rows(file, table, setting)

    def layer_rows(self, file, table, setting):
        meta, fids, geoms, data = pyogrio.raw.read(file, layer=table, return_fids=True)
        if meta.get("geometry_type") is None or geoms is None:
            return
        self.same_crs(meta["crs"], table)
        names = {str(n): i for i, n in enumerate(meta["fields"])}
        keys = {v: k for k, v in setting.items() if isinstance(v, str)}
        for i, fid in enumerate(fids):
            attrs = {n: tidy(data[c][i]) for n, c in names.items()}
            attrs.update({k: attrs.get(v) for v, k in keys.items() if v in attrs})
            geom = None if geoms[i] is None else self.to_metres(shapely.from_wkb(geoms[i]))
            if geom is not None and not geom.is_empty:
                self.bounds.append(geom.bounds)
            yield table, int(fid), geom, attrs

    def same_crs(self, crs, table):
        if not hasattr(self, "crs"):
            self.crs, self.factor = crs, linear_unit(crs)
        elif crs != self.crs:
            raise NotCovered(f"{table}: CRS {crs}, routes {self.crs}")

    def to_metres(self, geom):
        if geom.is_empty:
            return geom
        xyz = shapely.get_coordinates(geom, include_z=True)
        if not hasattr(self, "origin_set"):
            self.origin, self.origin_set = np.floor(xyz[0, :2] * self.factor), True
        move = lambda c: np.column_stack([c[:, :2] * self.factor - self.origin, c[:, 2:]])
        return shapely.transform(geom, move, include_z=bool(shapely.has_z(geom)))

    def to_grid(self, xy):
        return (np.asarray(xy) + self.origin) / self.factor

    # -- things ---------------------------------------------------------------------------

    def read_routes(self):
        self.routes = []
        for _, fid, geom, a in self.rows("routes"):
            line = only_part(geom)
            xyz = distinct(shapely.get_coordinates(line, include_z=True))
            self.routes.append(Route(
                str(a.get("route_id") if a.get("route_id") is not None else f"R{fid}"), fid,
                xyz[:, :2], xyz[:, 2], int(a.get("dn_mm") or self.job.need("pipe.dn_mm")),
                a.get("outfall_invert_m"), a.get("head_invert_max_m"), a.get("joins"), a.get("follows")))

    def areas(self, role):
        out = []
        for table, fid, geom, a in self.rows(role):
            if geom is None or geom.is_empty:
                continue
            geom = shapely.force_2d(geom)
            if geom.geom_type.endswith("Polygon") and not geom.is_valid:
                geom = shapely.make_valid(geom)
            out.append(Area(table, fid, geom, a))
        return out

    def read_obstacles(self):
        for role in ("streets", "lots", "buildings", "surfaces", "fences", "trees", "manholes", "keepouts"):
            setattr(self, role, self.areas(role))

    def read_services(self):
        self.services = []
        for setting in self.role_settings("services"):
            table = setting.get("table") or "services"
            file = self.folder / setting["file"] if setting.get("file") else self.gpkg
            if file == self.gpkg and table not in self.tables:
                continue
            for _, fid, geom, a in self.layer_rows(file, table, setting):
                if geom is None or geom.is_empty or a.get("status") == "removed":
                    continue
                self.services.append(self.service(table, fid, geom, a, setting))

    def service(self, table, fid, geom, a, setting):
        kinds = ["water", "gas", "electricity", "telecom", "sewer", "stormwater", "recycled-water", "fuel"]
        kind = a.get("kind") if a.get("kind") in kinds else "other"
        mm = a.get("diameter_mm")
        if mm is None:
            mm = self.job(f"rules.default_diameter_mm.{kind}")
        if mm is None:
            raise NotCovered(f"no diameter for {table} {fid}")
        d = mm / 1000
        if setting.get("z_unit", "m") != "m":
            raise NotCovered(f"{table}: z_unit {setting['z_unit']}")
        s = Service(table, fid, kind, d, a.get("quality") or "unknown", a.get("cover_m"))
        shift = {"top": -d / 2, "centre": 0.0, "invert": d / 2}[setting.get("z_means", "top")]
        s.parts = [distinct(shapely.get_coordinates(p, include_z=True)) for p in shapely.get_parts(geom)]
        allz = np.concatenate([p[:, 2] for p in s.parts])
        s.has_z = bool(shapely.has_z(geom)) and not np.isnan(allz).any() and not (allz == 0).all()
        for p in s.parts:
            p[:, 2] = p[:, 2] + shift if s.has_z else np.nan
        if not s.has_z:
            s.parts = [distinct(p) for p in s.parts]
        s.parts = [p for p in s.parts if len(p) > 1]
        return s


def tidy(value):
    if value is None:
        return None
    if isinstance(value, (np.floating, float)):
        return None if math.isnan(value) else float(value)
    if isinstance(value, np.bool_):
        return bool(value)
    if isinstance(value, np.integer):
        return int(value)
    return value


def only_part(geom):
    parts = shapely.get_parts(geom)
    if len(parts) != 1:
        raise NotCovered("a route of several parts")
    return parts[0]


def distinct(xyz):
    """The vertices without those that repeat the one before."""
    keep = [0]
    for i in range(1, len(xyz)):
        if not np.array_equal(np.nan_to_num(xyz[i]), np.nan_to_num(xyz[keep[-1]])):
            keep.append(i)
    return xyz[keep].copy()


def linear_unit(crs):
    """Metres in one unit of the CRS, from its WKT."""
    wkt = subprocess.run(["gdalsrsinfo", "-o", "wkt1", crs], capture_output=True, text=True).stdout
    units = re.findall(r'UNIT\["[^"]*",\s*([0-9.eE+-]+)', wkt.split('VERT_CS')[0])
    if not wkt.strip().startswith(("PROJCS", "COMPD_CS")) or not units:
        raise NotCovered(f"CRS {crs} is not projected")
    return float(units[-1])


# -- ground ---------------------------------------------------------------------------------


class Ground:
    """Level of the ground at plan points; NaN where there is none."""

    def __init__(self, site):
        self.site, self.cache = site, {}
        setting = site.role_settings("ground")[0]
        raster = self.raster_file(setting)
        if raster is not None:
            self.raster = read_raster(raster)
            self.kind = "raster"
        elif self.read_points():
            self.kind = "points"
        else:
            self.kind = "routes"
            self.lines = [r for r in site.routes if not np.isnan(r.z).any() and not (r.z == 0).all()]
            if not self.lines:
                raise NotCovered("no ground at all")

    def raster_file(self, setting):
        if setting.get("file") and not setting["file"].endswith((".gpkg", ".geojson", ".shp", ".fgb")):
            return str(self.site.folder / setting["file"])
        table = setting.get("table", "ground")
        file = self.site.folder / setting["file"] if setting.get("file") else self.site.gpkg
        info = gdalinfo(f"GPKG:{file}:{table}")
        return f"GPKG:{file}:{table}" if info else None

    def read_points(self):
        xy, z = [], []
        for _, _, geom, a in self.site.rows("ground"):
            for p in shapely.get_parts(geom):
                level = a.get("level_m") if a.get("level_m") is not None else p.z
                xy.append((p.x, p.y))
                z.append(level)
        if len(xy) < 3:
            return False
        self.tin, self.levels = Delaunay(np.array(xy)), np.array(z, float)
        return True

    def __call__(self, xy):
        xy = np.asarray(xy, float)
        flat = xy.reshape(-1, 2)
        out = getattr(self, "from_" + self.kind)(flat)
        return out.reshape(xy.shape[:-1])

    def one(self, xy):
        key = (float(xy[0]), float(xy[1]))
        if key not in self.cache:
            self.cache[key] = float(self(np.array(key)))
        return self.cache[key]

    def from_raster(self, xy):
        values, gt = self.raster
        rows, cols = values.shape
        g = self.site.to_grid(xy)
        det = gt[1] * gt[5] - gt[2] * gt[4]
        dx, dy = g[:, 0] - gt[0], g[:, 1] - gt[3]
        col = (dx * gt[5] - dy * gt[2]) / det
        row = (dy * gt[1] - dx * gt[4]) / det
        inside = (col >= 0) & (col <= cols) & (row >= 0) & (row <= rows)
        cx, cy = np.clip(col - 0.5, 0, cols - 1), np.clip(row - 0.5, 0, rows - 1)
        i0, j0 = np.floor(cy).astype(int), np.floor(cx).astype(int)
        i0, j0 = np.clip(i0, 0, rows - 1), np.clip(j0, 0, cols - 1)
        fy, fx = cy - i0, cx - j0
        total = np.zeros(len(xy))
        for di, wy in ((0, 1 - fy), (1, fy)):
            for dj, wx in ((0, 1 - fx), (1, fx)):
                v = values[np.minimum(i0 + di, rows - 1), np.minimum(j0 + dj, cols - 1)]
                w = wy * wx
                total += np.where(w > 0, w * v, 0.0)
        return np.where(inside, total, np.nan)

    def from_points(self, xy):
        tri = self.tin.find_simplex(xy, tol=1e-12)
        out = np.full(len(xy), np.nan)
        ok = tri >= 0
        t = self.tin.transform[tri[ok]]
        b = np.einsum("nij,nj->ni", t[:, :2], xy[ok] - t[:, 2])
        bary = np.column_stack([b, 1 - b.sum(axis=1)])
        out[ok] = (bary * self.levels[self.tin.simplices[tri[ok]]]).sum(axis=1)
        return out

    def from_routes(self, xy):
        out, near = np.full(len(xy), np.nan), np.full(len(xy), np.inf)
        for r in self.lines:
            for k in range(len(r.xy) - 1):
                a, b = r.xy[k], r.xy[k + 1]
                t = np.clip(((xy - a) @ (b - a)) / ((b - a) @ (b - a)), 0, 1)
                d = np.hypot(*(xy - (a + t[:, None] * (b - a))).T)
                z = r.z[k] + t * (r.z[k + 1] - r.z[k])
                out, near = np.where(d < near, z, out), np.minimum(d, near)
        return out


def gdalinfo(name):
    run = subprocess.run(["gdalinfo", "-json", name], capture_output=True, text=True)
    return json.loads(run.stdout) if run.returncode == 0 else None


def read_raster(name):
    """Values (rows, cols) with NaN for no data, and the geotransform."""
    info = gdalinfo(name)
    with tempfile.TemporaryDirectory() as tmp:
        raw = f"{tmp}/raw"
        subprocess.run(["gdal_translate", "-q", "-b", "1", "-of", "ENVI", "-ot", "Float64", name, raw], check=True)
        cols, rows = info["size"]
        values = np.fromfile(raw, float).reshape(rows, cols)
    nodata = info["bands"][0].get("noDataValue")
    if nodata is not None:
        values = np.where(values == float(nodata), np.nan, values)
    return values, info["geoTransform"]


def read_site(gpkg, job_path, filled=None):
    job = read_job(job_path, filled)
    return Site(gpkg, job, job_path)
