"""A sheet of paper to print on: white RGB pixels, antialiased rules, text, masks of ink.

Positions are in px, pixel centres at whole numbers, so a rule of width 1 at x = 3 darkens exactly column 3.
"""
import numpy as np
from PIL import Image, ImageDraw


def cover(start, end, count):
    """Share of each of `count` pixels that the stretch from start to end covers, and the first pixel it touches."""
    first, last = max(0, int(np.floor(start + 0.5))), min(count, int(np.ceil(end + 0.5)))
    if last <= first:
        return first, np.zeros(0, np.float32)
    at = np.arange(first, last, dtype=np.float32)
    return first, np.clip(np.minimum(at + 0.5, end) - np.maximum(at - 0.5, start), 0, 1)


class Canvas:
    def __init__(self, width, height, paper=(255, 255, 255)):
        self.pixels = np.empty((int(height), int(width), 3), np.uint8)
        self.pixels[:] = paper

    @property
    def width(self):
        return self.pixels.shape[1]

    @property
    def height(self):
        return self.pixels.shape[0]

    def blend(self, x, y, alpha, ink):
        """Lays ink through a mask (0..1 or uint8) whose top left pixel is at whole px (x, y); what falls outside is lost."""
        x, y = int(x), int(y)
        top, left = max(0, -y), max(0, -x)
        bottom, right = min(alpha.shape[0], self.height - y), min(alpha.shape[1], self.width - x)
        if bottom <= top or right <= left:
            return
        part = self.pixels[y + top:y + bottom, x + left:x + right]
        mask = alpha[top:bottom, left:right, None].astype(np.float32)
        if alpha.dtype == np.uint8:
            mask /= 255
        part[:] = (part + (np.asarray(ink, np.float32) - part) * mask + 0.5).astype(np.uint8)

    def stain(self, x, y, alpha, ink):
        """Like blend, but darkens what lies below as a transparent ink does."""
        x, y = int(x), int(y)
        top, left = max(0, -y), max(0, -x)
        bottom, right = min(alpha.shape[0], self.height - y), min(alpha.shape[1], self.width - x)
        if bottom <= top or right <= left:
            return
        part = self.pixels[y + top:y + bottom, x + left:x + right]
        mask = alpha[top:bottom, left:right, None].astype(np.float32)
        if alpha.dtype == np.uint8:
            mask /= 255
        part[:] = (part * (1 - mask * (1 - np.asarray(ink, np.float32) / 255)) + 0.5).astype(np.uint8)

    def fill(self, x0, y0, x1, y1, ink, strength=1.0):
        left, across = cover(x0, x1, self.width)
        top, down = cover(y0, y1, self.height)
        if len(across) and len(down):
            self.blend(left, top, np.outer(down, across) * strength, ink)

    def rule(self, upright, at, start, end, width, ink, dash=None):
        """A straight rule: upright at x = at, or level at y = at. dash is (on, off) in px; thin rules grow pale, as in print."""
        count = self.height if upright else self.width
        first, along = cover(start, end, count)
        if dash:
            on, off = dash
            period = on + off
            edge = np.arange(first, first + len(along) + 1, dtype=np.float32) - 0.5 - start
            run = np.floor(edge / period) * on + np.minimum(edge % period, on)
            along = along * np.clip(np.diff(run), 0, 1)
        across_first, across = cover(at - width / 2, at + width / 2, self.width if upright else self.height)
        if not len(along) or not len(across):
            return
        if upright:
            self.blend(across_first, first, np.outer(along, across), ink)
        else:
            self.blend(first, across_first, np.outer(across, along), ink)

    def corner(self, x, y, radius, width, ink, side_x, side_y):
        """A quarter of a ring round (x, y) lying towards (side_x, side_y), each -1 or 1: a rounded outer corner."""
        reach = int(np.ceil(radius + width))
        ys, xs = np.mgrid[-reach:reach + 1, -reach:reach + 1].astype(np.float32)
        x_whole, y_whole = int(np.floor(x)), int(np.floor(y))
        xs, ys = xs - (x - x_whole), ys - (y - y_whole)
        mask = np.clip(width / 2 + 0.5 - np.abs(np.hypot(xs, ys) - radius), 0, 1)
        mask *= np.clip(xs * side_x + 0.5, 0, 1) * np.clip(ys * side_y + 0.5, 0, 1)
        self.blend(x_whole - reach, y_whole - reach, mask, ink)

    def ring(self, x, y, radius, width, ink):
        for side_x, side_y in ((-1, -1), (1, -1), (1, 1), (-1, 1)):
            self.corner(x, y, radius, width, ink, side_x, side_y)

    def text(self, x, y, words, font, ink, anchor="la", stretch=1.0, slant=0.0):
        """Prints one line; gives its box (x0, y0, x1, y1) in px. Anchors are Pillow's: l m r by a m s d.

        A stretch makes the letters wider or narrower about x, a slant leans them to the right by that share of their height, half of it above
        the line's middle; the box is then that of the plain line.
        """
        x_whole, y_whole = int(np.floor(x)), int(np.floor(y))
        left, top, right, bottom = font.getbbox(words, anchor=anchor)
        left, top, right, bottom = int(left) - 1, int(top) - 1, int(np.ceil(right)) + 2, int(np.ceil(bottom)) + 2
        if right <= left or bottom <= top:
            return x, y, x, y
        mask = Image.new("L", (right - left, bottom - top))
        ImageDraw.Draw(mask).text((x - x_whole - left, y - y_whole - top), words, 255, font, anchor)
        if stretch != 1.0 or slant:
            wide = int(np.ceil((right - left) * max(1.0, stretch) + (bottom - top) * abs(slant))) + 2
            grown = (wide - (right - left)) // 2
            # Output column u of row v comes from column (u + slant (v - y0) - x0) / stretch + x0, with (x0, y0) the anchor's column and the middle row
            # in the mask, at pixel edges.
            x0, y0 = x - x_whole - left + 0.5, (bottom - top) / 2
            mask = mask.transform((right - left + 2 * grown, bottom - top), Image.Transform.AFFINE,
                                  (1 / stretch, slant / stretch, x0 - (x0 + grown + slant * y0) / stretch, 0, 1, 0), Image.Resampling.BICUBIC)
            left -= grown
        self.blend(x_whole + left, y_whole + top, np.asarray(mask), ink)
        return x_whole + left + 1, y_whole + top + 1, x_whole + right - 2, y_whole + bottom - 2

    def polygon(self, points, ink, strength=1.0):
        points = np.asarray(points, np.float32)
        low, high = np.floor(points.min(0)) - 1, np.ceil(points.max(0)) + 2
        size = (high - low).astype(int)
        mask = Image.new("L", (int(size[0]) * 2, int(size[1]) * 2))
        ImageDraw.Draw(mask).polygon([tuple(p) for p in (points - low + 0.5) * 2 - 0.5], 255)
        self.blend(low[0], low[1], np.asarray(mask.reduce(2), np.float32) / 255 * strength, ink)

    def disc(self, x, y, radius, ink, strength=1.0):
        reach = int(np.ceil(radius)) + 1
        x_whole, y_whole = int(np.floor(x)), int(np.floor(y))
        ys, xs = np.mgrid[-reach:reach + 1, -reach:reach + 1].astype(np.float32)
        mask = np.clip(radius + 0.5 - np.hypot(xs - (x - x_whole), ys - (y - y_whole)), 0, 1)
        self.blend(x_whole - reach, y_whole - reach, mask * strength, ink)

    def lay(self, x, y, pixels):
        """Multiplies another print into this one, its top left pixel at whole px (x, y): paper shows through white."""
        x, y = int(x), int(y)
        top, left = max(0, -y), max(0, -x)
        bottom, right = min(pixels.shape[0], self.height - y), min(pixels.shape[1], self.width - x)
        if bottom <= top or right <= left:
            return
        part = self.pixels[y + top:y + bottom, x + left:x + right]
        part[:] = (part.astype(np.uint16) * pixels[top:bottom, left:right] + 127) // 255


def turn_points(points, turn, width, height):
    """Where points of a width x height px image go when it is turned clockwise by 0, 90, 180 or 270 degrees."""
    points = np.asarray(points, np.float64)
    x, y = points[..., 0], points[..., 1]
    if turn == 90:
        x, y = height - 1 - y, x
    elif turn == 180:
        x, y = width - 1 - x, height - 1 - y
    elif turn == 270:
        x, y = y, width - 1 - x
    return np.stack([x, y], -1)


def turn_pixels(pixels, turn):
    return np.ascontiguousarray(np.rot90(pixels, -(turn // 90)))
