"""Makes drawn pages with exact truth: `python3 scripts/pages/generate.py --seed 1 --count 100 --level rough --out DIR`.

Writes DIR/000001.jpg (named by seed; further shots of the page are DIR/000001.1.jpg and so on) and DIR/truth.jsonl, one object a page as `make` gives it.
"""
import argparse
import json
import multiprocessing
import os

import numpy as np
from PIL import Image

import camera
from page import LAYOUTS, compose

LEVELS = ("clean", "plain", "rough", "harsh")
MISPRINTS = ("equal", "wrong", "missing", "added")
# Where a cell is probed for being covered or outside the photo: shares of the cell from its top left corner.
PROBES = np.array([[x, y] for y in (0.25, 0.5, 0.75) for x in (0.25, 0.5, 0.75)])


class View:
    """A photo together with the page's own edges: what is off the page or off the photo can't be seen."""

    def __init__(self, photo, page_width, page_height):
        self.photo = photo
        self.page = (page_width, page_height)
        self.size = photo.image.shape[1::-1]

    def warp(self, points):
        """Page px to photo px, and for each point whether it is on the page and in the photo."""
        moved = np.asarray(self.photo.warp(points))
        return moved, inside(points, *self.page) & inside(moved, *self.size)

    def seen(self, points):
        """For each point of the page, whether it is in the photo and nothing lies over it."""
        moved, there = self.warp(points)
        return there & ~np.asarray(self.photo.covered(moved), bool)


def rolled_over(grid, photo):
    """True where the paper bends so far that some cell is seen from behind: its truth would lie under other paper."""
    lattice = photo.warp(grid.lattice.reshape(-1, 2)).reshape(10, 10, 2)
    across, down = lattice[:9, 1:] - lattice[:9, :9], lattice[1:, :9] - lattice[:9, :9]
    return bool((across[..., 0] * down[..., 1] - across[..., 1] * down[..., 0] <= 0).any())


def inside(points, width, height):
    return (points[:, 0] >= -0.5) & (points[:, 1] >= -0.5) & (points[:, 0] <= width - 0.5) & (points[:, 1] <= height - 0.5)


def hidden_cells(grid, view):
    """For each of 81 cells, True where 4 or more of 9 probes lie under a thing, off the page or outside the photo."""
    lattice = grid.lattice
    corner = lattice[:9, :9].reshape(81, 1, 2)
    right = lattice[:9, 1:].reshape(81, 1, 2) - corner
    down = lattice[1:, :9].reshape(81, 1, 2) - corner
    seen = view.seen((corner + right * PROBES[None, :, :1] + down * PROBES[None, :, 1:]).reshape(-1, 2))
    return seen.reshape(81, 9).sum(1) <= 5


def rounded(points):
    return np.round(points, 2).tolist()


def grid_truth(grid, view):
    """The JSON form of one grid in photo px; None when less than a sixth of its crossings can be in the photo."""
    points, there = view.warp(grid.lattice.reshape(-1, 2))
    if there.mean() < 1 / 6:
        return None
    cells = list(grid.cells)
    for cell in np.flatnonzero(hidden_cells(grid, view)):
        cells[cell] = "x"
    label, label_box, label_corners = grid.label, None, None
    if label:
        if view.seen(np.vstack([grid.label_corners, grid.label_corners.mean(0, keepdims=True)])).all():
            corners = view.warp(grid.label_corners)[0]
            label_box = np.round([*corners.min(0), *np.ptp(corners, 0)], 1).tolist()
            # As one reads it: top left, top right, bottom right, bottom left.
            label_corners = rounded(np.roll(corners, -{0: 0, 90: 1, 270: 3}[grid.label_turn], 0))
        else:
            label = None
    return {"lattice": rounded(points.reshape(10, 10, 2)), "gap": round(grid.gap, 3), "turn": grid.turn, "label": label, "label_box": label_box, "label_corners": label_corners, "givens": grid.givens,
            "entries": "".join(grid.entries), "marks": [{"cell": f"r{c // 9 + 1}c{c % 9 + 1}", "digits": d} for c, d in sorted(grid.marks.items())],
            "cells": cells, "solution": grid.solution, "solved": grid.solved, "whole": bool(there.all()), "rules": grid.rules, "misprint": grid.misprint}


