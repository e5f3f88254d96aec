"""Draws what the label networks learn from: `draw.py OUT SEED COUNT [--worker I --workers N]`.

Pages of scripts/pages give surroundings of grids with the place of their label, and the labels as lines of text; loose lines come on
top. OUT/SEED_I_K.npz holds one chunk: `frames` u8 [n, SIDE, SIDE], `boxes` f32 [n, 5] (left, top, right, bottom in cells; turn 0, 90, 270, or
-1 where there is no label), `strips` u8 [m, STRIP + 2 MARGIN, LONGEST + 2 MARGIN], `widths`, `texts`, `spans` (between which columns the text
stands, px), `sources` (as in SOURCES).
"""
import argparse
import json
import os
import sys

import numpy as np

HERE = os.path.dirname(os.path.abspath(__file__))
sys.path.insert(0, os.path.join(HERE, "..", "pages"))
sys.path.insert(0, HERE)
import camera
import fonts
import frame
import lines
import page as pages
import words
from generate import LEVELS, View, rolled_over
from PIL import Image

MARGIN = 8          # px that strips carry around, so that training can shift and scale them
MOST = 5            # grids taken of one page
SOURCES = ("page", "loose", "program")      # of lines: flattened here, drawn loose, cut by the program (cut_lines.rs)


def shaken(rng, lattice):
    """The lattice as `find` may see it: a little off as a whole, and each crossing for itself."""
    pitch = frame.pitch_of(lattice)
    return lattice + rng.normal(0, 0.015, 2) * pitch + rng.normal(0, 0.012, (10, 10, 2)) * pitch


def compose(rng, level, heldout, others=0.0):
    """A page of the generator's, of which a third leave labels to `print_own`."""
    made = pages.random_labels

    def sometimes_none(rng, tongue):
        labels = made(rng, tongue)
        return {**labels, "manner": "none"} if rng.random() < 0.35 else labels

    pages.random_labels = sometimes_none
    try:
        page = pages.compose(rng, level, heldout, None, None, others)
    finally:
        pages.random_labels = made
    for grid in page.block.grids:
        if not grid.label and grid.turn == 0 and not grid.dark and rng.random() < 0.75:
            print_own(rng, page.block.canvas, grid, heldout)
    return page


def print_own(rng, canvas, grid, heldout):
    """Prints a label, or something else, near a grid at a place of our own choosing where the paper is blank; nothing where it isn't."""
    x0, y0, wide, tall = grid.box()
    pitch, tongue = wide / 9, words.language(rng)
    is_label = rng.random() < 0.75
    text = lines.label_text(rng, tongue) if is_label else lines.other_text(rng, tongue)
    font = fonts.choose(rng, heldout, 0.3, text)
    if font is None:
        return
    share = fonts.digit_height(font)[0]
    face = fonts.sized(font, max(7.0, float(rng.uniform(0.22, 0.7) if rng.random() < 0.85 else rng.uniform(0.7, 1.1)) * pitch / share))
    left, top, right, bottom = face.getbbox(text, anchor="ls")
    long, high = right - left, bottom - top
    gap = float(rng.uniform(0.12, 1.7)) * pitch
    side = str(rng.choice(("above", "below", "left", "right"), p=(0.55, 0.25, 0.1, 0.1)))
    if side in ("above", "below"):
        x = (x0, x0 + (wide - long) / 2, x0 + wide - long)[rng.integers(3)] + float(rng.normal(0, 0.1)) * pitch
        y = y0 - gap - high if side == "above" else y0 + tall + gap
    else:
        x = x0 - gap - long if side == "left" else x0 + wide + gap
        y = y0 + (0, 0.1 * pitch, tall / 2, tall - high)[rng.integers(4)]
    rim = int(max(3, high * 0.3))
    around = [int(x) - rim, int(y) - rim, int(x + long) + rim, int(y + high) + rim]
    if min(around) < 0 or around[2] >= canvas.width or around[3] >= canvas.height:
        return
    part = canvas.pixels[around[1]:around[3], around[0]:around[2]]
    if part.std() > 6 or part.mean() < 120:
        return
    ink = (int(rng.integers(0, 60)),) * 3 if rng.random() < 0.8 else tuple(int(v) for v in rng.integers(0, 150, 3))
    box = canvas.text(x - left, y - top, text, face, ink, "ls")
    if is_label:
        grid.label, grid.label_turn = text, 0
        grid.label_corners = np.array([[box[0], box[1]], [box[2], box[1]], [box[2], box[3]], [box[0], box[3]]], np.float64)


def label_box(grid, photo, lattice):
    """The label's box in cells of the photographed lattice."""
    cells = frame.cells_of(frame.continued(lattice), photo.warp(grid.label_corners))
    return np.concatenate([cells.min(0), cells.max(0)])


def inside_frame(box):
    rim = frame.MARGIN + 0.05
    return box[0] > -rim and box[1] > -rim and box[2] < 9 + rim and box[3] < 9 + rim


