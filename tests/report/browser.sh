#!/usr/bin/env bash
# Looks at reports in headless Chromium (see browser.mjs). Needs Node, npm and Chromium (Debian: nodejs npm chromium);
# CHROMIUM names another one. Reports as arguments; without any, that of the sample is made.
set -euo pipefail
cd "$(dirname "$0")/../.."

work=$(mktemp -d)
trap 'rm -rf "$work"' EXIT
npm install --silent --no-fund --no-audit --prefix "$work" puppeteer-core@24.43.1 axe-core@4.14.1
if [ $# -eq 0 ]; then
    cargo run --quiet --release -- plan sample-data/wattle-rise.gpkg --out "$work/plan.gpkg" --quiet
    cargo run --quiet --release -- report "$work/plan.gpkg" --around sample-data/wattle-rise.gpkg -o "$work/report.html" --quiet
    set -- "$work/report.html"
fi
NODE_FOLDER="$work" node tests/report/browser.mjs "$@"
