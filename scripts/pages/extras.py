"""Marks of other rules on a 9x9 grid already printed: further diagonals and windows, cages, and signs in cells and on the lines between them."""
import numpy as np

import fonts
from canvas import Canvas


def draw_extras(canvas, rng, style, grid, rules):
    """Adds the marks of one of EXTRAS and notes it in the grid's truth."""
    grid.rules = rules
    lattice = grid.lattice
    EXTRAS[rules](canvas, rng, style, lattice, lattice[0, 1, 0] - lattice[0, 0, 0])


def diagonals(canvas, rng, style, lattice, pitch):
    width = max(1.0, pitch * float(rng.uniform(0.02, 0.05)))
    for a, b in ((lattice[0, 0], lattice[9, 9]), (lattice[0, 9], lattice[9, 0])):
        stroke(canvas, a, b, width, style.inner_ink, 0.8)


def cages(canvas, rng, style, lattice, pitch):
    """Dashed outlines round groups of cells, with their sums."""
    taken = np.zeros((9, 9), int)
    sums = fonts.sized(style.font, max(5.0, pitch * 0.24))
    dash, inset = (pitch * 0.1, pitch * 0.07), 0.08
    for r in range(9):
        for c in range(9):
            if taken[r, c] or rng.random() < 0.25:
                continue
            long = int(rng.integers(1, 4))
            level = rng.random() < 0.5
            cells = [(r, c + k) if level else (r + k, c) for k in range(long)]
            if any(a > 8 or b > 8 or taken[a, b] for a, b in cells):
                continue
            for a, b in cells:
                taken[a, b] = 1
            low, high = lattice[r, c] + inset * pitch, lattice[cells[-1][0] + 1, cells[-1][1] + 1] - inset * pitch
            for at in (low[0], high[0]):
                canvas.rule(True, at, low[1], high[1], max(0.8, pitch * 0.02), style.inner_ink, dash)
            for at in (low[1], high[1]):
                canvas.rule(False, at, low[0], high[0], max(0.8, pitch * 0.02), style.inner_ink, dash)
            canvas.text(low[0] + 1, low[1] + 1, str(int(rng.integers(3, 25))), sums, style.digit_ink, "lt")


def windows(canvas, rng, style, lattice, pitch):
    sheet = Canvas(canvas.width, canvas.height)
    tint = pale(rng, style)
    for r in (1, 5):
        for c in (1, 5):
            sheet.fill(*lattice[r, c], *lattice[r + 3, c + 3], tint)
    canvas.lay(0, 0, sheet.pixels)


