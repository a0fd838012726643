#!/usr/bin/env bash
# `pitwright check` beside a very good script (check_script.py), in turn, in one run on one machine.
#
#   tests/benches/check.sh [N] [FOLDER]     N runs of each (default 5); the city goes to FOLDER, else to a temporary one
#   TEN=0 tests/benches/check.sh            leaves out the city of ten times the services (3 GB of files)
#   SERVICES=40000 BORES=10000 ...          another size
#
# PITWRIGHT=FILE times that program instead of building one. Python's packages go to target/bench (script.txt).
set -euo pipefail

root=$(cd "$(dirname "$0")/../.." && pwd)
runs=${1:-5}
folder=${2:-}
if [[ -z $folder ]]; then
    folder=$(mktemp -d)
    trap 'rm -rf "$folder"' EXIT
fi
bench=$root/target/bench
[[ -x $bench/bin/python ]] || python3 -m venv "$bench"
"$bench/bin/pip" install --quiet --disable-pip-version-check --no-deps --only-binary :all: --requirement "$root/tests/benches/script.txt"
if [[ -z ${PITWRIGHT:-} ]]; then
    cargo build --release --quiet --manifest-path "$root/Cargo.toml"
    PITWRIGHT=${CARGO_TARGET_DIR:-$root/target}/release/pitwright
fi
exec "$bench/bin/python" "$root/tests/benches/check_beside.py" "$PITWRIGHT" "$folder" --runs "$runs" \
    --services "${SERVICES:-400000}" --bores "${BORES:-100000}" ${TEN:+--ten "$TEN"}
