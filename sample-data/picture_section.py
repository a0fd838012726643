"""The long section of one route: ground, pipe, pits, and every service crossed with how sure its level is."""

import matplotlib.pyplot as plt
import numpy
from matplotlib.lines import Line2D
from matplotlib.patches import Patch

from picture_plan import HALO, INK, SERVICE_COLOURS, short
from picture_read import crossings, level_of, upstream


def draw(site, route_id, path):
    route = next(r for r in site["routes"] if r["route_id"] == route_id)
    figure, axes = plt.subplots(figsize=(12.4, 5.6), dpi=150)
    length = ground(site, route, axes)
    low = min(pipe(site, route, axes), services(site, route, axes))
    pits(site, route, axes)
    dress(site, route, axes, length, low)
    figure.subplots_adjust(left=0.055, right=0.99, top=0.90, bottom=0.175)
    legend(site, figure)
    figure.savefig(path)
    plt.close(figure)


def ground(site, route, axes):
    line = upstream(route["geom"])
    chainages = numpy.append(numpy.arange(0, line.length, 1.0), line.length)
    levels = [site.ground.at(p.x, p.y) for p in map(line.interpolate, chainages)]
    axes.fill_between(chainages, levels, min(levels) - 20, color="#f3efe8", zorder=0)
    axes.plot(chainages, levels, color="#6b5b45", lw=1.8, zorder=4)
    cover = site.job["rules"]["min_cover_m"]
    axes.plot(chainages, numpy.subtract(levels, cover), color="#8d8168", lw=0.9, linestyle=(0, (5, 3)), zorder=3)
    return line.length


def rows_of(site, layer, route):
    return [r for r in site[layer] if r["route_id"] == route["route_id"]]


def pipe(site, route, axes):
    """The pipe from invert to crown, drive by drive; the lowest level drawn."""
    bores = rows_of(site, "proposed_bores", route)
    pits = {p["pit_id"]: p for p in site["proposed_pits"]}
    for b in bores:
        us, ds = pits[b["us_pit"]]["chainage_m"], (
            0.0 if pits[b["ds_pit"]]["route_id"] != route["route_id"] else pits[b["ds_pit"]]["chainage_m"]
        )
        inverts = numpy.array([b["us_invert_m"], b["ds_invert_m"]])
        crowns = inverts + (b["od_mm"] + b["id_mm"]) / 2000
        axes.fill_between([us, ds], inverts, crowns, color=INK, alpha=0.88, zorder=6, linewidth=0)
        grade = f"1 in {b['grade_1_in']:.0f}" if b["grade_1_in"] else "level"
        words = f"{short(b, 'bore_id')}: {b['length_m']:.1f} m at {grade}" if b["length_m"] > 28 else short(b, "bore_id")
        label(axes, (us + ds) / 2, inverts.mean() - 0.16, words)
    return min((b["ds_invert_m"] for b in bores), default=outfall(site, route)) - 0.6


def label(axes, x, y, words):
    axes.text(x, y, words, fontsize=7.5, weight="bold", color=INK, ha="center", va="top", zorder=9, path_effects=HALO)


def outfall(site, route):
    if route["outfall_invert_m"] is not None:
        return route["outfall_invert_m"]
    end = upstream(route["geom"]).interpolate(0)
    return min(site["manholes"], key=lambda m: m["geom"].distance(end))["invert_m"]


