"""Writers: each has one pen, one way to shape digits, one size and slant, and keeps them over a page.

A digit comes back as (alpha uint8 [h, w], ink (r, g, b)); alpha is tight but for a small rim, about `size_px` high.
"""
import functools
import glob
import os

import numpy as np
from PIL import Image, ImageDraw, ImageFilter, ImageFont

import fonts
import strokes

HERE = os.path.dirname(os.path.abspath(__file__))
FONTS = os.path.join(HERE, ".cache", "fonts", "hand")
DIGITS = os.path.join(HERE, ".cache", "digits", "digits.npz")

# Pens: how often, stroke width as a share of a digit's height, strength of the ink, grain, chance of skips, pools (common practice, no source).
PENS = {
    "pencil": (0.33, (0.05, 0.09), (0.5, 0.9), 0.55, 0.0, 0.0),
    "blue": (0.27, (0.045, 0.085), (0.75, 1.0), 0.12, 0.25, 0.13),
    "black": (0.18, (0.045, 0.085), (0.8, 1.0), 0.12, 0.25, 0.13),
    "red": (0.12, (0.045, 0.09), (0.75, 1.0), 0.12, 0.2, 0.12),
    "felt": (0.1, (0.09, 0.16), (0.85, 1.0), 0.03, 0.0, 0.1),
}
# Ink (red, green, blue) of each, and how much writers differ.
INKS = {"pencil": ((72, 72, 76), 18), "blue": ((32, 48, 150), 26), "black": ((26, 26, 32), 14),
        "red": ((190, 34, 40), 24), "green": ((24, 110, 60), 20)}
SOURCES = {"strokes": 0.32, "samples": 0.3, "font": 0.27, "face": 0.11}


@functools.lru_cache(1)
def samples():
    """{digit: uint8 [N, 28, 28]} of scanned handwriting; empty when fetch_digits.py has not run."""
    if not os.path.exists(DIGITS):
        return {}
    with np.load(DIGITS) as file:
        images, labels = file["images"], file["labels"]
    return {digit: images[labels == digit] for digit in range(1, 10)}


@functools.lru_cache(9)
def outlines(digit):
    """The scans of a digit at half size, float32 [N, 196], to find those that look alike."""
    pool = samples()[digit]
    return pool.reshape(len(pool), 14, 2, 14, 2).mean((2, 4), dtype=np.float32).reshape(len(pool), -1)


@functools.lru_cache(1)
def font_files():
    return tuple(sorted(glob.glob(os.path.join(FONTS, "*.[to]tf"))))


@functools.lru_cache(64)
def load_font(path):
    return ImageFont.truetype(path, 96, layout_engine=ImageFont.Layout.BASIC)


@functools.lru_cache(1)
def grain_tile():
    """Paper tooth, float32 [256, 256] in 0..1, the same for everyone: writers take other parts of it."""
    noise = np.random.default_rng(7).normal(0, 1, (256, 256)).astype(np.float32)
    noise = noise + 0.6 * (np.roll(noise, 1, 0) + np.roll(noise, 1, 1))
    return np.clip(0.5 + noise / 3.5, 0, 1)


def ink_colour(rng, pen):
    if pen == "felt":
        pen = str(rng.choice(("black", "blue", "red", "green"), p=(0.5, 0.3, 0.12, 0.08)))
    base, spread = INKS[pen]
    hue = rng.normal(0, spread * 0.5, 3) * (pen != "pencil")
    return tuple(int(v) for v in np.clip(np.array(base) + rng.normal(0, spread * 0.6) + hue, 0, 235))


