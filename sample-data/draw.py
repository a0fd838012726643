"""Draw a site and what is planned on it.

    python3 sample-data/draw.py SITE.gpkg --plan plan.png
    python3 sample-data/draw.py SITE.gpkg --results OUT.gpkg --section ROUTE section.png

Needs `pip install matplotlib pyogrio shapely`. The job file is taken from beside the site.
"""

import argparse

import matplotlib

matplotlib.use("Agg")

from PIL import Image  # noqa: E402

import picture_plan  # noqa: E402
import picture_section  # noqa: E402
from picture_read import Site  # noqa: E402


def shrink(path):
    """Down to 160 colours: a third of the size, and nothing lost in a line drawing."""
    Image.open(path).convert("RGB").quantize(160, dither=Image.Dither.NONE).save(path, optimize=True)


def run():
    ask = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    ask.add_argument("site")
    ask.add_argument("--results", help="file that holds the planned layers, where it is not the site itself")
    ask.add_argument("--plan", metavar="PNG")
    ask.add_argument("--section", nargs=2, metavar=("ROUTE", "PNG"))
    asked = ask.parse_args()
    site = Site(asked.site, asked.results)
    if asked.plan:
        picture_plan.draw(site, asked.plan)
        shrink(asked.plan)
    if asked.section:
        picture_section.draw(site, *asked.section)
        shrink(asked.section[1])


if __name__ == "__main__":
    run()
