"""Bores that somebody else designed against a site, by brute force: every row that `check` must write.

    python3 check_model.py SITE.gpkg BORES_LAYER JOB.toml

Written from `planning-model.md` section 4 and `interface.md` alone; distances, pieces and classes are those of
`model.py` and `geometry.py`. Every service, building and keepout is asked about every segment of every bore.

Readings, where the text leaves one open:

- A bore of several segments: each is a drive of its own, with encounters of its own; distance from the launch pit and
  chainage run along the whole bore. Areas and ground have one row a bore, the least of its segments.
- A bore without level: to every service only the distance in plan counts, every piece that would earn a row is `prove`,
  and the vertical share of its chance of contact is 1.
- `z_unit` holds for the levels and depths of a layer: Z and `cover_m` (diameters are millimetres whatever it says).
- A building beside a bore without level: by its distance in plan, and `watch` where that is a `clash`, for the bore may
  pass below. Without level there is no row of cover; where the ground ends, that of the samples that have ground.
- A tree, for which the text has a rule with pits only: `watch` where the bore comes within `watch_margin_m` of its root
  zone in plan, else no row.
"""

import math
import sys
from dataclasses import dataclass, replace
from pathlib import Path

import model as pm
import numpy as np
import pyogrio
import shapely
from scipy.special import ndtr
from site_reader import Ground, NotCovered, Site, distinct, only_part, read_job

TOL = pm.TOL
UNITS = {"m": 1.0, "ft": 0.3048, "us-ft": 1200 / 3937}


@dataclass(frozen=True)
class Size:
    """Outside, inside and bored diameter, m."""

    od: float
    inside: float
    hole: float


@dataclass
class Given:
    """A designed bore: vertices from upstream (n, 2), centre levels (n,) or None."""

    id: str
    fid: int
    xy: np.ndarray
    invert: np.ndarray | None
    size: Size
    launch: str

    @property
    def at(self):
        return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(self.xy, axis=0).T))])

    def segments(self):
        """(drive, inverts at its ends, its distance from the launch end)."""
        at = self.at
        for k in range(len(self.xy) - 1):
            drive = pm.Bore(self.xy[k], self.xy[k + 1], self.size)
            before = at[k] if self.launch == "us" else at[-1] - at[k + 1]
            levels = None if self.invert is None else (self.invert[k], self.invert[k + 1])
            yield drive, levels, float(before)


class CheckSite(Site):
    """A site without routes; the bores give the coordinate system."""

    def __init__(self, gpkg, bores_file, table, job_path, filled=None):
        self.bores_file, self.table = bores_file, table
        self.gpkg, self.job, self.folder = Path(gpkg), read_job(job_path, filled), Path(job_path).parent
        self.tables = [name for name, _ in pyogrio.list_layers(gpkg)]
        self.origin, self.factor, self.bounds = np.zeros(2), 1.0, []
        self.read_routes()
        self.read_obstacles()
        self.read_services()
        self.ground = ground_or_none(self)

    def read_routes(self):
        self.routes = []
        self.bores = [self.given(fid, geom, a) for _, fid, geom, a in self.layer_rows(self.bores_file, self.table, {})]

    def given(self, fid, geom, a):
        xyz = distinct(shapely.get_coordinates(only_part(geom), include_z=True))
        z = xyz[:, 2]
        if not shapely.has_z(geom) or np.isnan(z).any() or (z == 0).all():
            xyz = distinct(xyz * [1, 1, np.nan])
            z = between(xyz, a.get("us_invert_m"), a.get("ds_invert_m"))
        name = a.get("bore_id")
        return Given(str(name) if name is not None else f"B{fid}", fid, xyz[:, :2], z, self.size(a), side(a))

    def size(self, a):
        job = self.job
        dn = int(a.get("dn_mm") or job.need("pipe.dn_mm"))
        own = "pipe" if dn == job.need("pipe.dn_mm") else f"pipe.sizes.{dn}"
        first = lambda *values: next((v for v in values if v is not None), None)
        od, inside = first(a.get("od_mm"), job(f"{own}.od_mm")), first(a.get("id_mm"), job(f"{own}.id_mm"))
        if od is None or inside is None:
            raise NotCovered(f"no od_mm and id_mm for dn {dn}")
        hole = first(a.get("bore_mm"), job("rig.bore_mm"), od + job.need("rig.overcut_mm"))
        return Size(od / 1000, inside / 1000, hole / 1000)

    def service(self, table, fid, geom, a, setting):
        unit = UNITS[setting.get("z_unit", "m")]
        scaled = shapely.transform(geom, lambda c: c * [1, 1, unit], include_z=True) if shapely.has_z(geom) else geom
        s = super().service(table, fid, scaled, a, {k: v for k, v in setting.items() if k != "z_unit"})
        s.owner = a.get("owner")
        s.cover = None if s.cover is None else s.cover * unit
        return s


