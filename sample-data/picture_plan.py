"""The plan picture: what is on and in the ground, and the bores, pits, conflicts and test holes planned on it."""

import math

import matplotlib.pyplot as plt
import numpy
import shapely
from matplotlib.lines import Line2D
from matplotlib.patches import Patch, Polygon
from matplotlib.patheffects import withStroke
from shapely import affinity

# Service colours: the American Public Works Association's uniform colour code (as listed at callbeforeyoudig.org):
# red power, yellow gas and fuel, orange communications, blue drinking water, purple reclaimed, green sewer and drain,
# pink unidentified. The letter on the line tells kinds of one colour apart, and does so without colour too.
SERVICE_COLOURS = {
    "electricity": ("#d62020", "E"),
    "gas": ("#e8c400", "G"),
    "fuel": ("#e8c400", "F"),
    "telecom": ("#f07800", "T"),
    "water": ("#1464c8", "W"),
    "recycled-water": ("#8a2bb8", "R"),
    "sewer": ("#0a8a3c", "S"),
    "stormwater": ("#0a8a3c", "D"),
    "other": ("#e860a8", "O"),
}
GROUND_TINTS = {
    "asphalt": "#d9d9dc",
    "concrete": "#e6e4df",
    "paving": "#ece0d3",
    "lawn": "#f1f5ea",
    "garden": "#e3eeda",
    "gravel": "#efe9dc",
    "bare": "#efebe4",
}
# Shape first, colour second: a cross, a triangle, a diamond, a ring.
VERDICTS = {
    "clash": ("X", "#b3123c", 90),
    "prove": ("^", "#ffb000", 62),
    "watch": ("D", "#4aa3df", 34),
    "clear": ("o", "white", 16),
}
INK = "#1c2733"
NAMED_PIT_M = 12.0  # least distance between pits that are both named
NAMED_BORE_M = 12.0  # least length of a bore that is named
HALO = [withStroke(linewidth=2.2, foreground="white")]


def draw(site, path):
    turn = Turn(site)
    figure, axes = plt.subplots(figsize=(12.4, 8.2), dpi=150)
    frame(site, turn, axes)
    for part in (surfaces, lots, buildings, keepouts, trees, fences, services, manholes, proposal, streets, north):
        part(site, turn, axes)
    figure.subplots_adjust(left=0.005, right=0.995, top=0.955, bottom=0.145)
    legend(site, figure)
    scale_bar(figure, axes)
    title = site.job.get("job", {}).get("name", site.path.stem)
    figure.text(0.012, 0.968, title, fontsize=13, color=INK, weight="bold")
    figure.text(
        0.988,
        0.968,
        "An invented place. A plan is a proposal, and records are not proof: prove services on site before boring.",
        fontsize=8,
        color=INK,
        ha="right",
    )
    figure.savefig(path)
    plt.close(figure)


class Turn:
    """The page: turned so that the routes run along it, downstream to the right where most of them do."""

    def __init__(self, site):
        lines = [shapely.force_2d(r["geom"]) for r in site["routes"]]
        runs = [numpy.subtract(line.coords[-1], line.coords[0]) for line in lines]
        along = numpy.sum(runs, axis=0)
        self.degrees = -math.degrees(math.atan2(along[1], along[0]))
        self.origin = shapely.MultiLineString(lines).centroid

    def __call__(self, shape):
        return affinity.rotate(shapely.force_2d(shape), self.degrees, origin=self.origin)


def parts(shape):
    return getattr(shape, "geoms", [shape])


def fill(axes, shape, **look):
    for part in parts(shape):
        axes.add_patch(Polygon(numpy.asarray(part.exterior.coords), closed=True, **look))


def stroke(axes, shape, **look):
    for part in parts(shape):
        axes.plot(*numpy.asarray(part.coords).T, **look)


def surfaces(site, turn, axes):
    # The first by fid wins, so it is painted last.
    for row in reversed(site["surfaces"]):
        fill(axes, turn(row["geom"]), facecolor=GROUND_TINTS.get(row["surface"], "#ffffff"), edgecolor="none", zorder=1)


