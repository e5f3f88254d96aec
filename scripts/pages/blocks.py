"""A grid with its label and what books print round it, as one block to be placed on a page."""
import numpy as np

import fonts
import words
from canvas import Canvas, turn_pixels, turn_points
from extras import draw_extras
from grid import Block, draw_grid, headings_room
from style import tint

PLACES = {"above left": 0.2, "above": 0.17, "above right": 0.11, "below left": 0.06, "below": 0.06, "below right": 0.05, "left": 0.05, "right": 0.05, "bar": 0.06, "tag": 0.05, "column": 0.07, "behind": 0.07, "corner": 0.03}
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
    share = float(rng.choice((rng.uniform(0.035, 0.09), rng.uniform(0.08, 0.14), rng.uniform(0.025, 0.04)), p=(0.7, 0.17, 0.13)))
    return {"manner": one_of(rng, words.MANNERS), "place": one_of(rng, PLACES), "share": share, "number": number, "second": rng.random() < 0.2, "tongue": tongue,
            "dress": one_of(rng, DRESSES), "follower": one_of(rng, FOLLOWERS), "gap": float(rng.uniform(0.25, 1.6)), "smaller": float(rng.uniform(0.55, 1.0)),
            "same_font": rng.random() < 0.5, "air": float(rng.uniform(0, 1.0) ** 2 if rng.random() < 0.92 else rng.uniform(1, 3)), "shout": rng.random() < 0.15,
            "room": float(rng.uniform(0, 0.4)), "titled": rng.random() < 0.35, "asides": rng.random() < 0.15, "at": float(rng.choice((0.02, 0.5, 0.98), p=(0.5, 0.25, 0.25)))}


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
    if text and labels["shout"]:
        text = words.shouted(text)
    font = look.head_font
    if text:
        font = fonts.setting(rng, look.head_font, text)
        if font is None:
            text, font = str(labels["number"] + index), look.head_font
    pad = int(np.ceil((style.frame_width + style.band) * size / 9)) + 2
    head = int(text_px * (1.7 + labels["air"] + (1.3 * labels["smaller"] if labels["follower"] == "line" else 0))) if labels else 0
    named = headings_room(style, size / (9 + 2 * style.gap))
    sides = 2 if style.headings and style.headings[3] else 1
    wide, tall = size + 2 * pad + sides * named, int(size * style.aspect) + 2 * pad + sides * named
    place = labels["place"] if labels and text else "none"
    long = fonts.sized(font, text_px).getlength(text) if text else 0
    if place in ("column", "behind") and long > 0.45 * size:
        place = "above left"
    left = right = top = bottom = 0
    beside = int(long + (1 + labels["air"]) * text_px) + 4 if place in ("column", "behind") else 0
    radius = round_room(labels, long, text_px) if place != "none" else None
    if radius and place not in ("left", "right", "bar", "tag"):
        head = max(head, int(2 * radius) + 3)
    if place in ("above left", "above", "above right", "bar", "tag", "corner"):
        top = head
        left = int(radius or long / 2) + 2 if place == "corner" else 0
    elif place.startswith("below"):
        bottom = head
    elif place == "left":
        left = head
    elif place == "right":
        right = head
    elif place == "column":
        left = beside
    elif place == "behind":
        right = beside
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
        box, turn = print_label(canvas, rng, look, font, text, text_px, place, left, top, wide, tall, labels)
        if labels["manner"] not in words.NO_LABELS:
            grid.label, grid.label_turn = text, turn
            grid.label_corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]], np.float64)
        if second and labels["follower"] == "nothing":
            add_second(canvas, rng, look, text_px * 0.8, place, left, top, wide, tall)
    if labels and labels["asides"]:
        block = with_asides(rng, block, look, text_px)
        canvas = block.canvas
    if style.inverse:
        canvas.pixels = 255 - canvas.pixels
        grid.dark = True
    return block


def with_asides(rng, block, look, text_px):
    """The block with a line of its own above or below it that asks for a name or a time, or tells where the solution stands: no label."""
    size = max(6.0, text_px * float(rng.uniform(0.6, 1.0)))
    face, high = fonts.sized(look.text_font, size), int(size * rng.uniform(1.3, 2.0))
    wider = Block(Canvas(block.canvas.width, block.canvas.height + high))
    above = rng.random() < 0.5
    wider.place(0, high if above else 0, block)
    y, x, gap = (high / 2 if above else wider.canvas.height - high / 2), 3.0 if rng.random() < 0.6 else wider.canvas.width * 0.4, size * float(rng.uniform(1, 4))
    for _ in range(int(rng.integers(1, 4))):
        text = words.aside(rng, look.tongue)
        if x + face.getlength(text) > wider.canvas.width - 3:
            break
        wider.canvas.text(x, y, text, face, look.text_ink, "lm")
        x += face.getlength(text) + gap
    return wider


