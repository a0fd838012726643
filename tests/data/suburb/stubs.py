"""What serves one lot: stubs from the mains, drains to the kerb, and what lies in the yard."""

from .mains import MAINS, STUB_COVER_M, STUB_MM, main_t, service
from .tree import EDGE_M, REAR_M

KERB_M = 4.3
YARD_PIECES = 13  # short pieces round the house of every lot: drains, garden pipes, cables to sheds


class Fed:
    """One lot with its house (a, b, rear), as its services see it."""

    def __init__(self, rng, lot, house):
        self.rng, self.lot = rng, lot
        self.a, self.b, self.rear = house

    def piece(self, kind, points, unknown, cover=None):
        lot, cover = self.lot, STUB_COVER_M[kind] if cover is None else cover
        return service(self.rng, [lot.at(s, t) for s, t in points], kind, STUB_MM[kind], cover, unknown)

    def rows(self, crossings):
        yield from self.stubs(crossings)
        yield from self.drains()
        yield from self.yard()
        if self.lot.yard:
            yield from self.behind()

    def stubs(self, crossings):
        """Three pieces for every main: to the boundary, to the meter, to the house. Those on the far side are fed from
        the nearest crossing of their kind, along the verge, if there is one near."""
        rng, lot = self.rng, self.lot
        for main in (m for m in MAINS if m[5]):
            kind, t = main[0], main_t(lot.way, main) * lot.side
            s = rng.uniform(lot.a + 1.0, lot.b - 1.0)
            if t > 0:
                yield self.piece(kind, [(s, t), (s, EDGE_M)], 0.2)
            else:
                near = [c for c, fed, side in crossings if fed is main and side == lot.side]
                start = min(near, key=lambda c: abs(c - s), default=None)
                if start is None or abs(start - s) > 30.0:
                    continue
                yield self.piece(kind, [(start, EDGE_M + 0.6), (s, EDGE_M + 0.6)], 0.2)
            meter = (s, EDGE_M + rng.uniform(0.8, 2.0))
            yield self.piece(kind, [(s, EDGE_M), meter], 0.15)
            yield self.piece(kind, [meter, (rng.uniform(self.a, self.b), 14.0)], 0.3)

    def drains(self):
        """Stormwater to the kerb; the house drain to the boundary, where the new sewer is to take it up."""
        rng, lot = self.rng, self.lot
        for corner in (self.a, self.b):
            s = corner + rng.uniform(-0.5, 0.5)
            yield self.piece("stormwater", [(s, KERB_M), (s, 12.5)], 0.15)
            yield self.piece("stormwater", [(s, 12.5), (corner, 14.5)], 0.15)
        s = (lot.a + lot.b) / 2 + rng.uniform(-3.0, 3.0)
        yield self.piece("sewer", [(s, EDGE_M + 0.3), (s, 13.6)], 0.2)
        yield self.piece("sewer", [(s, 13.6), (s + rng.uniform(-2.0, 2.0), 20.0)], 0.3)
        yield self.piece("sewer", [(s, 13.6), (self.a + 1.0, 16.0)], 0.3)

    def yard(self):
        """Pieces of 2 to 8 m between the house and 31 m from the centre line."""
        rng = self.rng
        for _ in range(YARD_PIECES):
            kind = rng.choice(["stormwater", "stormwater", "sewer", "water", "recycled-water", "electricity", "telecom"])
            s, t = rng.uniform(self.lot.a + 0.5, self.lot.b - 0.5), rng.uniform(self.rear - 4.0, 30.0)
            to = (min(max(s + rng.uniform(-7.0, 7.0), self.lot.a + 0.5), self.lot.b - 0.5), min(31.0, t + rng.uniform(-2, 3)))
            yield self.piece(kind, [(s, t), to], 0.15, 0.45)

    def behind(self):
        """Now and then a pipe or cable across the line behind the houses, close to the boundary of the lot."""
        if self.rng.random() < 0.5:
            s, kind = self.lot.a + self.rng.uniform(0.4, 1.0), self.rng.choice(["water", "stormwater", "electricity"])
            yield self.piece(kind, [(s, 30.0), (s, REAR_M)], 0.4, 0.4)
