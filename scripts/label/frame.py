"""A grid's surroundings and the lines of text in them, flattened by its lattice; `src/label/surroundings.rs` does the same.

A place near a grid is told in cells of its lattice, (0, 0) at its top left crossing and (9, 9) at its bottom right, rows as printed.
Each row and column is taken as the parabola that comes nearest to it, and beyond the rim the lattice goes on as its outermost three cells run.
"""
import numpy as np
from PIL import Image

MARGIN = 2.5        # cells of paper around the grid
PITCH = 16          # px a cell in the flattened surroundings
SIDE = int((9 + 2 * MARGIN) * PITCH)
REACH = 3           # whole cells by which the lattice is continued (the program goes farther, for lines that begin beyond the margin)
STRIP = 32          # height of a flattened line of text, px
INK = 22            # of which the text itself, from top to bottom
PAD = 10            # px before and behind it


_BASES = np.polynomial.polynomial.polyvander(np.arange(10) - 4.5, 2)
SMOOTH = _BASES @ np.linalg.pinv(_BASES)    # [10, 10]: ten places in a row to the parabola that comes nearest to them


def continued(lattice):
    """[16, 16, 2]: the lattice [10, 10, 2] with three more crossings at each side; index 3 is the first of its own."""
    def grow(points):
        points = np.tensordot(SMOOTH, points, 1)
        step_before, step_after = (points[0] - points[3]) / 3, (points[9] - points[6]) / 3
        before = [points[0] + step_before * k for k in (3, 2, 1)]
        after = [points[9] + step_after * k for k in (1, 2, 3)]
        return np.concatenate([before, points, after])

    return grow(grow(lattice).swapaxes(0, 1)).swapaxes(0, 1)


def place(wide, cells):
    """Page px [..., 2] of places in cells [..., 2] (x, y) on a continued lattice."""
    at = np.clip(np.asarray(cells, np.float64) + REACH, 0, 14.999)
    x, y = at[..., 0].astype(int), at[..., 1].astype(int)
    fx, fy = (at[..., 0] - x)[..., None], (at[..., 1] - y)[..., None]
    upper = wide[y, x] * (1 - fx) + wide[y, x + 1] * fx
    lower = wide[y + 1, x] * (1 - fx) + wide[y + 1, x + 1] * fx
    return upper * (1 - fy) + lower * fy


def cells_of(wide, points):
    """Places in cells of page px [N, 2]: Newton's method on the continued lattice; far points end at its rim."""
    at = np.full((len(points), 2), 4.5)
    for _ in range(12):
        here = place(wide, at)
        across = (place(wide, at + [0.01, 0]) - here) / 0.01
        down = (place(wide, at + [0, 0.01]) - here) / 0.01
        miss = points - here
        area = across[:, 0] * down[:, 1] - across[:, 1] * down[:, 0]
        area = np.where(np.abs(area) < 1e-6, 1e-6, area)
        at = at + np.stack([miss[:, 0] * down[:, 1] - miss[:, 1] * down[:, 0], across[:, 0] * miss[:, 1] - across[:, 1] * miss[:, 0]], 1) / area[:, None]
        at = np.clip(at, -REACH + 0.01, 9 + REACH - 0.02)
    return at


def sampled(gray, spots, step):
    """Brightness u8 of `gray` [H, W] at page px `spots` [h, w, 2]; `step` page px lie between neighbours, and are averaged first."""
    height, width = gray.shape
    low = np.clip(np.floor(spots.reshape(-1, 2).min(0)) - 2 * step - 1, 0, [width - 1, height - 1]).astype(int)
    high = np.clip(np.ceil(spots.reshape(-1, 2).max(0)) + 2 * step + 2, low + 1, [width, height]).astype(int)
    part = gray[low[1]:high[1], low[0]:high[0]]
    scale = min(1.15 / step, 1.0)
    size = np.maximum(1, np.round((high - low) * scale)).astype(int)
    if tuple(size) != (part.shape[1], part.shape[0]):
        part = np.asarray(Image.fromarray(part).resize(tuple(size.tolist()), Image.Resampling.BOX))
    at = (spots - low + 0.5) * (size / (high - low)) - 0.5
    x, y = np.clip(at[..., 0], 0, size[0] - 1), np.clip(at[..., 1], 0, size[1] - 1)
    left, top = x.astype(int), y.astype(int)
    right, bottom = np.minimum(left + 1, size[0] - 1), np.minimum(top + 1, size[1] - 1)
    fx, fy = x - left, y - top
    part = part.astype(np.float32)
    upper = part[top, left] * (1 - fx) + part[top, right] * fx
    lower = part[bottom, left] * (1 - fx) + part[bottom, right] * fx
    return (upper * (1 - fy) + lower * fy + 0.5).astype(np.uint8)


def pitch_of(lattice):
    a, b, c, d = lattice[0, 0], lattice[0, 9], lattice[9, 9], lattice[9, 0]
    return float(np.linalg.norm([a - b, b - c, c - d, d - a], axis=1).sum() / 36)


def surroundings(gray, lattice):
    """u8 [SIDE, SIDE]: the grid in its surroundings."""
    axis = (np.arange(SIDE) + 0.5) / PITCH - MARGIN
    spots = place(continued(lattice), np.stack(np.meshgrid(axis, axis), -1))
    return sampled(gray, spots, pitch_of(lattice) / PITCH)


def strip(gray, lattice, box, turn, margin=0):
    """u8 [STRIP + 2 margin, W]: the line of text in `box` (left, top, right, bottom in cells), which reads to the right (turn 0), downwards
    (90) or upwards (270), upright, with PAD + margin px before and behind it."""
    left, top, right, bottom = box
    high, long = (bottom - top, right - left) if turn == 0 else (right - left, bottom - top)
    step = max(high, 1e-3) / INK
    width = int(np.ceil(long / step)) + 2 * (PAD + margin)
    along = (np.arange(width) + 0.5 - PAD - margin) * step
    across = (np.arange(STRIP + 2 * margin) + 0.5 - (STRIP - INK) / 2 - margin) * step
    u, v = np.meshgrid(along, across)
    x, y = {0: (left + u, top + v), 90: (right - v, top + u), 270: (left + v, bottom - u)}[turn]
    return sampled(gray, place(continued(lattice), np.stack([x, y], -1)), pitch_of(lattice) * step)
