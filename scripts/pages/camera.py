"""Photographs a flat drawn page: bends, views, lights and blurs it, and knows where every point went.

`photograph(page, rng, level, focus)` gives a Photo. Levels: clean (a flatbed scan), plain (a good phone photo), rough, harsh. The ranges
were set by eye against real phone photos of newspaper pages; no source states them.
"""
from dataclasses import dataclass

import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

import scene
import sensor
from lens import Sheet, View
from light import light_field, shine
from render import box_outline, render


@dataclass
class Photo:
    """A photo: `image` uint8 [h, w, 3]; `hidden` bool [h, w], where something lies on the page or glare has burnt it out."""
    image: np.ndarray
    view: View
    hidden: np.ndarray

    def warp(self, points):
        """Page px [N, 2] to photo px [N, 2]; pixel centres at whole numbers."""
        return self.view.warp(points)

    def covered(self, points):
        """True for photo px [N, 2] that something hides; points outside the photo are not covered."""
        at = np.round(np.asarray(points, np.float64).reshape(-1, 2)).astype(int)
        height, width = self.hidden.shape
        within = (at[:, 0] >= 0) & (at[:, 1] >= 0) & (at[:, 0] < width) & (at[:, 1] < height)
        return within & self.hidden[np.clip(at[:, 1], 0, height - 1), np.clip(at[:, 0], 0, width - 1)]


def choose_size(rng, level, focus, page_size):
    """Photo width and height."""
    wide, high = (focus[2], focus[3]) if focus else page_size
    if level == "clean":
        long = int(rng.uniform(520, 1300) if focus else rng.uniform(1000, 1800))
        aspect = np.clip(wide / high * rng.uniform(0.9, 1.1), 0.5, 2.0)
        return (long, max(320, int(long / aspect))) if aspect > 1 else (max(320, int(long * aspect)), long)
    share = {"plain": 0.08, "rough": 0.3, "harsh": 0.5}[level] if focus else {"plain": 0.0, "rough": 0.04, "harsh": 0.1}[level]
    draw = rng.random()
    if draw < share:
        long, short = 640, 480
    elif draw < share + 0.3:
        long, short = 1280, 960
    else:
        long = int(rng.uniform(600 if focus else 1000, 1600))
        short = int(long * rng.choice((0.75, 0.75, 0.667, 0.5625, 1.0), p=(0.5, 0.1, 0.15, 0.15, 0.1)))
    upright = wide < high * 0.9 if abs(np.log(wide / high)) > 0.12 else rng.random() < 0.5
    if rng.random() < 0.08:
        upright = not upright
    return (short, long) if upright else (long, short)


def aim(rng, view, size, focus, page_size, level):
    """Sets the view's scale and place so that the box looked at sits in the frame as a person would have it."""
    x, y, wide, high = focus or (0, 0, *page_size)
    border = box_outline(x, y, x + wide, y + high)
    seen = view.project(border)
    low, high = seen.min(0), seen.max(0)
    fit = (np.array(size) / (high - low)).min()
    if focus:
        share = rng.uniform(0.55, 0.98) if rng.random() < 0.5 else rng.uniform(0.78, 0.98)
    elif level == "clean":
        share = rng.uniform(0.96, 1.03)
    else:
        share = rng.uniform(0.8, 0.98) if rng.random() < 0.5 else rng.uniform(0.97, 1.06)
    scale = fit * share
    spare = np.array(size) - (high - low) * scale
    shift = -low * scale + spare * (0.5 + rng.uniform(-0.45, 0.45, 2) * (spare > 0)) - 0.5
    if focus and rng.random() < {"clean": 0.01, "plain": 0.02, "rough": 0.05, "harsh": 0.1}[level]:
        axis, first = rng.integers(2), rng.random() < 0.5
        cut = rng.uniform(1, 7) if rng.random() < 0.7 or level != "harsh" else rng.uniform(0.02, 0.12) * min(size)
        edge = (low if first else high)[axis] * scale
        shift[axis] = -edge - cut if first else size[axis] - 1 - edge + cut
    elif not focus and level == "harsh" and rng.random() < 0.2:
        shift += rng.normal(0, 0.06, 2) * np.array(size)
    view.place(scale, shift)


