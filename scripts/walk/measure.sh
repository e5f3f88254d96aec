#!/bin/sh
# Walks every set that the README's figures speak of: 1,000 random minimal puzzles, 200 hard ones, those of the photographs and of the table
# of people's times. Say where the shared data lies, if not in ../shared:  sh scripts/walk/measure.sh [SHARED]
set -eu
shared=${1:-../shared}
folder=$(mktemp -d)
trap 'rm -r "$folder"' EXIT
cargo build --release --quiet --example make_puzzles
target/release/examples/make_puzzles random 1000 1 > "$folder/random"
target/release/examples/make_puzzles hard 200 1 > "$folder/hard"
sed 's/.*"givens": *"\([^"]*\)".*/\1/' "$shared/photos/truth.jsonl" | sort -u > "$folder/photos"
cut -f 1 "$shared/human_times/times.tsv" | tail -n +2 > "$folder/human_times"
for set in random hard photos human_times; do
    echo "== $set"
    cargo bench --quiet --bench walk -- "$folder/$set"
done
