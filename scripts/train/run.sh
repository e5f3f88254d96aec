#!/usr/bin/env bash
# Trains both networks anew and leaves them in target/train: scripts/train/run.sh [--install]
#
# With --install they replace those of models/, and models/checksums.txt with them. All else is set by variables (defaults in brackets):
#   PYTHON [python3] with the packages of scripts/train/requirements.txt    WORK [target/train] where everything is kept
#   PAGES [4000] generated pages    SEED [100000] the first page's seed     WRITERS [800] handwritings of the pen bank
#   FIND_MINUTES [8], CLASSIFY_MINUTES [8] for each of two rounds           FIND_BATCH [48], CLASSIFY_BATCH [112]
#   DEVICE [cuda where there is one, else cpu]                              JOBS [processors]
#   PAGE_PHOTOS [../shared/photos] real photographs; where they are absent, drawn pages alone train
#
# Round one knows drawn pages alone. Its networks find and read the photographs of the training half, of which the truth says what
# stands in them but not precisely where; round two goes on from there with these, and with pens written over printed grids.
set -euo pipefail
cd "$(dirname "$0")/../.."

PYTHON=${PYTHON:-python3} WORK=${WORK:-target/train} PAGES=${PAGES:-4000} SEED=${SEED:-100000} WRITERS=${WRITERS:-800}
FIND_MINUTES=${FIND_MINUTES:-8} CLASSIFY_MINUTES=${CLASSIFY_MINUTES:-8} FIND_BATCH=${FIND_BATCH:-48} CLASSIFY_BATCH=${CLASSIFY_BATCH:-112}
JOBS=${JOBS:-$(nproc 2>/dev/null || echo 2)} PAGE_PHOTOS=${PAGE_PHOTOS:-../shared/photos}
DEVICE=${DEVICE:-$("$PYTHON" -c 'import torch; print("cuda" if torch.cuda.is_available() else "cpu")')}
case "${1:-}" in --install | "") ;; *) echo "usage: scripts/train/run.sh [--install]" >&2; exit 2 ;; esac

say() { echo "== $*" >&2; }

cut_cells=target/release/examples/cut_cells
# An empty folder.
fresh() { rm -rf "$1" && mkdir -p "$1"; }

photos=""
if [ -f "$PAGE_PHOTOS/truth.jsonl" ]; then photos=$PAGE_PHOTOS; else say "no photographs at $PAGE_PHOTOS: drawn pages alone"; fi

say "fonts and handwritten digits"
if [ ! -f scripts/pages/.cache/digits/digits.npz ] || [ ! -d scripts/pages/.cache/fonts ]; then PYTHON=$PYTHON sh scripts/pages/fetch.sh; fi
say "the cutting program"
cargo build --release --example cut_cells
mkdir -p "$WORK"
if [ "$(cat "$WORK/pages.made" 2>/dev/null)" != "$SEED $PAGES" ]; then
    say "$PAGES pages"
    rm -rf "$WORK/pages"
    "$PYTHON" scripts/pages/generate.py --seed "$SEED" --count "$PAGES" --level all --out "$WORK/pages" --jobs "$JOBS"
    echo "$SEED $PAGES" >"$WORK/pages.made"
fi
say "pens"
"$PYTHON" scripts/train/pen_bank.py "$WORK/pens.npz" "$WRITERS" 1

find_net=("$PYTHON" scripts/train/find.py --pages "$WORK/pages" --least "$PAGES" --minutes "$FIND_MINUTES" --batch "$FIND_BATCH" --device "$DEVICE")
classify_net() { # $1 the folder of cells, the rest as given
    "$PYTHON" scripts/train/classify.py --cells "$1" --least 1 --minutes "$CLASSIFY_MINUTES" --batch "$CLASSIFY_BATCH" --device "$DEVICE" "${@:2}"
}

say "round one: drawn pages"
"${find_net[@]}" --out "$WORK/find1.onnx"
fresh "$WORK/cells1"
$cut_cells "$WORK/find1.onnx" "$WORK/pages" "$WORK/cells1/drawn"
classify_net "$WORK/cells1" --out "$WORK/classify1.onnx"

say "round two: photographs and pens"
again=()
if [ -n "$photos" ]; then
    $cut_cells "$WORK/find1.onnx" "$photos" "$WORK/cells1/photo" even "$WORK/classify1.onnx"
    "$PYTHON" scripts/train/pack_photos.py "$photos" "$WORK/cells1/photo.jsonl" "$WORK/photos.npz"
    # A first round too short to read any photograph leaves none to train on.
    [ ! -s "$WORK/cells1/photo.jsonl" ] || again=(--photos "$WORK/photos.npz")
fi
"${find_net[@]}" --start "$WORK/find1.pt" --rate 1e-3 --seed 2 "${again[@]}" --out "$WORK/find.onnx"
fresh "$WORK/cells2"
$cut_cells "$WORK/find.onnx" "$WORK/pages" "$WORK/cells2/drawn"
[ -z "$photos" ] || $cut_cells "$WORK/find.onnx" "$photos" "$WORK/cells2/photo" even "$WORK/classify1.onnx"
classify_net "$WORK/cells2" --start "$WORK/classify1.pt" --rate 1e-3 --seed 2 --photos 0.28 --pens "$WORK/pens.npz" --out "$WORK/classify.onnx"

ls -l "$WORK/find.onnx" "$WORK/classify.onnx"
if [ "${1:-}" = --install ]; then
    cp "$WORK/find.onnx" "$WORK/classify.onnx" models/
    sha256sum models/*.onnx >models/checksums.txt
    say "installed: now run PAGE_PHOTOS=$PAGE_PHOTOS cargo test --release"
fi
