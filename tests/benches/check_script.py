"""The yardstick of speed: what a very good script does about designed bores and a city's services.

    python3 tests/benches/check_script.py CITY.gpkg CITY.tif BORES.gpkg OUT.gpkg [--first N]

Reads with pyogrio and Arrow, looks for segments whose boxes come near with a tree of Shapely's, works out distances of
segments in space with numpy in two processes, and writes one row for each bore and service that come near. Says what each
stage took and the peak of memory.

It does less than `pitwright check`: whole segments and not pieces of 2 m, one row for a bore and a service, levels from the
ground at vertices only, no curtains (a service of unknown depth counts by its distance in plan), no test holes, no areas,
no check of what it reads. Its numbers are no reference for anything but time.
"""

import time

BEGAN = time.perf_counter()

import argparse  # noqa: E402
import multiprocessing  # noqa: E402
import os  # noqa: E402
import resource  # noqa: E402
import struct  # noqa: E402
import sys  # noqa: E402
from concurrent.futures import ThreadPoolExecutor  # noqa: E402

import numpy as np  # noqa: E402
import pyarrow as pa  # noqa: E402
import pyarrow.compute as pc  # noqa: E402
import pyogrio  # noqa: E402
import shapely  # noqa: E402

KINDS = ["water", "gas", "electricity", "telecom", "sewer", "stormwater", "recycled-water", "fuel", "other"]
CROSSING = np.array([0.5, 0.3, 0.3, 0.3, 0.3, 0.3, 0.3, 0.5, 0.5])
PARALLEL = np.array([1.0, 0.5, 0.5, 0.5, 0.5, 0.5, 0.5, 1.0, 1.0])
DIAMETER = np.array([180.0, 125.0, 160.0, 110.0, 180.0, 450.0, 125.0, 220.0, 300.0])
QUALITY = ["A", "B", "C", "D", "unknown"]
ACROSS, UP = np.array([0.05, 0.3, 0.5, 1.0, 1.5]), np.array([0.05, 0.5, 0.5, 0.5, 0.75])
WATCH_DISTANCE, WATCH_MARGIN = 2.0, 0.3
BORE = {100: (0.110, 0.1036), 150: (0.160, 0.1506), 225: (0.250, 0.2354)}
REACH = 2.6  # nothing farther apart in plan than this is in a row: 1.5 m and 1 m, and the radii
VERDICTS = ["clear", "watch", "prove", "clash"]


class Stages:
    def __init__(self):
        self.last, self.told = BEGAN, []

    def end(self, name):
        now = time.perf_counter()
        self.told.append((name, now - self.last))
        self.last = now


# -- reading --------------------------------------------------------------------------------------


