"""The planning model, sections 1 to 5: what is lawful, what it touches, what it costs.

Written from `planning-model.md` and `interface.md` alone. Levels are arrays, so that one
call judges a drive or a pit at many levels; lengths and levels in metres, coordinates
from `site_reader.py` (metres, moved to a near origin).
"""

import math
from collections import defaultdict
from dataclasses import dataclass, field

import numpy as np
import shapely
from scipy.special import ndtr

import geometry as geo
from site_reader import NotCovered

TOL, GRADE_TOL, AREA_TOL = 1e-6, 1e-9, 1e-4
CLEAR, WATCH, PROVE, CLASH = 0, 1, 2, 3
WORDS = ["clear", "watch", "prove", "clash"]


def ceil(x):
    """The least whole number >= x - 1e-6."""
    return math.ceil(x - 1e-6)


# -- services cut into pieces ---------------------------------------------------------------


@dataclass
class Line:
    """One part of a service, cut into pieces; arrays have one entry a piece."""

    service: object
    e0: np.ndarray
    e1: np.ndarray
    z0: np.ndarray
    z1: np.ndarray
    low0: np.ndarray
    high0: np.ndarray
    low1: np.ndarray
    high1: np.ndarray
    known: np.ndarray
    bounded: np.ndarray
    straight: np.ndarray
    straights: list
    shape: object
    pieces: list


def cut(service, part, job, ground):
    ends, straight = [], []
    chains = straight_parts(part)
    owner = {k: i for i, chain in enumerate(chains) for k in chain}
    for k in range(len(part) - 1):
        n = max(1, ceil(math.hypot(*(part[k + 1] - part[k])[:2]) / 2))
        for j in range(n):
            a, b = (part[k] + f / n * (part[k + 1] - part[k]) for f in (j, j + 1))
            ends.append((a, part[k + 1] if j == n - 1 else b))
            straight.append(owner[k])
    e0, e1 = np.array([a for a, _ in ends]), np.array([b for _, b in ends])
    g0, g1 = ground(e0[:, :2]), ground(e1[:, :2])
    known, z0, z1 = levels_of(service, e0, e1, g0, g1)
    band = job(f"rules.depth_band.{service.kind}") or job("rules.depth_band.other") or {}
    lo, hi = band.get("min_m", np.nan), band.get("max_m", np.nan)
    bounded = ~known & ~np.isnan(g0) & ~np.isnan(g1)
    plan = lambda chain: [tuple(part[i][:2]) for i in chain] + [tuple(part[chain[-1] + 1][:2])]
    lines = [shapely.LineString(plan(c)) for c in chains]
    pieces = [shapely.LineString([a[:2], b[:2]]) for a, b in ends]
    return Line(service, e0[:, :2], e1[:, :2], z0, z1, g0 - hi, g0 - lo, g1 - hi, g1 - lo,
                known, bounded, np.array(straight), lines, shapely.LineString(part[:, :2]), pieces)


def levels_of(service, e0, e1, g0, g1):
    """(known, centre levels at both ends) of every piece."""
    if service.has_z:
        return np.ones(len(e0), bool), e0[:, 2], e1[:, 2]
    if service.cover is None:
        return np.zeros(len(e0), bool), g0 * np.nan, g1 * np.nan
    drop = service.cover + service.diameter / 2
    return ~np.isnan(g0) & ~np.isnan(g1), g0 - drop, g1 - drop


def straight_parts(part):
    """Segment numbers of the line cut at vertices that deflect more than 1 degree in plan."""
    chains = [[0]]
    for k in range(1, len(part) - 1):
        a, b = part[k] - part[k - 1], part[k + 1] - part[k]
        turn = abs(math.degrees(math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1])))
        flat = min(math.hypot(*a[:2]), math.hypot(*b[:2])) > 0
        if turn > 1 or not flat:
            chains.append([])
        chains[-1].append(k)
    return chains


def with_level(q):
    """Points in plan as points in space, at level 0."""
    return q if q.shape[-1] == 3 else np.concatenate([q, np.zeros((*q.shape[:-1], 1))], axis=-1)


# -- the touch of a drive on one service line -----------------------------------------------


@dataclass
class Touch:
    """A drive against the near pieces of one line. Arrays (levels, pieces) or (pieces,).

    `by_class` is what the class asks; `required` that, or what a separation in plan or in level asks where it leaves less margin,
    and clearance, allowance, s and q are then measured its way.
    """

    line: Line
    index: np.ndarray
    clearance: np.ndarray
    plan_clearance: np.ndarray
    allowance: np.ndarray
    required: np.ndarray
    margin: np.ndarray
    verdict: np.ndarray
    p: np.ndarray
    included: np.ndarray
    crossing: np.ndarray
    angle: np.ndarray
    known: np.ndarray
    s: np.ndarray
    q: np.ndarray
    by_class: np.ndarray


@dataclass
class Bore:
    """One drive in plan: a upstream, b downstream (2,); inverts are given beside it."""

    a: np.ndarray
    b: np.ndarray
    dn: int

    @property
    def length(self):
        return math.hypot(*(self.b - self.a))