def lots(site, turn, axes):
    for row in site["lots"]:
        shape = turn(row["geom"])
        fill(axes, shape, facecolor="none", edgecolor="#8a94a0", linewidth=0.5, zorder=3)
        if row["entry"] != "yes":
            fill(axes, shape, facecolor="none", edgecolor="#c3c9d0", linewidth=0, hatch="///", zorder=2)


def buildings(site, turn, axes):
    plt.rcParams["hatch.linewidth"] = 0.5
    for row in site["buildings"]:
        shape = turn(row["geom"])
        deep = (row.get("foundation_depth_m") or 0) > 2
        fill(axes, shape, facecolor="#c9ced6", edgecolor="#6c7683", linewidth=0.9 if not deep else 2.0, zorder=4)
    for row in site["lots"]:
        houses = [turn(b["geom"]) for b in site["buildings"] if b["geom"].intersects(row["geom"])]
        at = max(houses, key=lambda h: h.area).representative_point() if houses else turn(row["geom"]).centroid
        axes.text(at.x, at.y, row["lot_id"], fontsize=8, color="#46505c", ha="center", va="center", zorder=5)


def keepouts(site, turn, axes):
    for row in site["keepouts"]:
        fill(
            axes,
            turn(row["geom"]),
            facecolor="#f3dede",
            edgecolor="#9a4a4a",
            linewidth=1.0,
            hatch="xx",
            alpha=0.55,
            zorder=3,
        )


def trees(site, turn, axes):
    for row in site["trees"]:
        at, trunk = turn(row["geom"]), row["trunk_diameter_m"] or 0.5
        roots = max(1.5, 0.64 * (50 * trunk) ** 0.42)  # structural root zone, as the planner takes it
        if row["retain"] is not False and row["retain"] != 0:
            axes.add_patch(
                plt.Circle(
                    (at.x, at.y), roots, facecolor="#cfe3bf", edgecolor="#5d8a45", linewidth=0.7, alpha=0.8, zorder=4
                )
            )
        axes.plot(at.x, at.y, marker="+", color="#3f6b2a", markersize=4, zorder=5)


def fences(site, turn, axes):
    for row in site["fences"]:
        hazard = row["material"] == "asbestos-cement"
        stroke(
            axes,
            turn(row["geom"]),
            color="#7a2d2d" if hazard else "#7d7468",
            linewidth=1.8 if hazard else 0.8,
            linestyle=(0, (4, 1.5, 1, 1.5)) if hazard else "-",
            zorder=5,
        )


def unknown(row):
    return not row["geom"].has_z and row.get("cover_m") is None


def services(site, turn, axes):
    for row in site.services:
        colour, letter = SERVICE_COLOURS.get(row["kind"], SERVICE_COLOURS["other"])
        shape = turn(row["geom"])
        width = 1.9 if (row.get("diameter_mm") or 0) > 180 else 1.2 if (row.get("diameter_mm") or 0) > 60 else 0.8
        stroke(axes, shape, color="white", linewidth=width + 0.9, zorder=6, alpha=0.6)
        stroke(axes, shape, color=colour, linewidth=width, linestyle=(0, (3, 1.6)) if unknown(row) else "-", zorder=6)
        if row.get("status") == "abandoned":
            letter = letter + "×"
        if shape.length > 30:
            for share in numpy.linspace(0.13, 0.87, max(1, int(shape.length / 85))):
                at = shape.interpolate(share, normalized=True)
                axes.text(
                    at.x,
                    at.y,
                    letter,
                    fontsize=6.5,
                    color=colour,
                    weight="bold",
                    ha="center",
                    va="center",
                    zorder=7,
                    path_effects=HALO,
                )


