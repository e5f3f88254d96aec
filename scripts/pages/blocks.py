"""A grid with its label and what books print round it, as one block to be placed on a page."""
import numpy as np

import fonts
import words
from canvas import Canvas, turn_pixels, turn_points
from extras import draw_extras
from grid import Block, draw_grid, headings_room
from style import tint

PLACES = {"above left": 0.22, "above": 0.19, "above right": 0.13, "below left": 0.07, "below": 0.06, "below right": 0.05, "left": 0.05, "right": 0.05, "bar": 0.07, "tag": 0.06, "column": 0.05, "behind": 0.04}
# What a label is set in, and what follows it on its line or stands on a line of its own between it and the grid: how hard the puzzle is.
DRESSES = {"plain": 0.73, "disc": 0.05, "ring": 0.09, "pill": 0.04, "block": 0.05, "underlined": 0.04}
FOLLOWERS = {"nothing": 0.46, "stars": 0.25, "level": 0.21, "line": 0.08}
# What stands before how hard the puzzle is, and behind it.
PARTED = {("", ""): 0.5, ("- ", ""): 0.15, ("(", ")"): 0.2, ("| ", ""): 0.1, (": ", ""): 0.05}


def one_of(rng, shares):
    names = list(shares)
    chances = np.array(list(shares.values()))
    return names[rng.choice(len(names), p=chances / chances.sum())]


def random_labels(rng, tongue):
    """How a page labels its grids: manner, place, size as a share of the grid's width, first number, dress and follower with its gap and size in the label's."""
    number = int(rng.choice((rng.integers(1, 13), rng.integers(1, 200), rng.integers(200, 4000)), p=(0.25, 0.5, 0.25)))
    share = float(rng.uniform(0.035, 0.09) if rng.random() < 0.8 else rng.uniform(0.08, 0.14))
    return {"manner": one_of(rng, words.MANNERS), "place": one_of(rng, PLACES), "share": share, "number": number, "second": rng.random() < 0.2, "tongue": tongue,
            "dress": one_of(rng, DRESSES), "follower": one_of(rng, FOLLOWERS), "gap": float(rng.uniform(0.25, 1.6)), "smaller": float(rng.uniform(0.55, 1.0)),
            "same_font": rng.random() < 0.5, "air": float(rng.uniform(0, 1.0) ** 2), "shout": rng.random() < 0.15,
            "room": float(rng.uniform(0, 0.4))}


def stars(canvas, rng, x, y, size, colour, count=5):
    """A row of filled and open marks for the difficulty, 1.2 sizes each."""
    full = int(rng.integers(1, count + 1))
    manner = str(rng.choice(("disc", "star", "diamond", "square"), p=(0.3, 0.55, 0.09, 0.06)))
    corners, inner = {"star": (10, float(rng.uniform(0.17, 0.25))), "diamond": (4, 0.42), "square": (4, 0.5), "disc": (0, 0.0)}[manner]
    angles = np.arange(corners) * 2 * np.pi / max(1, corners) - np.pi / (4 if manner == "square" else 2)
    radius = np.where(np.arange(corners) % 2, inner, 0.5) * size
    open_too = rng.random() < 0.6
    for i in range(count if open_too else full):
        at = x + (i + 0.5) * size * 1.2
        if manner == "disc":
            canvas.disc(at, y, size * 0.42, colour)
            if i >= full:
                canvas.disc(at, y, size * 0.3, (255, 255, 255))
        else:
            canvas.polygon(np.stack([at + radius * np.cos(angles), y + radius * np.sin(angles)], 1), colour, 1.0 if i < full else 0.3)


def grid_block(rng, size, style, look, labels, puzzle, index=0, rules="plain"):
    """A block with one grid `size` px wide. `labels` comes from random_labels, or is None for a bare grid; `puzzle` is (givens, solution)."""
    size = int(size)
    text = words.label(rng, look.tongue, labels["number"] + index, labels["manner"]) if labels else None
    text_px = max(8.0, (labels["share"] if labels else 0.05) * size)
    pad = int(np.ceil((style.frame_width + style.band) * size / 9)) + 2
    if text and labels["shout"]:
        text = words.shouted(text)
    head = int(text_px * (1.7 + labels["air"] + (1.3 * labels["smaller"] if labels["follower"] == "line" else 0))) if labels else 0
    named = headings_room(style, size / (9 + 2 * style.gap))
    sides = 2 if style.headings and style.headings[3] else 1
    wide, tall = size + 2 * pad + sides * named, int(size * style.aspect) + 2 * pad + sides * named
    place = labels["place"] if labels and text else "none"
    left = right = top = bottom = 0
    if place in ("above left", "above", "above right", "bar", "tag"):
        top = head
    elif place.startswith("below"):
        bottom = head
    elif place == "left":
        left = head
    elif place == "right":
        right = head
    elif place == "column":
        left = int(fonts.sized(look.head_font, text_px).getlength(text)) + 8
    elif place == "behind":
        right = int(fonts.sized(look.head_font, text_px).getlength(text) + (1 + labels["air"]) * text_px) + 4
    second = labels is not None and labels["second"] and place != "none"
    if second and not top and not bottom:
        bottom = head
    block = Block(Canvas(wide + left + right, tall + top + bottom))
    canvas = block.canvas
    grid = draw_grid(canvas, float(left + pad + named), float(top + pad + named), size, style, *puzzle, rng)
    if rules != "plain":
        draw_extras(canvas, rng, style, grid, rules)
    elif style.shade == "diagonal":
        grid.rules = "diagonal"     # nobody tints diagonals for ornament
    block.grids.append(grid)
    if text and place != "none":
        box, turn = print_label(canvas, rng, look, text, text_px, place, left, top, wide, tall, labels)
        if labels["manner"] not in words.NO_LABELS:
            grid.label, grid.label_turn = text, turn
            grid.label_corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]], np.float64)
        if second and labels["follower"] == "nothing":
            add_second(canvas, rng, look, text_px * 0.8, place, left, top, wide, tall)
    if style.inverse:
        canvas.pixels = 255 - canvas.pixels
        grid.dark = True
    return block


