"""Draws one 9x9 grid of printed digits and keeps the truth about it."""
from dataclasses import dataclass, field

import numpy as np
from PIL import Image

import digits
import fonts
import typed
from canvas import Canvas, cover, turn_pixels, turn_points
from puzzles import PEERS

SHADES = {
    "none": lambda r, c: False,
    "corners": lambda r, c: (r // 3 + c // 3) % 2 == 0,
    "cross": lambda r, c: (r // 3 + c // 3) % 2 == 1,
    "centre": lambda r, c: r // 3 == 1 and c // 3 == 1,
    "diagonal": lambda r, c: r == c or r + c == 8,
    "checker": lambda r, c: (r + c) % 2 == 0,
    "rows": lambda r, c: r % 2 == 1,
    "columns": lambda r, c: c % 2 == 1,
    "all": lambda r, c: True,
}


@dataclass
class Grid:
    """The truth about one grid. `lattice` is [10, 10, 2] px, row 0 being the top as printed; `cells` as in truth.jsonl."""
    lattice: np.ndarray
    givens: str
    solution: str
    label: str | None = None
    label_corners: np.ndarray | None = None
    label_turn: int = 0     # how far the label is turned clockwise against its grid
    turn: int = 0
    entries: list = field(default_factory=lambda: ["."] * 81)
    marks: dict = field(default_factory=dict)
    cells: list = field(default_factory=list)
    solved: bool = False
    rules: str = "plain"
    misprint: dict | None = None
    dark: bool = False      # printed on dark: nobody writes there
    gap: float = 0.0        # between boxes, share of the cell

    def __post_init__(self):
        if not self.cells:
            self.cells = list(self.givens)

    def moved(self, move):
        """Applies a map of points to the lattice and the label's corners."""
        self.lattice = move(self.lattice.reshape(-1, 2)).reshape(10, 10, 2)
        if self.label_corners is not None:
            self.label_corners = move(self.label_corners)

    def cell(self, row, col):
        """The middle [2], width and height of a cell of a grid that isn't turned yet, without the gap beside its box, px."""
        corner, other = self.lattice[row, col], self.lattice[row + 1, col + 1]
        ends = [np.array([first in (3, 6), first in (2, 5)]) for first in (col, row)]
        gap = self.gap / 2 * (self.lattice[9, 9] - self.lattice[0, 0]) / (9 + 2 * self.gap)
        low, high = corner + gap * [ends[0][0], ends[1][0]], other - gap * [ends[0][1], ends[1][1]]
        return (low + high) / 2, *(float(side) for side in high - low)

    def box(self):
        """x, y, width, height of the lattice, px."""
        low, high = self.lattice.reshape(-1, 2).min(0), self.lattice.reshape(-1, 2).max(0)
        return [float(low[0]), float(low[1]), float(high[0] - low[0]), float(high[1] - low[1])]


@dataclass
class Block:
    """A printed piece with what is in it: `foreign` is a list of (kind, corners [4, 2])."""
    canvas: Canvas
    grids: list = field(default_factory=list)
    foreign: list = field(default_factory=list)

    def turned(self, turn):
        if turn == 0:
            return self
        width, height = self.canvas.width, self.canvas.height
        self.moved(lambda points: turn_points(points, turn, width, height))
        for grid in self.grids:
            grid.turn = (grid.turn + turn) % 360
        self.canvas.pixels = turn_pixels(self.canvas.pixels, turn)
        return self

    def moved(self, move):
        for grid in self.grids:
            grid.moved(move)
        self.foreign = [(kind, move(corners)) for kind, corners in self.foreign]

    def place(self, x, y, block):
        """Prints another block into this one, its top left pixel at (x, y), and takes over its truth."""
        x, y = int(x), int(y)
        block.moved(lambda points: points + np.array([x, y], np.float64))
        self.canvas.lay(x, y, block.canvas.pixels)
        self.grids += block.grids
        self.foreign += block.foreign


def gap_px(style, pitch):
    return style.gap * pitch


def lines_of(origin, pitch, gap):
    """Positions of the ten lattice lines; with a gap between boxes, the middle of the gap."""
    return np.array([origin + pitch * i + gap * (i // 3) - (gap / 2 if i in (3, 6) else gap if i == 9 else 0) for i in range(10)])


def cells_of(lines, gap):
    """Where the nine cells between such lines begin and end."""
    places = np.arange(9)
    return lines[:9] + gap / 2 * np.isin(places, (3, 6)), lines[1:] - gap / 2 * np.isin(places, (2, 5))


def lattice_of(xs, ys):
    return np.stack(np.meshgrid(xs, ys), -1).astype(np.float64)


def shade_cell(canvas, style, x0, y0, x1, y1, colour):
    """Tints one cell, solid or as the dots of a halftone screen."""
    if style.hatch:
        hatch(canvas, x0, y0, x1, y1, style, colour)
        return
    if not style.screen or sum(colour) > 740:
        canvas.fill(x0, y0, x1, y1, colour)
        return
    step = style.screen
    left, across = cover(x0, x1, canvas.width)
    top, down = cover(y0, y1, canvas.height)
    if not len(across) or not len(down):
        return
    xs, ys = left + np.arange(len(across)), top + np.arange(len(down))
    wave = np.add.outer(np.cos((ys * 0.8 + 0.0) * 2 * np.pi / step), np.cos((xs * 0.8) * 2 * np.pi / step)) / 2
    depth = 1 - sum(colour) / 765
    dots = np.clip((wave - (1 - 2.6 * depth)) * 2.5 + 0.5, 0, 1) * np.outer(down, across)
    dark = np.asarray(colour, np.float32) * 0.55
    canvas.blend(left, top, dots.astype(np.float32), dark)


def draw_shades(canvas, style, xs, ys, gap, givens, rng):
    if style.band:
        wide = style.band * (xs[9] - xs[0]) / 9
        canvas.fill(xs[0] - wide, ys[0] - wide, xs[9] + wide, ys[9] + wide, style.band_ink)
        canvas.fill(xs[0], ys[0], xs[9], ys[9], (255, 255, 255))
    if style.shade == "cells":
        chosen = set(int(c) for c in rng.choice(81, int(rng.integers(1, 10)), replace=False))
        if rng.random() < 0.4:
            chosen = {39, 40, 41} if rng.random() < 0.5 else {10, 13, 16, 37, 40, 43, 64, 67, 70}
        shaded = lambda r, c: 9 * r + c in chosen
    else:
        shaded = SHADES[style.shade]
    (lefts, rights), (tops, bottoms) = cells_of(xs, gap), cells_of(ys, gap)
    for cell, char in enumerate(givens):
        row, col = divmod(cell, 9)
        given = style.cell_tint if char != "." else None
        ground = style.shade_tint if shaded(row, col) else None
        bounds = (lefts[col], tops[row], rights[col], bottoms[row])
        tint = given or ground
        if style.tile:
            inset, radius = (share * (bounds[2] - bounds[0]) for share in style.tile)
            if ground and given:    # a tile on a board
                shade_cell(canvas, style, *bounds, ground)
            if tint:
                tile(canvas, *bounds, inset, radius, tint)
        elif tint:
            shade_cell(canvas, style, *bounds, tint)
        if style.cell_frame:
            inset, radius, width = (share * (bounds[2] - bounds[0]) for share in style.cell_frame)
            within = tint or (255, 255, 255)
            tile(canvas, *bounds, inset, radius, style.inner_ink)
            tile(canvas, *bounds, inset + max(width, 0.7), max(radius - width, 0.0), within)


def draw_backdrop(canvas, style, xs, ys, rng):
    """A pale picture under the grid: round shapes or tints that pass into each other."""
    kind, colours = style.backdrop
    left, top, right, bottom = xs[0], ys[0], xs[9], ys[9]
    if kind == "shapes":
        for _ in range(int(rng.integers(2, 8))):
            radius = float(rng.uniform(0.08, 0.3)) * (right - left)
            canvas.disc(float(rng.uniform(left + radius, right - radius)), float(rng.uniform(top + radius, bottom - radius)), radius, colours[rng.integers(len(colours))])
        return
    steps, angle = 60, float(rng.uniform(0, 2 * np.pi))
    across, down = np.meshgrid((np.arange(steps) + 0.5) / steps - 0.5, (np.arange(steps) + 0.5) / steps - 0.5)
    share = np.clip(0.5 + across * np.cos(angle) + down * np.sin(angle), 0, 1)[..., None]
    tints = colours[0] * (1 - share) + np.asarray(colours[1]) * share
    low, high = (int(left), int(top)), (int(np.ceil(right)), int(np.ceil(bottom)))
    picture = Image.fromarray(tints.astype(np.uint8)).resize((high[0] - low[0], high[1] - low[1]), Image.Resampling.BILINEAR)
    canvas.lay(*low, np.asarray(picture))


def hatch(canvas, x0, y0, x1, y1, style, colour):
    """Slanting strokes over one cell, as old prints shade."""
    left, across = cover(x0, x1, canvas.width)
    top, down = cover(y0, y1, canvas.height)
    if not len(across) or not len(down):
        return
    step, lean = style.hatch[0] * (x1 - x0), style.hatch[1]
    xs, ys = left + np.arange(len(across)), top + np.arange(len(down))
    away = np.add.outer(ys * np.sin(lean), xs * np.cos(lean)) % step
    width = max(0.8, 0.2 * step)
    stroke = np.clip(width / 2 + 0.5 - np.abs(away - step / 2), 0, 1) * np.outer(down, across)
    canvas.blend(left, top, stroke.astype(np.float32), np.asarray(colour, np.float32) * 0.7)


def tile(canvas, left, top, right, bottom, inset, radius, colour):
    """A rectangle with round corners, so far within these bounds."""
    left, top, right, bottom = left + inset, top + inset, right - inset, bottom - inset
    canvas.fill(left + radius, top, right - radius, bottom, colour)
    canvas.fill(left, top + radius, right, bottom - radius, colour)
    if radius > 0.5:
        for x in (left + radius, right - radius):
            for y in (top + radius, bottom - radius):
                canvas.disc(x, y, radius, colour)


def draw_lines(canvas, style, xs, ys, pitch):
    """Inner lines, then box lines, then the frame. Widths below half a px are drawn paler, not thinner."""
    if style.typed is not None:
        typed.draw_lines(canvas, style, xs, ys, pitch)
        return
    gap = gap_px(style, pitch)
    inner = max(style.inner_width * pitch, 0.55)
    box = max(style.box_width * pitch, 0.8)
    dash = tuple(max(1.0, d * pitch) for d in style.inner_dash) if style.inner_dash else None
    for i in range(1, 9):
        if i % 3 and style.inner_drawn:
            for b in range(3):      # box by box, so that gaps stay white
                half = gap / 2
                for upright, at, along in ((True, xs[i], ys), (False, ys[i], xs)):
                    start = along[3 * b] + (half if b else 0)
                    end = along[3 * b + 3] - (half if b < 2 else 0)
                    canvas.rule(upright, at, start, end, inner, style.inner_ink, dash)
    thin_crossings = [(xs[i], ys[j]) for i in range(1, 9) for j in range(1, 9) if i % 3 or j % 3]
    if style.dots and style.inner_drawn:
        half, dark = style.dots * inner / 2, tuple(int(level * 0.7) for level in style.inner_ink)
        for x, y in thin_crossings:
            canvas.fill(x - half, y - half, x + half, y + half, dark)
    if style.crosses:
        arm = style.crosses * pitch
        for x, y in thin_crossings:
            canvas.rule(True, x, y - arm, y + arm, inner, style.inner_ink)
            canvas.rule(False, y, x - arm, x + arm, inner, style.inner_ink)
    for i in (3, 6):
        for upright, at, along in ((True, xs[i], ys), (False, ys[i], xs)):
            if gap:
                shifts, width = (-gap / 2, gap / 2), box
            elif style.box_double:
                shifts, width = (-box / 3, box / 3), box / 3
            else:
                shifts, width = (0,), box
            for shift in shifts:
                if not gap:
                    canvas.rule(upright, at + shift, along[0], along[9], width, style.box_ink)
                    continue
                for b in range(3):
                    start, end = along[3 * b] + (gap / 2 if b else 0), along[3 * b + 3] - (gap / 2 if b < 2 else 0)
                    canvas.rule(upright, at + shift, start - width / 2, end + width / 2, width, style.box_ink)
    draw_frame(canvas, style, xs, ys, pitch, inner, gap)


def draw_frame(canvas, style, xs, ys, pitch, inner, gap):
    left, right, top, bottom = xs[0], xs[9], ys[0], ys[9]
    if style.frame == "none":
        return
    width = inner if style.frame == "inner" else max(style.frame_width * pitch, 0.8)
    if style.frame == "rounded":
        radius = pitch * 0.3
        for at, upright in ((left, True), (right, True), (top, False), (bottom, False)):
            start, end = (top, bottom) if upright else (left, right)
            canvas.rule(upright, at, start + radius, end - radius, width, style.box_ink)
        for x, side_x in ((left + radius, -1), (right - radius, 1)):
            for y, side_y in ((top + radius, -1), (bottom - radius, 1)):
                canvas.corner(x, y, radius, width, style.box_ink, side_x, side_y)
        return
    shifts, part = ((-width / 3, width / 3), width / 3) if style.frame == "double" else ((0,), width)
    colour = style.inner_ink if style.frame == "inner" else style.box_ink
    for shift in shifts:
        low_x, high_x, low_y, high_y = left - shift, right + shift, top - shift, bottom + shift
        for at in (low_x, high_x):
            pieces = [(low_y, high_y)] if not gap else [(ys[3 * b] + (gap / 2 if b else 0), ys[3 * b + 3] - (gap / 2 if b < 2 else 0)) for b in range(3)]
            for start, end in pieces:
                canvas.rule(True, at, start - part / 2, end + part / 2, part, colour)
        for at in (low_y, high_y):
            pieces = [(low_x, high_x)] if not gap else [(xs[3 * b] + (gap / 2 if b else 0), xs[3 * b + 3] - (gap / 2 if b < 2 else 0)) for b in range(3)]
            for start, end in pieces:
                canvas.rule(False, at, start - part / 2, end + part / 2, part, colour)


def draw_grid(canvas, x, y, size, style, givens, solution, rng):
    """Prints a grid `size` px wide between the middles of its outer lines, top left crossing at (x, y); gives its Grid."""
    pitch = size / (9 + 2 * style.gap)
    gap = gap_px(style, pitch)
    xs, ys = lines_of(x, pitch, gap), lines_of(y, pitch * style.aspect, gap)
    if style.backdrop:
        draw_backdrop(canvas, style, xs, ys, rng)
    draw_shades(canvas, style, xs, ys, gap, givens, rng)
    draw_lines(canvas, style, xs, ys, pitch)
    across, down = (sum(cells_of(lines, gap)) / 2 for lines in (xs, ys))
    digits.draw_digits(canvas, style, across, down, pitch, pitch * style.aspect, givens, rng)
    on_dark = style.shade == "all" and sum(style.shade_tint) < 330
    grid = Grid(lattice_of(xs, ys), givens, solution, solved="." not in givens, gap=style.gap, dark=on_dark)
    if style.headings:
        draw_headings(canvas, style, grid)
    if style.pencilled and not grid.solved:
        digits.draw_pencilled(canvas, style, grid, rng)
    if style.letters and not grid.solved:
        draw_letters(canvas, style, grid, rng)
    if style.rings and not grid.solved:
        draw_rings(canvas, style, grid, rng)
    return grid


def draw_rings(canvas, style, grid, rng):
    """Prints rings round cells, mostly empty ones, that a contest asks for."""
    width = grid.cell(0, 0)[1]
    line = max(0.8, width * float(rng.uniform(0.012, 0.04)))
    ink = style.inner_ink if rng.random() < 0.5 else style.digit_ink
    cells = [c for c in range(81) if grid.givens[c] == "." or rng.random() < 0.03]
    for cell in rng.choice(cells, int(rng.integers(2, 10)), replace=False):
        middle, *_ = grid.cell(*divmod(int(cell), 9))
        canvas.ring(*middle, style.rings * width, line, ink)


def headings_room(style, pitch):
    """The room that the names of columns and rows take at each side they stand at, px."""
    return 0 if not style.headings else int(np.ceil((style.headings[1] + style.headings[2] + 0.1) * pitch))


def draw_headings(canvas, style, grid):
    """Prints the names of columns above and of rows to the left, or at both sides."""
    kind, size, away, both = style.headings
    width = grid.cell(0, 0)[1]
    face, off = fonts.sized(style.font, max(5.0, size * width / 0.72)), (away + size / 2) * width
    named = {"A1": ("ABCDEFGHI", "123456789"), "1A": ("123456789", "ABCDEFGHI"), "11": ("123456789",) * 2, "r1c1": ([f"c{n}" for n in range(1, 10)], [f"r{n}" for n in range(1, 10)])}[kind]
    (left, top), (right, bottom) = grid.lattice[0, 0], grid.lattice[9, 9]
    for n in range(9):
        (x, y), *_ = grid.cell(n, n)
        for at in (top - off, bottom + off)[:2 if both else 1]:
            canvas.text(x, at, named[0][n], face, style.inner_ink, "mm")
        for at in (left - off, right + off)[:2 if both else 1]:
            canvas.text(at, y, named[1][n], face, style.inner_ink, "mm")


def draw_letters(canvas, style, grid, rng):
    """Prints small letters into a few empty cells, as prize puzzles do; such a cell reads `s`."""
    empty = [c for c in range(81) if grid.givens[c] == "."]
    height = grid.cell(0, 0)[2]
    face = fonts.sized(style.font, max(5.0, height * float(rng.uniform(0.25, 0.5))))
    centred = rng.random() < 0.5
    for place, cell in enumerate(rng.choice(empty, min(int(rng.integers(2, 6)), len(empty)), replace=False)):
        middle, width, _ = grid.cell(*divmod(int(cell), 9))
        at = middle if centred else middle + [0.2 * height - width / 2, -0.25 * height]
        canvas.text(*at, "ABCDEF"[place], face, style.digit_ink, "mm")
        grid.cells[cell] = "s"


def misprint(rng, givens, solution, kind):
    """Spoils a puzzle: 'equal' gives two equal digits in a house, 'wrong' another digit, 'missing' drops a given, 'added' gives a digit too many."""
    cells = list(givens)
    if kind == "added":
        empty = [c for c in range(81) if givens[c] == "."]
        if not empty:
            return givens, None
        cell = int(rng.choice(empty))
        cells[cell] = str(rng.choice(sorted(set("123456789") - {solution[cell]})))
        return "".join(cells), {"kind": kind, "cell": f"r{cell // 9 + 1}c{cell % 9 + 1}", "printed": cells[cell], "should": "."}
    printed = [c for c in rng.permutation(81) if givens[c] != "."]
    for cell in printed:
        rivals = sorted({givens[p] for p in PEERS[cell]} - {".", givens[cell]})
        others = sorted(set("123456789") - {givens[p] for p in PEERS[cell]} - {givens[cell]})
        if kind == "equal" and rivals:
            cells[cell] = rivals[rng.integers(len(rivals))]
        elif kind == "wrong" and others:
            cells[cell] = others[rng.integers(len(others))]
        elif kind == "missing":
            cells[cell] = "."
        else:
            continue
        return "".join(cells), {"kind": kind, "cell": f"r{cell // 9 + 1}c{cell % 9 + 1}", "printed": cells[cell], "should": givens[cell]}
    return givens, None
