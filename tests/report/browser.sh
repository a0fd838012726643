#!/usr/bin/env bash
# Looks at reports in headless Chromium (see browser.mjs); scripts/browser installs what it needs. Arguments: the program, then pages and
# folders of pages. Without any, those of the sample and of a check of it are made, with values in them that a page must not obey.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=$(realpath "${1:?the program}")
shift

if [ $# -eq 0 ]; then
    work=$(mktemp -d)
    trap 'rm -rf "$work"' EXIT
    site=sample-data/wattle-rise.gpkg
    "$program" plan $site --out "$work/plan.gpkg" --quiet
    "$program" check $site --bores "$work/plan.gpkg:proposed_bores" --out "$work/check.gpkg" --quiet || [ $? -eq 1 ]
    for made in plan check; do
        around=(); [ $made = check ] || around=(--around $site)
        "$program" report "$work/$made.gpkg" "${around[@]}" -o "$work/$made.html" --quiet
        "$program" report "$work/$made.gpkg" "${around[@]}" --pages "$work/$made-pages" --quiet
        python3 tests/report/hostile.py "$work/$made.gpkg"
        "$program" report "$work/$made.gpkg" -o "$work/$made-hostile.html" --quiet
    done
    set -- "$work"/plan.html "$work"/check.html "$work"/plan-pages "$work"/check-pages "$work"/plan-hostile.html "$work"/check-hostile.html
fi
node tests/report/browser.mjs "$@"
