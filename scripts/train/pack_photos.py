"""Packs the training half of the real photographs for find.py: python3 scripts/train/pack_photos.py PHOTOS LATTICES.jsonl OUT.npz

LATTICES.jsonl comes from `cut_cells` over the photographs: lattices of a first training on drawn pages alone, kept where the cells read
as the truth says. (The published outlines are coarse, and some are those of another crop.)
"""

import json
import pathlib
import sys

import numpy as np
from PIL import Image, ImageOps

STORE = 960


def main(photos, found, out):
    pages, lattices = [], []
    for line in pathlib.Path(found).read_text().splitlines():
        truth = json.loads(line)
        with Image.open(pathlib.Path(photos) / truth["photo"]) as image:
            luma = ImageOps.exif_transpose(image).convert("L")
        scale = STORE / max(luma.size)
        size = [round(side * scale) for side in luma.size]
        page = np.full((STORE, STORE), 128, np.uint8)
        page[: size[1], : size[0]] = np.asarray(luma.resize(size, Image.BOX if scale < 1 else Image.BILINEAR))
        pages.append(page)
        lattices.append((np.array(truth["lattice"]) + 0.5) * scale - 0.5)
    np.savez_compressed(out, pages=np.array(pages), lattices=np.array(lattices, np.float32))
    print(len(pages), "photos")


if __name__ == "__main__":
    main(*sys.argv[1:])
