"""Composes whole pages: one puzzle in a newspaper, a book's puzzles, solutions, mixed puzzle pages, pages without a grid."""
from dataclasses import dataclass

import numpy as np

import fonts
import furniture
import paper
import puzzles
import words
from blocks import grid_block, random_labels
from canvas import Canvas, turn_pixels, turn_points
from entries import Scribe
from extras import EXTRAS
from foreign import KINDS, foreign_block
from foreign import SHARES as KIND_SHARES
from grid import Block, misprint
from style import random_style

LAYOUTS = ("single", "book", "solutions", "mixed", "none")
SHARES = (0.41, 0.25, 0.09, 0.15, 0.1)


@dataclass
class Page:
    """A composed page: pixels [H, W, 3], its grids and foreign things in page px; `focus` is what a photographer would aim at."""
    block: Block
    focus: list | None
    layout: str


class Composer:
    """What the parts of one page share: its design, its level, its random generator."""

    def __init__(self, rng, level, heldout, spoil, others=0.0, apart=0.0):
        self.rng, self.level, self.heldout, self.spoil, self.others, self.apart = rng, level, heldout, spoil, others, apart
        self.style = self.design(float(rng.choice((0.85, 0.3))))
        self.look = furniture.random_look(rng, 14, heldout)
        self.labels = random_labels(rng, self.look.tongue)
        self.index = 0

    def design(self, newspaper=0.5):
        style = random_style(self.rng, self.heldout, newspaper)
        while style.gap < self.apart:
            style = random_style(self.rng, self.heldout, newspaper)
        return style

    def puzzle(self, solved=False):
        givens, solution = puzzles.draw_puzzle(self.rng)
        return (solution, solution) if solved else (givens, solution)

    def grid(self, size, solved=False, style=None, bare=False, rules="plain"):
        givens, solution = self.puzzle(solved)
        spoiled = None
        if self.spoil:
            givens, spoiled = misprint(self.rng, givens, solution, self.spoil)
            self.spoil = None
        block = grid_block(self.rng, size, style or self.style, self.look, None if bare else self.labels, (givens, solution), self.index, rules)
        self.index += 1
        block.grids[0].misprint = spoiled
        return block

    def other_rules(self, share):
        """Other rules for a share of the grids, or for what the caller wants of all if that is more, else the usual ones."""
        return str(self.rng.choice(list(EXTRAS))) if self.rng.random() < max(share, self.others) else "plain"

    def stranger(self, size):
        style = random_style(self.rng, self.heldout, 0.5, False)
        return foreign_block(self.rng, int(size), style, str(self.rng.choice(KINDS, p=KIND_SHARES)), self.puzzle(self.rng.random() < 0.2)[0])

    def fill(self, page, x0, y0, x1, y1, grids=0.1):
        """Fills a rectangle of the page with pieces, cutting it up until they have a sensible shape. May reach beyond the page."""
        rng = self.rng
        width, height = x1 - x0, y1 - y0
        if width < 50 or height < 24:
            return
        big = 26 * self.look.text_size
        if width > 1.7 * height and width > big or height > 1.7 * width and height > big * 0.8 or max(width, height) > 2.5 * big:
            cut = float(rng.uniform(0.35, 0.65))
            if width > height:
                middle = x0 + width * cut
                self.fill(page, x0, y0, middle, y1, grids)
                self.fill(page, middle, y0, x1, y1, grids)
            else:
                middle = y0 + height * cut
                self.fill(page, x0, y0, x1, middle, grids)
                self.fill(page, x0, middle, x1, y1, grids)
            return
        gap = self.look.text_size * 0.6
        x0, y0, width, height = x0 + gap, y0 + gap, width - 2 * gap, height - 2 * gap
        square = min(width, height)
        whole = x0 >= 0 and y0 >= 0 and x0 + square < page.canvas.width and y0 + square < page.canvas.height
        if square > 110 and rng.random() < grids and whole:     # the page's edge cuts furniture, never a grid
            if rng.random() < 0.5:
                block = self.stranger(square)
            else:
                solved = rng.random() < 0.5
                block = self.grid(square * 0.82, solved, bare=rng.random() < 0.4)
                if rng.random() < (0.4 if solved else 0.05):
                    block.turned(int(rng.choice((90, 180, 270), p=(0.15, 0.7, 0.15))))
            page.place(x0, y0, block)
        elif rng.random() < 0.93:
            page.place(x0, y0, Block(furniture.piece(rng, width, height, self.look)))