@dataclass
class Verdicts:
    """What a drive meets at n levels: lawful (n,), p_contact by kind, prove rows."""

    lawful: np.ndarray
    strikes: dict
    holes: np.ndarray


class Model:
    def __init__(self, site):
        self.site, self.job = site, site.job
        self.lines = [cut(s, p, site.job, site.ground) for s in site.services for p in s.parts]
        self.tree = shapely.STRtree([l.shape for l in self.lines])
        self.buildings = [self.building(b) for b in site.buildings]
        self.ground_cache = {}
        self.free = {}
        self.read_obstacles()

    # -- sizes and limits ---------------------------------------------------------------------

    def size(self, dn):
        """(od, id, bore) in metres."""
        job = self.job
        own = dn == job("pipe.dn_mm")
        od = job("pipe.od_mm") if own else job(f"pipe.sizes.{dn}.od_mm")
        inside = job("pipe.id_mm") if own else job(f"pipe.sizes.{dn}.id_mm")
        if od is None or inside is None:
            raise NotCovered(f"no od_mm and id_mm for dn {dn}")
        bore = job("rig.bore_mm")
        bore = bore if bore is not None else od + job.need("rig.overcut_mm")
        return od / 1000, inside / 1000, bore / 1000

    def reaches(self, dn):
        """The limits on a drive's length that are set: {name: metres}."""
        job = self.job
        od, _, bore = self.size(dn)
        by_class = job("rig.reach_by_class") or {}
        out = {"rig": by_class.get(job("soil.class"), job.need("rig.reach_m"))}
        skin = (job("soil.friction_kpa") or 0) * math.pi * od
        face = (job("soil.face_kpa") or 0) * math.pi / 4 * bore**2
        for name, key in (("thrust", "rig.thrust_kn"), ("pipe", "pipe.axial_limit_kn")):
            if job(key) is not None and skin > 0:
                out[name] = (job(key) - face) / skin
        if job("rules.max_end_error_mm") is not None:
            out["accuracy"] = job("rig.accuracy_at_m") * job("rules.max_end_error_mm") / job("rig.line_accuracy_mm")
        return out

    def reach(self, dn):
        return min(self.reaches(dn).values())

    def thrust(self, dn, length):
        od, _, bore = self.size(dn)
        return self.job("soil.face_kpa") * math.pi / 4 * bore**2 + self.job("soil.friction_kpa") * math.pi * od * length

    def grades(self, dn):
        job = self.job
        least = job("rules.min_grade")
        if isinstance(least, dict):
            least = least.get(str(dn))
        top = job("rules.max_grade")
        return (max(least if least is not None else -math.inf, job.need("rig.grade_min")),
                min(top if top is not None else math.inf, job.need("rig.grade_max")))

    def clearance_rule(self, kind, key):
        table = self.job(f"rules.clearance.{kind}") or self.job("rules.clearance.other")
        return table[key]

    def quality(self, level):
        t = self.job(f"rules.quality.{level}") or self.job("rules.quality.unknown")
        return t["horizontal_m"], t["vertical_m"]

    def limits(self, line, index):
        """95 % limits in plan and in level of each piece (m,): those of its level, or a share of the depth of its centre line below
        ground at the deeper end where that is more. A depth not recorded is the band's greatest; where there is no ground the
        limits of unknown quality count if they are wider."""
        s = line.service
        h, v = (np.full(len(index), x) for x in self.quality(s.quality))
        table = self.job(f"rules.quality.{s.quality}") or {}
        shares = table.get("horizontal_share", 0.0), table.get("vertical_share", 0.0)
        if not any(shares):
            return h, v
        band = self.job(f"rules.depth_band.{s.kind}") or self.job("rules.depth_band.other")
        for i, k in enumerate(index):
            depths = [band["max_m"]]
            if line.known[k]:
                depths = [self.ground(line.e0[k]) - line.z0[k], self.ground(line.e1[k]) - line.z1[k]]
            elif not line.bounded[k]:
                depths = [math.nan]
            if any(math.isnan(d) for d in depths):
                more = self.quality("unknown")
            else:
                more = [share * max(0.0, *depths) for share in shares]
            h[i], v[i] = max(h[i], more[0]), max(v[i], more[1])
        return h, v

    def separation(self, kind):
        """The kind's rule of separation: horizontal_m, vertical_m, service (above, either); none where it has none."""
        return self.job(f"rules.separation.{kind}")

    def t_b(self, d):
        job = self.job
        return np.maximum(job("rig.setting_out_mm"), job("rig.line_accuracy_mm") * d / job("rig.accuracy_at_m")) / 1000

    def ground(self, xy):
        key = (round(float(xy[0]), 9), round(float(xy[1]), 9))
        if key not in self.ground_cache:
            self.ground_cache[key] = float(self.site.ground(np.asarray(xy, float)))
        return self.ground_cache[key]

    # -- obstacles ------------------------------------------------------------------------------

    def building(self, area):
        corners = shapely.get_coordinates(area.shape)
        g = self.site.ground(corners)
        levels = list(g[~np.isnan(g)])
        if area.attrs.get("floor_m") is not None:
            levels.append(area.attrs["floor_m"])
        depth = area.attrs.get("foundation_depth_m")
        depth = depth if depth is not None else self.job.need("rules.foundation_depth_m")
        area.floor = min(levels) - depth if levels else -math.inf
        area.tris = np.concatenate([geo.triangles(p) for p in shapely.get_parts(area.shape)])
        return area

    def read_obstacles(self):
        site, policy = self.site, self.job.need("pits.on_lots")
        self.keepouts = site.keepouts
        self.trees = [t for t in site.trees if t.attrs.get("retain") not in (False, 0)]
        for t in self.trees:
            d = t.attrs.get("trunk_diameter_m")
            t.trunk = 0.5 if d is None else d
            t.root = max(1.5, 0.64 * (50 * t.trunk) ** 0.42)
            t.zone = shapely.buffer(t.shape, t.root, quad_segs=256)
        barred = {"entry": lambda a: a.get("entry") != "yes", "always": lambda a: False, "never": lambda a: True}
        self.barred = [l for l in site.lots if barred[policy](l.attrs)]

    # -- services against a drive -----------------------------------------------------------------

    def near_lines(self, shape, exempt, room):
        for k in sorted(self.tree.query(shape, predicate="dwithin", distance=room)):
            line = self.lines[k]
            if (line.service.layer, line.service.fid) not in exempt:
                yield line

    def room(self, bore):
        """No piece farther than this in plan from the drive can be in a conflict row."""
        job = self.job
        t = float(self.t_b(bore.length))
        worst = 0.0
        for line in self.lines:
            s = line.service
            widest = max(x.max() for x in self.limits(line, range(len(line.pieces))))
            need = max(self.clearance_rule(s.kind, "crossing_m"), self.clearance_rule(s.kind, "parallel_m"),
                       (self.separation(s.kind) or {}).get("horizontal_m", 0.0))
            limit = math.hypot(widest, t) + need + job("rules.watch_margin_m")
            worst = max(worst, max(limit, job("job.watch_distance_m")) + s.diameter / 2)
        return worst + self.size(bore.dn)[2] / 2 + 0.01

    def touches(self, bore, z_up, z_down, launch, exempt):
        """`z_up`, `z_down` (n,): centre-line levels at the drive's ends. `launch`: us or ds."""
        shape = shapely.LineString([bore.a, bore.b])
        room = self.room(bore)
        out = []
        for line in self.near_lines(shape, exempt, room):
            index = np.flatnonzero(shapely.dwithin(np.array(line.pieces), shape, room))
            if len(index):
                out.append(self.touch(bore, shape, z_up, z_down, launch, line, index))
        return out

    def touch(self, bore, shape, z_up, z_down, launch, line, index):
        s = line.service
        radii = s.diameter / 2 + self.size(bore.dn)[2] / 2
        h, v = self.limits(line, index)
        crossing, angle = self.encounter_class(bore, shape, line, index)
        by_class = np.where(crossing, self.clearance_rule(s.kind, "crossing_m"), self.clearance_rule(s.kind, "parallel_m"))
        apart = self.separation(s.kind)
        # What may lie at any level is apart in plan or not at all.
        required = np.where(line.known[index], by_class, np.maximum(by_class, apart["horizontal_m"])) if apart else by_class
        known, bounded = line.known[index], line.bounded[index]
        far = 1 if launch == "us" else -1
        at = lambda e, z: np.column_stack([np.tile(e, (len(z), 1)), z])[:, None]
        p0, p1 = at(bore.a, z_up), at(bore.b, z_down)
        plan_s, plan_q, plan_d = self.plan_nearest(bore, line, index, far)
        n, m = len(z_up), len(index)
        ss, qq, dd = np.zeros((n, m)), np.zeros((n, m, 3)), np.zeros((n, m))
        for mask, shape_of, candidates, foot in ((known, self.piece, geo.pair_candidates, geo.foot_on_piece),
                                                 (bounded, self.curtain, geo.curtain_candidates, geo.foot_on_curtain)):
            if mask.any():
                ss[:, mask], qq[:, mask], dd[:, mask] = geo.nearest(p0, p1, shape_of(line, index[mask]), candidates, foot, far)
        open_ended = ~known & ~bounded
        on_plan = p0 + plan_s[None, :, None] * (p1 - p0)
        ss[:, open_ended], dd[:, open_ended] = plan_s[open_ended], plan_d[open_ended]
        qq[:, open_ended, :2], qq[:, open_ended, 2] = plan_q[open_ended], on_plan[:, open_ended, 2]
        clearance, plan_clearance = dd - radii, plan_d - radii
        away = lambda f: bore.length * (f if launch == "us" else 1 - f)
        tb, tb_plan = self.t_b(away(ss)), self.t_b(away(plan_s))
        v_s = np.where(known, v, 0.0)
        allowance = self.allowance(p0 + ss[..., None] * (p1 - p0), qq, dd, h, v_s, tb)
        margin = clearance - allowance - required
        required = np.broadcast_to(required, margin.shape).copy()
        watched = np.where(known, clearance, plan_clearance) <= self.job("job.watch_distance_m") + TOL
        p = ndtr(-clearance / (allowance / 1.96))
        spread = np.sqrt(h**2 + tb_plan**2)
        doubtful = ~known & (plan_clearance - spread - required < -TOL)
        if apart and known.any():
            for way in self.separated(bore, line, index, z_up, z_down, apart, radii, v, away,
                                      (plan_clearance, spread, plan_s, plan_q)):
                less = known & (way["margin"] < margin)
                for old, new in ((clearance, "clearance"), (required, "required"), (allowance, "allowance"), (ss, "s"), (margin, "margin")):
                    old[less] = np.broadcast_to(way[new], margin.shape)[less]
                qq[less] = np.broadcast_to(way["q"], qq.shape)[less]
        by_margin = np.where(margin < -TOL, CLASH, np.where(margin < self.job("rules.watch_margin_m"), WATCH, CLEAR))
        verdict = np.where(doubtful, PROVE, by_margin)
        share = self.share(line, index, plan_q, on_plan[..., 2], radii)
        p = np.where(doubtful, share * ndtr(-plan_clearance / (spread / 1.96)), p)
        return Touch(line, index, clearance, plan_clearance, allowance, required, margin, verdict, p,
                     watched | (verdict != CLEAR), crossing, angle, known, ss, qq, by_class)

    def separated(self, bore, line, index, z_up, z_down, rule, radii, v, away, plan):
        """What a separation comes to at each level and piece: one dict of arrays, that of the clause with the greater margin.

        In level, every point of a piece against the point of the bore nearest to it in plan. Along the piece that foot moves
        evenly and rests at the bore's ends, so the least margin is at an end of the piece or where the foot comes to rest.
        """
        clear_plan, spread, plan_s, plan_q = plan
        flat = {"clearance": clear_plan, "required": rule["horizontal_m"], "allowance": spread,
                "margin": clear_plan - spread - rule["horizontal_m"], "s": plan_s, "q": plan_q}
        e0, e1, z0, z1 = line.e0[index], line.e1[index], line.z0[index], line.z1[index]
        along = bore.b - bore.a
        foot = lambda e: (e - bore.a) @ along / (along @ along)
        f0, f1 = foot(e0), foot(e1)
        with np.errstate(divide="ignore", invalid="ignore"):
            rests = [np.nan_to_num(np.clip((end - f0) / (f1 - f0), 0, 1)) for end in (0.0, 1.0)]
        best = None
        for up in (1, -1) if rule["service"] == "either" else (1,):
            worst = None
            for t in (np.zeros(len(index)), *rests, np.ones(len(index))):
                s = np.clip(f0 + t * (f1 - f0), 0, 1)
                bore_z = z_up[:, None] + s * (z_down - z_up)[:, None]
                z = z0 + t * (z1 - z0)
                clearance = up * (z - bore_z) - radii
                allowance = np.broadcast_to(np.sqrt(v**2 + self.t_b(away(s)) ** 2), clearance.shape)
                q = np.broadcast_to(np.column_stack([e0 + t[:, None] * (e1 - e0), z]), (*clearance.shape, 3))
                worst = self.pick(worst, {"clearance": clearance, "required": rule["vertical_m"], "allowance": allowance,
                                          "margin": clearance - allowance - rule["vertical_m"], "s": s, "q": q}, least=True)
            best = self.pick(best, worst, least=False)
        yield self.pick(flat, best, least=False)

    @staticmethod
    def pick(a, b, least):
        """Of two sets of arrays, entry by entry that of less (or more) margin; the first where they are equal."""
        if a is None:
            return b
        take = b["margin"] < a["margin"] if least else b["margin"] > a["margin"]
        q = np.where(take[..., None], b["q"], with_level(a["q"]))
        return {**{k: np.where(take, b[k], a[k]) for k in b if k != "q"}, "q": q}

    @staticmethod
    def plan_nearest(bore, line, index, far):
        """(s, point of the service, distance) in plan, of equally near places the far one."""
        s, q, d = geo.nearest(bore.a[None, None], bore.b[None, None], (line.e0[index], line.e1[index]),
                              geo.pair_candidates, geo.foot_on_piece, far)
        return s[0], q[0], d[0]

    @staticmethod
    def piece(line, k):
        return np.column_stack([line.e0[k], line.z0[k]]), np.column_stack([line.e1[k], line.z1[k]])

    @staticmethod
    def curtain(line, k):
        return line.e0[k], line.e1[k], line.low0[k], line.high0[k], line.low1[k], line.high1[k]

    @staticmethod
    def allowance(on_bore, on_service, dist, h, v, tb):
        gap = on_service - on_bore
        safe = np.where(dist > TOL, np.maximum(np.sqrt(geo.dot(gap, gap)), TOL), 1.0)
        u_h = np.hypot(gap[..., 0], gap[..., 1]) / safe
        u_v = np.abs(gap[..., 2]) / safe
        located = np.where(dist > TOL, (h * u_h) ** 2 + (v * u_v) ** 2, np.maximum(h, v) ** 2)
        return np.sqrt(located + tb**2)

    @staticmethod
    def share(line, index, plan_q, z, radii):
        """Share of the curtain's height within `radii` of the bore's centre level z (n, m)."""
        along = line.e1[index] - line.e0[index]
        t = geo.ratio(geo.dot(plan_q - line.e0[index], along), geo.dot(along, along))
        low = line.low0[index] + t * (line.low1[index] - line.low0[index])
        high = line.high0[index] + t * (line.high1[index] - line.high0[index])
        common = np.clip(np.minimum(high, z + radii) - np.maximum(low, z - radii), 0, None)
        height = np.where(high > low, high - low, 1.0)
        return np.where(line.bounded[index], np.where(high > low, common / height, 1.0), 1.0)

    def encounter_class(self, bore, shape, line, index):
        along, drive = line.e1[index] - line.e0[index], geo.unit(bore.b - bore.a)
        length = np.hypot(along[:, 0], along[:, 1])
        upright = length <= 1e-9
        cos = np.abs(along @ drive) / np.where(upright, 1.0, length)
        sin = np.abs(along[:, 0] * drive[1] - along[:, 1] * drive[0]) / np.where(upright, 1.0, length)
        angle = np.where(upright, 90.0, np.degrees(np.arctan2(sin, cos)))
        meets = {k: shapely.distance(line.straights[k], shape) <= TOL for k in set(line.straight[index])}
        met = np.array([meets[k] for k in line.straight[index]])
        return upright | met | (angle >= 45 - 1e-9), angle

    # -- a drive at many levels ---------------------------------------------------------------------

    def drive(self, bore, inv_up, inv_down, launch, exempt=frozenset()):
        """Judges a drive at n pairs of inverts. Reach, cover, services, buildings, keepouts."""
        inv_up, inv_down = np.asarray(inv_up, float), np.asarray(inv_down, float)
        lawful = self.drive_without_services(bore, inv_up, inv_down)
        strikes, holes = defaultdict(lambda: np.zeros(len(inv_up))), np.zeros(len(inv_up))
        at = np.flatnonzero(lawful)  # services are only asked where the rest is lawful
        if len(at):
            self.meet_services(bore, inv_up, inv_down, launch, exempt, at, lawful, strikes, holes)
        return Verdicts(lawful, dict(strikes), holes)

    def meet_services(self, bore, inv_up, inv_down, launch, exempt, at, lawful, strikes, holes):
        centre = self.size(bore.dn)[1] / 2
        prove_ok = self.job("rules.unknown_depth") == "prove"
        for t in self.touches(bore, inv_up[at] + centre, inv_down[at] + centre, launch, exempt):
            broken = (t.verdict == CLASH).any(axis=1)
            if not prove_ok:
                broken |= (t.verdict == PROVE).any(axis=1)
            lawful[at[broken]] = False
            p, h = tally(t)
            strikes[t.line.service.kind][at] += p
            holes[at] += h

    def drive_without_services(self, bore, inv_up, inv_down):
        n = len(inv_up)
        if bore.length > self.reach(bore.dn) + TOL or not self.clear_of_keepouts(bore):
            return np.zeros(n, bool)
        cover = self.covers(bore, inv_up, inv_down)
        with np.errstate(invalid="ignore"):
            ok = cover.min(axis=1) >= self.job.need("rules.min_cover_m") - TOL
        for b in self.buildings:
            ok &= self.building_clearance(bore, inv_up, inv_down, b)[0] >= self.job.need("rules.clearance.building") - TOL
        return ok

    def samples(self, bore):
        n = max(1, ceil(bore.length))
        return np.arange(n + 1) / n

    def covers(self, bore, inv_up, inv_down):
        """Cover at every sample, upstream to downstream (n, samples); NaN where no ground."""
        od, inside, _ = self.size(bore.dn)
        f = self.samples(bore)
        ground = self.site.ground(bore.a + f[:, None] * (bore.b - bore.a))
        invert = np.asarray(inv_up)[:, None] + f * (np.asarray(inv_down) - np.asarray(inv_up))[:, None]
        return ground - (invert + inside / 2 + od / 2)

    def clear_of_keepouts(self, bore):
        strip = shapely.buffer(shapely.LineString([bore.a, bore.b]), self.size(bore.dn)[2] / 2, quad_segs=64)
        return not any(shapely.intersection(strip, k.shape).area > AREA_TOL for k in self.keepouts)

    def building_clearance(self, bore, inv_up, inv_down, b, always=False):
        """3D distance to the prism less the bore's radius, and the place s (n,)."""
        _, inside, hole = self.size(bore.dn)
        shape = shapely.LineString([bore.a, bore.b])
        plan = shapely.distance(shape, b.shape) - hole / 2
        n = len(inv_up)
        if not always and plan >= self.job("rules.clearance.building"):
            return np.full(n, plan), np.zeros(n)
        p0 = np.array([[*bore.a, z + inside / 2] for z in inv_up])
        p1 = np.array([[*bore.b, z + inside / 2] for z in inv_down])
        d, s = geo.prism_distance(p0, p1, b.tris, b.floor)
        return d - hole / 2, s

    def drive_cost(self, bore, verdicts):
        """Cost of the items that carry the drive's id (n,)."""
        c = self.job.tree["costs"]
        days = self.job("rig.setup_days") + bore.length / self.job("rig.metres_per_day")
        total = c["bore_setup"] + c["bore_per_m"] * bore.length + c["crew_day"] * days
        total = total + c["test_hole"] * verdicts.holes
        for kind, p in verdicts.strikes.items():
            total = total + c.get("strike", {}).get(kind, 0.0) * p
        return total

    # -- pits -------------------------------------------------------------------------------------

    def dig(self, centre):
        """machine, hand or None (rule 7)."""
        if not self.site.streets:
            return "machine"
        for word, key in (("machine", "pits.machine_width_m"), ("hand", "rig.access_width_m")):
            if self.reached(centre, self.job.need(key)):
                return word
        return None

    def reached(self, centre, width):
        if width not in self.free:
            self.free[width] = self.free_parts(width)
        point = shapely.Point(centre)
        return any(part.intersects(point) for part in self.free[width])

    def free_parts(self, width):
        b = np.array(self.site.bounds)
        box = shapely.box(*(b[:, :2].min(axis=0) - 50), *(b[:, 2:].max(axis=0) + 50))
        grow = lambda shape, r: shapely.buffer(shape, r, quad_segs=32)
        closed = [grow(a.shape, width / 2) for a in [*self.buildings, *self.keepouts]]
        closed += [grow(t.shape, t.trunk / 2 + width / 2) for t in self.trees]
        free = shapely.difference(box, shapely.union_all(closed)) if closed else box
        streets = shapely.union_all([s.shape for s in self.site.streets])
        return [part for part in shapely.get_parts(free) if part.intersects(streets)]

    def footprint_size(self, launches):
        word = "launch" if launches else "reception"
        return self.job.need(f"rig.{word}_length_m"), self.job.need(f"rig.{word}_width_m")

    def footprint(self, downstream, upstream, branches=()):
        """(axis, length, width) of a pit from its drives, each (unit direction away, launched)."""
        drives = [d for d in (downstream, upstream, *branches) if d is not None]
        launched = [d for d in drives if d[1]]
        length, width = self.footprint_size(bool(launched))
        axis = np.asarray((launched or drives)[0][0])
        out = [length, width]
        directions = [d[0] for d in launched]
        if any(out_of_line(x, y) > 1 for x in directions for y in directions):
            for v in directions:
                cos, sin = abs(axis @ v), abs(axis[0] * v[1] - axis[1] * v[0])
                out = [max(out[0], length * cos + width * sin), max(out[1], length * sin + width * cos)]
        return axis, out[0], out[1]

    def pit(self, centre, axis, length, width, exempt=frozenset()):
        return Pit(self, np.asarray(centre), np.asarray(axis), length, width, exempt)


