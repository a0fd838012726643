"""Write the sample sites: `/usr/bin/python3 sample-data/make_sample.py [FOLDER]` (else into this folder).

Needs the Python bindings of GDAL 3.6 (Debian: python3-gdal). Seeded: run again, it writes the same layers.
"""

import pathlib
import sys

import jobs
import no_plan
import wattle_rise


def make(folder):
    wattle_rise.write(str(folder / "wattle-rise.gpkg"))
    (folder / "wattle-rise.job.toml").write_text(jobs.WATTLE_RISE)
    no_plan.write(str(folder / "wattle-rise-no-plan.gpkg"), jobs.OD_M, jobs.ID_M)
    (folder / "wattle-rise-no-plan.job.toml").write_text(jobs.NO_PLAN)


if __name__ == "__main__":
    make(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parent)
