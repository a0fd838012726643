"""The centre line of a street: straight and circular pieces end to end."""

import bisect
import math


class Curve:
    """Plan coordinates of (s, t): s metres along the line, t metres to its right.

    `pieces` are (length, curvature) from the start on; curvature is positive where the line bends left, 0 where it is
    straight. Before the start and beyond the end the line runs straight on.
    """

    def __init__(self, x, y, heading, pieces):
        self.starts, self.pieces = [], []
        s = 0.0
        for length, curvature in pieces:
            self.starts.append(s)
            self.pieces.append((s, x, y, heading, curvature))
            x, y, heading = _on(x, y, heading, curvature, length)
            s += length
        self.starts.append(s)
        self.pieces.append((s, x, y, heading, 0.0))
        self.first = (0.0, *self.pieces[0][1:4], 0.0)

    def place(self, s):
        """(x, y, heading) of the line at s."""
        at, x, y, heading, curvature = (
            self.first if s < 0 else self.pieces[bisect.bisect_right(self.starts, s) - 1]
        )
        return _on(x, y, heading, curvature, s - at)

    def at(self, s, t):
        x, y, heading = self.place(s)
        return x + t * math.sin(heading), y - t * math.cos(heading)

    def straight(self, points):
        """A line that is straight between its (s, t) vertices."""
        return [self.at(s, t) for s, t in points]

    def along(self, a, b, t, step=5.0):
        """A line that keeps to the street at the offset t, with a vertex every `step` metres at most."""
        count = max(1, math.ceil(abs(b - a) / step - 1e-9))
        return [self.at(a + (b - a) * k / count, t) for k in range(count + 1)]

    def strip(self, a, b, t0, t1):
        """Ring of the strip a..b, t0..t1."""
        ring = self.along(a, b, t0, 6.0) + self.along(b, a, t1, 6.0)
        return ring + ring[:1]

    def box(self, a, b, t0, t1):
        """Ring of four corners: a house, a driveway."""
        return self.straight([(a, t0), (b, t0), (b, t1), (a, t1), (a, t0)])


def _on(x, y, heading, curvature, length):
    if curvature == 0.0:
        return x + length * math.cos(heading), y + length * math.sin(heading), heading
    turned = heading + curvature * length
    x += (math.sin(turned) - math.sin(heading)) / curvature
    y -= (math.cos(turned) - math.cos(heading)) / curvature
    return x, y, turned


def bends(rng, length, straights, radius):
    """Pieces of a street of `length` metres that bends left and right by turns, on radii of `radius` = (least, greatest).

    `straights` are stretches (from, to) that stay straight: mouths of side streets, both ends.
    """
    pieces, s, side = [], 0.0, rng.choice([-1, 1])
    for a, b in sorted(straights):
        if a > s:
            pieces += _bent(rng, a - s, side, radius)
            side = -side
        pieces.append((b - max(a, s), 0.0))
        s = b
    if length > s:
        pieces += _bent(rng, length - s, side, radius)
    return [(span, curvature) for span, curvature in pieces if span > 0.0]


def _bent(rng, length, side, radius):
    """One bend where it is short, else there and back again."""
    curvature = side / rng.uniform(*radius)
    return [(length, curvature)] if length < 50.0 else [(length / 2, curvature), (length / 2, -curvature)]


def levelled(pieces):
    """The heading to start with so that the street runs along the x axis on the whole."""
    turned = mean = length = 0.0
    for span, curvature in pieces:
        mean += span * (turned + curvature * span / 2)
        turned += curvature * span
        length += span
    return -mean / length
