"""A sample site as the checks read it, with GDAL's Python bindings and nothing of the scripts that drew it."""

import math
import struct
import tomllib

from osgeo import gdal, ogr

gdal.UseExceptions()
ogr.UseExceptions()


class Site:
    """A sample site, as read: features as dictionaries, ground as a function."""

    def __init__(self, folder, name):
        self.path = str(folder / f"{name}.gpkg")
        self.job = tomllib.loads((folder / f"{name}.job.toml").read_text())
        source = ogr.Open(self.path)
        self.layers = {layer.GetName(): [_feature(f) for f in layer] for layer in source}
        named = self.job.get("layers", {}).get("services", [{"table": "services"}])
        self.services = [
            dict(f, layer=s["table"], z_means=s.get("z_means", "top")) for s in named for f in self.layers[s["table"]]
        ]
        raster = gdal.Open(f"GPKG:{self.path}:ground")
        self.frame, self.size = raster.GetGeoTransform(), (raster.RasterXSize, raster.RasterYSize)
        self.cells = struct.unpack(
            f"{self.size[0] * self.size[1]}f", raster.GetRasterBand(1).ReadRaster(buf_type=gdal.GDT_Float32)
        )

    def ground(self, x, y):
        """Bilinear between cell centres."""
        c = (x - self.frame[0]) / self.frame[1] - 0.5
        r = (y - self.frame[3]) / self.frame[5] - 0.5
        i, j = math.floor(c), math.floor(r)
        assert 0 <= i < self.size[0] - 1 and 0 <= j < self.size[1] - 1, f"no ground at {x}, {y}"
        at = [self.cells[(j + b) * self.size[0] + i + a] for b in (0, 1) for a in (0, 1)]
        assert min(at) > -9000, f"no ground at {x}, {y}"
        u, v = c - i, r - j
        return (at[0] * (1 - u) + at[1] * u) * (1 - v) + (at[2] * (1 - u) + at[3] * u) * v

    def od(self):
        return self.job["pipe"]["od_mm"] / 1000

    def crown_over_invert(self):
        return (self.job["pipe"]["od_mm"] + self.job["pipe"]["id_mm"]) / 2000

    def outfall(self, route):
        if route["outfall_invert_m"] is not None:
            return route["outfall_invert_m"]
        end = route["geom"].GetPoint_2D(route["geom"].GetPointCount() - 1)
        near = [
            m
            for m in self.layers["manholes"]
            if math.dist(m["geom"].GetPoint_2D(0), end) <= self.job["search"]["snap_m"]
        ]
        return near[0]["invert_m"] if near else None


def _feature(f):
    return {**f.items(), "fid": f.GetFID(), "geom": f.GetGeometryRef().Clone()}


def unknown_depth(service):
    return service["cover_m"] is None and not service["geom"].Is3D()


def point_at(line, chainage):
    """Point at a distance from the line's *downstream* end."""
    points = [line.GetPoint_2D(i) for i in range(line.GetPointCount())][::-1]
    for a, b in zip(points, points[1:]):
        part = math.dist(a, b)
        if chainage <= part + 1e-9:
            return tuple(p + (q - p) * chainage / part for p, q in zip(a, b))
        chainage -= part
    return points[-1]


def vertex_chainages(line):
    points = [line.GetPoint_2D(i) for i in range(line.GetPointCount())][::-1]
    out = [0.0]
    for a, b in zip(points, points[1:]):
        out.append(out[-1] + math.dist(a, b))
    return out
