"""Bits that every invented site is drawn with: a bent street, a ground surface, a GeoPackage.

Needs the Python bindings of GDAL 3.6 and the standard library, nothing else.
"""

import math
import os
import struct

from osgeo import gdal, ogr, osr

gdal.UseExceptions()
ogr.UseExceptions()
# A fixed date of last change: the same script writes the same file.
gdal.SetConfigOption("OGR_CURRENT_DATE", "2026-01-01T00:00:00.000Z")

# Columns of a layer of services.
SERVICE = {
    "kind": "text",
    "diameter_mm": "real",
    "cover_m": "real",
    "quality": "text",
    "owner": "text",
    "status": "text",
}
ARC_NODE_M = 2.5  # curved edges get a vertex at every multiple of this along the street


class Street:
    """Local coordinates along a street: s metres down it, t metres to its right.

    The street runs straight for `first` metres, bends left by `bend_deg` on radius `radius`, and runs straight on.
    The bisector of the bend is the local x axis, turned to grid by `turn_deg`, and s = 0 lies at (`east`, `north`).
    """

    def __init__(self, east, north, turn_deg, first, bend_deg, radius):
        self.east, self.north, self.turn = east, north, math.radians(turn_deg)
        self.first, self.bend, self.radius = first, math.radians(bend_deg), radius
        self.arc_end = first + self.bend * radius

    def local(self, s, t):
        """Plan point (x, y) in the local frame."""
        turned = min(max((s - self.first) / self.radius, 0.0), self.bend) if self.bend else 0.0
        heading = turned - self.bend / 2
        x, y = self._centre(s, turned)
        return x + t * math.sin(heading), y - t * math.cos(heading)

    def _centre(self, s, turned):
        start = -self.bend / 2
        straight = min(s, self.first)
        x, y = straight * math.cos(start), straight * math.sin(start)
        x += self.radius * (math.sin(start + turned) - math.sin(start))
        y -= self.radius * (math.cos(start + turned) - math.cos(start))
        beyond = max(s - self.arc_end, 0.0)
        return x + beyond * math.cos(start + turned), y + beyond * math.sin(start + turned)

    def grid(self, x, y):
        """Local frame to the grid."""
        c, n = math.cos(self.turn), math.sin(self.turn)
        return self.east + x * c - y * n, self.north + x * n + y * c

    def from_grid(self, e, n):
        """Grid to the local frame."""
        c, k = math.cos(self.turn), math.sin(self.turn)
        de, dn = e - self.east, n - self.north
        return de * c + dn * k, dn * c - de * k

    def at(self, s, t):
        """Grid point to the millimetre."""
        e, n = self.grid(*self.local(s, t))
        return round(e, 3), round(n, 3)

    def straight(self, points):
        """Grid points of a line that is straight between its (s, t) vertices."""
        return [self.at(s, t) for s, t in points]

    def along(self, points):
        """Grid points of a line that keeps to the street's bend between its (s, t) vertices."""
        out = [self.at(*points[0])]
        for (s0, t0), (s1, t1) in zip(points, points[1:]):
            for s in self._nodes(s0, s1):
                out.append(self.at(s, t0 + (t1 - t0) * (s - s0) / (s1 - s0)))
            out.append(self.at(s1, t1))
        return out

    def _nodes(self, s0, s1):
        low, high = max(min(s0, s1), self.first), min(max(s0, s1), self.arc_end)
        nodes = [k * ARC_NODE_M for k in range(math.ceil(low / ARC_NODE_M), math.floor(high / ARC_NODE_M) + 1)]
        nodes += [e for e in (self.first, self.arc_end) if self.bend and low <= e <= high]
        inside = sorted(s for s in set(nodes) if min(s0, s1) < s < max(s0, s1))
        return inside if s1 > s0 else inside[::-1]

    def ring(self, points):
        """Closed ring of grid points."""
        return self.along(list(points) + [points[0]])

    def box(self, s0, s1, t0, t1):
        """Ring of the strip s0..s1, t0..t1."""
        return self.ring([(s0, t0), (s1, t0), (s1, t1), (s0, t1)])


