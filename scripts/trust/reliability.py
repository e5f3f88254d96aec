"""Draws how far probabilities can be trusted: python3 scripts/trust/reliability.py OUT.svg ROWS.jsonl...

ROWS.jsonl comes from `judge_pages --rows` over pages that nothing was trained on. Left: cells read with less than 0.999, in 15 bins of equal width,
with their expected calibration error (Guo et al. 2017). Right: `confidence` of whole grids in five bins of equal numbers, each with the
interval in which 95 % of such bins fall if it is true (normal approximation to the binomial, of the mean of the grids' own variances). Prints the same.
"""

import json
import math
import sys

BINS, GRID_BINS = 15, 5
SIDE, MARGIN = 300, 46


def cell_bins(cells):
    """(said, right, count) of each bin that holds cells."""
    bins = [[] for _ in range(BINS)]
    for p, right in cells:
        bins[min(BINS - 1, int(p * BINS))].append((p, right))
    return [(sum(p for p, _ in part) / len(part), sum(right for _, right in part) / len(part), len(part)) for part in bins if part]


def grid_bins(grids):
    """(said, right, count, half the width of the 95 % interval) of each fifth of the grids, by rising confidence."""
    grids = sorted(grids)
    bins = []
    for k in range(GRID_BINS):
        part = grids[k * len(grids) // GRID_BINS : (k + 1) * len(grids) // GRID_BINS]
        said, right = (sum(column) / len(part) for column in zip(*part))
        spread = math.sqrt(sum(p * (1 - p) for p, _ in part)) / len(part)
        bins.append((said, right, len(part), 1.96 * spread))
    return bins


def plot(left, title, points):
    """One diagram; points are (said, right, radius, half interval)."""
    def x(p):
        return left + MARGIN + p * SIDE

    def y(p):
        return MARGIN + (1 - p) * SIDE

    parts = [f'<text x="{x(0)}" y="{MARGIN - 16}">{title}</text>', f'<path fill="none" d="M{x(0)} {y(1)}V{y(0)}H{x(1)}M{x(0)} {y(0)}L{x(1)} {y(1)}" stroke="#999"/>']
    for tick in (0, 0.5, 1):
        parts.append(f'<text x="{x(tick)}" y="{y(0) + 18}" text-anchor="middle">{tick}</text><text x="{x(0) - 8}" y="{y(tick) + 4}" text-anchor="end">{tick}</text>')
    parts.append(f'<text x="{x(0.5)}" y="{y(0) + 36}" text-anchor="middle">probability said</text>')
    parts.append(f'<text transform="translate({x(0) - 32} {y(0.5)}) rotate(-90)" text-anchor="middle">share right</text>')
    for said, right, radius, half in points:
        if half:
            parts.append(f'<path fill="none" d="M{x(said):.1f} {y(min(1, said + half)):.1f}V{y(max(0, said - half)):.1f}" stroke="#0072b2" stroke-width="5" opacity=".35"/>')
        parts.append(f'<circle cx="{x(said):.1f}" cy="{y(right):.1f}" r="{radius:.1f}" fill="#0072b2"/>')
    return "".join(parts)


def main(out, files):
    rows = [json.loads(line) for file in files for line in open(file)]
    cells = [cell for row in rows for cell in row["unsure"]]
    # A reading that breaks a rule has no confidence.
    grids = [(row["confidence"], row["exact"]) for row in rows if row["open"] and row["confidence"] > 0]
    by_cell, by_grid = cell_bins(cells), grid_bins(grids)
    error = sum(abs(said - right) * count for said, right, count in by_cell) / len(cells)
    title = f"{len(cells)} cells below 0.999: error {100 * error:.1f} %"
    print(title)
    for said, right, count in by_cell:
        print(f"  said {said:.3f}, right {right:.3f}, {count} cells")
    print(f"{len(grids)} grids by confidence")
    for said, right, count, half in by_grid:
        print(f"  said {said:.3f}, right {right:.3f}, {count} grids, {'within' if abs(said - right) <= half else 'outside'} {said:.3f} ± {half:.3f}")
    most = max(count for _, _, count in by_cell)
    svg = plot(0, title, [(said, right, 2 + 6 * math.sqrt(count / most), 0) for said, right, count in by_cell])
    svg += plot(SIDE + 2 * MARGIN, f"confidence of {len(grids)} grids", [(said, right, 4, half) for said, right, _, half in by_grid])
    width, height = 2 * SIDE + 4 * MARGIN, SIDE + 2 * MARGIN + 8
    with open(out, "w") as file:
        file.write(f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width} {height}" font-family="sans-serif" font-size="13" fill="none">'
                   f'<title>Reliability of cells and of whole grids</title><rect width="{width}" height="{height}" fill="#fff"/>'
                   f'<g fill="#222">{svg}</g></svg>\n')


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2:])
