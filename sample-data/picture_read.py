"""What the pictures are drawn from: layers, ground and job of a site GeoPackage, and the layers planned on it."""

import io
import math
import pathlib
import sqlite3
import tomllib

import numpy
import pyogrio.raw
import shapely
from PIL import Image

RESULTS = ["proposed_pits", "proposed_bores", "bore_conflicts", "test_holes", "long_sections"]


class Site:
    """All that was read. A layer that is not there is an empty list; a row is a dictionary with `geom` and `fid`."""

    def __init__(self, path, results=None, job=None):
        self.path = pathlib.Path(path)
        job = pathlib.Path(job) if job else self.path.with_suffix(".job.toml")
        self.job = tomllib.loads(job.read_text()) if job.exists() else {}
        self.layers = read_layers(self.path)
        if results:
            self.layers.update({k: v for k, v in read_layers(results).items() if k in RESULTS})
        self.ground = Ground(self.path)
        sources = self.job.get("layers", {}).get("services", [{"table": "services"}])
        self.services = [
            dict(row, layer=s["table"], z_means=s.get("z_means", "top"))
            for s in sources
            for row in self[s["table"]]
            if row.get("status") != "removed"
        ]

    def __getitem__(self, layer):
        return self.layers.get(layer, [])

    def planned(self):
        return bool(self["proposed_bores"])


def read_layers(path):
    names = [name for name, _ in pyogrio.list_layers(path)]
    return {name: list(_rows(path, name)) for name in names}


def _rows(path, name):
    meta, fids, shapes, columns = pyogrio.raw.read(path, layer=name, return_fids=True)
    shapes = [None] * len(fids) if shapes is None else shapely.from_wkb(shapes)
    for i, fid in enumerate(fids):
        values = {field: _plain(column[i]) for field, column in zip(meta["fields"], columns)}
        yield {**values, "fid": int(fid), "geom": shapes[i]}


def _plain(value):
    """Null as None, numpy scalars as their Python kind."""
    value = value.item() if isinstance(value, numpy.generic) else value
    return None if isinstance(value, float) and math.isnan(value) else value


class Ground:
    """The raster table `ground` (2D gridded coverage, 32-bit float tiles), bilinear between cell centres."""

    def __init__(self, path):
        db = sqlite3.connect(f"file:{path}?mode=ro", uri=True)
        west, north = db.execute("select min_x, max_y from gpkg_tile_matrix_set where table_name = 'ground'").fetchone()
        zoom, wide, high, size, self.step = db.execute(
            "select zoom_level, matrix_width, matrix_height, tile_width, pixel_x_size from gpkg_tile_matrix "
            "where table_name = 'ground' order by zoom_level desc"
        ).fetchone()
        self.west, self.north = west, north
        self.cells = numpy.full((high * size, wide * size), numpy.nan)
        tiles = db.execute("select tile_column, tile_row, tile_data from ground where zoom_level = ?", (zoom,))
        for column, row, data in tiles:
            tile = numpy.array(Image.open(io.BytesIO(data)), dtype=float)
            self.cells[row * size : (row + 1) * size, column * size : (column + 1) * size] = tile
        db.close()
        self.cells[self.cells < -9000] = numpy.nan

    def at(self, x, y):
        c, r = (x - self.west) / self.step - 0.5, (self.north - y) / self.step - 0.5
        i, j = math.floor(c), math.floor(r)
        near = self.cells[j : j + 2, i : i + 2]
        return float(numpy.array([1 - (r - j), r - j]) @ near @ numpy.array([1 - (c - i), c - i]))


def upstream(line):
    """The route from its downstream end, so that distance along it is chainage."""
    return shapely.reverse(shapely.force_2d(line))


def level_of(site, service, point):
    """Centre level of a service nearest a plan point, its radius and 95 % level limit; None where its depth is unknown."""
    radius = (
        service.get("diameter_mm") or site.job["rules"].get("default_diameter_mm", {}).get(service["kind"], 100)
    ) / 2000
    limit = site.job["rules"]["quality"][service.get("quality") or "unknown"]["vertical_m"]
    line = service["geom"]
    if line.has_z:
        z = _z_at(line, shapely.Point(point))
        return z + {"top": -radius, "centre": 0.0, "invert": radius}[service["z_means"]], radius, limit
    if service.get("cover_m") is not None:
        return site.ground.at(*point) - service["cover_m"] - radius, radius, limit
    return None


def _z_at(line, point):
    coords = shapely.get_coordinates(line, include_z=True)
    flat = shapely.force_2d(line)
    along, walked = flat.project(point), 0.0
    for a, b in zip(coords, coords[1:]):
        part = math.dist(a[:2], b[:2])
        if along <= walked + part:
            return a[2] + (b[2] - a[2]) * (along - walked) / part
        walked += part
    return coords[-1][2]


def crossings(site, route):
    """(chainage, plan point, service) wherever a service crosses the route, from the outfall up."""
    line, found = upstream(route["geom"]), []
    for service in site.services:
        meets = shapely.force_2d(service["geom"]).intersection(line)
        points = [g for g in getattr(meets, "geoms", [meets]) if g.geom_type == "Point" and not g.is_empty]
        found += [(line.project(p), (p.x, p.y), service) for p in points]
    return sorted(found, key=lambda f: (f[0], f[2]["layer"], f[2]["fid"]))