def out_of_line(x, y):
    """Angle between two lines, degrees 0..90."""
    return math.degrees(math.atan2(abs(x[0] * y[1] - x[1] * y[0]), abs(x @ y)))


class Pit:
    """A footprint at one place; `judge` gives lawfulness at many inverts, `cost` its items."""

    def __init__(self, model, centre, axis, length, width, exempt):
        self.model, self.centre, self.axis = model, centre, axis
        self.length, self.width = length, width
        self.shape = geo.rectangle(centre, axis, length, width)
        self.ground = model.ground(centre)
        self.dig = model.dig(centre)
        self.services = self.near_services(exempt)
        self.buildings = [(b, shapely.distance(self.shape, b.shape)) for b in model.buildings]

    def near_services(self, exempt):
        """Per service feature: [(service, plan clearance, pieces nearer than pit_m as (line, piece))]."""
        m, found = self.model, {}
        biggest = max((l.service.diameter for l in m.lines), default=0) / 2
        room = max([m.job("job.watch_distance_m"), *(m.clearance_rule(l.service.kind, "pit_m") + m.job("rules.watch_margin_m") for l in m.lines)]) + biggest + 0.01
        for line in m.near_lines(self.shape, exempt, room):
            s = line.service
            d = shapely.distance(np.array(line.pieces), self.shape) - s.diameter / 2
            near = [(line, k) for k in np.flatnonzero(d < m.clearance_rule(s.kind, "pit_m") - TOL)]
            old = found.get((s.layer, s.fid))
            if old:
                found[(s.layer, s.fid)] = (s, min(old[1], d.min()), old[2] + near)
            else:
                found[(s.layer, s.fid)] = (s, d.min(), near)
        return [found[k] for k in sorted(found)]

    def top(self, service, near):
        """Highest top of the pieces' ends; None where one is of unknown depth."""
        if not all(line.known[k] for line, k in near):
            return None
        return max(max(line.z0[k], line.z1[k]) for line, k in near) + service.diameter / 2

    def floor(self, invert):
        return np.asarray(invert, float) - self.model.job.need("rig.axis_height_m")

    def depth(self, invert):
        return self.ground - self.floor(invert)

    def faults(self, invert):
        """{rule: broken (n,)} at the inverts."""
        m, job = self.model, self.model.job
        floor, depth = self.floor(invert), self.depth(invert)
        none = np.zeros(len(floor), bool)
        out = {"ground": none | math.isnan(self.ground), "access": none | (self.dig is None)}
        out["depth"] = ~(depth <= job.need("pits.max_depth_m") + TOL)
        if self.dig == "hand":
            out["hand depth"] = ~(depth <= job.need("pits.hand_dig_max_depth_m") + TOL)
        for s, clear, near in self.services:
            if near:
                top = self.top(s, near)
                crossing = m.clearance_rule(s.kind, "crossing_m")
                under = none if top is None else top <= floor - crossing + TOL
                out[f"service {s.layer}/{s.fid}"] = ~under
        for b, d in self.buildings:
            out[f"building {b.fid}"] = ~(d >= self.setback(b, floor) - TOL)
        for word, areas in (("keepout", m.keepouts), ("lot", m.barred)):
            for a in areas:
                out[f"{word} {a.fid}"] = none | (shapely.intersection(self.shape, a.shape).area > AREA_TOL)
        for t in m.trees:
            out[f"tree {t.fid}"] = none | (shapely.intersection(self.shape, t.zone).area > AREA_TOL)
        return out

    def setback(self, b, floor):
        job = self.model.job
        spread = math.tan(math.radians(job.need("pits.building_spread_deg")))
        return np.maximum(job.need("pits.building_setback_m"), (b.floor - floor) / spread)

    def lawful(self, invert):
        invert = np.asarray(invert, float)
        out = np.ones(len(invert), bool)
        for broken in self.faults(invert).values():
            out &= ~broken
        return out

    def surfaces(self):
        """{surface: m2}: each bit of ground counts for the first surface by fid, else bare."""
        rest, out = self.shape, defaultdict(float)
        for s in sorted(self.model.site.surfaces, key=lambda s: s.fid):
            bit = shapely.intersection(rest, s.shape)
            if bit.area > 0:
                out[s.attrs["surface"]] += bit.area
                rest = shapely.difference(rest, s.shape)
        if rest.area > 0:
            out["bare"] += rest.area
        return dict(out)

    def items(self, invert, manhole, exists):
        """Cost items of the pit at the inverts: {item: quantity (n,)}."""
        job = self.model.job
        depth = self.depth(invert)
        volume = "pit_hand_per_m3" if self.dig == "hand" else "pit_per_m3"
        out = {"pit_base": np.ones(len(depth)), volume: self.length * self.width * depth}
        deep = depth > job.need("pits.support_from_depth_m") + TOL
        out["pit_support_per_m2"] = np.where(deep, 2 * (self.length + self.width) * depth, 0.0)
        for surface, area in self.surfaces().items():
            out[f"reinstate.{surface}"] = np.full(len(depth), area)
        if manhole and not exists:
            out["manhole_base"] = np.ones(len(depth))
            out["manhole_per_m"] = self.ground - np.asarray(invert, float)
        return out

    def cost(self, invert, manhole, exists):
        invert = np.asarray(invert, float)
        return sum(self.model.rate(item) * q for item, q in self.items(invert, manhole, exists).items())


