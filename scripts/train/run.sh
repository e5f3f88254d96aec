#!/usr/bin/env bash
# Trains networks anew: scripts/train/run.sh [prepare | train | install]...   (nothing named: prepare train)
#
#   prepare   what training needs and a rented machine can't fetch or build: fonts, digits, the cutting program, the photographs' cells
#   train     the networks NETS, side by side, on pages that are drawn meanwhile: WORK/NET.onnx, WORK/NET.log
#   install   puts what WORK holds into models/, weights as halves, and rewrites models/checksums.txt
#
# What another machine needs besides the repository: WORK, scripts/pages/.cache and target/release/examples/cut_cells.
# Set by variables (defaults in brackets):
#   PYTHON [python3] with the packages of scripts/train/requirements.txt    WORK [target/train] where everything is kept
#   NETS [classify second third fine label_place label_text], alike and find       ANEW [] those of them that begin from nothing
#     (fine2 goes on from fine, too, on another card and with another seed: blend.py makes one of both; alike always begins from nothing)
#   FROM [models] where the weights of the others are                       MINUTES [23] of training
#   SEED [100000] the first page's: none that only measures (models/README.md)
#   WRITERS [5000] handwritings of the pen bank, PEN_SEED [1]               WORKERS [processors less five] drawing pages
#   RATE [1e-3] where find and cell networks go on from others               LEAST [500] drawn grids or lines to wait for
#   OTHERS [0] the least share of drawn puzzles that have other rules
#   LABEL_RATE [3e-3 from nothing, else 1e-3] of the label networks
#   BATCH [144] grids, PHOTOS [0.2] the share of photographs in a batch     DEVICES [all cards, else cpu] taken in turns
#   PAGE_PHOTOS [../shared/photos] real photographs; where they are absent, drawn pages alone train
#
# From nothing at all: ANEW="find" NETS="find" first, since cells are cut by what find finds, then the others.
set -euo pipefail
cd "$(dirname "$0")/../.."

PYTHON=${PYTHON:-python3} WORK=${WORK:-target/train} NETS=${NETS:-classify second third fine label_place label_text} ANEW=${ANEW:-} FROM=${FROM:-models}
RATE=${RATE:-1e-3} MINUTES=${MINUTES:-23} SEED=${SEED:-100000} WRITERS=${WRITERS:-5000} PEN_SEED=${PEN_SEED:-1} BATCH=${BATCH:-144} PHOTOS=${PHOTOS:-0.2}
WORKERS=${WORKERS:-$(($(nproc) > 6 ? $(nproc) - 5 : 1))} PAGE_PHOTOS=${PAGE_PHOTOS:-../shared/photos}
DEVICES=${DEVICES:-$("$PYTHON" -c 'import torch; print(*[f"cuda:{n}" for n in range(torch.cuda.device_count())] or ["cpu"])' 2>/dev/null || echo cpu)}
export PYTHONUNBUFFERED=1
cut_cells=target/release/examples/cut_cells

say() { echo "== $*" >&2; }
among() { case " $2 " in *" $1 "*) ;; *) false ;; esac }

prepare() {
    say "fonts and handwritten digits"
    if [ ! -f scripts/pages/.cache/digits/digits.npz ] || [ ! -d scripts/pages/.cache/fonts ]; then PYTHON=$PYTHON sh scripts/pages/fetch.sh; fi
    say "the cutting program"
    cargo build --release --example cut_cells
    mkdir -p "$WORK/cells"
    if [ -f "$PAGE_PHOTOS/truth.jsonl" ]; then
        say "photographs of the training half"
        $cut_cells models/find.onnx "$PAGE_PHOTOS" "$WORK/cells/photo" even models/classify.onnx fine
        "$PYTHON" scripts/train/pack_photos.py "$PAGE_PHOTOS" "$WORK/cells/photo.jsonl" "$WORK/photos.npz"
    else
        say "no photographs at $PAGE_PHOTOS: drawn pages alone"
    fi
}

