#!/bin/sh
# Compares the program with the independent reference on random sites.
#   run.sh [SEEDS] [PITWRIGHT]      SEEDS: 1-60 unless told; PITWRIGHT: path, else $PITWRIGHT
set -eu
here=$(cd "$(dirname "$0")" && pwd)
seeds=${1:-1-60}
program=${2:-${PITWRIGHT:-$here/../../target/release/pitwright}}
[ -x "$program" ] || { echo "no program at $program: build it, or give its path" >&2; exit 2; }
folder=$(mktemp -d)
trap 'rm -rf "$folder"' EXIT
OGR_SQLITE_SYNCHRONOUS=OFF python3 "$here/compare.py" "$program" "$seeds" --keep "$folder"
