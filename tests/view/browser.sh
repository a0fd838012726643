#!/usr/bin/env bash
# Looks at maps in headless Chromium (see browser.mjs); scripts/browser installs what it needs. Argument: the program. Maps of the
# sample's plan, of a check of it, and of the plan with values in it that a page must not obey.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$(realpath "${1:?the program}")

work=$(mktemp -d)
served=()
end() { for pid in "${served[@]}"; do kill "$pid" 2>/dev/null || true; done; rm -rf "$work"; }
trap end EXIT

site=sample-data/wattle-rise.gpkg
"$program" plan $site --out "$work/plan.gpkg" --quiet
"$program" check $site --bores "$work/plan.gpkg:proposed_bores" --out "$work/check.gpkg" --quiet || [ $? -eq 1 ]
cp $site "$work/hostile.gpkg"
cp sample-data/wattle-rise.job.toml "$work/hostile.job.toml"
"$program" plan "$work/hostile.gpkg" --quiet
python3 tests/view/hostile.py "$work/hostile.gpkg"

# Starts a server; its address goes into the list.
maps=()
serve() {
    name=$1
    shift
    "$program" view "$@" --json >"$work/$name.json" &
    served+=($!)
    for _ in $(seq 100); do
        address=$(python3 -c 'import json, sys; print(json.load(open(sys.argv[1]))["address"])' "$work/$name.json" 2>/dev/null) && break
        sleep 0.1
    done
    maps+=("$name=${address:?$name is not served}")
}
serve plan "$work/plan.gpkg" --around $site
serve check "$work/check.gpkg" --around $site
serve hostile "$work/hostile.gpkg"
node tests/view/browser.mjs "${maps[@]}"
