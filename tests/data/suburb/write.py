"""The suburb as a GeoPackage with two job files."""

import itertools

import jobs
from sitekit import SERVICE, Package

from . import lots as plots
from . import mains, routes, streets, stubs
from .ground import GroundCells
from .tree import COLUMNS, ROW_M, TILE_M, Tree

EPSG = 32742
JOB = """\
# {name}: an invented place of {lots} lots.

[job]
name = "{name}"

[[layers.services]]
table = "services"
[[layers.services]]
table = "old_sewers"
z_means = "invert"

"""


class Rows:
    """The rows of every layer, tree by tree."""

    def __init__(self):
        self.layers = {name: [] for name in LAYERS}

    def add(self, tree, made):
        put = self.layers
        rng = tree.rng
        put["routes"] += routes.route_rows(tree, made)
        put["manholes"] += routes.manhole_rows(tree)
        put["old_sewers"] += mains.drain_rows(routes.old_sewers(tree))
        put["streets"] += streets.street_rows(tree)
        put["services"] += mains.crossroad_rows(rng, tree)
        crossings = {}
        for way, a, starts, b in streets.stretches(tree):
            put["services"] += mains.mains_of(rng, way, a, starts, b)
            crossings[id(way)] = mains.crossings_of(rng, way)
            put["services"] += mains.crossing_rows(rng, way, crossings[id(way)])
        put["surfaces"] += streets.hard_rows(tree)
        for lot in made:
            house = plots.house(rng, lot)
            put["lots"].append(plots.lot_row(lot))
            put["buildings"] += plots.building_rows(rng, lot, *house)
            put["surfaces"] += plots.surface_rows(rng, lot)
            put["fences"] += plots.fence_rows(rng, lot)
            put["trees"] += plots.tree_rows(rng, lot)
            put["services"] += stubs.Fed(rng, lot, house).rows(crossings[id(lot.way)])
        put["surfaces"] += streets.soft_rows(tree, made)


LAYERS = {
    "routes": ("line", {"route_id": "text", "dn_mm": "int", "joins": "text"}),
    "streets": ("line", {"name": "text", "class": "text", "width_m": "real", "lanes": "int", "surface": "text"}),
    "lots": ("polygon", {"lot_id": "text", "serve": "bool", "entry": "text"}),
    "buildings": ("polygon", {"floor_m": "real", "foundation_depth_m": "real"}),
    "surfaces": ("polygon", {"surface": "text"}),
    "fences": ("line", {"material": "text"}),
    "trees": ("point", {"trunk_diameter_m": "real", "retain": "bool"}),
    "services": ("line", SERVICE),
    "old_sewers": ("line-z", SERVICE),
    "manholes": ("point", {"manhole_id": "text", "cover_level_m": "real", "invert_m": "real"}),
}


def write(path, lots):
    """Whole trees until there are `lots` lots. Returns the count of rows by layer."""
    rows, trees = Rows(), 0
    for number in itertools.count():
        tree = Tree(number)
        rows.add(tree, plots.lots(tree))
        trees += 1
        if len(rows.layers["lots"]) >= lots:
            break
    site = Package(str(path), EPSG)
    for name, (geometry, columns) in LAYERS.items():
        site.layer(name, geometry, columns, rows.layers[name])
    site.raster("ground", GroundCells(_corners(trees)))
    _jobs(path, len(rows.layers["lots"]))
    return {"trees of routes": trees, **{name: len(made) for name, made in rows.layers.items()}}


def _corners(trees):
    wide, high = min(trees, COLUMNS), (trees - 1) // COLUMNS + 1
    return [(x, y) for x in (-25.0, wide * TILE_M + 5.0) for y in (-ROW_M / 2, (high - 0.5) * ROW_M)]


def _jobs(path, lots):
    """`NAME.job.toml` keeps to the routes; `NAME-corridor.job.toml` may leave them by 1 m."""
    # On a curve that is followed vertex by vertex there is a manhole every few metres: small drops, or no fall is left.
    common = jobs.COMMON.replace("manhole_drop_m = 0.03", "manhole_drop_m = 0.02")
    text = JOB.format(name=f"{path.stem}, invented", lots=lots) + common
    path.with_suffix(".job.toml").write_text(text)
    wide = text.replace("corridor_m = 0.0\n", "corridor_m = 1.0\ncorridor_step_m = 0.5\n")
    path.with_name(f"{path.stem}-corridor.job.toml").write_text(wide)
