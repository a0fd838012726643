"""Write a big invented city: services in its streets, ground, and bores that others designed.

    python3 tests/data/make_city.py FOLDER [--services 400000] [--bores 100000] [--name city] [--one-file]

FOLDER/city.gpkg        `services`: lines of three segments on average; half with levels, a third by cover, 15 % of unknown depth
FOLDER/city.tif         ground, cells of 2 m
FOLDER/city-bores.gpkg  `bores`, with --one-file in city.gpkg
FOLDER/city.job.toml

Bores lie in the part of the city that `--around` services fill (default: as many as there are), from its first street on; a bigger
city begins as the smaller one does. So `--services 4000000 --around 400000` has the same bores among ten times the services.
Seeded: run again, it writes the same features. Needs numpy, shapely and pyogrio (scripts/peers.txt).
"""

import argparse
import math
import pathlib
import struct

import numpy as np
import pyogrio
import shapely

CRS = "EPSG:32742"
BASE = np.array([420000.0, 6401000.0])
TURN = math.radians(4.0)
COLUMNS, PITCH_S, PITCH_T = 96, 140.0, 62.0  # blocks in a row; distance of blocks along and across the street, m
LENGTH = 120.0  # of a block
LOTS = 6  # on each side of a block
CELL, TILE = 2.0, 256
CHUNK = 500  # blocks, each chunk with dice of its own

# kind, t of the main in the street, outside diameter mm, cover m
MAINS = [
    ("electricity", -7.4, 110, 0.6),
    ("telecom", -6.4, 100, 0.5),
    ("gas", -4.8, 63, 0.75),
    ("stormwater", -2.8, 450, 1.0),
    ("sewer", 1.6, 225, 2.2),
    ("water", 5.0, 177, 0.95),
    ("recycled-water", 5.9, 63, 0.7),
    ("telecom", 6.8, 100, 0.5),
    ("fuel", 10.5, 219, 1.1),
]
# kind, the main it comes from, outside diameter mm, cover m: six, of which a lot has three
STUBS = [
    ("water", 5.0, 32, 0.6),
    ("gas", -4.8, 25, 0.6),
    ("electricity", -7.4, 110, 0.6),
    ("telecom", 6.8, 50, 0.45),
    ("stormwater", -2.8, 100, 0.7),
    ("sewer", 1.6, 110, 1.2),
]
FEATURES = len(MAINS) + 2 * LOTS * 3  # of a block
QUALITY = np.array(["A", "B", "C", "D", ""], dtype=object)


def to_grid(s, t):
    """Streets bend a little; nothing runs along the grid."""
    x, y = s + 5.0 * np.sin(t / 170.0), t + 4.0 * np.sin(s / 90.0)
    e = BASE[0] + x * math.cos(TURN) - y * math.sin(TURN)
    n = BASE[1] + x * math.sin(TURN) + y * math.cos(TURN)
    return np.round(e, 3), np.round(n, 3)


def ground(e, n):
    x, y = e - BASE[0], n - BASE[1]
    return 80.0 + 9.0 * np.sin(x / 900.0) * np.cos(y / 1100.0) + 1.5 * np.sin(x / 130.0 + y / 170.0)


