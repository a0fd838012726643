"""Distances in plan and in space, by enumerating where a least distance can lie.

The square of the distance between two points that move on two straight pieces is a
convex quadratic; its least value on a box lies at the free minimum, on one of the
box's edges or at a corner. Every candidate is a pair of real points, so the least of
them is the distance; nothing is clamped step by step.

Shapes: points are arrays (..., 2) or (..., 3) that broadcast against each other.
Lengths in metres.
"""

import math

import numpy as np
import shapely

EQUAL = 1e-6  # distances nearer than this are equal (planning model, "Comparisons")


def dot(a, b):
    return np.einsum("...i,...i->...", a, b)


def ratio(num, den):
    """num / den held to 0..1; 0 where den is 0 (a piece that is a point)."""
    safe = np.where(den > 0, den, 1.0)
    return np.clip(np.where(den > 0, num / safe, 0.0), 0.0, 1.0)


def pair_candidates(p0, p1, q0, q1):
    """Places where the distance between two pieces can be least.

    Returns (s, point_on_q, distance), first axis the candidates: s runs 0..1 on p.
    """
    p0, p1, q0, q1 = (np.asarray(v, float) for v in (p0, p1, q0, q1))
    u, v, w = p1 - p0, q1 - q0, q0 - p0
    a, b, c, d, e = dot(u, u), dot(u, v), dot(v, v), dot(u, w), dot(v, w)
    shape = np.broadcast_shapes(a.shape, b.shape, c.shape, d.shape, e.shape)
    zero, one = np.zeros(shape), np.ones(shape)
    det = a * c - b * b
    steep = det > 1e-14 * np.maximum(a * c, 1e-30)
    safe = np.where(steep, det, 1.0)
    s_free = (c * d - b * e) / safe
    t_free = (b * d - a * e) / safe
    inside = steep & (s_free >= 0) & (s_free <= 1) & (t_free >= 0) & (t_free <= 1)
    pairs = [
        (np.where(inside, s_free, 0.0) + zero, np.where(inside, t_free, 0.0) + zero),
        (zero, ratio(-e, c) + zero),
        (one, ratio(b - e, c) + zero),
        (ratio(d, a) + zero, zero),
        (ratio(d + b, a) + zero, one),
    ]
    ss = np.stack([s for s, _ in pairs])
    tt = np.stack([t for _, t in pairs])
    on_p = p0 + ss[..., None] * u
    on_q = q0 + tt[..., None] * v
    dist = np.sqrt(dot(on_q - on_p, on_q - on_p))
    dist[0] = np.where(inside, dist[0], np.inf)
    return ss, on_q, dist


def choose(candidates, far):
    """The nearest candidate; of equally near ones the greatest s (far=1) or least s (far=-1)."""
    ss, qq, dd = candidates
    least = dd.min(axis=0)
    key = np.where(dd <= least + EQUAL, far * ss, -np.inf)
    k = key.argmax(axis=0)[None]
    pick = lambda arr: np.take_along_axis(arr, k, axis=0)[0]
    q = np.take_along_axis(qq, k[..., None], axis=0)[0]
    return pick(ss), q, pick(dd)


def nearest(p0, p1, thing, candidates, foot, far):
    """Nearest place on pieces p0-p1 (n, 1, k) to each of m things (arrays of length m).

    Returns (s, point of the thing, least distance), each (n, m, ...). Of the places whose
    distance is within 1e-6 of the least, s is the one farthest toward 1 (far=1) or 0 (far=-1).
    """
    places = candidates(p0, p1, *thing)
    s, least = choose(places, far)[0], places[2].min(axis=0)
    s = stretch(p0, p1, thing, foot, s, least, far)
    return s, foot(p0 + s[..., None] * (p1 - p0), *thing), least