def print_label(canvas, rng, look, font, text, text_px, place, left, top, wide, tall, labels):
    """Prints the label and what follows it; gives the label's box (x0, y0, x1, y1) and how far it is turned clockwise."""
    face = fonts.sized(font, text_px)
    colour = look.head_ink
    if face.getlength(text) > wide - 4 and place not in ("left", "right", "column", "behind"):
        face = fonts.sized(font, text_px * (wide - 4) / face.getlength(text))
    middle = left + wide / 2
    if place in ("left", "right"):
        length, high = int(face.getlength(text)) + 6, int(text_px * 1.5)
        strip = Canvas(length, high)
        if labels["dress"] in ("pill", "block"):
            strip.fill(0, 0, length, high, colour)
            colour = (255, 255, 255)
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
    if place in ("column", "behind"):
        long, half = face.getlength(text), text_px * 0.7
        x = left - long - 0.5 * text_px if place == "column" else left + wide + 0.5 * text_px
        y = top + half + (tall - 2 * half) * labels["at"]
        ink = dress(canvas, labels, x, y, long, text_px, colour)
        return canvas.text(x, y, text, face, ink, "lm"), 0
    if place == "corner":
        long = face.getlength(text)
        x, y = left + 2 - long / 2, top - (round_room(labels, long, text_px) or 0.7 * text_px)
        ink = dress(canvas, labels, x, y, long, text_px, colour)
        return canvas.text(x, y, text, face, ink, "lm"), 0
    return print_line(canvas, rng, look, text, face, text_px, place, left, top, wide, tall, labels), 0


def round_room(labels, long, text_px):
    """The radius of the disc or ring that a label of that length is set in; None for any other."""
    if labels["dress"] not in ("disc", "ring") or long >= 2.2 * text_px:
        return None
    return max(long, 0.8 * text_px) * 0.5 + text_px * (0.1 + labels["room"])


def dress(canvas, labels, x, y, long, text_px, ink):
    """Prints what a label is set in, of the length that begins at (x, y), the middle of its height; gives the ink for the label."""
    white = (255, 255, 255)
    radius = round_room(labels, long, text_px)
    if radius:
        middle = (x + long / 2, y)
        canvas.disc(*middle, radius, ink)
        if labels["dress"] == "disc":
            return white
        canvas.disc(*middle, radius - max(1.0, text_px * 0.06), white)
    elif labels["dress"] == "pill":
        half = 0.6 * text_px * (1 + labels["room"])
        hollow = labels["gap"] < 0.8
        for shrink, colour in ((0.0, ink), (max(1.0, text_px * 0.06), white))[:2 if hollow else 1]:
            canvas.fill(x, y - half + shrink, x + long, y + half - shrink, colour)
            for end in (x, x + long):
                canvas.disc(end, y, half - shrink, colour)
        return ink if hollow else white
    elif labels["dress"] == "block":
        canvas.fill(x - 0.3 * text_px, y - 0.62 * text_px, x + long + 0.3 * text_px, y + 0.62 * text_px, ink)
        return white
    elif labels["dress"] == "underlined":
        canvas.rule(False, y + 0.6 * text_px, x, x + long, max(1.0, text_px * 0.07), ink)
    return ink


def print_line(canvas, rng, look, text, face, text_px, place, left, top, wide, tall, labels):
    """Prints a label above or below its grid, dressed, with what follows it; gives the label's box."""
    follower, small = labels["follower"], max(6.0, text_px * labels["smaller"])
    before, after = one_of(rng, PARTED)
    level = before + words.level_of(rng, look.tongue) + after
    if follower == "line" and labels["titled"] and text[-1:].isdigit():
        level = words.heading(rng, look.tongue) if rng.random() < 0.3 else words.TITLES[look.tongue][0]
    level_face = fonts.sized(look.head_font if labels["same_font"] else look.text_font, small)
    count = int(rng.integers(3, 7))
    long, more = face.getlength(text), {"stars": count * 1.2 * small * 0.95, "level": level_face.getlength(level)}.get(follower, 0.0)
    gap = labels["gap"] * text_px
    if long + gap + more > wide - 8:
        follower, more = "nothing", 0.0
    whole = long + (gap + more if more else 0.0)
    rim = max(0.0, (round_room(labels, long, text_px) or 0.0) - long / 2)
    x = left + 3 + rim if place.endswith("left") else left + wide - 4 - whole - rim if place.endswith("right") else left + wide / 2 - whole / 2
    line = follower == "line"
    # The line that stands between the label and its grid, or beyond it.
    high = 1.3 * small if line else 0.0
    y = (top - high) / 2 if place.startswith("above") else top + tall + text_px * (0.85 + labels["air"] / 2)
    ink = dress(canvas, labels, x, y, long, text_px, look.head_ink)
    box = canvas.text(x, y, text, face, ink, "lm")
    side = look.head_ink if rng.random() < 0.5 else look.text_ink
    if follower == "stars":
        stars(canvas, rng, x + long + gap, y, small * float(rng.uniform(0.7, 0.95)), side, count)
    elif follower == "level":
        canvas.text(x + long + gap, y, level, level_face, side, "lm")
    elif line:
        under = y + text_px * 0.55 + small * 0.7
        start = x if not place.endswith("right") else x + long - level_face.getlength(level)
        if rng.random() < 0.5 or labels["titled"]:
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
