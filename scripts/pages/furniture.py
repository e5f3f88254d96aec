"""What else stands on a page: text columns, headings, crosswords, tables, calendars, bar codes, boards, pictures, advertisements."""
from dataclasses import dataclass

import numpy as np
from PIL import Image

import fonts
import words
from canvas import Canvas
from style import ink, tint


@dataclass
class Look:
    """The page's typography: fonts (files), size of running text in px, language, inks."""
    text_font: str
    head_font: str
    text_size: float
    tongue: str
    text_ink: tuple
    head_ink: tuple


def random_look(rng, text_size, heldout=False):
    black, tongue = ink(rng, 0.95), words.language(rng)
    text_font, head_font = (fonts.choose(rng, heldout, 0.3, words.letters(tongue)) for _ in range(2))
    return Look(text_font, head_font, text_size, tongue, black, black if rng.random() < 0.6 else ink(rng, 0.2))


def paragraph(canvas, rng, look, x, y, width, height, size=None):
    """Sets justified or ragged text into a box; gives the y below the last line."""
    size = size or look.text_size
    face = fonts.sized(look.text_font, size)
    leading = size * rng.uniform(1.12, 1.35)
    justified = rng.random() < 0.6
    space = face.getlength(" ")
    top = y
    pool = iter(words.words(rng, look.tongue, int(width * height / (size * size * 2.2)) + 12))
    word = next(pool, None)
    while y + leading <= top + height and word:
        line, length = [], 0.0
        indent = size * 1.2 if rng.random() < 0.12 else 0
        while word and indent + length + face.getlength(word) + space * len(line) <= width:
            line.append(word)
            length += face.getlength(word)
            word = next(pool, None)
        if not line:
            break
        last = rng.random() < 0.1
        if justified and not last and len(line) > 1:
            step = (width - indent - length) / (len(line) - 1)
            at = x + indent
            for part in line:
                canvas.text(at, y, part, face, look.text_ink)
                at += face.getlength(part) + step
        else:
            canvas.text(x + indent, y, " ".join(line), face, look.text_ink)
        y += leading
    return y


def text_columns(rng, width, height, look):
    canvas = Canvas(width, height)
    y = 0.0
    if rng.random() < 0.6:
        size = look.text_size * rng.uniform(1.5, 3.2)
        face = fonts.sized(look.head_font, size)
        for _ in range(int(rng.integers(1, 3))):
            if y + size * 1.3 < height * 0.5:
                canvas.text(0, y, words.heading(rng, look.tongue), face, look.head_ink)
                y += size * 1.25
        y += size * 0.2
    wanted = look.text_size * rng.uniform(13, 24)
    count = max(1, round(width / wanted))
    gutter = look.text_size * rng.uniform(0.8, 1.6)
    column = (width - gutter * (count - 1)) / count
    for i in range(count):
        left = i * (column + gutter)
        if i and rng.random() < 0.3:
            canvas.rule(True, left - gutter / 2, y, height, 0.8, look.text_ink)
        paragraph(canvas, rng, look, left, y, column, height - y)
    return canvas


def crossword(rng, width, height, look):
    size = min(width, height) - 4
    count = int(rng.integers(7, 16))
    pitch = size / count
    canvas = Canvas(width, height)
    pattern = rng.random((count, count)) < rng.uniform(0.12, 0.3)
    if rng.random() < 0.7:
        pattern |= pattern[::-1, ::-1]
    black = look.text_ink if rng.random() < 0.8 else tint(rng, True)
    face = fonts.sized(look.text_font, max(4.0, pitch * 0.3))
    letters = fonts.sized(look.text_font, max(5.0, pitch * 0.62))
    filled = rng.random() < 0.2
    clue = 0
    for r in range(count):
        for c in range(count):
            x, y = 2 + c * pitch, 2 + r * pitch
            if pattern[r, c]:
                canvas.fill(x, y, x + pitch, y + pitch, black)
                continue
            if (r == 0 or pattern[r - 1, c] or c == 0 or pattern[r, c - 1]) and pitch > 14:
                clue += 1
                canvas.text(x + pitch * 0.08, y + pitch * 0.06, str(clue), face, look.text_ink, "lt")
            if filled:
                canvas.text(x + pitch / 2, y + pitch * 0.55, chr(65 + int(rng.integers(26))), letters, look.text_ink, "mm")
    line = max(0.7, pitch * rng.uniform(0.015, 0.05))
    for i in range(count + 1):
        for upright in (True, False):
            canvas.rule(upright, 2 + i * pitch, 2, 2 + size, line, look.text_ink)
    return canvas