def single(make):
    """One grid to look at, among columns, rules and neighbours that the page's edge may cut."""
    rng = make.rng
    size = float(rng.choice((rng.uniform(330, 520), rng.uniform(480, 800), rng.uniform(750, 1050)), p=(0.35, 0.45, 0.2)))
    make.look.text_size = size / float(rng.uniform(22, 45))
    rules = make.other_rules(0.07)
    block = make.grid(size, solved=rng.random() < 0.03, rules=rules)
    wide, tall = block.canvas.width, block.canvas.height
    margins = [float(size * rng.choice((rng.uniform(0.015, 0.08), rng.uniform(0.08, 0.3), rng.uniform(0.3, 0.7)), p=(0.3, 0.45, 0.25))) for _ in range(4)]
    left, top, right, bottom = margins
    gap = size * float(rng.uniform(0.01, 0.05))
    neighbour, other = None, None
    if size < 800 and rng.random() < 0.2:   # a grid of the same design, which the photo's edge may cut
        neighbour, other = int(rng.integers(4)), make.grid(size)
        if neighbour < 2:
            room = other.canvas.height + gap + size * 0.03
            top, bottom = (top + room, bottom) if neighbour else (top, bottom + room)
        else:
            room = other.canvas.width + gap + size * 0.03
            left, right = (left + room, right) if neighbour == 2 else (left, right + room)
    page = Block(Canvas(wide + left + right, tall + top + bottom))
    page.place(left, top, block)
    beyond = size * 0.4
    busy = float(rng.choice((0.0, 0.5, 0.95), p=(0.15, 0.3, 0.55)))
    x0, y0, x1, y1 = left - gap, top - gap, left + wide + gap, top + tall + gap
    page_width, page_height = page.canvas.width, page.canvas.height
    strips = [(0, y1, page_width, page_height + rng.uniform(0, beyond)), (0, -rng.uniform(0, beyond), page_width, y0),
              (-rng.uniform(0, beyond), y0, x0, y1), (x1, y0, page_width + rng.uniform(0, beyond), y1)]
    for number, strip in enumerate(strips):
        if number == neighbour:
            page.place(*((left, y1), (left, y0 - other.canvas.height), (x0 - other.canvas.width, top), (x1, top))[number], other)
        elif rng.random() < busy:
            make.fill(page, *strip, grids=0.16)
    if rng.random() < 0.12:     # the maker's name in tiny print
        canvas, tiny = page.canvas, max(5.0, size * 0.016)
        canvas.text(left + wide * float(rng.choice((0.1, 0.7))), top + tall + tiny * 0.3, words.heading(rng, make.look.tongue), fonts.sized(make.look.text_font, tiny), make.look.text_ink)
    for at, upright in ((x0, True), (x1, True), (y0, False), (y1, False)):
        if rng.random() < 0.1:
            page.canvas.rule(upright, at, 0, max(page_width, page_height), max(1.0, size * 0.003), make.look.text_ink)
    grid = page.grids[0].box()
    focus = grid if rng.random() < (0.85 if other else 0.6) else None
    return page, focus


def book(make):
    """A puzzle book's page: puzzles in rows and columns, labels, page number, wide margins."""
    rng = make.rng
    across, down = ((1, 1), (1, 2), (2, 1), (2, 2), (2, 3), (1, 3), (3, 3), (3, 4))[rng.choice(8, p=(0.25, 0.27, 0.06, 0.17, 0.12, 0.05, 0.04, 0.04))]
    size = {1: rng.uniform(380, 950), 2: rng.uniform(330, 620), 3: rng.uniform(270, 430)}[across]
    if down == 3:
        size = min(size, 560)
    gap = size * float(rng.uniform(0.03, 0.25))
    make.look.text_size = size / float(rng.uniform(22, 36))
    if make.labels["manner"] == "none" and rng.random() < 0.7:
        make.labels["manner"] = "number"
    others = 0.5 if rng.random() < 0.06 else 0.0    # a chapter with puzzles of other kinds
    blocks = [[make.grid(size, rules=make.other_rules(others)) for _ in range(across)] for _ in range(down)]
    wide, tall = blocks[0][0].canvas.width, blocks[0][0].canvas.height
    wide, tall = max(b.canvas.width for row in blocks for b in row), max(b.canvas.height for row in blocks for b in row)
    left, right = size * rng.uniform(0.08, 0.35), size * rng.uniform(0.08, 0.35)
    top, bottom = size * rng.uniform(0.1, 0.4), size * rng.uniform(0.1, 0.45)
    page = Block(Canvas(left + right + across * wide + (across - 1) * gap, top + bottom + down * tall + (down - 1) * gap))
    for row in range(down):
        for col in range(across):
            page.place(left + col * (wide + gap), top + row * (tall + gap), blocks[row][col])
    canvas, look = page.canvas, make.look
    if rng.random() < 0.75:
        number = words.page_number(rng, look.tongue)
        number = number if fonts.covers(look.text_font, number) else number.strip("– ")
        x = float(rng.choice((left, canvas.width / 2, canvas.width - right)))
        canvas.text(x, canvas.height - bottom * 0.4, number, fonts.sized(look.text_font, look.text_size), look.text_ink, "mm")
    if rng.random() < 0.5:
        heading = words.TITLES[look.tongue][rng.integers(len(words.TITLES[look.tongue]))] if rng.random() < 0.6 else words.heading(rng, look.tongue)
        face = fonts.sized(look.head_font, min(top * 0.5, look.text_size * float(rng.uniform(1, 2.4))))
        canvas.text(float(rng.choice((left + 4, canvas.width / 2))), top * 0.45, heading, face, look.head_ink, "lm" if rng.random() < 0.5 else "mm")
    if rng.random() < 0.2:
        make.fill(page, left, canvas.height - bottom, canvas.width - right, canvas.height, 0.0)
    focus = None
    if len(page.grids) > 1 and rng.random() < 0.3:
        focus = page.grids[rng.integers(len(page.grids))].box()
    return page, focus