def manholes(site, turn, axes):
    for row in site["manholes"]:
        at = turn(row["geom"])
        axes.plot(
            at.x,
            at.y,
            marker="o",
            markersize=6,
            markerfacecolor="white",
            markeredgecolor="#0a8a3c",
            markeredgewidth=1.6,
            zorder=8,
        )
        axes.annotate(
            row["manhole_id"],
            (at.x, at.y),
            (9, 3),
            textcoords="offset points",
            fontsize=7.5,
            color="#0a6a2e",
            zorder=12,
            path_effects=HALO,
        )


def streets(site, turn, axes):
    """Each name beside the carriageway's axis, at the first place along it that no route comes near."""
    taken = shapely.union_all(
        [shapely.force_2d(r["geom"]) for r in site["routes"]] + [m["geom"] for m in site["manholes"]]
    )
    view = shapely.box(axes.get_xlim()[0] + 4, axes.get_ylim()[0] + 4, axes.get_xlim()[1] - 4, axes.get_ylim()[1] - 4)
    for row in site["streets"]:
        line = shapely.force_2d(row["geom"])
        spans = [s for s in map(line.interpolate, numpy.arange(12, line.length - 12, 2.0)) if view.contains(turn(s))]
        at = max(spans, key=lambda p: min(p.distance(taken), 9.0), default=line.centroid)
        place, ahead = turn(at), turn(line.interpolate(line.project(at) + 1.0))
        slope = _upright(math.degrees(math.atan2(ahead.y - place.y, ahead.x - place.x)))
        axes.text(
            place.x,
            place.y,
            row["name"],
            fontsize=8,
            style="italic",
            color="#4a4f57",
            rotation=slope,
            rotation_mode="anchor",
            ha="center",
            va="center",
            zorder=8,
            path_effects=HALO,
        )


def _upright(slope):
    return slope - 180 if slope > 90 else slope + 180 if slope < -90 else slope


def proposal(site, turn, axes):
    if not site.planned():
        return routes(site, turn, axes)
    for row in site["routes"]:
        line = turn(row["geom"])
        stroke(axes, line, color=INK, linewidth=0.9, linestyle=(0, (4, 2)), zorder=8)
        name_route(row, line, axes)
    for row in site["proposed_bores"]:
        bore(row, turn(row["geom"]), axes)
    named = []
    for row in site["proposed_pits"]:
        shape = turn(row["geom"])
        # Where pits crowd only the first of them is named; the table has the others.
        roomy = all(shape.centroid.distance(other) > NAMED_PIT_M for other in named)
        named += [shape.centroid] if roomy else []
        pit(row, shape, axes, roomy)
    marks(site, turn, axes)


def routes(site, turn, axes):
    for row in site["routes"]:
        line = turn(row["geom"])
        stroke(axes, line, color=INK, linewidth=2.0, linestyle=(0, (6, 2)), zorder=9)
        arrow(axes, line, 0.5)
        name_route(row, line, axes)


def name_route(row, line, axes):
    at = line.interpolate(0.0)
    look = {"fontsize": 8.5, "weight": "bold", "color": INK, "zorder": 14, "path_effects": HALO}
    axes.annotate(row["route_id"], (at.x, at.y), (-8, 4), textcoords="offset points", ha="right", **look)


def arrow(axes, line, share):
    a, b = line.interpolate(share * line.length - 1.6), line.interpolate(share * line.length + 1.6)
    axes.annotate(
        "",
        (b.x, b.y),
        (a.x, a.y),
        arrowprops={
            "arrowstyle": "-|>,head_width=0.32,head_length=0.62",
            "color": INK,
            "lw": 1.4,
            "shrinkA": 0,
            "shrinkB": 0,
        },
        zorder=10,
    )


