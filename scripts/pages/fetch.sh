#!/bin/sh
# Fetches what the page generator needs (fonts, handwritten digits) into scripts/pages/.cache, by pinned versions and checksums.
# PYTHON names the interpreter (python3 where it isn't set).
set -eu
cd "$(dirname "$0")"
"${PYTHON:-python3}" fetch_fonts.py
"${PYTHON:-python3}" fetch_digits.py
