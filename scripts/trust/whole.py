"""Fits the confidence of whole grids: python3 scripts/trust/whole.py ROWS.jsonl...

ROWS.jsonl comes from `judge_pages --rows` over pages for tuning, lifted with `whole_slope` 1 and `whole_level` 0 in models/thresholds.json: `confidence` is
then what independent cells would give. Cells of one page fail together, so whole grids are right more often than that says. Prints the slope and the level of
the logistic fit in log odds (Platt 1999), by Newton's method.
"""
import json
import math
import sys

LEAST = 1e-9


def log_odds(p):
    p = min(max(p, LEAST), 1 - LEAST)
    return math.log(p / (1 - p))


def fit(points):
    """`points` are (log odds, whether it was right)."""
    slope, level = 1.0, 0.0
    for _ in range(300):
        gradient, curve = [0.0, 0.0], [[1e-3, 0.0], [0.0, 1e-3]]
        for x, right in points:
            p = 1 / (1 + math.exp(-min(max(slope * x + level, -40), 40)))
            for i, a in enumerate((x, 1.0)):
                gradient[i] += (right - p) * a
                for j, b in enumerate((x, 1.0)):
                    curve[i][j] += p * (1 - p) * a * b
        (a, b), (_, d) = curve
        scale = 0.5 / (a * d - b * b)
        slope += scale * (d * gradient[0] - b * gradient[1])
        level += scale * (a * gradient[1] - b * gradient[0])
    return slope, level


def main(files):
    rows = [json.loads(line) for file in files for line in open(file)]
    rows = [row for row in rows if row["open"] and row["verdict"] in ("proven", "doubtful") and row["confidence"] > 1e-6]
    slope, level = fit([(log_odds(row["confidence"]), row["exact"]) for row in rows])
    print(f"{len(rows)} grids, {sum(not row['exact'] for row in rows)} not exactly right: whole_slope {slope:.2f}, whole_level {level:.2f}")


if __name__ == "__main__":
    main(sys.argv[1:])
