"""Audits a planned result: does it keep every rule, and does every row say what the model says?

    python3 audit.py SITE.gpkg JOB.toml RESULT.gpkg [--expect-cost X] [--notes]

Only the input and the result layers are used. Every discrepancy is one line; the exit
code is 1 where there is any. Where the contract leaves a column open (trench items,
street names, notes), it is not judged; where a sentence can be read in two ways, a
result that keeps either reading gets a note (`--notes`), not a discrepancy.
"""

import argparse
import json
import math
import sys
from collections import defaultdict

import numpy as np
import pyogrio
import shapely

import geometry as geo
import model as pm
from junctions import Tree
from site_reader import NotCovered, read_site, tidy

TOL = 1e-6
LAYERS = ["proposed_pits", "proposed_bores", "bore_conflicts", "test_holes", "long_sections", "affected_lots", "cost_items"]


def read_rows(gpkg, layer):
    """Rows of a result layer as dicts; `geom` the geometry in grid units."""
    meta, fids, geoms, data = pyogrio.raw.read(gpkg, layer=layer, return_fids=True)
    names = [str(n) for n in meta["fields"]]
    out = []
    for i, fid in enumerate(fids):
        row = {n: tidy(data[c][i]) for c, n in enumerate(names)}
        row["fid"] = int(fid)
        row["geom"] = None if geoms is None or geoms[i] is None else shapely.from_wkb(geoms[i])
        out.append(row)
    return out


def last_run(gpkg):
    if "pitwright_runs" not in [n for n, _ in pyogrio.list_layers(gpkg)]:
        return {}
    runs = [r for r in read_rows(gpkg, "pitwright_runs") if r["command"] == "plan"]
    return json.loads(runs[-1]["job_json"]) if runs else {}


def without_nulls(tree):
    if isinstance(tree, dict):
        return {k: without_nulls(v) for k, v in tree.items() if v is not None}
    return tree


