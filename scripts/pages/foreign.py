"""Things that look like our grids and aren't: other sizes, other rules, plain tables, windows into larger lattices."""
import numpy as np

import fonts
from canvas import Canvas
from digits import draw_digits
from grid import Block, draw_shades, lines_of

KINDS = ("4x4", "6x6", "12x12", "16x16", "irregular", "table9", "table10", "window")
SHARES = (0.1, 0.1, 0.1, 0.1, 0.2, 0.14, 0.1, 0.16)     # what is nearest to a grid of ours most often


def latin(rng, size, box_rows, box_cols):
    """A filled grid of the size, by shifting rows and shuffling within bands."""
    rows = [b * box_rows + r for b in rng.permutation(size // box_rows) for r in rng.permutation(box_rows)]
    cols = [b * box_cols + c for b in rng.permutation(size // box_cols) for c in rng.permutation(box_cols)]
    symbols = rng.permutation(size)
    return np.array([[symbols[(box_cols * (r % box_rows) + r // box_rows + c) % size] for c in cols] for r in rows])


def corners_of(x, y, width, height):
    return np.array([[x, y], [x + width, y], [x + width, y + height], [x, y + height]], np.float64)


def table(canvas, rng, style, x, y, size, count, box_rows, box_cols, symbols, share):
    """A lattice of count x count cells with heavier lines every box_rows, box_cols (0: none) and a share of the cells printed."""
    pitch = size / count
    share_px, middle = fonts.digit_height(style.font)
    face_size = min(style.digit_share, 0.62 if count > 9 else 0.85) * pitch / share_px
    face = fonts.sized(style.font, face_size)
    widest = max(face.getlength(s) for s in symbols)
    if widest > 0.88 * pitch:
        face_size *= 0.88 * pitch / widest
        face = fonts.sized(style.font, face_size)
    values = latin(rng, count, max(box_rows, 1), max(box_cols, 1)) if box_rows and len(symbols) >= count else rng.integers(len(symbols), size=(count, count))
    for row in range(count):
        for col in range(count):
            if box_rows and style.shade in ("corners", "cross") and (row // box_rows + col // box_cols) % 2 == 0:
                canvas.fill(x + col * pitch, y + row * pitch, x + (col + 1) * pitch, y + (row + 1) * pitch, style.shade_tint)
            if rng.random() < share:
                text = symbols[values[row, col]]
                canvas.text(x + (col + 0.5) * pitch - face.getlength(text) / 2, y + (row + 0.5) * pitch + middle * face_size, text, face, style.digit_ink, "ls")
    inner, heavy = max(style.inner_width * pitch, 0.6), max(style.box_width * pitch, 0.9)
    dash = tuple(max(1.0, d * pitch) for d in style.inner_dash) if style.inner_dash else None
    for i in range(count + 1):
        edge = i in (0, count)
        for upright, step in ((True, box_cols), (False, box_rows)):
            strong = (step and i % step == 0) or (edge and step)
            start, origin = (y, x) if upright else (x, y)
            canvas.rule(upright, origin + i * pitch, start - heavy / 2 * edge, start + size + heavy / 2 * edge, heavy if strong else inner,
                        style.box_ink if strong else style.inner_ink, None if strong or edge else dash)


def regions(rng):
    """Nine connected regions of nine cells: the 3x3 boxes after random trades across borders, until 4 to 40 cells lie in another region."""
    boxes = np.array([[3 * (r // 3) + c // 3 for c in range(9)] for r in range(9)])
    region, wanted = boxes.copy(), int(rng.integers(4, 41))

    def joined(name):
        cells = set(map(tuple, np.argwhere(region == name)))
        seen, todo = set(), [next(iter(cells))]
        while todo:
            r, c = todo.pop()
            if (r, c) in seen:
                continue
            seen.add((r, c))
            todo += [p for p in ((r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1)) if p in cells]
        return len(seen) == len(cells)

    def touches(cell, name):
        r, c = cell
        return any(0 <= a < 9 and 0 <= b < 9 and region[a, b] == name for a, b in ((r + 1, c), (r - 1, c), (r, c + 1), (r, c - 1)))

    while (region != boxes).sum() < wanted:
        one, two = tuple(rng.integers(0, 9, 2)), tuple(rng.integers(0, 9, 2))
        first, second = region[one], region[two]
        if first == second or not (touches(one, second) and touches(two, first)):
            continue
        region[one], region[two] = second, first
        if not (joined(first) and joined(second)):
            region[one], region[two] = first, second
    return region


def draw_regions(canvas, style, x, y, size, region):
    pitch = size / 9
    heavy = max(style.box_width * pitch, 1.5)
    for r in range(9):
        for c in range(9):
            if r and region[r, c] != region[r - 1, c]:
                canvas.rule(False, y + r * pitch, x + c * pitch - heavy / 2, x + (c + 1) * pitch + heavy / 2, heavy, style.box_ink)
            if c and region[r, c] != region[r, c - 1]:
                canvas.rule(True, x + c * pitch, y + r * pitch - heavy / 2, y + (r + 1) * pitch + heavy / 2, heavy, style.box_ink)


def foreign_block(rng, size, style, kind, givens):
    """A block of about size x size px with one foreign thing; `givens` fills the 9x9 kinds."""
    margin = max(4, int(size * 0.03))
    block = Block(Canvas(size, size))
    inside = size - 2 * margin
    canvas, x = block.canvas, float(margin)
    digits = [str(d) for d in range(1, 10)]
    share = float(rng.choice((rng.uniform(0.25, 0.55), 1.0), p=(0.75, 0.25)))
    if kind == "irregular":
        # Rows and columns as other regions leave them: digits that keep to the boxes as well are as good as never printed so.
        rows, columns = rng.permutation(9), rng.permutation(9)
        givens = "".join(givens[9 * row + column] for row in rows for column in columns)
        xs = lines_of(x, inside / 9, 0)
        if rng.random() < 0.3:
            draw_shades(canvas, style, xs, xs, 0.0, givens, rng)
        across = (xs[:-1] + xs[1:]) / 2
        draw_digits(canvas, style, across, across, inside / 9, inside / 9, givens, rng)
        heavy, style_inner = max(style.box_width * inside / 9, 1.2), max(style.inner_width * inside / 9, 0.6)
        for i in range(10):
            for upright in (True, False):
                canvas.rule(upright, xs[i], xs[0], xs[9], heavy if i in (0, 9) else style_inner, style.box_ink if i in (0, 9) else style.inner_ink)
        draw_regions(canvas, style, x, x, inside, regions(rng))
    elif kind in ("table9", "table10"):
        table(canvas, rng, style, x, x, inside, 9 if kind == "table9" else 10, 0, 0, digits + ["0"], share)
    elif kind == "window":      # overlapping grids: a lattice of 15 to 21 lines with boxes throughout
        count = int(rng.choice((12, 15, 18, 21)))
        table(canvas, rng, style, x, x, inside, count, 3, 3, digits, share)
        kind = f"{count}x{count}"
    else:
        count = int(kind.split("x")[0])
        rows, cols = {4: (2, 2), 6: (2, 3), 12: (3, 4), 16: (4, 4)}[count]
        symbols = digits[:count] if count < 10 else ([str(d) for d in range(1, count + 1)] if rng.random() < 0.5 else (digits + list("ABCDEFG0"))[:count])
        table(canvas, rng, style, x, x, inside, count, rows, cols, symbols, share)
    block.foreign.append((kind, corners_of(x, x, inside, inside)))
    return block
