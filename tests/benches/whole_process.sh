#!/usr/bin/env bash
# Times whole runs of `pitwright plan`, release build: wall, user and peak memory, the least, middle and greatest of N.
#
#   tests/benches/whole_process.sh [N]        N runs each after a warm-up (default 7)
#   LOTS=500 tests/benches/whole_process.sh   the trees of routes on 250, 500 and 1,000 lots, not 2,500, 5,000 and 10,000;
#                                             LOTS=0 leaves them out. Each is run once, without a warm-up.
#
# Needs GNU time as /usr/bin/time for the memory; the big sites need /usr/bin/python3 with GDAL's bindings and are
# left out, with a word, where those are missing. PITWRIGHT=FILE times that program instead of building one.
set -euo pipefail

runs=${1:-7}
root=$(cd "$(dirname "$0")/../.." && pwd)
work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT

if [[ -z ${PITWRIGHT:-} ]]; then
    cargo build --release --quiet --manifest-path "$root/Cargo.toml"
    PITWRIGHT=${CARGO_TARGET_DIR:-$root/target}/release/pitwright
fi

# One run: "wall user peak-MB" on a line. A run that exits with anything but 0 or 1 (done) stops the script.
once() {
    local code=0
    rm -f "$work/out.gpkg"
    if [[ -x /usr/bin/time ]]; then
        /usr/bin/time -f '%e %U %M' -o "$work/time" "$PITWRIGHT" plan "$@" --quiet --out "$work/out.gpkg" >/dev/null || code=$?
        (( code <= 1 )) || exit "$code"
        tail -n 1 "$work/time" | awk '{ printf "%s %s %.0f\n", $1, $2, $3 / 1024 }'
    else
        local TIMEFORMAT='%R %U'
        { time "$PITWRIGHT" plan "$@" --quiet --out "$work/out.gpkg" >/dev/null 2>&1; } 2>"$work/time" || code=$?
        (( code <= 1 )) || exit "$code"
        awk '{ print $1, $2, "-" }' "$work/time"
    fi
}

# least, middle and greatest of a column of the runs
spread() {
    sort -n | awk '{ v[NR] = $1 } END { printf "%8s %8s %8s", v[1], v[int((NR + 1) / 2)], v[NR] }'
}

measure() {
    local name=$1
    shift
    once "$@" >/dev/null # warm-up
    for ((i = 0; i < runs; i++)); do once "$@"; done >"$work/runs"
    printf '%-28s %s   %s   %s\n' "$name" "$(cut -d' ' -f1 "$work/runs" | spread)" \
        "$(cut -d' ' -f2 "$work/runs" | spread)" "$(cut -d' ' -f3 "$work/runs" | spread)"
}

printf '%-28s %-26s   %-26s   %-26s\n' "$runs runs, each:" "wall (s) least mid most" "user (s) least mid most" "peak (MB) least mid most"
measure "sample" "$root/sample-data/wattle-rise.gpkg"
measure "sample, 1 thread" "$root/sample-data/wattle-rise.gpkg" --threads 1

if ! /usr/bin/python3 -c 'from osgeo import gdal' 2>/dev/null; then
    echo "no GDAL for /usr/bin/python3: the big sites are left out" >&2
    exit 0
fi
/usr/bin/python3 "$root/tests/data/make_big.py" "$work"
measure "long route, 1 thread" "$work/long-route.gpkg" --threads 1
for threads in 1 2; do
    measure "suburb, $threads thread(s)" "$work/suburb.gpkg" --threads "$threads"
done

# One run of a big site, with what each of its stages took.
measure_once() {
    local code=0
    printf '%-28s ' "$1"
    shift
    rm -f "$work/out.gpkg"
    /usr/bin/python3 "$root/tests/benches/stages.py" "$PITWRIGHT" plan "$@" --out "$work/out.gpkg" || code=$?
    (( code <= 1 )) || exit "$code"
}

# The suburb with all its services but only its first routes: what grows is the routes alone.
for routes in 10 20 40; do
    cp "$work/suburb.gpkg" "$work/suburb-$routes.gpkg"
    cp "$work/suburb.job.toml" "$work/suburb-$routes.job.toml"
    /usr/bin/python3 - "$work/suburb-$routes.gpkg" "$routes" <<'PYTHON'
import sys
from osgeo import gdal
gdal.UseExceptions()
site = gdal.OpenEx(sys.argv[1], gdal.OF_VECTOR | gdal.OF_UPDATE)
routes = site.GetLayerByName("routes")
for fid in [f.GetFID() for f in routes][int(sys.argv[2]):]:
    routes.DeleteFeature(fid)
PYTHON
    measure "suburb, $routes routes, 1 thread" "$work/suburb-$routes.gpkg" --threads 1
done

# Trees of joined routes: half, whole and double the lots, on the routes and with a corridor.
lots=${LOTS:-5000}
(( lots > 0 )) || exit 0
for size in $((lots / 2)) "$lots" $((lots * 2)); do
    /usr/bin/python3 "$root/tests/data/make_big.py" "$work" --lots "$size"
    for job in "" -corridor; do
        measure_once "$size lots${job:+, corridor 1 m}" "$work/suburb-$size.gpkg" --job "$work/suburb-$size$job.job.toml"
    done
done
