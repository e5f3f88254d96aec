"""Makes drawn pages with exact truth: `python3 scripts/pages/generate.py --seed 1 --count 100 --level rough --out DIR`.

Writes DIR/000001.jpg (named by seed) and DIR/truth.jsonl, one object a page as `make` gives it.
"""
import argparse
import json
import multiprocessing
import os

import numpy as np
from PIL import Image

import camera
from page import compose

LEVELS = ("clean", "plain", "rough", "harsh")
# Where a cell is probed for being covered or outside the photo: shares of the cell from its top left corner.
PROBES = np.array([[x, y] for y in (0.25, 0.5, 0.75) for x in (0.25, 0.5, 0.75)])


def hidden_cells(grid, photo):
    """For each of 81 cells, True where 4 or more of 9 probes lie under a thing or outside the photo."""
    lattice = grid.lattice
    corner = lattice[:9, :9].reshape(81, 1, 2)
    right = lattice[:9, 1:].reshape(81, 1, 2) - corner
    down = lattice[1:, :9].reshape(81, 1, 2) - corner
    points = photo.warp((corner + right * PROBES[None, :, :1] + down * PROBES[None, :, 1:]).reshape(-1, 2))
    hidden = np.asarray(photo.covered(points), bool) | ~inside(points, photo.image)
    return hidden.reshape(81, 9).sum(1) >= 4


def inside(points, image, margin=0.0):
    height, width = image.shape[:2]
    return (points[:, 0] >= margin - 0.5) & (points[:, 1] >= margin - 0.5) & (points[:, 0] <= width - 0.5 - margin) & (points[:, 1] <= height - 0.5 - margin)


def rounded(points):
    return np.round(points, 2).tolist()


def grid_truth(grid, photo):
    """The JSON form of one grid in photo px; None when less than a sixth of its crossings is in the photo."""
    points = photo.warp(grid.lattice.reshape(-1, 2))
    seen = inside(points, photo.image)
    if seen.mean() < 1 / 6:
        return None
    cells = list(grid.cells)
    for cell in np.flatnonzero(hidden_cells(grid, photo)):
        cells[cell] = "x"
    label, label_box = grid.label, None
    if label:
        corners = photo.warp(grid.label_corners)
        low, high = corners.min(0), corners.max(0)
        if inside(corners, photo.image).all() and not np.any(photo.covered(np.vstack([corners, corners.mean(0, keepdims=True)]))):
            label_box = np.round([*low, *(high - low)], 1).tolist()
        else:
            label = None
    return {"lattice": rounded(points.reshape(10, 10, 2)), "turn": grid.turn, "label": label, "label_box": label_box, "givens": grid.givens,
            "entries": "".join(grid.entries), "marks": [{"cell": f"r{c // 9 + 1}c{c % 9 + 1}", "digits": d} for c, d in sorted(grid.marks.items())],
            "cells": cells, "solution": grid.solution, "solved": grid.solved, "whole": bool(seen.all()), "rules": grid.rules, "misprint": grid.misprint}


def make(seed, level, heldout=False, misprint=None, layout=None):
    """One photo: (uint8 [H, W, 3], truth). The same arguments give the same pixels.

    `heldout` draws print fonts that training never sees; `misprint` ('equal', 'wrong', 'missing') spoils the first grid; `layout` fixes
    the kind of page (page.LAYOUTS). Truth is in photo px, pixel centres at whole numbers; grids are listed in the order of printing.
    """
    rng = np.random.default_rng([seed, LEVELS.index(level), int(heldout)])
    page = compose(rng, level, heldout, misprint, layout)
    photo = camera.photograph(page.block.canvas.pixels, rng, level, focus=page.focus)
    return photo.image, {"photo": "", "seed": seed, "level": level, "layout": page.layout, **describe(page.block, photo)}


def describe(block, photo):
    """Size of the photo, grids and foreign things of a page, in photo px."""
    height, width = photo.image.shape[:2]
    foreign = []
    for kind, corners in block.foreign:
        points = photo.warp(corners)
        if points[:, 0].max() > 0 and points[:, 1].max() > 0 and points[:, 0].min() < width and points[:, 1].min() < height:
            foreign.append({"kind": kind, "corners": rounded(points)})
    grids = [truth for truth in (grid_truth(grid, photo) for grid in block.grids) if truth]
    return {"width": width, "height": height, "grids": grids, "foreign": foreign}


def write_one(job):
    seed, level, heldout, folder, ending = job
    image, truth = make(seed, level, heldout)
    truth["photo"] = f"{seed:06d}.{ending}"
    Image.fromarray(image).save(os.path.join(folder, truth["photo"]), **({"quality": 92} if ending == "jpg" else {}))
    return json.dumps(truth, separators=(",", ":"), ensure_ascii=False)


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--seed", type=int, default=1, help="the first seed; pages take this one and those after it")
    parser.add_argument("--count", type=int, default=10)
    parser.add_argument("--level", choices=(*LEVELS, "all"), default="plain")
    parser.add_argument("--out", required=True)
    parser.add_argument("--jobs", type=int, default=1)
    parser.add_argument("--format", choices=("jpg", "png"), default="jpg")
    parser.add_argument("--heldout", action="store_true", help="draw only fonts that training never sees")
    options = parser.parse_args()
    os.makedirs(options.out, exist_ok=True)
    levels = LEVELS if options.level == "all" else (options.level,)
    jobs = [(seed, levels[seed % len(levels)], options.heldout, options.out, options.format) for seed in range(options.seed, options.seed + options.count)]
    with open(os.path.join(options.out, "truth.jsonl"), "w") as out:
        if options.jobs == 1:
            lines = map(write_one, jobs)
            out.writelines(line + "\n" for line in lines)
        else:
            with multiprocessing.Pool(options.jobs) as pool:
                out.writelines(line + "\n" for line in pool.imap(write_one, jobs, chunksize=4))


if __name__ == "__main__":
    main()
