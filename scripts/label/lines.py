"""Lines of text for the reader to learn: what they say, and loose ones drawn in many fonts and looks, for volume."""
import os
import sys

import numpy as np
from PIL import Image, ImageFilter

sys.path.insert(0, os.path.join(os.path.dirname(os.path.abspath(__file__)), "..", "pages"))
import fonts
import words
from canvas import Canvas
from frame import INK, PAD, STRIP

# Class 0 is CTC's blank; the rest as `ALPHABET` of src/label/text.rs. What is added comes last, so that weights of before can be gone on from.
ALPHABET = (" 0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZabcdefghijklmnopqrstuvwxyz.,:;-#()/'&!?+*°º"
            "àáâãäçèéêëìíîïñòóôõöùúûüßÀÁÂÃÄÇÈÉÊËÌÍÎÏÑÒÓÔÕÖÙÚÛÜ[]åæøÅÆØ"
            "ąćęłńśźżčďěňřšťůžýőűğışășțđĄĆĘŁŃŚŹŻČĎĚŇŘŠŤŮŽÝŐŰĞİŞĂȘȚĐ"
            "БГДЖЗИЙЛПУФЦЧШЩЪЫЬЭЮЯЄҐЂЉЊЋЏбвгджзийклмнптфцчшщъыьэюяґєђљњћџ"
            "№§–—·•|=«»„“”’%@★_第問題号回")
# Letters of Cyrillic that look like Latin ones are read as those: src/label/cyrillic.rs turns them back.
LOOKALIKES = dict(zip("АВЕКМНОРСТХІЇЈЁаеорсухіїјё", "ABEKMHOPCTXIÏJËaeopcyxiïjë"))
NUMBERS = {c: i + 1 for i, c in enumerate(ALPHABET)}
NUMBERS.update({c: NUMBERS[latin] for c, latin in LOOKALIKES.items()})
# A text of random characters is of one of these kinds: few fonts have all.
KINDS = [[c for c in ALPHABET if c.isascii()], [c for c in ALPHABET if c < "Ѐ"], [c for c in ALPHABET if c.isascii() or "Ѐ" <= c < "–"],
         [c for c in ALPHABET if c in "0123456789" or "–" <= c < "一"]]
LONGEST = 384       # px; longer lines are read as nothing


def number(rng):
    return int(rng.choice((rng.integers(1, 13), rng.integers(1, 200), rng.integers(200, 10000)), p=(0.25, 0.5, 0.25)))


def label_text(rng, tongue):
    """A label in one of many manners, those of the generator and others."""
    n = number(rng)
    title = words.TITLES[tongue][rng.integers(len(words.TITLES[tongue]))]
    level = words.LEVELS[tongue][rng.integers(len(words.LEVELS[tongue]))]
    letter = "ABCDEFGHIJKLMNOPQRSTUVWXYZ"[rng.integers(26)]
    thing, day = (texts[tongue][rng.integers(len(texts[tongue]))] for texts in (words.THINGS, words.DAYS))
    kind = rng.random()
    if kind < 0.4:
        text = None
        while not text:
            manner = str(rng.choice(list(words.MANNERS)))
            text = None if manner in words.NO_LABELS else words.label(rng, tongue, n, manner)
        return text
    if kind < 0.6:
        return str(rng.choice((f"{n}", f"{n:02d}", f"{n}:", f"{n}.", f"({n})", f"[{n}]")))
    return str(rng.choice((
        f"No {n}", f"No.{n}", f"Nr.{n}", f"Nr {n}", f"N. {n}", f"nº {n}", f"no. {n}", f"n° {n}", f"NO. {n}", f"{title} #{n}", f"{title} No. {n}", f"{title} Nr. {n}", f"{title.upper()} {n}",
        f"{letter}{n}", f"{letter} {n}", f"{letter}.{n}", f"{letter}-{n}", f"{n}{letter.lower()}", f"{n} {letter}", f"{n}/{number(rng)}", f"{n % 20}-{n % 97}", f"{n % 20}.{n % 97}", f"{n} - {level}",
        f"{n}. {level}", f"{n} ({level})", f"{level} - {n}", f"{level}: {n}", f"{title} {n} - {level}", f"# {n}", f"{title}: {n}", f"Puzzle {n}", f"Grid {n}", f"Grille {n}", f"Grille n° {n}", f"Rätsel {n}",
        f"{title} {letter}", f"({letter}{n})", f"({number(rng)})", f"{thing} {n}", f"{thing} {n}", f"{thing.upper()} {n}", f"{day}", f"{day[:3].upper()}", f"{level.split(' ')[0].capitalize()} {n % 9 + 1}-{n}", f"No{n}",
        f"Nº {n}", f"Nº{n}", f"N°{n}", f"[{letter}{n}]", words.roman(n % 399 + 1), f"{title} {words.roman(n % 99 + 1)}", f"Nr. {n}:", f"Núm. {n}", f"Nro. {n}", f"Nummer {n}",
        f"{thing} {letter}", f"{words.MARKS[tongue][0]}{n}", f"{title} – {n}", f"{title} | {n}", f"{n} • {level}", f"„{title}“ {n}", f"«{title}» {n}", f"§ {n}",
        f"{words.ANSWER[tongue]} {n}", f"{words.ANSWER[tongue]} {thing} {n}", f"{words.WEEKS[tongue]} {n} – {day}")))


