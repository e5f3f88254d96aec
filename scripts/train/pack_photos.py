"""Packs the training half of the real photographs for find.py: python3 scripts/train/pack_photos.py PHOTOS OUT.npz

Takes `printed/` and `filled/` with an even image number (the odd ones and `folded/` only report) where the outer corners are known.
"""

import json
import pathlib
import re
import sys

import numpy as np
from PIL import Image

STORE = 960


def homography(corners):
    square = [(0, 0), (9, 0), (9, 9), (0, 9)]
    rows, right = [], []
    for (x, y), (u, v) in zip(square, corners):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
        right += [u, v]
    return np.append(np.linalg.solve(np.array(rows, float), np.array(right, float)), 1).reshape(3, 3)


def flat_lattice(corners):
    x, y = np.meshgrid(np.arange(10), np.arange(10))
    moved = np.stack([x, y, np.ones_like(x)], -1) @ homography(corners).T
    return moved[..., :2] / moved[..., 2:]


def main(photos, out):
    photos = pathlib.Path(photos)
    pages, lattices = [], []
    for line in (photos / "truth.jsonl").read_text().splitlines():
        truth = json.loads(line)
        folder, number = re.fullmatch(r"(\w+)/image(\d+)\.jpg", truth["photo"]).groups()
        if folder not in ("printed", "filled") or int(number) % 2 or "corners" not in truth:
            continue
        with Image.open(photos / truth["photo"]) as image:
            luma = image.convert("L")
        scale = STORE / max(luma.size)
        size = [round(side * scale) for side in luma.size]
        page = np.full((STORE, STORE), 128, np.uint8)
        page[: size[1], : size[0]] = np.asarray(luma.resize(size, Image.BOX if scale < 1 else Image.BILINEAR))
        pages.append(page)
        lattices.append((flat_lattice(truth["corners"]) + 0.5) * scale - 0.5)
    np.savez_compressed(out, pages=np.array(pages), lattices=np.array(lattices, np.float32))
    print(len(pages), "photos")


if __name__ == "__main__":
    main(*sys.argv[1:])
