"""One run of `pitwright plan`: seconds, user time and peak memory, how many routes have a plan, what every stage took.

    python3 tests/benches/stages.py PITWRIGHT plan SITE.gpkg --out OUT.gpkg

Adds `--json --progress json` to the command. The seconds by stage are those under "stages" in the JSON document where it
has them; else as seen from outside, from the first line of progress of a stage to the first line of the next, with
`start` before the first line. Takes the exit code of the command.
"""

import json
import resource
import subprocess
import sys
import tempfile
import time


def run(command):
    """(exit code, JSON document, [(seconds since the start, stage)]); the last stage is `end`."""
    began = time.monotonic()
    seen = []
    with tempfile.TemporaryFile("w+") as document:  # a pipe would fill while the other one is read
        child = subprocess.Popen(
            [*command, "--json", "--progress", "json"], stdout=document, stderr=subprocess.PIPE, text=True
        )
        for line in child.stderr:
            stage = stage_of(line)
            if stage:
                seen.append((time.monotonic() - began, stage))
            else:
                print(line, end="", file=sys.stderr)
        code = child.wait()
        seen.append((time.monotonic() - began, "end"))
        document.seek(0)
        said = json.loads(document.read() or "{}")
    return code, said, seen


def stage_of(line):
    try:
        return json.loads(line)["stage"]
    except (ValueError, KeyError, TypeError):
        return None


def from_outside(seen):
    """[(stage, seconds)] in the order in which they came; a name that comes again (`routes` are read, then planned) is
    a stage of its own."""
    spent, at, stage = [], 0.0, "start"
    for moment, now in seen:
        if now != stage:
            spent.append((stage, moment - at))
            at, stage = moment, now
    return spent


def main():
    if len(sys.argv) < 3:
        sys.exit(__doc__)
    code, said, seen = run(sys.argv[1:])
    used = resource.getrusage(resource.RUSAGE_CHILDREN)
    routes = said.get("routes", [])
    planned = sum(r["status"] == "planned" for r in routes)
    print(
        f"{seen[-1][0]:9.2f} s {used.ru_utime:9.2f} s user {used.ru_maxrss / 1024:7.0f} MB peak,"
        f" {planned} of {len(routes)} routes have a plan"
    )
    inside = said.get("stages")
    stages = list(inside.items()) if inside else [s for s in from_outside(seen) if s[1] >= 0.005]
    whose = "" if inside else "   (from outside; what follows the last line of progress counts for the last stage)"
    print("    " + "  ".join(f"{stage} {spent:.2f} s" for stage, spent in stages) + whose)
    sys.exit(code)


if __name__ == "__main__":
    main()