# The command that trains a network, on one device.
train_net() {
    local start=()
    # Weights as they were trained are better to go on from than the file that the program loads.
    local file from=${1%2}
    for file in "$FROM/$1.pt" "$FROM/$1.onnx" "$FROM/$from.pt" "$FROM/$from.onnx"; do [ ! -f "$file" ] || break; done
    among "$1" "$ANEW alike alike32" || start=(--start "$file")
    local common=(--minutes "$MINUTES" --device "$2" --out "$WORK/$1.onnx" "${start[@]}")
    local pages=(--pages "$WORK/pages" $([ -f "$WORK/photos.npz" ] && echo --photos "$WORK/photos.npz"))
    local cells=(--cells "$WORK/cells" --pens "$WORK/pens.npz" --photos "$PHOTOS" --batch "$BATCH" --least "${LEAST:-500}")
    [ ${#start[@]} = 0 ] || cells+=(--rate "$RATE") pages+=(--rate "$RATE")
    case "$1" in
    classify) "$PYTHON" scripts/train/classify.py "${cells[@]}" --seed 1 "${common[@]}" ;;
    second) "$PYTHON" scripts/train/classify.py "${cells[@]}" --size second --seed 2 "${common[@]}" ;;
    fine*) "$PYTHON" scripts/train/classify.py "${cells[@]}" --size fine --seed "4${1#fine}" "${common[@]}" ;;
    third) "$PYTHON" scripts/train/classify.py "${cells[@]}" --size third --seed 3 "${common[@]}" ;;
    alike*) "$PYTHON" scripts/train/alike.py "${cells[@]}" --size "$1" --seed 5 "${common[@]}" ;;
    find) "$PYTHON" scripts/train/find.py "${pages[@]}" "${common[@]}" ;;
    label_*) "$PYTHON" scripts/label/train.py "${1#label_}" --data "$WORK/labels" --batch 256 --least "${LEAST:-500}" ${LABEL_RATE:+--rate "$LABEL_RATE"} "${common[@]}" ;;
    *) say "no network is called $1"; return 2 ;;
    esac
}

train() {
    mkdir -p "$WORK"
    local also=() devices=($DEVICES) running=() number=0
    case "$NETS" in *label*) also+=(--labels models) ;; esac
    case "$NETS" in *find*) also+=(--pages 4000) ;; esac
    case "$NETS" in *fine* | *alike*) also+=(--fine) ;; esac
    OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 nice "$PYTHON" scripts/train/draw_pages.py models/find.onnx "$WORK" --cut $cut_cells \
        --workers "$WORKERS" --minutes "$MINUTES" --seed "$SEED" --others "${OTHERS:-0}" "${also[@]}" >"$WORK/draw.log" 2>&1 &
    drawing=$!
    trap 'kill $drawing 2>/dev/null || true' EXIT
    case "$NETS" in
    *classify* | *second* | *third* | *fine* | *alike*) [ -f "$WORK/pens.npz" ] || "$PYTHON" scripts/train/pen_bank.py "$WORK/pens.npz" "$WRITERS" "$PEN_SEED" ;;
    esac
    for net in $NETS; do
        train_net "$net" "${devices[$((number++ % ${#devices[@]}))]}" >"$WORK/$net.log" 2>&1 &
        running+=($!)
    done
    for pid in "${running[@]}"; do wait "$pid"; done
    for net in $NETS; do say "$net: $(tail -n 1 "$WORK/$net.log")"; done
}

install() {
    "$PYTHON" scripts/train/weights.py "$WORK"/*.onnx models
    sha256sum models/*.onnx >models/checksums.txt
    say "installed: now run PAGE_PHOTOS=$PAGE_PHOTOS cargo test --release"
}

[ $# -gt 0 ] || set -- prepare train
for step in "$@"; do
    case "$step" in
    prepare | train | install) "$step" ;;
    *) sed -n '2,21p' "$0" >&2; exit 2 ;;
    esac
done