class Audit:
    def __init__(self, gpkg, job_path, result):
        filled = without_nulls(last_run(result))
        self.site = read_site(gpkg, job_path, filled)
        self.m, self.job = pm.Model(self.site), self.site.job
        self.faults, self.notes = [], []
        self.layers = {l: read_rows(result, l) for l in LAYERS}
        self.pits = {p["pit_id"]: p for p in self.layers["proposed_pits"]}
        self.bores = {b["bore_id"]: b for b in self.layers["proposed_bores"]}
        self.tree = Tree(self.m, self.site.routes, {b["route_id"] for b in self.bores.values()})
        self.lines, self.ends = self.tree.lines, self.tree.ends
        self.routes = {r.id: r for r in self.tree.all}
        self.chains = {}

    def say(self, text):
        self.faults.append(text)

    def note(self, text):
        self.notes.append(text)

    def same(self, where, column, got, want, tol=TOL):
        if (got is None) != (want is None):
            self.say(f"{where}: {column} is {got}, expected {want}")
        elif isinstance(want, (float, np.floating)) and not isinstance(got, str):
            if not abs(got - want) <= tol * max(1.0, abs(want) / 1e3):
                self.say(f"{where}: {column} is {got!r}, expected {float(want)!r}")
        elif got != want:
            self.say(f"{where}: {column} is {got!r}, expected {want!r}")

    # -- structure ----------------------------------------------------------------------------

    def run(self):
        self.place_pits()
        self.place_bores()
        for rid in self.routes:
            self.chains[rid] = self.chain(rid)
        self.check_absent()
        self.gather()
        for rid, chain in self.chains.items():
            if chain:
                self.check_route(rid, chain)
        for pid in self.pits:
            self.check_pit(pid)
        for bid in self.bores:
            self.check_bore(bid)
        self.check_conflicts()
        self.check_test_holes()
        self.check_costs()
        self.check_long_sections()
        self.check_lots()

    def near(self, e, n):
        return np.array([e, n]) * self.site.factor - self.site.origin

    def place_pits(self):
        for p in self.pits.values():
            p["xy"] = self.near(p["easting"], p["northing"])
            c = p["geom"].centroid
            if math.hypot(*(self.near(c.x, c.y) - p["xy"])) > TOL:
                self.say(f"{p['pit_id']}: footprint is not centred on easting, northing")

    def place_bores(self):
        for b in self.bores.values():
            c = shapely.get_coordinates(b["geom"], include_z=True)
            b["a"], b["b"] = self.near(*c[0, :2]), self.near(*c[1, :2])
            if len(c) != 2:
                self.say(f"{b['bore_id']}: {len(c)} vertices")
            self.same(b["bore_id"], "Z upstream", float(c[0, 2]), b["us_invert_m"])
            self.same(b["bore_id"], "Z downstream", float(c[1, 2]), b["ds_invert_m"])
            for end, key in (("a", "us_pit"), ("b", "ds_pit")):
                pit = self.pits.get(b[key])
                if pit is None:
                    self.say(f"{b['bore_id']}: {key} {b[key]} is not there")
                elif math.hypot(*(pit["xy"] - b[end])) > TOL:
                    self.say(f"{b['bore_id']}: its end is not at the centre of {b[key]}")
            if {b["launch_pit"], b["reception_pit"]} != {b["us_pit"], b["ds_pit"]}:
                self.say(f"{b['bore_id']}: launch and reception are not its two pits")
            b["launch"] = "us" if b["launch_pit"] == b["us_pit"] else "ds"
            r = self.routes[b["route_id"]]
            b["bore"] = pm.Bore(b["a"], b["b"], r.dn)

    def chain(self, rid):
        """The route's bores from downstream up."""
        mine = [b for b in self.bores.values() if b["route_id"] == rid]
        if not mine:
            if any(p["route_id"] == rid for p in self.pits.values()):
                self.say(f"route {rid}: pits but no bores")
            return []
        by_down = {b["ds_pit"]: b for b in mine}
        ups = {b["us_pit"] for b in mine}
        start = [d for d in by_down if d not in ups]
        if len(start) != 1 or len(by_down) != len(mine):
            self.say(f"route {rid}: bores do not form one chain")
            return []
        out, at = [], start[0]
        while at in by_down:
            out.append(by_down[at])
            at = by_down[at]["us_pit"]
        if len(out) != len(mine):
            self.say(f"route {rid}: bores do not form one chain")
        return out

    def check_absent(self):
        """A route without a plan has no rows, and nothing joins it."""
        for rid, r in self.routes.items():
            if self.chains[rid] and r.joins and not self.chains[r.joins]:
                self.say(f"route {rid}: planned, {r.joins} which it joins is not")
            if not self.chains[rid]:
                for layer, rows in self.layers.items():
                    if any(row.get("route_id") == rid for row in rows):
                        self.say(f"{layer}: rows of {rid}, which has no bores")

    def gather(self):
        """For every pit: its drives in the order that fixes the axis, and what is exempt there."""
        self.at_pit = defaultdict(lambda: {"down": None, "up": None, "branches": []})
        self.exempt_pit = defaultdict(frozenset)
        self.exists = set()
        for rid, chain in self.chains.items():
            for b in chain:
                self.at_pit[b["us_pit"]]["down"] = b
                if b is chain[0] and rid in self.tree.joints:
                    self.at_pit[b["ds_pit"]]["branches"].append(b)
                else:
                    self.at_pit[b["ds_pit"]]["up"] = b
            if chain:
                self.gather_exempt(rid, chain)

    def gather_exempt(self, rid, chain):
        e = self.ends[rid]
        down, up = chain[0]["ds_pit"], chain[-1]["us_pit"]
        for pit in {down, *(b["us_pit"] for b in chain)}:
            self.exempt_pit[pit] |= e.follows
        self.exempt_pit[down] |= e.exempt_down
        self.exempt_pit[up] |= e.exempt_up
        if e.manhole_down is not None:
            self.exists.add(down)
        if e.manhole_up is not None:
            self.exists.add(up)

    def exempt_drive(self, b):
        """A route's own drives, and the drives that end in a connected or joined pit."""
        out = self.ends[b["route_id"]].follows
        for rid, chain in self.chains.items():
            if not chain:
                continue
            e = self.ends[rid]
            down, up = chain[0]["ds_pit"], chain[-1]["us_pit"]
            if down in (b["us_pit"], b["ds_pit"]):
                out = out | e.exempt_down
                if self.routes[rid].joins == b["route_id"]:
                    out = out | e.follows
            if up in (b["us_pit"], b["ds_pit"]):
                out = out | e.exempt_up
        return out

    # -- a route ------------------------------------------------------------------------------

    def junctions(self, rid):
        return [c for _, c in self.tree.hosted(rid)]

    def check_route(self, rid, chain):
        line, ends = self.lines[rid], self.ends[rid]
        stations = line.stations(self.job.need("search.station_step_m"), self.junctions(rid))
        down, up = self.pits[chain[0]["ds_pit"]], self.pits[chain[-1]["us_pit"]]
        joined = rid in self.tree.joints
        if math.hypot(*(down["xy"] - line.up[0])) > (0 if joined else self.job("search.corridor_m")) + TOL:
            self.say(f"route {rid}: does not begin at its downstream end")
        for pit in (down, up):
            if not pit["manhole"]:
                self.say(f"{pit['pit_id']}: an end without a manhole")
        joint = self.tree.joints.get(rid)
        self.same(down["pit_id"], "route_id", down["route_id"], joint.host if joined else rid)
        self.same(down["pit_id"], "chainage_m", down["chainage_m"], float(joint.chainage) if joined else 0.0)
        self.same(up["pit_id"], "chainage_m", up["chainage_m"], float(line.length))
        self.check_end_levels(rid, chain, ends)
        for c in self.junctions(rid):
            if not any(p["manhole"] and p["route_id"] == rid and abs(p["chainage_m"] - c) < TOL for p in self.pits.values()):
                self.say(f"route {rid}: no manhole at the junction at chainage {c}")
        for run in self.split_runs(chain):
            self.check_run(rid, line, stations, run)
        self.check_drops(rid, chain)
        self.check_positions(rid, line, stations, chain, joined)

    def check_end_levels(self, rid, chain, ends):
        top, bottom = chain[-1]["us_invert_m"], chain[0]["ds_invert_m"]
        if ends.head is not None and top > ends.head + TOL:
            self.say(f"route {rid}: upstream invert {top} above {ends.head}")
        if ends.outfall is not None:
            self.same(f"route {rid}", "downstream invert", bottom, ends.outfall)

    def split_runs(self, chain):
        runs = [[chain[0]]]
        for b in chain[1:]:
            if self.pits[b["ds_pit"]]["manhole"]:
                runs.append([])
            runs[-1].append(b)
        return runs

    def check_run(self, rid, line, stations, run):
        """One straight line, one grade, one run_id; through pits at the feet of their stations."""
        name = f"run {run[0]['run_id']}"
        if len({b["run_id"] for b in run}) != 1:
            self.say(f"{name}: several run_ids between two manholes")
        a, b = run[-1]["a"], run[0]["b"]
        length = float(np.hypot(*(b - a)))
        if length > self.job.need("rules.manhole_spacing_m") + TOL:
            self.say(f"{name}: {length} m is longer than the manhole spacing")
        zu, zd = run[-1]["us_invert_m"], run[0]["ds_invert_m"]
        low, high = self.m.grades(self.routes[rid].dn)
        grade = (zu - zd) / length
        if grade < low - pm.GRADE_TOL or grade > high + pm.GRADE_TOL:
            self.say(f"{name}: grade {grade} outside {low}..{high}")
        cu, cd = self.chainage_on(rid, run[-1]["us_pit"]), self.chainage_on(rid, run[0]["ds_pit"])
        stray = line.strays(cd, cu, a, b)
        if stray > max(self.job.need("search.corridor_m"), 0.01) + TOL:
            self.say(f"{name}: the route strays {stray} m from the chord")
        for d in run:
            t0, t1 = (float((p - a) @ (b - a) / ((b - a) @ (b - a))) for p in (d["a"], d["b"]))
            self.same(d["bore_id"], "us_invert_m", d["us_invert_m"], zu + t0 * (zd - zu))
            self.same(d["bore_id"], "ds_invert_m", d["ds_invert_m"], zu + t1 * (zd - zu))
            if t1 <= t0:
                self.say(f"{d['bore_id']}: runs against the flow")
        for d in run[1:]:
            self.check_through(rid, line, stations, self.pits[d["ds_pit"]], a, b, cd, cu)
        self.whole_level(run[-1]["us_pit"], zu, None)
        self.whole_level(run[0]["ds_pit"], zd, self.ends[rid].outfall if run[0] is self.chains[rid][0] else None)

    def chainage_on(self, rid, pit_id):
        """A junction pit carries the parent's chainage; on the branch it stands at 0."""
        p = self.pits[pit_id]
        return p["chainage_m"] if p["route_id"] == rid else 0.0

    def check_through(self, rid, line, stations, pit, a, b, cd, cu):
        name = pit["pit_id"]
        s = next((s for s in stations if abs(s.chainage - pit["chainage_m"]) < TOL), None)
        if s is None or not cd + TOL < s.chainage < cu - TOL:
            self.say(f"{name}: no station of its chainage inside the run")
            return
        t = line.foot(s, a, b)
        foot = a + t * (b - a)
        if math.hypot(*(foot - pit["xy"])) > TOL:
            self.say(f"{name}: does not stand at the foot of its station")
        self.same(name, "offset_m", pit["offset_m"], line.offset(s.xy, s.chainage, foot))
        if math.isnan(self.m.ground(s.xy)):
            self.say(f"{name}: no ground at its station")

    def whole_level(self, pit_id, z, fixed):
        """A whole multiple of the step, or exactly the fixed level."""
        step = self.job.need("search.level_step_m")
        if abs(z / step - round(z / step)) * step > 1e-7 and not (fixed is not None and abs(fixed - z) <= TOL):
            self.say(f"{pit_id}: invert {z} is not a whole multiple of {step}")

    def check_drops(self, rid, chain):
        most = self.job("rules.manhole_drop_max_m")
        for b in chain:
            pit, at = self.pits[b["ds_pit"]], self.at_pit[b["ds_pit"]]
            if not pit["manhole"] or (at["down"] is None and b is at["up"]):
                continue
            if at["down"] is None:  # a branch at the tree's downstream end: not below the invert there
                least, out = 0.0, at["up"]["ds_invert_m"] if at["up"] else b["ds_invert_m"]
            else:
                least, out = self.job.need("rules.manhole_drop_m"), at["down"]["us_invert_m"]
            drop = b["ds_invert_m"] - out
            if drop < least - TOL or (most is not None and drop > most + TOL):
                self.say(f"{pit['pit_id']}: drop {drop} from {b['bore_id']} outside {least}..{most}")

    def check_positions(self, rid, line, stations, chain, joined):
        own = [chain[0]["ds_pit"]] * (not joined) + [b["us_pit"] for b in chain]
        pits = [self.pits[p] for p in own]
        if any(b["chainage_m"] <= a["chainage_m"] for a, b in zip(pits, pits[1:])):
            self.say(f"route {rid}: chainages do not rise")
        for p in pits:
            if p["route_id"] != rid:
                self.say(f"{p['pit_id']}: belongs to {p['route_id']}, stands on {rid}")
            if p["manhole"]:
                self.check_manhole(rid, line, stations, p, p is pits[0] and not joined, p is pits[-1])

    def check_manhole(self, rid, line, stations, p, first, last):
        name, ends = p["pit_id"], self.ends[rid]
        s = next((s for s in stations if abs(s.chainage - p["chainage_m"]) < TOL), None)
        if s is None:
            self.say(f"{name}: no station of its chainage {p['chainage_m']}")
            return
        step = self.job.need("search.corridor_step_m")
        k = round(p["offset_m"] / step) if step else 0
        flow = line.flow(s.chainage)
        want = s.xy + k * step * np.array([flow[1], -flow[0]])
        if math.hypot(*(want - p["xy"])) > TOL:
            self.say(f"{name}: not a position of its station (offset {p['offset_m']})")
        self.same(name, "offset_m", p["offset_m"], float(k * step))
        fixed = (first and (ends.manhole_down is not None or ends.outfall is not None)) or (last and ends.manhole_up is not None)
        fixed |= any(abs(c - s.chainage) < TOL for c in self.junctions(rid))
        if abs(k * step) > self.job.need("search.corridor_m") + TOL or (fixed and k != 0):
            self.say(f"{name}: offset {k * step} is not allowed")
        if math.isnan(self.m.ground(s.xy)):
            self.say(f"{name}: no ground at its station")

    # -- pits ---------------------------------------------------------------------------------

    def pit_model(self, pid):
        """The pit as the model builds it from its drives, and its lowest invert."""
        at, xy = self.at_pit[pid], self.pits[pid]["xy"]

        def drive(b):
            if b is None:
                return None
            other = b["b"] if b["us_pit"] == pid else b["a"]
            return geo.unit(other - xy), b["launch_pit"] == pid

        around = [at["down"], at["up"], *at["branches"]]
        inverts = [b["us_invert_m"] if b["us_pit"] == pid else b["ds_invert_m"] for b in around if b]
        if not inverts:
            return None, None
        axis, length, width = self.m.footprint(drive(at["down"]), drive(at["up"]), [drive(b) for b in at["branches"]])
        return self.m.pit(xy, axis, length, width, self.exempt_pit[pid]), min(inverts)

    def check_pit(self, pid):
        p = self.pits[pid]
        pit, invert = self.pit_model(pid)
        if pit is None:
            self.say(f"{pid}: no drive ends here")
            return
        p["model"], p["low"] = pit, invert
        for rule, broken in pit.faults(np.array([invert])).items():
            if broken[0]:
                self.say(f"{pid}: breaks {rule}")
        at = [b for b in (self.at_pit[pid]["down"], self.at_pit[pid]["up"], *self.at_pit[pid]["branches"]) if b]
        launches = [b["launch_pit"] == pid for b in at]
        depth = float(pit.depth(invert))
        floor = float(pit.floor(invert))
        bearing = math.degrees(math.atan2(pit.axis[0], pit.axis[1])) % 360
        self.same(pid, "role", p["role"], "both" if any(launches) and not all(launches) else "launch" if all(launches) else "reception")
        for column, want in (("ground_m", pit.ground), ("invert_m", invert), ("floor_m", floor), ("depth_m", depth), ("length_m", pit.length),
                             ("width_m", pit.width), ("dig", pit.dig), ("volume_m3", pit.length * pit.width * depth)):
            self.same(pid, column, p[column], want)
        if abs((p["bearing_deg"] - bearing + 180) % 360 - 180) > 1e-5 or not 0 <= p["bearing_deg"] < 360:
            self.say(f"{pid}: bearing_deg is {p['bearing_deg']}, expected {bearing}")
        self.same(pid, "support", p["support"], depth > self.job.need("pits.support_from_depth_m") + TOL)
        self.check_outline(pid, p, pit)
        self.check_pit_places(pid, p, pit)

    def check_outline(self, pid, p, pit):
        got = shapely.transform(p["geom"], lambda c: c * self.site.factor - self.site.origin)
        if shapely.hausdorff_distance(got, pit.shape) > 2e-6:
            self.say(f"{pid}: footprint differs from {shapely.to_wkt(pit.shape, 6)}")

    def check_pit_places(self, pid, p, pit):
        areas = pit.surfaces()
        best = max(areas.values())
        if areas.get(p["surface"], 0) < best - 1e-6:
            self.say(f"{pid}: surface is {p['surface']}, most of the footprint is {max(areas, key=areas.get)}")
        shares = {l.attrs.get("lot_id") or f"L{l.fid}": shapely.intersection(pit.shape, l.shape).area for l in self.site.lots}
        shares = {k: v for k, v in shares.items() if v > pm.AREA_TOL}
        if p["lot_id"] is None and shares:
            text = f"{pid}: lot_id is null, {max(shares, key=shares.get)} has {max(shares.values()):.4f} of {pit.shape.area:.4f} m2"
            (self.say if max(shares.values()) > pit.shape.area / 2 else self.note)(text)
        elif p["lot_id"] is not None and shares.get(str(p["lot_id"]), 0) < max(shares.values(), default=1) - 1e-6:
            self.say(f"{pid}: lot_id is {p['lot_id']}, shares are {shares}")

    # -- bores --------------------------------------------------------------------------------

    def check_bore(self, bid):
        b = self.bores[bid]
        bore, route = b["bore"], self.routes[b["route_id"]]
        zu, zd = np.array([b["us_invert_m"]]), np.array([b["ds_invert_m"]])
        od, inside, hole = self.m.size(route.dn)
        side = self.job.need("rig.launch_from")
        if side != "either" and b["launch"] != {"downstream": "ds", "upstream": "us"}[side]:
            self.say(f"{bid}: launched from {b['launch']}, launch_from is {side}")
        reaches = self.m.reaches(route.dn)
        if bore.length > min(reaches.values()) + TOL:
            self.say(f"{bid}: length {bore.length} beyond reach {min(reaches.values())}")
        if not self.m.clear_of_keepouts(bore):
            self.say(f"{bid}: overlaps a keepout")
        cover = self.m.covers(bore, zu, zd)[0]
        b["cover"] = cover
        if not cover.min() >= self.job.need("rules.min_cover_m") - TOL:
            self.say(f"{bid}: least cover {cover.min()}")
        c = inside / 2
        b["touches"] = self.m.touches(bore, zu + c, zd + c, b["launch"], self.exempt_drive(b))
        length, grade = bore.length, float((zu - zd)[0] / bore.length)
        flow = bore.b - bore.a if b["launch"] == "us" else bore.a - bore.b
        bearing = math.degrees(math.atan2(flow[0], flow[1])) % 360
        if abs((b["bearing_deg"] - bearing + 180) % 360 - 180) > 1e-5 or not 0 <= b["bearing_deg"] < 360:
            self.say(f"{bid}: bearing_deg is {b['bearing_deg']}, expected {bearing}")
        limits = [v for v in (self.job("rig.thrust_kn"), self.job("pipe.axial_limit_kn")) if v is not None]
        for column, want in (("dn_mm", route.dn), ("od_mm", od * 1000), ("id_mm", inside * 1000), ("bore_mm", hole * 1000), ("length_m", length),
                             ("grade", grade), ("reach_m", min(reaches.values())), ("min_cover_m", float(cover.min())),
                             ("tolerance_mm", float(self.m.t_b(length)) * 1000), ("thrust_limit_kn", min(limits) if limits else None),
                             ("days", self.job("rig.setup_days") + length / self.job("rig.metres_per_day"))):
            self.same(bid, column, b[column], float(want) if want is not None else None)
        if self.job("soil.friction_kpa") is not None and self.job("soil.face_kpa") is not None:
            self.same(bid, "thrust_kn", b["thrust_kn"], float(self.m.thrust(route.dn, length)))
        self.same(bid, "grade_1_in", b["grade_1_in"], 1 / grade if abs(grade) > 1e-12 else None, 1e-4)
        if reaches.get(b["reach_governed_by"], math.inf) > min(reaches.values()) + TOL:
            self.say(f"{bid}: reach_governed_by is {b['reach_governed_by']}, limits are {reaches}")

    # -- conflict rows --------------------------------------------------------------------------

    def rules_broken(self, bid, t, k):
        if t.verdict[0, k] == pm.CLASH or (t.verdict[0, k] == pm.PROVE and self.job("rules.unknown_depth") == "avoid"):
            self.say(f"{bid}: {pm.WORDS[t.verdict[0, k]]} with {t.line.service.layer}/{t.line.service.fid}")

    def service_rows(self, bid, b):
        out = []
        centre = self.m.size(b["bore"].dn)[1] / 2
        for t in b["touches"]:
            for k in range(len(t.index)):
                self.rules_broken(bid, t, k)
            for k in pm.rows(t):
                s = float(t.s[0, k])
                z = b["us_invert_m"] + s * (b["ds_invert_m"] - b["us_invert_m"]) + centre
                out.append({
                    "bore_id": bid, "pit_id": None, "obstacle": "service", "source_layer": t.line.service.layer, "source_fid": t.line.service.fid,
                    "kind": t.line.service.kind, "chainage_m": b["bore"].length * (s if b["launch"] == "us" else 1 - s), "angle_deg": float(t.angle[k]),
                    "encounter": "crossing" if t.crossing[k] else "parallel", "clearance_m": float(t.clearance[0, k]), "required_m": float(t.required[0, k]),
                    "allowance_m": float(t.allowance[0, k]), "margin_m": float(t.margin[0, k]), "p_contact": float(t.p[0, k]), "depth_known": bool(t.known[k]),
                    "verdict": pm.WORDS[t.verdict[0, k]], "at": np.append(b["a"] + s * (b["b"] - b["a"]), z), "touch": (t, k)})
        return out

    def plain(self, owner, obstacle, area, clearance, required, chainage=None, only_margin=False, at=None):
        """A row of the other kind, or nothing where it is not to be written."""
        margin = clearance - required
        job = self.job
        near = clearance <= job.need("job.watch_distance_m") + TOL and not only_margin
        if not near and not margin < job.need("rules.watch_margin_m"):
            return []
        verdict = "clash" if margin < -TOL else "watch" if margin < job.need("rules.watch_margin_m") else "clear"
        return [{**owner, "obstacle": obstacle, "source_layer": area and area.layer, "source_fid": area and area.fid, "chainage_m": chainage,
                 "angle_deg": None, "encounter": None, "clearance_m": float(clearance), "required_m": float(required), "allowance_m": 0.0,
                 "margin_m": float(margin), "p_contact": None, "verdict": verdict, "at": at}]

    def bore_rows(self, bid, b):
        owner, out = {"bore_id": bid, "pit_id": None}, self.service_rows(bid, b)
        bore, hole = b["bore"], self.m.size(b["bore"].dn)[2]
        shape = shapely.LineString([bore.a, bore.b])
        for w in self.m.buildings:
            d, _ = self.m.building_clearance(bore, np.array([b["us_invert_m"]]), np.array([b["ds_invert_m"]]), w, always=True)
            if d[0] < self.job.need("rules.clearance.building") - TOL:
                self.say(f"{bid}: {d[0]} m from building {w.fid}")
            out += self.plain(owner, "building", w, d[0], self.job.need("rules.clearance.building"), "any")
        for k in self.m.keepouts:
            out += self.plain(owner, "keepout", k, shapely.distance(shape, k.shape) - hole / 2, 0.0, "any")
        out += self.plain(owner, "ground", None, b["cover"].min(), self.job.need("rules.min_cover_m"), "any", only_margin=True)
        return out

    def pit_rows(self, pid, p):
        owner, pit, out = {"bore_id": None, "pit_id": pid}, p["model"], []
        floor = float(pit.floor(p["low"]))
        for s, clear, near in pit.services:
            top = pit.top(s, near) if near else None
            if top is not None and top <= floor - self.m.clearance_rule(s.kind, "crossing_m") + TOL:
                out += self.plain(owner, "service", s, floor - top, self.m.clearance_rule(s.kind, "crossing_m"))
            else:
                out += self.plain(owner, "service", s, clear, self.m.clearance_rule(s.kind, "pit_m"))
        for b, d in pit.buildings:
            out += self.plain(owner, "building", b, d, float(pit.setback(b, floor)))
        for t in self.m.trees:
            out += self.plain(owner, "tree", t, max(0.0, shapely.distance(pit.shape, t.shape) - t.root), 0.0)
        for word, areas in (("keepout", self.m.keepouts), ("lot", self.m.barred)):
            for a in areas:
                out += self.plain(owner, word, a, shapely.distance(pit.shape, a.shape), 0.0)
        return out

    def check_conflicts(self):
        want = []
        for bid, b in self.bores.items():
            b["rows"] = self.bore_rows(bid, b)
            want += b["rows"]
            self.check_bore_sums(bid, b)
        for pid, p in self.pits.items():
            if "model" in p:
                want += self.pit_rows(pid, p)
        key = lambda r: (r["bore_id"] or "", r["pit_id"] or "", r["obstacle"], r["source_layer"] or "", -1 if r["source_fid"] is None else r["source_fid"])
        got_by, want_by = defaultdict(list), defaultdict(list)
        for r in self.layers["bore_conflicts"]:
            got_by[key(r)].append(r)
        for r in want:
            want_by[key(r)].append(r)
        for k in sorted(set(got_by) | set(want_by)):
            self.match_rows("/".join(str(x) for x in k if x != ""), got_by[k], want_by[k])

    def match_rows(self, name, got, want):
        if len(got) != len(want):
            self.say(f"{name}: {len(got)} conflict rows, expected {len(want)} ({[(w['verdict'], round(w['clearance_m'], 4)) for w in want]} against {[(g['verdict'], round(g['clearance_m'], 4)) for g in got]})")
            return
        left = list(got)
        for w in want:
            g = min(left, key=lambda g: abs(g["clearance_m"] - w["clearance_m"]) + abs(g["margin_m"] - w["margin_m"]) + 10 * (g["verdict"] != w["verdict"]) + (g["encounter"] != w["encounter"]))
            left.remove(g)
            w["got"] = g
            for column in ("angle_deg", "encounter", "clearance_m", "required_m", "allowance_m", "margin_m", "p_contact", "verdict"):
                self.same(name, column, g[column], w[column], 1e-5 if column == "angle_deg" else TOL)
            if w["chainage_m"] != "any":
                self.same(name, "chainage_m", g["chainage_m"], w["chainage_m"], self.place_tolerance(w))
            if w["obstacle"] == "service" and w["bore_id"]:
                self.same(name, "depth_known", g["depth_known"], w["depth_known"])
                self.same(name, "kind", g["kind"], w["kind"])
                self.check_point(name, g, w["at"], 2 * self.place_tolerance(w))

    @staticmethod
    def place_tolerance(w):
        """Where two lines run almost in parallel, the 1e-9 m to which coordinates of this size are kept move the nearest place along."""
        if w["obstacle"] != "service" or not w["bore_id"]:
            return TOL
        apart = math.sin(math.radians(w["angle_deg"])) ** 2
        return max(TOL, min(1e-4, 2e-9 * (1 + w["clearance_m"]) / max(apart, 1e-9)))

    def check_point(self, name, row, at, tol):
        c = shapely.get_coordinates(row["geom"], include_z=True)[0]
        got = np.append(self.near(*c[:2]), c[2])
        if np.abs(got - at).max() > tol:
            self.say(f"{name}: its point is at {got.tolist()}, expected {at.tolist()}")

    def check_bore_sums(self, bid, b):
        services = [r for r in b["rows"] if r["obstacle"] == "service"]
        known = [r["margin_m"] for r in services if r["depth_known"]]
        self.same(bid, "worst_margin_m", b["worst_margin_m"], min(known) if known else None)
        least = min((r["clearance_m"] for r in services), default=None)
        if (b["min_clearance_m"] is None) != (least is None) or (least is not None and abs(b["min_clearance_m"] - least) > TOL):
            self.note(f"{bid}: min_clearance_m is {b['min_clearance_m']}, the least over its service rows is {least}")

    # -- test holes -----------------------------------------------------------------------------

    def check_test_holes(self):
        want = [r for b in self.bores.values() for r in b["rows"] if r["verdict"] == "prove"]
        left = list(self.layers["test_holes"])
        if len(left) != len(want):
            self.say(f"test_holes: {len(left)} rows, expected {len(want)}")
        for w in want:
            mine = [h for h in left if (h["bore_id"], h["source_layer"], h["source_fid"]) == (w["bore_id"], w["source_layer"], w["source_fid"])]
            if not mine:
                self.say(f"test_holes: none for {w['bore_id']} and {w['source_layer']}/{w['source_fid']}")
                continue
            spots = self.hole_spots(w)
            h = min(mine, key=lambda h: min(math.hypot(*(self.hole_at(h) - s)) for s in spots.values()))
            left.remove(h)
            self.check_hole(h, w, spots)
        order = sorted(self.layers["test_holes"], key=lambda h: h["priority"])
        p = {(r["bore_id"], r["source_layer"], r["source_fid"]): [] for r in want}
        for r in want:
            p[r["bore_id"], r["source_layer"], r["source_fid"]].append(r["p_contact"])
        seen = [max(p.get((h["bore_id"], h["source_layer"], h["source_fid"]), [0])) for h in order]
        if all(len(v) == 1 for v in p.values()) and any(b > a + 1e-9 for a, b in zip(seen, seen[1:])):
            self.say("test_holes: priority does not follow falling p_contact")

    def hole_at(self, h):
        return self.near(h["geom"].x, h["geom"].y)

    def hole_spots(self, w):
        """Where the hole may stand: nearest in plan, or nearest in space."""
        t, k = w["touch"]
        b = self.bores[w["bore_id"]]["bore"]
        far = 1 if self.bores[w["bore_id"]]["launch"] == "us" else -1
        s, q, _ = self.m.plan_nearest(b, t.line, t.index[k][None], far)
        w["plan_s"] = float(s[0])
        return {"plan": q[0], "space": t.q[0, k, :2]}

    def check_hole(self, h, w, spots):
        name, at = f"test hole {h['hole_id']}", self.hole_at(h)
        gap = {k: math.hypot(*(at - v)) for k, v in spots.items()}
        if min(gap.values()) > 2e-6:
            self.say(f"{name}: stands at {at.tolist()}, expected {spots['plan'].tolist()}")
        ground = float(self.m.ground(at))
        if not math.isnan(ground):
            self.same(name, "Z", float(shapely.get_coordinates(h["geom"], include_z=True)[0, 2]), ground)
        t, k = w["touch"]
        band = self.job(f"rules.depth_band.{t.line.service.kind}") or self.job("rules.depth_band.other")
        bounded = bool(t.line.bounded[t.index[k]])
        if bounded or h["expected_depth_m"] is not None:  # no ground: the band hangs from nothing
            self.same(name, "expected_depth_m", h["expected_depth_m"], (band["min_m"] + band["max_m"]) / 2)
        b = self.bores[w["bore_id"]]
        centre, radius = self.m.size(b["bore"].dn)[1] / 2, self.m.size(b["bore"].dn)[2] / 2
        depths = []
        for s in (w["plan_s"], float(t.s[0, k])):
            level = b["us_invert_m"] + s * (b["ds_invert_m"] - b["us_invert_m"]) + centre - radius
            depths.append(min(band["max_m"], ground - level + t.by_class[k]))
            if not bounded:
                depths.append(ground - level + t.by_class[k])
        if not any(abs(h["dig_to_m"] - d) <= TOL for d in depths):
            self.say(f"{name}: dig_to_m is {h['dig_to_m']}, expected {depths[0]}")
        self.same(name, "kind", h["kind"], w["kind"])

    # -- cost -----------------------------------------------------------------------------------

    def bore_items(self, b):
        m = self.m
        out = {"bore_setup": 1.0, "bore_per_m": b["bore"].length, "crew_day": self.job("rig.setup_days") + b["bore"].length / self.job("rig.metres_per_day")}
        out["test_hole"] = float(sum(r["verdict"] == "prove" for r in b["rows"]))
        for r in b["rows"]:
            if r["obstacle"] == "service" and r["verdict"] != "prove":
                out[f"strike.{r['kind']}"] = out.get(f"strike.{r['kind']}", 0.0) + r["p_contact"]
        return out

    def check_costs(self):
        items = [r for r in self.layers["cost_items"] if r["method"] == "bore"]
        by = defaultdict(dict)
        for r in self.layers["cost_items"]:
            if (r["bore_id"] is None) == (r["pit_id"] is None):
                self.say(f"cost_items {r['fid']}: not exactly one of bore_id, pit_id")
            if r["quantity"] == 0:
                self.say(f"cost_items {r['fid']}: quantity 0")
            self.same(f"cost_items {r['fid']}", "amount", r["amount"], r["quantity"] * r["rate"])
        for r in items:
            owner = r["bore_id"] or r["pit_id"]
            if r["item"] in by[owner]:
                self.say(f"{owner}: {r['item']} twice")
            by[owner][r["item"]] = r
        for bid, b in self.bores.items():
            self.compare_items(bid, b, by[bid], self.bore_items(b))
        for pid, p in self.pits.items():
            if "model" in p:
                want = {k: float(v[0]) for k, v in p["model"].items(np.array([p["low"]]), bool(p["manhole"]), pid in self.exists).items()}
                self.compare_items(pid, p, by[pid], want)
        self.total = sum(r["amount"] for r in items)
        for bid, b in self.bores.items():
            trench = sum(r["amount"] for r in self.layers["cost_items"] if r["method"] == "trench" and r["bore_id"] == bid)
            self.same(bid, "trench_cost", b["trench_cost"], trench)

    def route_cost(self, rid):
        return float(sum(r["amount"] for r in self.layers["cost_items"] if r["method"] == "bore" and r["route_id"] == rid))

    def compare_items(self, owner, row, got, want):
        for item in sorted(set(got) | set(want)):
            q, r = want.get(item, 0.0), self.m.rate(item)
            if item not in got:
                if abs(q) > 1e-9 and not (item.startswith("strike") and q * r < TOL):
                    self.say(f"{owner}: no cost row {item}, expected quantity {q}")
                continue
            self.same(owner, f"{item} quantity", got[item]["quantity"], q)
            self.same(owner, f"{item} rate", got[item]["rate"], float(r))
            if got[item]["route_id"] != row["route_id"]:
                self.say(f"{owner}: {item} of route {got[item]['route_id']}")
        self.same(owner, "cost", row["cost"], float(sum(self.m.rate(i) * q for i, q in want.items())))

    # -- long sections and lots -------------------------------------------------------------------

    def check_long_sections(self):
        for rid, chain in self.chains.items():
            got = [r for r in self.layers["long_sections"] if r["route_id"] == rid]
            if any(b["chainage_m"] < a["chainage_m"] - TOL for a, b in zip(got, got[1:])):
                self.say(f"long_sections {rid}: chainage falls")
            want = [s for b in chain for s in self.section(rid, b)]
            self.match_section(rid, got, want)

    def section(self, rid, b):
        """Rows of one drive from its downstream pit up."""
        f = self.m.samples(b["bore"])[::-1]
        cd, cu = self.chainage_on(rid, b["ds_pit"]), self.chainage_on(rid, b["us_pit"])
        od, inside, _ = self.m.size(b["bore"].dn)
        ground = self.site.ground(b["a"] + f[:, None] * (b["b"] - b["a"]))
        for k, s in enumerate(f):
            z = b["us_invert_m"] + s * (b["ds_invert_m"] - b["us_invert_m"])
            crown = z + inside / 2 + od / 2
            end = b["ds_pit"] if k == 0 else b["us_pit"] if k == len(f) - 1 else None
            yield {"bore_id": b["bore_id"], "chainage_m": float(cd + (1 - s) * (cu - cd)), "ground_m": float(ground[k]), "invert_m": float(z),
                   "crown_m": float(crown), "cover_m": float(ground[k] - crown), "end": end}

    def match_section(self, rid, got, want):
        left = list(got)
        for w in want:
            near = [g for g in left if abs(g["chainage_m"] - w["chainage_m"]) < TOL and abs(g["invert_m"] - w["invert_m"]) < TOL
                    and (g["bore_id"] in (None, w["bore_id"]))]
            if not near:
                shared = w["end"] is not None and not self.pits[w["end"]]["manhole"]
                if not shared:
                    self.say(f"long_sections {rid}: no row at chainage {w['chainage_m']} invert {w['invert_m']} of {w['bore_id']}")
                continue
            g = near[0]
            left.remove(g)
            for column in ("ground_m", "crown_m", "cover_m"):
                self.same(f"long_sections {rid} at {w['chainage_m']:.3f}", column, g[column], w[column])
            if w["end"] is not None:
                where = f"long_sections {rid} at {w['chainage_m']:.3f}"
                self.same(where, "pit_id", g["pit_id"], w["end"])
                self.same(where, "feature", g["feature"], "manhole" if self.pits[w["end"]]["manhole"] else "pit")
        extra = [g for g in left if g["feature"] != "crossing"]
        if extra:
            self.say(f"long_sections {rid}: {len(extra)} rows that are no cover sample, first at {extra[0]['chainage_m']}")
        self.inlets_first(rid, got)

    def inlets_first(self, rid, got):
        for a, b in zip(got, got[1:]):
            if abs(a["chainage_m"] - b["chainage_m"]) < TOL and a["invert_m"] < b["invert_m"] - TOL:
                self.say(f"long_sections {rid}: outlet before inlet at {a['chainage_m']}")

    def check_lots(self):
        rows = {str(r["lot_id"]): r for r in self.layers["affected_lots"]}
        for lot in self.site.lots:
            name = str(lot.attrs.get("lot_id") or f"L{lot.fid}")
            pits = sorted(pid for pid, p in self.pits.items() if "model" in p and shapely.intersection(p["model"].shape, lot.shape).area > pm.AREA_TOL)
            under = {bid: shapely.intersection(shapely.LineString([b["a"], b["b"]]), lot.shape).length for bid, b in self.bores.items()}
            under = {k: v for k, v in under.items() if v > TOL}
            r = rows.get(name)
            if r is None:
                if pits or under:
                    self.say(f"affected_lots: {name} is not there (pits {pits}, bores {sorted(under)})")
                continue
            if not pits and not under:
                self.say(f"affected_lots: {name} has neither pit nor bore")
            words = lambda v: sorted(w.strip() for w in (v or "").split(",") if w.strip())
            self.same(f"affected_lots {name}", "pit_ids", words(r["pit_ids"]), pits)
            self.same(f"affected_lots {name}", "bore_ids", words(r["bore_ids"]), sorted(under))
            self.same(f"affected_lots {name}", "bore_length_m", r["bore_length_m"] or 0.0, float(sum(under.values())), 1e-5)


def audit(gpkg, job, result):
    a = Audit(gpkg, job, result)
    a.run()
    return a


def main():
    p = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    p.add_argument("site")
    p.add_argument("job")
    p.add_argument("result")
    p.add_argument("--expect-cost", type=float)
    p.add_argument("--notes", action="store_true")
    args = p.parse_args()
    try:
        a = audit(args.site, args.job, args.result)
    except NotCovered as e:
        print(f"not covered: {e}")
        return 3
    if args.expect_cost is not None:
        a.same("total", "cost", a.total, args.expect_cost)
    for line in a.faults:
        print(line)
    for line in a.notes if args.notes else []:
        print("note:", line)
    print(f"{len(a.pits)} pits, {len(a.bores)} bores, {len(a.layers['bore_conflicts'])} conflict rows, cost {a.total:.6f}: {len(a.faults)} discrepancies, {len(a.notes)} notes")
    return 1 if a.faults else 0


if __name__ == "__main__":
    sys.exit(main())
