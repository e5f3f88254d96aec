"""What surrounds a photographed page: the table, the neighbouring page, things lying on it, shadows and glare."""
import functools
import glob
import os

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter, ImageFont

from furniture import cloud

HERE = os.path.dirname(os.path.abspath(__file__))

SKIN = ((222, 178, 150), (198, 146, 116), (150, 100, 74), (236, 196, 172), (104, 68, 50))
BRIGHT = ((200, 40, 40), (30, 80, 170), (30, 30, 34), (20, 130, 80), (240, 200, 40), (245, 245, 240), (150, 60, 140), (120, 120, 125))


@functools.lru_cache(6)
def small_print(number):
    """One of six sheets of made-up words in columns, uint8 [1500, 1500], ink 255 on 0, text about 15 px high; made once."""
    rng = np.random.default_rng(number)
    files = sorted(glob.glob(os.path.join(HERE, ".cache", "fonts", "print", "*.[to]tf")))
    file = files[rng.integers(len(files))] if files else None

    def font(size):
        return ImageFont.truetype(file, size, layout_engine=ImageFont.Layout.BASIC) if file else ImageFont.load_default(size)

    sheet = Image.new("L", (1500, 1500))
    brush = ImageDraw.Draw(sheet)
    letters, body = np.array(list("eeeaaiioounnrrtsslldcmpghbv")), font(15)
    columns = int(rng.integers(3, 6))
    for column in range(columns):
        left, wide, y = 1500 * column / columns, 1500 / columns - 24, rng.integers(-30, 10)
        while y < 1500:
            draw = rng.random()
            if draw < 0.02:    # a picture
                tall = int(rng.integers(60, 260))
                brush.rectangle((left, y, left + wide, y + tall), fill=int(rng.integers(60, 230)))
                y += tall + 14
                continue
            size = 42 if draw < 0.04 else 15
            room = int(wide / (size * 0.52) * (rng.uniform(0.2, 1) if rng.random() < 0.1 else 1))
            line = "".join(np.where(rng.random(room) < 0.17, " ", rng.choice(letters, room)))
            brush.text((left, y), line, 255, body if size == 15 else font(size))
            y += size * 1.25
    for column in range(1, columns):    # keep the gaps between columns clean
        edge = 1500 * column / columns
        brush.rectangle((edge - 20, 0, edge - 4, 1500), fill=0)
    return np.asarray(sheet)