def choose_view(rng, sheet, level, look_at, span):
    def degrees(value):
        return float(np.deg2rad(value))

    if level == "clean":
        return View(sheet, degrees(np.clip(rng.normal(0, 0.6), -2, 2)), 0.0, 0.0, 1e7, 0.0, look_at)
    turn = np.clip(rng.normal(0, {"plain": 2, "rough": 3, "harsh": 4}[level]), -8, 8)
    if rng.random() < {"plain": 0.04, "rough": 0.12, "harsh": 0.15}[level]:
        turn = rng.uniform(-40, 40) if level != "plain" else rng.uniform(-18, 18)
    tilt = {"plain": 9, "rough": 25, "harsh": 31}[level] * rng.beta(1.3, 1.8)
    return View(sheet, degrees(turn), degrees(tilt), rng.uniform(0, 2 * np.pi), span * rng.uniform(1.2, 2.8), rng.normal(0, 0.06), look_at)


def photograph(page_rgb, rng, level, focus=None):
    """A photo of a page, uint8 [H, W, 3]. `focus` [x, y, w, h] in page px is what the photographer aims at, by default the whole page."""
    height, width = page_rgb.shape[:2]
    focus = None if focus is None else [float(v) for v in focus]
    box = focus or [0, 0, width, height]
    look_at = (box[0] + box[2] / 2, box[1] + box[3] / 2)
    # Some poor pictures are scans, too: of copies of copies, coarse and full of dust.
    worn = {"rough": 0.5, "harsh": 1.0}.get(level, 0.0) if rng.random() < 0.12 else 0.0
    level = "clean" if worn else level
    size = choose_size(rng, level, focus, (width, height))
    if worn:
        coarser = rng.uniform(0.45, 0.9)
        size = tuple(int(side * coarser) for side in size)
    bound = rng.random() < {"clean": 0.0, "plain": 0.3, "rough": 0.5, "harsh": 0.5}[level]
    gutter = str(rng.choice(("left", "right"))) if bound else None
    sheet = Sheet(rng, width, height, level, gutter, look_at)
    view = choose_view(rng, sheet, level, look_at, float(np.hypot(box[2], box[3])))
    aim(rng, view, size, focus, (width, height), level)
    more = focus is not None and rng.random() < {"clean": 0.15, "plain": 0.4, "rough": 0.5, "harsh": 0.5}[level]
    pixels, offset = scene.widen(scene.wear(page_rgb, rng, sheet, level), rng, gutter, more)
    if level == "clean":
        return scan(rng, pixels, offset, view, size, worn)
    image, source, mask = render(pixels, offset, view, size, level)
    if mask.getextrema()[0] < 255:
        mask = mask.filter(ImageFilter.GaussianBlur(0.5))
        back = scene.table(rng, (size[0] + 1) // 2, (size[1] + 1) // 2).resize(size, Image.Resampling.BILINEAR)
        drop = ImageChops.offset(mask.reduce(4), *(int(v) for v in rng.integers(-3, 4, 2))).filter(ImageFilter.GaussianBlur(3))
        dark = drop.point([int(255 - 0.5 * v) for v in range(256)]).resize(size, Image.Resampling.BILINEAR)
        image = Image.composite(image, ImageChops.multiply(back, Image.merge("RGB", (dark,) * 3)), mask)
    hidden = np.zeros((size[1], size[0]), bool)
    centre = view.warp(np.array([look_at]))[0]
    reach = np.abs(view.warp(np.array([[box[0], box[1]], [box[0] + box[2], box[1] + box[3]]])) - centre).max(0)
    if rng.random() < {"plain": 0.02, "rough": 0.12, "harsh": 0.3}[level]:
        over, picture = scene.thing(rng, *size, centre + reach * rng.choice((-1, 1), 2) * rng.uniform(0.55, 1.1, 2))
        image = scene.lay_thing(rng, image, over, picture)
        hidden |= np.asarray(over) > 127
    light = light_field(rng, level, sheet, source, mask, size, gutter)
    image, hidden = shine(rng, level, image, light, hidden, centre, reach)
    return Photo(np.asarray(develop(rng, level, image, size, focus, view, mask)), view, hidden)


def develop(rng, level, image, size, focus, view, mask):
    """From light to the file: exposure, blur, noise, sharpening, JPEG."""
    pixels = np.asarray(image)[::8, ::8]
    seen = pixels[np.asarray(mask)[::8, ::8] > 200]
    measured = float(np.percentile(seen.mean(1), 80)) if len(seen) else 200.0
    # About a cell's size, so that blur hurts small print no more than large.
    cell = min(focus[2], focus[3]) / 9 * view.scale if focus else min(size) / 32
    phone = level in ("rough", "harsh") and max(size) <= 800
    if phone and rng.random() < 0.55:
        return old_phone(rng, image, measured, cell)
    dark = level == "harsh" and rng.random() < 0.14
    white = rng.uniform(*{"plain": (160, 245), "rough": (120, 235), "harsh": (45, 90) if dark else (110, 245)}[level])
    black = white * rng.uniform(0.0, {"plain": 0.12, "rough": 0.25, "harsh": 0.4}[level])
    cast = sensor.tint(rng, {"plain": 0.03, "rough": 0.07, "harsh": 0.11}[level])
    image = sensor.expose(image, white, black, rng.uniform(0.8, 1.35), cast / cast.max() if white > 200 else cast, measured)
    most = {"plain": 0.022, "rough": 0.045, "harsh": 0.068}[level] * cell
    radius = rng.uniform(0.45, 1.0) * max(0.8, most) if phone else rng.uniform(0.3, max(0.4, most))
    shaken = rng.random() < {"plain": 0.05, "rough": 0.22, "harsh": 0.3}[level]
    image = sensor.defocus(rng, image, min(radius, 4.0) * (0.6 if shaken else 1), rng.random() < 0.25)
    if shaken:
        image = sensor.shake(rng, image, max(2.0, rng.uniform(0.05, 0.08 if level == "plain" else 0.16) * cell))
    if level == "harsh" and rng.random() < 0.08:
        image = sensor.screen_bands(rng, image)
    noise = rng.gamma(2.0, {"plain": 0.8, "rough": 1.7, "harsh": 2.8}[level]) * (1.3 if dark else 1)
    image = sensor.add_noise(rng, image, min(noise, 18.0), noise * rng.uniform(0.2, 1.0), rng.uniform(1, 4))
    if phone or rng.random() < {"plain": 0.3, "rough": 0.4, "harsh": 0.5}[level]:
        if rng.random() < 0.5:
            image = image.filter(ImageFilter.GaussianBlur(rng.uniform(0.4, 0.9)))    # the phone's own smoothing
        # Sharpening blows noise up too: real phones smooth first where there is much.
        strong = rng.uniform(30, {"plain": 90, "rough": 170, "harsh": 280}[level]) / (1 + noise / 8)
        image = image.filter(ImageFilter.UnsharpMask(rng.uniform(0.8, 3.0), int(strong), 0))
    if rng.random() < 0.06:
        image = image.convert("L").convert("RGB")
    return sensor.jpeg(image, rng.uniform(*{"plain": (70, 95), "rough": (40, 85), "harsh": (25, 70)}[level]))


def old_phone(rng, image, measured, cell):
    """A phone of about 2008 at 640x480: grey ink on greyish, greenish paper, a soft lens, noise smoothed away.

    Ranges follow the tenth to ninetieth percentile of paper brightness, ink by paper, and edge steepness of such photos (by eye and count).
    """
    white = rng.uniform(115, 175)
    cast = sensor.tint(rng, 0.035) * (0.985, 1.025, 0.95 + rng.uniform(-0.05, 0.08))
    image = sensor.expose(image, white, white * rng.uniform(0.1, 0.42), rng.uniform(0.8, 1.2), cast, measured)
    image = sensor.defocus(rng, image, np.clip(rng.uniform(0.03, 0.062) * cell, 0.7, 3.5), rng.random() < 0.3)
    if rng.random() < 0.15:
        image = sensor.shake(rng, image, max(2.0, rng.uniform(0.04, 0.1) * cell))
    image = sensor.add_noise(rng, image, rng.uniform(1, 5), rng.uniform(1, 5), rng.uniform(2, 6))
    image = image.filter(ImageFilter.GaussianBlur(rng.uniform(0.5, 0.8)))
    if rng.random() < 0.5:
        image = image.filter(ImageFilter.UnsharpMask(rng.uniform(1.0, 2.5), int(rng.uniform(30, 120)), 0))
    return sensor.jpeg(image, rng.uniform(50, 88))


def dust(rng, image, worn):
    """Specks and hairs on the glass or from the copier's drum, dark or light, few on most scans; on worn ones as large as dots of an i."""
    count = rng.poisson(60 * rng.random() ** 4 + 120 * worn * rng.random() ** 2)
    draw = ImageDraw.Draw(image)
    for x, y in rng.uniform(0, 1, (count, 2)) * image.size:
        level = (int(rng.uniform(0, 110)),) * 3 if rng.random() < 0.85 else (255,) * 3
        radius = rng.uniform(0.4, 1.2 + 1.3 * worn) * max(1.0, min(image.size) / 1500)
        if rng.random() < 0.08:
            bend = np.cumsum(rng.normal(0, 1, (6, 2)), 0) * radius * 2.5 + (x, y)
            draw.line([tuple(p) for p in bend], level, max(1, int(radius)))
        else:
            draw.ellipse((x - radius, y - radius * rng.uniform(0.6, 1.4), x + radius, y + radius), level)


def scan(rng, pixels, offset, view, size, worn=0.0):
    """A flatbed scan: even light, crisp; at times grey or of one bit, and all the more of a copy, as worn as 0 to 1 says."""
    image, source, mask = render(pixels, offset, view, size, "clean")
    bed = (int(rng.uniform(0, 60)),) * 3 if rng.random() < 0.3 else (int(rng.uniform(235, 255)),) * 3
    image = Image.composite(image, Image.new("RGB", size, bed), mask.filter(ImageFilter.GaussianBlur(0.5)))
    light = light_field(rng, "clean", None, source, mask, size, None)
    image = ImageChops.multiply(image, Image.fromarray((light / light.max() * 255).astype(np.uint8)).resize(size, Image.Resampling.BILINEAR))
    hidden = np.zeros((size[1], size[0]), bool)
    image = image.filter(ImageFilter.GaussianBlur(rng.uniform(0.25, 0.75 + 0.6 * worn)))
    dust(rng, image, worn)
    paper = float(np.percentile(np.asarray(image)[::8, ::8].mean(2), 75))
    kind = rng.random()
    if kind < 0.12 + 0.4 * worn:
        grey = np.asarray(image.convert("L"), np.float32) + rng.normal(0, rng.uniform(1, 10), (size[1], size[0])).astype(np.float32)
        bits = np.where(grey > paper * rng.uniform(0.6, 0.82), 255, 0).astype(np.uint8)
        return Photo(np.repeat(bits[..., None], 3, 2), view, hidden)
    image = sensor.expose(image, rng.uniform(238, 258), rng.uniform(0, 30), rng.uniform(0.9, 1.3), 1 + rng.normal(0, 0.012, 3), paper)
    image = sensor.add_noise(rng, image, rng.uniform(0.3, 4), rng.uniform(0, 2), 1.5)
    if kind < 0.4:
        image = image.convert("L").convert("RGB")
    if rng.random() < 0.4:
        image = image.filter(ImageFilter.UnsharpMask(rng.uniform(0.6, 1.5), int(rng.uniform(30, 130)), 0))
    if rng.random() < 0.7:
        image = sensor.jpeg(image, rng.uniform(60 - 25 * worn, 95))
    return Photo(np.asarray(image), view, hidden)