def photographed(seed, level, heldout=False, others=0.0):
    """One page of a seed: (page, photo, random generator); as generate.py makes them, but for its labels."""
    rng = np.random.default_rng([seed, LEVELS.index(level), int(heldout)])
    page = compose(rng, level, heldout, others=others)
    for _ in range(8):
        photo = camera.photograph(page.block.canvas.pixels, rng, level, focus=page.focus)
        if not any(rolled_over(grid, photo) for grid in page.block.grids):
            break
    return page, photo, rng


def examples_of(page, photo, rng):
    """Of one page: [(surroundings, box with turn)], [(strip, text)]."""
    if not page.block.grids:
        return [], []
    gray = np.asarray(Image.fromarray(photo.image).convert("L"))
    view = View(photo, page.block.canvas.width, page.block.canvas.height)
    frames, strips = [], []
    for number in rng.permutation(len(page.block.grids))[:MOST]:
        grid = page.block.grids[number]
        points, there = view.warp(grid.lattice.reshape(-1, 2))
        if there.mean() < 0.8:
            continue
        lattice = shaken(rng, points.reshape(10, 10, 2))
        box = np.array([0, 0, 0, 0, -1], np.float32)
        if grid.label:
            place = label_box(grid, photo, lattice)
            seen = view.seen(np.vstack([grid.label_corners, grid.label_corners.mean(0, keepdims=True)]))
            if not seen.all() and seen.any():
                continue
            if seen.all() and inside_frame(place):
                box[:4], box[4] = place, grid.label_turn
            if seen.all():
                strip = frame.strip(gray, lattice, place, grid.label_turn, MARGIN)
                if strip.shape[1] <= lines.LONGEST + 2 * MARGIN and all(c in lines.NUMBERS for c in grid.label):
                    strips.append((strip, grid.label))
        frames.append((frame.surroundings(gray, lattice), box))
    return frames, strips


def spanned(strip):
    """Between which columns the text of a strip stands that was cut exactly."""
    return frame.PAD + MARGIN, strip.shape[1] - frame.PAD - MARGIN


def by_program(name):
    """[(strip, text, span)] of NAME.bin and NAME.jsonl, which `cut_cells` wrote."""
    pixels, at, strips = np.fromfile(name + ".bin", np.uint8), 0, []
    with open(name + ".jsonl") as lines_of:
        for line in map(json.loads, lines_of):
            size = (frame.STRIP + 2 * MARGIN) * line["width"]
            if all(c in lines.NUMBERS for c in line["text"]):
                strips.append((pixels[at:at + size].reshape(-1, line["width"]), line["text"], (line["start"], line["end"])))
            at += size
    return strips


def save(path, frames, strips, loose, program=()):
    everything = [(strip, text, spanned(strip), 0) for strip, text in strips] + [(strip, text, spanned(strip), 1) for strip, text in loose]
    everything += [(strip, text, span, 2) for strip, text, span in program]
    high, wide = frame.STRIP + 2 * MARGIN, lines.LONGEST + 2 * MARGIN
    padded = np.zeros((len(everything), high, wide), np.uint8)
    for row, (strip, *_) in zip(padded, everything):
        row[:, :strip.shape[1]] = strip[:, :wide]
        row[:, strip.shape[1]:] = strip[:, -1:]
    np.savez(path + ".part.npz", frames=np.array([f for f, _ in frames], np.uint8).reshape(-1, frame.SIDE, frame.SIDE),
             boxes=np.array([b for _, b in frames], np.float32).reshape(-1, 5), strips=padded, widths=np.array([min(s.shape[1], wide) for s, *_ in everything], np.int32),
             texts=np.array([text for _, text, _, _ in everything]), spans=np.array([span for _, _, span, _ in everything], np.float32).reshape(-1, 2),
             sources=np.array([source for *_, source in everything], np.uint8))
    os.rename(path + ".part.npz", path + ".npz")


def main():
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("out")
    parser.add_argument("seed", type=int)
    parser.add_argument("count", type=int)
    parser.add_argument("--worker", type=int, default=0)
    parser.add_argument("--workers", type=int, default=1)
    parser.add_argument("--chunk", type=int, default=40, help="pages a file")
    parser.add_argument("--loose", type=int, default=4, help="loose lines a page")
    parser.add_argument("--heldout", action="store_true")
    options = parser.parse_args()
    os.makedirs(options.out, exist_ok=True)
    mine = list(range(options.seed + options.worker, options.seed + options.count, options.workers))
    for k in range(0, len(mine), options.chunk):
        frames, strips, loose = [], [], []
        for seed in mine[k:k + options.chunk]:
            some_frames, some_strips = examples_of(*photographed(seed, LEVELS[seed % len(LEVELS)], options.heldout))
            frames += some_frames
            strips += some_strips
            rng = np.random.default_rng([seed, 77])
            loose += [lines.loose_line(rng, MARGIN) for _ in range(options.loose)]
        save(os.path.join(options.out, f"{options.seed}_{options.worker}_{k}"), frames, strips, loose)


if __name__ == "__main__":
    main()
