"""A grid with its label and what books print round it, as one block to be placed on a page."""
import numpy as np

import fonts
import words
from canvas import Canvas, turn_pixels, turn_points
from foreign import draw_extras
from grid import Block, draw_grid
from style import tint

PLACES = ("above left", "above", "above right", "below", "below right", "left", "right", "bar", "tag", "column")


def random_labels(rng, tongue):
    """How a page labels its grids: (manner, place, size as a share of the grid's width, first number)."""
    manner = words.MANNERS[rng.choice(len(words.MANNERS), p=(0.2, 0.08, 0.08, 0.03, 0.06, 0.09, 0.04, 0.06, 0.05, 0.05, 0.06, 0.04, 0.02, 0.02, 0.03, 0.02, 0.07))]
    place = PLACES[rng.choice(len(PLACES), p=(0.25, 0.22, 0.1, 0.1, 0.05, 0.05, 0.05, 0.07, 0.06, 0.05))]
    number = int(rng.choice((rng.integers(1, 13), rng.integers(1, 200), rng.integers(200, 4000)), p=(0.25, 0.5, 0.25)))
    return {"manner": manner, "place": place, "share": float(rng.uniform(0.035, 0.09)), "number": number, "second": rng.random() < 0.25, "tongue": tongue}


def stars(canvas, rng, x, y, size, colour):
    """A row of filled and open marks for the difficulty."""
    full, count = int(rng.integers(1, 5)), 5
    round_ones = rng.random() < 0.5
    for i in range(count):
        at = x + (i + 0.5) * size * 1.2
        if round_ones:
            canvas.disc(at, y, size * 0.42, colour)
            if i >= full:
                canvas.disc(at, y, size * 0.3, (255, 255, 255))
        else:
            angles = np.arange(10) * np.pi / 5 - np.pi / 2
            radius = np.where(np.arange(10) % 2, 0.2, 0.5) * size
            points = np.stack([at + radius * np.cos(angles), y + radius * np.sin(angles)], 1)
            canvas.polygon(points, colour, 1.0 if i < full else 0.3)


def grid_block(rng, size, style, look, labels, puzzle, index=0, rules="plain"):
    """A block with one grid `size` px wide. `labels` comes from random_labels, or is None for a bare grid; `puzzle` is (givens, solution)."""
    size = int(size)
    text = words.label(rng, look.tongue, labels["number"] + index, labels["manner"]) if labels else None
    text_px = max(8.0, (labels["share"] if labels else 0.05) * size)
    pad = int(np.ceil((style.frame_width + style.band) * size / 9)) + 2
    head = int(text_px * 1.7) if labels else 0
    wide, tall = size + 2 * pad, int(size * style.aspect) + 2 * pad
    place = labels["place"] if labels and text else "none"
    left = right = top = bottom = 0
    if place in ("above left", "above", "above right", "bar", "tag"):
        top = head
    elif place in ("below", "below right"):
        bottom = head
    elif place == "left":
        left = head
    elif place == "right":
        right = head
    elif place == "column":
        left = int(fonts.sized(look.head_font, text_px).getlength(text)) + 8
    second = labels is not None and labels["second"] and place != "none"
    if second and not top and not bottom:
        bottom = head
    block = Block(Canvas(wide + left + right, tall + top + bottom))
    canvas = block.canvas
    grid = draw_grid(canvas, float(left + pad), float(top + pad), size, style, *puzzle, rng)
    if rules != "plain":
        draw_extras(canvas, rng, style, grid, rules)
    block.grids.append(grid)
    if text and place != "none":
        box, turn = print_label(canvas, rng, look, text, text_px, place, left, top, wide, tall, style)
        if labels["manner"] not in words.NO_LABELS:
            grid.label, grid.label_turn = text, turn
            grid.label_corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]], np.float64)
        if second:
            add_second(canvas, rng, look, text_px * 0.8, place, left, top, wide, tall)
    if style.inverse:
        canvas.pixels = 255 - canvas.pixels
        grid.dark = True
    return block


def print_label(canvas, rng, look, text, text_px, place, left, top, wide, tall, style):
    """Prints the label; gives its box (x0, y0, x1, y1) and how far it is turned clockwise."""
    face = fonts.sized(look.head_font, text_px)
    colour = look.head_ink
    if face.getlength(text) > wide - 4 and place not in ("left", "right", "column"):
        face = fonts.sized(look.head_font, text_px * (wide - 4) / face.getlength(text))
    middle = left + wide / 2
    if place in ("left", "right"):
        length, high = int(face.getlength(text)) + 6, int(text_px * 1.5)
        strip = Canvas(length, high)
        box = np.array(strip.text(3, high / 2, text, face, colour, "lm")).reshape(2, 2)
        turn = 270 if rng.random() < 0.75 else 90
        corners = turn_points(box, turn, length, high)
        x = 0 if place == "left" else left + wide + 1
        y = top + (tall - length) * float(rng.choice((0.05, 0.5, 0.95)))
        y = max(0, y)
        canvas.lay(x, y, turn_pixels(strip.pixels, turn))
        corners += [int(x), int(y)]
        return (*corners.min(0), *corners.max(0)), turn
    if place == "bar":
        ground = colour if rng.random() < 0.6 else tint(rng, True)
        canvas.fill(left + 1, 0, left + wide - 2, top - 3, ground)
        light = (255, 255, 255) if sum(ground) < 380 else look.text_ink
        at, anchor = ((left + 8, "lm"), (middle, "mm"), (left + wide - 9, "rm"))[rng.integers(3)]
        return canvas.text(at, top / 2 - 1, text, face, light, anchor), 0
    if place == "tag":
        length = face.getlength(text)
        x = left + float(rng.choice((4, wide / 2 - length / 2 - 6)))
        canvas.fill(x, 1, x + length + 12, top - 3, look.head_ink)
        hollow = rng.random() < 0.5
        if hollow:
            canvas.fill(x + 1.5, 2.5, x + length + 10.5, top - 4.5, (255, 255, 255))
        return canvas.text(x + 6, top / 2 - 1, text, face, look.head_ink if hollow else (255, 255, 255), "lm"), 0
    if place == "column":
        return canvas.text(2, top + 4, text, face, colour, "lt"), 0
    y = top / 2 if place.startswith("above") else top + tall + text_px * 0.85
    if place.endswith("left") or place == "below":
        return canvas.text(left + 3, y, text, face, colour, "lm"), 0
    if place.endswith("right"):
        return canvas.text(left + wide - 4, y, text, face, colour, "rm"), 0
    return canvas.text(middle, y, text, face, colour, "mm"), 0


def add_second(canvas, rng, look, text_px, place, left, top, wide, tall):
    """Difficulty words, stars or a maker's name on the side that the label leaves free."""
    above = place in ("below", "below right", "left", "right", "column") and top
    y = top / 2 if above or place in ("above left", "above right") else top + tall + text_px * 0.8
    if place in ("above", "bar", "tag") or y > canvas.height - text_px * 0.5:
        return
    to_right = not place.endswith("right")
    x = left + wide - 4 if to_right else left + 3
    if rng.random() < 0.4:
        stars(canvas, rng, x - text_px * 6 if to_right else x, y, text_px * 0.9, look.head_ink)
    else:
        level = words.LEVELS[look.tongue]
        canvas.text(x, y, level[rng.integers(len(level))], fonts.sized(look.text_font, text_px), look.text_ink, "rm" if to_right else "lm")