def data_table(rng, width, height, look):
    """A table of numbers or words, ruled in one of several manners: scores, prices, programmes."""
    canvas = Canvas(width, height)
    face = fonts.sized(look.text_font, look.text_size)
    step = look.text_size * rng.uniform(1.3, 2.2)
    rows = max(2, min(int(height / step), int(rng.integers(4, 22))))
    cols = int(rng.integers(2, 11))
    edges = np.concatenate([[0], np.sort(rng.uniform(0.15, 0.95, cols - 1)) if rng.random() < 0.6 else np.linspace(0, 1, cols + 1)[1:-1], [1]]) * (width - 2) + 1
    manner = rng.integers(4)
    for r in range(rows + 1):
        if manner != 3 and (manner < 2 or r in (0, 1, rows)):
            canvas.rule(False, 1 + r * step, 0, width, 1.6 if r == 1 else 0.8, look.text_ink)
        if r < rows:
            if manner == 3 and r % 2:
                canvas.fill(0, r * step, width, (r + 1) * step, (225, 225, 225))
            for left, right in zip(edges, edges[1:]):
                word = str(int(rng.integers(0, 1000))) if rng.random() < 0.7 else words.words(rng, look.tongue, 1)[0]
                if right - left > face.getlength(word) + 2:
                    canvas.text(left + 3, 1 + (r + 0.5) * step, word, face, look.text_ink, "lm")
    if manner == 0:
        for x in edges:
            canvas.rule(True, x, 0, rows * step + 1, 0.8, look.text_ink)
    return canvas