def lines(table, column):
    """Vertices (n, 3) and the feature of each, from WKB of lines with Z."""
    blob = table[column].combine_chunks()
    blob = blob.chunk(0) if isinstance(blob, pa.ChunkedArray) else blob
    wide = pa.types.is_large_binary(blob.type)
    offsets = np.frombuffer(blob.buffers()[1], np.int64 if wide else np.int32)[blob.offset : blob.offset + len(blob) + 1].astype(np.int64)
    data = np.frombuffer(blob.buffers()[2], np.uint8)
    heads = data[offsets[:-1, None] + np.arange(5)].copy()
    if not (heads == np.frombuffer(struct.pack("<BI", 1, 1002), np.uint8)).all():
        parts = shapely.from_wkb(blob.to_numpy(zero_copy_only=False))
        return shapely.get_coordinates(parts, include_z=True, return_index=True)
    keep = np.ones(len(data), bool)
    keep[offsets[:-1, None] + np.arange(9)] = False
    xyz = data[offsets[0] : offsets[-1]][keep[offsets[0] : offsets[-1]]].view("<f8").reshape(-1, 3)
    return xyz, np.repeat(np.arange(len(blob)), (np.diff(offsets) - 9) // 24)


def floats(table, name):
    return pc.cast(table[name], pa.float64()).to_numpy(zero_copy_only=False)


def codes(table, name, words, other):
    encoded = table[name].combine_chunks().dictionary_encode()
    encoded = pa.chunked_array([encoded]).combine_chunks() if not isinstance(encoded, pa.DictionaryArray) else encoded
    known = np.array([words.index(w) if w in words else other for w in encoded.dictionary.to_pylist()] + [other])
    index = pc.fill_null(encoded.indices, len(known) - 1).to_numpy(zero_copy_only=False)
    return known[index]


def geometry_column(meta, table):
    return meta["geometry_name"] or ("wkb_geometry" if "wkb_geometry" in table.column_names else "geometry")


class Services:
    def __init__(self, path, raster):
        meta, table = pyogrio.read_arrow(path, layer="services", columns=["kind", "diameter_mm", "cover_m", "quality", "owner", "status"], return_fids=True)
        table = table.filter(pc.fill_null(pc.not_equal(table["status"], "removed"), True))
        xyz, index = lines(table, geometry_column(meta, table))
        self.crs, self.fid, self.owner = meta["crs"], table["fid"].to_numpy(), table["owner"].combine_chunks()
        self.kind, self.quality = codes(table, "kind", KINDS, 8), codes(table, "quality", QUALITY, 4)
        mm = floats(table, "diameter_mm")
        self.radius = np.where(np.isnan(mm), DIAMETER[self.kind], mm) / 2000
        cover = floats(table, "cover_m")
        has_z = np.bitwise_or.reduceat(xyz[:, 2] != 0, np.flatnonzero(np.diff(index, prepend=-1)))
        by_cover = ~has_z & ~np.isnan(cover)
        self.known = has_z | by_cover
        z = xyz[:, 2] - self.radius[index]
        at = by_cover[index]
        z[at] = Ground(raster)(xyz[at, 0], xyz[at, 1]) - (cover + self.radius)[index[at]]
        first = np.flatnonzero(index[1:] == index[:-1])
        self.a = np.column_stack([xyz[first, :2], z[first]])
        self.b = np.column_stack([xyz[first + 1, :2], z[first + 1]])
        self.owner_of = index[first]


class Bores:
    def __init__(self, path, first):
        meta, table = pyogrio.read_arrow(path, layer="bores", max_features=first, return_fids=True)
        xyz, index = lines(table, geometry_column(meta, table))
        self.id = table["bore_id"].combine_chunks()
        dn = table["dn_mm"].to_numpy()
        od, inside = (np.select([dn == k for k in BORE], [v[j] for v in BORE.values()], BORE[150][j]) for j in (0, 1))
        self.radius = od / 2 + 0.01
        steps = np.flatnonzero(index[1:] == index[:-1])
        begins = np.flatnonzero(np.diff(index, prepend=-1))
        ends = np.append(begins[1:], len(index)) - 1
        run = np.concatenate([[0.0], np.cumsum(np.where(index[1:] == index[:-1], np.hypot(*np.diff(xyz[:, :2], axis=0).T), 0.0))])
        at, length = run - run[begins][index], run[ends] - run[begins]
        z, self.level = self.inverts(table, xyz, index, at, length, begins)
        z = z + inside[index] / 2
        self.a, self.b = (np.column_stack([xyz[k, :2], z[k]]) for k in (steps, steps + 1))
        self.of, self.at, self.length = index[steps], at[steps], length
        self.from_ds = pc.fill_null(pc.equal(table["launch"], "ds"), False).to_numpy(zero_copy_only=False)

    @staticmethod
    def inverts(table, xyz, index, at, length, begins):
        has_z = np.bitwise_or.reduceat(xyz[:, 2] != 0, begins)
        us, ds = floats(table, "us_invert_m"), floats(table, "ds_invert_m")
        straight = us[index] + at / length[index] * (ds - us)[index]
        z = np.where(has_z[index], xyz[:, 2], straight)
        return np.nan_to_num(z), has_z | ~np.isnan(us + ds)


class Ground:
    """Bilinear levels from a tiled GeoTIFF of floats, not compressed, mapped and not read whole."""

    def __init__(self, path):
        with open(path, "rb") as f:
            head = f.read(4096)
        tags = {}
        for k in range(struct.unpack_from("<H", head, 8)[0]):
            tag, kind, n, v = struct.unpack_from("<HHII", head, 10 + 12 * k)
            tags[tag] = v & 0xFFFF if kind == 3 and n == 1 else v
        self.cols, self.rows, self.tile = tags[256], tags[257], tags[322]
        self.cell = struct.unpack_from("<d", head, tags[33550])[0]
        self.west, self.north = struct.unpack_from("<2d", head, tags[33922] + 24)
        across = self.cols // self.tile
        first = np.memmap(path, "<u4", "r", tags[324], (1,))[0]
        self.tiles = np.memmap(path, "<f4", "r", int(first), (self.rows // self.tile, across, self.tile, self.tile))

    def __call__(self, e, n):
        x = np.clip((e - self.west) / self.cell - 0.5, 0, self.cols - 1.001)
        y = np.clip((self.north - n) / self.cell - 0.5, 0, self.rows - 1.001)
        i, j = y.astype(np.int64), x.astype(np.int64)
        fy, fx = y - i, x - j
        at = lambda i, j: self.tiles[i // self.tile, j // self.tile, i % self.tile, j % self.tile]
        return (1 - fy) * ((1 - fx) * at(i, j) + fx * at(i, j + 1)) + fy * ((1 - fx) * at(i + 1, j) + fx * at(i + 1, j + 1))


# -- distances --------------------------------------------------------------------------------------


def dot(a, b):
    return np.einsum("ij,ij->i", a, b)


def nearest(p0, p1, q0, q1):
    """Shares of the way along two pieces at their nearest points, and the points' gap, from p to q."""
    u, v, w = p1 - p0, q1 - q0, p0 - q0
    a, b, c, d, e = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    det = a * c - b * b
    s = np.clip(np.divide(b * e - c * d, det, out=np.zeros_like(det), where=det > 1e-12 * a * c), 0, 1)
    t = (b * s + e) / np.maximum(c, 1e-30)
    beyond = (t < 0) | (t > 1)
    t = np.clip(t, 0, 1)
    s = np.where(beyond, np.clip((b * t - d) / np.maximum(a, 1e-30), 0, 1), s)
    return s, t, q0 + t[:, None] * v - p0 - s[:, None] * u


def erfc(x):
    """Abramowitz and Stegun 7.1.26, enough for a yardstick of time."""
    t = 1 / (1 + 0.3275911 * np.abs(x))
    y = t * (0.254829592 + t * (-0.284496736 + t * (1.421413741 + t * (-1.453152027 + t * 1.061405429)))) * np.exp(-x * x)
    return np.where(x >= 0, y, 2 - y)


def meet(tree, services, bores, some):
    """Rows of the bore segments `some`."""
    low, high = (f(bores.a[some, :2], bores.b[some, :2]) for f in (np.minimum, np.maximum))
    boxes = shapely.box(*(low - REACH).T, *(high + REACH).T)
    drive, piece = tree.query(boxes)
    drive = some[drive]
    f, o = services.owner_of[piece], bores.of[drive]
    p0, p1, q0, q1 = bores.a[drive], bores.b[drive], services.a[piece], services.b[piece]
    flat = ~(services.known[f] & bores.level[o])
    q0[flat, 2] = q1[flat, 2] = p0[flat, 2] = p1[flat, 2] = 0.0
    s, t, gap = nearest(p0, p1, q0, q1)
    apart = np.sqrt(dot(gap, gap))
    clearance = apart - services.radius[f] - bores.radius[o]
    u, v = p1[:, :2] - p0[:, :2], q1[:, :2] - q0[:, :2]
    turn = u[:, 0] * v[:, 1] - u[:, 1] * v[:, 0]
    angle = np.degrees(np.arctan2(np.abs(turn), np.abs(dot(u, v))))
    w = q0[:, :2] - p0[:, :2]
    with np.errstate(all="ignore"):
        on_p, on_q = (w[:, 0] * v[:, 1] - w[:, 1] * v[:, 0]) / turn, (w[:, 0] * u[:, 1] - w[:, 1] * u[:, 0]) / turn
    crossing = (angle >= 45) | ((on_p >= 0) & (on_p <= 1) & (on_q >= 0) & (on_q <= 1))
    along = bores.at[drive] + s * np.hypot(*u.T)
    chainage = np.where(bores.from_ds[o], bores.length[o] - along, along)
    boring = np.maximum(0.010, 0.020 * chainage / 50)
    k, ql = services.kind[f], services.quality[f]
    required = np.where(crossing, CROSSING[k], PARALLEL[k])
    safe = np.maximum(apart, 1e-9)
    h, up = ACROSS[ql], np.where(flat, 0.0, UP[ql])
    allowance = np.sqrt((h * np.hypot(gap[:, 0], gap[:, 1]) / safe) ** 2 + (up * gap[:, 2] / safe) ** 2 + boring**2)
    margin = clearance - allowance - required
    rank = np.where(margin < 0, np.where(flat, 2, 3), np.where(margin < WATCH_MARGIN, 1, 0))
    keep = np.flatnonzero((clearance <= WATCH_DISTANCE) | (rank > 0))
    key = o[keep] * len(services.fid) + f[keep]
    order = keep[np.lexsort((margin[keep], -rank[keep], key))]
    one = order[np.flatnonzero(np.diff(o[order] * len(services.fid) + f[order], prepend=-1))]
    contact = 0.5 * erfc(clearance[one] / (allowance[one] / 1.96) / np.sqrt(2))
    where = bores.a[drive[one]] + s[one, None] * (bores.b - bores.a)[drive[one]]
    return {"bore": o[one], "feature": f[one], "chainage_m": chainage[one], "angle_deg": angle[one], "crossing": crossing[one], "clearance_m": clearance[one],
            "required_m": required[one], "allowance_m": allowance[one], "margin_m": margin[one], "p_contact": contact, "depth_known": ~flat[one], "rank": rank[one], "at": where}


def boxes_of(services):
    """Shapely makes them without Python's lock, so two threads take half the time."""
    low, high = np.minimum(services.a, services.b), np.maximum(services.a, services.b)
    half = len(low) // 2
    with ThreadPoolExecutor(2) as pool:
        return np.concatenate(list(pool.map(lambda k: shapely.box(*low[k, :2].T, *high[k, :2].T), (slice(0, half), slice(half, None)))))


def both_halves(tree, services, bores):
    """This process takes one half of the bores, a forked one the other."""
    everything = np.arange(len(bores.of))
    half = len(everything) // 2
    ours, theirs = multiprocessing.Pipe(duplex=False)
    child = os.fork()
    if child == 0:
        ours.close()
        rows = meet(tree, services, bores, everything[half:])
        for name in rows:
            theirs.send_bytes(np.ascontiguousarray(rows[name]))
        os._exit(0)
    theirs.close()
    rows = meet(tree, services, bores, everything[:half])
    for name, mine in rows.items():
        other = np.frombuffer(ours.recv_bytes(), mine.dtype).reshape(-1, *mine.shape[1:])
        rows[name] = np.concatenate([mine, other])
    os.waitpid(child, 0)
    return rows


# -- writing ----------------------------------------------------------------------------------------


def points(at):
    blob = np.zeros(len(at), dtype=[("order", "u1"), ("type", "<u4"), ("xyz", "<f8", 3)])
    blob["order"], blob["type"], blob["xyz"] = 1, 1001, at
    offsets = (np.arange(len(at) + 1) * blob.dtype.itemsize).astype(np.int32)
    return pa.Array.from_buffers(pa.binary(), len(at), [None, pa.py_buffer(offsets), pa.py_buffer(blob)])


def words(index, names):
    return pa.DictionaryArray.from_arrays(pa.array(index.astype(np.int32)), pa.array(names)).cast(pa.string())


def write(path, services, bores, rows):
    n, f = len(rows["bore"]), rows["feature"]
    take = lambda array, index: array.take(pa.array(index))
    number = {k: pa.array(rows[k]) for k in ("chainage_m", "angle_deg", "clearance_m", "required_m", "allowance_m", "margin_m", "p_contact", "depth_known")}
    table = pa.table({
        "conflict_id": pc.binary_join_element_wise("C", pc.cast(pa.array(np.arange(1, n + 1)), pa.string()), ""),
        "bore_id": take(bores.id, rows["bore"]),
        "pit_id": pa.nulls(n, pa.string()),
        "obstacle": words(np.zeros(n), ["service"]),
        "source_layer": words(np.zeros(n), ["services"]),
        "source_fid": pa.array(services.fid[f]),
        "kind": words(services.kind[f], KINDS),
        "owner": take(services.owner, f),
        **number,
        "encounter": words(rows["crossing"], ["parallel", "crossing"]),
        "verdict": words(rows["rank"], VERDICTS),
        "rule": words(services.kind[f] * 2 + rows["crossing"], [f"rules.clearance.{k}.{w}" for k in KINDS for w in ("parallel_m", "crossing_m")]),
        "geom": points(rows["at"]),
    })
    pyogrio.write_arrow(table, path, layer="bore_conflicts", driver="GPKG", geometry_name="geom", geometry_type="Point Z", crs=services.crs)


def main():
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("city")
    ask.add_argument("raster")
    ask.add_argument("bores")
    ask.add_argument("out")
    ask.add_argument("--first", type=int, help="only the first N bores")
    a = ask.parse_args()
    stages = Stages()
    stages.end("start")
    services, bores = Services(a.city, a.raster), Bores(a.bores, a.first)
    stages.end("read")
    tree = shapely.STRtree(boxes_of(services))
    rows = both_halves(tree, services, bores)
    stages.end("search")
    if os.path.exists(a.out):
        os.remove(a.out)
    write(a.out, services, bores, rows)
    stages.end("write")
    used = [resource.getrusage(w) for w in (resource.RUSAGE_SELF, resource.RUSAGE_CHILDREN)]
    peak, cpu = max(u.ru_maxrss for u in used) / 1024, sum(u.ru_utime + u.ru_stime for u in used)
    told = "  ".join(f"{name} {seconds:.2f} s" for name, seconds in stages.told)
    print(f"{told}  whole {time.perf_counter() - BEGAN:.2f} s  cpu {cpu:.2f} s  peak {peak:.0f} MB  {len(rows['bore'])} rows")


if __name__ == "__main__":
    sys.exit(main())
