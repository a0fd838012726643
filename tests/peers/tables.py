#!/usr/bin/env python3
"""Tables of tests/published/peers.rs: what libraries that others wrote say of our formulas.

    target/peers/bin/python tests/peers/tables.py           writes tests/peers/tables/*.csv
    target/peers/bin/python tests/peers/tables.py --check   says whether they are what it would write

Each table begins with a line that says what made it, then the columns' names. Needs scripts/peers.txt.
"""
import math
import sys
from importlib.metadata import version
from pathlib import Path

import fluids
from scipy.integrate import quad, solve_ivp
from scipy.stats import norm

FOLDER = Path(__file__).parent / "tables"
GRAVITY = 9.81


def normal():
    yield "x", "p"
    for i in range(-60, 61, 3):
        x = i / 10
        yield x, float(norm.cdf(x))


def colebrook():
    """Friction factor of a velocity, solved by fluids; the grade is what loses that much head."""
    yield "id_mm", "roughness_mm", "viscosity_m2_s", "grade", "velocity_m_s"
    for id_mm in (100.0, 150.6, 225.0, 300.0):
        for roughness_mm in (0.03, 0.6, 1.5):
            for viscosity in (1.0e-6, 1.31e-6):
                for velocity in (0.3, 0.75, 2.0):
                    d = id_mm / 1000
                    reynolds = fluids.core.Reynolds(V=velocity, D=d, nu=viscosity)
                    f = fluids.friction.Colebrook(reynolds, roughness_mm / id_mm)
                    yield id_mm, roughness_mm, viscosity, f * velocity**2 / (2 * GRAVITY * d), velocity


def manning():
    """Circle's geometry by chord and sector, velocity by fluids."""
    yield "id_mm", "grade", "n", "depth", "velocity_m_s", "flow_l_s"
    for id_mm, grade, n in ((100.0, 1 / 60, 0.013), (150.0, 0.01, 0.013), (300.0, 0.0025, 0.014)):
        for depth in (0.05, 0.1, 0.25, 0.4, 0.5, 0.6, 0.75, 0.9, 0.95, 0.99):
            r = id_mm / 2000
            y = depth * 2 * r
            half = math.acos((r - y) / r)
            area = r * r * half - (r - y) * math.sqrt(2 * r * y - y * y)
            velocity = fluids.open_flow.V_Manning(Rh=area / (2 * r * half), S=grade, n=n)
            yield id_mm, grade, n, depth, velocity, 1000 * velocity * area


def silo():
    """A slice of the silo in balance: d(pressure)/dz = weight - 2 cohesion/b - 2 K tan(delta) pressure/b."""
    yield "od_mm", "cover_m", "unit_weight_kn_m3", "cohesion_kpa", "friction_deg", "atv", "pressure_kpa"
    for od_mm in (160.0, 300.0):
        for cover in (0.5, 2.0, 6.0):
            for cohesion, phi in ((0.0, 20.0), (0.0, 32.0), (0.5, 40.0)):
                for atv in (0, 1):
                    d, p = od_mm / 1000, math.radians(phi)
                    b = d * math.sqrt(3) if atv else d * (1 + 2 * math.tan(math.pi / 4 - p / 2))
                    k, delta = (0.5, p / 2) if atv else (1.0, p)

                    def slope(_, s):
                        return 19.0 - 2 * cohesion / b - 2 * k * math.tan(delta) * s / b

                    end = solve_ivp(slope, (0, cover), [0.0], method="DOP853", rtol=1e-11, atol=1e-12)
                    yield od_mm, cover, 19.0, cohesion, phi, atv, float(end.y[0][-1])


def trough():
    yield "lost_m3_m", "depth_m", "k", "settlement_mm"
    for lost in (0.0005, 0.0127, 0.2):
        for depth in (1.0, 2.5, 30.0):
            for k in (0.25, 0.35, 0.5):
                i = k * depth
                under = 2 * quad(lambda y: math.exp(-y * y / (2 * i * i)), 0, 12 * i, epsabs=0, epsrel=1e-13)[0]
                yield lost, depth, k, 1000 * lost / under


def segment():
    yield "distance_m", "radius_m", "area_m2"
    for radius in (1.5, 2.4, 4.8, 15.0):
        for share in (0.0, 0.2, 0.4919, 0.687, 0.8054, 0.95):
            d = share * radius
            area = 2 * quad(lambda x: math.sqrt(max(radius * radius - x * x, 0)), d, radius, epsabs=1e-12)[0]
            yield d, radius, area


MADE_BY = {normal: "scipy", colebrook: "fluids", manning: "fluids", silo: "scipy", trough: "scipy", segment: "scipy"}


def text(table):
    rows = list(table())
    library = MADE_BY[table]
    lines = [f"# {library} {version(library)}, tests/peers/tables.py", ",".join(rows[0])]
    return "\n".join(lines + [",".join(repr(n) for n in row) for row in rows[1:]]) + "\n"


def alike(a, b):
    """The same first lines, and numbers that differ by rounding only: another processor may add in another order."""
    one, other = a.splitlines(), b.splitlines()
    numbers = lambda lines: [float(n) for line in lines[2:] for n in line.split(",")]
    near = lambda x, y: math.isclose(x, y, rel_tol=1e-9, abs_tol=1e-12)
    same_shape = one[:2] == other[:2] and len(one) == len(other)
    return same_shape and all(map(near, numbers(one), numbers(other)))


def main():
    FOLDER.mkdir(exist_ok=True)
    stale = []
    for table in MADE_BY:
        path = FOLDER / f"{table.__name__}.csv"
        if "--check" not in sys.argv:
            path.write_text(text(table))
        elif not alike(path.read_text(), text(table)):
            stale.append(path.name)
    if stale:
        sys.exit(f"made by an older script or library: {', '.join(stale)}; run tests/peers/tables.py")


if __name__ == "__main__":
    main()
