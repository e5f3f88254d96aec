"""What the camera does to the light: exposure and casts, blur, noise, sharpening, JPEG."""
import io

import numpy as np
from PIL import Image, ImageChops, ImageFilter


def tint(rng, strong):
    """Gains (red, green, blue) near 1: mostly between warm and cold, less so between green and purple, green the likelier."""
    warm, green = rng.normal(0, strong), rng.normal(strong * 0.25, strong * 0.5)
    return np.exp([warm - green * 0.3, green * 0.7, -1.1 * warm - green * 0.3])


def expose(image, white, black, gamma, cast, measured):
    """Maps the page's measured brightness to `white` and ink to about `black`, with a colour cast (gains near 1)."""
    at = np.arange(256, dtype=np.float32) / max(measured, 1.0)
    tables = []
    for gain in cast:
        level = black + (white - black) * np.sign(at) * np.abs(at) ** gamma
        tables.append(np.clip(level * gain, 0, 255))
    return image.point(np.concatenate(tables).round().astype(int).tolist())


def defocus(rng, image, radius, uneven):
    """Blur of about `radius` px; `uneven` leaves one side of the photo sharper."""
    radius = float(radius)
    if radius < 0.15:
        return image
    if radius > 1.2 and rng.random() < 0.4:
        blurred = image.filter(ImageFilter.BoxBlur(radius * 1.15)).filter(ImageFilter.GaussianBlur(radius * 0.45))
    else:
        blurred = image.filter(ImageFilter.GaussianBlur(radius))
    if not uneven:
        return blurred
    angle = rng.uniform(0, 2 * np.pi)
    ramp = 128 + 400 * (np.linspace(-0.5, 0.5, 32)[None] * np.cos(angle) + np.linspace(-0.5, 0.5, 32)[:, None] * np.sin(angle)) + rng.normal(0, 60)
    mask = Image.fromarray(np.clip(ramp, 0, 255).astype(np.uint8)).resize(image.size, Image.Resampling.BILINEAR)
    return Image.composite(blurred, image.filter(ImageFilter.GaussianBlur(radius * 0.35)), mask)


def shake(rng, image, length):
    """Motion blur along a slightly bent path of `length` px, by averaging shifted copies."""
    count = int(np.clip(round(length), 2, 9)) + 1
    angle, bend = rng.uniform(0, np.pi), rng.normal(0, 0.15) * length
    along = np.linspace(-0.5, 0.5, count)
    dx = np.round(along * length * np.cos(angle) + bend * (along**2 - 0.08) * np.sin(angle)).astype(int)
    dy = np.round(along * length * np.sin(angle) - bend * (along**2 - 0.08) * np.cos(angle)).astype(int)
    reach = int(max(np.abs(dx).max(), np.abs(dy).max()))
    pixels = np.pad(np.asarray(image), ((reach, reach), (reach, reach), (0, 0)), "edge")
    height, width = image.height, image.width
    total = np.zeros((height, width, 3), np.uint16)
    for x, y in zip(dx.tolist(), dy.tolist()):
        total += pixels[reach + y:reach + y + height, reach + x:reach + x + width]
    return Image.fromarray((total // count).astype(np.uint8))


def add_noise(rng, image, luma, chroma, blotch):
    """Noise of standard deviation `luma` and `chroma` grey levels; `blotch` px is how coarse the colour noise is."""
    width, height = image.size

    def grains(columns, rows, level):
        field = rng.standard_normal((rows, columns), np.float32) * np.float32(level) + np.float32(128.5)
        return Image.fromarray(np.clip(field, 0, 255, out=field).astype(np.uint8))

    grey = grains(width, height, luma)
    bands = [grey, grey, grey]
    if chroma > 0.3:
        for channel, gain in ((0, 1.0), (2, 1.3)):
            coarse = grains(max(2, int(width / blotch)), max(2, int(height / blotch)), chroma * gain)
            bands[channel] = ImageChops.add(grey, coarse.resize(image.size, Image.Resampling.BILINEAR), 1, -128)
    return ImageChops.add(image, Image.merge("RGB", bands), 1, -128)


def screen_bands(rng, image):
    """Moire of a screen photographed: two beats of fine stripes, coloured a little."""
    width, height = image.size
    x, y = np.arange(width, dtype=np.float32), np.arange(height, dtype=np.float32)
    out = np.asarray(image, np.float32)
    for _ in range(2):
        pitch, angle = rng.uniform(4, 40), rng.normal(0, 0.3) + rng.integers(2) * np.pi / 2
        phase = (x * np.cos(angle) * 6.283 / pitch)[None] + (y * np.sin(angle) * 6.283 / pitch)[:, None]
        out = out * (1 + (np.sin(phase) * np.float32(rng.uniform(0.02, 0.08)))[..., None] * (1 + rng.normal(0, 0.4, 3)).astype(np.float32))
    return Image.fromarray(np.clip(out, 0, 255).astype(np.uint8))


def jpeg(image, quality, subsampling=2):
    file = io.BytesIO()
    image.save(file, "JPEG", quality=int(quality), subsampling=subsampling)
    return Image.open(file).convert("RGB")
