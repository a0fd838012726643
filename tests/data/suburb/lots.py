"""Lots, and what stands on them: houses, sheds, driveways, fences, trees."""

from dataclasses import dataclass

from .ground import grid, level
from .tree import EDGE_M, FRONT_M, REAR_M, SIDE_LOTS_M, Way


@dataclass
class Lot:
    """A lot from a to b along its street, on its right (`side` 1) or left (-1). `yard`: a sewer runs behind its house."""

    lot_id: str
    way: Way
    side: int
    a: float
    b: float
    entry: bool
    yard: bool = False

    def at(self, s, t):
        """Plan point; t from the centre line into the lot."""
        return self.way.curve.at(s, self.side * t)

    def box(self, a, b, t0, t1):
        return self.way.curve.box(a, b, self.side * t0, self.side * t1)


def lots(tree):
    """All lots of a tree, street by street."""
    made = []
    for way, spans in _rows(tree):
        for side, a, b in spans:
            count = max(1, round((b - a) / FRONT_M))
            edges = [a + (b - a) * k / count for k in range(count + 1)]
            for low, high in zip(edges, edges[1:]):
                lot_id = f"{tree.number + 1}-{len(made) + 1}"
                made.append(Lot(lot_id, way, side, low, high, tree.rng.random() < 0.7))
    for yard in tree.yards:
        _let_in(tree.rng, behind(made, tree, yard))
    return made


def _rows(tree):
    """(street, [(side, from, to) of lots without a break])."""
    yield tree.parent, [span for side in (1, -1) for span in _unbroken(tree.parent, side, 4.0, tree.length - 16.0)]
    for side in tree.sides:
        end = SIDE_LOTS_M + side.lots * FRONT_M
        yield side.way, [(1, SIDE_LOTS_M, end), (-1, SIDE_LOTS_M, end)]


def _unbroken(way, side, begin, end):
    at = begin
    for low, high in sorted((a, b) for s, a, b in way.breaks if s == side):
        if low - at > 9.0:
            yield side, at, low
        at = high
    yield side, at, end


def behind(made, tree, yard):
    """The lots that a line behind houses passes, from its downstream end up."""
    side = yard.into
    if yard.first:
        row = [p for p in made if p.way is tree.parent and p.side == side.side and p.b < side.s]
        return [p for p in reversed(row) if p.b > side.s - yard.length]
    row = [p for p in made if p.way is side.way and p.side == yard.row]
    return [p for p in row if p.a < SIDE_LOTS_M + yard.length]


def _let_in(rng, row):
    """Entry along a line behind houses: at both ends, and never two refusals in a row."""
    refused = False
    for k, lot in enumerate(row):
        lot.yard = True
        refused = 0 < k < len(row) - 1 and not refused and rng.random() < 0.35
        lot.entry = not refused


def lot_row(lot):
    ring = lot.way.curve.strip(lot.a, lot.b, lot.side * EDGE_M, lot.side * REAR_M)
    return {"at": _ring(ring), "lot_id": lot.lot_id, "serve": True, "entry": "yes" if lot.entry else "no"}


def house(rng, lot):
    """(a, b, rear) of the house: 14 m from the centre line to `rear`, a digger's or a man's width beside it."""
    return lot.a + rng.choice([1.2, 1.2, 2.9]), lot.b - rng.choice([1.3, 2.9, 3.1]), rng.uniform(23.0, 27.0)


def building_rows(rng, lot, a, b, rear):
    split, wing = a + (b - a) * rng.uniform(0.4, 0.6), rear + rng.uniform(0.5, 1.4)
    outline = [(a, 14), (b, 14), (b, rear), (split, rear), (split, wing), (a, wing), (a, 14)]
    ring = [lot.at(s, t) for s, t in outline]
    floor = round(max(level(*p) for p in ring) + rng.uniform(0.15, 0.4), 2)
    yield {"at": _ring(ring), "floor_m": floor if rng.random() < 0.9 else None}
    if not lot.yard and rng.random() < 0.4:
        ring = lot.box(lot.a + 1.0, lot.a + 4.0, 33.5, 36.5)
        yield {"at": _ring(ring), "floor_m": round(max(level(*p) for p in ring) + 0.1, 2), "foundation_depth_m": 0.3}


def surface_rows(rng, lot):
    """Hard things first: the first by fid wins."""
    drive = lot.b - 3.6 if rng.random() < 0.5 else lot.a + 0.6
    yield {"at": _ring(lot.box(drive, drive + 3.0, 4.2, 15.0)), "surface": rng.choice(["concrete", "paving", "gravel"])}
    if rng.random() < 0.6:
        yield {"at": _ring(lot.box(lot.a + 5.0, lot.a + 10.0, 28.5, 31.5)), "surface": "paving"}


def fence_rows(rng, lot):
    material = rng.choice(["timber", "timber", "metal", "masonry"])
    yield {"at": _ring([lot.at(lot.a, 12), lot.at(lot.a, REAR_M)]), "material": material}
    yield {"at": _ring(lot.way.curve.along(lot.a, lot.b, lot.side * REAR_M, 6.0)), "material": rng.choice(["timber", "metal"])}


def tree_rows(rng, lot):
    """A street tree before every second lot, a tree or two behind every house."""
    if rng.random() < 0.5:
        yield _tree(rng, lot.at((lot.a + lot.b) / 2 + rng.uniform(-1, 1), 7.9), [0.15, 0.2, 0.3])
    if rng.random() < 0.7:
        yield _tree(rng, lot.at(lot.b - rng.uniform(2, 6), rng.uniform(28.5, 30.5)), [0.2, 0.3, 0.45])


def _tree(rng, point, trunks):
    return {"at": grid(*point), "trunk_diameter_m": rng.choice(trunks), "retain": rng.random() < 0.9}


def _ring(points):
    return [grid(x, y) for x, y in points]
