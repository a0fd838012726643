"""Carriageways, footpaths and verges, and how far each street's mains reach."""

from .ground import grid
from .lots import EDGE_M, REAR_M
from .mains import side_starts
from .routes import crossroad
from .tree import SIDE_LOTS_M

STRIP_M = 18.0  # surfaces are mapped in pieces of about this length


def stretches(tree):
    """(street, begin, begins of single mains, end) of the mains of every street of the tree."""
    yield tree.parent, -6.0, {}, tree.length - 7.0
    for side in tree.sides:
        yield side.way, EDGE_M, side_starts(tree.parent, side), side.way.end + 6.0


def street_rows(tree):
    yield _street(tree.parent.curve.along(-6.0, tree.length + 1.5, 0.0), tree.parent.name, 8.0)
    for side in tree.sides:
        yield _street(side.way.curve.along(0.0, side.way.end + 6.0, 0.0), side.way.name, 8.0)
    yield _street(crossroad(tree), f"Row {tree.number + 1}", 7.0)


def _street(points, name, width):
    at = [grid(x, y) for x, y in points]
    return {"at": at, "name": name, "class": "residential", "width_m": width, "lanes": 2, "surface": "asphalt"}


def hard_rows(tree):
    """Carriageways, then footpaths, in strips."""
    for way, a, b in _spans(tree):
        for low, high in _strips(a, b):
            yield _surface(way.curve.strip(low, high, -4.0, 4.0), "asphalt")
    across = tree.parent.curve.box(tree.length - 2.0, tree.length + 5.0, -52.0, 52.0)
    yield _surface(across, "asphalt")
    for way, a, b in _spans(tree):
        for low, high in _strips(max(a, 4.0), b):
            yield _surface(way.curve.strip(low, high, 5.6 * way.flip, 7.0 * way.flip), "concrete")


def soft_rows(tree, lots):
    """Lawn on the lots and verges; what is left over counts as bare."""
    for lot in lots:
        yield _surface(lot.way.curve.strip(lot.a, lot.b, lot.side * 4.0, lot.side * REAR_M), "lawn")
    for side in tree.sides:
        for hand in (-1, 1):
            yield _surface(side.way.curve.box(4.0, SIDE_LOTS_M, hand * 4.0, hand * EDGE_M), "lawn")


def _spans(tree):
    yield tree.parent, -6.0, tree.length - 2.0
    for side in tree.sides:
        yield side.way, 0.0, side.way.end + 6.0


def _strips(a, b):
    count = max(1, round((b - a) / STRIP_M))
    return [(a + (b - a) * k / count, a + (b - a) * (k + 1) / count) for k in range(count)]


def _surface(ring, surface):
    return {"at": [grid(x, y) for x, y in ring], "surface": surface}
