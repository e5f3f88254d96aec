"""Draws the digits that classify.py prints and writes onto cells: python3 scripts/train/pen_bank.py OUT.npz [WRITERS] [SEED]

The writers are those of scripts/pages/hands.py, the fonts those that are not held out, the samples all scanned digits. OUT holds
`alpha` u8 [writers, 9, 4, 48, 48] (four tries at each digit, centred, at the size at which that writer fills a cell image), `ink` u8 [writers, 3]
(RGB), `samples` u8 [N, 32, 32] (20 px high) with `digits` u8 [N], and `glyphs` u8 [fonts, 9, 72, 72] (digits 45 px high, on their baseline).
"""

import multiprocessing
import os
import pathlib
import sys

import numpy as np
from PIL import Image, ImageDraw

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "pages"))
import fonts  # noqa: E402
import hands  # noqa: E402

SIDE = 48
CELL = 37.5  # of the 48 samples, the rest is context
GLYPH_SIDE, GLYPH_HEIGHT = 72, 45


def centred(alpha):
    picture = Image.fromarray(alpha)
    if max(picture.size) > SIDE:
        picture.thumbnail((SIDE, SIDE), Image.BOX)
    canvas = Image.new("L", (SIDE, SIDE))
    canvas.paste(picture, ((SIDE - picture.width) // 2, (SIDE - picture.height) // 2))
    return np.asarray(canvas)


def written(job):
    """One writer's digits [9, 4, 48, 48] and ink."""
    rng = np.random.default_rng(job)
    hand = hands.Hand(rng)
    size = CELL * rng.uniform(0.45, 0.95)
    tries = [[hand.digit(rng, digit, size) for _ in range(4)] for digit in range(1, 10)]
    return [[centred(np.asarray(mask, np.uint8)) for mask, _ in row] for row in tries], tries[-1][-1][1]


def printed(file):
    """One font's digits [9, 72, 72]."""
    share, middle = fonts.digit_height(file)
    size = GLYPH_HEIGHT / share
    pictures = []
    for digit in "123456789":
        picture = Image.new("L", (GLYPH_SIDE, GLYPH_SIDE))
        ImageDraw.Draw(picture).text((GLYPH_SIDE / 2, GLYPH_SIDE / 2 + middle * size), digit, 255, fonts.sized(file, size), anchor="ms")
        pictures.append(np.asarray(picture))
    return pictures


def main(out, writers=600, seed=1):
    with multiprocessing.Pool(max(1, (os.cpu_count() or 2) - 1)) as pool:
        pens = pool.map(written, [[int(seed), w] for w in range(int(writers))], chunksize=10)
        glyphs = pool.map(printed, fonts.shelf(False)[0])
    alpha, ink = (np.array(part, np.uint8) for part in zip(*pens))
    pictures = hands.samples()
    digits = np.concatenate([np.full(len(part), digit, np.uint8) for digit, part in pictures.items()])
    samples = np.pad(np.concatenate(list(pictures.values())), ((0, 0), (2, 2), (2, 2)))
    np.savez_compressed(out, alpha=alpha, ink=ink, samples=samples, digits=digits, glyphs=np.array(glyphs, np.uint8))
    print(out, alpha.shape, samples.shape, len(glyphs), "fonts")


if __name__ == "__main__":
    main(*sys.argv[1:])