def parity(canvas, rng, style, lattice, pitch):
    """Discs or squares behind the digits of cells that are odd or even."""
    sheet, tint = Canvas(canvas.width, canvas.height), pale(rng, style)
    manner, reach = str(rng.choice(("discs", "squares", "both", "cells"))), float(rng.uniform(0.32, 0.45)) * pitch
    for cell in rng.permutation(81)[:int(rng.integers(10, 43))]:
        x, y = middle(lattice, *divmod(cell, 9))
        if manner == "cells":
            sheet.fill(*lattice[divmod(cell, 9)], *lattice[cell // 9 + 1, cell % 9 + 1], tint)
        elif manner == "discs" or manner == "both" and rng.random() < 0.5:
            sheet.disc(x, y, reach, tint)
        else:
            sheet.fill(x - reach, y - reach, x + reach, y + reach, tint)
    canvas.lay(0, 0, sheet.pixels)


def dots(canvas, rng, style, lattice, pitch):
    """Discs, filled or open, on lines between cells."""
    radius, width, filled = float(rng.uniform(0.05, 0.14)) * pitch, max(1.0, 0.02 * pitch), float(rng.choice((0.0, 0.5, 1.0), p=(0.3, 0.5, 0.2)))
    for x, y, _ in borders(rng, lattice, 8, 60):
        canvas.disc(x, y, radius, style.box_ink)
        if rng.random() >= filled:
            canvas.disc(x, y, radius - width, (255, 255, 255))


def bars(canvas, rng, style, lattice, pitch):
    """Short bars across lines between cells, or along them, filled or open."""
    long, wide = float(rng.uniform(0.12, 0.3)) * pitch, float(rng.uniform(0.05, 0.1)) * pitch
    ink = style.box_ink if rng.random() < 0.6 else pale(rng, style, 0.35)
    if rng.random() < 0.5:
        long, wide = wide, long
    line = max(0.8, float(rng.uniform(0.01, 0.03)) * pitch) if rng.random() < 0.4 else 0.0
    for x, y, upright in borders(rng, lattice, 10, 50):
        across, down = (long, wide) if upright else (wide, long)
        canvas.fill(x - across, y - down, x + across, y + down, ink)
        if line:
            canvas.fill(x - across + line, y - down + line, x + across - line, y + down - line, (255, 255, 255))


def signs(canvas, rng, style, lattice, pitch):
    """Signs for less and greater on lines between cells."""
    size, width = float(rng.uniform(0.08, 0.15)) * pitch, max(1.0, float(rng.uniform(0.02, 0.05)) * pitch)
    within = rng.random() < 0.6
    for x, y, upright in borders(rng, lattice, 20, 108, within):
        side = size if rng.random() < 0.5 else -size
        tip, tail = ((side, 0), (-side, size)) if upright else ((0, side), (size, -side))
        other = (tail[0], -tail[1]) if upright else (-tail[0], tail[1])
        if rng.random() < 0.8:
            canvas.disc(x, y, size * 1.25, (255, 255, 255))
        for end in (tail, other):
            stroke(canvas, np.array([x + tip[0], y + tip[1]]), np.array([x + end[0], y + end[1]]), width, style.box_ink)


def letters(canvas, rng, style, lattice, pitch):
    """Numerals on lines between cells whose digits have such a sum."""
    face = fonts.sized(style.font, max(5.0, float(rng.uniform(0.13, 0.34)) * pitch))
    bare = rng.random() < 0.3
    signs = (("X", "V"), ("x", "v"))[rng.integers(2)]
    for x, y, _ in borders(rng, lattice, 6, 40):
        if not bare:
            canvas.disc(x, y, 0.15 * pitch, (255, 255, 255))
        canvas.text(x, y, str(rng.choice(signs)), face, style.digit_ink, "mm")


def corners(canvas, rng, style, lattice, pitch):
    """Discs with small digits where four cells meet."""
    radius, face = float(rng.uniform(0.15, 0.25)) * pitch, fonts.sized(style.font, max(4.0, 0.14 * pitch))
    for n in rng.permutation(64)[:int(rng.integers(4, 20))]:
        x, y = lattice[n // 8 + 1, n % 8 + 1]
        canvas.disc(x, y, radius, style.inner_ink)
        canvas.disc(x, y, radius - max(0.8, 0.015 * pitch), (255, 255, 255))
        digits = sorted(str(d) for d in rng.permutation(np.arange(1, 10))[:int(rng.integers(1, 5))])
        for row, part in enumerate((digits[:2], digits[2:])):
            canvas.text(x, y + (row - 0.5 * (len(digits) > 2)) * 0.17 * pitch, "".join(part), face, style.digit_ink, "mm")


def lines(canvas, rng, style, lattice, pitch):
    """Broad lines along cells, from a bulb, from a ring with an arrow's head at the other end, or plain."""
    sheet, tint = Canvas(canvas.width, canvas.height), pale(rng, style)
    manner, width = str(rng.choice(("bulb", "arrow", "plain"))), float(rng.uniform(0.05, 0.35)) * pitch
    if manner == "arrow":
        tint, width = pale(rng, style, 0.5), max(1.0, 0.04 * pitch)
    taken, bulb = np.zeros((9, 9), bool), float(rng.uniform(0.3, 0.42)) * pitch
    for _ in range(int(rng.integers(2, 14))):
        r, c = (int(n) for n in rng.integers(0, 9, 2))
        path = []
        for _ in range(int(rng.integers(3, 8))):
            if not (0 <= r < 9 and 0 <= c < 9) or taken[r, c]:
                break
            taken[r, c] = True
            path.append(middle(lattice, r, c))
            down, right = ((0, 1), (1, 0), (0, -1), (-1, 0), (1, 1), (-1, 1))[rng.integers(6)]
            r, c = r + down, c + right
        if len(path) < 2:
            continue
        for a, b in zip(path, path[1:]):
            stroke(sheet, a, b, width, tint)
        for x, y in path[1:-1]:
            sheet.disc(x, y, width / 2, tint)
        (x, y), end = path[0], path[-1]
        if manner != "plain":
            sheet.disc(x, y, bulb, tint)
        if manner == "arrow":
            sheet.disc(x, y, bulb - width, (255, 255, 255))
            back = (path[-2] - end) / np.hypot(*(path[-2] - end)) * 0.2 * pitch
            for turn in (np.array([-back[1], back[0]]), np.array([back[1], -back[0]])):
                stroke(sheet, end, end + back + turn, width, tint)
    canvas.lay(0, 0, sheet.pixels)


def stroke(canvas, a, b, width, ink, strength=1.0):
    along = (b - a) / np.hypot(*(b - a))
    side = np.array([-along[1], along[0]]) * width / 2
    canvas.polygon([a + side, b + side, b - side, a - side], ink, strength)


def middle(lattice, row, column):
    return (lattice[row, column] + lattice[row + 1, column + 1]) / 2


def borders(rng, lattice, least, most, within=False):
    """Some of the 144 sides that two cells share: (x, y) of their middles and whether the line is upright; `within` leaves out sides of boxes."""
    sides = [(r, c, upright) for upright in (True, False) for r in range(9) for c in range(8)]
    sides = [side for side in sides if not within or side[1] % 3 != 2]
    for n in rng.permutation(len(sides))[:int(rng.integers(least, most + 1))]:
        r, c, upright = sides[n]
        ends = (lattice[r, c + 1], lattice[r + 1, c + 1]) if upright else (lattice[c + 1, r], lattice[c + 1, r + 1])
        x, y = (ends[0] + ends[1]) / 2
        yield float(x), float(y), upright


def pale(rng, style, strength=None):
    """A tint of the design's lines, light enough for digits to stand on."""
    strength = float(rng.uniform(0.12, 0.4)) if strength is None else strength
    return tuple(int(255 - (255 - ink) * strength) for ink in style.box_ink)


EXTRAS = {"diagonal": diagonals, "cages": cages, "windows": windows, "parity": parity, "dots": dots, "bars": bars, "signs": signs, "letters": letters, "corners": corners,
          "lines": lines}
