"""Level of the ground: the suburb falls along x, and towards a valley in every row of trees."""

import math

import numpy

from sitekit import GridCells, Street

# Open ocean, on purpose. Plan coordinates: x down the slope, y to the left.
PLANE = Street(east=430000.0, north=6409000.0, turn_deg=17.0, first=1e9, bend_deg=0.0, radius=1.0)
FALL = 0.022  # along x
SIDE_FALL = 0.030  # far from the valley, towards it
VALLEY_M = 18.0  # how round its bottom is
ROW_M = 380.0  # from valley to valley
HIGHEST_M = 180.0
CELL_M = 2.0


def level(x, y, sin=math.sin, cos=math.cos, sqrt=math.sqrt):
    off = (y + ROW_M / 2) % ROW_M - ROW_M / 2
    folds = 0.12 * sin(x / 23.0 + 0.4) * cos(y / 31.0) + 0.03 * sin(x / 8.3 + y / 11.0)
    return HIGHEST_M - FALL * x + SIDE_FALL * (sqrt(off * off + VALLEY_M * VALLEY_M) - VALLEY_M) + folds


def grid(x, y):
    """Grid point to the millimetre."""
    e, n = PLANE.grid(x, y)
    return round(e, 3), round(n, 3)


class GroundCells(GridCells):
    """Cells of the ground; a whole row at once, since there are millions."""

    def __init__(self, corners):
        es, ns = zip(*(PLANE.grid(x, y) for x, y in corners))
        super().__init__((min(es), min(ns), max(es), max(ns)), CELL_M, None)

    def row_levels(self, row):
        n = self.north - (row + 0.5) * self.step
        e = self.west + (numpy.arange(self.columns) + 0.5) * self.step
        x, y = PLANE.from_grid(e, n)
        return numpy.round(level(x, y, numpy.sin, numpy.cos, numpy.sqrt), 3)
