#!/usr/bin/env bash
# Trains both label networks: scripts/label/run.sh, from the repository's root. Set by variables (defaults in brackets):
#   PYTHON [python3] with the packages of scripts/train/requirements.txt   WORK [target/label] where everything is kept
#   MINUTES [8.7] of training, while pages are drawn                       WORKERS [processors less two] drawing them
#   SEED [600000] the first page's; pages from 690000 on only measure      DEVICE [cuda where there is one, else cpu]     BATCH [256]
#   TEXT_DEVICE [DEVICE] for the second network                            CHUNK [40] pages drawn before they are handed over
# It leaves WORK/place.pt and WORK/text.pt; then scripts/label/export.py writes them as ONNX, which models/ holds.
set -euo pipefail
PYTHON=${PYTHON:-python3} WORK=${WORK:-target/label} MINUTES=${MINUTES:-8.7} SEED=${SEED:-600000} BATCH=${BATCH:-256} CHUNK=${CHUNK:-40}
WORKERS=${WORKERS:-$(($(nproc) > 3 ? $(nproc) - 2 : 1))}
DEVICE=${DEVICE:-$("$PYTHON" -c 'import torch; print("cuda" if torch.cuda.is_available() else "cpu")')}
TEXT_DEVICE=${TEXT_DEVICE:-$DEVICE}
export OMP_NUM_THREADS=1 OPENBLAS_NUM_THREADS=1 PYTHONUNBUFFERED=1
here=scripts/label
mkdir -p "$WORK/drawn"
drawing=()
trap 'kill "${drawing[@]}" 2>/dev/null || true' EXIT
for ((i = 0; i < WORKERS; i++)); do
    ( [ "$i" -gt 3 ] || "$PYTHON" $here/draw.py "$WORK/drawn" 690000 400 --chunk "$CHUNK" --worker "$i" --workers 4
      exec "$PYTHON" $here/draw.py "$WORK/drawn" "$SEED" 80000 --chunk "$CHUNK" --worker "$i" --workers "$WORKERS" ) >"$WORK/draw$i.log" 2>&1 &
    drawing+=($!)
done
"$PYTHON" $here/train.py place --data "$WORK/drawn" --out "$WORK/place.pt" --minutes "$MINUTES" --batch "$BATCH" --device "$DEVICE" >"$WORK/place.log" 2>&1 &
place=$!
"$PYTHON" $here/train.py text --data "$WORK/drawn" --out "$WORK/text.pt" --minutes "$MINUTES" --batch "$BATCH" --device "$TEXT_DEVICE" >"$WORK/text.log" 2>&1 &
text=$!
wait $place
wait $text
tail -n 3 "$WORK/place.log" "$WORK/text.log"