def solutions(make):
    """A solutions section: small finished grids in rows, often upside down."""
    rng = make.rng
    across, down = ((2, 1), (2, 2), (3, 2), (3, 3), (4, 2), (4, 3), (3, 1))[rng.choice(7, p=(0.15, 0.25, 0.2, 0.12, 0.1, 0.08, 0.1))]
    size = float(rng.uniform(180, 420 if across < 4 else 300))
    make.style.digit_share = float(rng.uniform(0.5, 0.8))
    make.labels["share"] = float(rng.uniform(0.05, 0.1))
    make.look.text_size = size / float(rng.uniform(10, 18))
    turn = int(rng.choice((0, 180, 90, 270), p=(0.6, 0.3, 0.05, 0.05)))
    gap = size * float(rng.uniform(0.05, 0.2))
    blocks = [make.grid(size, solved=True) for _ in range(across * down)]
    wide, tall = max(b.canvas.width for b in blocks), max(b.canvas.height for b in blocks)
    head = int(make.look.text_size * 2.4) if rng.random() < 0.7 else 0
    section = Block(Canvas(across * (wide + gap), head + down * (tall + gap)))
    if head:
        answers = words.ANSWERS[make.look.tongue]
        section.canvas.text(4, head / 2, answers[rng.integers(len(answers))], fonts.sized(make.look.head_font, head * 0.6), make.look.head_ink, "lm")
    for i, block in enumerate(blocks):
        section.place(gap / 2 + i % across * (wide + gap), head + gap / 2 + i // across * (tall + gap), block)
    section.turned(turn)
    margin = [size * float(rng.uniform(0.05, 0.5)) for _ in range(4)]
    extra = size * float(rng.uniform(0.5, 1.8)) if rng.random() < 0.4 else 0
    page = Block(Canvas(section.canvas.width + margin[0] + margin[1], section.canvas.height + margin[2] + margin[3] + extra))
    page.place(margin[0], margin[2], section)
    if extra:
        make.fill(page, margin[0], margin[2] + section.canvas.height, page.canvas.width - margin[1], page.canvas.height, 0.1)
    return page, None


def mixed(make):
    """A puzzle page: our grids, other grids, crosswords, yesterday's solution."""
    rng = make.rng
    width, height = float(rng.uniform(900, 1500)), float(rng.uniform(900, 1650))
    make.look.text_size = float(rng.uniform(11, 20))
    page = Block(Canvas(width, height))
    edge = width * float(rng.uniform(0.02, 0.07))
    y = edge
    if rng.random() < 0.6:
        head = float(rng.uniform(30, 80))
        page.canvas.text(edge, y, words.heading(rng, make.look.tongue), fonts.sized(make.look.head_font, head * 0.8), make.look.head_ink)
        y += head
        page.canvas.rule(False, y, edge, width - edge, float(rng.uniform(1, 6)), make.look.head_ink)
    wanted = int(rng.integers(1, 4))
    main = float(rng.uniform(0.36, 0.55)) * (width - 2 * edge)
    at_x = edge if rng.random() < 0.5 else width - edge - main
    for number in range(wanted):
        if y + main * 1.25 > height:
            break
        kind = rng.random()
        style = make.style if rng.random() < 0.7 else make.design()
        block = make.stranger(main) if number and kind < 0.3 else make.grid(main * 0.86, style=style, rules=make.other_rules(0.1))
        page.place(at_x + main * 0.05, y + main * 0.06, block)
        tall = block.canvas.height + main * 0.12
        beside = (edge, at_x - 8) if at_x > edge + 1 else (at_x + main + 8, width - edge)
        make.fill(page, beside[0], y, beside[1], y + tall, 0.35)
        y += tall
    make.fill(page, edge, y, width - edge, height + rng.uniform(0, 200), 0.25)
    return page, None


def none(make):
    """A page without a grid of ours: text, tables, boards, perhaps foreign grids."""
    rng = make.rng
    width, height = float(rng.uniform(700, 1400)), float(rng.uniform(700, 1500))
    make.look.text_size = float(rng.uniform(9, 24))
    page = Block(Canvas(width, height))
    edge = width * float(rng.uniform(0, 0.08))
    if rng.random() < 0.45:
        size = min(width, height) * float(rng.uniform(0.4, 0.85))
        page.place(edge, edge, make.stranger(size))
        make.fill(page, edge, edge + size, width - edge, height + 100, 0.0)
        make.fill(page, edge + size, edge, width - edge, edge + size, 0.0)
    else:
        make.fill(page, edge, edge, width - edge, height + rng.uniform(-100, 100), 0.0)
    return page, None


def befall(make, page):
    """Handwriting, spills, staples and glued strips, on a printed page."""
    rng, level = make.rng, make.level
    canvas = page.canvas
    upright = [g for g in page.grids if g.turn == 0 and g.box()[0] > -1 and g.box()[1] > -1]
    if rng.random() < (0.3 if level == "clean" else 0.56):
        scribe = Scribe(rng, level)
        for number, grid in enumerate(upright):
            if not grid.solved and not grid.dark and (number == 0 or rng.random() < 0.6):
                scribe.work_on(canvas, grid)
                if rng.random() < 0.12:     # done: beside a corner of the grid
                    x, y, wide, tall = grid.box()
                    scribe.doodle(canvas, x + wide * float(rng.choice((-0.05, 0.9, 1.05))), y + tall * float(rng.uniform(-0.12, 0.05)), wide * float(rng.uniform(0.04, 0.1)))
        for _ in range(int(rng.integers(0, 4)) if rng.random() < 0.3 else 0):
            edge = int(rng.integers(4))
            x, y = rng.uniform(0, canvas.width), rng.uniform(0, canvas.height)
            x, y = ((x, 20), (x, canvas.height - 20), (20, y), (canvas.width - 20, y))[edge]
            scribe.doodle(canvas, x, y, canvas.width * float(rng.uniform(0.02, 0.08)))
    if level == "clean":
        return
    side = min(canvas.width, canvas.height)
    if rng.random() < 0.08:
        for _ in range(int(rng.integers(1, 4))):
            paper.spill(rng, canvas, rng.uniform(-0.1, 0.9) * canvas.width, rng.uniform(-0.1, 0.9) * canvas.height, side * rng.uniform(0.1, 0.5))
    if rng.random() < 0.03:
        paper.staple(rng, canvas, rng.uniform(0, 1) * canvas.width, rng.uniform(0, 1) * canvas.height, side * 0.05)
    if upright and rng.random() < 0.03:
        paper.glue_strip(rng, canvas, upright[rng.integers(len(upright))])


def compose(rng, level, heldout=False, spoil=None, layout=None, others=0.0, apart=0.0):
    """A Page. `spoil` asks for a misprint ('equal', 'wrong', 'missing', 'added') in its first grid; `layout` fixes one of LAYOUTS; `others` is the least
    share of puzzles with other rules, `apart` the least gap between boxes in cells."""
    make = Composer(rng, level, heldout, spoil, others, apart)
    layout = layout or LAYOUTS[rng.choice(len(LAYOUTS), p=SHARES)]
    page, focus = {"single": single, "book": book, "solutions": solutions, "mixed": mixed, "none": none}[layout](make)
    paper.print_on_paper(rng, page.canvas, level)
    befall(make, page)
    turn = int(rng.choice((0, 90, 180, 270), p=(0.84, 0.06, 0.04, 0.06)))
    if turn and focus:
        x, y, width, height = focus
        corners = turn_points([[x, y], [x + width, y + height]], turn, page.canvas.width, page.canvas.height)
        low, high = corners.min(0), corners.max(0)
        focus = [*low, *(high - low)]
    page.turned(turn)
    return Page(page, focus, layout)
