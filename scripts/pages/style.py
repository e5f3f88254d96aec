"""How a grid is printed: one GridStyle is shared by all grids of a page, as a book keeps to one design."""
from dataclasses import dataclass

import fonts

BLACK = (20, 20, 20)


def ink(rng, plain=0.8):
    """A printing ink: mostly black or a near black, else grey or one of the usual second colours."""
    if rng.random() < plain:
        level = int(rng.integers(0, 60))
        return (level, level, level)
    if rng.random() < 0.35:
        level = int(rng.integers(70, 130))
        return (level, level, level)
    base = ((200, 30, 40), (30, 60, 160), (20, 110, 70), (120, 40, 120), (220, 110, 20), (0, 120, 160), (120, 70, 40))[rng.integers(7)]
    return tuple(int(min(255, max(0, c + rng.integers(-20, 21)))) for c in base)


def tint(rng, strong=False):
    """A pale area colour: grey or pastel. Strong ones are still lighter than any ink for digits."""
    low = 150 if strong else 200
    if rng.random() < 0.5:
        level = int(rng.integers(low, 242))
        return (level, level, level)
    colour = rng.integers(low, 256, 3)
    colour[rng.integers(3)] = int(rng.integers(235, 256))
    return tuple(int(c) for c in colour)


@dataclass
class GridStyle:
    """Widths are shares of the cell's width, colours RGB; dashes are (on, off) shares of the cell's width or None."""
    inner_width: float = 0.015
    inner_ink: tuple = (90, 90, 90)
    inner_dash: tuple | None = None
    dots: float = 0.0           # crossings of thin lines, where ink comes together, as dots so many lines wide
    crosses: float = 0.0        # arms of crosses where thin lines would meet that aren't drawn, in cells
    box_width: float = 0.045
    box_ink: tuple = BLACK
    box_double: bool = False
    frame: str = "box"          # box, inner, none, heavy, double, rounded
    frame_width: float = 0.05
    inner_drawn: bool = True
    gap: float = 0.0            # white between the boxes, share of the cell
    shade: str = "none"         # none, corners, cross, centre, cells, diagonal, checker, rows, columns, all
    shade_tint: tuple = (220, 220, 220)
    font: str = ""
    digit_share: float = 0.6    # height of the digits, share of the cell's height
    digit_ink: tuple = BLACK
    shift: tuple = (0.0, 0.0)   # of all digits, shares of the cell
    jitter: float = 0.0         # of each digit, share of the cell
    cell_tint: tuple | None = None  # behind given digits
    tile: tuple | None = None   # tints are tiles within the cells: their distance from the lines and the radius of their corners, shares of the cell
    cell_frame: tuple | None = None  # a frame of its own in each cell: distance, radius and width of its line
    aspect: float = 1.0         # cell height over width
    stretch: float = 1.0        # width of the digits over the font's own
    by_ink: bool = False        # digits centred by their ink, not by their advance and baseline
    screen: float = 0.0         # px between the dots of a halftone that shades are printed with; 0: solid
    band: float = 0.0           # width of a coloured band round the frame, share of the cell
    band_ink: tuple = (200, 200, 200)
    letters: bool = False       # a prize puzzle: small printed letters in some empty cells
    round: float = 0.0          # radius of a ring round every printed digit, share of the cell
    blank: str = ""             # what stands in empty cells
    headings: tuple | None = None    # letters or numbers of columns and rows: a kind, size and distance as shares of the cell, and whether at both sides
    rings: float = 0.0          # radius of printed rings round some cells whose digits a contest asks for, share of the cell
    slant: float = 0.0          # how far the digits lean to the right, share of their height
    second_ink: tuple | None = None  # digits in every other box
    found_ink: tuple | None = None   # of a finished grid, digits that weren't given
    found_font: str = ""             # of the same
    segments: tuple | None = None    # digits of seven strokes, as displays show: width of the strokes and of the gaps between them, shares of the height
    typed: str | None = None         # set on a typewriter: lines of dashes and bars between boxes only, and what stands in empty cells
    signs: tuple | None = None       # of such lines: what makes up rows, columns and where they meet; None: ruled
    more_fonts: tuple = ()           # digits in any of these
    outline: float = 0.0             # hollow digits: width of their line, share of the cell's height
    filling: tuple | None = None     # what they are filled with
    shadow: tuple | None = None      # of the digits: to the right and below, shares of the cell's height, and its tint
    disc: tuple | None = None        # behind given digits: radius, share of the cell, and tint
    pencilled: tuple | None = None   # small printed candidates: where, size as a share of the cell, share of the empty cells, ink, font
    blank_ink: tuple | None = None   # of what stands in empty cells
    hatch: tuple | None = None       # shades are strokes: their distance as a share of the cell, and angle
    backdrop: tuple | None = None    # a pale picture under the grid: its kind and two tints
    inverse: bool = False       # white on dark


