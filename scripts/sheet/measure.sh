#!/usr/bin/env bash
# Prints the figures of sheets: scripts/sheet/measure.sh [SHEETS]
# The time for 100 puzzles with solutions, bytes a page for each layout, and with SHEETS how many sheets are lifted again as printed (500 take half
# an hour on one core). Needs a built program: cargo build --release.
set -euo pipefail
cd "$(dirname "$0")/../.."
program=target/release/gridlift
folder="$(mktemp -d)"
trap 'rm -rf "$folder"' EXIT

echo "$(date -u +%F), $(git describe --always --dirty), $(nproc) cores"
grep -v '^#' scripts/pages/puzzles.txt | cut -d ' ' -f 1 | head -100 >"$folder/hundred.txt"
head -24 "$folder/hundred.txt" >"$folder/some.txt"

# The best of five: the machine may be busy with something else.
best=""
for _ in 1 2 3 4 5; do
    start=$(date +%s%N)
    "$program" sheet "$folder/hundred.txt" -o "$folder/hundred.pdf" --per-page 4 --title 'A hundred' 2>/dev/null
    spent=$((($(date +%s%N) - start) / 1000000))
    if [ -z "$best" ] || [ "$spent" -lt "$best" ]; then best=$spent; fi
done
echo "100 puzzles with solutions to PDF: $best ms"

# Bytes a page of a PDF with these arguments.
bytes() {
    "$program" sheet "$@" -o "$folder/out.pdf" --title 'The quick brown fox' --source 'Orchard Hours, Pear Tree Press' 2>"$folder/said"
    local pages
    pages=$(grep -oE '[0-9]+ pages?$' "$folder/said" | grep -oE '^[0-9]+')
    printf '%6d bytes a page, %3d pages: %s\n' $(($(stat -c %s "$folder/out.pdf") / pages)) "$pages" "${*:2}"
}

link=(--link https://example.org/orchard-hours/42)
for paper in a4 letter; do
    for number in 1 2 4 6; do
        bytes "$folder/some.txt" --paper $paper --per-page $number "${link[@]}"
        bytes "$folder/some.txt" --grid 3 --boards --paper $paper --per-page $number
    done
    bytes "$folder/some.txt" --paper $paper --large-print "${link[@]}"
    bytes "$folder/some.txt" --paper $paper --per-page 2 --notes "${link[@]}"
    bytes "$folder/some.txt" --paper $paper --per-page 4 --booklet --solutions upside-down "${link[@]}"
    bytes "$folder/some.txt" --grid 3 --boards --paper $paper --large-print "${link[@]}"
    bytes "$folder/some.txt" --grid 3 --boards --paper $paper --booklet "${link[@]}"
    bytes "$folder/some.txt" --grid 3 --paper $paper --solutions none "${link[@]}"
    bytes "$folder/some.txt" --grid 3 --boards --steps 1 --paper $paper "${link[@]}"
done

if [ $# -gt 0 ]; then
    SHEETS="$1" cargo test --release --test sheet_again sheets_are -- --nocapture
fi
