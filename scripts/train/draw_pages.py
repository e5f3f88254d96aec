"""Draws pages until told to stop and hands over what networks learn from, a chunk at a time:
`draw_pages.py FIND.onnx OUT --cut target/release/examples/cut_cells --workers 30 --minutes 9 [--pages 600] [--labels MODELS] [--fine] [--others SHARE] [--seed 2000000]`.

OUT/cells gets the cells of each chunk (see classify.py), cut by `cut_cells` with FIND.onnx; OUT/pages/NAME the first --pages pages themselves
(see find.py); OUT/labels, with --labels MODELS, surroundings and lines (see ../label/draw.py), among them what the program cuts with the networks
there, and at once some lines drawn loosely alone. Worker w of n takes every n-th seed. Workers keep going, since starting Python anew costs more than drawing a page.
"""
import argparse
import json
import multiprocessing
import os
import pathlib
import shutil
import subprocess
import sys
import time

import numpy as np
from PIL import Image

HERE = pathlib.Path(__file__).parent
LOOSE, LOOSE_AT_ONCE = 12, 400      # lines drawn loosely: for each page, and by each worker before its first
sys.path[:0] = [str(HERE.parent / "pages"), str(HERE.parent / "label")]
import draw as label  # noqa: E402
from generate import LEVELS, describe  # noqa: E402


def chunk_of(seeds, folder, with_labels, others):
    """Draws pages into `folder` with their truth; gives what the label networks learn from."""
    folder.mkdir(parents=True)
    frames, strips, loose, truths = [], [], [], []
    for seed in seeds:
        level = LEVELS[seed % len(LEVELS)]
        page, photo, rng = label.photographed(seed, level, others=others)
        name = f"{seed}.jpg"
        Image.fromarray(photo.image).save(folder / name, quality=92)
        truths.append({"photo": name, "seed": seed, "level": level, "layout": page.layout, **describe(page.block, photo)})
        if with_labels:
            some_frames, some_strips = label.examples_of(page, photo, rng)
            frames += some_frames
            strips += some_strips
            loose += loose_lines(seed, LOOSE)
    (folder / "truth.jsonl").write_text("".join(json.dumps(truth) + "\n" for truth in truths))
    return frames, strips, loose


def loose_lines(seed, count):
    return [label.lines.loose_line(np.random.default_rng([seed, 77, k]), label.MARGIN) for k in range(count)]


def work(worker, options, end):
    out = pathlib.Path(options.out)
    seed, number = options.seed + worker, 0
    if options.labels:
        label.save(str(out / "labels" / f"{options.seed}_{worker}_loose"), [], [], loose_lines(seed, LOOSE_AT_ONCE))
    while time.time() < end:
        seeds = [seed + k * options.workers for k in range(options.chunk)]
        seed, name = seeds[-1] + options.workers, f"drawn{options.seed}_{worker}_{number}"
        folder = out / "drawing" / name
        examples = chunk_of(seeds, folder, options.labels, options.others)
        lines = str(folder / "lines")
        subprocess.run([options.cut, options.find, str(folder), str(out / "cells" / name), *(["fine"] if options.fine else []), *(("lines", options.labels, lines) if options.labels else ())],
                       check=True, stdout=subprocess.DEVNULL, env={**os.environ, "RAYON_NUM_THREADS": "1"})
        if options.labels:
            label.save(str(out / "labels" / f"{options.seed}_{worker}_{number}"), *examples, label.by_program(lines))
        # find.py looks into `pages` at any time: only whole chunks come to lie there.
        if number * options.workers * options.chunk < options.pages:
            folder.rename(out / "pages" / name)
        else:
            shutil.rmtree(folder)
        number += 1


def main():
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("find")
    arguments.add_argument("out")
    arguments.add_argument("--cut", default="target/release/examples/cut_cells")
    arguments.add_argument("--workers", type=int, default=max(1, (os.cpu_count() or 2) - 2))
    arguments.add_argument("--minutes", type=float, default=9)
    arguments.add_argument("--chunk", type=int, default=24, help="pages handed over together")
    arguments.add_argument("--pages", type=int, default=0, help="how many pages to keep")
    arguments.add_argument("--labels", metavar="MODELS")
    arguments.add_argument("--fine", action="store_true", help="cells of 48x48 as well")
    arguments.add_argument("--others", type=float, default=0.0, metavar="SHARE", help="the least share of puzzles with other rules")
    arguments.add_argument("--seed", type=int, default=2000000)
    options = arguments.parse_args()
    for folder in ("pages", "cells", "labels"):
        os.makedirs(os.path.join(options.out, folder), exist_ok=True)
    end = time.time() + 60 * options.minutes
    workers = [multiprocessing.Process(target=work, args=(w, options, end)) for w in range(options.workers)]
    for worker in workers:
        worker.start()
    for worker in workers:
        worker.join()


if __name__ == "__main__":
    main()