def stretch(p0, p1, thing, foot, s, least, far):
    """The equally near places are one interval round `s`, for the distance is convex; its far end.

    Solved for where the squared distance is one parabola from `s` on, else found by halving.
    """
    end = np.full_like(s, 1.0 if far > 0 else 0.0)
    away = lambda s, cols: apart(p0, p1, [t[cols] for t in thing], foot, s)
    every = np.arange(s.shape[1])
    at_end = away(end, every) <= least + EQUAL
    out = end.copy()
    open_cols = np.flatnonzero(~at_end.all(axis=0))
    for solve in (by_parabola, by_halving):
        if len(open_cols):
            part = tuple(v[:, open_cols] for v in (s, end, least))
            found = solve(lambda x: away(x, open_cols), *part)
            done = at_end[:, open_cols] | (np.abs(away(found, open_cols) - part[2] - EQUAL) < 1e-11)
            out[:, open_cols] = np.where(at_end[:, open_cols], part[1], found)
            open_cols = open_cols[~done.all(axis=0)]
    return out


def apart(p0, p1, thing, foot, s):
    p = p0 + s[..., None] * (p1 - p0)
    gap = p - foot(p, *thing)
    return np.sqrt(dot(gap, gap))


def by_parabola(away, s, end, least):
    """Where the squared distance reaches its limit, if it is one parabola from `s` on."""
    h = (end - s) * 1e-3
    f0, f1, f2 = away(s) ** 2, away(s + h) ** 2, away(s + 2 * h) ** 2
    a, b = (f2 - 2 * f1 + f0) / 2, (4 * f1 - f2 - 3 * f0) / 2
    c = f0 - (least + EQUAL) ** 2
    low = b + np.sqrt(np.maximum(b * b - 4 * a * c, 0.0))
    x = np.where(low > 0, -2 * c / np.where(low > 0, low, 1.0), 0.0)
    return s + np.clip(x * h, np.minimum(0, end - s), np.maximum(0, end - s))


def by_halving(away, s, end, least):
    good, bad = s.copy(), end
    for _ in range(42):
        middle = (good + bad) / 2
        ok = away(middle) <= least + EQUAL
        good, bad = np.where(ok, middle, good), np.where(ok, bad, middle)
    return good


def foot_on_piece(p, q0, q1):
    """Nearest point of pieces q0-q1 to points p."""
    v = q1 - q0
    return q0 + ratio(dot(p - q0, v), dot(v, v))[..., None] * v


def foot_on_curtain(p, e0, e1, low0, high0, low1, high1):
    """Nearest point of upright quadrilaterals (m,) to points p (n, m, 3)."""
    at = lambda e, z: np.concatenate([e, z[:, None]], axis=1)[None]
    a, b, c, d = at(e0, low0), at(e1, low1), at(e1, high1), at(e0, high0)
    along = e1 - e0
    span = dot(along, along)
    t = dot(p[..., :2] - e0, along) / np.where(span > 0, span, 1.0)
    low, high = low0 + t * (low1 - low0), high0 + t * (high1 - high0)
    inside = (span > 0) & (t >= 0) & (t <= 1) & (p[..., 2] >= low) & (p[..., 2] <= high)
    best = np.concatenate([e0 + t[..., None] * along, p[..., 2:]], axis=-1)
    gap = np.where(inside, 0.0, np.inf)  # below any edge where the foot is on the face
    for x, y in ((a, b), (b, c), (d, c), (a, d)):
        q = foot_on_piece(p, x, y)
        d_q = np.sqrt(dot(p - q, p - q))
        best = np.where((d_q < gap)[..., None], q, best)
        gap = np.minimum(gap, d_q)
    return best


def curtain_candidates(p0, p1, e0, e1, low0, high0, low1, high1):
    """Places where a piece p can be nearest to an upright plane quadrilateral.

    e0, e1 (m, 2): its ends in plan; low, high (m,): its levels there. p0, p1 (n, 1, 3).
    Candidates: the four edges, the ends of p over the face, and p through the face.
    """
    at = lambda e, z: np.concatenate([e, z[:, None]], axis=1)[None]
    a, b, c, d = at(e0, low0), at(e1, low1), at(e1, high1), at(e0, high0)
    parts = [pair_candidates(p0, p1, x, y) for x, y in ((a, b), (b, c), (d, c), (a, d))]
    parts += face_candidates(p0, p1, e0, e1, low0, high0, low1, high1)
    return tuple(np.concatenate([part[i] for part in parts]) for i in range(3))


