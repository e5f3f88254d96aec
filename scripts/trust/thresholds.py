"""What a threshold on `confidence` would let through: python3 scripts/trust/thresholds.py ROWS.jsonl...

ROWS.jsonl comes from `judge_pages --rows` over pages that nothing was trained on, lifted with a low `grid` threshold in
models/thresholds.json. Prints, for each threshold, the grids accepted, those of them that are wrong, and the exact binomial upper bound (Clopper
and Pearson 1934) of the share of wrong ones at 95 % confidence; then the least threshold without a wrong grid, which is what
models/thresholds.json should hold (rounded up).
"""

import json
import math
import sys

LEVELS = (0.98, 0.985, 0.99, 0.9925, 0.995, 0.9975, 0.999, 0.9995)


def upper_bound(wrong, accepted, doubt=0.05):
    """The share p at which `wrong` or fewer of `accepted` would be seen with probability `doubt`."""
    if accepted == 0:
        return 1.0
    low, high = wrong / accepted, 1.0
    for _ in range(60):
        middle = (low + high) / 2
        below = sum(math.comb(accepted, k) * middle**k * (1 - middle) ** (accepted - k) for k in range(wrong + 1))
        low, high = (middle, high) if below > doubt else (low, middle)
    return high


def main(files):
    rows = [json.loads(line) for file in files for line in open(file)]
    proven = [row for row in rows if row["verdict"] == "proven"]
    mix = {}
    for row in rows:
        mix[row["folder"]] = mix.get(row["folder"], 0) + 1
    print("grids read:", ", ".join(f"{count} of {folder}" for folder, count in sorted(mix.items())))
    best = None
    for level in LEVELS:
        accepted = [row for row in proven if row["confidence"] >= level]
        wrong = sum(not row["exact"] for row in accepted)
        print(f"confidence >= {level}: {len(accepted)} accepted, {wrong} wrong, wrong among proven below {100 * upper_bound(wrong, len(accepted)):.2f} % at 95 % confidence")
        if wrong == 0 and best is None:
            best = level
    print("least threshold without a wrong grid:", best)


if __name__ == "__main__":
    main(sys.argv[1:])