def make(seed, level, heldout=False, misprint=None, layout=None, shot=0, others=0.0, apart=0.0):
    """One photo: (uint8 [H, W, 3], truth). The same arguments give the same pixels; another `shot` is another photo of the same page.

    `heldout` draws print fonts that training never sees; `misprint` ('equal', 'wrong', 'missing', 'added') spoils the first grid; `layout` fixes
    the kind of page (page.LAYOUTS); `others` is the least share of puzzles with other rules, `apart` the least gap between boxes in cells. Truth is in photo px, pixel centres at whole numbers; grids are listed in the order of printing.
    """
    rng = np.random.default_rng([seed, LEVELS.index(level), int(heldout)])
    page = compose(rng, level, heldout, misprint, layout, others, apart)
    if shot:
        rng = np.random.default_rng([seed, LEVELS.index(level), int(heldout), shot])
    for _ in range(8):
        photo = camera.photograph(page.block.canvas.pixels, rng, level, focus=page.focus)
        if not any(rolled_over(grid, photo) for grid in page.block.grids):
            break
    return photo.image, {"photo": "", "seed": seed, "level": level, "layout": page.layout, **describe(page.block, photo)}


def describe(block, photo):
    """Size of the photo, grids and foreign things of a page, in photo px; foreign things of which a quarter can be seen."""
    view = View(photo, block.canvas.width, block.canvas.height)
    foreign = []
    for kind, corners in block.foreign:
        across, down = np.meshgrid(np.linspace(0, 1, 5), np.linspace(0, 1, 5))
        inner = corners[0] + across.reshape(-1, 1) * (corners[1] - corners[0]) + down.reshape(-1, 1) * (corners[3] - corners[0])
        if view.warp(inner)[1].mean() >= 0.25:
            foreign.append({"kind": kind, "corners": rounded(view.warp(corners)[0])})
    grids = [truth for truth in (grid_truth(grid, view) for grid in block.grids) if truth]
    return {"width": view.size[0], "height": view.size[1], "grids": grids, "foreign": foreign}


def write_one(job):
    seed, level, heldout, misprint, layout, shot, others, apart, folder, ending = job
    image, truth = make(seed, level, heldout, misprint, layout, shot, others, apart)
    truth["photo"] = f"{seed:06d}{f'.{shot}' if shot else ''}.{ending}"
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
    parser.add_argument("--misprint", choices=(*MISPRINTS, "all"), help="spoil the first puzzle of each page")
    parser.add_argument("--layout", choices=LAYOUTS, help="the kind of page; else all kinds come")
    parser.add_argument("--others", type=float, default=0.0, metavar="SHARE", help="the least share of puzzles with other rules")
    parser.add_argument("--apart", type=float, default=0.0, metavar="GAP", help="the least gap between boxes, in cells: at most 0.6")
    parser.add_argument("--heldout", action="store_true", help="draw only fonts that training never sees")
    parser.add_argument("--shots", type=int, default=1, help="photos of each page; the first is the one that is made alone")
    options = parser.parse_args()
    os.makedirs(options.out, exist_ok=True)
    levels = LEVELS if options.level == "all" else (options.level,)
    spoils = MISPRINTS if options.misprint == "all" else (options.misprint,)
    jobs = [(seed, levels[seed % len(levels)], options.heldout, spoils[seed // len(levels) % len(spoils)], options.layout, shot, options.others, options.apart, options.out, options.format)
            for seed in range(options.seed, options.seed + options.count) for shot in range(options.shots)]
    with open(os.path.join(options.out, "truth.jsonl"), "w") as out:
        if options.jobs == 1:
            lines = map(write_one, jobs)
            out.writelines(line + "\n" for line in lines)
        else:
            with multiprocessing.Pool(options.jobs) as pool:
                out.writelines(line + "\n" for line in pool.imap(write_one, jobs, chunksize=4))


if __name__ == "__main__":
    main()