def origin(blocks):
    return (blocks % COLUMNS) * PITCH_S, (blocks // COLUMNS) * PITCH_T


# -- services -----------------------------------------------------------------------------------


def services(chunk, blocks):
    """Features of these blocks, block by block: coordinates, the feature of each vertex, columns."""
    rng = np.random.default_rng([71, chunk])
    s0, t0 = origin(blocks)
    b = len(blocks)
    mains_s, mains_t = mains(rng, b)
    stubs_s, stubs_t, pick = stubs(rng, b)
    s = np.concatenate([mains_s.reshape(b, -1), stubs_s.reshape(b, -1)], axis=1) + s0[:, None]
    t = np.concatenate([mains_t.reshape(b, -1), stubs_t.reshape(b, -1)], axis=1) + t0[:, None]
    count = np.concatenate([np.full(len(MAINS), mains_s.shape[2]), np.full(FEATURES - len(MAINS), stubs_s.shape[2])])
    owner = np.repeat(np.arange(FEATURES), count)
    index = (np.arange(b)[:, None] * FEATURES + owner).ravel()
    e, n = to_grid(s.ravel(), t.ravel())
    cols, level = columns(rng, b, pick)
    z = np.round(ground(e, n) - cols["depth"][index] + rng.normal(0, 0.03, len(e)), 3)
    return np.column_stack([e, n, np.where(level[index] == 0, z, 0.0)]), index, cols


def mains(rng, b):
    at = np.linspace(-10, LENGTH + 10, 8)
    s = np.broadcast_to(at, (b, len(MAINS), len(at))) + rng.uniform(-3, 3, (b, len(MAINS), len(at)))
    t = np.array([m[1] for m in MAINS])[None, :, None] + rng.uniform(-0.25, 0.25, (b, len(MAINS), 1)) + rng.uniform(-0.1, 0.1, (b, len(MAINS), len(at)))
    return s, t


def stubs(rng, b):
    """From a main by the edge of the street into the lot."""
    lots = 2 * LOTS
    pick = np.argsort(rng.random((b, lots, len(STUBS))), axis=2)[:, :, :3].reshape(b, -1)
    lot = np.repeat(np.arange(lots), 3)
    side = np.where(lot % 2, 1.0, -1.0)
    s1 = (lot // 2 + 0.5) * LENGTH / LOTS + rng.uniform(-7, 7, pick.shape)
    t1 = np.array([v[1] for v in STUBS])[pick]
    edge, house = side * rng.uniform(7.0, 9.0, pick.shape), side * rng.uniform(13.0, 22.0, pick.shape)
    s = np.stack([s1, s1 + rng.uniform(-0.6, 0.6, pick.shape), s1 + rng.uniform(-2.5, 2.5, pick.shape)], axis=2)
    return s, np.stack([t1, edge, house], axis=2), pick


def columns(rng, b, pick):
    """Columns by feature, and how each is given: 0 by Z, 1 by cover, 2 not at all."""
    both = lambda k: np.concatenate([np.broadcast_to(np.array([m[k] for m in MAINS], dtype=object), (b, len(MAINS))), np.array([v[k] for v in STUBS], dtype=object)[pick]], axis=1).ravel()
    n = b * FEATURES
    kind, diameter, cover = both(0), both(2).astype(float), both(3).astype(float)
    cover = np.round(cover + rng.uniform(-0.15, 0.35, n), 2)
    level = rng.choice(3, n, p=[0.5, 0.35, 0.15])
    names = {k: f"{k} company" for k in sorted({m[0] for m in MAINS})}
    return {
        "kind": kind,
        "diameter_mm": np.where(rng.random(n) < 0.08, np.nan, diameter),
        "cover_m": np.where(level == 1, cover, np.nan),
        "quality": QUALITY[rng.choice(5, n, p=[0.05, 0.35, 0.25, 0.2, 0.15])],
        "owner": np.array([names[k] for k in kind], dtype=object),
        "status": np.where(rng.random(n) < 0.05, "abandoned", np.where(rng.random(n) < 0.02, "removed", "in use")).astype(object),
        "depth": cover,
    }, level


# -- bores ----------------------------------------------------------------------------------------


def bores(count, blocks):
    """Half along the street, half across; vertices, bore of each vertex, columns."""
    rng = np.random.default_rng([72])
    block = rng.integers(0, blocks, count)
    s0, t0 = origin(block)
    along = rng.random(count) < 0.55
    length = np.where(along, rng.uniform(15, 45, count), 0.0)
    s = rng.uniform(0, 1, count) * (LENGTH - length)
    a = np.where(along, rng.uniform(-1.0, 4.0, count), rng.uniform(-13.0, -5.0, count))
    c = np.where(along, a + rng.uniform(-0.8, 0.8, count), rng.uniform(1.6, 14.0, count))
    s1 = s + np.where(along, length, rng.uniform(-4, 4, count))
    flip = rng.random(count) < 0.5
    ends_s, ends_t = np.column_stack([s, s1]), np.column_stack([a, c])
    ends_s[flip], ends_t[flip] = ends_s[flip, ::-1], ends_t[flip, ::-1]
    e, n = to_grid(ends_s + s0[:, None], ends_t + t0[:, None])
    return level_bores(rng, e, n)


def level_bores(rng, e, n):
    """One in ten has a vertex between its ends, three in a hundred no level, as many their levels in columns."""
    count = len(e)
    top = ground(e[:, 0], n[:, 0]) - rng.uniform(1.1, 3.0, count)
    fall = rng.uniform(1 / 100, 1 / 50, count) * np.hypot(e[:, 1] - e[:, 0], n[:, 1] - n[:, 0])
    z = np.round(np.column_stack([top, top - fall]), 3)
    way = rng.choice(3, count, p=[0.94, 0.03, 0.03])  # Z, inverts, nothing
    middle = rng.random(count) < 0.1
    points = np.stack([e, n, np.where(way[:, None] == 0, z, 0.0)], axis=2)
    between = points.mean(axis=1) + np.column_stack([rng.uniform(-0.2, 0.2, (count, 2)), np.zeros(count)])
    xyz = np.insert(points, 1, np.round(between, 3), axis=1)
    keep = np.column_stack([np.ones(count, bool), middle, np.ones(count, bool)])
    cols = {
        "bore_id": np.array([f"D{k + 1:06}" for k in range(count)], dtype=object),
        "dn_mm": rng.choice([100, 150, 150, 225], count).astype(np.int32),
        "us_invert_m": np.where(way == 1, z[:, 0], np.nan),
        "ds_invert_m": np.where(way == 1, z[:, 1], np.nan),
        "launch": np.where(rng.random(count) < 0.6, "ds", "us").astype(object),
    }
    return xyz[keep], np.repeat(np.arange(count), keep.sum(axis=1)), cols


# -- files ----------------------------------------------------------------------------------------


def put(path, layer, xyz, index, cols, append):
    lines = shapely.to_wkb(shapely.linestrings(xyz, indices=index), output_dimension=3, flavor="iso")
    names = [n for n in cols if n != "depth"]
    data = [cols[n] for n in names]
    masks = [np.isnan(d) if d.dtype.kind == "f" else d == "" if d.dtype == object else None for d in data]
    pyogrio.raw.write(str(path), lines, data, np.array(names, dtype=object), field_mask=masks, crs=CRS, geometry_type="LineString Z", layer=layer, driver="GPKG", append=append, **({} if append else {"dataset_options": {"VERSION": "1.3"}}))


def write_services(path, count):
    path.unlink(missing_ok=True)
    segments = 0
    for chunk in range(math.ceil(count / FEATURES / CHUNK)):
        xyz, index, cols = services(chunk, chunk * CHUNK + np.arange(CHUNK))  # a whole one, so that a bigger city has the same
        left = min(count - chunk * CHUNK * FEATURES, CHUNK * FEATURES)
        mine = index < left
        put(path, "services", xyz[mine], index[mine], {k: v[:left] for k, v in cols.items()}, chunk > 0)
        segments += int(mine.sum()) - left
    return segments


def write_ground(path, count):
    """A GeoTIFF of 32-bit floats in tiles, not compressed; the city and 60 m round it."""
    rows = math.ceil(math.ceil(count / FEATURES) / COLUMNS)
    s = np.array([-20.0, min(math.ceil(count / FEATURES), COLUMNS) * PITCH_S])
    t = np.array([-35.0, rows * PITCH_T])
    e, n = to_grid(*(v.ravel() for v in np.meshgrid(s, t)))
    span = CELL * TILE  # a bigger city has the same cells
    west, north = math.floor((e.min() - 60) / span) * span, math.ceil((n.max() + 60) / span) * span
    across, down = (math.ceil(v / span) for v in (e.max() + 60 - west, north - n.min() + 60))
    with open(path, "wb") as f:
        directory(f, west, north, across, down)
        at = (np.arange(TILE) + 0.5) * CELL
        for row in range(down):
            for col in range(across):
                x, y = np.meshgrid(west + col * TILE * CELL + at, north - row * TILE * CELL - at)
                f.write(ground(x, y).astype("<f4").tobytes())


def directory(f, west, north, across, down):
    """The head of the file: entries in order of their tags, then what they point to, then the tiles."""
    tiles, size = across * down, TILE * TILE * 4
    keys = struct.pack("<16H", 1, 1, 0, 3, 1024, 0, 1, 1, 1025, 0, 1, 1, 3072, 0, 1, int(CRS[5:]))
    scale, tie = struct.pack("<3d", CELL, CELL, 0), struct.pack("<6d", 0, 0, 0, west, north, 0)
    count = 14
    after = 8 + 2 + 12 * count + 4
    places = np.cumsum([after, len(keys), len(scale), len(tie), 4 * tiles, 4 * tiles])
    first = int(places[5])
    entries = [(256, 4, 1, across * TILE), (257, 4, 1, down * TILE), (258, 3, 1, 32), (259, 3, 1, 1), (262, 3, 1, 1), (277, 3, 1, 1),
               (322, 3, 1, TILE), (323, 3, 1, TILE), (324, 4, tiles, int(places[3])), (325, 4, tiles, int(places[4])), (339, 3, 1, 3),
               (33550, 12, 3, int(places[1])), (33922, 12, 6, int(places[2])), (34735, 3, 16, int(places[0]))]
    f.write(struct.pack("<2sHI", b"II", 42, 8) + struct.pack("<H", count))
    for tag, kind, n, v in entries:
        f.write(struct.pack("<HHI", tag, kind, n) + (struct.pack("<HH", v, 0) if kind == 3 and n == 1 else struct.pack("<I", v)))
    f.write(struct.pack("<I", 0) + keys + scale + tie)
    f.write((first + size * np.arange(tiles, dtype=np.int64)).astype("<u4").tobytes())
    f.write(np.full(tiles, size, "<u4").tobytes())


def make(folder, services_count, bores_count, name, around, one_file):
    folder.mkdir(parents=True, exist_ok=True)
    site = folder / f"{name}.gpkg"
    segments = write_services(site, services_count)
    write_ground(folder / f"{name}.tif", services_count)
    target = site if one_file else folder / f"{name}-bores.gpkg"
    if not one_file:
        target.unlink(missing_ok=True)
    put(target, "bores", *bores(bores_count, math.ceil(around / FEATURES)), append=False)
    (folder / f"{name}.job.toml").write_text(f'[job]\nname = "{name}, invented"\n\n[layers.ground]\nfile = "{name}.tif"\n')
    print(f"{services_count} services, {segments} segments, {bores_count} bores")


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("folder", type=pathlib.Path)
    ask.add_argument("--services", type=int, default=400_000)
    ask.add_argument("--bores", type=int, default=100_000)
    ask.add_argument("--around", type=int, help="services among which the bores lie")
    ask.add_argument("--name", default="city")
    ask.add_argument("--one-file", action="store_true")
    a = ask.parse_args()
    make(a.folder, a.services, a.bores, a.name, a.around or a.services, a.one_file)


if __name__ == "__main__":
    main()