def random_style(rng, heldout=False, newspaper=0.5, aspect_free=True):
    style = GridStyle(font=fonts.choose(rng, heldout, newspaper))
    black = ink(rng, 0.88)
    style.box_ink = black
    style.inner_ink = black
    kind = rng.choice(10, p=(0.22, 0.13, 0.11, 0.09, 0.06, 0.08, 0.06, 0.05, 0.12, 0.08))
    style.box_width = float(rng.uniform(0.035, 0.075))
    style.inner_width = float(rng.uniform(0.008, 0.025))
    if kind == 0:       # newspaper: thin grey inside
        level = int(rng.integers(60, 175))
        style.inner_ink = (level, level, level)
        style.inner_width = float(rng.uniform(0.008, 0.02))
        style.box_width = float(rng.uniform(0.025, 0.05))
    elif kind == 1:     # strong contrast
        style.box_width = float(rng.uniform(0.06, 0.12))
    elif kind == 2:     # boxes hardly heavier
        style.inner_width = float(rng.uniform(0.015, 0.035))
        style.box_width = style.inner_width * float(rng.uniform(1.0, 1.9))
    elif kind == 3:     # all heavy
        style.inner_width = float(rng.uniform(0.03, 0.05))
        style.box_width = float(rng.uniform(0.08, 0.14))
    elif kind == 4:     # only box lines
        style.inner_drawn = False
        style.box_width = float(rng.uniform(0.02, 0.07))
        style.crosses = float(rng.uniform(0.04, 0.2)) if rng.random() < 0.4 else 0.0
    elif kind == 5:     # dotted or dashed inside
        on = float(rng.uniform(0.02, 0.1))
        style.inner_width = max(style.inner_width, 0.015)
        style.inner_dash = (on, on * float(rng.uniform(0.7, 1.6)))
    elif kind == 6:     # coloured lines
        style.box_ink = ink(rng, 0.0)
        style.inner_ink = style.box_ink if rng.random() < 0.6 else ink(rng, 0.3)
    elif kind == 7:     # double box lines
        style.box_double = True
        style.box_width = float(rng.uniform(0.08, 0.13))
    elif kind == 8:     # boxes set apart by a gap
        style.gap = float(rng.uniform(0.05, 0.16) if rng.random() < 0.45 else rng.uniform(0.16, 0.7))
        style.box_width = style.inner_width * float(rng.uniform(1.0, 2.5)) if rng.random() < 0.6 else min(float(rng.uniform(0.04, 0.2)), 0.8 * style.gap)
    style.frame = str(rng.choice(("box", "heavy", "inner", "none", "double", "rounded"), p=(0.62, 0.14, 0.08, 0.03, 0.06, 0.07)))
    if style.gap:
        style.frame = "box"
    if kind in (0, 2, 5, 6) and rng.random() < 0.2:
        style.dots = float(rng.uniform(1.1, 3.0))
    if kind == 9:       # tinted cells parted by white lines
        style.inner_ink = style.box_ink = (255, 255, 255)
        style.inner_width, style.box_width = float(rng.uniform(0.03, 0.06)), float(rng.uniform(0.07, 0.14))
        style.frame = "box"
    if style.frame == "none" and not style.inner_drawn:
        style.frame = "inner"
    style.frame_width = style.box_width * (float(rng.uniform(1.3, 2.4)) if style.frame == "heavy" else 1.0)
    if style.frame == "inner":
        style.frame_width = style.inner_width
    if style.frame == "double":
        style.frame_width = float(rng.uniform(0.08, 0.14))
    style.shade = str(rng.choice(("none", "corners", "cross", "centre", "cells", "diagonal", "checker", "rows", "columns", "all"),
                                 p=(0.56, 0.1, 0.07, 0.04, 0.09, 0.02, 0.03, 0.02, 0.01, 0.06)))
    style.shade_tint = tint(rng, rng.random() < 0.3)
    if style.shade in ("corners", "cross", "centre"):
        # Boxes told by their tint need no heavy lines, and bear a dark one.
        if kind == 2 or rng.random() < 0.25:
            style.box_width = style.inner_width * float(rng.uniform(1.0, 1.4))
            style.frame_width = style.box_width
        if rng.random() < 0.35:
            level = int(rng.integers(125, 195))
            style.shade_tint = (level, level, level)
    if kind == 9:
        style.shade = "all"
    if style.shade == "all" and rng.random() < 0.3:
        style.tile = float(rng.uniform(0.03, 0.1)), float(rng.uniform(0.0, 0.25))
        style.inner_drawn = rng.random() < 0.4
        if not style.inner_drawn and rng.random() < 0.7:    # or else nothing shows the boxes
            style.gap = style.gap or float(rng.uniform(0.05, 0.3))
    if rng.random() < 0.2:
        style.screen = float(rng.uniform(2.5, 6))
    if rng.random() < 0.06:
        style.band, style.band_ink = float(rng.uniform(0.08, 0.5)), tint(rng, True) if rng.random() < 0.6 else ink(rng, 0.2)
    style.digit_share = float(rng.choice((rng.uniform(0.35, 0.5), rng.uniform(0.48, 0.66), rng.uniform(0.62, 0.85)), p=(0.2, 0.6, 0.2)))
    style.digit_ink = black if rng.random() < 0.75 else ink(rng, 0.3)
    if rng.random() < 0.3:
        style.shift = tuple(float(v) for v in rng.normal(0, 0.05, 2))
    if rng.random() < 0.08:     # set in a corner or on a line
        style.shift = tuple(float(v) for v in rng.choice((-0.18, 0, 0.18), 2))
    style.jitter = float(rng.choice((0, 0.01, 0.03), p=(0.6, 0.3, 0.1)))
    if rng.random() < 0.12:
        style.cell_tint = tint(rng, rng.random() < 0.4)
        if rng.random() < 0.35:     # white on a dark ground
            style.cell_tint, style.digit_ink = ink(rng, 0.6), tint(rng)
        if rng.random() < 0.3:
            style.tile = float(rng.uniform(0.03, 0.12)), float(rng.uniform(0.0, 0.2))
            if rng.random() < 0.3:      # light tiles on a dark board
                style.cell_tint, style.digit_ink, style.shade, style.shade_tint = tint(rng), ink(rng, 0.7), "all", ink(rng, 0.6)
                style.inner_ink, style.box_ink = tint(rng, True), tint(rng)
    if aspect_free and rng.random() < 0.2:
        style.aspect = float(rng.uniform(0.92, 1.08))
    style.by_ink = bool(rng.random() < 0.3)
    if rng.random() < 0.25:
        style.stretch = float(rng.uniform(0.78, 1.15))
    style.letters = bool(rng.random() < 0.015)
    if rng.random() < 0.04:
        style.rings = float(rng.uniform(0.3, 0.47))
    if rng.random() < 0.025:
        style.cell_frame = float(rng.uniform(0.03, 0.1)), float(rng.uniform(0.0, 0.2)), float(rng.uniform(0.01, 0.03))
        style.inner_drawn = rng.random() < 0.5
    if rng.random() < 0.02:
        style.round, style.digit_share = float(rng.uniform(0.36, 0.46)), min(style.digit_share, float(rng.uniform(0.4, 0.55)))
    if rng.random() < 0.025:
        style.blank = str(rng.choice((".", "-", "_", "*", "o", "0")))
        style.blank_ink = tint(rng, True) if style.blank == "0" or rng.random() < 0.3 else None
    rare_digits(rng, style, heldout, newspaper)
    if rng.random() < 0.04:
        where = str(rng.choice(("places", "places", "top", "bottom")))
        style.pencilled = where, float(rng.uniform(0.13, 0.24)), float(rng.choice((1.0, rng.uniform(0.2, 1.0)))), ink(rng, 0.6), style.font if rng.random() < 0.7 else fonts.choose(rng, heldout, newspaper)
    if style.shade != "none" and rng.random() < 0.06:
        style.hatch = float(rng.uniform(0.06, 0.2)), float(rng.choice((0.8, -0.8, 0.0, 1.57)))
    if rng.random() < 0.025:
        style.backdrop = str(rng.choice(("shapes", "gradient"))), (tint(rng), tint(rng, rng.random() < 0.5))
    if rng.random() < 0.07:
        style.headings = str(rng.choice(("A1", "1A", "11", "r1c1"), p=(0.5, 0.15, 0.25, 0.1))), float(rng.uniform(0.2, 0.45)), float(rng.uniform(0.1, 0.5)), bool(rng.random() < 0.3)
    if rng.random() < 0.03:
        style.second_ink = ink(rng, 0.2)
    if rng.random() < 0.08:
        style.slant = float(rng.uniform(0.08, 0.3))
    if rng.random() < 0.1:
        style.found_ink = ink(rng, 0.1)
    if rng.random() < 0.15:
        style.found_font = fonts.sister(style.font) if rng.random() < 0.7 else fonts.choose(rng, heldout, newspaper)
    if rng.random() < 0.02:
        style.segments = float(rng.uniform(0.07, 0.15)), float(rng.choice((0.0, rng.uniform(0.01, 0.05))))
    if rng.random() < 0.025:
        set_on_typewriter(rng, style, heldout)
    style.inverse = not style.cell_tint and bool(rng.random() < (0.15 if kind == 9 else 0.02))
    return style


