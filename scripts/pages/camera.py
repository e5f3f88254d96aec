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

FIELD = 8    # light is worked out at an eighth of the photo's size


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
    side = np.linspace(0, 1, 17)
    border = np.concatenate([np.stack([side, side * 0], 1), np.stack([side, side * 0 + 1], 1), np.stack([side * 0, side], 1), np.stack([side * 0 + 1, side], 1)])
    seen = view.project(border * [wide, high] + [x, y])
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


MESH = 32    # photo px between mesh corners, before pieces that bend too much are cut in four, twice at most


def corner_grid(view, size):
    """Page px [rows, cols, 2] at a grid of places in the photo, and the grid's xs and ys.

    xs and ys are edges between photo px, so page px belong to (x - 0.5, y - 0.5).
    """
    width, height = size
    xs = np.append(np.arange(0, width, MESH), width)
    ys = np.append(np.arange(0, height, MESH), height)
    corners = np.stack(np.meshgrid(xs, ys), -1).reshape(-1, 2) - 0.5
    return xs, ys, view.unwarp(corners).reshape(len(ys), len(xs), 2)


def pieces(view, xs, ys, source):
    """Boxes [N, 4] (x0, y0, x1, y1 in photo px) and the page px of their corners [N, 4, 2]: top left, bottom left, bottom right, top
    right. Bilinear reading between the corners errs by less than 0.06 photo px, except across the sharpest creases."""
    x, y = np.meshgrid(xs[:-1], ys[:-1])
    ahead, below = np.meshgrid(xs[1:], ys[1:])
    boxes = np.stack([x, y, ahead, below], -1).reshape(-1, 4)
    quads = np.stack([source[:-1, :-1], source[1:, :-1], source[1:, 1:], source[:-1, 1:]], 2).reshape(-1, 4, 2)
    done = []
    for _ in range(2):
        miss = np.abs(view.warp(quads.mean(1)) + 0.5 - (boxes[:, :2] + boxes[:, 2:]) / 2).max(1)
        bad = (miss > 0.06) & (np.diff(boxes[:, ::2])[:, 0] >= 8) & (np.diff(boxes[:, 1::2])[:, 0] >= 8)
        done.append((boxes[~bad], quads[~bad]))
        boxes, quads = boxes[bad], quads[bad]
        if not len(boxes):
            break
        x0, y0, x1, y1 = boxes.T
        cut = [x0, (x0 + x1) // 2, x1], [y0, (y0 + y1) // 2, y1]
        nodes = np.stack([np.stack([cut[0][i], cut[1][j]], 1) for j in range(3) for i in range(3)], 1)    # [N, 9, 2], rows first
        share = (nodes - boxes[:, None, :2]) / (boxes[:, None, 2:] - boxes[:, None, :2])
        u, v = share[..., :1], share[..., 1:]
        guess = quads[:, None, 0] * (1 - u) * (1 - v) + quads[:, None, 1] * (1 - u) * v + quads[:, None, 2] * u * v + quads[:, None, 3] * u * (1 - v)
        at = view.unwarp(nodes.reshape(-1, 2) - 0.5, guess).reshape(-1, 9, 2)
        starts = (0, 1, 3, 4)
        boxes = np.concatenate([np.concatenate([nodes[:, k], nodes[:, k + 4]], 1) for k in starts])
        quads = np.concatenate([at[:, [k, k + 3, k + 4, k + 1]] for k in starts])
    done.append((boxes, quads))
    return np.concatenate([d[0] for d in done]), np.concatenate([d[1] for d in done])


def outline_mask(view, size, box):
    """Mask L of the sheet whose page px span the box (x0, y0, x1, y1)."""
    side = np.linspace(0, 1, 40)[:, None]
    low, high = np.array(box[:2]), np.array(box[2:])
    turns = [low, [high[0], low[1]], high, [low[0], high[1]], low]
    border = np.concatenate([np.array(a) * (1 - side) + np.array(b) * side for a, b in zip(turns, turns[1:])])
    mask = Image.new("L", size)
    ImageDraw.Draw(mask).polygon([tuple(p) for p in np.clip(view.warp(border), -20000, 20000)], 255)
    return mask


def render(pixels, offset, view, size):
    """The page as the view sees it: (RGB image, page px at mesh corners [rows, cols, 2], mask L of where the sheet is).

    `offset` is where page px (0, 0) lies in `pixels`, which may be wider than the page.
    """
    xs, ys, source = corner_grid(view, size)
    full = source + offset
    rows, cols = pixels.shape[:2]
    low = np.floor(np.clip(full.reshape(-1, 2).min(0) - 4, 0, [cols - 2, rows - 2])).astype(int)
    high = np.ceil(np.clip(full.reshape(-1, 2).max(0) + 5, low + 2, [cols, rows])).astype(int)
    part = Image.fromarray(pixels[low[1]:high[1], low[0]:high[0]])
    # Page px for a photo px, along x and y of the page, where the page is in view; shrinking the page first averages what would alias.
    inside = ((full > low - 1) & (full < high + 1)).all(-1)
    across = np.gradient(full, xs, axis=1), np.gradient(full, ys, axis=0)
    ratio = np.hypot(*across)[inside] if inside.any() else np.ones((1, 2))
    small = np.ceil(np.array(part.size) / np.clip(np.median(ratio, 0) / 1.15, 1, None)).astype(int).clip(2)
    grown = small / np.array(part.size)
    if (grown < 1).any():
        part = part.resize(tuple(small.tolist()), Image.Resampling.BICUBIC)
    border = 3
    part = Image.fromarray(np.pad(np.asarray(part), ((border, border), (border, border), (0, 0)), "edge"))
    boxes, quads = pieces(view, xs, ys, source)
    quads = (quads + offset + 0.5 - low) * grown + border
    seen = ((quads.max(1) > 0) & (quads.min(1) < part.size)).all(1)
    mesh = [(tuple(box), quad) for box, quad in zip(boxes[seen].tolist(), quads[seen].reshape(-1, 8).tolist())]
    image = part.transform(size, Image.Transform.MESH, mesh, Image.Resampling.BICUBIC)
    mask = outline_mask(view, size, (-0.5 - offset[0], -0.5 - offset[1], cols - 0.5 - offset[0], rows - 0.5 - offset[1]))
    return image, source, mask


def resize_field(field, size):
    return np.stack([np.asarray(Image.fromarray(np.ascontiguousarray(field[..., i], np.float32)).resize(size, Image.Resampling.BILINEAR)) for i in range(field.shape[-1])], -1)


def light_field(rng, level, sheet, source, mask, size, gutter):
    """Light reaching each part of the photo, float32 [h / 8, w / 8, 3]."""
    width, height = size[0] // FIELD + 1, size[1] // FIELD + 1
    strong = {"clean": 0.1, "plain": 0.5, "rough": 1.0, "harsh": 1.4}[level]
    light = np.ones((height, width, 3), np.float32)
    if level != "clean":
        flat = resize_field(source, (width, height)).reshape(-1, 2)
        angle = rng.uniform(0, 2 * np.pi)
        towards = np.array([np.cos(angle), np.sin(angle)]) * rng.uniform(0.2, 1.1)
        slope = sheet.tilt(flat)
        shade = (1 - slope @ towards) / np.sqrt(1 + (slope**2).sum(1))
        if gutter:
            gap = np.abs(flat[:, 0] - (0 if gutter == "left" else 2 * sheet.middle[0]))
            shade *= 1 - rng.uniform(0.1, 0.5) * np.exp(-gap / (sheet.middle[0] * rng.uniform(0.03, 0.12)))
        here = np.asarray(mask.resize((width, height), Image.Resampling.BOX), np.float32)[..., None] / 255    # the table is flat
        light *= 1 + here * (np.clip(shade, 0.15, 1.6).reshape(height, width, 1) - 1)
    y, x = np.mgrid[-1:1:height * 1j, -1:1:width * 1j].astype(np.float32)
    angle = rng.uniform(0, 2 * np.pi)
    ramp = (x * np.cos(angle) + y * np.sin(angle)) * 0.5
    light *= (1 + min(0.75, strong * rng.uniform(0, 0.45)) * ramp)[..., None]
    if level != "clean":
        light *= np.clip(1 - strong * rng.uniform(0, 0.28) * (x**2 + y**2) ** rng.uniform(0.8, 1.6), 0.12, 1)[..., None]
        light *= (1 + strong * rng.uniform(0, 0.16) * (scene.cloud(rng, width, height, 3) - 0.5))[..., None]
        # A cast that changes over the photo: cheap cameras go green or blue towards the rim, lamps mix with daylight.
        rim = np.clip((x - rng.normal(0, 0.6)) ** 2 + (y - rng.normal(0, 0.6)) ** 2, 0, 2)[..., None] / 2
        light *= 1 + rim * (sensor.tint(rng, 0.08 * strong) - 1).astype(np.float32)
        for _ in range(2):
            if rng.random() < {"plain": 0.1, "rough": 0.4, "harsh": 0.4}[level]:
                shadow = scene.shadow_shape(rng, width, height)[..., None]
                depth = rng.uniform(0.12, {"plain": 0.3, "rough": 0.55, "harsh": 0.7}[level])
                light *= 1 - shadow * depth * (1 + rng.normal(0, 0.06, 3)).astype(np.float32)
    return np.clip(light, 0.03, None)


def printed_strip(rng, width, height, paper, text, gap_side):
    """More of a sheet: paper, mostly printed on, with a blank gap of a text line or more on one side ('left', 'right' or None)."""
    strip = np.empty((height, width, 3), np.uint8)
    strip[:] = paper
    gap = int(text * rng.uniform(1.5, 5))
    if rng.random() < 0.8 and min(width, height) > gap + 2 * text:
        left, right = (gap, width) if gap_side == "left" else (0, width - gap) if gap_side == "right" else (0, width)
        top, bottom = (0, height) if gap_side else (gap // 2, height - gap // 2)
        strip[top:bottom, left:right] = scene.fake_text(rng, right - left, bottom - top, paper, text)
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
        page = np.vstack([printed_strip(rng, page.shape[1], above, paper, text, None), page, printed_strip(rng, page.shape[1], below, paper, text, None)])
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


def photograph(page_rgb, rng, level, focus=None):
    """A photo of a page, uint8 [H, W, 3]. `focus` [x, y, w, h] in page px is what the photographer aims at, by default the whole page."""
    height, width = page_rgb.shape[:2]
    box = focus or [0, 0, width, height]
    look_at = (box[0] + box[2] / 2, box[1] + box[3] / 2)
    size = choose_size(rng, level, focus, (width, height))
    bound = rng.random() < {"clean": 0.0, "plain": 0.3, "rough": 0.5, "harsh": 0.5}[level]
    gutter = str(rng.choice(("left", "right"))) if bound else None
    sheet = Sheet(rng, width, height, level, gutter, look_at)
    view = choose_view(rng, sheet, level, look_at, float(np.hypot(box[2], box[3])))
    aim(rng, view, size, focus, (width, height), level)
    more = focus is not None and rng.random() < {"clean": 0.15, "plain": 0.4, "rough": 0.5, "harsh": 0.5}[level]
    pixels, offset = widen(wear(page_rgb, rng, sheet, level), rng, gutter, more)
    if level == "clean":
        return scan(rng, pixels, offset, view, size)
    image, source, mask = render(pixels, offset, view, size)
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


def shine(rng, level, image, light, hidden, centre, reach):
    """Lets the light fall on the scene, then glare."""
    size = image.size
    light /= light.max()
    small = Image.fromarray((light * 255 + 0.5).astype(np.uint8))
    image = ImageChops.multiply(image, small.resize(size, Image.Resampling.BILINEAR))
    if rng.random() < {"plain": 0.04, "rough": 0.1, "harsh": 0.3}[level]:
        spot = centre + reach * rng.uniform(-1, 1, 2)
        field = scene.glare(rng, size[0] // FIELD + 1, size[1] // FIELD + 1, spot / FIELD)
        full = Image.fromarray((field * 255).astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
        image = Image.composite(Image.new("RGB", size, (255, 255, 250)), image, full)
        hidden |= np.asarray(full) > 225
    return image, hidden


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
        strong = rng.uniform(30, {"plain": 90, "rough": 170, "harsh": 280}[level])
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


def scan(rng, pixels, offset, view, size):
    """A flatbed scan: even light, crisp; at times grey or of one bit."""
    image, source, mask = render(pixels, offset, view, size)
    bed = (int(rng.uniform(0, 60)),) * 3 if rng.random() < 0.3 else (int(rng.uniform(235, 255)),) * 3
    image = Image.composite(image, Image.new("RGB", size, bed), mask.filter(ImageFilter.GaussianBlur(0.5)))
    light = light_field(rng, "clean", None, source, mask, size, None)
    image = ImageChops.multiply(image, Image.fromarray((light / light.max() * 255).astype(np.uint8)).resize(size, Image.Resampling.BILINEAR))
    hidden = np.zeros((size[1], size[0]), bool)
    image = image.filter(ImageFilter.GaussianBlur(rng.uniform(0.25, 0.75)))
    paper = float(np.percentile(np.asarray(image)[::8, ::8].mean(2), 75))
    kind = rng.random()
    if kind < 0.12:
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
        image = sensor.jpeg(image, rng.uniform(60, 95))
    return Photo(np.asarray(image), view, hidden)