def rate(self, item):
    costs = self.job.tree["costs"]
    head, _, tail = item.partition(".")
    return costs.get(head, {}).get(tail, 0.0) if tail else costs.get(item, 0.0)


Model.rate = rate


# -- encounters -------------------------------------------------------------------------------


def breaks(t, k):
    """Whether piece k of the touch cannot follow piece k - 1 in one encounter."""
    return (k == 0 or t.index[k] != t.index[k - 1] + 1 or t.crossing[k] != t.crossing[k - 1]
            or t.known[k] != t.known[k - 1])


def tally(t):
    """Sum of p_contact of the rows that are not `prove`, and the count of those that are (n,)."""
    n, m = t.clearance.shape
    strikes, holes = np.zeros(n), np.zeros(n)
    open_row = np.zeros(n, bool)
    rank, margin, p = np.zeros(n, int), np.zeros(n), np.zeros(n)
    for k in range(m + 1):
        inc = t.included[:, k] if k < m else np.zeros(n, bool)
        goes_on = open_row & inc if k < m and not breaks(t, k) else np.zeros(n, bool)
        ends = open_row & ~goes_on
        strikes += np.where(ends & (rank != PROVE), p, 0.0)
        holes += ends & (rank == PROVE)
        if k == m:
            break
        v, g = t.verdict[:, k], t.margin[:, k]
        better = inc & (~goes_on | (v > rank) | ((v == rank) & (g < margin - TOL)))
        rank, margin, p = np.where(better, v, rank), np.where(better, g, margin), np.where(better, t.p[:, k], p)
        open_row = inc
    return strikes, holes


