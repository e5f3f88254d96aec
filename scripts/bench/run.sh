#!/bin/sh
# Speed and memory beside references from the registry, as one table: scripts/bench/RESULTS.md.
# PAGE_PHOTOS: the photographs (default ../shared/photos). ROUNDS (5), PHOTOS (8), PAGES (2000): how much is measured.
set -e
cd "$(dirname "$0")/../.."
venv=target/bench/venv
if [ ! -x $venv/bin/python ]; then
    python3 -m venv $venv
    $venv/bin/pip install --quiet -r scripts/bench/requirements.txt
fi
cargo build --release --bin gridlift
cargo bench --no-run --bench lift --bench prove
OMP_NUM_THREADS=1 exec $venv/bin/python scripts/bench/measure.py "$@"
