"""Write the sample sites: `/usr/bin/python3 sample-data/make_sample.py [FOLDER]` (else into this folder).

Needs the Python bindings of GDAL 3.6 (Debian: python3-gdal). Seeded: run again, it writes the same layers.
"""

import pathlib
import sys

import ferny_bend
import jobs
import no_plan
import no_plan_single
import osier_hollow
import wattle_rise


def make(folder):
    wattle_rise.write(str(folder / "wattle-rise.gpkg"))
    (folder / "wattle-rise.job.toml").write_text(jobs.WATTLE_RISE)
    no_plan.write(str(folder / "wattle-rise-no-plan.gpkg"), jobs.OD_M, jobs.ID_M)
    (folder / "wattle-rise-no-plan.job.toml").write_text(jobs.NO_PLAN)
    ferny_bend.write(str(folder / "ferny-bend.gpkg"))
    (folder / "ferny-bend.job.toml").write_text(jobs.FERNY_BEND)
    (folder / "ferny-bend-corridor.job.toml").write_text(jobs.FERNY_BEND_CORRIDOR)
    osier_hollow.write(str(folder / "osier-hollow.gpkg"))
    (folder / "osier-hollow.job.toml").write_text(jobs.OSIER_HOLLOW)
    no_plan_single.write(folder / "no-plan", jobs.OD_M, jobs.ID_M, jobs.NO_PLAN_SINGLE)


if __name__ == "__main__":
    make(pathlib.Path(sys.argv[1]) if len(sys.argv) > 1 else pathlib.Path(__file__).resolve().parent)