def bore(row, line, axes):
    stroke(axes, line, color="white", linewidth=5.0, zorder=9, solid_capstyle="butt")
    stroke(axes, line, color=INK, linewidth=2.6, zorder=9, solid_capstyle="butt")
    arrow(axes, line, 0.62)
    (x0, y0), (x1, y1) = line.coords[0], line.coords[-1]
    slope = math.degrees(math.atan2(y1 - y0, x1 - x0))
    upright = _upright(slope)
    grade = f"1 in {row['grade_1_in']:.0f}" if row.get("grade_1_in") else "level"
    at = line.interpolate(0.40, normalized=True)
    if row["length_m"] < NAMED_BORE_M:
        return
    words = (
        f"{short(row, 'bore_id')}  {row['length_m']:.1f} m  {grade}" if row["length_m"] > 28 else short(row, "bore_id")
    )
    axes.annotate(
        words,
        (at.x, at.y),
        _beside(upright, 9),
        textcoords="offset points",
        fontsize=7.5,
        weight="bold",
        color=INK,
        rotation=upright,
        rotation_mode="anchor",
        ha="center",
        va="center",
        zorder=13,
        path_effects=HALO,
    )


def short(row, name):
    """The id without its route's name, which stands once at the head of the route."""
    return row[name].removeprefix(f"{row['route_id']}-")


def _beside(slope, points):
    return -points * math.sin(math.radians(slope)), points * math.cos(math.radians(slope))


def pit(row, shape, axes, named):
    # White is the colour code's proposed excavation. A hand-dug pit has a dashed outline.
    fill(
        axes,
        shape,
        facecolor="white",
        edgecolor=INK,
        linewidth=1.7,
        linestyle="-" if row["dig"] == "machine" else (0, (2, 1)),
        zorder=11,
    )
    at = shape.centroid
    if row["manhole"]:
        axes.plot(at.x, at.y, marker="o", markersize=2.6, color=INK, zorder=12)
    if not named:
        return
    name = f"{short(row, 'pit_id')} {row['depth_m']:.1f} m"
    axes.annotate(
        name,
        (at.x, at.y),
        (0, -15),
        textcoords="offset points",
        fontsize=7,
        color=INK,
        ha="center",
        zorder=13,
        path_effects=HALO,
    )


def marks(site, turn, axes):
    for verdict in ("clear", "watch", "prove", "clash"):
        shape, colour, size = VERDICTS[verdict]
        points = [turn(r["geom"]) for r in site["bore_conflicts"] if r["verdict"] == verdict]
        axes.scatter(
            [p.x for p in points],
            [p.y for p in points],
            marker=shape,
            s=size,
            facecolor=colour,
            edgecolor=INK,
            linewidth=0.8,
            zorder=12,
        )
    holes = [turn(r["geom"]) for r in site["test_holes"]]
    axes.scatter(
        [p.x for p in holes],
        [p.y for p in holes],
        marker="o",
        s=150,
        facecolor="none",
        edgecolor=INK,
        linewidth=1.1,
        zorder=12,
    )


def frame(site, turn, axes):
    shapes = [turn(r["geom"]) for name in ("routes", "lots", "manholes") for r in site[name]]
    x0, y0, x1, y1 = shapely.GeometryCollection(shapes).bounds
    axes.set(xlim=(x0 - 12, x1 + 12), ylim=(y0 - 2, y1 + 7), aspect="equal", autoscale_on=False)
    axes.set_axis_off()


def north(site, turn, axes):
    x, y, up = axes.get_xlim()[0] + 9, axes.get_ylim()[1] - 10, math.radians(90 + turn.degrees)
    dx, dy = 7 * math.cos(up), 7 * math.sin(up)
    axes.annotate(
        "", (x + dx, y + dy), (x - dx, y - dy), arrowprops={"arrowstyle": "-|>", "color": INK, "lw": 1.6}, zorder=20
    )
    axes.text(
        x + 1.35 * dx, y + 1.35 * dy, "N", ha="center", va="center", fontsize=9, weight="bold", color=INK, zorder=20
    )


