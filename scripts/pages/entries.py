"""Someone has worked on the page: entries, pencil marks, crossings-out, rings and ticks, written over the printed grid."""
import numpy as np

from hands import Hand

# The ways people leave a page, and how often (common practice, no source).
MANNERS = (("full", 0.32), ("half", 0.29), ("marks", 0.11), ("both", 0.14), ("few", 0.14))


def lay_ink(canvas, x, y, mask, ink):
    """A stroke mask centred at (x, y)."""
    canvas.stain(round(x - (mask.shape[1] - 1) / 2), round(y - (mask.shape[0] - 1) / 2), mask, ink)


class Scribe:
    """One or two writers at work on the grids of one page."""

    def __init__(self, rng, level):
        self.rng = rng
        self.hands = [Hand(rng)]
        if rng.random() < 0.15:
            self.hands.append(Hand(rng))
        names, shares = zip(*MANNERS)
        self.manner = str(rng.choice(names, p=shares))
        self.size = float(np.clip(rng.normal(0.62, 0.1), 0.38, 0.85))
        self.lean = rng.normal(0, 0.05, 2)
        self.mess = 0.0 if level == "clean" else float(rng.choice((0, 0.02, 0.06), p=(0.5, 0.3, 0.2)))
        self.marks_where = str(rng.choice(("corners", "row", "places", "top")))
        self.wrong = float(rng.choice((0, 0.02, 0.1), p=(0.6, 0.3, 0.1)))
        self.marked = float(rng.uniform(0.01, 0.2)) if rng.random() < 0.06 else 0.0    # cells gone over with a highlighter
        self.highlighter = tuple(int(v) for v in rng.permutation((int(rng.integers(60, 200)), 255, int(rng.integers(190, 256)))))
        self.rings = float(rng.choice((0, 0.03, 0.1), p=(0.8, 0.12, 0.08)))

    def work_on(self, canvas, grid):
        rng = self.rng
        share = {"full": 1.0, "half": rng.uniform(0.15, 0.95), "marks": rng.uniform(0, 0.2), "both": rng.uniform(0.1, 0.7), "few": rng.uniform(0.02, 0.12)}[self.manner]
        marked = {"full": 0.0, "half": 0.0, "marks": rng.uniform(0.3, 1.0), "both": rng.uniform(0.2, 0.9), "few": 0.05}[self.manner]
        for cell in range(81):
            middle, width, height = grid.cell(*divmod(cell, 9))
            corner = middle - np.array([width, height]) / 2
            if grid.givens[cell] != ".":
                self.touch_given(canvas, grid, cell, middle, width, height)
            elif rng.random() < share:
                self.write_entry(canvas, grid, cell, middle, width, height)
            elif rng.random() < marked:
                self.write_marks(canvas, grid, cell, corner, width, height)
            if rng.random() < self.marked:
                self.highlight(canvas, corner, width, height)
            # Cells to come back to, empty ones mostly.
            if grid.givens[cell] == "." and rng.random() < self.rings * (1.0 if grid.cells[cell] == "." else 0.3):
                self.ring(canvas, middle, width, height)

    def highlight(self, canvas, corner, width, height):
        """A broad transparent stroke over a cell."""
        left, top, right, bottom = self.rng.uniform((-0.05, -0.05, 0.75, 0.75), (0.2, 0.2, 1.05, 1.05))
        mask = np.full((max(2, int((bottom - top) * height)), max(2, int((right - left) * width))), float(self.rng.uniform(0.4, 0.95)), np.float32)
        canvas.stain(corner[0] + left * width, corner[1] + top * height, mask, self.highlighter)

    def ring(self, canvas, middle, width, height):
        rng = self.rng
        mask, ink = self.hand().ring(rng, min(width, height) * float(rng.uniform(0.7, 1.05)))
        lay_ink(canvas, *(middle + rng.normal(0, 0.03, 2) * width), mask, ink)

    def hand(self):
        return self.hands[0] if len(self.hands) == 1 or self.rng.random() < 0.6 else self.hands[1]

    def touch_given(self, canvas, grid, cell, middle, width, height):
        rng = self.rng
        draw = rng.random()
        if draw < 0.15 * self.mess:
            self.ring(canvas, middle, width, height)
        elif draw < 0.25 * self.mess:
            mask, ink = self.hand().cross_out(rng, min(width, height) * float(rng.uniform(0.6, 0.9)), tight=False)
            lay_ink(canvas, *middle, mask, ink)
        elif draw < 0.4 * self.mess:    # a tick beside it
            mask, ink = self.hand().tick(rng, height * 0.3)
            lay_ink(canvas, *(middle + rng.normal(0, 0.06, 2) * width), mask, ink)

    def write_entry(self, canvas, grid, cell, middle, width, height):
        rng, hand = self.rng, self.hand()
        digit = int(grid.solution[cell])
        if rng.random() < self.wrong:
            digit = int(rng.integers(1, 10))
        at = middle + (self.lean + rng.normal(0, 0.05, 2)) * width
        size = min(width, height) * self.size * float(rng.uniform(0.9, 1.1))
        if self.mess and rng.random() < 0.2:    # earlier marks left in the cell
            self.write_marks(canvas, grid, cell, middle - np.array([width, height]) / 2, width, height, keep=False)
        if rng.random() < self.mess:            # a first try struck out, perhaps with the right digit beside it
            first, side = float(rng.uniform(0.45, 0.75)), np.array((1, 1) if rng.random() < 0.5 else (1, -1)) * (1 if rng.random() < 0.8 else -1)
            away = (0.16 + 0.3 * (0.75 - first)) * side * [width, 0.6 * height]
            mask, ink = hand.digit(rng, int(rng.integers(1, 10)), size * first)
            lay_ink(canvas, *(at - away), mask, ink)
            mask, ink = hand.cross_out(rng, size * first * 1.2)
            lay_ink(canvas, *(at - away), mask, ink)
            if rng.random() < 0.4:
                grid.cells[cell] = "s"
                return
            at, size = at + side * [0.22 * width, 0.14 * height], size * 0.75
        mask, ink = hand.digit(rng, digit, size)
        lay_ink(canvas, *at, mask, ink)
        grid.entries[cell] = str(digit)
        grid.marks.pop(cell, None)
        grid.cells[cell] = f"e{digit}"

    def write_marks(self, canvas, grid, cell, corner, width, height, keep=True):
        rng, hand = self.rng, self.hand()
        count = int(rng.choice((1, 2, 3, 4, 5), p=(0.1, 0.42, 0.28, 0.14, 0.06)))
        digits = {int(grid.solution[cell])} if rng.random() < 0.9 else set()
        while len(digits) < count:
            digits.add(int(rng.integers(1, 10)))
        digits = sorted(digits)
        size = height * float(rng.uniform(0.2, 0.3))
        where = self.marks_where
        if where == "corners" and count > 4 or where == "places" and size > height / 3.2:
            where = "places"
            size = height * 0.22
        for place, digit in enumerate(digits):
            if where == "corners":
                spot = ((0.2, 0.2), (0.8, 0.2), (0.2, 0.8), (0.8, 0.8))[place]
            elif where == "places":
                spot = ((digit - 1) % 3 / 3 + 0.17, (digit - 1) // 3 / 3 + 0.17)
            else:
                step = min(0.26, 0.9 / count)
                spot = (0.5 + (place - (count - 1) / 2) * step if where == "row" else 0.15 + place * step, 0.2)
            mask, ink = hand.mark(rng, digit, size)
            at = corner + (np.array(spot) + rng.normal(0, 0.02, 2)) * [width, height]
            lay_ink(canvas, *at, mask, ink)
            if keep and rng.random() < self.mess:
                mask, ink = hand.cross_out(rng, size)
                lay_ink(canvas, *at, mask, ink)
        if keep:
            grid.cells[cell] = "m"
            grid.marks[cell] = digits

    def doodle(self, canvas, x, y, size):
        """Ticks, rings and stray digits in a margin."""
        rng, hand = self.rng, self.hand()
        what = rng.integers(4)
        mask, ink = (hand.tick, hand.ring, hand.cross_out, lambda r, s: hand.digit(r, int(r.integers(1, 10)), s))[what](rng, size)
        lay_ink(canvas, x, y, mask, ink)
