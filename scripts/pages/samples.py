"""Makes samples/: pages of the made-up booklet "Orchard Hours" by the made-up Pear Tree Press, photographed, with samples/truth.jsonl.

`python3 scripts/pages/samples.py [FOLDER]`. The puzzles come from our own store; a number always stands for the same puzzle, so that the
solutions page answers the others.
"""
import json
import os
import sys

import numpy as np
from PIL import Image

import camera
import fonts
import puzzles
from blocks import grid_block
from canvas import Canvas
from entries import Scribe
from furniture import Look
from generate import describe
from grid import Block, misprint
from style import GridStyle

BOOK, PRESS = "Orchard Hours", "Pear Tree Press"
LEAF, BARK, CREAM = (46, 92, 60), (40, 36, 34), (250, 246, 236)
HINTS = (
    "Begin where most has been gathered: a row, a column or a box with only two or three cells left.",
    "When a digit has one place left in a box, that place is yours, whatever else could stand there.",
    "Nothing needs to be guessed. Every puzzle in this book has one answer; it is printed at the end.",
)
QUALITY = 80


def font(name):
    for path in fonts.shelf(False)[0] + fonts.shelf(True)[0]:
        if os.path.basename(path).startswith(name):
            return path
    raise FileNotFoundError(f"{name} is not among the fonts: run scripts/pages/fetch.sh")


def design(size):
    style = GridStyle(inner_width=0.013, inner_ink=(110, 110, 110), box_width=0.04, box_ink=BARK, frame="box", frame_width=0.045,
                      font=font("LibreFranklin_400"), digit_share=0.52, digit_ink=BARK)
    look = Look(font("Lora"), font("SourceSerif4_600"), size / 34, "en", BARK, LEAF)
    return style, look


def puzzle(number):
    """The book's puzzle of that number: always the same."""
    return puzzles.draw_puzzle(np.random.default_rng([1871, number]))


def sheet(width, height, page_number, size, chapter):
    """An empty page of the book with its running head and foot."""
    style, look = design(size)
    page = Block(Canvas(width, height))
    head, foot = fonts.sized(font("Vollkorn"), width * 0.028), fonts.sized(look.text_font, width * 0.017)
    page.canvas.text(width * 0.08, height * 0.045, BOOK, head, LEAF, "lm")
    page.canvas.text(width * 0.92, height * 0.045, chapter, foot, BARK, "rm")
    page.canvas.rule(False, height * 0.062, width * 0.08, width * 0.92, 1.5, LEAF)
    page.canvas.text(width * 0.5, height * 0.965, str(page_number), foot, BARK, "mm")
    page.canvas.text(width * 0.08, height * 0.965, PRESS, foot, BARK, "lm")
    return page, style, look


def put(page, rng, style, look, number, x, y, size, given=None, share=0.06):
    labels = {"manner": "number", "place": "above left", "share": share, "number": number, "second": False, "tongue": "en", "dress": "plain", "follower": "nothing",
              "gap": 0.5, "smaller": 1.0, "same_font": True, "air": 0.0, "shout": False, "room": 0.0, "titled": False, "asides": False, "at": 0.02}
    block = grid_block(rng, size, style, look, labels, given or puzzle(number))
    page.place(x, y, block)
    return block.grids[0]


def one(rng, number, spoil=None):
    """A page with one large puzzle and a little text below it."""
    page, style, look = sheet(1300, 1640, number + 5, 1020, "Part two: Blossom")
    given, noted = puzzle(number), None
    if spoil:
        spoiled, noted = misprint(np.random.default_rng(number), *given, spoil)
        given = (spoiled, given[1])
    put(page, rng, style, look, number, 136, 150, 1020, given).misprint = noted
    face = fonts.sized(look.text_font, 22)
    for line, text in enumerate(HINTS):
        page.canvas.text(140, 1330 + line * 36, text, face, BARK)
    return page


def many(rng, first):
    """Six puzzles, two by three."""
    page, style, look = sheet(1300, 1960, first + 2, 510, "Part one: Buds")
    for place in range(6):
        put(page, rng, style, look, first + place, 110 + place % 2 * 570, 140 + place // 2 * 580, 500, share=0.07)
    return page


def answers(rng, first, count):
    page, style, look = sheet(1300, 1420, 131, 340, "Answers")
    style.digit_share, style.box_width = 0.6, 0.05
    for place in range(count):
        solution = puzzle(first + place)[1]
        put(page, rng, style, look, first + place, 105 + place % 3 * 375, 150 + place // 3 * 380, 330, (solution, solution), 0.08)
    return page


def write_on(page, rng, manner, level="plain"):
    scribe = Scribe(rng, level)
    scribe.manner, scribe.wrong = manner, 0.0
    for grid in page.grids:
        scribe.work_on(page.canvas, grid)


# Name, what is drawn, how it is photographed, the seed of both: seeds were chosen by eye for pages that show one thing each.
SAMPLES = (
    ("clean", lambda rng: one(rng, 42), "clean", 10),
    ("phone", lambda rng: one(rng, 57), "rough", 21),
    ("filled", lambda rng: one(rng, 48), "plain", 31),
    ("misprint", lambda rng: one(rng, 63, "equal"), "plain", 40),
    ("solutions", lambda rng: answers(rng, 40, 9), "plain", 154),
    ("several", lambda rng: many(rng, 40), "plain", 63),
)


def shoot(name, draw, level, seed):
    """The photo and the page of one sample."""
    rng = np.random.default_rng([1872, seed])
    page = draw(rng)
    page.canvas.pixels = (page.canvas.pixels.astype(np.uint16) * np.array(CREAM, np.uint16) // 255).astype(np.uint8)
    if name == "filled":
        write_on(page, rng, "full")
    return camera.photograph(page.canvas.pixels, rng, level), page


def main():
    here = os.path.dirname(os.path.abspath(__file__))
    folder = sys.argv[1] if len(sys.argv) > 1 else os.path.join(here, "..", "..", "samples")
    os.makedirs(folder, exist_ok=True)
    with open(os.path.join(folder, "truth.jsonl"), "w") as out:
        for name, draw, level, seed in SAMPLES:
            photo, page = shoot(name, draw, level, seed)
            Image.fromarray(photo.image).save(os.path.join(folder, f"{name}.jpg"), quality=QUALITY)
            truth = {"photo": f"{name}.jpg", "seed": seed, "level": level, "layout": "sample", **describe(page, photo)}
            out.write(json.dumps(truth, separators=(",", ":")) + "\n")


if __name__ == "__main__":
    main()