def rows(t, level=0):
    """The encounters of one touch at one level, plainly: [(piece k, verdict), ...] along the service."""
    groups, current = [], []
    for k in range(len(t.index)):
        if current and (breaks(t, k) or not t.included[level, k]):
            groups.append(current)
            current = []
        if t.included[level, k]:
            current.append(k)
    if current:
        groups.append(current)
    out = []
    for group in groups:
        worst = max(t.verdict[level, k] for k in group)
        same = [k for k in group if t.verdict[level, k] == worst]
        least = min(t.margin[level, k] for k in same)
        out.append(next(k for k in same if t.margin[level, k] <= least + TOL))
    return out


# -- routes -----------------------------------------------------------------------------------


@dataclass
class Station:
    chainage: float
    xy: np.ndarray
    manhole_only: bool = False


class Alignment:
    """A route measured from its downstream end."""

    def __init__(self, route):
        self.route = route
        self.up = route.xy[::-1]  # from the downstream end
        steps = np.hypot(*np.diff(self.up, axis=0).T)
        self.at = np.concatenate([[0.0], np.cumsum(steps)])
        self.length = self.at[-1]

    def point(self, chainage):
        k = int(np.clip(np.searchsorted(self.at, chainage, side="right") - 1, 0, len(self.at) - 2))
        f = (chainage - self.at[k]) / (self.at[k + 1] - self.at[k])
        return self.up[k] + f * (self.up[k + 1] - self.up[k])

    def stations(self, step, junctions=()):
        marks = list(self.at) + list(junctions)
        k = 0
        while k * step <= self.length + TOL:
            marks.append(min(k * step, self.length))
            k += 1
        fixed = list(self.at)
        out = []
        for c in sorted(marks):
            if not out or c - out[-1] >= TOL:
                out.append(c)
            elif c in fixed:
                out[-1] = c
        return [Station(c, self.point(c)) for c in out]

    def strays(self, c0, c1, a, b):
        """Greatest distance of the route between two chainages from the piece a-b."""
        inner = [p for c, p in zip(self.at, self.up) if c0 < c < c1]
        points = np.array([self.point(c0), *inner, self.point(c1)])
        t = geo.ratio((points - a) @ (b - a), np.full(len(points), (b - a) @ (b - a)))
        return np.hypot(*(points - (a + t[:, None] * (b - a))).T).max()

    def foot(self, station, a, b):
        """Parameter 0..1 along a-b of the station's foot."""
        return float((station.xy - a) @ (b - a) / ((b - a) @ (b - a)))

    def offset(self, station_xy, chainage, xy):
        """Signed distance from the station, right looking downstream positive."""
        flow = self.flow(chainage)
        gap = np.asarray(xy) - station_xy
        return math.copysign(math.hypot(*gap), flow[1] * gap[0] - flow[0] * gap[1]) if math.hypot(*gap) > 0 else 0.0

    def flow(self, chainage):
        """Unit direction downstream; along the tangent of the bisector at a vertex."""
        out = np.zeros(2)
        for d in (-TOL, TOL):
            c = np.clip(chainage + d, 0, self.length)
            k = int(np.clip(np.searchsorted(self.at, c, side="right") - 1, 0, len(self.at) - 2))
            out += geo.unit(self.up[k] - self.up[k + 1])
        return geo.unit(out)