def face_candidates(p0, p1, e0, e1, low0, high0, low1, high1):
    """Ends of p square to the inside of the face, and the point where p pierces it."""
    along = e1 - e0
    length = np.sqrt(dot(along, along))
    axis = along / np.where(length > 0, length, 1.0)[:, None]
    normal = np.stack([-axis[:, 1], axis[:, 0]], axis=1)
    off = lambda p: dot(p[..., :2] - e0, normal)
    o0, o1 = off(p0), off(p1)
    through = np.where(o0 != o1, o0 / np.where(o0 != o1, o0 - o1, 1.0), -1.0)
    out = []
    for s in (np.zeros_like(o0), np.ones_like(o0), through):
        p = p0 + np.clip(s, 0, 1)[..., None] * (p1 - p0)
        t = dot(p[..., :2] - e0, axis) / np.where(length > 0, length, 1.0)
        low, high = low0 + t * (low1 - low0), high0 + t * (high1 - high0)
        z = p[..., 2]
        ok = (length > 0) & (s >= 0) & (s <= 1) & (t >= 0) & (t <= 1) & (z >= low) & (z <= high)
        foot = np.concatenate([e0 + t[..., None] * along, z[..., None]], axis=-1)
        out.append((np.clip(s, 0, 1)[None], foot[None], np.where(ok, np.abs(off(p)), np.inf)[None]))
    return out


def unit(v):
    return v / math.hypot(*v)


def triangles(polygon):
    """The polygon as triangles (k, 3, 2); the prism over each is convex."""
    tris = shapely.get_parts(shapely.constrained_delaunay_triangles(polygon))
    return np.array([shapely.get_coordinates(t)[:3] for t in tris if t.area > 0])


def point_triangle(p, tri):
    """Plan distance from points (..., 2) to a solid triangle (3, 2)."""
    inside = np.ones(p.shape[:-1], bool)
    turn = np.sign(cross(tri[1] - tri[0], tri[2] - tri[0]))
    best = np.full(p.shape[:-1], np.inf)
    for k in range(3):
        a, b = tri[k], tri[(k + 1) % 3]
        inside &= turn * cross(b - a, p - a) >= 0
        t = ratio(dot(p - a, b - a), dot(b - a, b - a))
        gap = p - (a + t[..., None] * (b - a))
        best = np.minimum(best, np.sqrt(dot(gap, gap)))
    return np.where(inside, 0.0, best)


def cross(a, b):
    return a[..., 0] * b[..., 1] - a[..., 1] * b[..., 0]


def prism_distance(p0, p1, tris, floor):
    """3D distance from pieces p0, p1 (n, 3) to the prism that rises from `floor` over `tris`.

    Over one triangle the distance along the piece is convex: narrowed by golden section.
    Returns (distance, s), each (n,).
    """
    best, where = np.full(len(p0), np.inf), np.zeros(len(p0))
    for tri in tris:
        d, s = golden(lambda s: over_triangle(p0, p1, s, tri, floor), len(p0))
        where = np.where(d < best, s, where)
        best = np.minimum(best, d)
    return best, where


def over_triangle(p0, p1, s, tri, floor):
    p = p0 + s[:, None] * (p1 - p0)
    below = np.maximum(0.0, floor - p[:, 2])
    return np.hypot(point_triangle(p[:, :2], tri), below)


def golden(f, n, rounds=60):
    """Least value of n convex functions on 0..1."""
    g = (math.sqrt(5) - 1) / 2
    lo, hi = np.zeros(n), np.ones(n)
    for _ in range(rounds):
        x, y = hi - g * (hi - lo), lo + g * (hi - lo)
        left = f(x) <= f(y)
        lo, hi = np.where(left, lo, x), np.where(left, y, hi)
    tries = np.stack([np.zeros(n), np.ones(n), (lo + hi) / 2])
    values = np.stack([f(t) for t in tries])
    k = values.argmin(axis=0)
    return values[k, np.arange(n)], tries[k, np.arange(n)]


def rectangle(centre, axis, length, width):
    """Rectangle polygon, `length` along the unit vector `axis`."""
    a = np.asarray(axis) * length / 2
    b = np.array([-axis[1], axis[0]]) * width / 2
    c = np.asarray(centre)
    return shapely.Polygon([c + a + b, c + a - b, c - a - b, c - a + b])
