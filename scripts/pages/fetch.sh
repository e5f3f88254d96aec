#!/bin/sh
# Fetches what the page generator needs (fonts, handwritten digits) into scripts/pages/.cache, by pinned versions and checksums.
set -eu
cd "$(dirname "$0")"
python3 fetch_fonts.py
python3 fetch_digits.py