@dataclass
class Ends:
    """What is fixed at a route's ends."""

    outfall: float | None
    head: float | None
    manhole_down: object
    manhole_up: object
    exempt_down: frozenset
    exempt_up: frozenset
    follows: frozenset


def route_ends(model, route):
    site, job = model.site, model.job
    snap = job.need("search.snap_m")
    down, up = route.xy[-1], route.xy[0]
    md, mu = (nearest_manhole(site, p, snap) for p in (down, up))
    outfall, head = route.outfall, route.head
    if outfall is None and md is not None:
        outfall = md.attrs.get("invert_m")
    if head is None and mu is not None:
        head = mu.attrs.get("invert_m")
    near = lambda p: frozenset((s.layer, s.fid) for s in site.services if s.kind == "sewer"
                               and any(shapely.distance(shapely.LineString(q[:, :2]), shapely.Point(p)) <= snap + TOL for q in s.parts))
    follows = frozenset()
    if route.follows:
        layer, _, fid = route.follows.rpartition("/")
        follows = frozenset([(layer, int(fid))])
    return Ends(outfall, head, md, mu,
                near(down) if outfall is not None or md is not None else frozenset(),
                near(up) if mu is not None else frozenset(), follows)


def nearest_manhole(site, point, snap):
    best = None
    for m in site.manholes:
        d = shapely.distance(m.shape, shapely.Point(point))
        if d <= snap + TOL and (best is None or d < best[0]):
            best = (d, m)
    return best[1] if best else None
