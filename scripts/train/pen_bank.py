"""Draws handwritten digits for classify.py to write onto cells: python3 scripts/train/pen_bank.py OUT.npz [WRITERS] [SEED]

The writers are those of scripts/pages/hands.py. OUT holds `alpha` u8 [writers, 9, 4, 32, 32] (four tries at each digit, centred, at the size
at which that writer fills a cell image) and `ink` u8 [writers, 3] (RGB).
"""

import pathlib
import sys

import numpy as np
from PIL import Image

sys.path.insert(0, str(pathlib.Path(__file__).parent.parent / "pages"))
from hands import Hand  # noqa: E402

SIDE = 32
CELL = 25.0  # of the 32 samples, the rest is context


def centred(alpha):
    picture = Image.fromarray(alpha)
    if max(picture.size) > SIDE:
        picture.thumbnail((SIDE, SIDE), Image.BOX)
    canvas = Image.new("L", (SIDE, SIDE))
    canvas.paste(picture, ((SIDE - picture.width) // 2, (SIDE - picture.height) // 2))
    return np.asarray(canvas)


def main(out, writers=600, seed=1):
    alpha = np.zeros((int(writers), 9, 4, SIDE, SIDE), np.uint8)
    ink = np.zeros((int(writers), 3), np.uint8)
    for w in range(int(writers)):
        rng = np.random.default_rng([int(seed), w])
        hand = Hand(rng)
        size = CELL * rng.uniform(0.45, 0.95)
        for digit in range(1, 10):
            for take in range(4):
                mask, colour = hand.digit(rng, digit, size)
                alpha[w, digit - 1, take] = centred(np.asarray(mask, np.uint8))
        ink[w] = colour
    np.savez_compressed(out, alpha=alpha, ink=ink)
    print(out, alpha.shape)


if __name__ == "__main__":
    main(*sys.argv[1:])