def print_label(canvas, rng, look, text, text_px, place, left, top, wide, tall, labels):
    """Prints the label and what follows it; gives the label's box (x0, y0, x1, y1) and how far it is turned clockwise."""
    face = fonts.sized(look.head_font, text_px)
    colour = look.head_ink
    if face.getlength(text) > wide - 4 and place not in ("left", "right", "column", "behind"):
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
    if place == "behind":
        return canvas.text(left + wide + 0.5 * text_px, top + (tall - text_px) * float(rng.choice((0.02, 0.5, 0.98))), text, face, colour, "lt"), 0
    return print_line(canvas, rng, look, text, face, text_px, place, left, top, wide, tall, labels), 0


def print_line(canvas, rng, look, text, face, text_px, place, left, top, wide, tall, labels):
    """Prints a label above or below its grid, dressed, with what follows it; gives the label's box."""
    follower, small = labels["follower"], max(6.0, text_px * labels["smaller"])
    before, after = one_of(rng, PARTED)
    level = before + words.level_of(rng, look.tongue) + after
    level_face = fonts.sized(look.head_font if labels["same_font"] else look.text_font, small)
    count = int(rng.integers(3, 7))
    long, more = face.getlength(text), {"stars": count * 1.2 * small * 0.95, "level": level_face.getlength(level)}.get(follower, 0.0)
    gap = labels["gap"] * text_px
    if long + gap + more > wide - 8:
        follower, more = "nothing", 0.0
    whole = long + (gap + more if more else 0.0)
    x = left + 3 if place.endswith("left") else left + wide - 4 - whole if place.endswith("right") else left + wide / 2 - whole / 2
    line = follower == "line"
    # The line that stands between the label and its grid, or beyond it.
    high = 1.3 * small if line else 0.0
    y = (top - high) / 2 if place.startswith("above") else top + tall + text_px * (0.85 + labels["air"] / 2)
    ink = look.head_ink
    if labels["dress"] in ("disc", "ring") and long < 2.2 * text_px:
        radius = max(long, 0.8 * text_px) * 0.5 + text_px * (0.1 + labels["room"])
        middle = (x + long / 2, y)
        canvas.disc(*middle, radius, ink)
        if labels["dress"] == "ring":
            canvas.disc(*middle, radius - max(1.0, text_px * 0.06), (255, 255, 255))
        else:
            ink = (255, 255, 255)
    elif labels["dress"] == "pill":
        half = 0.6 * text_px * (1 + labels["room"])
        hollow = rng.random() < 0.4
        for shrink, colour in ((0.0, ink), (max(1.0, text_px * 0.06), (255, 255, 255)))[:2 if hollow else 1]:
            canvas.fill(x, y - half + shrink, x + long, y + half - shrink, colour)
            for end in (x, x + long):
                canvas.disc(end, y, half - shrink, colour)
        if not hollow:
            ink = (255, 255, 255)
    elif labels["dress"] == "block":
        canvas.fill(x - 0.3 * text_px, y - 0.62 * text_px, x + long + 0.3 * text_px, y + 0.62 * text_px, ink)
        ink = (255, 255, 255)
    elif labels["dress"] == "underlined":
        canvas.rule(False, y + 0.6 * text_px, x, x + long, max(1.0, text_px * 0.07), ink)
    box = canvas.text(x, y, text, face, ink, "lm")
    side = look.head_ink if rng.random() < 0.5 else look.text_ink
    if follower == "stars":
        stars(canvas, rng, x + long + gap, y, small * float(rng.uniform(0.7, 0.95)), side, count)
    elif follower == "level":
        canvas.text(x + long + gap, y, level, level_face, side, "lm")
    elif line:
        under = y + text_px * 0.55 + small * 0.7
        start = x if not place.endswith("right") else x + long - level_face.getlength(level)
        if rng.random() < 0.5:
            canvas.text(start, under, level, level_face, side, "lm")
        else:
            stars(canvas, rng, x, under, small * 0.8, side, count)
    return box


def add_second(canvas, rng, look, text_px, place, left, top, wide, tall):
    """Difficulty words, stars or a maker's name on the side that the label leaves free."""
    above = place in ("below left", "below", "below right", "left", "right", "column", "behind") and top
    y = top / 2 if above or place in ("above left", "above right") else top + tall + text_px * 0.8
    if place in ("above", "bar", "tag") or y > canvas.height - text_px * 0.5:
        return
    to_right = not place.endswith("right")
    x = left + wide - 4 if to_right else left + 3
    if rng.random() < 0.4:
        stars(canvas, rng, x - text_px * 6 if to_right else x, y, text_px * 0.9, look.head_ink)
    else:
        canvas.text(x, y, words.level_of(rng, look.tongue), fonts.sized(look.text_font, text_px), look.text_ink, "rm" if to_right else "lm")