def rare_digits(rng, style, heldout, newspaper):
    """Hollow, with a shadow, on discs, or in several fonts."""
    if rng.random() < 0.02:
        style.outline, style.by_ink = float(rng.uniform(0.012, 0.035)), False
        style.filling = None if rng.random() < 0.6 else tint(rng, True)
        style.digit_share, style.digit_ink = max(style.digit_share, 0.5), ink(rng, 0.9)
    if rng.random() < 0.02:
        style.shadow, style.by_ink = (float(rng.uniform(0.02, 0.07)), float(rng.uniform(0.02, 0.07)), tint(rng, True)), False
    if rng.random() < 0.03:
        style.disc = float(rng.uniform(0.34, 0.48)), tint(rng, rng.random() < 0.5)
        if rng.random() < 0.35:
            style.disc, style.digit_ink = (style.disc[0], ink(rng, 0.6)), tint(rng)
    if rng.random() < 0.012:
        style.more_fonts = tuple(fonts.choose(rng, heldout, newspaper) for _ in range(int(rng.integers(2, 6))))


def set_on_typewriter(rng, style, heldout):
    style.typed = str(rng.choice(("", "", ".", "_", "-", "*", "0")))
    if rng.random() < 0.6:
        style.font = fonts.fixed(rng, heldout)
    if rng.random() < 0.6:
        style.signs = str(rng.choice(tuple("--==* _"))), str(rng.choice(tuple("||||!:*"))), str(rng.choice(tuple("++-|* ")))
    style.inner_drawn, style.box_double, style.crosses, style.gap, style.dots, style.pencilled = False, False, 0.0, 0.0, 0.0, None
    style.frame, style.shade, style.band, style.cell_tint = ("box" if rng.random() < 0.8 else "none"), "none", 0.0, None
    style.box_width = style.frame_width = float(rng.uniform(0.03, 0.07))
    style.box_ink = style.digit_ink = ink(rng, 0.95)
