"""Light on the scene: shading of bent paper, lamps, shadows, colour casts, glare."""
import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

from furniture import cloud
from scene import capsule
from sensor import tint

FIELD = 8    # light is worked out at an eighth of the photo's size


def resize_field(field, size):
    """A float field [rows, cols, N] at another size (width, height)."""
    bands = [Image.fromarray(np.ascontiguousarray(field[..., i], np.float32)) for i in range(field.shape[-1])]
    return np.stack([np.asarray(band.resize(size, Image.Resampling.BILINEAR)) for band in bands], -1)


def shadow_shape(rng, width, height):
    """Where something between lamp and page keeps the light off, float32 [height, width] 0..1 with soft edges."""
    width, height = 4 * width, 4 * height
    mask = Image.new("L", (width, height))
    brush = ImageDraw.Draw(mask)
    long = max(width, height)
    middle = np.array([rng.uniform(0, width), rng.uniform(0, height)])
    angle = rng.uniform(0, 2 * np.pi)
    way = np.array([np.cos(angle), np.sin(angle)])
    side = np.array([-way[1], way[0]])
    kind = rng.random()
    if kind < 0.4:    # everything beyond a line: a phone, a body, a window's edge
        wide = long * 2
        brush.polygon([tuple(middle + side * a * wide + way * b * long * 3) for a, b in ((1, 0), (-1, 0), (-1, 1), (1, 1))], 255)
    elif kind < 0.7:    # a phone's corner
        wide = long * rng.uniform(0.2, 0.5)
        brush.polygon([tuple(middle + side * a * wide + way * b * long * 2) for a, b in ((1, 0), (-1, 0), (-1, 1), (1, 1))], 255)
    elif kind < 0.85:    # a blind or a fence
        pitch = long * float(np.exp(rng.uniform(np.log(0.06), np.log(0.4))))
        wide = pitch * rng.uniform(0.3, 0.7)
        for number in range(-int(long / pitch) - 2, int(long / pitch) + 3):
            capsule(brush, middle + side * number * pitch - way * long * 2, middle + side * number * pitch + way * long * 2, wide / 2)
    else:    # an arm and fingers
        capsule(brush, middle, middle + way * long * 2, long * rng.uniform(0.06, 0.16))
        for spread in (-0.35, 0.0, 0.3):
            capsule(brush, middle, middle - (way + side * spread) * long * rng.uniform(0.08, 0.2), long * 0.025)
    soft = long * float(rng.choice((0.008, 0.02, 0.05)))
    return np.asarray(mask.filter(ImageFilter.GaussianBlur(soft)).reduce(4), np.float32) / 255


def glare(rng, width, height, target):
    """A lamp's reflection at about `target`, float32 [height, width] 0..1: 1 is burnt out."""
    y, x = np.mgrid[:height, :width].astype(np.float32)
    angle = rng.uniform(0, np.pi)
    long = max(width, height)
    dx, dy = x - target[0], y - target[1]
    a = (dx * np.cos(angle) + dy * np.sin(angle)) / (long * rng.uniform(0.05, 0.3))
    b = (dy * np.cos(angle) - dx * np.sin(angle)) / (long * rng.uniform(0.04, 0.13))
    return np.clip(rng.uniform(0.5, 1.5) * np.exp(-(a**2 + b**2)), 0, 1)


def streaks(rng, width, height, target):
    """Narrow bright bands over `target`, float32 [height, width] 0..1: sun through a blind or a door ajar, a tube mirrored in glossy paper, a screen's edge."""
    y, x = np.mgrid[:height, :width].astype(np.float32)
    angle = rng.uniform(0, np.pi)
    long = max(width, height)
    across = (x - target[0]) * np.cos(angle) + (y - target[1]) * np.sin(angle)
    along = (y - target[1]) * np.cos(angle) - (x - target[0]) * np.sin(angle)
    across = across + rng.normal(0, 0.06) * along**2 / long    # paper bends
    count = int(rng.choice((1, 1, 2, 3, 6)))
    half = long * float(np.exp(rng.uniform(np.log(0.004), np.log(0.035))))
    soft = half * rng.uniform(0.15, 1.5)
    pitch = half * rng.uniform(3, 8)
    bands = np.zeros((height, width), np.float32)
    for number in range(count):
        aside = np.abs(across - (number - (count - 1) / 2) * pitch)
        bands = np.maximum(bands, 1 / (1 + np.exp(np.clip((aside - half) / (soft / 3 + 0.05), -30, 30))) * rng.uniform(0.7, 1))
    if rng.random() < 0.4:    # it ends somewhere
        bands = bands / (1 + np.exp(np.clip((np.abs(along) - long * rng.uniform(0.05, 0.3)) / (long * 0.02), -30, 30)))
    return bands * rng.uniform(0.35, 1)


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
        light *= (1 + strong * rng.uniform(0, 0.16) * (cloud(rng, width, height, 3) - 0.5))[..., None]
        # A cast that changes over the photo: cheap cameras go green or blue towards the rim, lamps mix with daylight.
        rim = np.clip((x - rng.normal(0, 0.6)) ** 2 + (y - rng.normal(0, 0.6)) ** 2, 0, 2)[..., None] / 2
        light *= 1 + rim * (tint(rng, 0.08 * strong) - 1).astype(np.float32)
        for _ in range(2):
            if rng.random() < {"plain": 0.1, "rough": 0.4, "harsh": 0.4}[level]:
                shadow = shadow_shape(rng, width, height)[..., None]
                depth = rng.uniform(0.12, {"plain": 0.3, "rough": 0.55, "harsh": 0.7}[level])
                light *= 1 - shadow * depth * (1 + rng.normal(0, 0.06, 3)).astype(np.float32)
    return np.clip(light, 0.03, None)


def shine(rng, level, image, light, hidden, centre, reach):
    """Lets the light fall on the scene, then glare."""
    size = image.size
    light /= light.max()
    small = Image.fromarray((light * 255 + 0.5).astype(np.uint8))
    image = ImageChops.multiply(image, small.resize(size, Image.Resampling.BILINEAR))
    for made, share in ((glare, {"plain": 0.04, "rough": 0.1, "harsh": 0.3}), (streaks, {"plain": 0.03, "rough": 0.08, "harsh": 0.2})):
        if rng.random() >= share[level]:
            continue
        spot = centre + reach * rng.uniform(-1, 1, 2)
        field = made(rng, size[0] // FIELD + 1, size[1] // FIELD + 1, spot / FIELD)
        full = Image.fromarray((field * 255).astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
        image = Image.composite(Image.new("RGB", size, (255, 255, 250)), image, full)
        hidden |= np.asarray(full) > 205
    return image, hidden
