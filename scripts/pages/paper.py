"""The stuff a page is printed on: paper colour and grain, uneven ink, print showing through; and what befell it later."""
import numpy as np
from PIL import Image, ImageFilter

from furniture import cloud

PAPERS = (((255, 255, 255), 0.42), ((250, 247, 238), 0.16), ((232, 229, 220), 0.17), ((222, 218, 205), 0.08), ((250, 225, 205), 0.04),
          ((225, 238, 245), 0.04), ((246, 240, 200), 0.04), ((228, 242, 225), 0.03), ((245, 225, 235), 0.02))


def weak_ink(rng, canvas, level):
    """Ink that doesn't cover fully, evenly or in clouds; and ink that spreads in cheap paper."""
    pixels = canvas.pixels
    draw = rng.random()
    if level != "clean" and draw < 0.12:
        canvas.pixels = np.asarray(Image.fromarray(pixels).filter(ImageFilter.GaussianBlur(float(rng.uniform(0.5, 1.1)))))
        pixels = canvas.pixels = canvas.pixels.copy()
    if rng.random() < 0.5:
        strength = float(rng.uniform(0.55, 0.95)) if level != "clean" else float(rng.uniform(0.8, 1.0))
        table = (255 - (255 - np.arange(256)) * strength + 0.5).astype(np.uint8)
        canvas.pixels = table[pixels]
    if level in ("rough", "harsh") and rng.random() < 0.2:
        patchy = 1 - cloud(rng, canvas.width, canvas.height, 9) * float(rng.uniform(0.1, 0.45))
        canvas.pixels = (255 - (255 - canvas.pixels) * patchy[..., None]).astype(np.uint8)


def show_through(rng, canvas, level):
    """The back of the sheet: a mirrored, blurred, pale print (this page's own, turned over)."""
    if rng.random() > {"clean": 0.05, "plain": 0.15, "rough": 0.25, "harsh": 0.35}[level]:
        return
    small = Image.fromarray(canvas.pixels).convert("L").reduce(2)
    back = small.transpose(Image.Transpose.FLIP_LEFT_RIGHT if rng.random() < 0.7 else Image.Transpose.FLIP_TOP_BOTTOM)
    back = back.filter(ImageFilter.GaussianBlur(float(rng.uniform(0.6, 2.0)))).resize((canvas.width, canvas.height), Image.Resampling.BILINEAR)
    dx, dy = (int(v) for v in rng.integers(-40, 41, 2))
    strength = float(rng.uniform(0.03, 0.14))
    table = (255 - (255 - np.arange(256)) * strength + 0.5).astype(np.uint8)
    shifted = np.roll(np.asarray(back), (dy, dx), (0, 1))
    canvas.pixels = (canvas.pixels.astype(np.uint16) * table[shifted][..., None] // 255).astype(np.uint8)


def colour_paper(rng, canvas, level):
    colours, shares = zip(*PAPERS)
    colour = np.array(colours[rng.choice(len(colours), p=np.array(shares) / sum(shares))], np.float32)
    newsprint = colour.max() < 240
    if rng.random() < 0.2:
        colour = np.clip(colour + rng.integers(-8, 5, 3), 0, 255)
    grain = float(rng.uniform(2, 7)) if newsprint else float(rng.uniform(0, 2.5))
    tile = rng.normal(0, grain, (257, 263)).astype(np.float32)
    if newsprint:
        tile = (tile + np.roll(tile, 1, 0) + np.roll(tile, 1, 1)) / 1.7
    height, width = canvas.pixels.shape[:2]
    tile = np.tile(np.clip(255 + tile - 2 * grain, 0, 255).astype(np.uint8), (height // 257 + 1, width // 263 + 1))[:height, :width]
    sheet = canvas.pixels.astype(np.uint16) * tile[..., None] // 255
    canvas.pixels = (sheet * colour.astype(np.uint16) // 255).astype(np.uint8)


def print_on_paper(rng, canvas, level):
    weak_ink(rng, canvas, level)
    show_through(rng, canvas, level)
    colour_paper(rng, canvas, level)


def spill(rng, canvas, x, y, size):
    """A coffee ring or a greasy patch that darkens the paper a little, or a rubbed-out smear that greys it."""
    kind = rng.integers(3)
    side = int(size)
    ys, xs = np.mgrid[0:side, 0:side].astype(np.float32)
    centre = (side - 1) / 2
    away = np.hypot(xs - centre, ys - centre) / (side / 2)
    if kind == 0:
        mask = np.exp(-((away - 0.8) / 0.06) ** 2) * 0.35 + (away < 0.8) * 0.06
        canvas.stain(x, y, (mask * (0.4 + 0.6 * cloud(rng, side, side, 5))).astype(np.float32), (120, 80, 40))
    elif kind == 1:
        mask = np.clip(1 - away, 0, 1) * cloud(rng, side, side, 4) * float(rng.uniform(0.1, 0.4))
        canvas.stain(x, y, mask.astype(np.float32), (150, 130, 90))
    else:
        mask = np.clip(1.2 - away, 0, 1) * np.clip(cloud(rng, side, max(2, side), 3) - 0.3, 0, 1) * float(rng.uniform(0.2, 0.6))
        canvas.stain(x, y, mask.astype(np.float32), (110, 110, 115))


def staple(rng, canvas, x, y, size):
    angle = float(rng.uniform(0, np.pi))
    along, side = np.array([np.cos(angle), np.sin(angle)]) * size / 2, np.array([-np.sin(angle), np.cos(angle)]) * max(1.0, size * 0.04)
    at = np.array([x, y])
    canvas.polygon([at - along + side * 2, at + along + side * 2, at + along + side * 3.5, at - along + side * 3.5], (90, 90, 90), 0.4)
    canvas.polygon([at - along + side, at + along + side, at + along - side, at - along - side], (170, 172, 178))


def glue_strip(rng, canvas, grid):
    """Sticks a strip of paper over some cells; they can't be read any more and become `x`."""
    lattice = grid.lattice
    pitch = float(lattice[0, 1, 0] - lattice[0, 0, 0])
    long, short = int(rng.integers(1, 5)), 1
    rows, cols = (short, long) if rng.random() < 0.5 else (long, short)
    row, col = int(rng.integers(0, 10 - rows)), int(rng.integers(0, 10 - cols))
    low, high = lattice[row, col] - rng.uniform(0, 0.1, 2) * pitch, lattice[row + rows, col + cols] + rng.uniform(0, 0.1, 2) * pitch
    shade = tuple(int(v) for v in rng.integers(190, 256, 3))
    canvas.fill(low[0] + 2, low[1] + 2, high[0] + 2.5, high[1] + 2.5, (60, 60, 60), 0.3)
    canvas.fill(low[0], low[1], high[0], high[1], shade)
    for r in range(row, row + rows):
        for c in range(col, col + cols):
            grid.cells[9 * r + c] = "x"