class Package:
    """A new GeoPackage, filled layer by layer."""

    def __init__(self, path, epsg):
        if os.path.exists(path):
            os.remove(path)
        self.path = path
        self.srs = osr.SpatialReference()
        self.srs.ImportFromEPSG(epsg)
        self.srs.SetAxisMappingStrategy(osr.OAMS_TRADITIONAL_GIS_ORDER)
        self.file = ogr.GetDriverByName("GPKG").CreateDataSource(path)

    def layer(self, name, geometry, columns, rows):
        """Write one layer. `columns`: name to `text`, `real`, `int` or `bool`; a row: geometry points and values."""
        kind = {
            "point": ogr.wkbPoint,
            "line": ogr.wkbLineString,
            "line-z": ogr.wkbLineString25D,
            "polygon": ogr.wkbPolygon,
        }
        made = self.file.CreateLayer(name, self.srs, kind[geometry], ["FID=fid", "GEOMETRY_NAME=geom"])
        for column, form in columns.items():
            made.CreateField(_field(column, form))
        self.file.StartTransaction()
        for row in rows:
            made.CreateFeature(_feature(made, geometry, columns, row))
        self.file.CommitTransaction()

    def close(self):
        self.file = None

    def raster(self, name, cells):
        """Append a raster table (2D gridded coverage, 32-bit float) of `cells`, a GridCells."""
        self.close()
        source = gdal.GetDriverByName("MEM").Create("", cells.columns, cells.rows, 1, gdal.GDT_Float32)
        source.SetGeoTransform((cells.west, cells.step, 0, cells.north, 0, -cells.step))
        source.SetProjection(self.srs.ExportToWkt())
        band = source.GetRasterBand(1)
        band.SetNoDataValue(-9999.0)
        for row in range(cells.rows):
            levels = cells.row_levels(row)
            band.WriteRaster(0, row, cells.columns, 1, struct.pack(f"{cells.columns}f", *levels))
        options = ["APPEND_SUBDATASET=YES", f"RASTER_TABLE={name}", "TILE_FORMAT=TIFF", "BLOCKSIZE=256"]
        gdal.GetDriverByName("GPKG").CreateCopy(self.path, source, 0, options)


class GridCells:
    """A raster to be: cells of `step` metres over a grid box, levels from `level(e, n)` at cell centres."""

    def __init__(self, box, step, level):
        self.west, self.north, self.step, self.level = math.floor(box[0]), math.ceil(box[3]), step, level
        self.columns = math.ceil((box[2] - self.west) / step)
        self.rows = math.ceil((self.north - box[1]) / step)

    def row_levels(self, row):
        n = self.north - (row + 0.5) * self.step
        return [round(self.level(self.west + (col + 0.5) * self.step, n), 3) for col in range(self.columns)]


def _field(name, form):
    types = {"text": ogr.OFTString, "real": ogr.OFTReal, "int": ogr.OFTInteger, "bool": ogr.OFTInteger}
    field = ogr.FieldDefn(name, types[form])
    if form == "bool":
        field.SetSubType(ogr.OFSTBoolean)
    return field


def _feature(layer, geometry, columns, row):
    feature = ogr.Feature(layer.GetLayerDefn())
    feature.SetGeometry(_geometry(geometry, row["at"]))
    unknown = set(row) - set(columns) - {"at"}
    if unknown:
        raise ValueError(f"{layer.GetName()}: no such column: {sorted(unknown)}")
    for column in columns:
        value = row.get(column)
        if value is not None:
            feature.SetField(column, int(value) if isinstance(value, bool) else value)
    return feature


def _geometry(kind, points):
    if kind == "point":
        made = ogr.Geometry(ogr.wkbPoint)
        made.AddPoint_2D(*points)
        return made
    if kind == "polygon":
        ring = ogr.Geometry(ogr.wkbLinearRing)
        for p in points:
            ring.AddPoint_2D(*p)
        made = ogr.Geometry(ogr.wkbPolygon)
        made.AddGeometry(ring)
        return made
    made = ogr.Geometry(ogr.wkbLineString25D if kind == "line-z" else ogr.wkbLineString)
    for p in points:
        if kind == "line-z":
            made.AddPoint(*p)
        else:
            made.AddPoint_2D(*p)
    return made