def other_text(rng, tongue):
    """What stands near grids and is no label: how hard they are, dates, page numbers, words."""
    kind = rng.random()
    if kind < 0.35:
        level = words.LEVELS[tongue][rng.integers(len(words.LEVELS[tongue]))]
        return words.shouted(level) if rng.random() < 0.3 else level.capitalize() if rng.random() < 0.5 else level
    if kind < 0.5:
        day, month = int(rng.integers(1, 29)), int(rng.integers(1, 13))
        return f"{day:02d}.{month:02d}.{rng.integers(1990, 2030)}" if rng.random() < 0.5 else f"{day}/{month}/{rng.integers(10, 30)}"
    if kind < 0.6:
        return str(rng.choice((f"Page {number(rng)}", f"p. {number(rng)}", words.page_number(rng, tongue), f"- {number(rng)} -")))
    if kind < 0.82:
        return words.aside(rng, tongue) if rng.random() < 0.7 else words.level_of(rng, tongue)
    return " ".join(words.heading(rng, tongue).split()[:int(rng.integers(1, 4))])


def saying(rng):
    """What a line near a grid may say: labels, other things, anything."""
    tongue, kind = words.language(rng), rng.random()
    if kind < 0.75:
        text = label_text(rng, tongue)
    elif kind < 0.95:
        text = other_text(rng, tongue)
    else:
        kind = KINDS[rng.choice(len(KINDS), p=(0.3, 0.35, 0.3, 0.05))]
        text = "".join(kind[i] for i in rng.integers(len(kind), size=int(rng.integers(1, 9)))).strip()
    text = text.upper() if rng.random() < 0.06 and "ß" not in text and "º" not in text else text
    text = " ".join(text.split())
    return text if text and all(c in NUMBERS for c in text) else f"{number(rng)}"


def smooth(rng, height, width):
    """Slow unevenness of light, -1 to 1."""
    small = rng.uniform(-1, 1, (2, 4)).astype(np.float32)
    return np.asarray(Image.fromarray(small).resize((width, height), Image.Resampling.BICUBIC))


def loose_line(rng, margin):
    """(u8 [STRIP + 2 margin, W], text): a line of text in a font of the shelf, blurred, tilted, noisy, on light or dark ground."""
    while True:
        text = saying(rng)
        font = fonts.choose(rng, False, 0.3, text)
        if font is None:
            continue
        size = 48.0
        face = fonts.sized(font, size)
        box = face.getbbox(text, anchor="ls")
        high, long = box[3] - box[1], box[2] - box[0]
        stretch = float(rng.uniform(0.85, 1.12)) if rng.random() < 0.3 else 1.0
        if high > 3 and long > 3 and stretch * long / high * INK + 2 * PAD <= LONGEST:
            break
    room = int(high * (PAD + margin) / INK) + 2
    canvas = Canvas(long + 2 * room, high + 2 * room)
    dark = rng.random() < 0.15
    ground, ink = (int(rng.integers(170, 256)), int(rng.integers(0, 90)))
    if rng.random() < 0.25:
        ink = int(ground - rng.integers(50, 120))
    if dark:
        ground, ink = ink, ground
    canvas.pixels[:] = ground
    canvas.text(room - box[0], room - box[1], text, face, (ink,) * 3, "ls")
    for _ in range(int(rng.integers(0, 3))):       # rims of bars, the grid's own frame, the next line of text
        if rng.random() < 0.5:
            y = room + (high + rng.uniform(0.15, 1.0) * room if rng.random() < 0.5 else -rng.uniform(0.15, 1.0) * room)
            canvas.rule(False, y, 0, canvas.width, float(rng.uniform(0.5, 6)), (int(rng.integers(0, 255)),) * 3)
        elif rng.random() < 0.5:
            x = rng.uniform(0, room * 0.6) if rng.random() < 0.5 else canvas.width - rng.uniform(0, room * 0.6)
            canvas.rule(True, x, 0, canvas.height, float(rng.uniform(0.5, 6)), (int(rng.integers(0, 255)),) * 3)
    pixels = canvas.pixels[..., 0]
    target = STRIP + 2 * margin
    scale = INK / high
    wide = int(np.ceil(long * stretch * scale)) + 2 * (PAD + margin)
    # The text at about its size in a photo, then back up: what the camera loses is lost.
    seen = float(np.exp(rng.uniform(np.log(6), np.log(26))))
    image = Image.fromarray(pixels).filter(ImageFilter.GaussianBlur(float(rng.uniform(0, 0.9)) * high / seen))
    tilt, shear = float(rng.normal(0, 0.015)), float(rng.normal(0, 0.06))
    step = high / seen
    small = (max(3, int(canvas.width / step)), max(3, int(canvas.height / step)))
    middle = (canvas.width / 2, canvas.height / 2)
    image = image.resize((small[0] * 2, small[1] * 2), Image.Resampling.BOX).resize(small, Image.Resampling.BOX)
    values = np.asarray(image, np.float32) * (1 + smooth(rng, *image.size[::-1]) * float(rng.uniform(0, 0.25)))
    values = (values - 128) * float(rng.uniform(0.35, 1)) + 128 + rng.normal(0, float(rng.uniform(0, 9)), values.shape)
    image = Image.fromarray(np.clip(values, 0, 255).astype(np.uint8))
    fx, fy = small[0] / canvas.width, small[1] / canvas.height
    a, b = 1 / (scale * stretch), shear / scale
    d, e = tilt / scale, 1 / scale
    cx, cy = wide / 2, target / 2
    rows = (a * fx, b * fx, (middle[0] - a * cx - b * cy) * fx, d * fy, e * fy, (middle[1] - d * cx - e * cy) * fy)
    image = image.transform((wide, target), Image.Transform.AFFINE, rows, Image.Resampling.BILINEAR, fillcolor=int(np.median(values)))
    return np.asarray(image), text
