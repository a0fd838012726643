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
import numpy as np
import pyproj
from scipy.differentiate import derivative
from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq, minimize_scalar
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


def slope():
    """Steepest slope of the curve from a distance outward, looked for on its numeric derivative."""
    yield "lost_m3_m", "depth_m", "k", "beside_m", "slope"
    for lost, depth, k in ((0.0127, 2.0, 0.35), (0.0053, 1.2, 0.3), (0.0005, 3.0, 0.5)):
        i = k * depth
        s = lambda y: lost / (math.sqrt(2 * math.pi) * i) * np.exp(-y * y / (2 * i * i))
        down = lambda y: -float(derivative(s, y, initial_step=i / 20).df)
        for share in (0.0, 0.4, 0.9, 1.0, 1.3, 2.0, 2.9):
            start = share * i
            found = minimize_scalar(lambda y: -down(y), bounds=(start, start + 3 * i), method="bounded", options={"xatol": 1e-9})
            yield lost, depth, k, start, max(float(-found.fun), down(start))


def part_full():
    """Depth solved by scipy for a flow, by chord and sector; velocity by fluids; shear of the wetted wall."""
    yield "id_mm", "grade", "n", "flow_l_s", "depth_mm", "velocity_m_s", "shear_pa"
    for id_mm, grade, n in ((103.6, 1 / 60, 0.011), (150.6, 0.01, 0.013), (235.4, 0.0065, 0.013), (296.6, 0.0025, 0.015)):
        r = id_mm / 2000

        def at(y):
            half = math.acos((r - y) / r)
            area = r * r * half - (r - y) * math.sqrt(2 * r * y - y * y)
            radius = area / (2 * r * half)
            return radius, area, fluids.open_flow.V_Manning(Rh=radius, S=grade, n=n)

        full = fluids.open_flow.V_Manning(Rh=r / 2, S=grade, n=n) * math.pi * r * r
        for share in (0.005, 0.02, 0.1, 0.3, 0.5, 0.75, 0.95, 1.05):
            y = brentq(lambda y: at(y)[1] * at(y)[2] - share * full, 1e-6, 0.938 * 2 * r, xtol=1e-15, rtol=1e-14)
            radius, _, velocity = at(y)
            yield id_mm, grade, n, 1000 * share * full, 1000 * y, velocity, 1000 * GRAVITY * radius * grade


# Systems on GRS 80 (or WGS 84, which is the same here to a tenth of a millimetre), in metres and in feet, that PROJ carries
# to WGS 84 without a shift; and a place in each, with how the drive runs.
PLACES = (
    ("EPSG:28356", (334000.25, 6251000.5)),
    ("EPSG:7856", (500000.0, 6960000.0)),
    ("EPSG:2193", (1756000.0, 5918000.0)),
    ("EPSG:25832", (690000.5, 5334000.25)),
    ("EPSG:32633", (410000.0, 5820000.0)),
    ("EPSG:6539", (985000.0, 205000.0)),
    ("EPSG:6423", (6500000.0, 1850000.0)),
)
DRIVES = ((0.0, 5.0), (37.5, 60.0), (121.25, 30.2), (200.0, 122.0), (305.0, 45.0), (359.99, 12.5))


def geometry():
    """Drives on the grid: both ends in degrees, scale and grid bearing from the ellipsoid and the projection's own factors."""
    yield "epsg", "unit_m", "e1", "n1", "e2", "n2", "lon1", "lat1", "lon2", "lat2", "azimuth_deg", "scale", "bearing_deg", "length_m"
    geod = pyproj.Geod(ellps="GRS80")
    for code, (east, north) in PLACES:
        crs = pyproj.CRS(code)
        unit = crs.axis_info[0].unit_conversion_factor
        degrees = pyproj.Transformer.from_crs(crs, "OGC:CRS84", always_xy=True)
        proj = pyproj.Proj(crs)
        for bearing, length in DRIVES:
            turn = math.radians(bearing)
            e2 = east + length * math.sin(turn) / unit
            n2 = north + length * math.cos(turn) / unit
            (lon1, lat1), (lon2, lat2) = (degrees.transform(e, n) for e, n in ((east, north), (e2, n2)))
            forward, back, apart = geod.inv(lon1, lat1, lon2, lat2)
            middle = proj.get_factors((lon1 + lon2) / 2, (lat1 + lat2) / 2)
            azimuth = forward + ((back + 180 - forward + 180) % 360 - 180) / 2
            on_grid = azimuth - middle.meridian_convergence
            # Rounded below what is compared, so that another processor writes the same.
            ends = (round(x, 12) for x in (lon1, lat1, lon2, lat2))
            turns = (round(x, 6) % 360 for x in (azimuth, on_grid))
            azimuth, on_grid = turns
            yield (int(code[5:]), unit, east, north, round(e2, 6), round(n2, 6), *ends,
                   azimuth, round(middle.meridional_scale, 10), on_grid, round(apart * middle.meridional_scale, 7))


MADE_BY = {
    normal: "scipy",
    colebrook: "fluids",
    manning: "fluids",
    silo: "scipy",
    trough: "scipy",
    segment: "scipy",
    slope: "scipy",
    part_full: "scipy",
    geometry: "pyproj",
}


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