def scale_bar(figure, axes):
    """50 m, under the drawing at the right."""
    figure.canvas.draw()
    ends = [figure.transFigure.inverted().transform(axes.transData.transform((x, 0)))[0] for x in (0, 10)]
    ten, left, y = ends[1] - ends[0], 0.97 - 5 * (ends[1] - ends[0]), 0.152
    for k in range(5):
        figure.add_artist(
            plt.Rectangle(
                (left + k * ten, y), ten, 0.006, facecolor=INK if k % 2 == 0 else "white", edgecolor=INK, linewidth=0.7
            )
        )
    for metres, words in ((0, "0"), (5, "50 m")):
        figure.text(left + metres * ten, y - 0.004, words, fontsize=7.5, color=INK, ha="center", va="top")


def legend(site, figure):
    lines = [
        Line2D([], [], color=c, lw=2.2, label=f"{letter}  {kind}") for kind, (c, letter) in SERVICE_COLOURS.items()
    ]
    lines += [
        Line2D([], [], color="#555", lw=1.6, linestyle=(0, (3, 1.6)), label="depth unknown"),
        Line2D([], [], color="none", label="×  abandoned"),
    ]
    first = figure.legend(
        handles=lines,
        loc="lower left",
        bbox_to_anchor=(0.005, 0.004),
        ncol=4,
        fontsize=7.5,
        frameon=False,
        title="existing services, APWA colour code",
        title_fontsize=8,
        alignment="left",
        handlelength=2.2,
        columnspacing=1.2,
    )
    figure.add_artist(first)
    things = [
        Patch(facecolor="#c9ced6", edgecolor="#6c7683", label="building"),
        Patch(facecolor="#f3dede", edgecolor="#9a4a4a", hatch="xx", label="keepout"),
        Patch(facecolor="white", edgecolor="#c3c9d0", hatch="///", label="lot, no entry"),
        Patch(facecolor="#cfe3bf", edgecolor="#5d8a45", label="structural roots"),
        Line2D([], [], color="#7a2d2d", lw=1.8, linestyle=(0, (4, 1.5, 1, 1.5)), label="asbestos-cement fence"),
        Line2D(
            [],
            [],
            marker="o",
            color="none",
            markerfacecolor="white",
            markeredgecolor="#0a8a3c",
            markeredgewidth=1.6,
            label="existing manhole",
        ),
    ]
    second = figure.legend(
        handles=things,
        loc="lower left",
        bbox_to_anchor=(0.405, 0.004),
        ncol=2,
        fontsize=7.5,
        frameon=False,
        title="on the ground",
        title_fontsize=8,
        alignment="left",
        columnspacing=1.2,
    )
    figure.add_artist(second)
    figure.legend(
        handles=proposed(site),
        loc="lower left",
        bbox_to_anchor=(0.67, 0.004),
        ncol=2,
        fontsize=7.5,
        frameon=False,
        title="proposed",
        title_fontsize=8,
        alignment="left",
        columnspacing=1.2,
    )


def proposed(site):
    if not site.planned():
        return [
            Line2D([], [], color=INK, lw=2, linestyle=(0, (6, 2)), label="route to be planned, arrow with the flow")
        ]
    words = {"clash": "clash", "prove": "prove by test hole", "watch": "watch", "clear": "clear of what is recorded"}
    marks = [
        Line2D(
            [],
            [],
            marker=m,
            color="none",
            markerfacecolor=c,
            markeredgecolor=INK,
            markersize=math.sqrt(s) * 0.9,
            label=words[v],
        )
        for v, (m, c, s) in VERDICTS.items()
    ]
    return [
        Line2D([], [], color=INK, lw=2.6, label="bore, arrow with the flow"),
        Line2D([], [], color=INK, lw=0.9, linestyle=(0, (4, 2)), label="route"),
        Patch(facecolor="white", edgecolor=INK, lw=1.6, label="pit, its depth (dot: manhole)"),
        Patch(facecolor="white", edgecolor=INK, lw=1.6, linestyle=(0, (2, 1)), label="pit dug by hand"),
        Line2D(
            [],
            [],
            marker="o",
            color="none",
            markerfacecolor="none",
            markeredgecolor=INK,
            markersize=11,
            label="test hole",
        ),
    ] + marks