def fake_text(rng, width, height, paper, size=9.0):
    """Printed columns, text about `size` px high, on paper of a colour; uint8 [height, width, 3]."""
    sheet = small_print(int(rng.integers(6)))
    factor = float(np.clip(size / 15, 0.2, 3))
    wide, high = min(1500, int(width / factor) + 1), min(1500, int(height / factor) + 1)
    left, top = int(rng.integers(1501 - wide)), int(rng.integers(1501 - high))
    part = Image.fromarray(sheet[top:top + high, left:left + wide])
    mask = np.asarray(part.resize((max(1, round(wide * factor)), max(1, round(high * factor))), Image.Resampling.BILINEAR))
    rows, columns = -(-height // mask.shape[0]), -(-width // mask.shape[1])
    mask = Image.fromarray(np.ascontiguousarray(np.tile(mask, (rows, columns))[:height, :width]))
    strong = rng.uniform(0.7, 0.9)
    bands = [mask.point([int(level * (1 - strong * v / 255)) for v in range(256)]) for level in np.clip(paper, 0, 255).tolist()]
    return np.asarray(Image.merge("RGB", bands))


def table(rng, width, height):
    """A background, PIL RGB."""
    kind = rng.choice(("wood", "cloth", "dark", "light", "print", "check"), p=(0.3, 0.15, 0.22, 0.13, 0.14, 0.06))
    if kind == "print":
        size = max(width, height) * rng.uniform(0.008, 0.02)
        image = Image.fromarray(fake_text(rng, width, height, rng.uniform(180, 250) + rng.normal(0, 6, 3), size))
        return image.rotate(float(rng.normal(0, 6)), Image.Resampling.BILINEAR, fillcolor=(200, 198, 190))
    if kind == "wood":
        base = np.array(((150, 100, 60), (190, 140, 90), (90, 60, 40), (205, 170, 125), (120, 70, 40))[rng.integers(5)], np.float32)
        long = Image.fromarray(rng.random((max(2, height // 5), max(2, width // 160)), np.float32)).resize((width, height), Image.Resampling.BICUBIC)
        grain = np.asarray(long) - 0.5 + 0.5 * np.sin(cloud(rng, width, height, 3) * rng.uniform(10, 40))
        if rng.random() < 0.5:
            grain = np.ascontiguousarray(np.asarray(Image.fromarray(grain).transpose(Image.Transpose.ROTATE_90).resize((width, height))))
        field = base * (1 + 0.13 * grain[..., None])
    elif kind == "cloth":
        base = rng.uniform(50, 210, 3).astype(np.float32)
        x, y = np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32)
        pitch = rng.uniform(3, 7)
        weave = np.sin(x * 6.28 / pitch)[None] * np.sin(y * 6.28 / pitch)[:, None]
        field = base * (0.85 + 0.12 * weave + 0.3 * (cloud(rng, width, height, 5) - 0.5))[..., None]
    elif kind == "check":
        first, second = rng.uniform(30, 230, (2, 3)).astype(np.float32)
        pitch = max(width, height) * rng.uniform(0.03, 0.12)
        squares = ((np.arange(width) // pitch)[None] + (np.arange(height) // pitch)[:, None]) % 2
        field = np.where(squares[..., None] > 0, first, second)
    else:
        level = rng.uniform(8, 70) if kind == "dark" else rng.uniform(150, 245)
        field = np.clip(level + rng.normal(0, 10, 3), 0, 250).astype(np.float32) * (0.8 + 0.4 * cloud(rng, width, height, 3)[..., None])
    return Image.fromarray(np.clip(field, 0, 255).astype(np.uint8))


def capsule(brush, start, end, radius):
    """A thick line with round ends."""
    start, end = np.asarray(start, float), np.asarray(end, float)
    along = (end - start) / max(np.hypot(*(end - start)), 1e-6)
    side = np.array([-along[1], along[0]]) * radius
    brush.polygon([tuple(p) for p in (start + side, end + side, end - side, start - side)], 255)
    for x, y in (start, end):
        brush.ellipse((x - radius, y - radius, x + radius, y + radius), 255)


def thing(rng, width, height, target):
    """Something on the page near `target` (photo px): (mask L, picture RGB of the same size)."""
    short = min(width, height)
    mask = Image.new("L", (width, height))
    brush = ImageDraw.Draw(mask)
    kind = rng.choice(("thumb", "pen", "strip", "coin", "scrap"), p=(0.35, 0.3, 0.17, 0.06, 0.12))
    target = np.asarray(target, float)
    angle = rng.uniform(0, 2 * np.pi)
    way = np.array([np.cos(angle), np.sin(angle)])
    if kind == "thumb":
        tone = np.array(SKIN[rng.integers(len(SKIN))]) + rng.normal(0, 8, 3)
        # From the nearest border inwards.
        borders = np.array([[0, target[1]], [width, target[1]], [target[0], 0], [target[0], height]])
        start = borders[np.argmin(np.abs(borders - target).sum(1))]
        inward = np.array([width / 2, height / 2]) - start
        inward = inward / max(np.hypot(*inward), 1e-6) + rng.normal(0, 0.3, 2)
        radius = short * rng.uniform(0.04, 0.085)
        tip = start + inward * short * rng.uniform(0.05, 0.22)
        capsule(brush, start - inward * short * 0.3, tip, radius)
        picture = Image.new("RGB", (width, height), tuple(int(v) for v in np.clip(tone, 0, 255)))
        shade = ImageDraw.Draw(picture)
        x, y = tip + inward * radius * 0.2
        nail = tuple(int(v) for v in np.clip(tone + (18, 10, 12), 0, 255))
        shade.ellipse((x - radius * 0.55, y - radius * 0.55, x + radius * 0.55, y + radius * 0.55), nail)
        picture = picture.filter(ImageFilter.GaussianBlur(radius * 0.12))
    elif kind == "pen":
        colour = BRIGHT[rng.integers(len(BRIGHT))]
        radius = short * rng.uniform(0.008, 0.022)
        end = target + way * short * rng.uniform(0.0, 0.1)
        capsule(brush, target - way * short * rng.uniform(0.5, 1.4), end, radius)
        side = np.array([-way[1], way[0]]) * radius
        brush.polygon([tuple(end + side), tuple(end + way * radius * 4), tuple(end - side)], 255)
        picture = Image.new("RGB", (width, height), colour)
        gleam = [tuple(target - way * 2 * short + side * 0.4), tuple(end + side * 0.4)]
        ImageDraw.Draw(picture).line(gleam, tuple(min(255, c + 70) for c in colour), max(1, int(radius * 0.4)))
        picture = picture.filter(ImageFilter.GaussianBlur(max(0.4, radius * 0.2)))
    elif kind == "coin":
        radius = short * rng.uniform(0.03, 0.06)
        capsule(brush, target, target + way * 0.5, radius)
        tone = ((176, 140, 70), (160, 160, 165), (150, 90, 60))[rng.integers(3)]
        picture = Image.new("RGB", (width, height), tone)
        x, y = target
        for reach in (0.85 * radius, 0.5 * radius):
            edge = (x - reach, y - reach, x + reach, y + reach)
            ImageDraw.Draw(picture).ellipse(edge, outline=tuple(int(c * 0.6) for c in tone), width=2)
    else:
        side = np.array([-way[1], way[0]])
        wide = short * (rng.uniform(0.03, 0.1) if kind == "strip" else rng.uniform(0.08, 0.25))
        if kind == "strip":
            corners = [target - side * wide - way * short * 1.5, target + side * wide - way * short * 1.5, target + side * wide, target - side * wide]
        else:
            turn = np.sort(rng.uniform(0, 2 * np.pi, 7))
            corners = [target + wide * rng.uniform(0.5, 1) * np.array([np.cos(t), np.sin(t)]) for t in turn]
        brush.polygon([tuple(p) for p in corners], 255)
        colour = BRIGHT[rng.integers(len(BRIGHT))] if kind == "strip" else tuple(int(v) for v in rng.uniform(200, 255, 3))
        picture = Image.new("RGB", (width, height), colour)
        if kind == "strip" and rng.random() < 0.6:    # a ruler's or a ribbon's marks
            marks = ImageDraw.Draw(picture)
            for step in np.arange(0, short * 1.5, wide * 0.35):
                at = target - way * step
                marks.line([tuple(at - side * wide), tuple(at - side * wide * 0.5)], (20, 20, 20), max(1, int(wide * 0.05)))
    return mask, picture


def lay_thing(rng, image, mask, picture):
    """Puts a thing on the photo, with its own soft shadow."""
    short = min(image.size)
    quarter = mask.reduce(4).filter(ImageFilter.GaussianBlur(short / 4 * rng.uniform(0.008, 0.02)))
    dark = float(rng.uniform(0.3, 0.65))
    shadow = quarter.point([int(255 - v * dark) for v in range(256)]).resize(image.size, Image.Resampling.BILINEAR)
    dx, dy = (int(v) for v in rng.normal(0, short * 0.012, 2))
    shadow = ImageChops.offset(shadow, dx, dy)
    image = ImageChops.multiply(image, Image.merge("RGB", (shadow,) * 3))
    return Image.composite(picture, image, mask.filter(ImageFilter.GaussianBlur(0.6)))


def printed_strip(rng, width, height, paper, text, gap_side):
    """More of a sheet: paper, mostly printed on, with a blank gap of a text line or more on one side ('left', 'right' or None)."""
    strip = np.empty((height, width, 3), np.uint8)
    strip[:] = paper
    gap = int(text * rng.uniform(1.5, 5))
    if rng.random() < 0.8 and min(width, height) > gap + 2 * text:
        left, right = (gap, width) if gap_side == "left" else (0, width - gap) if gap_side == "right" else (0, width)
        top, bottom = (0, height) if gap_side else (gap // 2, height - gap // 2)
        strip[top:bottom, left:right] = fake_text(rng, right - left, bottom - top, paper, text)
    return strip


def widen(page, rng, gutter, more):
    """Adds what lies beside the page: the neighbouring page on a bound side; with `more`, the rest of a larger sheet on all others.

    Gives the wider picture and where page px (0, 0) now is.
    """
    height, width = page.shape[:2]
    paper = np.percentile(page[::16, ::16].reshape(-1, 3), 80, axis=0).astype(np.uint8)
    text = max(9.0, width * rng.uniform(0.009, 0.018))
    extra = {side: int(width * rng.uniform(0.08, 0.6)) if gutter == side or more else 0 for side in ("left", "right")}
    offset = np.array([extra["left"], 0])
    parts = [page]
    if extra["left"]:
        parts.insert(0, printed_strip(rng, extra["left"], height, paper, text, "right"))
    if extra["right"]:
        parts.append(printed_strip(rng, extra["right"], height, paper, text, "left"))
    page = np.hstack(parts) if len(parts) > 1 else page
    if more:
        above, below = (int(height * rng.uniform(0.05, 0.5)) for _ in range(2))
        top, bottom = (printed_strip(rng, page.shape[1], tall, paper, text, None) for tall in (above, below))
        page = np.vstack([top, page, bottom])
        offset[1] = above
    return page, offset


def wear(page, rng, sheet, level):
    """Ink rubbed off along some creases, in page px."""
    if level not in ("rough", "harsh") or not any(sheet.folds):
        return page
    image = None
    for axis in (0, 1):
        for place, _, width in sheet.folds[axis]:
            if width > 0.025 * sheet.middle[axis] or rng.random() < 0.5:
                continue
            image = image or Image.fromarray(page)
            mask = Image.new("L", image.size)
            along = np.linspace(-1.2, 1.2, 60) * max(sheet.middle)
            across = place + rng.normal(0, 0.8, 60)
            path = np.stack([across, along] if axis == 0 else [along, across], 1) @ sheet.axes + sheet.middle
            ImageDraw.Draw(mask).line([tuple(p) for p in path], int(rng.uniform(90, 220)), int(rng.integers(1, 4)))
            paper = tuple(int(v) for v in np.percentile(page[::16, ::16].reshape(-1, 3), 85, axis=0))
            image.paste(paper, (0, 0), mask)
    return page if image is None else np.asarray(image)