def calendar(rng, width, height, look):
    canvas = Canvas(width, height)
    across, down = (width - 2) / 7, (height - 2) / 7
    face = fonts.sized(look.text_font, max(5.0, min(across, down) * rng.uniform(0.35, 0.6)))
    start, ruled = int(rng.integers(7)), rng.random() < 0.7
    for c in range(7):
        canvas.text(1 + (c + 0.5) * across, 1 + 0.5 * down, "MTWTFSS"[c], face, look.head_ink, "mm")
    for day in range(31):
        place = day + start
        canvas.text(1 + (place % 7 + 0.5) * across, 1 + (place // 7 + 1.5) * down, str(day + 1), face, look.text_ink, "mm")
    if ruled:
        for i in range(8):
            canvas.rule(True, 1 + i * across, 1, 1 + 7 * down, 1.0, look.text_ink)
            canvas.rule(False, 1 + i * down, 1, 1 + 7 * across, 1.0, look.text_ink)
    return canvas


def bar_code(rng, width, height, look):
    canvas = Canvas(width, height)
    wide, tall = min(width - 4, 190), min(height - 4, 90)
    unit, at = wide / 95, 2.0
    while at < wide:
        bar = int(rng.integers(1, 5)) * unit
        canvas.fill(at, 2, at + bar, tall - 12, (10, 10, 10))
        at += bar + int(rng.integers(1, 5)) * unit
    canvas.text(6, tall - 10, "".join(map(str, rng.integers(0, 10, 13))), fonts.sized(look.text_font, 11), (10, 10, 10))
    return canvas


def chess_board(rng, width, height, look):
    size = min(width, height) - 4
    pitch = size / 8
    canvas = Canvas(width, height)
    dark = tint(rng, True) if rng.random() < 0.5 else look.text_ink
    for r in range(8):
        for c in range(8):
            if (r + c) % 2:
                canvas.fill(2 + c * pitch, 2 + r * pitch, 2 + (c + 1) * pitch, 2 + (r + 1) * pitch, dark)
            if rng.random() < 0.25:
                x, y = 2 + (c + 0.5) * pitch, 2 + (r + 0.5) * pitch
                canvas.disc(x, y, pitch * 0.32, (15, 15, 15))
                if rng.random() < 0.5:
                    canvas.disc(x, y, pitch * 0.26, (250, 250, 250))
    for at in (2, 2 + size):
        canvas.rule(True, at, 2, 2 + size, 1.5, look.text_ink)
        canvas.rule(False, at, 2, 2 + size, 1.5, look.text_ink)
    return canvas


def ruled_paper(rng, width, height, look):
    canvas = Canvas(width, height)
    step, colour = rng.uniform(9, 34), tint(rng, True)
    for y in np.arange(step, height, step):
        canvas.rule(False, y, 0, width, 1.0, colour)
    if rng.random() < 0.5:
        for x in np.arange(step, width, step):
            canvas.rule(True, x, 0, height, 1.0, colour)
    return canvas


def cloud(rng, width, height, cells=6):
    """Smooth noise in 0..1, float32 [height, width]: low-resolution noise scaled up."""
    small = rng.random((max(2, round(cells * height / max(width, height))) + 1, max(2, round(cells * width / max(width, height))) + 1))
    return np.asarray(Image.fromarray((small * 255).astype(np.uint8)).resize((int(width), int(height)), Image.Resampling.BICUBIC), np.float32) / 255


def picture(rng, width, height, look):
    """A printed photograph: coloured clouds with a few hard shapes; sometimes grey, sometimes with a halftone screen."""
    canvas = Canvas(width, height)
    first, second = rng.integers(10, 120, 3), rng.integers(110, 245, 3)
    fade = float(rng.choice((0.0, 0.25, 0.5, 0.9), p=(0.45, 0.25, 0.2, 0.1)))   # most pictures are grey or muted
    first, second = (c.mean() + (c - c.mean()) * fade for c in (first, second))
    mix = cloud(rng, width, height, int(rng.integers(3, 14)))[..., None]
    canvas.pixels[:] = (first * mix + second * (1 - mix)).astype(np.uint8)
    for _ in range(int(rng.integers(2, 9))):
        shade = rng.integers(0, 255, 3)
        shade = tuple(int(v) for v in shade.mean() + (shade - shade.mean()) * fade)
        x, y, size = rng.uniform(0, width), rng.uniform(0, height), rng.uniform(0.05, 0.4) * min(width, height)
        if rng.random() < 0.5:
            canvas.disc(x, y, size / 2, shade, 0.8)
        else:
            angles = np.sort(rng.uniform(0, 2 * np.pi, int(rng.integers(4, 9))))
            canvas.polygon(np.array([x, y]) + size * rng.uniform(0.3, 1, (len(angles), 1)) * np.stack([np.cos(angles), np.sin(angles)], 1), shade, 0.8)
    if rng.random() < 0.3:
        ys, xs = np.mgrid[0:canvas.height, 0:canvas.width]
        screen = 18 * np.sin((xs + ys) * 1.5) * np.sin((xs - ys) * 1.5)
        canvas.pixels[:] = np.clip(canvas.pixels + screen[..., None], 0, 255).astype(np.uint8)
    return canvas


def advertisement(rng, width, height, look):
    canvas = Canvas(width, height)
    ground = tint(rng, True) if rng.random() < 0.7 else ink(rng, 0.2)
    light = sum(ground) > 380
    canvas.fill(1, 1, width - 2, height - 2, ground)
    colour = look.text_ink if light else (250, 250, 250)
    y = height * 0.08
    while y < height * 0.85:
        size = float(rng.uniform(0.8, 4)) * look.text_size
        text = words.heading(rng, look.tongue)
        if rng.random() < 0.3:
            text = f"{rng.integers(1, 100)},{rng.integers(0, 100):02d}"
        canvas.text(width / 2, y, text, fonts.sized(look.head_font, size), colour, "ma")
        y += size * 1.4
    if rng.random() < 0.6:
        for at, upright, end in ((1, True, height), (width - 2, True, height), (1, False, width), (height - 2, False, width)):
            canvas.rule(upright, at, 1, end - 2, 2.0, look.text_ink)
    return canvas


def word_search(rng, width, height, look):
    """A square of letters, with or without lines: near to a grid and no grid."""
    size = min(width, height) - 4
    count = int(rng.integers(8, 16))
    pitch = size / count
    canvas = Canvas(width, height)
    face = fonts.sized(look.text_font, pitch * 0.6)
    for r in range(count):
        for c in range(count):
            canvas.text(2 + (c + 0.5) * pitch, 2 + (r + 0.5) * pitch, chr(65 + int(rng.integers(26))), face, look.text_ink, "mm")
    ruled = rng.random() < 0.4
    for i in range(count + 1):
        if ruled or i in (0, count):
            canvas.rule(True, 2 + i * pitch, 2, 2 + size, 0.8, look.text_ink)
            canvas.rule(False, 2 + i * pitch, 2, 2 + size, 0.8, look.text_ink)
    return canvas


PIECES = (text_columns, crossword, data_table, calendar, bar_code, chess_board, ruled_paper, picture, advertisement, word_search)
SHARES = (0.44, 0.11, 0.08, 0.05, 0.03, 0.04, 0.02, 0.1, 0.08, 0.05)


def piece(rng, width, height, look):
    """Any one piece of furniture, width x height px."""
    width, height = int(width), int(height)
    if width < 40 or height < 30:
        return Canvas(max(width, 1), max(height, 1))
    return PIECES[rng.choice(len(PIECES), p=SHARES)](rng, width, height, look)