def services(site, route, axes):
    """A dot at the recorded level with its 95 % limits; a hollow bar over the whole band where the depth is unknown."""
    lows, lettered = [], None
    for number, (chainage, point, service) in enumerate(crossings(site, route)):
        colour, letter = SERVICE_COLOURS.get(service["kind"], SERVICE_COLOURS["other"])
        level, top = level_of(site, service, point), site.ground.at(*point)
        if level is None:
            band = site.job["rules"]["depth_band"][service["kind"]]
            low, high = top - band["max_m"], top - band["min_m"]
            axes.add_patch(
                plt.Rectangle(
                    (chainage - 0.55, low),
                    1.1,
                    high - low,
                    facecolor="white",
                    edgecolor=colour,
                    linewidth=1.3,
                    hatch="////",
                    zorder=5,
                )
            )
        else:
            centre, radius, limit = level
            low, high = centre - radius - limit, centre + radius + limit
            axes.plot([chainage, chainage], [low, high], color=colour, lw=1.2, zorder=5)
            axes.plot(
                [chainage - 0.5, chainage + 0.5],
                [low, low],
                [chainage - 0.5, chainage + 0.5],
                [high, high],
                color=colour,
                lw=1.2,
                zorder=5,
            )
            axes.add_patch(
                plt.matplotlib.patches.Ellipse(
                    (chainage, centre),
                    max(1.0, radius * 8),
                    max(0.06, 2 * radius),
                    facecolor=colour,
                    edgecolor=INK,
                    lw=0.6,
                    zorder=6,
                )
            )
        lows.append(low)
        if lettered and abs(lettered[0] - chainage) < 0.3 and lettered[1] == letter:
            continue
        lettered = (chainage, letter)
        axes.text(
            chainage,
            top + 0.10 + 0.16 * (number % 2),
            letter,
            fontsize=7.5,
            weight="bold",
            color=colour,
            ha="center",
            zorder=8,
            path_effects=HALO,
        )
    return min(lows, default=1e9) - 0.2


def pits(site, route, axes):
    for p in rows_of(site, "proposed_pits", route):
        x, hand = p["chainage_m"], p["dig"] != "machine"
        axes.add_patch(
            plt.Rectangle(
                (x - p["length_m"] / 2, p["floor_m"]),
                p["length_m"],
                p["depth_m"],
                facecolor="white",
                edgecolor=INK,
                linewidth=1.3,
                linestyle=(0, (2, 1)) if hand else "-",
                alpha=0.75,
                zorder=4.5,
            )
        )
        if p["manhole"]:
            axes.plot([x, x], [p["invert_m"], p["ground_m"]], color=INK, lw=0.8, zorder=6)
        axes.text(
            x,
            p["floor_m"] - 0.05,
            f"{short(p, 'pit_id')}\n{p['invert_m']:.2f}",
            fontsize=7,
            color=INK,
            ha="center",
            va="top",
            zorder=9,
            path_effects=HALO,
        )


def dress(site, route, axes, length, low):
    line = upstream(route["geom"])
    tops = [site.ground.at(*line.interpolate(c).coords[0]) for c in (0, length)]
    axes.set(xlim=(-4, length + 4), ylim=(low - 0.5, max(tops) + 0.75))
    axes.set_xlabel("chainage from the outfall (m); the flow runs to the left", fontsize=8.5, color=INK)
    axes.set_ylabel("level (m)", fontsize=8.5, color=INK)
    axes.grid(color="#d5d8dc", lw=0.5, zorder=1)
    axes.tick_params(labelsize=8, colors=INK)
    for side in ("top", "right"):
        axes.spines[side].set_visible(False)
    box = axes.get_window_extent()
    (x0, x1), (y0, y1) = axes.get_xlim(), axes.get_ylim()
    times = (box.height / (y1 - y0)) / (box.width / (x1 - x0))
    axes.set_title(
        f"{site.job.get('job', {}).get('name', '')}: long section of {route['route_id']}, heights drawn {times:.0f} times",
        fontsize=11.5,
        loc="left",
        weight="bold",
        color=INK,
    )


def legend(site, figure):
    shown = [
        Line2D([], [], color="#6b5b45", lw=1.8, label="ground"),
        Line2D([], [], color="#8d8168", lw=0.9, linestyle=(0, (5, 3)), label="least cover to the crown"),
        Line2D([], [], color="#555", marker="o", lw=1.2, label="recorded level with its 95 % limits"),
        Patch(facecolor="white", edgecolor="#555", hatch="////", label="depth unknown: anywhere in the band"),
    ]
    if site.planned():
        shown += [
            Patch(facecolor=INK, label="bored pipe, invert to crown"),
            Patch(facecolor="white", edgecolor=INK, label="pit, with its lowest invert (dashed: dug by hand)"),
        ]
    letters = "   ".join(f"{letter} {kind}" for kind, (_, letter) in SERVICE_COLOURS.items())
    figure.legend(
        handles=shown,
        loc="lower left",
        bbox_to_anchor=(0.045, 0.022),
        ncol=len(shown),
        fontsize=7.2,
        frameon=False,
        columnspacing=1.1,
        handlelength=2,
    )
    figure.text(0.05, 0.012, f"services in the APWA colour code:   {letters}", fontsize=7.2, color=INK)