class NoGround:
    """Where there is no source of ground levels."""

    def __call__(self, xy):
        return np.full(np.asarray(xy, float).shape[:-1], np.nan)


def ground_or_none(site):
    try:
        return Ground(site)
    except NotCovered:
        return NoGround()


def between(xyz, upstream, downstream):
    """Inverts straight along the plan from one end to the other; None where either is not given."""
    if upstream is None or downstream is None:
        return None
    steps = np.hypot(*np.diff(xyz[:, :2], axis=0).T)
    at = np.concatenate([[0.0], np.cumsum(steps)])
    return upstream + at / at[-1] * (downstream - upstream)


def side(a):
    if a.get("launch") in ("us", "ds"):
        return a["launch"]
    launch = a.get("launch_pit")
    if launch is not None and launch != a.get("us_pit") and (launch == a.get("ds_pit") or a.get("us_pit") is not None):
        return "ds"
    return "us"


@dataclass
class Row:
    """One row of `bore_conflicts`. `at`: point (3,) in metres from the site's origin; `hole`: its test hole."""

    bore_id: str
    obstacle: str
    layer: str | None
    fid: int | None
    clearance: float
    required: float
    allowance: float
    margin: float
    p: float | None
    verdict: str
    kind: str | None = None
    owner: str | None = None
    encounter: str | None = None
    angle: float | None = None
    chainage: float | None = None
    known: bool | None = None
    at: np.ndarray | None = None
    hole: dict | None = None


