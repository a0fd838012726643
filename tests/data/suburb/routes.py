"""The routes of a tree, digitised downstream, and the manholes and old sewers that they end in."""

from .ground import grid, level
from .lots import behind
from .tree import GAP_M, YARD_M

OUTFALL_DEPTH_M = 3.25


def route_rows(tree, lots):
    """The street's route first, then its branches; a branch of a branch last."""
    prefix = f"T{tree.number + 1:03}"
    rows = [_row(_parent(tree), f"{prefix}-A")]
    names = {}
    for k, side in enumerate(tree.sides):
        names[id(side)] = f"{prefix}-{chr(66 + k)}"
        rows.append(_row(_side(tree, side), names[id(side)], f"{prefix}-A"))
    for k, yard in enumerate(tree.yards):
        joins = names[id(yard.into)] if yard.first else f"{prefix}-A"
        rows.append(_row(_yard(tree, yard, behind(lots, tree, yard)), f"{prefix}-Y{k + 1}", joins))
    return rows


def _row(points, route_id, joins=None):
    return {"at": [grid(x, y) for x, y in points], "route_id": route_id, "dn_mm": 150, "joins": joins}


def _parent(tree):
    way = tree.parent
    marks = [side.meets() for side in tree.sides] + [yard.walk for yard in tree.yards if not yard.first]
    return [way.curve.at(s, way.offset) for s in _digitised(tree, way, marks)]


def _side(tree, side):
    """From the head to the point of the parent's route that it joins."""
    marks = [YARD_M for yard in tree.yards if yard.first and yard.into is side]
    points = [side.way.curve.at(u, side.way.offset) for u in reversed(_digitised(tree, side.way, marks))]
    return points[:-1] + [tree.parent.curve.at(side.meets(), tree.parent.offset)]


def _yard(tree, yard, row):
    """A vertex in the middle of every lot that may be entered, from the head down; then out of the yards and in."""
    side = yard.into
    middles = [lot.at((lot.a + lot.b) / 2, YARD_M) for lot in reversed(row) if lot.entry]
    if yard.first:
        return middles + [side.way.curve.at(YARD_M, side.way.offset)]
    parent = tree.parent
    walk = parent.curve.straight([(yard.walk, side.side * 41.5), (yard.walk, parent.offset)])
    return middles + walk


def _digitised(tree, way, marks):
    """s of the vertices: both ends and every mark, and on a curved street one every 3 to 6 m, none in a cluster."""
    fixed = sorted([way.begin, way.end, *marks])
    if not way.curved:
        return fixed
    free = [c + side * GAP_M for c in way.clusters for side in (-1, 1)]
    stops = sorted({*fixed, *(s for s in free if way.begin < s < way.end)})
    out = stops[:1]
    for a, b in zip(stops, stops[1:]):
        count = max(1, min(round((b - a) / 4.5), int((b - a) / 3.0)))
        for k in range(1, count):
            shift = tree.rng.uniform(-0.15, 0.15) * (b - a) / count
            out.append(a + (b - a) * k / count + shift)
        out.append(b)
    return out


def outfall(tree):
    """(plan point, invert) of the manhole that the tree flows into."""
    point = tree.parent.curve.at(tree.parent.end, tree.parent.offset)
    return point, round(level(*point) - OUTFALL_DEPTH_M, 2)


def crossroad(tree):
    """Both ends of the street that the tree's street ends in, 50 m to the right and to the left."""
    return tree.parent.curve.straight([(tree.length + 1.5, 50.0), (tree.length + 1.5, -50.0)])


def _old(tree):
    """Manholes of the old sewer: one on either hand, higher, and one below."""
    s, t = tree.parent.end, tree.parent.offset
    _, invert = outfall(tree)
    curve = tree.parent.curve
    return [(curve.at(s, t + 45.0), invert + 0.7), (curve.at(s, t - 45.0), invert + 0.7), (curve.at(s + 22.0, t), invert - 0.4)]


def manhole_rows(tree):
    for k, (point, invert) in enumerate([outfall(tree), *_old(tree)]):
        yield {
            "at": grid(*point),
            "manhole_id": f"M{tree.number + 1:03}-{k + 1}",
            "cover_level_m": round(level(*point), 2),
            "invert_m": round(invert, 2),
        }


def old_sewers(tree):
    """(points from upstream down, inverts) of the pipes between those manholes."""
    here, invert = outfall(tree)
    for point, other in _old(tree):
        ends = [(point, other), (here, invert)] if other > invert else [(here, invert), (point, other)]
        yield [p for p, _ in ends], [z for _, z in ends]