class Hand:
    """One writer. All randomness comes from the generators passed in."""

    def __init__(self, rng):
        self.block = rng.random() < 0.05   # prints neatly in black: easily taken for a given
        names = list(PENS)
        self.pen = "black" if self.block else str(rng.choice(names, p=[PENS[n][0] for n in names]))
        _, widths, strengths, self.grain, self.skips, self.pool = PENS[self.pen]
        self.width = float(rng.uniform(0.06, 0.14) if self.block else rng.uniform(*widths))
        self.strength = float(rng.uniform(*strengths))
        self.ink = ink_colour(rng, self.pen)
        self.slant = float(rng.normal(0, 0.02) if self.block else np.clip(rng.normal(0.1, 0.14), -0.25, 0.45))
        self.squeeze = float(np.clip(rng.normal(1, 0.13), 0.72, 1.35))
        self.size = float(np.clip(rng.normal(1, 0.06), 0.85, 1.15))
        self.jitter = float(rng.uniform(0.008, 0.015) if self.block else rng.uniform(0.012, 0.04))
        self.taper = float(rng.uniform(0, 0.15) if self.block else rng.uniform(0.0, 0.5))
        self.uneven = float(rng.uniform(0.05, 0.3)) if rng.random() < 0.4 else 0.0    # how differently hard it presses
        self.source = self.choose_source(rng)
        if self.source == "font":
            self.font = load_font(font_files()[rng.integers(len(font_files()))])
        elif self.source == "face":
            self.set_type(rng)
        elif self.source == "samples":
            self.picked = {digit: self.pick_samples(rng, digit) for digit in range(1, 10)}
            # Scanned strokes are about an eighth of the height wide: a higher cut thins them.
            self.cut = float(np.interp(self.width, (0.04, 0.09, 0.16), (0.66, 0.5, 0.3)))
        self.shapes = {digit: self.habit(rng, digit) for digit in range(1, 10)}

    def choose_source(self, rng):
        if self.block:
            return "strokes"
        source = str(rng.choice(list(SOURCES), p=list(SOURCES.values())))
        fetched = {"samples": samples, "font": font_files, "face": fonts.printed}
        return source if source in fetched and fetched[source]() else "strokes"

    def set_type(self, rng):
        """Digits as even as print but of another face than most print, as neat writers make them and programs fill in: told from the print beside them alone."""
        self.font = load_font(fonts.choose(rng, newspaper=0.0))
        self.jitter = float(rng.choice((0.0, 0.004, 0.01)))
        self.slant = float(rng.choice((0.0, rng.uniform(0.08, 0.3))))

    def habit(self, rng, digit):
        """This writer's skeleton of a digit: a shape of the table with its own proportions."""
        shape = strokes.SHAPES[digit][rng.integers(len(strokes.SHAPES[digit]))]
        spread = 0.012 if self.block else 0.035
        moved, seen = [], {}
        for stroke in shape:
            points = []
            for point in stroke:
                if point not in seen:    # a corner's two points, and joints between strokes, move together
                    seen[point] = np.array(point) + rng.normal(0, spread, 2)
                points.append(seen[point])
            moved.append(np.array(points))
        bulge = rng.normal(0, 0.06)
        for points in moved:
            points[:, 1] += bulge * np.sin(np.pi * np.clip(points[:, 1], 0, 1))
        return moved

    def pick_samples(self, rng, digit):
        """A few scans of a digit that look alike, as one person's would."""
        pool = samples()[digit]
        small = outlines(digit)
        anchor = small[rng.integers(len(pool))]
        near = np.argsort(((small - anchor) ** 2).sum(1))[:int(rng.integers(4, 12))]
        return pool[near]

    def finish(self, rng, alpha, press=1.0):
        """The pen's texture on a bare stroke mask."""
        height, width = alpha.shape
        out = alpha.astype(np.float32) * self.strength * press
        top, left = rng.integers(256, size=2)
        tooth = np.take(np.take(grain_tile(), np.arange(top, top + height) % 256, 0), np.arange(left, left + width) % 256, 1)
        if self.pen == "pencil":
            out *= 1 - self.grain * tooth * rng.uniform(0.7, 1.1)
        else:
            out *= 1 - self.grain * tooth
        if rng.random() < self.skips:
            coarse = rng.random((4, 4)).astype(np.float32)
            patch = np.asarray(Image.fromarray(coarse).resize((width, height), Image.Resampling.BICUBIC))
            out *= np.clip(1 - 1.6 * np.clip(patch - 0.72, 0, 1) * (0.5 + tooth) * 3, 0.15, 1)
        return np.clip(out + 0.5, 0, 255).astype(np.uint8)

    def turn(self, rng, points, size):
        """Points of the unit box to px: slant, squeeze, a little turn and jitter of this one instance."""
        slant = self.slant + rng.normal(0, self.jitter * 1.5)
        angle = rng.normal(0, self.jitter * 2)
        x = (points[:, 0] - 0.45) * self.squeeze * (1 + rng.normal(0, self.jitter)) - (points[:, 1] - 0.5) * slant
        y = points[:, 1] - 0.5
        return np.stack([x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)], 1) * size

    def stroke_mask(self, rng, shape, size, width):
        lines = []
        for stroke in shape:
            # Neighbouring points drift together: a walk rather than white noise keeps curves smooth; equal points stay equal.
            same = np.concatenate([[False], np.all(np.abs(np.diff(stroke, axis=0)) < 1e-9, 1)])
            drift = rng.normal(0, self.jitter, stroke.shape)
            for i in np.flatnonzero(same):
                drift[i] = drift[i - 1]
            lines.append(self.turn(rng, stroke + drift + rng.normal(0, self.jitter * 0.5, 2), size))
        return strokes.draw(rng, lines, width, self.taper, self.pool)

    def sample_mask(self, rng, digit, size, cut):
        pool = self.picked[digit]
        picture = pool[rng.integers(len(pool))]
        return self.reshape(rng, Image.fromarray(picture), size, cut)

    def font_mask(self, rng, digit, size, cut=0.5):
        box = self.font.getbbox(str(digit))
        picture = Image.new("L", (box[2] - box[0] + 8, box[3] - box[1] + 8))
        ImageDraw.Draw(picture).text((4 - box[0], 4 - box[1]), str(digit), 255, self.font)
        return self.reshape(rng, picture, size, cut)

    def reshape(self, rng, picture, size, cut):
        """A picture of a digit brought to size with this writer's slant, its edges made crisp at the given grey."""
        box = picture.getbbox()
        if box is None:
            return np.zeros((2, 2), np.uint8)
        rise = box[3] - box[1]
        twice = max(12.0, 2 * size)
        factor = rise / twice
        slant = (self.slant * 0.5 if self.source == "samples" else self.slant) + rng.normal(0, self.jitter * 1.5)
        squeeze = self.squeeze * (1 + rng.normal(0, self.jitter))
        angle = rng.normal(0, self.jitter * 2)
        wide = int((box[2] - box[0]) / factor * squeeze + twice * abs(slant) * 1.2 + 0.25 * twice) // 2 * 2 + 2
        high = int(twice * 1.2) // 2 * 2 + 2
        # Output px (2x) to picture px: undo the turn, the slant, the squeeze.
        turn = np.array([[np.cos(angle), np.sin(angle)], [-np.sin(angle), np.cos(angle)]])
        matrix = factor * np.array([[1 / squeeze, slant / squeeze], [0, 1]]) @ turn
        middle = np.array([(box[0] + box[2]) / 2, (box[1] + box[3]) / 2])
        shift = middle - matrix @ np.array([wide / 2, high / 2])
        data = (matrix[0, 0], matrix[0, 1], shift[0], matrix[1, 0], matrix[1, 1], shift[1])
        if factor > 1.5:    # shrinking: average first
            picture = picture.filter(ImageFilter.GaussianBlur(factor * 0.5))
        big = picture.transform((wide, high), Image.Transform.AFFINE, data, Image.Resampling.BICUBIC)
        if factor < 0.8:
            big = big.filter(ImageFilter.GaussianBlur(0.35 / factor))
        grey = np.asarray(big, np.float32) / 255
        soft = 0.5 * min(1.0, max(0.12, factor))
        crisp = np.clip((grey - cut) / soft + 0.5, 0, 1)
        return np.asarray(Image.fromarray((crisp * 255).astype(np.uint8)).reduce(2))

    def digit(self, rng, digit, size_px):
        size = max(5.0, size_px * self.size * (1 + rng.normal(0, self.jitter * 2)))
        press = float(np.clip(rng.normal(0, self.uneven), -0.4, 0.4))
        if self.source == "samples":
            bare = self.sample_mask(rng, digit, size, self.cut - 0.3 * press)
        elif self.source in ("font", "face"):
            bare = self.font_mask(rng, digit, size, 0.5 - 0.3 * press)
        else:
            bare = self.stroke_mask(rng, self.shapes[digit], size, max(1.0, size * self.width * (1 + press)))
        return self.finish(rng, bare, 1 + min(0.0, press)), self.ink

    def mark(self, rng, digit, size_px):
        """A small candidate: the same pen, so thicker for its size."""
        size = max(5.0, size_px * (1 + rng.normal(0, self.jitter * 2)))
        if self.source == "samples":
            bare = self.sample_mask(rng, digit, size, self.cut - 0.08)
        elif self.source in ("font", "face"):
            bare = self.font_mask(rng, digit, size)
        else:
            bare = self.stroke_mask(rng, self.shapes[digit], size, max(1.0, size * min(0.15, self.width * 1.7)))
        return self.finish(rng, bare), self.ink

    def draw_sign(self, rng, lines, size_px, width=None):
        width = width or max(1.0, size_px * self.width * 0.8)
        lines = [np.asarray(line, np.float64) * size_px for line in lines]
        return self.finish(rng, strokes.draw(rng, lines, width, self.taper, self.pool)), self.ink

    def cross_out(self, rng, size_px, tight=True):
        """One to three lines through something or, if `tight`, a scribble that may hide it."""
        kind = rng.random()
        if kind < 0.4 and tight:
            return self.scribble(rng, size_px)
        ends = [[(0, 1), (0.5, 0.5), (1, 0)]] if kind < 0.6 else [[(0, 1), (0.5, 0.5), (1, 0)], [(0, 0), (0.5, 0.5), (1, 1)]]
        if rng.random() < 0.2:
            ends = [[(0, 0.5), (0.5, 0.48), (1, 0.5)]] * int(rng.integers(1, 4))
        return self.draw_sign(rng, [np.array(line) + rng.normal(0, 0.06, (len(line), 2)) for line in ends], size_px)

    def ring(self, rng, size_px):
        """A loop that overlaps or misses its own start a little."""
        start = rng.uniform(0, 2 * np.pi)
        turn = np.linspace(start, start + 2 * np.pi * rng.uniform(0.95, 1.12), 14)
        radius = 0.5 * (1 + rng.normal(0, 0.04, 14)) + np.linspace(0, rng.normal(0, 0.04), 14)
        return self.draw_sign(rng, [np.stack([np.cos(turn) * radius, np.sin(turn) * radius * rng.uniform(0.85, 1.1)], 1)], size_px)

    def tick(self, rng, size_px):
        points = np.array([(0, 0.6), (0.3, 1), (0.3, 1), (0.55, 0.5), (0.95, 0)])
        shift = rng.normal(0, 0.06, (5, 2))
        shift[2] = shift[1]
        return self.draw_sign(rng, [points + shift], size_px)

    def scribble(self, rng, size_px):
        """A zigzag that hides what lies below."""
        count = int(rng.integers(7, 16))
        x = np.linspace(0, 1, count) + rng.normal(0, 0.05, count)
        y = np.where(np.arange(count) % 2, 0.05, 0.95) + rng.normal(0, 0.07, count)
        angle = rng.uniform(-0.6, 0.6)
        points = np.stack([x * np.cos(angle) - y * np.sin(angle), x * np.sin(angle) + y * np.cos(angle)], 1)
        return self.draw_sign(rng, [points], size_px * 0.9, max(1.0, size_px * self.width * 1.1))