class CheckModel(pm.Model):
    def __init__(self, site):
        self.before = 0.0  # distance of the drive in hand from the launch end of its bore
        super().__init__(site)

    def size(self, given):
        return given.od, given.inside, given.hole

    def t_b(self, d):
        return super().t_b(self.before + d)

    def rows(self):
        out = []
        for bore in self.site.bores:
            for segment in bore.segments():
                out += self.segment_rows(bore, *segment)
            out += self.area_rows(bore)
        return out

    # -- services -----------------------------------------------------------------------------

    def segment_rows(self, bore, drive, levels, before):
        self.before = before
        if levels is None:
            touches = self.flat_touches(drive, bore.launch)
        else:
            z = [np.array([v + bore.size.inside / 2]) for v in levels]
            touches = self.touches(drive, *z, bore.launch, frozenset())
        rows = [self.service_row(bore, drive, levels, before, t, k) for t in touches for k in pm.rows(t)]
        self.before = 0.0
        return rows

    def flat_touches(self, drive, launch):
        """A bore without level: the known pieces too are as if their depth were not known."""
        zero = np.array([0.0])
        return [self.in_plan(drive, launch, t) for t in self.touches(drive, zero, zero, launch, frozenset())]

    def in_plan(self, drive, launch, t):
        index, s = t.index, t.line.service
        far = 1 if launch == "us" else -1
        where, q, apart = self.plan_nearest(drive, t.line, index, far)
        clearance = apart - s.diameter / 2 - drive.dn.hole / 2
        h, _ = self.quality(s.quality)
        spread = np.sqrt(h**2 + self.t_b(drive.length * (where if launch == "us" else 1 - where)) ** 2)
        margin = clearance - spread - t.required
        near = (clearance <= self.job("job.watch_distance_m") + TOL) | (margin < self.job("rules.watch_margin_m"))
        verdict = np.full(len(index), pm.PROVE)
        one = lambda v: np.asarray(v)[None]
        point = np.column_stack([q, np.full(len(q), np.nan)])
        return replace(t, clearance=one(clearance), plan_clearance=clearance, allowance=one(spread), margin=one(margin), verdict=one(verdict),
                       p=one(ndtr(-clearance / (spread / 1.96))), included=one(near), known=np.zeros(len(index), bool), s=one(where), q=one(point))

    def service_row(self, bore, drive, levels, before, t, k):
        service, s = t.line.service, float(t.s[0, k])
        invert = math.nan if levels is None else levels[0] + s * (levels[1] - levels[0])
        at = np.append(drive.a + s * (drive.b - drive.a), invert + bore.size.inside / 2)
        row = Row(bore.id, "service", service.layer, service.fid, float(t.clearance[0, k]), float(t.required[k]), float(t.allowance[0, k]),
                  float(t.margin[0, k]), float(t.p[0, k]), pm.WORDS[t.verdict[0, k]], service.kind, service.owner,
                  "crossing" if t.crossing[k] else "parallel", float(t.angle[k]),
                  before + drive.length * (s if bore.launch == "us" else 1 - s), bool(t.known[k]), at)
        if row.verdict == "prove":
            row.hole = self.hole(bore, drive, levels, t, k)
        return row

    def hole(self, bore, drive, levels, t, k):
        """Where it may stand and how deep it may go, by either reading of "nearest the bore": in plan or in space."""
        service, i = t.line.service, t.index[k]
        far = 1 if bore.launch == "us" else -1
        where, q, _ = self.plan_nearest(drive, t.line, np.array([i]), far)
        band = self.job(f"rules.depth_band.{service.kind}") or self.job("rules.depth_band.other")
        spots = [(q[0], float(where[0])), (t.q[0, k, :2], float(t.s[0, k]))]
        out = {"spots": [p for p, _ in spots], "ground": [], "dig": [], "middle": (band["min_m"] + band["max_m"]) / 2,
               "unknown": not t.line.known[i], "bounded": bool(t.line.bounded[i])}
        for p, s in spots:
            ground = float(self.site.ground(p))
            out["ground"].append(ground)
            if levels is None:
                out["dig"].append(band["max_m"])
            else:
                under = levels[0] + s * (levels[1] - levels[0]) + bore.size.inside / 2 - bore.size.hole / 2
                out["dig"].append(min(band["max_m"], ground - under + t.required[k]))
        return out

    # -- areas and ground ---------------------------------------------------------------------

    def area_rows(self, bore):
        out = []
        asked = self.job.need("rules.clearance.building")
        for b in self.buildings:
            rows = self.plain(bore, "building", b, min(self.to_building(*d, b) for d in bore.segments()), asked)
            if bore.invert is None:
                rows = [replace(r, verdict="watch" if r.verdict == "clash" else r.verdict) for r in rows]
            out += rows
        for k in self.keepouts:
            out += self.plain(bore, "keepout", k, self.in_plan_to(bore, k.shape), 0.0)
        for t in self.trees:
            rows = self.plain(bore, "tree", t, self.in_plan_to(bore, t.shape) - t.root, 0.0, only_margin=True)
            out += [replace(r, verdict="watch") for r in rows]
        return out + self.ground_row(bore)

    @staticmethod
    def in_plan_to(bore, shape):
        return shapely.distance(shapely.LineString(bore.xy), shape) - bore.size.hole / 2

    def to_building(self, drive, levels, _, b):
        if levels is None:
            return shapely.distance(shapely.LineString([drive.a, drive.b]), b.shape) - drive.dn.hole / 2
        zu, zd = (np.array([z]) for z in levels)
        return float(self.building_clearance(drive, zu, zd, b, always=True)[0][0])

    def ground_row(self, bore):
        if bore.invert is None:
            return []
        covers = np.concatenate([self.covers(d, np.array(l[:1]), np.array(l[1:]))[0] for d, l, _ in bore.segments()])
        if np.isnan(covers).all():
            return []
        return self.plain(bore, "ground", None, np.nanmin(covers), self.job.need("rules.min_cover_m"), only_margin=True)

    def plain(self, bore, obstacle, area, clearance, required, only_margin=False):
        """A row of the other kind, or nothing where it is not to be written."""
        job, margin = self.job, clearance - required
        near = clearance <= job.need("job.watch_distance_m") + TOL and not only_margin
        if not near and not margin < job.need("rules.watch_margin_m"):
            return []
        verdict = "clash" if margin < -TOL else "watch" if margin < job.need("rules.watch_margin_m") else "clear"
        return [Row(bore.id, obstacle, area and area.layer, area and area.fid, float(clearance), float(required), 0.0, float(margin), None, verdict)]


def check(gpkg, bores, job_path, filled=None):
    """`bores`: a table of the site, or FILE:TABLE; `filled`: the job with its defaults. Returns (model, rows)."""
    file, _, table = str(bores).rpartition(":")
    site = CheckSite(gpkg, file or gpkg, table, job_path, filled)
    m = CheckModel(site)
    return m, m.rows()


def main():
    m, rows = check(*sys.argv[1:4])
    for r in rows:
        where = f"{r.layer}/{r.fid}" if r.layer else "ground"
        p = "" if r.p is None else f"p {r.p:.3e}"
        print(f"{r.bore_id:>4} {where:14} {r.encounter or r.obstacle:9} {r.clearance:9.4f} {r.required:6.3f} {r.allowance:7.4f} {r.margin:9.4f} {r.verdict:6}{p}")
    print(len(rows), "rows,", sum(r.hole is not None for r in rows), "test holes")


if __name__ == "__main__":
    main()
