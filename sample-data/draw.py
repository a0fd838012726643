"""Draw a site and what is planned on it.

    python3 sample-data/draw.py SITE.gpkg --plan plan.png
    python3 sample-data/draw.py SITE.gpkg --results OUT.gpkg --section ROUTE section.png

Any site and any result of it: layers that are not there are left out. Needs `pip install matplotlib pyogrio shapely`.
The job file is `--job FILE`, else the one beside the site.
"""

import argparse

import matplotlib

matplotlib.use("Agg")

import numpy  # noqa: E402
from matplotlib.colors import to_hex  # noqa: E402
from PIL import Image  # noqa: E402

import picture_plan  # noqa: E402
import picture_section  # noqa: E402
from picture_read import Site  # noqa: E402


def shrink(path):
    """Down to 192 colours: every colour that carries a meaning, then the commonest. A third of the size."""
    pixels = numpy.asarray(Image.open(path).convert("RGB"))
    shape, flat = pixels.shape[:2], pixels.reshape(-1, 3).astype(numpy.int64)
    codes, places, counts = numpy.unique(flat @ [65536, 256, 1], return_inverse=True, return_counts=True)
    meant = [int(to_hex(c)[1:], 16) for c, _ in picture_plan.SERVICE_COLOURS.values()] + [
        int(to_hex(c)[1:], 16) for _, c, _ in picture_plan.VERDICTS.values()
    ]
    common = codes[numpy.lexsort((codes, -counts))]
    kept = list(dict.fromkeys([*meant, *common.tolist()]))[:192]
    palette, seen = _rgb(numpy.array(kept)), _rgb(codes)
    nearest = ((seen[:, None, :] - palette[None, :, :]) ** 2).sum(axis=2).argmin(axis=1)
    small = Image.fromarray(nearest[places].reshape(shape).astype(numpy.uint8), "P")
    small.putpalette(palette.astype(numpy.uint8).tobytes())
    small.save(path, optimize=True)


def _rgb(codes):
    return numpy.stack([codes >> 16, codes >> 8 & 255, codes & 255], axis=1)


def run():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("site")
    ask.add_argument("--results", help="file that holds the planned layers, where it is not the site itself")
    ask.add_argument("--job", help="job file of the plan, where it is not SITE.job.toml")
    ask.add_argument("--plan", metavar="PNG")
    ask.add_argument("--section", nargs=2, metavar=("ROUTE", "PNG"))
    asked = ask.parse_args()
    site = Site(asked.site, asked.results, asked.job)
    if asked.plan:
        picture_plan.draw(site, asked.plan)
        shrink(asked.plan)
    if asked.section:
        picture_section.draw(site, *asked.section)
        shrink(asked.section[1])


if __name__ == "__main__":
    run()
