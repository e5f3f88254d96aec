"""Draws a page as a view sees it, through a mesh of pieces small enough to be straight."""
import numpy as np
from PIL import Image, ImageDraw

MESH = 32    # photo px between mesh corners, before pieces that bend too much are cut in four, twice at most


def corner_grid(view, size):
    """Page px [rows, cols, 2] at a grid of places in the photo, and the grid's xs and ys.

    xs and ys are edges between photo px, so page px belong to (x - 0.5, y - 0.5).
    """
    width, height = size
    xs = np.append(np.arange(0, width, MESH), width)
    ys = np.append(np.arange(0, height, MESH), height)
    corners = np.stack(np.meshgrid(xs, ys), -1).reshape(-1, 2) - 0.5
    return xs, ys, view.unwarp(corners).reshape(len(ys), len(xs), 2)


def pieces(view, xs, ys, source):
    """Boxes [N, 4] (x0, y0, x1, y1 in photo px) and the page px of their corners [N, 4, 2]: top left, bottom left, bottom right, top
    right. Bilinear reading between the corners errs by less than 0.06 photo px, except across the sharpest creases."""
    x, y = np.meshgrid(xs[:-1], ys[:-1])
    ahead, below = np.meshgrid(xs[1:], ys[1:])
    boxes = np.stack([x, y, ahead, below], -1).reshape(-1, 4)
    quads = np.stack([source[:-1, :-1], source[1:, :-1], source[1:, 1:], source[:-1, 1:]], 2).reshape(-1, 4, 2)
    done = []
    for _ in range(2):
        miss = np.abs(view.warp(quads.mean(1)) + 0.5 - (boxes[:, :2] + boxes[:, 2:]) / 2).max(1)
        bad = (miss > 0.06) & (np.diff(boxes[:, ::2])[:, 0] >= 8) & (np.diff(boxes[:, 1::2])[:, 0] >= 8)
        done.append((boxes[~bad], quads[~bad]))
        boxes, quads = boxes[bad], quads[bad]
        if not len(boxes):
            break
        x0, y0, x1, y1 = boxes.T
        cut = [x0, (x0 + x1) // 2, x1], [y0, (y0 + y1) // 2, y1]
        nodes = np.stack([np.stack([cut[0][i], cut[1][j]], 1) for j in range(3) for i in range(3)], 1)    # [N, 9, 2], rows first
        share = (nodes - boxes[:, None, :2]) / (boxes[:, None, 2:] - boxes[:, None, :2])
        u, v = share[..., :1], share[..., 1:]
        guess = quads[:, None, 0] * (1 - u) * (1 - v) + quads[:, None, 1] * (1 - u) * v + quads[:, None, 2] * u * v + quads[:, None, 3] * u * (1 - v)
        at = view.unwarp(nodes.reshape(-1, 2) - 0.5, guess).reshape(-1, 9, 2)
        starts = (0, 1, 3, 4)
        boxes = np.concatenate([np.concatenate([nodes[:, k], nodes[:, k + 4]], 1) for k in starts])
        quads = np.concatenate([at[:, [k, k + 3, k + 4, k + 1]] for k in starts])
    done.append((boxes, quads))
    return np.concatenate([d[0] for d in done]), np.concatenate([d[1] for d in done])


def box_outline(x0, y0, x1, y1, count=40):
    """Points [4 * count, 2] round a box, clockwise from its top left."""
    share = np.arange(count)[:, None] / count
    turns = np.array([[x0, y0], [x1, y0], [x1, y1], [x0, y1], [x0, y0]], np.float64)
    return np.concatenate([a * (1 - share) + b * share for a, b in zip(turns, turns[1:])])


def render(pixels, offset, view, size, level):
    """The page as the view sees it: (RGB image, page px at mesh corners [rows, cols, 2], mask L of where the sheet is).

    `offset` is where page px (0, 0) lies in `pixels`, which may be wider than the page.
    """
    xs, ys, source = corner_grid(view, size)
    full = source + offset
    rows, cols = pixels.shape[:2]
    low = np.floor(np.clip(full.reshape(-1, 2).min(0) - 4, 0, [cols - 2, rows - 2])).astype(int)
    high = np.ceil(np.clip(full.reshape(-1, 2).max(0) + 5, low + 2, [cols, rows])).astype(int)
    part = Image.fromarray(pixels[low[1]:high[1], low[0]:high[0]])
    # Page px for a photo px, along x and y of the page, where the page is in view; shrinking the page first averages what would alias.
    inside = ((full > low - 1) & (full < high + 1)).all(-1)
    across = np.gradient(full, xs, axis=1), np.gradient(full, ys, axis=0)
    ratio = np.hypot(*across)[inside] if inside.any() else np.ones((1, 2))
    small = np.ceil(np.array(part.size) / np.clip(np.median(ratio, 0) / 1.15, 1, None)).astype(int).clip(2)
    grown = small / np.array(part.size)
    if (grown < 1).any():
        part = part.resize(tuple(small.tolist()), Image.Resampling.BICUBIC, reducing_gap=2.0)
    border = 3
    part = Image.fromarray(np.pad(np.asarray(part), ((border, border), (border, border), (0, 0)), "edge"))
    boxes, quads = pieces(view, xs, ys, source)
    quads = (quads + offset + 0.5 - low) * grown + border
    seen = ((quads.max(1) > 0) & (quads.min(1) < part.size)).all(1)
    mesh = [(tuple(box), quad) for box, quad in zip(boxes[seen].tolist(), quads[seen].reshape(-1, 8).tolist())]
    crisp = level in ("clean", "plain")    # others are blurred anyway, and bilinear reading takes half the time
    image = part.transform(size, Image.Transform.MESH, mesh, Image.Resampling.BICUBIC if crisp else Image.Resampling.BILINEAR)
    x0, y0 = -0.5 - offset
    border = np.clip(view.warp(box_outline(x0, y0, x0 + cols, y0 + rows)), -20000, 20000)
    mask = Image.new("L", size)
    ImageDraw.Draw(mask).polygon([tuple(p) for p in border], 255)
    return image, source, mask
