"""The streets of one tree of routes: a street that ends at an old sewer, its side streets, and lines behind the lots."""

import math
import random
from dataclasses import dataclass, field

from .curve import Curve, bends, levelled
from .ground import ROW_M

TILE_M = 262.0  # from tree to tree down the slope
COLUMNS = 10  # trees in a row; more trees make more rows, so that a bigger suburb begins as the smaller one
EDGE_M = 8.0  # from the centre line to the lots
REAR_M = 38.0  # from the centre line to the rear of the lots
YARD_M = 36.0  # from the centre line to a sewer behind the houses
FRONT_M = 18.0  # width of a lot
SIDE_LOTS_M = 46.0  # where the lots of a side street begin
CLUSTER_M = 18.0  # crossings lie in clusters this far apart, with room for pits between
GAP_M = 3.0  # from the middle of a cluster to the nearest vertices of the route


@dataclass
class Way:
    """A street with lots on both sides. `flip` is 1, or -1 where left and right are changed over."""

    name: str
    curve: Curve
    begin: float
    end: float
    offset: float  # of the route from the centre line
    flip: int
    curved: bool
    clusters: list = field(default_factory=list)
    # (side, from, to) of what interrupts the rows of lots
    breaks: list = field(default_factory=list)


@dataclass
class Side:
    """A side street: `way` begins at `s` of the parent and leaves it to the `side` (1 right, -1 left)."""

    way: Way
    s: float
    side: int
    lots: int

    def meets(self):
        """s on the parent where the route of the side street ends."""
        return self.s - self.side * self.way.offset


@dataclass
class Yard:
    """A line behind houses. `into`: the side street that it follows; `first`: it ends in that street's sewer at
    u = YARD_M, having come along the rear of the parent's lots; else it ends in the parent's, through a walkway at
    s = `walk`, having come along the rear of the side street's lots, on their side `row`."""

    into: Side
    first: bool
    length: float
    walk: float = 0.0
    row: int = 0


class Tree:
    """One tree. All that is random in it comes from its own number, not from how many trees there are."""

    def __init__(self, number):
        self.number, self.rng = number, random.Random(f"suburb {number}")
        self.x = (number % COLUMNS) * TILE_M
        self.y = (number // COLUMNS) * ROW_M
        self.length = 208.0 + self.rng.uniform(-3.0, 5.0)
        places = self._places()
        self.parent = self._street(places)
        # Of three side streets two leave on the same hand, and must not bend into each other's lots.
        radius = (190.0, 420.0) if len(places) == 2 else (400.0, 700.0)
        self.sides = [self._side(s, side, radius) for s, side in places]
        self.yards = self._yards()
        walks = [yard.walk for yard in self.yards if not yard.first]
        self.parent.clusters = _away(self.parent.clusters, walks, 5.0)

    def _places(self):
        """(s, side) of the side streets, from the head down; on one side they keep 95 m between them."""
        rng, side = self.rng, self.rng.choice([-1, 1])
        if rng.random() < 0.3:
            return [(rng.uniform(52, 56), side), (rng.uniform(95, 108), -side), (rng.uniform(151, 156), side)]
        return [(rng.uniform(74, 95), side), (rng.uniform(112, 140), -side)]

    def _street(self, places):
        rng, curved = self.rng, self.rng.random() < 0.8
        straights = [(0.0, 10.0), (self.length - 28.0, self.length + 12.0)] + [(s - 13, s + 13) for s, _ in places]
        pieces = bends(rng, self.length, _merged(straights), (220.0, 450.0)) if curved else [(self.length, 0.0)]
        curve = Curve(self.x, self.y, levelled(pieces), pieces)
        way = Way(self._name("Street"), curve, 3.0, self.length, rng.uniform(-0.3, 1.1), rng.choice([-1, 1]), curved)
        way.offset *= way.flip
        way.breaks = [(side, s - EDGE_M, s + EDGE_M) for s, side in places]
        way.clusters = _away(_clusters(13.0, self.length - 22.0), [s for s, _ in places], 11.0)
        return way

    def _side(self, s, side, radius):
        rng, curved, lots = self.rng, self.rng.random() < 0.7, self.rng.choice([5, 6, 6, 7])
        x, y, heading = self.parent.curve.place(s)
        end = SIDE_LOTS_M + lots * FRONT_M
        pieces = [(44.0, 0.0)] + (bends(rng, end - 44.0, [], radius) if curved else [])
        curve = Curve(x, y, heading - side * math.pi / 2, pieces)
        way = Way(self._name("Close"), curve, 0.0, end - 4.0, rng.uniform(-0.3, 1.1), rng.choice([-1, 1]), curved)
        way.offset *= way.flip
        way.clusters = _clusters(SIDE_LOTS_M + 9.0, end - 7.0)
        return Side(way, s, side, lots)

    def _yards(self):
        """One or two lines behind houses for most trees."""
        rng, made = self.rng, []
        for side in self.sides:
            draw = rng.random()
            if draw < 0.28 and side.s > 70.0:
                # Where another side street leaves on the same hand, the line keeps clear of what lies behind its lots.
                most = 50.0 if len(self.sides) == 3 else side.s - 14.0
                made.append(Yard(side, True, min(most, rng.uniform(62, 105))))
            elif draw < 0.56:
                down = rng.choice([-1, 1])
                walk = side.s + down * YARD_M
                mouths = [other.s for other in self.sides] + [yard.walk for yard in made]
                if 22.0 < walk < self.length - 40.0 and all(abs(walk - s) > 12.0 for s in mouths):
                    made.append(Yard(side, False, rng.uniform(50, 18.0 * side.lots - 20), walk, -side.side * down))
                    self.parent.breaks.append((side.side, walk - 2.0, walk + 2.0))
        return made

    def _name(self, kind):
        first = "Alder Bramble Cinder Dapple Ember Fallow Gorse Heron Ivory Juniper Kestrel Lantern Marrow Nettle Osprey"
        last = "bank brook croft dale fell field gate hollow mere moor ridge stead thorn wick wood"
        return f"{self.rng.choice(first.split())}{self.rng.choice(last.split())} {kind} {self.number + 1}"


def _clusters(a, b):
    """Middles of clusters from a to b."""
    return [a + k * CLUSTER_M for k in range(int((b - a) // CLUSTER_M) + 1)]


def _away(clusters, junctions, least):
    """Those that leave room for a pit at every junction."""
    return [c for c in clusters if all(abs(c - s) > least for s in junctions)]


def _merged(spans):
    out = []
    for a, b in sorted(spans):
        if out and a <= out[-1][1]:
            out[-1] = (out[-1][0], max(out[-1][1], b))
        else:
            out.append((a, b))
    return out
