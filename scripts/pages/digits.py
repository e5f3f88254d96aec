"""How the digits of a grid are drawn: in a font, hollow, with a shadow, or of seven strokes, and what stands in empty cells."""
import numpy as np
from PIL import Image, ImageChops, ImageDraw, ImageFilter

import fonts
from puzzles import PEERS

# The strokes of a display's digit: top, upper right, lower right, bottom, lower left, upper left, middle.
SEGMENTS = {"1": (1, 2), "2": (0, 1, 6, 4, 3), "3": (0, 1, 6, 2, 3), "4": (5, 6, 1, 2), "5": (0, 5, 6, 2, 3), "6": (0, 5, 4, 3, 2, 6), "7": (0, 1, 2),
            "8": range(7), "9": (0, 1, 2, 3, 5, 6)}


def draw_segments(canvas, style, x, y, high, char, ink):
    """A digit of seven strokes, its middle at (x, y)."""
    wide = 0.52 * high * style.stretch
    width, gap = (share * high for share in style.segments)
    half, tall, reach = wide / 2 - width / 2, high / 2 - width / 2, width / 2
    ends = (((-half, -tall), (half, -tall)), ((half, -tall), (half, 0)), ((half, 0), (half, tall)), ((-half, tall), (half, tall)), ((-half, 0), (-half, tall)),
            ((-half, -tall), (-half, 0)), ((-half, 0), (half, 0)))
    for segment in SEGMENTS[char]:
        start, end = (np.array(point) for point in ends[segment])
        way = (end - start) / np.hypot(*(end - start))
        side = np.array([-way[1], way[0]]) * reach
        start, end = start + way * gap, end - way * gap
        outline = np.array([start, start + way * reach + side, end - way * reach + side, end, end - way * reach - side, start + way * reach - side])
        outline[:, 0] -= style.slant * outline[:, 1]
        canvas.polygon(outline + (x, y), ink)


def draw_outline(canvas, x, y, char, path, size, width, ink, filling):
    """A hollow digit, on its baseline with its middle at x: a line `width` px wide along its outline, filled with another colour (None: the paper)."""
    face = fonts.load(path, round(size * 12) / 4)      # three times as large, so that the line may be thin
    left, top, right, bottom = face.getbbox(char, anchor="ms")
    room = 3 * int(np.ceil(width)) + 3
    x_whole, y_whole = int(np.floor(x)), int(np.floor(y))
    # The mask begins at whole px of the canvas.
    left, top = (3 * int(np.floor((side - room) / 3)) for side in (left, top))
    wide, high = (-(-int(np.ceil(far + room - near)) // 3) * 3 for near, far in ((left, right), (top, bottom)))
    body = Image.new("L", (wide, high))
    ImageDraw.Draw(body).text((3 * (x - x_whole) - left, 3 * (y - y_whole) - top), char, 255, face, "ms")
    reach = 2 * max(1, round(1.5 * width)) + 1
    outer = body.filter(ImageFilter.MaxFilter(reach))
    line = ImageChops.subtract(outer, body)
    if filling:
        canvas.blend(x_whole + left // 3, y_whole + top // 3, np.asarray(body.reduce(3)), filling)
    canvas.blend(x_whole + left // 3, y_whole + top // 3, np.asarray(line.reduce(3)), ink)


def draw_pencilled(canvas, style, grid, rng):
    """Prints small candidates into empty cells, all that the givens leave or some of them; such a cell reads `m`."""
    where, size, share, ink, font = style.pencilled
    _, width, height = grid.cell(0, 0)
    tall, middle = fonts.digit_height(font)
    size = size * height / tall
    face = fonts.sized(font, max(4.0, size))
    for cell in range(81):
        if grid.givens[cell] != "." or rng.random() > share:
            continue
        centre, width, height = grid.cell(*divmod(cell, 9))
        seen = {grid.givens[peer] for peer in PEERS[cell]}
        digits = [d for d in "123456789" if d not in seen and (d == grid.solution[cell] or rng.random() < 0.9)]
        if not digits or where != "places" and len(digits) > 4:
            continue
        for place, digit in enumerate(digits):
            number = int(digit) - 1
            spot = (number % 3 / 3 - 0.33, number // 3 / 3 - 0.33) if where == "places" else ((place - (len(digits) - 1) / 2) * 0.22, -0.3 if where == "top" else 0.3)
            canvas.text(centre[0] + spot[0] * 0.92 * width, centre[1] + spot[1] * 0.92 * height + middle * size, digit, face, ink, "ms")
        grid.cells[cell] = "m"
        grid.marks[cell] = [int(digit) for digit in digits]


def draw_digits(canvas, style, across, down, width, height, givens, rng):
    """Prints what stands in the cells of a grid whose columns and rows have their middles at `across` and `down`, cells `width` by `height` px."""
    size = style.digit_share * height / fonts.digit_height(style.font)[0]
    widest = max(fonts.sized(style.font, size).getlength(d) for d in "0123456789") * style.stretch
    size *= min(1.0, 0.9 * width / widest)
    faces = {style.font: size}
    # Finished grids may tell what was given from what was found.
    is_full = "." not in givens
    if is_full and style.found_font:
        faces[style.found_font] = style.digit_share * height / fonts.digit_height(style.found_font)[0]
    for font in style.more_fonts:
        faces[font] = style.digit_share * height / fonts.digit_height(font)[0]
    for cell, char in enumerate(givens):
        mark = style.typed or style.blank
        if char == "." and not mark:
            continue
        row, col = divmod(cell, 9)
        x = across[col] + style.shift[0] * width + rng.normal(0, 1) * style.jitter * width
        y = down[row] + style.shift[1] * height + rng.normal(0, 1) * style.jitter * height
        colour = style.second_ink if style.second_ink and (row // 3 + col // 3) % 2 else style.digit_ink
        font = style.font
        if is_full and (style.found_ink or style.found_font) and rng.random() < 0.65:
            colour, font = style.found_ink or colour, style.found_font or font
        elif style.more_fonts:
            font = style.more_fonts[rng.integers(len(style.more_fonts))]
        size, middle = faces[font], fonts.digit_height(font)[1] * faces[font]
        face = fonts.sized(font, size)
        if style.disc and char != ".":
            canvas.disc(x, y, style.disc[0] * width, style.disc[1])
        if style.round and char != ".":
            canvas.ring(x, y, style.round * width, max(0.8, style.inner_width * width), colour)
        if style.shadow and char != "." and not style.segments:
            right, below, shade = style.shadow
            canvas.text(x + right * height, y + middle + below * height, char, face, shade, "ms", style.stretch, style.slant)
        if char == ".":
            canvas.text(x, y + middle, mark, face, style.blank_ink or colour, "ms")
        elif style.segments:
            draw_segments(canvas, style, x, y, style.digit_share * height, char, colour)
        elif style.outline:
            draw_outline(canvas, x, y + middle, char, font, size, max(0.7, style.outline * height), colour, style.filling)
        elif style.by_ink:
            left, top, right, bottom = face.getbbox(char, anchor="ls")
            canvas.text(x - (left + right) / 2 * style.stretch, y - (top + bottom) / 2, char, face, colour, "ls", style.stretch, style.slant)
        else:
            canvas.text(x, y + middle, char, face, colour, "ms", style.stretch, style.slant)
